//! Strips of surface to flat plate: exact where the surface is developable,
//! of least stretch where it is not.

use crate::geom::Vec2;

/// A flattened strip, as seen on its upper face.
#[derive(Debug, Clone)]
pub struct Flat {
    /// The flat place of every (t, w).
    pub map: FlatMap,
    /// What the plate must stretch.
    pub stretch: Stretch,
    /// Where and how to bend and twist it, at most `bend_step_mm` apart.
    pub bends: Vec<Bend>,
}

/// Map from the strip's coordinates to the flat plate.
#[derive(Debug, Clone)]
pub struct FlatMap {}

impl FlatMap {
    /// Flat place and its derivatives along t and w.
    #[must_use]
    pub fn jet(&self, _t: f64, _w: f64) -> [Vec2; 3] {
        [Vec2::default(); 3]
    }
    /// Flat place.
    #[must_use]
    pub fn at(&self, t: f64, w: f64) -> Vec2 {
        self.jet(t, w)[0]
    }
}

/// Stretch of a flattened strip: principal strains of the plate in place
/// against the flat plate.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Stretch {
    /// Largest magnitude, a plain ratio.
    pub largest: f64,
    /// Its signed value: positive where the plate in place is longer.
    pub signed: f64,
    /// Where (t, w).
    pub at: (f64, f64),
    /// Plane stress there by Hooke's law, largest principal magnitude, MPa.
    pub stress_mpa: f64,
    /// Elastic energy per unit modulus and thickness, mm2.
    pub energy_mm2: f64,
}

/// A row of the bend schedule: a straight line across the plate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bend {
    /// t of the line.
    pub t: f64,
    /// Distance along the flat outboard edge from the part's first end, mm.
    pub along: f64,
    /// Flat place of the line's outboard end.
    pub outboard: Vec2,
    /// Flat place of the line's inboard end.
    pub inboard: Vec2,
    /// Normal curvature along the outboard edge, 1/mm: positive bends the
    /// plate towards its upper face (hollow seen from above).
    pub curvature: f64,
    /// Twist rate along the outboard edge (geodesic torsion), rad/mm.
    pub twist: f64,
}
