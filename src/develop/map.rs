//! The flat map: a tensor spline.

use super::grid::Grid;
use crate::geom::bspline::{Basis, Near, Spline};
use crate::geom::{Vec2, vec2};

/// Map from the strip's coordinates to the flat plate.
#[derive(Debug, Clone)]
pub struct FlatMap {
    along: Basis,
    across: Basis,
    /// Control points, those across the strip together.
    coefficients: Vec<[f64; 2]>,
}

impl FlatMap {
    pub(super) fn new(grid: &Grid, coefficients: Vec<[f64; 2]>) -> Self {
        Self {
            along: grid.along.clone(),
            across: grid.across.clone(),
            coefficients,
        }
    }

    /// Flat place, mm, and its derivatives along t and w. Outside the strip's
    /// range the end pieces are continued.
    #[must_use]
    pub fn jet(&self, t: f64, w: f64) -> [Vec2; 3] {
        self.jet_on(&self.along.near::<2>(t), w)
    }

    /// The line across which w stays the same, over t.
    #[must_use]
    pub fn edge(&self, w: f64) -> Spline<2> {
        let Near { first, ders } = self.across.near::<1>(w);
        let count = self.across.len();
        let reach = first..=first + self.across.degree();
        let row = |row: &[[f64; 2]]| {
            let mut sum = [0.0; 2];
            for (c, share) in row[reach.clone()].iter().zip(&ders[0]) {
                sum[0] += c[0] * share;
                sum[1] += c[1] * share;
            }
            sum
        };
        Spline {
            basis: self.along.clone(),
            coefficients: self.coefficients.chunks_exact(count).map(row).collect(),
        }
    }

    /// The same at several places across one place along.
    pub(super) fn line(&self, t: f64, places: &[f64]) -> Vec<[Vec2; 3]> {
        let near = self.along.near::<2>(t);
        places.iter().map(|&w| self.jet_on(&near, w)).collect()
    }

    fn jet_on(&self, along: &Near<2>, w: f64) -> [Vec2; 3] {
        let Near { first: i0, ders: n } = along;
        let Near { first: j0, ders: m } = self.across.near::<2>(w);
        let count = self.across.len();
        let mut out = [Vec2::default(); 3];
        let along = n[0].iter().zip(&n[1]).take(self.along.degree() + 1);
        for (i, (ni, di)) in along.enumerate() {
            let start = (i0 + i) * count + j0;
            let row = &self.coefficients[start..=start + self.across.degree()];
            let (mut value, mut slope) = (Vec2::default(), Vec2::default());
            for ((c, a), b) in row.iter().zip(&m[0]).zip(&m[1]) {
                let c = vec2(c[0], c[1]);
                value += c * *a;
                slope += c * *b;
            }
            out[0] += value * *ni;
            out[1] += value * *di;
            out[2] += slope * *ni;
        }
        out
    }

    /// Breaks of the map along the strip, ends included.
    #[must_use]
    pub fn breaks(&self) -> &[f64] {
        self.along.breaks()
    }

    /// Flat place, mm.
    #[must_use]
    pub fn at(&self, t: f64, w: f64) -> Vec2 {
        self.jet(t, w)[0]
    }
}
