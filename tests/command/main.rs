//! The command from end to end: from survey tables to numbers read back
//! from the written files.

mod butts;
mod check;
mod common_lines;
mod cutting;
mod estimate;
mod fair;
mod flip;
#[cfg(unix)]
mod interrupt;
mod placed;
mod refusals;
mod shapes;
mod shop;
mod survey;
mod takeoff;
mod whole;
