//! A straight line or a circular arc between two corners of a profile.

use super::trig;
use super::vector::{Vec2, vec2};

/// A corner of a profile, and the form of the segment that leaves it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vertex {
    /// Place, mm.
    pub at: Vec2,
    /// Tangent of a quarter of the arc's sweep, positive for an arc that
    /// turns left (the DXF convention); zero for a straight line.
    pub bulge: f64,
}

impl Vertex {
    /// A corner with the bulge of what leaves it.
    #[must_use]
    pub const fn new(at: Vec2, bulge: f64) -> Self {
        Self { at, bulge }
    }
}

/// Below this bulge an arc is its chord: its centre would lie so far off that
/// rounding costs more than the arc's height, a few nanometres on a plate.
const STRAIGHT: f64 = 1e-9;

/// A line or arc by its ends and bulge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Segment {
    /// Where it begins, mm.
    pub a: Vec2,
    /// Where it ends, mm.
    pub b: Vec2,
    /// Tangent of a quarter of the sweep, positive to the left.
    pub bulge: f64,
    /// Its circle; `None`: it is straight.
    pub circle: Option<Circle>,
}

/// The circle of an arc.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Circle {
    /// Centre, mm.
    pub centre: Vec2,
    /// Radius, mm.
    pub radius: f64,
}

impl Segment {
    /// From its ends and bulge.
    #[must_use]
    pub fn new(a: Vec2, b: Vec2, bulge: f64) -> Self {
        let chord = b - a;
        let circle = (bulge.abs() >= STRAIGHT && a != b).then(|| Circle {
            // r = c (1 + b^2) / (4 |b|); the centre lies c (1 - b^2) / (4 b)
            // to the left of the chord's middle.
            centre: a.lerp(b, 0.5) + chord.left() * ((1.0 - bulge * bulge) / (4.0 * bulge)),
            radius: chord.length() * (1.0 + bulge * bulge) / (4.0 * bulge.abs()),
        });
        Self {
            a,
            b,
            bulge,
            circle,
        }
    }

