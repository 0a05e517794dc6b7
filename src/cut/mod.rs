//! How a nested sheet is cut: paths at net size or half a kerf in the waste,
//! lead-ins and lead-outs, tabs, the order of cuts, and what it all comes to.
//!
//! [`plan()`] goes in this order: paths (`profile`), tabs (`tabs`), starts and
//! leads (`lead`), the order (`sequence`, `order`), figures, with those of what
//! is marked (`marks`). It moves no part: what was nested stays
//! where the check has passed it.

mod lead;
mod marks;
mod model;
mod order;
mod plan;
mod profile;
mod rules;
mod sequence;
mod tabs;
mod walk;

#[cfg(test)]
mod tests;

pub use model::{Cut, CutPath, Drill, Figures, Input, Plan, Step};
pub use plan::plan;
pub use profile::{Compensated, compensated};
pub use rules::Rules;
