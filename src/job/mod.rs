//! The job, resolved: everything a build needs, in millimetres and radians.
//! [`parse()`] turns the text of a job file into a [`Job`] or all its faults.
//!
//! A tour, each file importing only those before it:
//!
//! - `places`: where keys stand in the text; `key_kind`: what is stated of a key;
//!   `ranges`: what is believed of a figure; `position`: places along the edge.
//! - `text`: the file's text and what of the job later keys need; `table`, `lists`: a
//!   table read key by key as its keys state it; `stated`: keys stated with the fields
//!   that they fill.
//! - `surveyed`, `bulwark`, `sheet`, `cutting`, `prices`, `output`, `paper`: the job's own
//!   types by section, each with its keys; `keys`: all of them, of which a test makes the
//!   tables of `docs/job-file.md`; `model`: the whole job.
//! - `remnants`, `choice`: remnants from their drawings, choices of stock; `cap`: the
//!   cap over the plate; `check`: what needs more than one key; `syntax`: what is no TOML; `parse`: all of it in
//!   turn; `starter`: a job to begin with.

mod bulwark;
mod cap;
mod check;
mod choice;
mod cutting;
mod key_kind;
#[rustfmt::skip] // A table: a key a line or two.
mod keys;
mod lists;
mod model;
mod output;
mod paper;
mod parse;
mod places;
mod position;
mod prices;
mod ranges;
mod remnants;
mod sheet;
mod starter;
mod stated;
mod surveyed;
mod syntax;
mod table;
#[cfg(test)]
mod tests;
mod text;

pub use bulwark::*;
pub use check::{section_faults, stock_faults};
pub use cutting::*;
pub use model::Job;
pub use output::*;
pub use paper::{NoPaper, Paper};
pub use parse::{parse, read};
pub use places::Places;
pub use position::*;
pub use prices::*;
pub use ranges::{HEIGHTS, STEEP_DEG};
pub use sheet::*;
pub use starter::{STARTER, STARTER_EDGE, STARTER_EDGE_NAME};
pub use surveyed::*;
