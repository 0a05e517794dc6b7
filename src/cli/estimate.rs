//! `planksheer estimate`: choices of stock set against each other.

use super::args::{self, EstimateArgs};
use super::{folder, input, progress, shell};
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
    let input = input::read_to_cut(&args.job)?;
    let open = |out| folder::Out::open(out, "estimate", &input.paths, args.replace);
    let out = args.out.as_deref().map(open).transpose()?;
    let asked = if args.quick {
        Some(Effort::Quick)
    } else {
        args.effort.map(Effort::from)
    };
    let efforts = asked.map_or(UNASKED, Efforts::all);
    let line = progress::start("estimating", "");
    let tell = |fraction: f64| line.set(fraction);
    let done = args::pool(args.threads)?.install(|| {
        pipeline::estimate(
            &input.job,
            &input.tables,
            efforts,
            !args.no_variations,
            &tell,
        )
    });
    line.finish();
    let files = done.map_err(|f| input.located(f))?.files;
    if let Some(out) = out {
        out.write(&files)?;
    }
    let name = if args.json {
        "estimate.json"
    } else {
        "estimate.txt"
    };
    let text = files.get(name).map_or(&[][..], Vec::as_slice);
    shell::conclude(text, "output", args.out.as_deref())
}
