//! The fit to expect on the boat of pieces made to a faired line. What each
//! figure means is in `docs/method-fairing.md`, "How sure is the fit".

use std::f64::consts::{PI, SQRT_2};

use super::curve::{curvature, frame};
use super::edge::{FairEdge, FairLength};
use super::uncertainty::Uncertainty;
use crate::geom::quadrature::GAUSS_5;
use crate::geom::{Vec2, trig};

/// Part of all surveys whose fit is as good as told.
const SURE: f64 = 0.95;

/// Standard deviations that hold [`SURE`] of a normal error, both ways.
const NORMAL_95: f64 = 1.959_963_984_540_054;

/// Panels of five Gauss points along a piece: its edge turns little in a
/// panel, and the error's shortest wave is as long as the points' spacing.
const PANELS: u32 = 12;

/// Furthest apart that the gap is looked for along a piece, mm, and the least
/// and most places: far below the points' spacing.
const LOOK_MM: f64 = 50.0;
const LOOK_PLACES: [f64; 2] = [16.0, 400.0];

/// A piece of the base line on one length.
#[derive(Debug, Clone, Copy)]
pub struct EdgePiece<'a> {
    length: &'a FairLength,
    uncertainty: &'a Uncertainty,
    from: f64,
    to: f64,
}

impl FairEdge {
    /// The piece of a chain's length between two t, mm, held to the line's
    /// range; `None` where there is no such length or it is not known how sure
    /// it is.
    #[must_use]
    pub fn piece(&self, chain: usize, length: usize, from: f64, to: f64) -> Option<EdgePiece<'_>> {
        let length = self.chains.get(chain)?.lengths.get(length)?;
        let (a, b) = length.range();
        Some(EdgePiece {
            length,
            uncertainty: length.uncertainty.as_ref()?,
            from: from.clamp(a, b),
            to: to.clamp(a, b),
        })
    }
}

impl EdgePiece<'_> {
    /// With 95 % probability the covering board lies no further than this above
    /// or below the faired line, anywhere along the piece, mm; and the t where it
    /// is least sure.
    #[must_use]
    pub fn gap_95(&self) -> (f64, f64) {
        largest_gap(self.uncertainty, self.from, self.to)
    }

    /// 95 % of how far a butt with the `next` piece at `t` opens or closes
    /// lengthwise, and of the step there square to the edge, mm; `None` where the
    /// pieces lie on two lengths, or one is a point.
    #[must_use]
    pub fn butt_95(&self, next: &Self, t: f64) -> Option<[f64; 2]> {
        if !std::ptr::eq(self.length, next.length) {
            return None;
        }
        let variances = joint_variances(self, next, t)?;
        Some(variances.map(|v| NORMAL_95 * v.sqrt()))
    }
}

/// The level that the error in height keeps within over a stretch with 95 %
/// probability, and where it is least sure.
///
/// The error is taken as a normal random function of standard deviation s(t).
/// It passes level g where it passes a = g / s measured in its own deviations,
/// upward at the rate phi(a) (w phi(a'/w) - a' Phi(-a'/w)), w the deviation of
/// the change of error over s (Rice 1944; Cramer & Leadbetter, Stationary and
/// Related Stochastic Processes, 1967, chapter 13, from memory). Beyond the
/// level at the start, or passing it either way later, bounds the probability
/// from above; g is where that bound is 5 %.
fn largest_gap(uncertainty: &Uncertainty, from: f64, to: f64) -> (f64, f64) {
    let count = ((to - from) / LOOK_MM)
        .ceil()
        .clamp(LOOK_PLACES[0], LOOK_PLACES[1]);
    let step = (to - from) / count;
    let mut places = Vec::new();
    let mut k = 0.0;
    let mut worst = (0.0, from);
    while k <= count {
        let t = from + step * k;
        let [v, c, d] = uncertainty.height_error(t);
        if v > worst.0 {
            worst = (v, t);
        }
        if v > 0.0 {
            let sd = v.sqrt();
            let w = ((d - c * c / v) / v).max(0.0).sqrt();
            let half = if k == 0.0 || k >= count { 0.5 } else { 1.0 };
            places.push((sd, c / sd, w, half * step));
        }
        k += 1.0;
    }
    let Some(&(first, ..)) = places.first() else {
        return (0.0, worst.1);
    };
    let beyond = |g: f64| {
        let mut sum = 2.0 * tail(g / first);
        for &(sd, change, w, dt) in &places {
            let (a, turn) = (g / sd, -g * change / (sd * sd));
            let rise = if w > 0.0 {
                w * density(turn / w) - turn * tail(turn / w)
            } else {
                (-turn).max(0.0)
            };
            sum += 2.0 * density(a) * rise * dt;
        }
        sum
    };
    let (mut low, mut high) = (0.0, 10.0 * worst.0.sqrt());
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if beyond(middle) > 1.0 - SURE {
            low = middle;
        } else {
            high = middle;
        }
    }
    (high, worst.1)
}