    /// Lines and arcs along an open run of vertices; the last bulge says nothing.
    pub fn along(run: &[Vertex]) -> impl Iterator<Item = Self> + '_ {
        run.windows(2)
            .map(|w| Self::new(w[0].at, w[1].at, w[0].bulge))
    }

    /// Sweep, rad, positive to the left; nought of a line.
    #[must_use]
    pub fn sweep(&self) -> f64 {
        self.circle.map_or(0.0, |_| 4.0 * trig::atan(self.bulge))
    }

    /// Length, mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.circle
            .map_or(self.a.distance(self.b), |c| c.radius * self.sweep().abs())
    }

    /// Place at a fraction of the length.
    #[must_use]
    pub fn at(&self, fraction: f64) -> Vec2 {
        match self.circle {
            Some(c) => c.centre + (self.a - c.centre).turned(self.sweep() * fraction),
            None => self.a.lerp(self.b, fraction),
        }
    }

    /// Unit direction of travel at a fraction of the length: the chord turned
    /// by the part of the sweep that is past the middle.
    #[must_use]
    pub fn direction(&self, fraction: f64) -> Vec2 {
        let chord = (self.b - self.a).unit();
        match self.circle {
            Some(_) => chord.turned(self.sweep() * (fraction - 0.5)),
            None => chord,
        }
    }

    /// Places at even steps of `n`, from the beginning; the end is left out.
    pub fn steps(&self, n: usize) -> impl Iterator<Item = Vec2> + '_ {
        (0..n).map(move |k| {
            if k == 0 {
                self.a
            } else {
                self.at(k as f64 / n as f64)
            }
        })
    }

    /// True where the direction from the circle's centre lies on the arc.
    #[must_use]
    pub fn covers(&self, direction: Vec2) -> bool {
        let Some(c) = self.circle else { return false };
        let side = self.bulge.signum();
        let after = (self.a - c.centre).cross(direction) * side >= 0.0;
        let before = direction.cross(self.b - c.centre) * side >= 0.0;
        if self.bulge.abs() <= 1.0 {
            after && before
        } else {
            after || before
        }
    }

    /// Distance of a point, mm.
    #[must_use]
    pub fn distance(&self, p: Vec2) -> f64 {
        if let Some(c) = self.circle {
            if self.covers(p - c.centre) {
                return (p.distance(c.centre) - c.radius).abs();
            }
        } else {
            let d = self.b - self.a;
            let along = (p - self.a).dot(d);
            let square = d.dot(d);
            if along > 0.0 && along < square {
                return (p - self.a).cross(d).abs() / square.sqrt();
            }
        }
        p.distance(self.a).min(p.distance(self.b))
    }

    /// Lower left and upper right corners of its box, mm.
    #[must_use]
    pub fn bounds(&self) -> (Vec2, Vec2) {
        let mut lo = vec2(self.a.x.min(self.b.x), self.a.y.min(self.b.y));
        let mut hi = vec2(self.a.x.max(self.b.x), self.a.y.max(self.b.y));
        if let Some(c) = self.circle {
            let r = c.radius;
            if self.covers(vec2(1.0, 0.0)) {
                hi.x = c.centre.x + r;
            }
            if self.covers(vec2(0.0, 1.0)) {
                hi.y = c.centre.y + r;
            }
            if self.covers(vec2(-1.0, 0.0)) {
                lo.x = c.centre.x - r;
            }
            if self.covers(vec2(0.0, -1.0)) {
                lo.y = c.centre.y - r;
            }
        }
        (lo, hi)
    }

    /// The stretch from one fraction of the length to another.
    #[must_use]
    pub fn part(&self, from: f64, to: f64) -> Self {
        let bulge = match self.circle {
            Some(_) => trig::tan((to - from) * trig::atan(self.bulge)),
            None => 0.0,
        };
        Self::new(self.at(from), self.at(to), bulge)
    }

    /// The corner it leaves.
    #[must_use]
    pub fn vertex(&self) -> Vertex {
        Vertex::new(self.a, self.bulge)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::f64::consts::PI;

    fn arc(sweep: f64) -> Segment {
        // A circle of 5 mm about (3, -2), from 0.4 rad on.
        let at = |angle: f64| vec2(3.0, -2.0) + vec2(trig::cos(angle), trig::sin(angle)) * 5.0;
        Segment::new(at(0.4), at(0.4 + sweep), trig::tan(sweep / 4.0))
    }

    #[test]
    fn an_arc_has_its_closed_form_circle_length_and_direction() {
        for sweep in [0.3, PI, -PI, 4.5, -6.0] {
            let s = arc(sweep);
            let c = s.circle.expect("an arc");
            assert!(c.centre.distance(vec2(3.0, -2.0)) < 1e-12);
            assert!((c.radius - 5.0).abs() < 1e-12);
            assert!((s.length() - 5.0 * sweep.abs()).abs() < 1e-12);
            let there = s.direction(0.25);
            let angle = 0.4 + 0.25 * sweep;
            let want = vec2(-trig::sin(angle), trig::cos(angle)) * sweep.signum();
            assert!(there.distance(want) < 1e-12, "{sweep}: {there:?}");
        }
    }

    #[test]
    fn a_line_is_measured_along_and_across() {
        let s = Segment::new(vec2(1.0, 1.0), vec2(5.0, 4.0), 0.0);
        assert!((s.length() - 5.0).abs() < 1e-15);
        assert!((s.distance(vec2(-0.6, 2.8)) - 2.4083).abs() < 1e-4);
        assert!((s.distance(s.at(0.5) + (s.b - s.a).left() * 0.2) - 1.0).abs() < 1e-12);
        let point = Segment::new(vec2(1.0, 1.0), vec2(1.0, 1.0), 0.3);
        assert!((point.distance(vec2(4.0, 5.0)) - 5.0).abs() < 1e-15);
    }

    proptest! {
        /// Distance and box against points close together along the segment.
        #[test]
        fn distance_and_box_are_those_of_its_points(
            bulge in -4.0..4.0f64,
            (bx, by) in (-50.0..50.0f64, 1.0..50.0f64),
            (px, py) in (-90.0..90.0f64, -90.0..90.0f64),
        ) {
            let s = Segment::new(vec2(0.0, 0.0), vec2(bx, by), bulge);
            let n = 4000;
            let p = vec2(px, py);
            let mut near = p.distance(s.b);
            let (mut lo, mut hi) = (s.b, s.b);
            for q in s.steps(n) {
                near = near.min(p.distance(q));
                lo = vec2(lo.x.min(q.x), lo.y.min(q.y));
                hi = vec2(hi.x.max(q.x), hi.y.max(q.y));
            }
            let step = s.length() / n as f64;
            prop_assert!(s.distance(p) <= near + 1e-9);
            prop_assert!(near <= s.distance(p) + step);
            let bounds = s.bounds();
            prop_assert!(bounds.0.distance(lo) < step && bounds.1.distance(hi) < step);
        }

        /// Parts of a segment lie on it and make up its length.
        #[test]
        fn parts_make_up_the_whole(bulge in -3.0..3.0f64, cut in 0.05..0.95f64) {
            let s = Segment::new(vec2(2.0, -7.0), vec2(40.0, 11.0), bulge);
            let (first, last) = (s.part(0.0, cut), s.part(cut, 1.0));
            prop_assert!((first.length() + last.length() - s.length()).abs() < 1e-9);
            for f in [0.1, 0.5, 0.9] {
                prop_assert!(s.distance(first.at(f)) < 1e-9);
                prop_assert!(s.distance(last.at(f)) < 1e-9);
            }
            prop_assert!(last.b.distance(s.b) < 1e-9);
        }
    }
}
