//! How far long work is, on a terminal.

use std::io::IsTerminal;
use std::time::Duration;

use indicatif::{ProgressBar, ProgressStyle};

/// Steps of a bar.
const STEPS: f64 = 1000.0;

/// A bar on a terminal; silent in a pipe.
pub(super) fn bar(template: &str) -> ProgressBar {
    if !std::io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(whole(1.0));
    if let Ok(style) = ProgressStyle::with_template(template) {
        bar.set_style(style.progress_chars("=> "));
    }
    bar.enable_steady_tick(Duration::from_millis(200));
    bar
}

/// Sets the fraction that is done.
pub(super) fn set(bar: &ProgressBar, fraction: f64) {
    bar.set_position(whole(fraction));
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
