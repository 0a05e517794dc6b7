//! The crate from outside, in one binary: each of these would link it anew.

mod broken;
mod command;
mod doubts;
mod imports;
mod mutated;
mod second_opinion;
mod starter;
mod units;

/// A whole number of the environment: how many cases, where it is given.
fn number(name: &str) -> Option<u32> {
    std::env::var(name).ok()?.parse().ok()
}
