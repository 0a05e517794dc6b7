//! The mid-thickness surface of a plate that follows a faired line.
//!
//! The face the plate lies against is ruled: from the faired line E(t) a
//! straight line runs inboard, square to the edge in plan, rising by the
//! slope. With n the inboard normal in plan and s the slope,
//! r = (n, s) / sqrt(1 + s^2), the board's top is S(t, v) = E(t) + v r(t) and
//! the plate's mid-thickness is M = S + lift N, N the unit normal, up.
//! The plate begins at a plan distance `offset` inboard of the line and is
//! as wide as the job says measured along the plate square to its edge: a
//! ruling that meets the edge at an angle a other than a right one (sheer and
//! slope together) is longer by 1 / sin a.

use std::sync::Arc;

use super::series::{Series, Series3};
use crate::fair::curvature;
use crate::geom::bspline::Spline;
use crate::geom::patch::{Jet, Patch};
use crate::geom::quadrature::GAUSS_5;
use crate::geom::{Vec2, Vec3};

/// A plate's guiding line with its slope: what all pieces of one plate on
/// one smooth length of edge share.
#[derive(Debug, Clone)]
pub struct Guide {
    /// The faired line by t, mm.
    pub edge: Spline<3>,
    /// Rise inboard per unit square to the edge in plan, by t.
    pub slope: Spline<1>,
    /// Plan distance of the plate's outboard edge inboard of the line, mm.
    pub offset: f64,
    /// Further distance of the plate's outboard edge from there, along the
    /// plate square to its edge, mm.
    pub inset: f64,
    /// Distance of the mid-thickness above the line's surface, along the
    /// normal, mm.
    pub lift: f64,
    /// Width along the plate, square to its edge, mm.
    pub width: f64,
}

/// How a piece of plate ends.
#[derive(Debug, Clone, PartialEq)]
pub enum EndCut {
    /// Square to the edge in plan, at this t.
    Across(f64),
    /// In a vertical plane; t of the cut at evenly spaced w from 0 to 1, as
    /// [`Guide::oblique`] finds it.
    Oblique([f64; OBLIQUE_NODES]),
}

/// Places across the strip at which an oblique cut is solved exactly;
/// between them the cut is the polynomial through them. Nine places keep a
/// mitre of 20 degrees across 200 mm within a nanometre.
pub(super) const OBLIQUE_NODES: usize = 9;

/// A strip of plate in space: a piece of a guide between two end cuts.
#[derive(Debug, Clone)]
pub struct Strip {
    /// The plate it is a piece of.
    pub guide: Arc<Guide>,
    /// First and last end.
    pub cuts: [EndCut; 2],
}

impl Guide {
    /// Plan unit tangent at t, along increasing t.
    #[must_use]
    pub fn tangent(&self, t: f64) -> Vec2 {
        let [x, y, _] = self.edge.jet::<2>(t)[1];
        crate::geom::vec2(x, y).unit()
    }

    /// Curvature in plan of the guiding line, 1/mm, positive where it turns
    /// to the left (inboard).
    #[must_use]
    pub fn plan_curvature(&self, t: f64) -> f64 {
        curvature(&self.edge, t).0
    }

    /// Point of the mid-thickness and its derivatives at (t, w).
    #[must_use]
    pub fn jet(&self, t: f64, w: f64) -> Jet {
        self.face(t, w, 0.0)
    }

    /// The same of the surface `above` mm over the mid-thickness, along the
    /// normal: half the thickness for the plate's upper face.
    #[must_use]
    pub fn face(&self, t: f64, w: f64, above: f64) -> Jet {
        self.frame(t, w).lifted(self.lift + above)
    }

    /// Unit normal, up.
    #[must_use]
    pub fn normal(&self, t: f64, w: f64) -> Vec3 {
        self.frame(t, w).normal
    }

    /// w at a distance from the outboard edge along the plate, square to its
    /// edge, mm.
    #[must_use]
    pub fn across(&self, distance: f64) -> f64 {
        distance / self.width
    }

