//! Strips of closed form to try a flattening on: their flats, or their
//! stretch, are known.

use std::fmt;

use crate::geom::patch::{Jet, Patch};
use crate::geom::{Vec3, trig, vec3};

type Formula = Box<dyn Fn(f64, f64) -> Jet + Send + Sync>;
type Ends = Box<dyn Fn(f64) -> (f64, f64) + Send + Sync>;

/// A strip given by formulas.
pub struct Shape {
    jet: Formula,
    ends: Ends,
    knots: Vec<f64>,
}

impl fmt::Debug for Shape {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (range, knots) = (self.range(), &self.knots);
        write!(f, "Shape {{ range: {range:?}, knots: {knots:?} }}")
    }
}

impl Patch for Shape {
    fn jet(&self, t: f64, w: f64) -> Jet {
        (self.jet)(t, w)
    }
    fn ends(&self, w: f64) -> (f64, f64) {
        (self.ends)(w)
    }
    fn knots(&self) -> Vec<f64> {
        self.knots.clone()
    }
}

impl Shape {
    /// A strip of a formula between square ends.
    pub fn new(
        first: f64,
        last: f64,
        jet: impl Fn(f64, f64) -> Jet + Send + Sync + 'static,
    ) -> Self {
        Self {
            jet: Box::new(jet),
            ends: Box::new(move |_| (first, last)),
            knots: Vec::new(),
        }
    }

    /// With other ends.
    #[must_use]
    pub fn with_ends(mut self, ends: impl Fn(f64) -> (f64, f64) + Send + Sync + 'static) -> Self {
        self.ends = Box::new(ends);
        self
    }

    /// With knots.
    #[must_use]
    pub fn with_knots(mut self, knots: Vec<f64>) -> Self {
        self.knots = knots;
        self
    }

    /// Moved in space by a linear map of vectors and a shift.
    #[must_use]
    pub fn moved(self, turn: impl Fn(Vec3) -> Vec3 + Send + Sync + 'static, shift: Vec3) -> Self {
        let jet = self.jet;
        Self {
            jet: Box::new(move |t, w| {
                let j = jet(t, w);
                Jet {
                    point: turn(j.point) + shift,
                    along: turn(j.along),
                    across: turn(j.across),
                }
            }),
            ..self
        }
    }

    /// Run through the other way, the same face up: t and w both turned.
    #[must_use]
    pub fn reversed(self) -> Self {
        let (jet, ends) = (self.jet, self.ends);
        Self {
            jet: Box::new(move |t, w| {
                let j = jet(-t, 1.0 - w);
                Jet {
                    point: j.point,
                    along: -j.along,
                    across: -j.across,
                }
            }),
            ends: Box::new(move |w| {
                let (lo, hi) = ends(1.0 - w);
                (-hi, -lo)
            }),
            knots: self.knots.iter().rev().map(|k| -k).collect(),
        }
    }

    /// Mirrored in the plane y = 0, as port is of starboard: t is turned, so
    /// that the same face stays up.
    #[must_use]
    pub fn mirrored(self) -> Self {
        let (jet, ends) = (self.jet, self.ends);
        let flip = |v: Vec3| vec3(v.x, -v.y, v.z);
        Self {
            jet: Box::new(move |t, w| {
                let j = jet(-t, w);
                Jet {
                    point: flip(j.point),
                    along: -flip(j.along),
                    across: flip(j.across),
                }
            }),
            ends: Box::new(move |w| {
                let (lo, hi) = ends(w);
                (-hi, -lo)
            }),
            knots: self.knots.iter().rev().map(|k| -k).collect(),
        }
    }
}

/// A flat strip in the plane z = 0, its outboard edge on the x axis.
#[must_use]
pub fn plane(length: f64, width: f64) -> Shape {
    Shape::new(0.0, length, move |t, w| Jet {
        point: vec3(t, w * width, 0.0),
        along: vec3(1.0, 0.0, 0.0),
        across: vec3(0.0, width, 0.0),
    })
}

/// A cone: the outboard edge a circle of `outer` radius, the inboard edge one
/// of `inner` radius, `rise` higher. t is the angle about the axis, up to
/// `angle`.
#[must_use]
pub fn cone(outer: f64, inner: f64, rise: f64, angle: f64) -> Shape {
    Shape::new(0.0, angle, move |t, w| {
        let (s, c) = (trig::sin(t), trig::cos(t));
        let r = outer + w * (inner - outer);
        Jet {
            point: vec3(r * c, r * s, w * rise),
            along: vec3(-r * s, r * c, 0.0),
            across: vec3((inner - outer) * c, (inner - outer) * s, rise),
        }
    })
}

