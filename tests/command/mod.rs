//! The command from end to end: from survey tables to numbers read back
//! from the written files.

mod butts;
mod cap;
mod check;
mod cutting;
mod doubted;
mod estimate;
mod fair;
#[cfg(unix)]
mod interrupt;
mod pattern;
#[cfg(unix)]
mod place;
mod placed;
mod refusals;
mod section;
mod shapes;
mod sheets;
mod shop;
mod stanchions;
mod survey;
mod takeoff;
mod whole;
mod words;
