//! A curve in space by its plan: directions, curvature, feet of points on it.

use crate::geom::bspline::{Basis, Spline};
use crate::geom::{Vec2, Vec3, vec2, vec3};

/// Place and direction on a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Place, mm.
    pub at: Vec3,
    /// Unit tangent in plan.
    pub tangent: Vec2,
    /// Rise along the line per unit of plan length.
    pub grade: f64,
}

/// Place and direction at a parameter.
#[must_use]
pub fn frame(curve: &Spline<3>, t: f64) -> Frame {
    let [c, d] = curve.jet::<2>(t);
    let v = vec2(d[0], d[1]);
    let speed = v.length();
    Frame {
        at: vec3(c[0], c[1], c[2]),
        tangent: v.unit(),
        grade: if speed > 0.0 { d[2] / speed } else { 0.0 },
    }
}

/// Curvature in plan (left positive) and in profile, developed along the
/// line's plan length (the second derivative of height by it), both 1/mm.
#[must_use]
pub fn curvature(curve: &Spline<3>, t: f64) -> (f64, f64) {
    let [_, d, dd] = curve.jet::<3>(t);
    let (v, a) = (vec2(d[0], d[1]), vec2(dd[0], dd[1]));
    let speed_sq = v.dot(v);
    if speed_sq <= 0.0 {
        return (0.0, 0.0);
    }
    let plan = v.cross(a) / (speed_sq * speed_sq.sqrt());
    let profile = (dd[2] - d[2] * v.dot(a) / speed_sq) / speed_sq;
    (plan, profile)
}

/// Places five to a piece of a curve, its ends included.
pub(super) fn places(basis: &Basis) -> impl Iterator<Item = f64> + '_ {
    basis
        .breaks()
        .windows(2)
        .flat_map(|s| (0..=4).map(|k| s[0] + (s[1] - s[0]) * f64::from(k) / 4.0))
}

/// Foot of a point on a curve in plan: where the residual is square to it.
/// Newton from the parameter `from`, eight steps at most; a step is never longer
/// than the distance of the point from the curve, so that it cannot run away.
pub(super) fn foot<const N: usize>(curve: &Spline<N>, point: Vec2, from: f64) -> f64 {
    let (first, last) = curve.basis.range();
    let mut t = from;
    for _ in 0..8 {
        let [c, d, dd] = curve.jet::<3>(t);
        let (d, dd) = (vec2(d[0], d[1]), vec2(dd[0], dd[1]));
        let gap = vec2(c[0], c[1]) - point;
        let slope = d.dot(d);
        let bent = slope + gap.dot(dd);
        // Beyond the centre of curvature Newton's step turns round.
        let by = if bent > 0.1 * slope { bent } else { slope };
        let (step, most) = (gap.dot(d) / by, gap.length());
        if !(by > 0.0 && step.is_finite() && most.is_finite()) {
            break;
        }
        t -= step.clamp(-most, most);
        if step.abs() <= 1e-14 * (last - first) {
            break;
        }
    }
    t
}