/// A round cylinder about the z axis from z = `low` to the plane cut
/// z = `radius` * cos(t) that a cut at 45 degrees leaves; t is the angle.
#[must_use]
pub fn cut_cylinder(radius: f64, low: f64, angle: f64) -> Shape {
    Shape::new(0.0, angle, move |t, w| {
        let (s, c) = (trig::sin(t), trig::cos(t));
        let tall = radius * c - low;
        Jet {
            point: vec3(radius * c, radius * s, low + w * tall),
            along: vec3(-radius * s, radius * c, -w * radius * s),
            across: vec3(0.0, 0.0, tall),
        }
    })
}

/// A helicoid, as a screw flight: radii from `outer` to `inner`, rising
/// `pitch` a turn; t is the angle.
#[must_use]
pub fn helicoid(outer: f64, inner: f64, pitch: f64, angle: f64) -> Shape {
    let c = pitch / (2.0 * std::f64::consts::PI);
    Shape::new(0.0, angle, move |t, w| {
        let (sin, cos) = (trig::sin(t), trig::cos(t));
        let u = outer + w * (inner - outer);
        Jet {
            point: vec3(u * cos, u * sin, c * t),
            along: vec3(-u * sin, u * cos, c),
            across: vec3((inner - outer) * cos, (inner - outer) * sin, 0.0),
        }
    })
}

/// A ribbon twisted about its straight mid line at `rate` rad/mm.
#[must_use]
pub fn ribbon(length: f64, width: f64, rate: f64) -> Shape {
    Shape::new(-0.5 * length, 0.5 * length, move |t, w| {
        let (s, c) = (trig::sin(rate * t), trig::cos(rate * t));
        let v = (w - 0.5) * width;
        Jet {
            point: vec3(t, v * c, v * s),
            along: vec3(1.0, -v * rate * s, v * rate * c),
            across: vec3(0.0, width * c, width * s),
        }
    })
}

/// A band of a torus between two angles of the tube's section (0 outermost,
/// a quarter turn on top); t is the angle about the axis.
#[must_use]
pub fn torus(major: f64, minor: f64, from: f64, to: f64, angle: f64) -> Shape {
    Shape::new(0.0, angle, move |t, w| {
        let (s, c) = (trig::sin(t), trig::cos(t));
        let tube = from + w * (to - from);
        let (ts, tc) = (trig::sin(tube), trig::cos(tube));
        let r = major + minor * tc;
        let k = minor * (to - from);
        Jet {
            point: vec3(r * c, r * s, minor * ts),
            along: vec3(-r * s, r * c, 0.0),
            across: vec3(-k * ts * c, -k * ts * s, k * tc),
        }
    })
}

/// A strip of the saddle z = x y / `radius`, `width` wide in plan.
#[must_use]
pub fn saddle(length: f64, width: f64, radius: f64) -> Shape {
    let k = 1.0 / radius;
    Shape::new(-0.5 * length, 0.5 * length, move |t, w| {
        let v = w * width;
        Jet {
            point: vec3(t, v, k * t * v),
            along: vec3(1.0, 0.0, k * v),
            across: vec3(0.0, width, k * t * width),
        }
    })
}

/// A plate as on a deck edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Deck {
    /// Length of the outboard edge in plan, mm.
    pub length: f64,
    /// Width, square to the edge in plan and along the slope, mm.
    pub width: f64,
    /// Radius of the outboard edge in plan, mm.
    pub radius: f64,
    /// Rise inboard per unit at the middle.
    pub slope: f64,
    /// Change of it per mm along the edge.
    pub slope_rate: f64,
    /// Sheer: curvature of the edge in profile, 1/mm, hollow above zero.
    pub sheer: f64,
}

/// The surface of a [`Deck`]; t is the arc of the edge in plan from the middle.
#[must_use]
pub fn deck(d: Deck) -> Shape {
    Shape::new(-0.5 * d.length, 0.5 * d.length, move |t, w| {
        let (s, c) = (trig::sin(t / d.radius), trig::cos(t / d.radius));
        let (tangent, inboard) = (vec3(-s, c, 0.0), vec3(-c, -s, 0.0));
        let up = vec3(0.0, 0.0, 1.0);
        let slope = d.slope + d.slope_rate * t;
        let size = 1.0 / (1.0 + slope * slope).sqrt();
        let line = (inboard + up * slope) * size;
        // Derivative of the unit vector along the line across.
        let lift = up * (d.slope_rate * size);
        let shrink = line * (-slope * d.slope_rate * size * size);
        let turn = tangent * (-size / d.radius);
        Jet {
            point: inboard * -d.radius + up * (0.5 * d.sheer * t * t) + line * (w * d.width),
            along: tangent + up * (d.sheer * t) + (lift + shrink + turn) * (w * d.width),
            across: line * d.width,
        }
    })
}
