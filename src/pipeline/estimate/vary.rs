//! The best choice with one figure changed at a time.

use rayon::prelude::*;

use crate::fair::fair;
use crate::fault::Fault;
use crate::job::{Job, section_faults};
use crate::length::{INCH, Show};
use crate::pipeline::first::{first, reason};
use crate::pipeline::flat_job::FlatJob;
use crate::pipeline::steps::Steps;
use crate::report::estimate::{Efforts, Figures, Variation, Varied};
use crate::survey::Survey;

/// Gaps tried, over the job's own: a tighter one asks whether the cut can be
/// trusted, wider ones what caution costs. Never below the kerf.
const GAPS: [f64; 4] = [0.5, 1.0, 1.5, 2.0];
/// Changes of height tried, in [`steps`].
const HEIGHTS: [f64; 4] = [-1.0, 0.0, 1.0, 2.0];
/// Changes of width tried, in [`steps`].
const WIDTHS: [f64; 3] = [-1.0, 0.0, 1.0];

/// Variations that are worked out anew.
pub(super) const COUNT: usize = GAPS.len() + HEIGHTS.len() + 2 * WIDTHS.len() - 4;

/// Steps of height and width, mm: what a person on deck feels, and about a tenth of
/// a plate.
fn steps(show: Show) -> (f64, f64) {
    match show {
        Show::Mm => (50.0, 15.0),
        Show::FeetInches => (2.0 * INCH, 0.5 * INCH),
    }
}

/// Figures closer than this are the same, mm.
const SAME: f64 = 1e-9;

/// One job to try.
struct Variant {
    of: Varied,
    value: f64,
    /// Change of the height, mm: of the rows that give one, too.
    raise: f64,
    /// The job changed; `None`: as it stands.
    job: Option<Job>,
}

/// Figures of the job with one thing changed at a time. `chosen`: as it
/// stands, nested as the choices are; where the variations are nested at
/// another effort it is nested anew, so that all of them can be compared.
pub(super) fn variations(
    own: &FlatJob,
    survey: &Survey,
    chosen: &Figures,
    steps: &Steps<'_>,
    efforts: Efforts,
) -> Vec<Variation> {
    let effort = efforts.variations;
    let figures = |flat: &FlatJob| flat.made(effort).map(|m| m.figures);
    let as_it_is = if effort == efforts.choices {
        Ok(chosen.clone())
    } else {
        figures(own).map_err(|f| reason(&f))
    };
    steps.step();
    variants(&own.job)
        .into_par_iter()
        .map(|v| {
            let outcome = match &v.job {
                None => as_it_is.clone(),
                Some(changed) => {
                    let done = changed_job(own, changed, survey, &v);
                    let done = done.and_then(|flat| figures(&flat));
                    steps.step();
                    done.map_err(|f| reason(&f))
                }
            };
            Variation {
                of: v.of,
                value: v.value,
                own: v.job.is_none(),
                outcome,
            }
        })
        .collect()
}

fn variants(job: &Job) -> Vec<Variant> {
    let mut out: Vec<Variant> = Vec::new();
    let mut put = |of: Varied, value: f64, raise: f64, own: bool, change: &dyn Fn(&mut Job)| {
        let job = (!own).then(|| {
            let mut job = job.clone();
            change(&mut job);
            job
        });
        let same = |v: &Variant| v.of == of && (v.value - value).abs() < SAME;
        if !out.iter().any(same) {
            out.push(Variant {
                of,
                value,
                raise,
                job,
            });
        }
    };
    let (up, across) = steps(job.show);
    for k in GAPS {
        let gap = (job.cutting.gap * k).max(job.cutting.kerf);
        let own = (gap - job.cutting.gap).abs() < SAME;
        put(Varied::Gap, gap, 0.0, own, &|j| j.cutting.gap = gap);
    }
    for k in HEIGHTS {
        let raise = k * up;
        put(Varied::Height, raise, raise, raise.abs() < SAME, &|j| {
            j.bulwark.height += raise;
        });
    }
    for k in WIDTHS {
        let width = job.base.width + k * across;
        put(Varied::BaseWidth, width, 0.0, k.abs() < SAME, &|j| {
            j.base.width = width;
        });
    }
    for k in WIDTHS {
        let width = job.top.width + k * across;
        put(Varied::TopWidth, width, 0.0, k.abs() < SAME, &|j| {
            j.top.width = width;
        });
    }
    out
}

/// A changed job: a changed gap leaves the parts, height and width make the
/// faired lines anew.
fn changed_job(own: &FlatJob, job: &Job, survey: &Survey, v: &Variant) -> Result<FlatJob, Fault> {
    if let Some(fault) = section_faults(job).into_iter().next() {
        return Err(fault);
    }
    if v.of == Varied::Gap {
        return Ok(own.nested_as(job.clone()));
    }
    let edge = fair(&raised(survey, v.raise), job).map_err(|f| first(f, job))?;
    FlatJob::of(job.clone(), &edge).map_err(|f| first(f, job))
}

/// The survey with every height that a row gives raised, mm.
fn raised(survey: &Survey, by: f64) -> Survey {
    let mut survey = survey.clone();
    for p in survey.chains.iter_mut().flat_map(|c| &mut c.points) {
        p.height = p.height.map(|h| h + by);
    }
    survey
}
