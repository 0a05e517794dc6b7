//! Vectors and placements in the plane and in space. Millimetres, radians.

use std::ops::{Add, AddAssign, Mul, Neg, Sub};

use super::trig;

/// A point or a vector in the plane, mm.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Vec2 {
    /// First coordinate, mm.
    pub x: f64,
    /// Second coordinate, mm.
    pub y: f64,
}

/// A point or a vector in space, mm: x forward, y to port, z up.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Vec3 {
    /// Forward, mm.
    pub x: f64,
    /// To port, mm.
    pub y: f64,
    /// Up, mm.
    pub z: f64,
}

/// Short constructor of [`Vec2`].
#[must_use]
pub const fn vec2(x: f64, y: f64) -> Vec2 {
    Vec2 { x, y }
}

/// Short constructor of [`Vec3`].
#[must_use]
pub const fn vec3(x: f64, y: f64, z: f64) -> Vec3 {
    Vec3 { x, y, z }
}

/// Lower left and upper right corners of the box that holds points; of none, an
/// infinite box turned inside out.
pub fn bounds(points: impl Iterator<Item = Vec2>) -> (Vec2, Vec2) {
    let nowhere = vec2(f64::INFINITY, f64::INFINITY);
    points.fold((nowhere, -nowhere), |(lo, hi), p| {
        let lo = vec2(lo.x.min(p.x), lo.y.min(p.y));
        (lo, vec2(hi.x.max(p.x), hi.y.max(p.y)))
    })
}

impl Vec2 {
    /// Scalar product.
    #[must_use]
    pub fn dot(self, o: Self) -> f64 {
        self.x * o.x + self.y * o.y
    }
    /// Third component of the vector product: positive where `o` lies to the left.
    #[must_use]
    pub fn cross(self, o: Self) -> f64 {
        self.x * o.y - self.y * o.x
    }
    /// Length, mm.
    #[must_use]
    pub fn length(self) -> f64 {
        self.dot(self).sqrt()
    }
    /// Unit vector of the same direction; the zero vector stays zero.
    #[must_use]
    pub fn unit(self) -> Self {
        let l = self.length();
        if l > 0.0 { self * (1.0 / l) } else { self }
    }
    /// Turned a quarter to the left.
    #[must_use]
    pub fn left(self) -> Self {
        vec2(-self.y, self.x)
    }
    /// Turned to the left by an angle, rad.
    #[must_use]
    pub fn turned(self, angle: f64) -> Self {
        let (s, c) = (trig::sin(angle), trig::cos(angle));
        vec2(c * self.x - s * self.y, s * self.x + c * self.y)
    }
    /// Angle from the x axis, rad.
    #[must_use]
    pub fn angle(self) -> f64 {
        trig::atan2(self.y, self.x)
    }
    /// Distance to another point, mm.
    #[must_use]
    pub fn distance(self, o: Self) -> f64 {
        (self - o).length()
    }
    /// Point part way to another: 0 here, 1 there.
    #[must_use]
    pub fn lerp(self, o: Self, f: f64) -> Self {
        self + (o - self) * f
    }
    /// With a height, as a point in space.
    #[must_use]
    pub fn at_height(self, z: f64) -> Vec3 {
        vec3(self.x, self.y, z)
    }
}

impl Vec3 {
    /// Scalar product.
    #[must_use]
    pub fn dot(self, o: Self) -> f64 {
        self.x * o.x + self.y * o.y + self.z * o.z
    }
    /// Vector product.
    #[must_use]
    pub fn cross(self, o: Self) -> Self {
        vec3(
            self.y * o.z - self.z * o.y,
            self.z * o.x - self.x * o.z,
            self.x * o.y - self.y * o.x,
        )
    }
    /// Length, mm.
    #[must_use]
    pub fn length(self) -> f64 {
        self.dot(self).sqrt()
    }
    /// Unit vector of the same direction; the zero vector stays zero.
    #[must_use]
    pub fn unit(self) -> Self {
        let l = self.length();
        if l > 0.0 { self * (1.0 / l) } else { self }
    }
    /// Distance to another point, mm.
    #[must_use]
    pub fn distance(self, o: Self) -> f64 {
        (self - o).length()
    }
    /// The plan view: height dropped.
    #[must_use]
    pub fn plan(self) -> Vec2 {
        vec2(self.x, self.y)
    }
}

macro_rules! vector_ops {
    ($t:ident, $($f:ident),+) => {
        impl Add for $t {
            type Output = Self;
            fn add(self, o: Self) -> Self { Self { $($f: self.$f + o.$f),+ } }
        }
        impl AddAssign for $t {
            fn add_assign(&mut self, o: Self) { *self = *self + o; }
        }
        impl Sub for $t {
            type Output = Self;
            fn sub(self, o: Self) -> Self { Self { $($f: self.$f - o.$f),+ } }
        }
        impl Mul<f64> for $t {
            type Output = Self;
            fn mul(self, k: f64) -> Self { Self { $($f: self.$f * k),+ } }
        }
        impl Neg for $t {
            type Output = Self;
            fn neg(self) -> Self { Self { $($f: -self.$f),+ } }
        }
    };
}
vector_ops!(Vec2, x, y);
vector_ops!(Vec3, x, y, z);

/// A rigid placement of a flat thing: turned about the origin, then shifted;
/// never mirrored.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placement {
    /// Turn to the left, rad.
    pub turn: f64,
    /// Shift after the turn, mm.
    pub shift: Vec2,
}

impl Placement {
    /// Leaves everything where it is.
    pub const IDENTITY: Self = Self {
        turn: 0.0,
        shift: vec2(0.0, 0.0),
    };
    /// Places a point.
    #[must_use]
    pub fn apply(self, p: Vec2) -> Vec2 {
        p.turned(self.turn) + self.shift
    }
}
