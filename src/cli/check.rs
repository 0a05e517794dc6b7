//! `planksheer check`: the tacked or welded line against the planned one.

use std::path::Path;

use super::args::CheckArgs;
use super::{input, shell};
use crate::fault::{Fault, Faults};
use crate::pipeline::tacked_check;

/// Checks the line; true where it is fair.
pub(super) fn run(args: &CheckArgs) -> Result<bool, Faults> {
    let mut job = input::read(&args.job)?;
    let mut table = |path: &Path, what: &str| -> Result<(String, String), Fault> {
        let typed = path.display().to_string();
        let text = input::read_text(path, &typed, what, input::GIVEN)?;
        Ok((job.add(path), text))
    };
    let tacked = table(&args.tacked, "the survey of the tacked line")?;
    let welded = match &args.welded {
        Some(path) => Some(table(path, "the survey of the welded line")?),
        None => None,
    };
    let done = tacked_check(&job.job, &job.tables, &tacked, welded.as_ref())
        .map_err(|f| job.located(f))?;
    let text = if args.json { &done.json } else { &done.text };
    shell::print(text.as_bytes())?;
    Ok(done.fair)
}
