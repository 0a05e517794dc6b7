//! Reports: the summary, the nest-yield report, the lists, the faired edge.
//!
//! Everything is worked out once, by [`facts::facts`], and then only
//! formatted. Nothing here reads the clock or a file.

pub mod butts;
pub mod cautions;
pub mod cuts;
pub mod edge;
pub mod estimate;
pub mod facts;
pub mod fairness;
pub mod lists;
pub mod summary;
pub mod surety;
mod table;
pub mod tacked;
pub mod yields;

use std::collections::BTreeMap;

use serde::Serialize;

use crate::fair::{Doubt, Finding};
use crate::fault::{Fault, Kind, Place};
use crate::job::{Effort, Job, Sheet, Side};
use crate::layout::{Joint, RunLength, Stanchion};
use crate::nest::{Nest, NestJob};
use crate::part::Part;
use crate::survey::Survey;

/// All that the reports are made from.
#[derive(Debug, Clone, Copy)]
pub struct Input<'a> {
    /// The job.
    pub job: &'a Job,
    /// Flat parts.
    pub parts: &'a [Part],
    /// Largest gap of each part folded back, mm, in the parts' order; shorter
    /// where it was not measured.
    pub refold_gaps: &'a [f64],
    /// Nests, one for each alloy and thickness.
    pub nests: &'a [NestGroup<'a>],
    /// Densities by alloy and temper, kg/mm3.
    pub densities: &'a BTreeMap<String, f64>,
    /// Stanchions.
    pub stanchions: &'a [Stanchion],
    /// Joints.
    pub joints: &'a [Joint],
    /// Lengths of the runs.
    pub runs: &'a [RunLength],
    /// What is not fair.
    pub findings: &'a [Finding],
    /// How the lines fit the measured points.
    pub fit: &'a [FitRow],
    /// The fit to expect on the boat.
    pub surety: &'a surety::SuretyReport,
    /// Measured points, with what was noted of them.
    pub survey: &'a Survey,
    /// Figures of the survey that stand out.
    pub doubts: &'a [Doubt],
    /// Lengths of bulwark, for the freeing-port guidance.
    pub sides: &'a [BulwarkSide],
    /// How every sheet is cut and what is left of it, in the order of the
    /// sheets through all nests.
    pub cuts: &'a [cuts::SheetCut],
    /// What was tried to choose the butts with the nest.
    pub butts: Option<&'a butts::ButtTrials>,
    /// What of the job's own settled a doubt, sentences for people: nothing to mend.
    pub notes: &'a [String],
    /// Warnings of all stages, sentences for people.
    pub warnings: &'a [String],
}

/// A nest of one alloy and thickness.
#[derive(Debug, Clone, Copy)]
pub struct NestGroup<'a> {
    /// What was nested.
    pub job: &'a NestJob,
    /// For each part of the nest job, its index into [`Input::parts`].
    pub parts: &'a [usize],
    /// How it came out.
    pub nest: &'a Nest,
    /// The same parts tried on each size of sheet alone.
    pub alone: &'a [Alone],
}

/// The parts of a group tried on one size of sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Alone {
    /// The size.
    pub sheet: Sheet,
    /// All sheets of this size; `None` where it does not hold the parts.
    pub nest: Option<Nest>,
    /// Search effort of that nest.
    pub effort: Effort,
}

/// How both faired lines fit a measured point.
#[derive(Debug, Clone, PartialEq)]
pub struct FitRow {
    /// Index of the chain.
    pub chain: usize,
    /// Station or point as booked.
    pub station: String,
    /// Side.
    pub side: Side,
    /// Distance along the chain's base line in plan, mm.
    pub t: f64,
    /// Base line less measured point, square to the edge, outboard positive, mm.
    pub base_out: f64,
    /// Base line less measured point, up positive, mm.
    pub base_up: f64,
    /// The same for the top line, mm.
    pub top_out: f64,
    /// The same for the top line, mm.
    pub top_up: f64,
}

/// A length of bulwark that holds water on deck.
#[derive(Debug, Clone, PartialEq)]
pub struct BulwarkSide {
    /// Name, such as `port`.
    pub name: String,
    /// Length, mm.
    pub length: f64,
    /// Height, mm.
    pub height: f64,
}

/// Name of a nested sheet, the stem of its files: `sheet-1` and on, through
/// all nests in order.
#[must_use]
pub fn sheet_name(number: usize) -> String {
    format!("sheet-{number}")
}

/// A value as JSON text, ended by a line feed.
fn json_text(name: &str, value: &impl Serialize) -> Result<String, Fault> {
    serde_json::to_string_pretty(value)
        .map(|text| text + "\n")
        .map_err(|e| {
            Fault::new(
                Kind::File,
                Place::file(name),
                e.to_string(),
                "report this job",
            )
        })
}

/// Rows as CSV text; a text that a spreadsheet would take for a formula is
/// guarded.
fn csv_text<R: AsRef<[String]>>(
    name: &str,
    header: &[String],
    rows: &[R],
) -> Result<String, Fault> {
    let broken = |e: String| {
        Fault::new(
            Kind::File,
            Place::file(name),
            format!("the table could not be written: {e}"),
            "report this table",
        )
    };
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer
        .write_record(header)
        .map_err(|e| broken(e.to_string()))?;
    for row in rows {
        let cells = row.as_ref().iter().map(|cell| table::guarded(cell));
        writer
            .write_record(cells.map(|c| c.into_owned()))
            .map_err(|e| broken(e.to_string()))?;
    }
    let bytes = writer.into_inner().map_err(|e| broken(e.to_string()))?;
    String::from_utf8(bytes).map_err(|e| broken(e.to_string()))
}

#[cfg(test)]
mod tests;
