//! Plan arc length along a curve, and curves by it.

use super::curve::{frame, places};
use super::knots;
use super::no_line::NoLine;
use crate::geom::bspline::Spline;
use crate::geom::quadrature::GAUSS_5;
use crate::geom::vec2;

/// The speed of a curve by its arc length may leave 1 by this much; a curve
/// through few points that is off by more is taken over onto more knots.
pub(super) const SPEED_ERROR: f64 = 1e-3;

/// How far, mm, a curve may move by being taken over: far below what the
/// flattened sizes are held to (0.02 mm on 10 m).
const KEPT_MM: f64 = 1e-3;

/// Plan speed at t.
pub(super) fn speed<const N: usize>(curve: &Spline<N>, t: f64) -> f64 {
    let [_, d] = curve.jet::<2>(t);
    vec2(d[0], d[1]).length()
}

/// Plan arc length from a to b, a piece of the curve apart at most. Five
/// Gauss points twice over: fewer leave 1e-4 mm in the long pieces at the
/// ends, differently from either side, and an even boat comes out uneven.
pub(super) fn arc<const N: usize>(curve: &Spline<N>, a: f64, b: f64) -> f64 {
    let half = 0.25 * (b - a);
    let mut sum = 0.0;
    for middle in [a + half, b - half] {
        for (x, w) in GAUSS_5 {
            sum += w * half * speed(curve, middle + half * x);
        }
    }
    sum
}

/// Places of a scan nearer than this, mm, are told apart by the speed half way between: off by less than 1e-6
/// of a thousandth of the step.
const SHORT_STEP: f64 = 5.0;

/// Plan arc length from the first of `t` to each.
pub(super) fn arcs_at<const N: usize>(curve: &Spline<N>, t: &[f64]) -> Vec<f64> {
    let breaks = curve.basis.breaks();
    let mut at_break = vec![0.0; breaks.len()];
    for k in 1..breaks.len() {
        at_break[k] = at_break[k - 1] + arc(curve, breaks[k - 1], breaks[k]);
    }
    let from_start = |t: f64| {
        let k = breaks.partition_point(|b| *b <= t);
        let k = k.saturating_sub(1).min(breaks.len() - 2);
        at_break[k] + arc(curve, breaks[k], t)
    };
    let zero = t.first().map_or(0.0, |t| from_start(*t));
    let mut out: Vec<f64> = Vec::with_capacity(t.len());
    let mut before = (f64::INFINITY, 0.0);
    for &t in t {
        let step = t - before.0;
        let near = if (0.0..SHORT_STEP).contains(&step) {
            before.1 + step * speed(curve, before.0 + 0.5 * step)
        } else {
            from_start(t) - zero
        };
        before = (t, near);
        out.push(near);
    }
    out
}

/// Furthest that the plan speed of a curve leaves 1, at places five to a piece.
pub(super) fn speed_error(curve: &Spline<3>) -> f64 {
    places(&curve.basis).fold(0.0, |m: f64, t| m.max((speed(curve, t) - 1.0).abs()))
}

/// Gives the end of a curve taken over, whose first two coefficients from there
/// are `pair`, the direction in plan that the curve `of` has at `t`: it differs
/// in the fifth figure only, but a given direction is to be met.
fn turn_end(dense: &mut Spline<3>, pair: [usize; 2], of: &Spline<3>, t: f64) {
    let n = frame(of, t).tangent.left();
    let c = &mut dense.coefficients;
    let [a, b] = pair.map(|k| vec2(c[k][0], c[k][1]));
    let off = (b - a).dot(n);
    c[pair[1]][0] -= off * n.x;
    c[pair[1]][1] -= off * n.y;
}

/// The same curve taken over onto more knots by its true arc length: for few
/// points on a sharp bend, where the speed of the interpolant waves between
/// them. Doubles the places until the speed is even and the curve keeps its place
/// within [`KEPT_MM`] half way between them (it is a sixth-order interpolant),
/// five times at most.
pub(super) fn by_arc_length(curve: &Spline<3>, feet: &mut [f64]) -> Result<Spline<3>, NoLine> {
    let mut pieces = 2;
    loop {
        // Every second place is only looked at, not interpolated.
        let mut t = Vec::new();
        for s in curve.basis.breaks().windows(2) {
            t.extend(
                (0..2 * pieces).map(|k| s[0] + (s[1] - s[0]) * k as f64 / (2 * pieces) as f64),
            );
        }
        t.push(curve.basis.range().1);
        let all_arcs = arcs_at(curve, &t);
        let arcs: Vec<f64> = all_arcs.iter().copied().step_by(2).collect();
        let values: Vec<[f64; 3]> = t.iter().step_by(2).map(|t| curve.at(*t)).collect();
        let basis = knots::through(&arcs).ok_or(NoLine::Singular)?;
        let mut dense = Spline::fit(basis, &arcs, &values).ok_or(NoLine::Singular)?;
        let last = dense.coefficients.len() - 1;
        dense.coefficients[0] = values[0];
        dense.coefficients[last] = values[values.len() - 1];
        let (first_t, last_t) = curve.basis.range();
        turn_end(&mut dense, [0, 1], curve, first_t);
        turn_end(&mut dense, [last, last - 1], curve, last_t);
        let off = t.iter().zip(&all_arcs).fold(0.0, |m: f64, (t, s)| {
            let (a, b) = (curve.at(*t), dense.at(*s));
            (0..3).fold(m, |m, k| m.max((a[k] - b[k]).abs()))
        });
        if (speed_error(&dense) <= SPEED_ERROR && off <= KEPT_MM) || pieces >= 64 {
            let mut from_start = vec![curve.basis.range().0];
            from_start.extend_from_slice(feet);
            let arcs = arcs_at(curve, &from_start);
            feet.copy_from_slice(&arcs[1..]);
            return Ok(dense);
        }
        pieces *= 2;
    }
}
