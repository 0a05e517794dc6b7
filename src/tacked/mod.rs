//! The line as it is tacked up, or welded, against the planned one: whether
//! it is fair within what it is, and the fewest moves that make it so.

mod judge;
mod mark;
mod model;
mod moves;
mod place;
mod read;
mod tube;

#[cfg(test)]
mod tests;

pub use judge::{DOUBTFUL_MM, FEWEST, check, step};
pub use mark::{Mark, marks};
pub use model::{Checked, Judged, Pull, Stood, pulls};
pub use moves::{Left, Verdict};
pub use read::{Given, Measured, read};
