//! Choices of stock set against each other: what each buys, wastes, welds, cuts
//! and costs, best first; and how the best one answers to gap, height and width.
//! `figures` says what one choice comes to, `choices` ranks them; the rows of
//! `tables` are told in a terminal (`text`), on a page (`page`) and in
//! spreadsheets; `json` has every figure.

mod choices;
mod figures;
mod json;
mod page;
mod tables;
mod text;

#[cfg(test)]
mod tests;

pub use choices::{Efforts, Estimate, Picture, Tried, Variation, Varied};
pub use figures::{Bought, Counted, Figures, Welds};
pub use json::{SCHEMA, estimate_json};
pub use page::estimate_page;
pub use tables::{estimate_csv, variations_csv};
pub use text::estimate_text;
