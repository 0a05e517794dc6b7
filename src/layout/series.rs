//! Truncated Taylor series in one variable: value, first and second
//! derivative. They carry the derivatives of a plate's surface exactly, with
//! no finite differences.

use crate::geom::{Vec3, vec3};

/// Value, first and second derivative of a scalar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Series(pub [f64; 3]);

/// The same of a vector.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Series3 {
    pub x: Series,
    pub y: Series,
    pub z: Series,
}

impl Series {
    pub(super) const fn constant(c: f64) -> Self {
        Self([c, 0.0, 0.0])
    }
    pub(super) fn plus(self, o: Self) -> Self {
        let ([a, b, c], [d, e, f]) = (self.0, o.0);
        Self([a + d, b + e, c + f])
    }
    pub(super) fn scaled(self, k: f64) -> Self {
        let [a, b, c] = self.0;
        Self([a * k, b * k, c * k])
    }
    /// Leibniz: (fg)'' = f''g + 2f'g' + fg''.
    pub(super) fn times(self, o: Self) -> Self {
        let ([a, b, c], [d, e, f]) = (self.0, o.0);
        Self([a * d, b * d + a * e, c * d + 2.0 * b * e + a * f])
    }
    /// One over the square root: g = f^(-1/2), g' = -f'/2 f^(-3/2),
    /// g'' = -f''/2 f^(-3/2) + 3 f'^2 / 4 f^(-5/2).
    pub(super) fn inverse_root(self) -> Self {
        let [a, b, c] = self.0;
        let g = 1.0 / a.sqrt();
        let g3 = g * g * g;
        Self([g, -0.5 * b * g3, -0.5 * c * g3 + 0.75 * b * b * g3 * g * g])
    }
}

impl Series3 {
    pub(super) fn plus(self, o: Self) -> Self {
        Self {
            x: self.x.plus(o.x),
            y: self.y.plus(o.y),
            z: self.z.plus(o.z),
        }
    }
    pub(super) fn times(self, k: Series) -> Self {
        Self {
            x: self.x.times(k),
            y: self.y.times(k),
            z: self.z.times(k),
        }
    }
    /// Derivative of order d as a vector.
    pub(super) fn order(self, d: usize) -> Vec3 {
        vec3(self.x.0[d], self.y.0[d], self.z.0[d])
    }
}
