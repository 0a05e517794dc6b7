//! Folding a flat part back to space from its bend schedule alone: the proof
//! that the schedule and the outline belong together.
//!
//! Nothing of the surface is known here but the rows: flat ends of the bend
//! lines, curvature and twist along the outboard edge. A frame (e1, e2, N),
//! in which every flat direction keeps its components, is carried along the
//! edge; bending and twisting tilt it, and the ruling's own twist turns it
//! within the plate (see `docs/method-developing.md`).

mod curve;
mod fit;

pub use fit::gap;

use self::curve::Curve;
use super::Bend;
use crate::geom::patch::Patch;
use crate::geom::{Vec2, Vec3, vec3};

/// Integration steps between two rows: with rows of 0.5 rad of bend, far
/// tighter than plate takes, the error stays below a micrometre.
const STEPS: u32 = 8;
/// How far beyond the first and last row a point may lie, mm: rounding of the
/// outline, not metal.
const BEYOND_MM: f64 = 1.0;
/// Newton steps to find a point's bend line; neighbouring lines are nearly
/// parallel, so three or four do.
const NEWTON_MOST: usize = 30;

/// A row of the schedule in any flat coordinates, of either face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// Distance along the flat outboard edge, mm, ascending.
    pub along: f64,
    /// Flat place of the outboard end.
    pub outboard: Vec2,
    /// Flat place of the inboard end.
    pub inboard: Vec2,
    /// Normal curvature along the outboard edge, 1/mm: as in [`Bend`].
    pub curvature: f64,
    /// Twist rate, rad/mm: as in [`Bend`].
    pub twist: f64,
}

impl From<&Bend> for Row {
    fn from(b: &Bend) -> Self {
        Self {
            along: b.along,
            outboard: b.outboard,
            inboard: b.inboard,
            curvature: b.curvature,
            twist: b.twist,
        }
    }
}

/// Why a schedule cannot be folded.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum RefoldError {
    /// Too few rows, rows out of order, a line without length, or a number
    /// that is not finite.
    #[error("row {row} of the bend schedule is not usable")]
    Row {
        /// Counted from 0.
        row: usize,
    },
    /// A point lies on no bend line.
    #[error("the point ({x} mm, {y} mm) lies outside the bend schedule")]
    Outside {
        /// Flat place.
        x: f64,
        /// Flat place.
        y: f64,
    },
    /// Two sets of points to compare differ in number, or are empty.
    #[error("{refolded} refolded points against {member} of the member")]
    Count {
        /// Refolded points.
        refolded: usize,
        /// Points of the member.
        member: usize,
    },
}

/// Folds flat points to space. The first row's outboard end comes to the
/// origin with the plate's upper face up; where the flat coordinates are
/// mirrored (the part is drawn from below), the fold is that of the real,
/// unmirrored plate.
///
/// # Errors
/// [`RefoldError`] where a row is unusable or a point lies on no bend line.
pub fn refold(rows: &[Row], points: &[Vec2]) -> Result<Vec<Vec3>, RefoldError> {
    let fold = Fold::new(rows)?;
    points.iter().map(|&p| fold.place(p)).collect()
}

/// Largest distance, mm, between the refolded plate and the surface in space
/// after a rigid fit. `flat` holds the flat places of the strip's coordinates
/// `places`.
///
/// # Errors
/// As [`refold`] and [`gap`].
pub fn refold_gap(
    rows: &[Row],
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

struct Fold<'a> {
    rows: &'a [Row],
    /// Flat edge x, y; flat bend line x, y; curvature; twist, over `along`.
    curve: Curve<6>,
    /// +1 as seen on the upper face, -1 mirrored.
    hand: f64,
    /// Frames at the rows and between them.
    frames: Vec<(f64, Frame)>,
}

