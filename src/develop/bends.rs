//! The bend schedule: where the lines across the plate lie, and how the plate
//! bends and twists there.

use super::grid::{check_finite, gauss};
use super::map::FlatMap;
use super::model::{Bend, BendLine, Error};
use super::refold::{Fold, gap as worst};
use crate::geom::bspline::Spline;
use crate::geom::patch::Patch;
use crate::geom::{Vec2, vec2};

/// Steps along the outboard edge at least: a spline through fewer rows does
/// not follow a curve.
const STEPS_LEAST: usize = 4;
/// The map's spans follow the strip's turning (0.06 rad by default): one row
/// for two of them keeps the interpolated bend true on tight curves, where
/// the step in mm alone would not.
const SPANS_PER_STEP: usize = 2;
/// Most rows: refuses a step that is absurdly short for the strip.
const STEPS_MOST: f64 = 1e6;
/// An overhang of an oblique end shorter than this needs no row of its own,
/// mm: folding reaches as far beyond a row, and a row too near its neighbour
/// makes the printed places' last digit a bend.
const OVERHANG_MM: f64 = 1.0;
/// Step of the differences of the frame, mm. The formula's own error falls
/// with its fourth power, rounding rises with its inverse: at 0.2 mm both are
/// below 1e-12 per mm for plates bent to radii above 100 mm.
const DIFFERENCE_MM: f64 = 0.2;

/// Rows of the schedule. Between the strip's ends at w = 0 they are evenly
/// spaced along the flat outboard edge, the first and the last at the ends.
/// Where an oblique end reaches further elsewhere, rows go on at even spacing
/// to the strip's furthest t, along the edge continued, so that every point
/// of the part lies between two rows or within [`OVERHANG_MM`] of one.
pub(super) fn schedule(patch: &dyn Patch, map: &FlatMap, step: f64) -> Result<Vec<Bend>, Error> {
    let (first, last) = patch.range();
    let (lo, hi) = patch.ends(0.0);
    let edge = Edge::new(map, first, last);
    let (begin, end) = (edge.length_to(lo), edge.length_to(hi));
    let whole = edge.length_to(last);
    let pieces = |length: f64| steps(length, step);
    let main = pieces(end - begin)?
        .max(STEPS_LEAST)
        .max(map.breaks().len() / SPANS_PER_STEP);
    let spacing = (end - begin) / main as f64;
    let mut places = Vec::new();
    if begin > OVERHANG_MM {
        let n = steps(begin, spacing)?;
        places.extend((0..n).map(|k| begin * k as f64 / n as f64));
    }
    places.extend((0..=main).map(|k| begin + spacing * k as f64));
    let rest = whole - end;
    if rest > OVERHANG_MM {
        let n = steps(rest, spacing)?;
        places.extend((1..=n).map(|k| end + rest * k as f64 / n as f64));
    }
    places
        .into_iter()
        .map(|s| {
            let t = edge.place(s);
            let bending = bending(patch, t, (first, last))?;
            let places = [0.0, 0.25, 0.5, 0.75, 1.0].map(|w| map.at(t, w));
            let (turn, stretch, shift) = edge.against(t, &bending, places[4] - places[0]);
            let line = BendLine {
                along: s - begin,
                places,
                curvature: bending.curvature,
                twist: bending.twist,
                turn,
                stretch,
                shift,
            };
            Ok(Bend { t, line })
        })
        .collect()
}

/// Places across at which a schedule is tried between its rows.
const TRIED: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 1.0];

/// Largest gap of the plate folded back from a schedule, mm, at and half-way
/// between its rows. Only what lies between the strip's ends counts; a plate
/// may overlap itself in the flat.
pub(super) fn gap(patch: &dyn Patch, map: &FlatMap, bends: &[Bend]) -> f64 {
    let rows: Vec<BendLine> = bends.iter().map(|b| b.line).collect();
    let ends = TRIED.map(|w| patch.ends(w));
    let halves = bends.windows(2).map(|b| {
        let along = 0.5 * (b[0].line.along + b[1].line.along);
        (0.5 * (b[0].t + b[1].t), along)
    });
    let places = bends.iter().map(|b| (b.t, b.line.along)).chain(halves);
    let (mut jets, mut flat, mut space) = (Vec::new(), Vec::new(), Vec::new());
    for (t, along) in places {
        patch.line(t, &TRIED, &mut jets);
        let line = map.line(t, &TRIED);
        for (k, &(lo, hi)) in ends.iter().enumerate() {
            if t >= lo && t <= hi {
                flat.push((line[k][0], (along, TRIED[k])));
                space.push(jets[k].point);
            }
        }
    }
    let folded = Fold::new(&rows).and_then(|fold| {
        let each = flat.iter().map(|&(p, near)| fold.point_near(p, near));
        each.collect::<Result<Vec<_>, _>>()
    });
    folded
        .and_then(|folded| worst(&folded, &space))
        .unwrap_or(f64::INFINITY)
}

/// Furthest apart that two rows lie, mm.
pub(super) fn longest_step(bends: &[Bend]) -> f64 {
    let steps = bends.windows(2).map(|b| b[1].line.along - b[0].line.along);
    steps.fold(0.0, f64::max)
}

/// Number of steps no longer than `step` that fill a length.
fn steps(length: f64, step: f64) -> Result<usize, Error> {
    let wanted = length / step;
    if wanted.is_nan() || wanted >= STEPS_MOST {
        return Err(Error::Option {
            name: "bend_step_mm",
            rule: "above a millionth of the strip's length",
        });
    }
    let mut n = 1;
    while n as f64 + 1e-9 < wanted {
        n += 1;
    }
    Ok(n)
}

