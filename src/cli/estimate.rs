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
    let open = |out| folder::Out::open(out, "estimate", &input.paths, args.earlier.replace);
    let out = args.out.as_deref().map(open).transpose()?;
    let asked = args::asked(args.effort, args.quick);
    let efforts = asked.map_or(UNASKED, Efforts::all);
    let line = progress::start("estimating", "");
    let tell = |fraction: f64| line.set(fraction);
    let (job, tables, vary) = (&input.job, &input.tables, !args.no_variations);
    let done =
        (args.work.pool()?).install(|| pipeline::estimate(job, tables, efforts, vary, &tell));
    line.finish();
    let files = done.map_err(|f| input.located(f))?.files;
    if let Some(out) = out {
        out.write(&files)?;
    }
    let name = ["estimate.txt", "estimate.json"][usize::from(args.json)];
    shell::conclude_with(&files, name, args.out.as_deref())
}
