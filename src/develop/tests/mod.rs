//! Closed forms, published figures and properties of flattening.

mod closed;
mod faults;
mod folding;
mod properties;
mod screw;

use super::{Flat, Options, develop};
use crate::geom::patch::Patch;
use crate::geom::{Vec2, Vec3};

/// Flattens, with the strip's failure as the test's.
fn flat(patch: &dyn Patch, options: &Options) -> Flat {
    develop(patch, options).expect("a strip that can be flattened")
}

/// Places (t, w) over the strip inside its true ends.
fn places(patch: &dyn Patch, along: u32, across: u32) -> Vec<(f64, f64)> {
    let mut out = Vec::new();
    for j in 0..=across {
        let w = f64::from(j) / f64::from(across);
        let (lo, hi) = patch.ends(w);
        out.extend((0..=along).map(|i| (lo + (hi - lo) * f64::from(i) / f64::from(along), w)));
    }
    out
}

/// Flat places as points of space, for a rigid fit.
fn lifted(points: &[Vec2]) -> Vec<Vec3> {
    points.iter().map(|p| p.at_height(0.0)).collect()
}

/// Area of the flat strip between square ends: midpoints of the Jacobian along
/// t, Simpson's rule across.
fn area(f: &Flat, first: f64, last: f64) -> f64 {
    let n = 2000;
    let dt = (last - first) / f64::from(n);
    let mut sum = 0.0;
    for j in 0..=20 {
        let weight = match j {
            0 | 20 => 1.0,
            _ if j % 2 == 1 => 4.0,
            _ => 2.0,
        } / 60.0;
        for i in 0..n {
            let t = first + dt * (f64::from(i) + 0.5);
            let [_, along, across] = f.map.jet(t, f64::from(j) / 20.0);
            sum += weight * along.cross(across) * dt;
        }
    }
    sum
}
