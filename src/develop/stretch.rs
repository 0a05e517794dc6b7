//! What a plate must stretch to leave the flat.

use super::grid::{Grid, check_finite, metric};
use super::{Error, FlatMap, Options, Stretch};
use crate::geom::patch::Patch;

/// Steps across the strip: strain across a strip is close to a parabola with
/// its extremes at the edges and the middle, all of which are sampled.
const ACROSS: u32 = 8;
/// Steps in a span along the strip.
const ALONG: u32 = 2;

/// Samples the principal strains over the strip, its edges and its true ends.
pub(super) fn measure(
    patch: &dyn Patch,
    grid: &Grid,
    map: &FlatMap,
    options: &Options,
    energy_mm2: f64,
) -> Result<Stretch, Error> {
    let breaks = grid.along.breaks();
    let mut lines: Vec<f64> = Vec::with_capacity(breaks.len() * ALONG as usize);
    for pair in breaks.windows(2) {
        for k in 0..ALONG {
            lines.push(pair[0] + (pair[1] - pair[0]) * f64::from(k) / f64::from(ALONG));
        }
    }
    let mut out = Stretch {
        largest: -1.0,
        energy_mm2,
        ..Stretch::default()
    };
    for k in 0..=ACROSS {
        let w = f64::from(k) / f64::from(ACROSS);
        let (lo, hi) = patch.ends(w);
        let inner = lines.iter().copied().filter(|&t| t > lo && t < hi);
        for t in inner.chain([lo, hi]) {
            let [e1, e2] = strains(patch, map, t, w)?;
            let signed = if e1.abs() > e2.abs() { e1 } else { e2 };
            if signed.abs() > out.largest {
                let v = options.poisson;
                let hooke = |a: f64, b: f64| options.modulus_mpa * (a + v * b) / (1.0 - v * v);
                out.largest = signed.abs();
                out.signed = signed;
                out.at = (t, w);
                out.stress_mpa = hooke(e1, e2).abs().max(hooke(e2, e1).abs());
            }
        }
    }
    Ok(out)
}

/// Principal strains of the plate in place against the flat plate.
fn strains(patch: &dyn Patch, map: &FlatMap, t: f64, w: f64) -> Result<[f64; 2], Error> {
    let jet = patch.jet(t, w);
    check_finite(&jet, t, w)?;
    let [a, b, c, _] = metric(&jet).ok_or(Error::Degenerate { t, w })?;
    let [_, along, across] = map.jet(t, w);
    // Columns of the map's gradient, and from them the singular values.
    let (x, y) = (along * a, along * b + across * c);
    let half_sum = 0.5 * ((x.x + y.y) * (x.x + y.y) + (x.y - y.x) * (x.y - y.x)).sqrt();
    let half_gap = 0.5 * ((x.x - y.y) * (x.x - y.y) + (x.y + y.x) * (x.y + y.x)).sqrt();
    let element = x.cross(y);
    if element.is_nan() || element <= 0.0 {
        return Err(Error::Folded { t, w });
    }
    let long = half_sum + half_gap;
    let short = element / long;
    Ok([1.0 / long - 1.0, 1.0 / short - 1.0])
}
