//! The one door to trigonometry and roots that differ between platforms.
//!
//! Rust's `f64::sin` and its relatives call the platform's C library, whose
//! last bit differs from machine to machine. Same job, same bytes: every
//! stage calls these functions of the `libm` crate instead. `f64::sqrt` is
//! correctly rounded everywhere and may be called directly.

pub use libm::{acos, asin, atan, atan2, cbrt, cos, erfc, exp, hypot, log as ln, pow, sin, tan};
