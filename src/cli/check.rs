//! `planksheer check`: the tacked or welded line against the planned one.

use std::path::Path;

use super::{CheckArgs, input, shell};
use crate::fault::{Fault, Faults};
use crate::pipeline::tacked_check;

/// Checks the line; true where it is fair.
pub(super) fn run(args: &CheckArgs) -> Result<bool, Faults> {
    let job = input::read(&args.job)?;
    let table = |path: &Path, what: &str| -> Result<(String, String), Fault> {
        let name = path.display().to_string();
        let text = input::read_text(path, &name, what, input::GIVEN)?;
        Ok((name, text))
    };
    let tacked = table(&args.tacked, "the survey of the tacked line")?;
    let welded = match &args.welded {
        Some(path) => Some(table(path, "the survey of the welded line")?),
        None => None,
    };
    let done = tacked_check(&job.job, &job.tables, &tacked, welded.as_ref())?;
    let text = if args.json { &done.json } else { &done.text };
    shell::print(text.as_bytes())?;
    Ok(done.fair)
}