impl<'a> Fold<'a> {
    fn new(rows: &'a [Row]) -> Result<Self, RefoldError> {
        if rows.len() < 2 {
            return Err(RefoldError::Row { row: rows.len() });
        }
        for (row, r) in rows.iter().enumerate() {
            let line = r.inboard - r.outboard;
            let sum = r.along + r.outboard.dot(r.outboard) + r.curvature + r.twist;
            let ascends = row == 0 || r.along > rows[row - 1].along;
            let usable = sum.is_finite() && line.dot(line).is_finite() && line.length() > 0.0;
            if !(usable && ascends) {
                return Err(RefoldError::Row { row });
            }
        }
        let places = rows.iter().map(|r| r.along).collect();
        let values = rows
            .iter()
            .map(|r| {
                let (p, d) = (r.outboard, r.inboard - r.outboard);
                [p.x, p.y, d.x, d.y, r.curvature, r.twist]
            })
            .collect();
        let chord = rows[1].outboard - rows[0].outboard;
        let mirrored = chord.cross(rows[0].inboard - rows[0].outboard) < 0.0;
        let hand = if mirrored { -1.0 } else { 1.0 };
        let mut fold = Self {
            rows,
            curve: Curve::through(places, values),
            hand,
            frames: Vec::with_capacity(rows.len() * STEPS as usize),
        };
        let mut frame = Frame {
            at: Vec3::default(),
            e1: vec3(1.0, 0.0, 0.0),
            e2: vec3(0.0, hand, 0.0),
        };
        fold.frames.push((rows[0].along, frame));
        for pair in rows.windows(2) {
            let (from, to) = (pair[0].along, pair[1].along);
            let h = (to - from) / f64::from(STEPS);
            for k in 0..STEPS {
                frame = fold.step(from + h * f64::from(k), frame, h);
                fold.frames.push((from + h * f64::from(k + 1), frame));
            }
        }
        Ok(fold)
    }

    /// Rate of the frame along the edge, by the flat edge's parameter.
    fn rate(&self, a: f64, f: Frame) -> Frame {
        let ([_, _, dx, dy, bend, twist], [px, py, ..]) = self.curve.jet(a);
        let (path, line) = (crate::geom::vec2(px, py), crate::geom::vec2(dx, dy));
        let speed = path.length();
        let along = path.unit();
        let across = along.left() * self.hand;
        let up = f.e1.cross(f.e2) * self.hand;
        // Second fundamental form of the edge's direction and each axis.
        let tilt_1 = speed * (bend * along.x + twist * across.x);
        let tilt_2 = speed * (bend * along.y + twist * across.y);
        // A straight line across that twists against the plate has Gaussian
        // curvature -(bend cot b + twist)^2, b its angle to the edge. The flat
        // plate keeps the turn of its middle, so the edge in space turns more
        // by half the width times that.
        let (reach, width) = (line.dot(along), line.dot(across));
        let own = bend * reach / width + twist;
        let turn = 0.5 * width * own * own * speed * self.hand;
        Frame {
            at: f.e1 * path.x + f.e2 * path.y,
            e1: up * tilt_1 + f.e2 * turn,
            e2: up * tilt_2 + f.e1 * -turn,
        }
    }

    /// One classical Runge-Kutta step of fourth order.
    fn step(&self, a: f64, f: Frame, h: f64) -> Frame {
        let k1 = self.rate(a, f);
        let k2 = self.rate(a + 0.5 * h, f.add(k1, 0.5 * h));
        let k3 = self.rate(a + 0.5 * h, f.add(k2, 0.5 * h));
        let k4 = self.rate(a + h, f.add(k3, h));
        f.add(k1, h / 6.0)
            .add(k2, h / 3.0)
            .add(k3, h / 3.0)
            .add(k4, h / 6.0)
    }

    /// Place in space of a flat point.
    fn place(&self, p: Vec2) -> Result<Vec3, RefoldError> {
        let outside = RefoldError::Outside { x: p.x, y: p.y };
        let a = self.line_through(p).ok_or(outside)?;
        let before = self.frames.partition_point(|f| f.0 <= a).max(1) - 1;
        let (from, frame) = self.frames[before];
        let frame = self.step(from, frame, a - from);
        let ([x, y, ..], _) = self.curve.jet(a);
        Ok(frame.at + frame.e1 * (p.x - x) + frame.e2 * (p.y - y))
    }

    /// Where along the edge the bend line through a point starts: from the
    /// nearest row by Newton's method.
    fn line_through(&self, p: Vec2) -> Option<f64> {
        let mut best = (f64::INFINITY, 0.0);
        for r in self.rows {
            let d = r.inboard - r.outboard;
            let f = ((p - r.outboard).dot(d) / d.dot(d)).clamp(0.0, 1.0);
            let far = p.distance(r.outboard + d * f);
            if far < best.0 {
                best = (far, r.along);
            }
        }
        let (first, last) = (self.rows[0].along, self.rows[self.rows.len() - 1].along);
        let mut a = best.1;
        for _ in 0..NEWTON_MOST {
            let ([x, y, dx, dy, ..], [sx, sy, tx, ty, ..]) = self.curve.jet(a);
            let (ox, oy) = (p.x - x, p.y - y);
            let miss = dx * oy - dy * ox;
            let slope = tx * oy - ty * ox - dx * sy + dy * sx;
            let step = miss / slope;
            a = (a - step).clamp(first - BEYOND_MM, last + BEYOND_MM);
            if step.abs() < 1e-10 {
                return Some(a);
            }
        }
        None
    }
}
