//! Parts on sheets, and the independent check of their clearances.

mod bound;
mod check;
mod measure;
mod model;
mod nesting;
mod packer;
mod remnant;
#[cfg(test)]
mod tests;

pub use self::bound::{least_of, least_sheets};
pub use self::check::{CheckReport, Clearance, check};
pub use self::measure::{Offcut, largest_offcut, net_area, used_length};
pub use self::model::{Nest, NestJob, NestPart, NestedSheet, Placed};
pub use self::nesting::{nest, nest_until, nest_within, strip, work};
pub use self::remnant::remnants;
