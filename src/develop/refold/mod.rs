//! Folding a flat part back to space from its bend schedule alone: the proof
//! that the schedule and the outline belong together.
//!
//! Nothing of the surface is known here but the rows. A frame (e1, e2, N), in
//! which every flat direction keeps its components, is carried along the
//! outboard edge; bending and twisting tilt it, and what the plate stretches
//! turns it within the plate (see `docs/method-developing.md`).

mod against;
mod curve;
mod error;
mod fit;

pub use against::{Bore, Chain, Gap, Plate, Where, largest_gap};
pub use error::RefoldError;
pub use fit::gap;

use self::curve::Curve;
use super::model::BendLine;
use crate::geom::patch::Patch;
use crate::geom::{Vec2, Vec3, vec2, vec3};

/// Integration steps between two rows: with rows of 0.5 rad of bend, far
/// tighter than plate takes, the error stays below a micrometre.
const STEPS: u32 = 8;
/// How far beyond the first and last row a point may lie, mm: the coarsest
/// outline and more, not metal.
const BEYOND_MM: f64 = 5.0;
/// Newton steps to find a point's bend line; neighbouring lines are nearly
/// parallel, so three or four do.
const NEWTON_MOST: usize = 30;
/// A point is on a line when it is this near, mm: far below any written digit.
const ON_LINE_MM: f64 = 1e-8;
/// Half the step along the edge between which the plate's normal is taken, mm.
const NORMAL_MM: f64 = 0.5;

/// Folds flat points to space. The first row's outboard end comes to the
/// origin with the plate's upper face up; where the flat coordinates are
/// mirrored (the part is drawn from below), the fold is that of the real,
/// unmirrored plate.
///
/// # Errors
/// [`RefoldError`] where a row is unusable or a point lies on no bend line.
pub fn refold(rows: &[BendLine], points: &[Vec2]) -> Result<Vec<Vec3>, RefoldError> {
    let fold = Fold::new(rows)?;
    points.iter().map(|&p| fold.point(p)).collect()
}

/// Largest distance, mm, between the refolded plate and the surface in space
/// after a rigid fit. `flat` holds the flat places of the strip's coordinates
/// `places`.
///
/// # Errors
/// As [`refold`] and [`gap`].
pub fn refold_gap(
    rows: &[BendLine],
    flat: &[Vec2],
    places: &[(f64, f64)],
    patch: &dyn Patch,
) -> Result<f64, RefoldError> {
    let folded = refold(rows, flat)?;
    let member: Vec<Vec3> = places.iter().map(|&(t, w)| patch.jet(t, w).point).collect();
    gap(&folded, &member)
}

/// The carried frame at a place of the edge.
#[derive(Debug, Clone, Copy)]
struct Frame {
    at: Vec3,
    e1: Vec3,
    e2: Vec3,
}

impl Frame {
    fn add(self, d: Self, k: f64) -> Self {
        Self {
            at: self.at + d.at * k,
            e1: self.e1 + d.e1 * k,
            e2: self.e2 + d.e2 * k,
        }
    }
}

/// A plate being folded from its bend schedule.
#[derive(Debug)]
pub struct Fold<'a> {
    rows: &'a [BendLine],
    /// The five flat places, over `along`.
    places: Curve<10>,
    /// What carries the frame and lays a line, over `along`: the outboard and
    /// the inboard place; curvature, twist, turn, stretch; shift.
    edge: Curve<10>,
    /// +1 as seen on the upper face, -1 mirrored.
    hand: f64,
    /// At the rows and between them.
    carried: Vec<Carried>,
}

/// The frame at a distance along the edge, and its rate there.
#[derive(Debug)]
struct Carried {
    along: f64,
    frame: Frame,
    rate: Frame,
}

/// Values of [`Fold::edge`] and their rates.
type Jet = ([f64; 10], [f64; 10]);

