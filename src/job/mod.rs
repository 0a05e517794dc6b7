//! The job, resolved: everything a build needs, in millimetres and radians.
//! [`parse()`] turns the text of a job file into a [`Job`] or all its faults.
//!
//! A tour, each file importing only those before it:
//!
//! - `places`: where keys stand in the text; `key`: what is stated of a key; `surveyed`, `bulwark`, `shop`, `model`: the job's
//!   own types, with the words that a job file has for them.
//! - `keys`: every key, stated once, of which a test makes the tables of
//!   `docs/job-file.md`; `starter`: a job to begin with.
//! - `text`, `syntax`: the file's text, its places and what is no TOML; `table`,
//!   `lists`: a table read key by key as `keys` states it.
//! - `takeoff`, `parts`, `sheets`, `cutting`, `prices`: the readers, by section.
//! - `choice`: choices of stock; `check`: what needs more than one key; `parse`: all
//!   of it in turn.

mod bulwark;
mod check;
mod choice;
mod cutting;
mod key_kind;
#[rustfmt::skip] // A table: a key a line or two.
mod keys;
mod lists;
mod model;
mod paper;
mod parse;
mod parts;
mod places;
mod prices;
mod sheets;
mod shop;
mod starter;
mod surveyed;
mod syntax;
mod table;
mod takeoff;
#[cfg(test)]
mod tests;
mod text;

pub use bulwark::*;
pub use check::section_faults;
pub use keys::{HEIGHTS, STEEP_DEG};
pub use model::Job;
pub use paper::{NoPaper, Paper};
pub use parse::{parse, read};
pub use places::Places;
pub use shop::*;
pub use starter::{STARTER, STARTER_EDGE, STARTER_EDGE_NAME};
pub use surveyed::*;
pub(crate) use text::length_kind;
