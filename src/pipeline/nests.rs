//! Parts on sheets: every alloy and thickness nested apart, every nest checked.

use std::sync::atomic::{AtomicBool, Ordering};

use rayon::prelude::*;

use super::first::in_job;
use super::model::Shaped;
use crate::fault::{Fault, Faults, Kind, Place};
use crate::geom::Outline;
use crate::job::{Effort, Job, Sheet};
use crate::nest::{self as nesting, Nest, NestJob, NestPart, check};
use crate::part::{Hole, Part};
use crate::report::facts::{Alone, Group};
use crate::stock::same_thickness;

/// Who hears of the progress, and what ends the search early.
pub(super) type Watch<'a> = (&'a (dyn Fn(f64, f64) + Sync), &'a AtomicBool);

/// Nests all parts, group by group, and checks every nest. Where `stop` comes
/// to be true the best found so far is taken.
///
/// # Errors
/// If a part fits no sheet, the stock runs out, or a nest fails the check.
pub fn nest(
    job: &Job,
    shaped: &Shaped,
    effort: Effort,
    progress: &(dyn Fn(f64, f64) + Sync),
    stop: &AtomicBool,
) -> Result<Vec<Group>, Faults> {
    let parts: Vec<&Part> = shaped.parts.iter().map(|f| &f.part).collect();
    let mut groups = nest_parts(job, &parts, effort, (progress, stop))?;
    for group in &mut groups {
        // A remnant is one piece: nobody buys more of its size.
        group.alone = group
            .job
            .sheets
            .par_iter()
            .filter(|sheet| sheet.shape.is_none())
            .map(|sheet| Alone {
                sheet: sheet.clone(),
                nest: on_one_size(&group.job, sheet, stop),
                effort: ALONE,
            })
            .collect();
        group.stopped |= stop.load(Ordering::Relaxed);
    }
    Ok(groups)
}

/// Nests parts, group by group, and checks every nest; no size is tried alone.
pub(super) fn nest_parts(
    job: &Job,
    parts: &[&Part],
    effort: Effort,
    watch: Watch<'_>,
) -> Result<Vec<Group>, Fault> {
    let mut keys: Vec<(&str, f64)> = Vec::new();
    for part in parts {
        let same = |k: &(&str, f64)| k.0 == part.alloy && same_thickness(k.1, part.thickness);
        if !keys.iter().any(same) {
            keys.push((&part.alloy, part.thickness));
        }
    }
    let count = keys.len() as f64;
    let mut out = Vec::new();
    for (k, key) in keys.into_iter().enumerate() {
        let tell = |fraction: f64, best: f64| watch.0((k as f64 + fraction) / count, best);
        out.push(group(job, parts, key, effort, (&tell, watch.1))?);
    }
    Ok(out)
}

fn group(
    job: &Job,
    all: &[&Part],
    (name, thickness): (&str, f64),
    effort: Effort,
    watch: Watch<'_>,
) -> Result<Group, Fault> {
    let fits = |a: &str, t: f64| a == name && same_thickness(t, thickness);
    let parts: Vec<usize> = (0..all.len())
        .filter(|&i| fits(&all[i].alloy, all[i].thickness))
        .collect();
    let sheets = job.sheets.iter().filter(|s| fits(&s.alloy, s.thickness));
    let mass_per_area = job.alloy(name)?.mass_per_area(thickness);
    let nest_part = |&i: &usize| NestPart {
        name: all[i].name.clone(),
        outline: all[i].outline.clone(),
        holes: all[i].holes.iter().map(bore).collect(),
    };
    let base = NestJob {
        parts: parts.iter().map(nest_part).collect(),
        sheets: sheets.cloned().collect(),
        gap: job.cutting.gap,
        edge_margin: job.cutting.edge_margin,
        rotation: job.cutting.rotation,
        effort,
        seed: job.cutting.seed,
        slack: job.tolerance.clearance_slack_mm,
        price_per_area: job.prices.per_kg.get(name).map(|p| p * mass_per_area),
        scrap_per_area: job.prices.scrap_per_kg * mass_per_area,
        show: job.show,
    };
    let nest = checked(&base, watch).map_err(|f| in_job(f, job))?;
    Ok(Group {
        job: base,
        parts,
        nest,
        alone: Vec::new(),
        stopped: watch.1.load(Ordering::Relaxed),
    })
}

/// A hole's profile.
fn bore(hole: &Hole) -> Outline {
    Outline::circle(hole.centre, 0.5 * hole.diameter)
}

/// Effort of the nests on one size of sheet alone.
const ALONE: Effort = Effort::Quick;

/// The group on as many sheets of one size as it needs: a comparison, not a
/// cutting plan. `None` where the size does not hold it.
fn on_one_size(base: &NestJob, sheet: &Sheet, stop: &AtomicBool) -> Option<Nest> {
    let mut one = base.clone();
    one.sheets = vec![Sheet {
        quantity: None,
        ..sheet.clone()
    }];
    one.effort = ALONE;
    checked(&one, (&|_, _| (), stop)).ok()
}

pub(super) fn checked(job: &NestJob, (progress, stop): Watch<'_>) -> Result<Nest, Fault> {
    checked_as(job, nesting::nest_until(job, progress, stop)?)
}

/// A nest that has passed its check.
pub(super) fn checked_as(job: &NestJob, nest: Nest) -> Result<Nest, Fault> {
    match check(job, &nest) {
        Ok(_) => Ok(nest),
        Err(faults) => Err(faults.into_iter().next().unwrap_or_else(|| {
            let what = "the nest failed its check without a reason";
            let mend = "try another effort or gap";
            Fault::new(Kind::Stock, Place::default(), what, mend)
        })),
    }
}