/// Density of the standard normal.
fn density(x: f64) -> f64 {
    trig::exp(-0.5 * x * x) / (2.0 * PI).sqrt()
}

/// Probability that a standard normal lies above x.
fn tail(x: f64) -> f64 {
    0.5 * trig::erfc(x / SQRT_2)
}

/// Variances of the opening and of the step between two pieces at `t`.
///
/// Each piece is laid by itself: its middle at its place along the edge, then
/// shifted square to the edge there and turned until it lies as near as it will
/// go (least squares) to the true edge; upward it bends to the board. An error e
/// of the edge square to it shifts a piece by p and turns it by q, the least
/// squares of e - p n.n_m - q T.(r - r_m) (n, T normal and tangent, r place, m the
/// middle). Its end then lies p n.n_e + q T_e.(r_e - r_m) square to the edge and
/// p n_m.T_e - q n_e.(r_e - r_m) along it, and where the board rises otherwise
/// than faired, its plan length changes by the integral of g / sqrt(1 + g^2)
/// times the change of rise, g the grade.
fn joint_variances(a: &EdgePiece<'_>, b: &EdgePiece<'_>, t: f64) -> Option<[f64; 2]> {
    let (mut along, mut across, mut up) = (Vec::new(), Vec::new(), Vec::new());
    for (piece, sign) in [(a, -1.0), (b, 1.0)] {
        laid(piece, t, sign, &mut along, &mut across)?;
        shortened(piece, t, sign, &mut up);
    }
    let (s, curve) = (a.uncertainty, &a.length.base);
    Some([
        s.across_sum(curve, &along) + s.up_sum(&up),
        s.across_sum(curve, &across),
    ])
}

/// Gauss places and weights along a stretch.
fn places(from: f64, to: f64) -> Vec<(f64, f64)> {
    let mut out = Vec::new();
    let half = 0.5 * (to - from) / f64::from(PANELS);
    for k in 0..PANELS {
        let middle = from + half * f64::from(2 * k + 1);
        out.extend(GAUSS_5.map(|(x, w)| (middle + half * x, w * half)));
    }
    out
}

/// Adds where an end of a piece comes to lie, as sums over the error.
fn laid(
    on: &EdgePiece<'_>,
    t: f64,
    sign: f64,
    along: &mut Vec<(f64, f64)>,
    across: &mut Vec<(f64, f64)>,
) -> Option<()> {
    let at = |t: f64| -> (Vec2, Vec2) {
        let f = frame(&on.length.base, t);
        (f.at.plan(), f.tangent)
    };
    let (middle, heading) = at(0.5 * (on.from + on.to));
    let columns = |t: f64| {
        let (r, tangent) = at(t);
        [tangent.left().dot(heading.left()), tangent.dot(r - middle)]
    };
    let nodes = places(on.from, on.to);
    let mut normal = [[0.0; 2]; 2];
    for (u, w) in &nodes {
        let c = columns(*u);
        for i in 0..2 {
            for j in 0..2 {
                normal[i][j] += w * c[i] * c[j];
            }
        }
    }
    let [[a, b], [_, d]] = normal;
    let determinant = a * d - b * b;
    if determinant.is_nan() || determinant <= 0.0 {
        return None;
    }
    let (end, tangent) = at(t);
    let ends = [
        (columns(t), &mut *across),
        (
            [
                heading.left().dot(tangent),
                -tangent.left().dot(end - middle),
            ],
            &mut *along,
        ),
    ];
    for (e, out) in ends {
        let shift = (d * e[0] - b * e[1]) / determinant;
        let turn = (a * e[1] - b * e[0]) / determinant;
        for (u, w) in &nodes {
            let c = columns(*u);
            out.push((*u, sign * w * (shift * c[0] + turn * c[1])));
        }
    }
    Some(())
}

/// Adds how far a piece's end at `t` moves along the edge because the piece bends
/// to another rise, as a sum over the error in height: minus the integral of
/// G dz' from its middle, G = g / sqrt(1 + g^2); by parts, - [G dz] + integral of
/// G' dz, G' = z'' / (1 + g^2)^(3/2).
fn shortened(on: &EdgePiece<'_>, t: f64, sign: f64, up: &mut Vec<(f64, f64)>) {
    let middle = 0.5 * (on.from + on.to);
    let grade = |t: f64| frame(&on.length.base, t).grade;
    let slant = |g: f64| g / (1.0 + g * g).sqrt();
    up.push((t, -sign * slant(grade(t))));
    up.push((middle, sign * slant(grade(middle))));
    // From the middle to the end, whichever way: the weights carry the sign.
    for (u, w) in places(middle, t) {
        let g = grade(u);
        let (_, bend) = curvature(&on.length.base, u);
        let cube = (1.0 + g * g) * (1.0 + g * g).sqrt();
        up.push((u, sign * w * bend / cube));
    }
}
