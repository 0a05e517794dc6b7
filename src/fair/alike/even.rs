//! Lines made exactly even: one side the mirror image of the other.
//!
//! The fit of an even survey is even but for rounding and for the threshold
//! that chooses its knots. A length of starboard becomes the mirror image of its
//! fellow to port, and a length that crosses the centreline the mean of itself and
//! its own image.

use super::super::base::BaseLine;
use super::super::edge::FairChain;
use crate::geom::bspline::{Basis, Spline};

/// A knot nearer the middle of a line than this share of its mean piece lies in
/// the middle: far below the spacing of fitted knots, far above rounding.
const IN_THE_MIDDLE: f64 = 0.02;

/// What becomes of a value on the other side; `by` is the sum that parameters are
/// turned about.
type Turn<const N: usize> = fn([f64; N], f64) -> [f64; N];

/// A place on the other side.
pub(super) fn over(p: [f64; 3], _: f64) -> [f64; 3] {
    [p[0], -p[1], p[2]]
}

/// A slope inboard is the same on the other side.
fn same(s: [f64; 1], _: f64) -> [f64; 1] {
    s
}

/// A parameter counted from the other end.
fn back(u: [f64; 1], by: f64) -> [f64; 1] {
    [by - u[0]]
}

fn sum<const N: usize>(curve: &Spline<N>) -> f64 {
    let (a, b) = curve.basis.range();
    a + b
}

/// The line run the other way on the other side, its parameter t at `about - t`.
fn image<const N: usize>(curve: &Spline<N>, about: f64, turn: Turn<N>, by: f64) -> Spline<N> {
    let turned = curve.coefficients.iter().rev().map(|c| turn(*c, by));
    Spline {
        basis: curve.basis.reflected(about),
        coefficients: turned.collect(),
    }
}

/// The mean of a line and its image; `None` where its knots give no line.
fn evened<const N: usize>(curve: &Spline<N>, turn: Turn<N>, by: f64) -> Option<Spline<N>> {
    let about = sum(curve);
    let basis = even_basis(&curve.basis);
    let sites: Vec<f64> = (0..basis.len()).map(|k| basis.greville(k)).collect();
    let mean = |p: [f64; N], q: [f64; N]| std::array::from_fn(|k| 0.5 * (p[k] + turn(q, by)[k]));
    let values = sites
        .iter()
        .map(|t| mean(curve.at(*t), curve.at(about - t)));
    let values: Vec<[f64; N]> = values.collect();
    let mut out = Spline::fit(basis, &sites, &values)?;
    let found = out.coefficients.clone();
    for (c, other) in out.coefficients.iter_mut().zip(found.iter().rev()) {
        *c = mean(*c, *other);
    }
    // The ends are the line's ends, to the last digit.
    if let [first, .., last] = curve.coefficients.as_slice() {
        let end = out.coefficients.len() - 1;
        out.coefficients[0] = mean(*first, *last);
        out.coefficients[end] = mean(*last, *first);
    }
    Some(out)
}

/// The knots of the first half of a basis, and their images.
fn even_basis(basis: &Basis) -> Basis {
    let (a, b) = basis.range();
    let (about, middle) = (a + b, 0.5 * (a + b));
    let breaks = basis.breaks();
    let near = IN_THE_MIDDLE * (b - a) / (breaks.len() - 1) as f64;
    let mut knots: Vec<f64> = breaks.to_vec();
    knots.retain(|k| *k < middle - near);
    let images: Vec<f64> = knots.iter().rev().map(|k| about - k).collect();
    if breaks.iter().any(|k| (k - middle).abs() <= near) {
        knots.push(middle);
    }
    knots.extend(images);
    Basis::clamped(basis.degree(), &knots)
}

/// The place of each length among all, and of its fellow on the other side,
/// from the middle on.
fn fellows(counts: &[usize]) -> impl Iterator<Item = ((usize, usize), (usize, usize))> {
    let lengths = |(c, n): (usize, &usize)| (0..*n).map(move |k| (c, k));
    let all: Vec<(usize, usize)> = counts.iter().enumerate().flat_map(lengths).collect();
    let count = all.len();
    (count / 2..count).map(move |i| (all[i], all[count - 1 - i]))
}

/// Makes the base lines of all chains even.
pub(super) fn bases(chains: &mut [Vec<BaseLine>]) -> Option<()> {
    let counts: Vec<usize> = chains.iter().map(Vec::len).collect();
    for (here, other) in fellows(&counts) {
        let fellow = &chains[other.0][other.1].line;
        let (curve, about) = if here == other {
            (evened(&fellow.curve, over, 0.0)?, sum(&fellow.curve))
        } else {
            let before = here.1.checked_sub(1).map(|k| &chains[here.0][k].line.curve);
            let start = before.map_or(0.0, |c| c.basis.range().1);
            let about = start + fellow.curve.basis.range().1;
            (image(&fellow.curve, about, over, 0.0), about)
        };
        let turned: Vec<f64> = fellow.feet.iter().rev().map(|t| about - t).collect();
        let feet = if here == other {
            let both = fellow.feet.iter().zip(&turned);
            both.map(|(t, u)| 0.5 * (t + u)).collect()
        } else {
            turned
        };
        let line = &mut chains[here.0][here.1].line;
        line.curve = curve;
        line.feet = feet;
    }
    Some(())
}

/// Makes slopes and top lines over even base lines even.
pub(super) fn tops(chains: &mut [FairChain]) -> Option<()> {
    let counts: Vec<usize> = chains.iter().map(|c| c.lengths.len()).collect();
    for (here, other) in fellows(&counts) {
        let fellow = &chains[other.0].lengths[other.1];
        let whole = sum(&fellow.top);
        let (slope, top, top_of) = if here == other {
            (
                evened(&fellow.slope, same, 0.0)?,
                evened(&fellow.top, over, 0.0)?,
                evened(&fellow.top_of, back, whole)?,
            )
        } else {
            let start = chains[here.0].lengths[here.1].range().0;
            let about = start + fellow.range().1;
            (
                image(&fellow.slope, about, same, 0.0),
                image(&fellow.top, whole, over, 0.0),
                image(&fellow.top_of, about, back, whole),
            )
        };
        let length = &mut chains[here.0].lengths[here.1];
        length.slope = slope;
        length.top = top;
        length.top_of = top_of;
    }
    Some(())
}