    /// Speed of the outboard edge: mm of edge per unit of t.
    #[must_use]
    pub fn edge_speed(&self, t: f64) -> f64 {
        self.jet(t, 0.0).along.length()
    }

    /// Length of the outboard edge between two places, mm: Gauss-Legendre,
    /// five points a panel, a panel no longer than 50 mm and none across a knot.
    #[must_use]
    pub fn edge_length(&self, from: f64, to: f64) -> f64 {
        if to < from {
            return -self.edge_length(to, from);
        }
        let mut breaks = vec![from];
        breaks.extend(
            self.edge
                .basis
                .breaks()
                .iter()
                .copied()
                .filter(|&k| k > from && k < to),
        );
        breaks.push(to);
        let mut sum = 0.0;
        for pair in breaks.windows(2) {
            let panels = ((pair[1] - pair[0]) / 50.0).ceil().max(1.0);
            let h = (pair[1] - pair[0]) / panels;
            let mut panel = 0.0;
            while panel < panels {
                let middle = pair[0] + h * (panel + 0.5);
                for (x, weight) in GAUSS_5 {
                    sum += weight * 0.5 * h * self.edge_speed(middle + 0.5 * h * x);
                }
                panel += 1.0;
            }
        }
        sum
    }

    /// Place t at a distance along the outboard edge from another, mm
    /// (Newton on the edge length, which is monotone and nearly straight:
    /// it settles in a few steps; 20 is a cap, not a need).
    #[must_use]
    pub fn advance(&self, from: f64, distance: f64) -> f64 {
        let mut t = from + distance / self.edge_speed(from);
        for _ in 0..20 {
            let step = (self.edge_length(from, t) - distance) / self.edge_speed(t);
            t -= step;
            if step.abs() < 1e-10 {
                break;
            }
        }
        t
    }

    /// t at which each w meets a vertical plane through `through` with the
    /// plan normal `normal`, starting from `guess`; `None` where Newton's
    /// method does not settle: the plane does not cut the strip.
    #[must_use]
    pub fn oblique(&self, through: Vec2, normal: Vec2, guess: f64) -> Option<EndCut> {
        let mut cut = [0.0; OBLIQUE_NODES];
        let mut t = guess;
        for (k, place) in cut.iter_mut().enumerate() {
            let w = k as f64 / (OBLIQUE_NODES - 1) as f64;
            let mut settled = false;
            for _ in 0..30 {
                let jet = self.jet(t, w);
                let off = (jet.point.plan() - through).dot(normal);
                let rate = jet.along.plan().dot(normal);
                let step = (off / rate).clamp(-500.0, 500.0);
                if !step.is_finite() {
                    return None;
                }
                t -= step;
                if step.abs() < 1e-10 {
                    settled = true;
                    break;
                }
            }
            if !settled {
                return None;
            }
            *place = t;
        }
        Some(EndCut::Oblique(cut))
    }

    fn frame(&self, t: f64, w: f64) -> Frame {
        self.ruling(t).frame(self.inset + self.width * w)
    }

    /// All that a place along the plate has in common across it.
    fn ruling(&self, t: f64) -> Ruling {
        let e = self.edge.jet::<4>(t);
        let s = self.slope.jet::<3>(t);
        let part = |d: usize, c: usize| Series([e[d][c], e[d + 1][c], e[d + 2][c]]);
        let (tx, ty, tz) = (part(1, 0), part(1, 1), part(1, 2));
        let inverse_speed = tx.times(tx).plus(ty.times(ty)).inverse_root();
        let slope = Series([s[0][0], s[1][0], s[2][0]]);
        let steep = Series::constant(1.0)
            .plus(slope.times(slope))
            .inverse_root();
        let ruling = Series3 {
            x: ty.scaled(-1.0).times(inverse_speed),
            y: tx.times(inverse_speed),
            z: slope,
        }
        .times(steep);
        // Cosine of the angle between ruling and edge in space.
        let rise = tz.times(inverse_speed);
        let flat = Series::constant(1.0).plus(rise.times(rise)).inverse_root();
        let cosine = slope.times(steep).times(rise).times(flat);
        let per_sine = Series::constant(1.0)
            .plus(cosine.times(cosine).scaled(-1.0))
            .inverse_root();
        // offset / steep = offset sqrt(1 + s^2): plan distance to distance along the ruling.
        let one_over_steep = steep.times(Series::constant(1.0).plus(slope.times(slope)));
        Ruling {
            base: Series3 {
                x: part(0, 0),
                y: part(0, 1),
                z: part(0, 2),
            },
            ruling,
            start: one_over_steep.scaled(self.offset),
            per_sine,
            across: ruling.times(per_sine.scaled(self.width)),
        }
    }
}

