//! The one place that calls the stages in order.
//!
//! [`shape()`] goes from the measured points to detailed flat parts, each with
//! its proof; [`nest`] lays them on sheets; [`files()`] writes everything as
//! bytes. The way from a faired edge to cuts, which a build walks once and an
//! estimate once a choice, is in `flat_job`. Nothing here touches a disk.

mod butts;
mod cap;
mod cutting;
mod estimate;
mod fairness;
mod files;
mod first;
mod flat_job;
mod floor;
mod model;
mod nests;
mod pattern;
mod picture;
mod refold;
mod shape;
mod share;
mod steps;
mod tacked;
mod truth;

pub use estimate::{Estimated, estimate};
pub use fairness::{Faired, faired, fairness, settled};
pub use files::{Output, files};
pub use model::{Files, Flattened, Shaped};
pub use nests::nest;
pub use pattern::{PatternsAsked, PatternsMade, ordinates, patterns, printer_test};
pub use shape::{lay, placed, shape, shape_until};
pub use tacked::{TackedCheck, tacked_check};

pub use crate::drawing::Shows;
pub use crate::dxf::drawing_text;
pub use crate::layout::MemberKind;
pub use crate::page::Print;
pub use crate::report::estimate::Efforts;
pub use crate::report::facts::Group;

#[cfg(test)]
mod tests;
