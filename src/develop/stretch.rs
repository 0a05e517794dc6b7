//! What a plate must stretch to leave the flat.

use super::grid::{Grid, check_finite, metric};
use super::map::FlatMap;
use super::model::{Error, Options, Stretch};
use crate::geom::Vec2;
use crate::geom::patch::{Jet, Patch};

/// Steps across the strip: strain across a strip is close to a parabola with
/// its extremes at the edges and the middle, all of which are sampled.
const ACROSS: usize = 8;
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
    let places: [f64; ACROSS + 1] = std::array::from_fn(|k| k as f64 / ACROSS as f64);
    let mut jets = Vec::with_capacity(places.len());
    let mut rows = Vec::with_capacity(lines.len());
    for &t in &lines {
        patch.line(t, &places, &mut jets);
        let flat = map.line(t, &places);
        rows.push((t, jets.clone(), flat));
    }
    let mut judge = |t: f64, w: f64, jet: &Jet, flat: &[Vec2; 3]| {
        let [e1, e2] = strains(jet, flat, t, w)?;
        let signed = if e1.abs() > e2.abs() { e1 } else { e2 };
        if signed.abs() > out.largest {
            let v = options.poisson;
            let hooke = |a: f64, b: f64| options.modulus_mpa * (a + v * b) / (1.0 - v * v);
            out.largest = signed.abs();
            out.signed = signed;
            out.at = (t, w);
            out.stress_mpa = hooke(e1, e2).abs().max(hooke(e2, e1).abs());
        }
        Ok(())
    };
    for (k, &w) in places.iter().enumerate() {
        let (lo, hi) = patch.ends(w);
        for (t, jets, flat) in &rows {
            if *t > lo && *t < hi {
                judge(*t, w, &jets[k], &flat[k])?;
            }
        }
        for t in [lo, hi] {
            judge(t, w, &patch.jet(t, w), &map.jet(t, w))?;
        }
    }
    Ok(out)
}

/// Principal strains of the plate in place against the flat plate at (t, w).
fn strains(jet: &Jet, flat: &[Vec2; 3], t: f64, w: f64) -> Result<[f64; 2], Error> {
    check_finite(jet, t, w)?;
    let [a, b, c, _] = metric(jet).ok_or(Error::Degenerate { t, w })?;
    let [_, along, across] = *flat;
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
