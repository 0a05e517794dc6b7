//! Reports: the summary, the nest-yield report, the lists, the faired edge.
//!
//! Everything is worked out once, by [`facts::facts`] and by the stages, and
//! then only told. What stands in rows is a table (`table`), whose columns
//! know how a person and a spreadsheet read them ([`crate::quantity`]); running
//! text is set by `prose`, and JSON is written as it is documented, with numbers
//! rounded by `json`. Nothing here reads the clock or a file.
//!
//! To add a list: a table in `lists`, named in [`lists::lists`].

pub mod butts;
pub mod cautions;
pub mod cuts;
pub mod edge;
pub mod estimate;
pub mod facts;
pub mod fairness;
mod input;
mod json;
pub mod lists;
mod prose;
pub mod summary;
mod table;
pub mod tacked;
pub mod yields;

#[cfg(test)]
mod tests;

pub use input::{Input, SheetCut};