/// A straight line across the plate, with its change along it.
struct Ruling {
    /// Place on the guiding line.
    base: Series3,
    /// Unit vector inboard along the surface.
    ruling: Series3,
    /// Distance along the ruling to the plan offset.
    start: Series,
    /// Distance along the ruling for one square to the edge.
    per_sine: Series,
    /// Derivative across the plate, per unit of w.
    across: Series3,
}

impl Ruling {
    /// The face at a distance beyond the offset, square to the edge, mm.
    fn frame(&self, square: f64) -> Frame {
        let v = self.start.plus(self.per_sine.scaled(square));
        let surface = self.base.plus(self.ruling.times(v));
        let (st, stt) = (surface.order(1), surface.order(2));
        let (sw, swt) = (self.across.order(0), self.across.order(1));
        let cross = st.cross(sw);
        let size = cross.length();
        let normal = cross * (1.0 / size);
        let unit_rate = |rate: Vec3| (rate - normal * normal.dot(rate)) * (1.0 / size);
        Frame {
            point: surface.order(0),
            along: st,
            across: sw,
            normal,
            normal_along: unit_rate(stt.cross(sw) + st.cross(swt)),
            normal_across: unit_rate(swt.cross(sw)),
        }
    }
}

/// The face's point and derivatives, and its unit normal's.
struct Frame {
    point: Vec3,
    along: Vec3,
    across: Vec3,
    normal: Vec3,
    normal_along: Vec3,
    normal_across: Vec3,
}

impl Frame {
    /// The surface `lift` mm off the face, along the normal.
    fn lifted(&self, lift: f64) -> Jet {
        Jet {
            point: self.point + self.normal * lift,
            along: self.along + self.normal_along * lift,
            across: self.across + self.normal_across * lift,
        }
    }
}

impl EndCut {
    /// The edge's place of the cut that lies furthest inside the piece: the
    /// later of both edges' for a first end, the earlier for a last one.
    #[must_use]
    pub fn innermost(&self, last: bool) -> f64 {
        let (a, b) = (self.at(0.0), self.at(1.0));
        if last { a.min(b) } else { a.max(b) }
    }

    /// t of the cut at w.
    #[must_use]
    pub fn at(&self, w: f64) -> f64 {
        match self {
            Self::Across(t) => *t,
            Self::Oblique(nodes) => interpolate_even(nodes, w),
        }
    }
}

/// Polynomial through values at evenly spaced places on [0, 1], by
/// barycentric interpolation (weights (-1)^k C(n, k); Berrut & Trefethen 2004).
fn interpolate_even(values: &[f64; OBLIQUE_NODES], w: f64) -> f64 {
    let n = OBLIQUE_NODES - 1;
    let (mut above, mut below, mut weight) = (0.0, 0.0, 1.0);
    for (k, v) in values.iter().enumerate() {
        let d = w - k as f64 / n as f64;
        if d.abs() < 1e-12 {
            return *v;
        }
        above += weight / d * v;
        below += weight / d;
        weight *= -((n - k) as f64) / (k + 1) as f64;
    }
    above / below
}