/// The flat outboard edge by its length.
struct Edge {
    line: Spline<2>,
    /// Places and weights of the length of a piece.
    rule: [(f64, f64); 6],
    /// t and the length up to it.
    table: Vec<(f64, f64)>,
}

impl Edge {
    fn new(map: &FlatMap, first: f64, last: f64) -> Self {
        let mut edge = Self {
            line: map.edge(0.0),
            rule: gauss(),
            table: vec![(first, 0.0)],
        };
        let inner = map.breaks().iter().copied();
        let inner: Vec<f64> = inner.filter(|&t| t > first && t < last).collect();
        for t in inner.into_iter().chain([last]) {
            let (from, length) = edge.table[edge.table.len() - 1];
            if t > from {
                edge.table.push((t, length + edge.between(from, t)));
            }
        }
        edge
    }

    fn between(&self, from: f64, to: f64) -> f64 {
        self.rule
            .iter()
            .map(|(x, weight)| weight * self.speed(from + (to - from) * x))
            .sum::<f64>()
            * (to - from)
    }

    /// What the edge in space turns more than the flat one, per mm of it, how
    /// much longer it is, less 1, and what the line across gains on its flat
    /// chord.
    fn against(&self, t: f64, space: &Bending, chord: Vec2) -> (f64, f64, Vec2) {
        let [_, d, dd] = self.line.jet::<3>(t);
        let (d, dd) = (vec2(d[0], d[1]), vec2(dd[0], dd[1]));
        let (speed, along) = (d.length(), d.unit());
        let flat = d.cross(dd) / (speed * speed * space.speed);
        let shift = space.reach - vec2(chord.dot(along), along.cross(chord));
        (space.turn - flat, space.speed / speed - 1.0, shift)
    }

    fn speed(&self, t: f64) -> f64 {
        let [_, d] = self.line.jet::<2>(t);
        vec2(d[0], d[1]).length()
    }

    fn length_to(&self, t: f64) -> f64 {
        let k = self.table.partition_point(|p| p.0 <= t).max(1) - 1;
        let (from, length) = self.table[k];
        length + self.between(from, t)
    }

    /// t at a length, by Newton's method from the chord of its piece; the
    /// speed is nearly even, so that a few steps reach rounding.
    fn place(&self, length: f64) -> f64 {
        let last = self.table.len() - 2;
        let k = self.table.partition_point(|p| p.1 <= length).max(1) - 1;
        let (a, b) = (self.table[k.min(last)], self.table[k.min(last) + 1]);
        if length <= a.1 {
            return a.0;
        }
        if length >= b.1 {
            return b.0;
        }
        let mut t = a.0 + (b.0 - a.0) * (length - a.1) / (b.1 - a.1);
        for _ in 0..12 {
            let speed = self.speed(t);
            let step = (length - a.1 - self.between(a.0, t)) / speed;
            t = (t + step).clamp(a.0, b.0);
            if step.abs() < 1e-13 * (b.0 - a.0) {
                break;
            }
        }
        t
    }
}

/// Derivative at place m of five evenly spaced ones, in twelfths of a step
/// (Abramowitz & Stegun, table 25.2).
const FIVE_POINTS: [[f64; 5]; 5] = [
    [-25.0, 48.0, -36.0, 16.0, -3.0],
    [-3.0, -10.0, 18.0, -6.0, 1.0],
    [1.0, -8.0, 0.0, 8.0, -1.0],
    [-1.0, 6.0, -18.0, 10.0, 3.0],
    [3.0, -16.0, 36.0, -48.0, 25.0],
];

/// The outboard edge in space: with T along it, N to the upper face and
/// B = N x T inboard, the rates of its frame.
struct Bending {
    /// mm of edge per unit of t.
    speed: f64,
    /// Normal curvature dT/ds . N, 1/mm.
    curvature: f64,
    /// Geodesic torsion dB/ds . N, 1/mm.
    twist: f64,
    /// Geodesic curvature dT/ds . B, 1/mm.
    turn: f64,
    /// To the inboard edge: along T and along B, mm.
    reach: Vec2,
}

fn bending(patch: &dyn Patch, t: f64, range: (f64, f64)) -> Result<Bending, Error> {
    let w = 0.0;
    let here = patch.jet(t, w);
    check_finite(&here, t, w)?;
    let speed = here.along.length();
    let step = (DIFFERENCE_MM / speed).min((range.1 - range.0) * 1e-3);
    // The place of t among the five: the middle, or nearer an end of the strip.
    let mut m = 2;
    while m > 0 && t - step * m as f64 + 1e-9 * step < range.0 {
        m -= 1;
    }
    while m < 4 && t + step * (4 - m) as f64 - 1e-9 * step > range.1 {
        m += 1;
    }
    let up = super::grid::upper(&here);
    let inboard = up.cross(here.along.unit());
    let line = patch.jet(t, 1.0).point - here.point;
    let (mut bend, mut twist, mut turn) = (0.0, 0.0, 0.0);
    for (k, factor) in FIVE_POINTS[m].iter().enumerate() {
        let at = t + step * (k as f64 - m as f64);
        let jet = if k == m { here } else { patch.jet(at, w) };
        check_finite(&jet, at, w)?;
        let along = jet.along.unit();
        let across = super::grid::upper(&jet).cross(along);
        bend += factor * along.dot(up);
        twist += factor * across.dot(up);
        turn += factor * along.dot(inboard);
    }
    let scale = 1.0 / (12.0 * step * speed);
    if !(scale.is_finite() && speed > 0.0) {
        return Err(Error::Degenerate { t, w });
    }
    Ok(Bending {
        speed,
        curvature: bend * scale,
        twist: twist * scale,
        turn: turn * scale,
        reach: vec2(line.dot(here.along.unit()), line.dot(inboard)),
    })
}
