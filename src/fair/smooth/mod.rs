//! Smoothing splines over a given basis: least squares against measured
//! values plus a penalty on the change of curvature, with the balance of the
//! two chosen from the stated tolerances. The mathematics is in
//! `docs/method-fairing.md`.

mod problem;
mod spread;

pub use problem::Rule;
pub(super) use problem::{EXACT_MM, Operator, Problem, third_derivative};
pub(super) use spread::{Solved, Spread, exact_problem};
