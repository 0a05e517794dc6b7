//! The survey's accuracy, stated or estimated from how the points scatter.

use std::borrow::Cow;

use super::base::corners;
use super::ends;
use super::line::{Equations, fit_line_to};
use super::smooth::Rule;
use super::uncertainty::normal;
use crate::fault::{Fault, Faults, Kind};
use crate::geom::Vec3;
use crate::job::{Job, TOP_OVER_BASE};
use crate::survey::Survey;

/// Errors are looked for up to this, mm, plus or minus: as much as the job may state.
const MOST_MM: f64 = 50.0;

/// Least freedom that an estimate may rest on. With eight the estimate is
/// within two thirds and one and a half times the truth in nine of ten surveys
/// (chi-squared); with fewer it says little.
const LEAST_FREEDOM: f64 = 8.0;

/// Accuracy of one measured ordinate, plus or minus, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Accuracy {
    /// As the job states it.
    Stated(f64),
    /// Estimated from the points by cross-validation.
    Estimated(f64),
}

impl Accuracy {
    /// Its figure, mm.
    #[must_use]
    pub fn mm(self) -> f64 {
        match self {
            Self::Stated(mm) | Self::Estimated(mm) => mm,
        }
    }
}

/// The job with an accuracy, and tolerances that follow it where the job does
/// not give them; and where the accuracy comes from.
///
/// Each smooth length is fitted in plan and in profile at the balance of
/// generalised cross-validation (Craven & Wahba, Numerische Mathematik 31,
/// 1979), and the error's variance is the sum of squares left over the freedom
/// left, over all lengths and both views (Wahba, Journal of the Royal
/// Statistical Society B 45, 1983). The accuracy is the end of an even error of
/// that variance.
///
/// # Errors
/// The job states no accuracy and the points are too few to estimate it
/// ([`Kind::Missing`]).
pub fn settle<'j>(survey: &Survey, job: &'j Job) -> Result<(Cow<'j, Job>, Accuracy), Faults> {
    let Some(follow) = job.survey.estimate else {
        return Ok((Cow::Borrowed(job), Accuracy::Stated(job.survey.accuracy)));
    };
    let Some(mm) = estimate(survey, job) else {
        return Err(Faults::from(Fault::new(
            Kind::Missing,
            job.place("survey.accuracy"),
            "the job states no accuracy, and the survey has too few points to estimate it from",
            "state the accuracy of one measured ordinate, plus or minus",
        )));
    };
    let mut settled = job.clone();
    settled.survey.accuracy = mm;
    if follow.base {
        settled.fairing.base = mm;
    }
    if follow.top {
        settled.fairing.top = TOP_OVER_BASE * mm;
    }
    Ok((Cow::Owned(settled), Accuracy::Estimated(mm)))
}

fn estimate(survey: &Survey, job: &Job) -> Option<f64> {
    let (mut sum_sq, mut freedom) = (0.0, 0.0);
    for chain in &survey.chains {
        for w in corners(chain).windows(2) {
            let within = &chain.points[w[0]..=w[1]];
            let places: Vec<Vec3> = within.iter().map(|p| p.at).collect();
            let ends = ends::of_length(chain, w[0], w[1], job);
            let tolerances = vec![MOST_MM; places.len()];
            // A length that cannot be fitted is told by the fit itself, later.
            let Ok((line, system)) = fit_line_to(&places, &tolerances, &ends, Rule::Unknown) else {
                continue;
            };
            let Equations::Smoothed(plan, heights) = &system.equations else {
                continue;
            };
            let (own, range) = (system.range, line.curve.basis.range());
            let across = |u: f64| {
                let t = range.0 + (u - own.0) * (range.1 - range.0) / (own.1 - own.0);
                normal(&line.curve, t)
            };
            let views = [
                plan.cross_validated(across),
                heights.cross_validated(|_| [1.0]),
            ];
            for (own_sum, own_freedom) in views.into_iter().flatten() {
                sum_sq += own_sum;
                freedom += own_freedom;
            }
        }
    }
    (freedom >= LEAST_FREEDOM).then(|| (3.0 * sum_sq / freedom).sqrt())
}
