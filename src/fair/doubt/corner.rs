//! Whether a corner that nobody marked explains what looks like slips.

use super::search::{Found, price};
use super::walk::{Fit, Path, walk};
use crate::geom::trig;

/// Standard deviation of a corner's turn, as a slope: a knuckle in plan or sheer turns by
/// 10 to 30 degrees.
const TURN: f64 = 0.35;

/// Standard deviation of the jump of bend at a corner, as a turn over one mean spacing.
const BEND: f64 = 0.05;

/// Odds against a corner that is not marked, at any point: a hundred to one (twice its log).
const RARE: f64 = 9.2;

/// A corner is mentioned where it explains the points as well as slips do, give or take ten
/// to one (twice its log).
const AS_WELL: f64 = 4.6;

/// Slips nearer than this to each other may be one corner.
const NEAR: usize = 3;

/// Twice the log of how unlikely the kept values are.
fn cost(fit: Fit, error: f64) -> f64 {
    let one = trig::ln(std::f64::consts::TAU * error * error);
    fit.squares / (error * error) + fit.logs + fit.kept as f64 * one
}

/// For every value that stands out: true where a corner near it explains it as well.
/// `spacing` is the mean spacing, mm.
pub(super) fn corners<const M: usize>(found: &Found<M>, spacing: f64) -> Vec<bool> {
    let n = found.out.len();
    let mut may = vec![false; n];
    let noise = found.noise;
    let rough = found.laid.rough(noise.local);
    let jump = [TURN, BEND].map(|j| j * spacing / noise.error);
    let fit = |out: &[bool], corner: Option<usize>| {
        let path = Path {
            steps: &found.laid.steps,
            rough: &rough,
            values: &found.laid.values,
            out,
            corner: corner.map(|c| (c, jump)),
        };
        cost(walk(&path, trig::pow(10.0, noise.rho)).0, noise.error)
    };
    let outs: Vec<usize> = (0..n).filter(|i| found.out[*i]).collect();
    let mut clusters: Vec<(usize, usize, f64)> = Vec::new();
    for i in outs {
        match clusters.last_mut() {
            Some(c) if i - c.1 <= NEAR => *c = (c.0, i, c.2 + 1.0),
            _ => clusters.push((i, i, 1.0)),
        }
    }
    if clusters.is_empty() {
        return may;
    }
    let slips = fit(&found.out, None);
    for (first, last, count) in clusters {
        let mut without = found.out.clone();
        without[first..=last].fill(false);
        let least = (first.max(2) - 1..=(last + 1).min(n.saturating_sub(2)))
            .map(|k| fit(&without, Some(k)) + RARE)
            .fold(f64::INFINITY, f64::min);
        if least < slips + count * price() + AS_WELL {
            may[first..=last].copy_from_slice(&found.out[first..=last]);
        }
    }
    may
}