impl Patch for Strip {
    fn jet(&self, t: f64, w: f64) -> Jet {
        self.guide.jet(t, w)
    }
    fn line(&self, t: f64, places: &[f64], out: &mut Vec<Jet>) {
        let ruling = self.guide.ruling(t);
        out.clear();
        out.extend(places.iter().map(|w| {
            let square = self.guide.inset + self.guide.width * w;
            ruling.frame(square).lifted(self.guide.lift)
        }));
    }
    fn ends(&self, w: f64) -> (f64, f64) {
        (self.cuts[0].at(w), self.cuts[1].at(w))
    }
    fn knots(&self) -> Vec<f64> {
        let (lo, hi) = self.range();
        let mut all: Vec<f64> = [
            self.guide.edge.basis.breaks(),
            self.guide.slope.basis.breaks(),
        ]
        .concat()
        .into_iter()
        .filter(|&k| k > lo && k < hi)
        .collect();
        all.sort_by(f64::total_cmp);
        all.dedup();
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::bspline::Basis;
    use crate::geom::vec2;

    fn wavy() -> Guide {
        let basis = Basis::clamped(5, &[0.0, 1000.0, 2200.0, 3000.0]);
        let n = basis.len();
        let edge = Spline {
            coefficients: (0..n)
                .map(|i| {
                    let f = i as f64;
                    [400.0 * f, 30.0 * f * f - f * f * f, 10.0 * f * f]
                })
                .collect(),
            basis: basis.clone(),
        };
        let slope = Spline {
            coefficients: (0..n).map(|i| [0.05 + 0.02 * i as f64]).collect(),
            basis,
        };
        Guide {
            edge,
            slope,
            offset: 35.0,
            inset: 0.0,
            lift: 9.35,
            width: 180.0,
        }
    }

    #[test]
    fn derivatives_agree_with_finite_differences() {
        let g = wavy();
        for (t, w) in [(300.0, 0.2), (1500.0, 0.0), (2900.0, 1.0)] {
            let j = g.jet(t, w);
            let h = 1e-2;
            let dt = (g.jet(t + h, w).point - g.jet(t - h, w).point) * (0.5 / h);
            let dw = (g.jet(t, w + 1e-5).point - g.jet(t, w - 1e-5).point) * (0.5 / 1e-5);
            assert!((dt - j.along).length() < 1e-8, "{:?} {:?}", dt, j.along);
            assert!((dw - j.across).length() < 1e-5, "{:?} {:?}", dw, j.across);
        }
    }

    #[test]
    fn the_plate_is_as_wide_square_to_its_edge_as_the_job_says() {
        let g = Guide {
            lift: 0.0,
            ..wavy()
        };
        let e = g.jet(1200.0, 0.0);
        let t = e.along.unit();
        let n = g.normal(1200.0, 0.0);
        let square = n.cross(t);
        let far = g.jet(1200.0, 1.0).point - e.point;
        // Lift turns with the twist: second order, far below a micrometre here.
        assert!(
            (far.dot(square) - 180.0).abs() < 2e-3,
            "{}",
            far.dot(square)
        );
    }

    #[test]
    fn a_plane_cut_lies_in_its_plane_at_every_width() {
        let g = wavy();
        let normal = vec2(0.8, 0.6);
        let through = g.jet(1400.0, 0.3).point.plan();
        let cut = g.oblique(through, normal, 1300.0).expect("it cuts");
        for k in 0..=40 {
            let w = f64::from(k) / 40.0;
            let off = (g.jet(cut.at(w), w).point.plan() - through).dot(normal);
            assert!(off.abs() < 1e-7, "{off}");
        }
    }

    #[test]
    fn edge_length_and_advance_are_inverse() {
        let g = wavy();
        let t = g.advance(250.0, 1811.0);
        assert!((g.edge_length(250.0, t) - 1811.0).abs() < 1e-8);
        assert!((g.advance(t, -1811.0) - 250.0).abs() < 1e-8);
    }
}
