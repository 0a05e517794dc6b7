//! Overlaps cleared: parts laid over one another on one or more sheets are
//! moved, one at a time, to where they overlap least, and pairs that go on
//! overlapping weigh more and more (guided local search: Voudouris and Tsang
//! 1999; for nesting Egeblad, Nielsen and Odgaard 2007, whose exact search
//! along a line is used here, with depth in place of area).

mod overlap;
mod rounds;
mod seek;
mod shorten;
mod table;
mod tents;

pub(super) use self::shorten::{Side, Spent, shorten};
pub(super) use self::table::{Body, Table};
