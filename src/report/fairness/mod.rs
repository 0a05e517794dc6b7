//! The fairing, told: `text` for people, `json` for programs, from `input`;
//! what of the survey is to be known (`survey`), and its figures in doubt
//! (`doubted`), on drawings too.

mod doubted;
mod input;
mod json;
mod survey;
mod text;

pub use doubted::{doubted_notice, misgivings, unsettled};
pub use input::Fairness;
pub use json::fairness_json;
pub use survey::{line_warnings, rulings, survey_warnings};
pub use text::fairness_text;

pub(super) use json::fits_json;
pub(super) use survey::{doubts_json, survey_json};
