//! The surfaces that the plates of one smooth length follow.

use std::sync::Arc;

use super::strip::Guide;
use crate::fair::{FairLength, reference_inboard};
use crate::geom::bspline::Spline;
use crate::geom::steps::evenly;
use crate::geom::trig;
use crate::job::{Job, TopSlope};

/// The two plates' guides on one smooth length of a chain.
#[derive(Debug, Clone)]
pub struct Guides {
    /// Base plate, by t.
    pub base: Arc<Guide>,
    /// Top plate, by u.
    pub top: Arc<Guide>,
    /// u over t.
    pub top_of: Spline<1>,
}

/// An even slope along a line.
pub(super) fn constant(like: &Spline<3>, value: f64) -> Spline<1> {
    Spline {
        coefficients: vec![[value]; like.basis.len()],
        basis: like.basis.clone(),
    }
}

impl Guides {
    pub(super) fn new(length: &FairLength, job: &Job) -> Option<Self> {
        let slope = match job.top_slope {
            TopSlope::Level => constant(&length.top, 0.0),
            TopSlope::Angle(a) => constant(&length.top, trig::tan(a)),
            TopSlope::Deck => deck_slope_on_top(length)?,
        };
        Some(Self {
            base: Arc::new(Guide {
                edge: length.base.clone(),
                slope: length.slope.clone(),
                offset: reference_inboard(job),
                inset: 0.0,
                lift: job.bedding + job.base.thickness / 2.0,
                width: job.base.width,
            }),
            top: Arc::new(Guide {
                edge: length.top.clone(),
                slope,
                offset: 0.0,
                inset: 0.0,
                lift: -job.top.thickness / 2.0,
                width: job.top.width,
            }),
            top_of: length.top_of.clone(),
        })
    }

    /// Range of t.
    #[must_use]
    pub fn range(&self) -> (f64, f64) {
        self.base.edge.basis.range()
    }

    /// u of the top line square to the base line at t.
    #[must_use]
    pub fn u(&self, t: f64) -> f64 {
        self.top_of.at(t)[0]
    }
}

/// The deck's slope carried up to the top line: the same value square above,
/// as a spline over u through densely taken values.
fn deck_slope_on_top(length: &FairLength) -> Option<Spline<1>> {
    let (a, b) = length.base.basis.range();
    // Four values a knot span determine a quintic piece with room to spare.
    let count = 4 * (length.base.basis.breaks().len() + 2);
    let (us, slopes): (Vec<f64>, Vec<[f64; 1]>) = evenly(a, b - a, count as f64)
        .map(|t| (length.top_of.at(t)[0], length.slope.at(t)))
        .unzip();
    Spline::fit(length.top.basis.clone(), &us, &slopes)
}
