//! Closed profiles of lines and circular arcs, as a table controller reads
//! them: vertices with a bulge.

use std::f64::consts::TAU;

use serde::{Deserialize, Serialize};

use super::trig;
use super::vector::{Placement, Vec2, vec2};

/// A corner of an [`Outline`], and the form of the piece that leaves it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Vertex {
    /// Place, mm.
    pub at: Vec2,
    /// Tangent of a quarter of the arc's sweep, positive for an arc that
    /// turns left (the DXF convention); zero for a straight line.
    pub bulge: f64,
}

/// A circular arc given by its ends and bulge, resolved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arc {
    /// Centre, mm.
    pub centre: Vec2,
    /// Radius, mm.
    pub radius: f64,
    /// Angle of the first end from the centre, rad.
    pub start: f64,
    /// Sweep, rad, positive to the left.
    pub sweep: f64,
}

/// A closed profile: the last vertex joins the first.
/// Outer profiles run counter-clockwise, holes clockwise.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Outline {
    /// The corners in order.
    pub vertices: Vec<Vertex>,
}

/// The arc from `a` to `b` of a bulge; `None` for a straight line.
#[must_use]
pub fn arc_of(a: Vec2, b: Vec2, bulge: f64) -> Option<Arc> {
    let chord = a.distance(b);
    if bulge == 0.0 || chord == 0.0 {
        return None;
    }
    let sweep = 4.0 * trig::atan(bulge);
    // r = c (1 + b^2) / (4 |b|); the centre lies c (1 - b^2) / (4 b) to the left of the chord.
    let radius = chord * (1.0 + bulge * bulge) / (4.0 * bulge.abs());
    let centre =
        a.lerp(b, 0.5) + (b - a).unit().left() * (chord * (1.0 - bulge * bulge) / (4.0 * bulge));
    Some(Arc {
        centre,
        radius,
        start: (a - centre).angle(),
        sweep,
    })
}

impl Arc {
    /// Point at a fraction of the sweep.
    #[must_use]
    pub fn point(&self, fraction: f64) -> Vec2 {
        let a = self.start + self.sweep * fraction;
        self.centre + vec2(trig::cos(a), trig::sin(a)) * self.radius
    }

    /// True where the direction `angle` from the centre lies on the arc.
    #[must_use]
    pub fn spans(&self, angle: f64) -> bool {
        let turn = if self.sweep >= 0.0 {
            (angle - self.start).rem_euclid(TAU)
        } else {
            (self.start - angle).rem_euclid(TAU)
        };
        turn <= self.sweep.abs()
    }
}

impl Outline {
    /// A profile of straight lines.
    #[must_use]
    pub fn polygon(points: &[Vec2]) -> Self {
        Self {
            vertices: points.iter().map(|&at| Vertex { at, bulge: 0.0 }).collect(),
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
            vertices: vec![
                Vertex {
                    at: centre - r,
                    bulge: 1.0,
                },
                Vertex {
                    at: centre + r,
                    bulge: 1.0,
                },
            ],
        }
    }

    /// Pieces in order: first end, second end, bulge.
    pub fn pieces(&self) -> impl Iterator<Item = (Vec2, Vec2, f64)> + '_ {
        let n = self.vertices.len();
        (0..n).map(move |i| {
            let a = self.vertices[i];
            (a.at, self.vertices[(i + 1) % n].at, a.bulge)
        })
    }

    /// Signed area, mm2: positive counter-clockwise. Exact for arcs
    /// (chord polygon plus circular segments r^2 (s - sin s) / 2).
    #[must_use]
    pub fn area(&self) -> f64 {
        self.pieces()
            .map(|(a, b, bulge)| {
                let segment = arc_of(a, b, bulge).map_or(0.0, |arc| {
                    arc.radius * arc.radius * (arc.sweep - trig::sin(arc.sweep)) / 2.0
                });
                a.cross(b) / 2.0 + segment
            })
            .sum()
    }

    /// Length around, mm.
    #[must_use]
    pub fn perimeter(&self) -> f64 {
        self.pieces()
            .map(|(a, b, bulge)| {
                arc_of(a, b, bulge).map_or_else(|| a.distance(b), |c| c.radius * c.sweep.abs())
            })
            .sum()
    }

    /// Lower left and upper right corners of the box that holds the profile.
    #[must_use]
    pub fn bounds(&self) -> (Vec2, Vec2) {
        let mut lo = vec2(f64::INFINITY, f64::INFINITY);
        let mut hi = vec2(f64::NEG_INFINITY, f64::NEG_INFINITY);
        let mut take = |p: Vec2| {
            lo = vec2(lo.x.min(p.x), lo.y.min(p.y));
            hi = vec2(hi.x.max(p.x), hi.y.max(p.y));
        };
        for (a, b, bulge) in self.pieces() {
            take(a);
            if let Some(arc) = arc_of(a, b, bulge) {
                for (quarter, d) in [
                    (0.0, vec2(1.0, 0.0)),
                    (0.25, vec2(0.0, 1.0)),
                    (0.5, vec2(-1.0, 0.0)),
                    (0.75, vec2(0.0, -1.0)),
                ] {
                    if arc.spans(quarter * TAU) {
                        take(arc.centre + d * arc.radius);
                    }
                }
            }
        }
        (lo, hi)
    }

    /// Points along the profile, chords no further than `tolerance` mm from
    /// the arcs; the chords lie inside convex arcs.
    #[must_use]
    pub fn flatten(&self, tolerance: f64) -> Vec<Vec2> {
        let mut out = Vec::new();
        for (a, b, bulge) in self.pieces() {
            out.push(a);
            if let Some(arc) = arc_of(a, b, bulge) {
                let n = arc_steps(arc.radius, arc.sweep.abs(), tolerance);
                out.extend((1..n).map(|k| arc.point(k as f64 / n as f64)));
            }
        }
        out
    }

    /// The same profile run the other way round.
    #[must_use]
    pub fn reversed(&self) -> Self {
        let n = self.vertices.len();
        Self {
            vertices: (0..n)
                .map(|i| Vertex {
                    at: self.vertices[n - 1 - i].at,
                    bulge: -self.vertices[(2 * n - 2 - i) % n].bulge,
                })
                .collect(),
        }
    }

    /// The profile placed elsewhere.
    #[must_use]
    pub fn placed(&self, placement: Placement) -> Self {
        Self {
            vertices: self
                .vertices
                .iter()
                .map(|v| Vertex {
                    at: placement.apply(v.at),
                    bulge: v.bulge,
                })
                .collect(),
        }
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
