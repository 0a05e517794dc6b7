//! `planksheer estimate`: choices of stock set against each other.

use std::io::IsTerminal;

use indicatif::{ProgressBar, ProgressStyle};

use super::{EstimateArgs, folder, input, shell};
use crate::fault::Faults;
use crate::job::Effort;
use crate::pipeline;

/// Estimates a job's choices of stock and tells them, best first.
pub(super) fn run(args: &EstimateArgs) -> Result<(), Faults> {
    let input = input::read(&args.job)?;
    if let Some(out) = &args.out {
        folder::check(out)?;
    }
    let effort = args.effort.map_or(Effort::Quick, Effort::from);
    let bar = progress_bar();
    let tell = |fraction: f64| {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "0 to 1000"
        )]
        bar.set_position((fraction.clamp(0.0, 1.0) * 1000.0) as u64);
    };
    let done = super::pool(args.threads)?.install(|| {
        pipeline::estimate(
            &input.job,
            &input.tables,
            effort,
            !args.no_variations,
            &tell,
        )
    });
    bar.finish_and_clear();
    let files = done?.files;
    if let Some(out) = &args.out {
        folder::write(out, &files)?;
    }
    let name = if args.json {
        "estimate.json"
    } else {
        "estimate.txt"
    };
    shell::print(files.get(name).map_or("", String::as_str).as_bytes())
}

/// A bar on a terminal; silent in a pipe.
fn progress_bar() -> ProgressBar {
    if !std::io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(1000);
    if let Ok(style) = ProgressStyle::with_template("estimating [{bar:40}] {percent} %") {
        bar.set_style(style.progress_chars("=> "));
    }
    bar
}
