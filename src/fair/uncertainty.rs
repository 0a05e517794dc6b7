//! How far the faired lines may lie from the boat, from the accuracy of the
//! survey and from the equations that they were solved from. The formulas are
//! in `docs/method-fairing.md`, "How sure is the fit".

use super::curve::frame;
use super::line::{Equations, Line, System};
use super::smooth::{Solved, Spread, exact_problem};
use crate::geom::bspline::Spline;
use crate::job::Side;

/// A stated accuracy is the end of an error even within plus and minus it; its
/// variance is this share of the accuracy's square.
const EVEN_VARIANCE: f64 = 1.0 / 3.0;

/// Standard deviation of one measured ordinate, mm, from the accuracy, mm.
#[must_use]
pub fn ordinate_sd(accuracy: f64) -> f64 {
    accuracy * EVEN_VARIANCE.sqrt()
}

/// Standard deviations of a line at a place, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sd {
    /// In plan, square to the edge.
    pub across: f64,
    /// In height.
    pub up: f64,
}

/// How sure a line is, along its own parameter.
#[derive(Debug, Clone)]
pub struct Uncertainty {
    pub(super) plan: Spread<2>,
    pub(super) up: Spread<1>,
    /// Range of the line's parameter and of the equations'.
    range: (f64, f64),
    own: (f64, f64),
}

/// A measured point, by what measuring it a second time brings.
#[derive(Debug, Clone, PartialEq)]
pub struct Again {
    /// Index of the chain.
    pub chain: usize,
    /// Index into the chain's measured points.
    pub index: usize,
    /// Station or point as booked.
    pub name: String,
    /// Side it was booked on.
    pub side: Side,
    /// True where the point stands for both sides.
    pub both: bool,
    /// t on the base line, mm.
    pub t: f64,
    /// Part of the base lines' variance in plan, summed along the whole boat,
    /// that a second measurement of this point takes off, 0 to 1.
    pub plan_share: f64,
    /// The same in height.
    pub height_share: f64,
}

impl Again {
    /// The side it was booked on, or `both`.
    #[must_use]
    pub fn sides(&self) -> &'static str {
        if self.both { "both" } else { self.side.name() }
    }
}

impl Uncertainty {
    /// Of a line; `honest` counts what smoothing itself may have taken off.
    /// `None` where the equations cannot be solved again.
    pub(super) fn of(line: &Line, system: &System, accuracy: f64, honest: bool) -> Option<Self> {
        let sigma = ordinate_sd(accuracy);
        let range = line.curve.basis.range();
        let own = system.range;
        let normal = |u: f64| normal(&line.curve, rescaled(u, own, range));
        let (plan, up) = match &system.equations {
            Equations::Smoothed(plan, heights) => (
                plan.spread(sigma, honest, normal)?,
                heights.spread(sigma, honest, |_| [1.0])?,
            ),
            Equations::Exact { basis, feet } => {
                let plan: Solved<2> = exact_problem(basis.clone(), feet);
                let up: Solved<1> = exact_problem(basis.clone(), feet);
                (
                    plan.spread(sigma, honest, normal)?,
                    up.spread(sigma, honest, |_| [1.0])?,
                )
            }
        };
        Some(Self {
            plan,
            up,
            range,
            own,
        })
    }

    /// The same along a parameter counted from another zero.
    fn place(&self, t: f64) -> f64 {
        let t = t.clamp(self.range.0, self.range.1);
        rescaled(t, self.range, self.own)
    }

    /// Standard deviations at `t` of the line `curve` that this belongs to;
    /// beyond its ends, those of the ends.
    #[must_use]
    pub fn sd(&self, curve: &Spline<3>, t: f64) -> Sd {
        let u = self.place(t);
        Sd {
            across: self.plan.jet(u, normal(curve, t))[0].max(0.0).sqrt(),
            up: self.up.jet(u, [1.0])[0].max(0.0).sqrt(),
        }
    }

    /// The height's error as a random function at `t`: variance, mm^2;
    /// covariance with its change along the line, mm; variance of the change.
    #[must_use]
    pub fn height_error(&self, t: f64) -> [f64; 3] {
        let (a, b) = (self.range, self.own);
        let per = (b.1 - b.0) / (a.1 - a.0);
        let [v, c, d] = self.up.jet(self.place(t), [1.0]);
        [v, c * per, d * per * per]
    }

    /// Variance of a sum of the error square to the edge over (t, factor), mm^2
    /// times the factors' squares.
    #[must_use]
    pub fn across_sum(&self, curve: &Spline<3>, terms: &[(f64, f64)]) -> f64 {
        let turned = |(t, by): &(f64, f64)| (self.place(*t), normal(curve, *t).map(|n| n * by));
        self.plan
            .of_sum(&terms.iter().map(turned).collect::<Vec<_>>())
    }

    /// The same of the error in height.
    #[must_use]
    pub fn up_sum(&self, terms: &[(f64, f64)]) -> f64 {
        let turned = |(t, by): &(f64, f64)| (self.place(*t), [*by]);
        self.up
            .of_sum(&terms.iter().map(turned).collect::<Vec<_>>())
    }

    /// Counts the line's parameter from another zero.
    pub(super) fn shifted(mut self, by: f64) -> Self {
        self.range.0 += by;
        self.range.1 += by;
        self
    }
}

fn rescaled(t: f64, from: (f64, f64), to: (f64, f64)) -> f64 {
    to.0 + (t - from.0) * (to.1 - to.0) / (from.1 - from.0)
}

/// Plan normal to the left.
pub(super) fn normal(curve: &Spline<3>, t: f64) -> [f64; 2] {
    let n = frame(curve, t).tangent.left();
    [n.x, n.y]
}
