//! The one door to trigonometry and roots that differ between platforms.
//!
//! Rust's `f64::sin` and its relatives call the platform's C library, whose
//! last bit differs from machine to machine. Same job, same bytes: every
//! stage calls these wrappers (the `libm` crate) instead. `f64::sqrt` is
//! correctly rounded everywhere and may be called directly.

/// Sine of an angle in radians.
#[must_use]
pub fn sin(x: f64) -> f64 {
    libm::sin(x)
}

/// Cosine of an angle in radians.
#[must_use]
pub fn cos(x: f64) -> f64 {
    libm::cos(x)
}

/// Tangent of an angle in radians.
#[must_use]
pub fn tan(x: f64) -> f64 {
    libm::tan(x)
}

/// Arc sine, radians.
#[must_use]
pub fn asin(x: f64) -> f64 {
    libm::asin(x)
}

/// Arc cosine, radians.
#[must_use]
pub fn acos(x: f64) -> f64 {
    libm::acos(x)
}

/// Arc tangent, radians.
#[must_use]
pub fn atan(x: f64) -> f64 {
    libm::atan(x)
}

/// Angle of the vector (x, y) from the x axis, radians in (-pi, pi].
#[must_use]
pub fn atan2(y: f64, x: f64) -> f64 {
    libm::atan2(y, x)
}

/// Length of the vector (x, y).
#[must_use]
pub fn hypot(x: f64, y: f64) -> f64 {
    libm::hypot(x, y)
}

/// x to the power y.
#[must_use]
pub fn pow(x: f64, y: f64) -> f64 {
    libm::pow(x, y)
}

/// Cube root.
#[must_use]
pub fn cbrt(x: f64) -> f64 {
    libm::cbrt(x)
}

/// Natural logarithm.
#[must_use]
pub fn ln(x: f64) -> f64 {
    libm::log(x)
}

/// e to the power x.
#[must_use]
pub fn exp(x: f64) -> f64 {
    libm::exp(x)
}

/// Complementary error function.
#[must_use]
pub fn erfc(x: f64) -> f64 {
    libm::erfc(x)
}
