//! `planksheer estimate`: choices of stock set against each other.

use super::{EstimateArgs, folder, input, progress, shell};
use crate::fault::Faults;
use crate::job::Effort;
use crate::pipeline::{self, Efforts};

/// Efforts where none is asked for: a choice bought on a short search may be a
/// sheet too many, and the many variations are compared with each other alone.
const UNASKED: Efforts = Efforts {
    choices: Effort::Normal,
    variations: Effort::Quick,
};

/// Estimates a job's choices of stock and tells them, best first.
pub(super) fn run(args: &EstimateArgs) -> Result<(), Faults> {
    let input = input::read(&args.job)?;
    if let Some(out) = &args.out {
        folder::check(out, &folder::ESTIMATE, &input.paths)?;
    }
    let asked = if args.quick {
        Some(Effort::Quick)
    } else {
        args.effort.map(Effort::from)
    };
    let efforts = asked.map_or(UNASKED, Efforts::all);
    let bar = progress::bar("estimating [{bar:40}] {percent} %");
    let tell = |fraction: f64| progress::set(&bar, fraction);
    let done = super::pool(args.threads)?.install(|| {
        pipeline::estimate(
            &input.job,
            &input.tables,
            efforts,
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
