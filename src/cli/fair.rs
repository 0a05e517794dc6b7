//! `planksheer fair`: the lines, what moves, what is not fair.

use super::args::FairArgs;
use super::{folder, input, shell};
use crate::fault::Faults;
use crate::pipeline;

/// Fairs a job's survey and tells what came of it.
pub(super) fn run(args: &FairArgs) -> Result<(), Faults> {
    let input = input::read(&args.job)?;
    let open = |out| folder::Out::open(out, "fair", &input.paths, args.earlier.replace);
    let out = args.out.as_deref().map(open).transpose()?;
    let (files, placed) = pipeline::faired(&input.job, &input.tables)
        .and_then(|faired| {
            let files = pipeline::fairness(&input.job, &faired)?;
            Ok((files, pipeline::placed(&input.job, &faired)))
        })
        .map_err(|f| input.located(f))?;
    if let Some(out) = out {
        out.write(&files)?;
    }
    let name = ["fairness.txt", "fairness.json"][usize::from(args.json)];
    shell::conclude_with(&files, name, args.out.as_deref())?;
    // The line is as fair as it is: these stand in the way of a build alone.
    if let Err(faults) = placed {
        let faults = input.located(faults);
        shell::tell(&format!("to be mended before the job is built:\n{faults}"));
    }
    Ok(())
}