impl<'a> Fold<'a> {
    /// From the rows of a part, in order.
    ///
    /// # Errors
    /// [`RefoldError::Row`] where a row is unusable.
    pub fn new(rows: &'a [BendLine]) -> Result<Self, RefoldError> {
        if rows.len() < 2 {
            return Err(RefoldError::Row { row: rows.len() });
        }
        for (row, r) in rows.iter().enumerate() {
            let line = r.inboard() - r.outboard();
            let all = r.places.iter().chain([&r.shift]);
            let sum = all.fold(r.along, |sum, p| sum + p.x + p.y);
            let finite = (sum + r.curvature + r.twist + r.turn + r.stretch).is_finite();
            let ascends = row == 0 || r.along > rows[row - 1].along;
            if !(finite && ascends && line.length() > 0.0) {
                return Err(RefoldError::Row { row });
            }
        }
        let along: Vec<f64> = rows.iter().map(|r| r.along).collect();
        let chord = rows[1].outboard() - rows[0].outboard();
        let mirrored = chord.cross(rows[0].inboard() - rows[0].outboard()) < 0.0;
        let hand = if mirrored { -1.0 } else { 1.0 };
        let mut fold = Self {
            rows,
            places: Curve::through(along.clone(), rows.iter().map(line_places).collect()),
            edge: Curve::through(along, rows.iter().map(edge_columns).collect()),
            hand,
            carried: Vec::with_capacity(rows.len() * STEPS as usize),
        };
        let frame = Frame {
            at: Vec3::default(),
            e1: vec3(1.0, 0.0, 0.0),
            e2: vec3(0.0, hand, 0.0),
        };
        let mut last = Carried {
            along: rows[0].along,
            frame,
            rate: fold.rate(&fold.edge.jet(rows[0].along), frame),
        };
        for pair in rows.windows(2) {
            let (from, to) = (pair[0].along, pair[1].along);
            let h = (to - from) / f64::from(STEPS);
            for k in 1..=STEPS {
                let along = from + h * f64::from(k);
                let (frame, jet) = fold.step(&last, along);
                let next = Carried {
                    along,
                    frame,
                    rate: fold.rate(&jet, frame),
                };
                fold.carried.push(std::mem::replace(&mut last, next));
            }
        }
        fold.carried.push(last);
        Ok(fold)
    }

    /// First and last distance along the edge.
    #[must_use]
    pub fn range(&self) -> (f64, f64) {
        (self.rows[0].along, self.rows[self.rows.len() - 1].along)
    }

    /// Rate of the frame along the edge, by the flat edge's parameter.
    fn rate(&self, jet: &Jet, f: Frame) -> Frame {
        let ([.., bend, twist, turn, stretch, _, _], [px, py, ..]) = *jet;
        let path = vec2(px, py) * (1.0 + stretch);
        let speed = path.length();
        let along = path.unit();
        let across = along.left() * self.hand;
        let up = f.e1.cross(f.e2) * self.hand;
        // Second fundamental form of the edge's direction and each axis.
        let tilt_1 = speed * (bend * along.x + twist * across.x);
        let tilt_2 = speed * (bend * along.y + twist * across.y);
        let turn = turn * speed * self.hand;
        Frame {
            at: f.e1 * path.x + f.e2 * path.y,
            e1: up * tilt_1 + f.e2 * turn,
            e2: up * tilt_2 + f.e1 * -turn,
        }
    }

    /// The frame at a distance along the edge, by one classical Runge-Kutta
    /// step of fourth order, and the edge's values there.
    fn step(&self, from: &Carried, a: f64) -> (Frame, Jet) {
        let h = a - from.along;
        let (f, k1) = (from.frame, from.rate);
        let (middle, end) = (self.edge.jet(from.along + 0.5 * h), self.edge.jet(a));
        let k2 = self.rate(&middle, f.add(k1, 0.5 * h));
        let k3 = self.rate(&middle, f.add(k2, 0.5 * h));
        let k4 = self.rate(&end, f.add(k3, h));
        let frame = f
            .add(k1, h / 6.0)
            .add(k2, h / 3.0)
            .add(k3, h / 3.0)
            .add(k4, h / 6.0);
        (frame, end)
    }

    /// Place in space at a distance along the edge and a part of the line
    /// across, 0 outboard to 1 inboard.
    #[must_use]
    pub fn at(&self, a: f64, w: f64) -> Vec3 {
        let before = self.carried.partition_point(|c| c.along <= a).max(1) - 1;
        let (frame, (v, [px, py, ..])) = self.step(&self.carried[before], a);
        let along = vec2(px, py).unit();
        let shift = along * v[8] + along.left() * (self.hand * v[9]);
        let line = vec2(v[2] - v[0], v[3] - v[1]) + shift;
        frame.at + (frame.e1 * line.x + frame.e2 * line.y) * w
    }

