//! `planksheer estimate`: choices of stock set against each other.

use super::{EstimateArgs, folder, input, progress, shell};
use crate::fault::Faults;
use crate::job::Effort;
use crate::pipeline;

/// Estimates a job's choices of stock and tells them, best first.
pub(super) fn run(args: &EstimateArgs) -> Result<(), Faults> {
    let input = input::read(&args.job)?;
    if let Some(out) = &args.out {
        folder::check(out, &folder::ESTIMATE, &input.paths)?;
    }
    let effort = args.effort.map_or(Effort::Quick, Effort::from);
    let line = progress::start("estimating", "");
    let tell = |fraction: f64| line.set(fraction);
    let done = super::pool(args.threads)?.install(|| {
        pipeline::estimate(
            &input.job,
            &input.tables,
            effort,
            !args.no_variations,
            &tell,
        )
    });
    line.finish();
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
