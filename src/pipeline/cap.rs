//! The wood cap's lengths, flat.

use super::first::{every, reason};
use super::flat_job::flatten;
use super::model::Shaped;
use crate::drawing::part_drawing;
use crate::fault::Faults;
use crate::job::Job;
use crate::layout::cap;
use crate::length::{INCH, Show, show, told, trimmed};
use crate::part::{MarkKind, Part};
use crate::write::dxf::dxf;

/// What of a mark of the tape may be rounding.
const ROUNDING: f64 = 1e-3;

/// Every length, as a part.
///
/// # Errors
/// The job has no cap, or it cannot be made of the boards that there are.
pub(super) fn cap_parts(job: &Job, shaped: &Shaped) -> Result<Vec<Part>, Faults> {
    let lengths = cap(&shaped.edge, job, &shaped.layout)?;
    Ok(every(&lengths, |length| flatten(length, job))?)
}

/// The board that a length is sawn from, and its scarfs, a line each.
pub(super) fn sawn_from(part: &Part, job: &Job) -> Vec<String> {
    let (lo, hi) = part.outline.bounds();
    // Up to what a tape shows: a board is no smaller.
    let mark = match job.show {
        Show::Mm => 1.0,
        Show::FeetInches => INCH / 16.0,
    };
    let up = |mm: f64| show((mm / mark - ROUNDING).ceil() * mark, job.show);
    let (long, wide) = (up(hi.x - lo.x), up(hi.y - lo.y));
    let mut out = vec![format!(
        "sawn from a board {long} long and {wide} wide, or more"
    )];
    if part.marks.iter().any(|m| m.kind == MarkKind::Scarf) {
        out.push(format!(
            "scarfs {} long, {} times the thickness, on the face that each names",
            told(job.cap_scarf(), job.show),
            trimmed(job.cap.scarf, 3)
        ));
    }
    out
}

/// The name of a part's file.
pub(super) fn file_stem(part: &str) -> String {
    part.replace(' ', "-")
}

/// Drawings by their names, and what is to be told.
type CapFiles = (Vec<(String, String)>, Vec<String>);

/// A drawing of every length; of a cap that cannot be made, why.
///
/// # Errors
/// A drawing could not be written.
pub(super) fn cap_files(job: &Job, shaped: &Shaped) -> Result<CapFiles, Faults> {
    if job.section.cap_thickness <= 0.0 {
        return Ok((Vec::new(), Vec::new()));
    }
    let parts = match cap_parts(job, shaped) {
        Ok(parts) => parts,
        Err(faults) => {
            let told = |f| format!("the wood cap is not drawn: {}", reason(f));
            return Ok((Vec::new(), faults.0.iter().map(told).collect()));
        }
    };
    let file = |part: &Part| {
        let name = format!("cap/{}.dxf", file_stem(&part.name));
        Ok((name, dxf(&part_drawing(part, job), &job.output)?))
    };
    Ok((every(&parts, file)?, Vec::new()))
}
