//! Closed profiles of lines and circular arcs, as a table controller reads
//! them: vertices with a bulge.

use super::segment::{Circle, Segment, Vertex};
use super::trig;
use super::vector::{Placement, Vec2, bounds, vec2};

/// A closed profile: the last vertex joins the first.
/// Outer profiles run counter-clockwise, holes clockwise.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Outline {
    /// The corners in order.
    pub vertices: Vec<Vertex>,
}

impl Outline {
    /// A profile of straight lines.
    #[must_use]
    pub fn polygon(points: &[Vec2]) -> Self {
        Self {
            vertices: points.iter().map(|&at| Vertex::new(at, 0.0)).collect(),
        }
    }

    /// A rectangle from its lower left to its upper right corner,
    /// counter-clockwise.
    #[must_use]
    pub fn rectangle(lo: Vec2, hi: Vec2) -> Self {
        Self::polygon(&[lo, vec2(hi.x, lo.y), hi, vec2(lo.x, hi.y)])
    }

    /// A circle of two half arcs, counter-clockwise.
    #[must_use]
    pub fn circle(centre: Vec2, radius: f64) -> Self {
        let r = vec2(radius, 0.0);
        Self {
            vertices: [centre - r, centre + r]
                .map(|at| Vertex::new(at, 1.0))
                .to_vec(),
        }
    }

    /// Lines and arcs in order.
    pub fn segments(&self) -> impl Iterator<Item = Segment> + '_ {
        let n = self.vertices.len();
        (0..n).map(move |i| {
            let a = self.vertices[i];
            Segment::new(a.at, self.vertices[(i + 1) % n].at, a.bulge)
        })
    }

    /// Signed area, mm2: positive counter-clockwise. Exact for arcs
    /// (chord polygon plus circular segments r^2 (s - sin s) / 2).
    #[must_use]
    pub fn area(&self) -> f64 {
        self.segments()
            .map(|s| {
                let beyond = s.circle.map_or(0.0, |c| {
                    c.radius * c.radius * (s.sweep() - trig::sin(s.sweep())) / 2.0
                });
                s.a.cross(s.b) / 2.0 + beyond
            })
            .sum()
    }

    /// Length around, mm.
    #[must_use]
    pub fn perimeter(&self) -> f64 {
        self.segments().map(|s| s.length()).sum()
    }

    /// Lower left and upper right corners of the box that holds the profile.
    #[must_use]
    pub fn bounds(&self) -> (Vec2, Vec2) {
        bounds(self.segments().flat_map(|s| <[Vec2; 2]>::from(s.bounds())))
    }

    /// Points along the profile, chords no further than `tolerance` mm from
    /// the arcs; the chords lie inside convex arcs.
    #[must_use]
    pub fn flatten(&self, tolerance: f64) -> Vec<Vec2> {
        let mut out = Vec::new();
        for s in self.segments() {
            let chords = |c: Circle| arc_steps(c.radius, s.sweep().abs(), tolerance);
            out.extend(s.steps(s.circle.map_or(1, chords)));
        }
        out
    }

    /// The same profile run the other way round.
    #[must_use]
    pub fn reversed(&self) -> Self {
        let n = self.vertices.len();
        let turned = |i: usize| {
            let into = self.vertices[(2 * n - 2 - i) % n];
            Vertex::new(self.vertices[n - 1 - i].at, -into.bulge)
        };
        Self {
            vertices: (0..n).map(turned).collect(),
        }
    }

    /// The profile placed elsewhere.
    #[must_use]
    pub fn placed(&self, placement: Placement) -> Self {
        let moved = |v: &Vertex| Vertex::new(placement.apply(v.at), v.bulge);
        Self {
            vertices: self.vertices.iter().map(moved).collect(),
        }
    }

    /// True where every figure of it is finite.
    #[must_use]
    pub fn is_finite(&self) -> bool {
        let figures = |v: &Vertex| [v.at.x, v.at.y, v.bulge];
        self.vertices.iter().flat_map(figures).all(f64::is_finite)
    }

    /// True where the point lies inside (even-odd rule on the arcs
    /// flattened at `tolerance` mm).
    #[must_use]
    pub fn contains(&self, p: Vec2, tolerance: f64) -> bool {
        polygon_contains(&self.flatten(tolerance), p)
    }
}

/// Number of chords so that none is further than `tolerance` from an arc of
/// `radius` and `sweep` (sagitta r (1 - cos(step / 2))).
#[must_use]
pub fn arc_steps(radius: f64, sweep: f64, tolerance: f64) -> usize {
    let ratio = (1.0 - tolerance / radius).clamp(-1.0, 1.0);
    let step = (2.0 * trig::acos(ratio)).max(1e-4);
    // A full turn in steps of 1e-4 rad is 62,832 chords at the most.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "positive and below 70,000"
    )]
    let n = (sweep / step).ceil().min(70_000.0) as usize;
    n.max(1)
}

/// Convex hull, counter-clockwise (monotone chain: A. M. Andrew 1979).
#[must_use]
pub fn hull(mut points: Vec<Vec2>) -> Vec<Vec2> {
    points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let mut chain: Vec<Vec2> = Vec::new();
    for upper in [false, true] {
        let floor = chain.len();
        for k in 0..points.len() {
            let p = points[if upper { points.len() - 1 - k } else { k }];
            while let [.., a, b] = chain[floor..] {
                if (b - a).cross(p - b) > 0.0 {
                    break;
                }
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
    }
    chain
}

/// Even-odd test of a point against a closed polygon.
#[must_use]
pub fn polygon_contains(polygon: &[Vec2], p: Vec2) -> bool {
    let mut inside = false;
    let n = polygon.len();
    for i in 0..n {
        let (a, b) = (polygon[i], polygon[(i + 1) % n]);
        if (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) * (b.x - a.x) / (b.y - a.y) {
            inside = !inside;
        }
    }
    inside
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn a_circle_has_its_closed_form_area_perimeter_and_box() {
        let c = Outline::circle(vec2(3.0, -2.0), 5.0);
        assert!((c.area() - 25.0 * PI).abs() < 1e-12);
        assert!((c.perimeter() - 10.0 * PI).abs() < 1e-12);
        let (lo, hi) = c.bounds();
        assert!((lo.x + 2.0).abs() < 1e-12 && (hi.y - 3.0).abs() < 1e-12);
        assert!((c.reversed().area() + 25.0 * PI).abs() < 1e-12);
    }

    #[test]
    fn a_turned_ring_segment_keeps_its_area() {
        // Quarter ring of radii 2 and 5: pi/4 (25 - 4).
        let b = trig::tan(PI / 8.0);
        let ring = Outline {
            vertices: vec![
                Vertex {
                    at: vec2(5.0, 0.0),
                    bulge: b,
                },
                Vertex {
                    at: vec2(0.0, 5.0),
                    bulge: 0.0,
                },
                Vertex {
                    at: vec2(0.0, 2.0),
                    bulge: -b,
                },
                Vertex {
                    at: vec2(2.0, 0.0),
                    bulge: 0.0,
                },
            ],
        };
        let exact = PI / 4.0 * 21.0;
        assert!((ring.area() - exact).abs() < 1e-12);
        let there = ring.placed(Placement {
            turn: 0.7,
            shift: vec2(-9.0, 4.0),
        });
        assert!((there.area() - exact).abs() < 1e-12);
        assert!((there.reversed().area() + exact).abs() < 1e-12);
        let flat: f64 = Outline::polygon(&ring.flatten(1e-6)).area();
        assert!((flat - exact).abs() < 1e-4);
    }
}