    /// Place in space of a flat point.
    ///
    /// # Errors
    /// [`RefoldError::Outside`] where it lies on no bend line.
    pub fn point(&self, p: Vec2) -> Result<Vec3, RefoldError> {
        let (a, w) = self.line_through(p)?;
        Ok(self.at(a, w))
    }

    /// The same, with the unit normal to the upper face there.
    ///
    /// # Errors
    /// As [`Fold::point`].
    pub fn point_and_normal(&self, p: Vec2) -> Result<(Vec3, Vec3), RefoldError> {
        let (a, w) = self.line_through(p)?;
        let along = self.at(a + NORMAL_MM, w) - self.at(a - NORMAL_MM, w);
        let across = self.at(a, 1.0) - self.at(a, 0.0);
        Ok((self.at(a, w), along.cross(across).unit()))
    }

    /// The same as [`Fold::point`], from a distance along the edge and a part
    /// of the line that are near: a plate that overlaps itself in the flat
    /// comes out right.
    ///
    /// # Errors
    /// As [`Fold::point`].
    pub fn point_near(&self, p: Vec2, near: (f64, f64)) -> Result<Vec3, RefoldError> {
        let (a, w) = self.line_from(p, near)?;
        Ok(self.at(a, w))
    }

    /// The bend line through a point, by where along the edge it starts, and
    /// the part of it up to the point: from the nearest row.
    fn line_through(&self, p: Vec2) -> Result<(f64, f64), RefoldError> {
        let mut best = (f64::INFINITY, (0.0, 0.0));
        for r in self.rows {
            let d = r.inboard() - r.outboard();
            let f = ((p - r.outboard()).dot(d) / d.dot(d)).clamp(0.0, 1.0);
            let far = p.distance(r.outboard() + d * f);
            if far < best.0 {
                best = (far, (r.along, f));
            }
        }
        self.line_from(p, best.1)
    }

    /// The same by Newton's method from a place that is near.
    fn line_from(&self, p: Vec2, (mut a, mut w): (f64, f64)) -> Result<(f64, f64), RefoldError> {
        let (first, last) = self.range();
        for _ in 0..NEWTON_MOST {
            let (v, d) = self.places.jet(a);
            let (shares, rates) = shares(w);
            let rest = p - mixed(&v, &shares);
            let (by_a, by_w) = (mixed(&d, &shares), mixed(&v, &rates));
            let det = by_a.cross(by_w);
            a = (a + rest.cross(by_w) / det).clamp(first - BEYOND_MM, last + BEYOND_MM);
            w += by_a.cross(rest) / det;
            if rest.length() < ON_LINE_MM {
                return Ok((a, w));
            }
        }
        Err(RefoldError::Outside { x: p.x, y: p.y })
    }
}

/// Shares of the five places of a line in the place at its part w, and their
/// rates: Lagrange's polynomials.
fn shares(w: f64) -> ([f64; 5], [f64; 5]) {
    let (mut share, mut rate) = ([1.0; 5], [0.0; 5]);
    for k in 0..5 {
        for other in (0..5).filter(|&j| j != k) {
            let gap = 0.25 * (k as f64 - other as f64);
            let factor = (w - 0.25 * other as f64) / gap;
            rate[k] = rate[k] * factor + share[k] / gap;
            share[k] *= factor;
        }
    }
    (share, rate)
}

/// The five places of a line, or their rates along the edge, by shares.
fn mixed(columns: &[f64; 10], shares: &[f64; 5]) -> Vec2 {
    let places = columns.chunks_exact(2).zip(shares);
    places.fold(Vec2::default(), |sum, (p, share)| {
        sum + vec2(p[0], p[1]) * *share
    })
}

/// A row's columns of [`Fold::places`].
fn line_places(r: &BendLine) -> [f64; 10] {
    let mut out = [0.0; 10];
    for (pair, p) in out.chunks_exact_mut(2).zip(r.places.iter()) {
        pair.copy_from_slice(&[p.x, p.y]);
    }
    out
}

/// A row's columns of [`Fold::edge`].
fn edge_columns(r: &BendLine) -> [f64; 10] {
    let (a, b, shift) = (r.outboard(), r.inboard(), r.shift);
    let (bend, twist) = (r.curvature, r.twist);
    [
        a.x, a.y, b.x, b.y, bend, twist, r.turn, r.stretch, shift.x, shift.y,
    ]
}
