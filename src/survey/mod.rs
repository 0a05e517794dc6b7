//! Measured deck edge in: offset tables, point tables, point lists of any
//! order, and drawings.
//!
//! The edge is delivered as chains of points. A chain runs from the port
//! fore end aft, round the stern if the stern is round or a transom, and
//! forward along starboard: the boat is always on its left. A side that
//! stands alone runs the same way (port aft, starboard forward).

mod chains;
mod columns;
mod datum;
mod dxf;
mod gaps;
pub(crate) mod lines;
mod misread;
mod model;
mod order;
mod passes;
mod path;
mod places;
mod rows;
mod settle;
mod spanning;
mod stations;
mod taken;
mod verdicts;

pub use chains::{LEAST_INBOARD, read};
pub use gaps::guessed;
pub use model::{Applied, Booked, Chain, DatumFit, End, Note, Point, Residual, SlopeGiven, Survey};

#[cfg(test)]
mod tests;
