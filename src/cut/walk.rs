//! A profile walked along: places, directions, distances, and stretches of it.

use crate::geom::{Outline, Segment, Vec2, Vertex, trig, vec2};

/// A segment with its length and box.
#[derive(Debug, Clone, Copy)]
pub(super) struct Measured {
    pub(super) segment: Segment,
    pub(super) length: f64,
    lo: Vec2,
    hi: Vec2,
}

/// A closed profile with lengths along it.
#[derive(Debug, Clone)]
pub(super) struct Walk {
    pub(super) segments: Vec<Measured>,
    /// Length along the profile at which each segment begins, mm.
    pub(super) starts: Vec<f64>,
    /// Once round, mm.
    pub(super) length: f64,
    /// Corners of the box that holds it.
    lo: Vec2,
    hi: Vec2,
}

/// A corner sharper than this turn, rad, is one; gentler ones are joints of
/// a smooth edge of arcs and lines. A fitted edge turns by less than a
/// hundredth at its joints.
const CORNER: f64 = 0.05;

impl Measured {
    fn new(segment: Segment) -> Self {
        let (lo, hi) = segment.bounds();
        Self {
            segment,
            length: segment.length(),
            lo,
            hi,
        }
    }

    /// Height of the segment over a chord of `length` on it, mm.
    pub(super) fn rise(&self, length: f64) -> f64 {
        let circle = self.segment.circle;
        circle.map_or(0.0, |c| length * length / (8.0 * c.radius))
    }
}

impl Walk {
    pub(super) fn new(profile: &Outline) -> Self {
        let segments: Vec<Measured> = profile
            .segments()
            .filter(|s| s.a != s.b)
            .map(Measured::new)
            .collect();
        let mut length = 0.0;
        let starts = segments
            .iter()
            .map(|p| {
                let start = length;
                length += p.length;
                start
            })
            .collect();
        let (lo, hi) = profile.bounds();
        Self {
            segments,
            starts,
            length,
            lo,
            hi,
        }
    }

    /// The segment at a length along, and the fraction of it.
    fn find(&self, s: f64) -> (usize, f64) {
        let s = s.rem_euclid(self.length.max(f64::MIN_POSITIVE));
        let i = self.starts.partition_point(|&x| x <= s).max(1) - 1;
        let length = self.segments.get(i).map_or(1.0, |p| p.length);
        (i, ((s - self.starts[i]) / length).clamp(0.0, 1.0))
    }

    /// Place at a length along, mm.
    pub(super) fn at(&self, s: f64) -> Vec2 {
        let (i, f) = self.find(s);
        self.segments[i].segment.at(f)
    }

    /// Direction of travel there.
    pub(super) fn direction(&self, s: f64) -> Vec2 {
        let (i, f) = self.find(s);
        self.segments[i].segment.direction(f)
    }

    /// Distance of a point from the profile, mm, where it is below `reach`;
    /// otherwise `reach` or more.
    pub(super) fn distance(&self, p: Vec2, reach: f64) -> f64 {
        if box_distance(self.lo, self.hi, p) >= reach {
            return reach;
        }
        self.segments
            .iter()
            .filter(|q| box_distance(q.lo, q.hi, p) < reach)
            .map(|q| q.segment.distance(p))
            .fold(reach, f64::min)
    }

    /// Lengths along at which the profile has a corner. An arc of a radius up
    /// to `tight` mm is one too, at both its ends: a path half a kerf off a
    /// corner goes round it so.
    pub(super) fn corners(&self, tight: f64) -> Vec<f64> {
        let n = self.segments.len();
        let mut out = Vec::new();
        for (i, here) in self.segments.iter().enumerate() {
            let (segment, before) = (here.segment, self.segments[(i + n - 1) % n].segment);
            let (from, to) = (before.direction(1.0), segment.direction(0.0));
            let turn = trig::atan2(from.cross(to), from.dot(to)).abs();
            let round = |s: Segment| {
                let small = s.circle.is_some_and(|c| c.radius <= tight);
                small && s.sweep().abs() > CORNER
            };
            if turn > CORNER || round(segment) || round(before) {
                out.push(self.starts[i]);
            }
        }
        out
    }

    /// Vertices from one length along, on for `length` mm; the last has no
    /// bulge and ends the line.
    pub(super) fn stretch(&self, from: f64, length: f64) -> Vec<Vertex> {
        let (mut i, mut f) = self.find(from);
        let mut left = length;
        let mut out = Vec::new();
        // Twice round at the most: a stretch is never longer than the profile.
        for _ in 0..=2 * self.segments.len() {
            let here = &self.segments[i];
            let rest = here.length * (1.0 - f);
            if rest >= left {
                let last = here.segment.part(f, (f + left / here.length).min(1.0));
                out.push(last.vertex());
                out.push(Vertex {
                    at: last.b,
                    bulge: 0.0,
                });
                break;
            }
            if rest > 0.0 {
                out.push(here.segment.part(f, 1.0).vertex());
            }
            left -= rest;
            i = (i + 1) % self.segments.len();
            f = 0.0;
        }
        out
    }

    /// The profile begun at a length along.
    pub(super) fn begun(&self, s: f64) -> Outline {
        let (i, f) = self.find(s);
        let n = self.segments.len();
        let segment = self.segments[i].segment;
        let mut vertices = Vec::with_capacity(n + 1);
        if f < 1.0 {
            vertices.push(segment.part(f, 1.0).vertex());
        }
        vertices.extend((1..n).map(|k| self.segments[(i + k) % n].segment.vertex()));
        if f > 0.0 {
            vertices.push(segment.part(0.0, f).vertex());
        }
        Outline { vertices }
    }
}

/// Distance of a point from a box, mm; nought inside.
fn box_distance(lo: Vec2, hi: Vec2, p: Vec2) -> f64 {
    let dx = (lo.x - p.x).max(p.x - hi.x).max(0.0);
    let dy = (lo.y - p.y).max(p.y - hi.y).max(0.0);
    vec2(dx, dy).length()
}

/// Length of an open line of vertices, mm.
pub(super) fn open_length(line: &[Vertex]) -> f64 {
    Segment::along(line).map(|s| s.length()).sum()
}

/// Points along an open line of vertices, no further apart than `step` mm.
pub(super) fn points(line: &[Vertex], step: f64) -> Vec<Vec2> {
    let mut out = Vec::new();
    for segment in Segment::along(line) {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "1 to 10,000"
        )]
        let n = (segment.length() / step).ceil().clamp(1.0, 10_000.0) as usize;
        out.extend(segment.steps(n));
    }
    out.extend(line.last().map(|v| v.at));
    out
}
