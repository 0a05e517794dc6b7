//! How far long work is, on a terminal.

use std::io::IsTerminal;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;

use console::Term;
use indicatif::{ProgressBar, ProgressStyle};

/// Steps of a bar.
const STEPS: f64 = 1000.0;
/// What is said after the bar has this many columns at most.
const SAID: usize = 24;
/// Columns below which a bar says nothing.
const LEAST_BAR: usize = 10;

/// A line on a terminal, never wider than it; silent in a pipe.
pub(super) struct Progress {
    line: ProgressBar,
    /// What is being done, and what else a person may do.
    does: &'static str,
    hint: &'static str,
    /// The form that is shown: an index into the forms, from 1.
    form: AtomicUsize,
}

/// Starts a line.
pub(super) fn start(does: &'static str, hint: &'static str) -> Progress {
    let line = if std::io::stderr().is_terminal() {
        ProgressBar::new(whole(1.0))
    } else {
        ProgressBar::hidden()
    };
    let progress = Progress {
        line,
        does,
        hint,
        form: AtomicUsize::new(0),
    };
    progress.fit();
    if !progress.line.is_hidden() {
        progress.line.enable_steady_tick(Duration::from_millis(200));
    }
    progress
}

impl Progress {
    /// Sets the fraction that is done.
    pub(super) fn set(&self, fraction: f64) {
        self.fit();
        self.line.set_position(whole(fraction));
    }

    /// Sets what is said after the bar.
    pub(super) fn say(&self, text: impl Into<String>) {
        self.line.set_message(text.into());
    }

    /// Takes the line away.
    pub(super) fn finish(&self) {
        self.line.finish_and_clear();
    }

    /// Takes the fullest form for which the terminal is wide enough now.
    fn fit(&self) {
        if self.line.is_hidden() {
            return;
        }
        let columns = usize::from(Term::stderr().size().1);
        let forms = forms(self.does, self.hint);
        let fits = |(_, (least, _)): &(usize, &(usize, String))| columns >= *least;
        let Some((k, (_, template))) = forms.iter().enumerate().find(fits) else {
            return;
        };
        if self.form.swap(k + 1, Ordering::Relaxed) != k + 1
            && let Ok(style) = ProgressStyle::with_template(template)
        {
            self.line.set_style(style.progress_chars("=> "));
        }
    }
}

/// Forms of a line, the fullest first, each with the columns it needs.
fn forms(does: &str, hint: &str) -> [(usize, String); 3] {
    let bar = format!("{does} [{{wide_bar}}] {{percent:>3}} %  {{msg}}");
    // What stands about the bar: brackets, blanks and the percentage.
    let least = does.len() + 11 + SAID + LEAST_BAR;
    [
        (least + hint.len() + 2, format!("{bar}  {hint}")),
        (least, bar),
        (0, "{percent:>3} % {wide_msg}".to_owned()),
    ]
}

fn whole(fraction: f64) -> u64 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to 0 to 1000"
    )]
    let steps = (fraction.clamp(0.0, 1.0) * STEPS) as u64;
    steps
}

#[cfg(test)]
mod tests {
    use indicatif::{InMemoryTerm, ProgressDrawTarget, TermLike};

    use super::*;

    /// Each form, at the least width it is taken for, draws one line.
    #[test]
    fn no_form_is_wider_than_its_terminal() {
        for (least, template) in forms("estimating", "(Ctrl-C keeps the best)") {
            let columns = u16::try_from(least.max(12)).expect("a width");
            let term = InMemoryTerm::new(5, columns);
            let target = ProgressDrawTarget::term_like(Box::new(term.clone()));
            let line = ProgressBar::with_draw_target(Some(1000), target);
            line.set_style(ProgressStyle::with_template(&template).expect("a template"));
            line.set_position(1000);
            line.set_message("best yield 100.0 % and more".split_at(SAID).0.to_owned());
            line.tick();
            assert_eq!(term.contents().lines().count(), 1, "{}", term.contents());
            assert_eq!(term.width(), columns);
        }
    }
}
