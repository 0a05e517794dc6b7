//! Choices of stock tried one by one: laid out, flattened, nested and cut,
//! each to figures that can be set against each other.

use std::collections::BTreeMap;
use std::sync::atomic::AtomicBool;

use rayon::prelude::*;

use super::butts;
use super::cutting::each_sheet;
use super::fairness::{Faired, faired};
use super::first::{first, reason};
use super::flat_job::{FlatJob, Made};
use super::model::{Files, bytes};
use super::steps::Steps;
use crate::drawing::{SmallSheet, offer_drawing};
use crate::fault::{Fault, Faults};
use crate::job::{ButtChoice, Choice, Job, SurveyFile};
use crate::length::number;
use crate::part::Part;
use crate::report::estimate::{
    Efforts, Estimate, Figures, Picture, Tried, estimate_csv, estimate_json, estimate_page,
    estimate_text, variations_csv,
};
use crate::report::fairness::misgivings;
use crate::write::svg::small_svg;

mod vary;

/// The estimate, with its files.
#[derive(Debug)]
pub struct Estimated {
    /// Every file.
    pub files: Files,
    /// What they tell.
    pub estimate: Estimate,
}

/// Estimates every choice of stock of a job, and how the best answers to
/// gap, height and width where `vary` asks for it. `progress` hears the
/// fraction of the nests that are done, from any thread.
///
/// # Errors
/// All problems of the survey; or where no choice can be made, why each
/// cannot.
pub fn estimate(
    job: &Job,
    tables: &[(SurveyFile, String)],
    efforts: Efforts,
    vary: bool,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<Estimated, Faults> {
    let Faired { survey, edge } = faired(job, tables)?;
    let choices = job.choices();
    let chosen = job.joints.butts == ButtChoice::Nested;
    let efforts = if vary {
        efforts
    } else {
        Efforts::all(efforts.choices)
    };
    let variants = if vary { vary::COUNT + 1 } else { 0 };
    let all = choices.len() * if chosen { 2 } else { 1 } + variants;
    let steps = Steps::new(all, progress);
    let jobs: Vec<Job> = choices.iter().map(|c| job.with_choice(c)).collect();
    let flat_jobs: Vec<Result<FlatJob, Faults>> = if chosen {
        let stop = AtomicBool::new(false);
        let each = jobs.iter().map(|with| {
            let found = butts::chosen(with, &edge, &|f| steps.within(f), &stop);
            steps.step();
            found.map(|(flat, _)| flat)
        });
        each.collect()
    } else {
        FlatJob::each(jobs.clone(), &edge)
    };
    let outcomes: Vec<Result<Made, Fault>> = flat_jobs
        .par_iter()
        .zip(&jobs)
        .map(|(flat, with)| {
            let flat = flat.as_ref().map_err(|f| first(f.clone(), with));
            let made = flat.and_then(|c| c.made(efforts.choices));
            steps.step();
            made
        })
        .collect();
    let failed = (outcomes.iter().zip(&choices)).filter_map(|(o, c)| {
        let mut fault = o.as_ref().err()?.clone();
        fault.what = format!("choice `{}` cannot be made: {}", c.name, fault.what);
        Some(fault)
    });
    let faults: Vec<Fault> = failed.collect();
    if faults.len() == choices.len() {
        return Err(Faults(faults));
    }
    let tried = (choices.iter().zip(&jobs).zip(&flat_jobs).zip(outcomes))
        .enumerate()
        .map(|(given, (((choice, with), flat), outcome))| {
            let made = outcome.map_err(|f| reason(&f));
            let pictures = match (flat, &made) {
                (Ok(flat), Ok(made)) => pictures(choice, flat.parts()?, made)?,
                _ => Vec::new(),
            };
            let outcome = made.map(|m| m.figures);
            Ok::<_, Fault>(tell(given, choice, with, outcome, pictures))
        })
        .collect::<Result<Vec<_>, _>>()?;
    let mut estimate = Estimate::ranked(tried, efforts);
    if vary
        && let Some((best, figures)) = estimate.best()
        && let Some(Ok(flat)) = flat_jobs.get(best.given)
    {
        estimate.variations = vary::variations(flat, &survey, figures, &steps, efforts);
    }
    estimate.add_notes(job);
    estimate.warnings = misgivings(&survey, &edge.doubts);
    let mut files = BTreeMap::from([
        ("estimate.txt".to_owned(), estimate_text(&estimate, job)),
        estimate_csv(&estimate, job)?,
        ("estimate.json".to_owned(), estimate_json(&estimate, job)?),
        ("estimate.html".to_owned(), estimate_page(&estimate, job)),
    ]);
    if vary {
        files.extend([variations_csv(&estimate, job)?]);
    }
    Ok(Estimated {
        files: bytes(files),
        estimate,
    })
}

/// What a report says of a choice.
fn tell(
    given: usize,
    choice: &Choice,
    job: &Job,
    outcome: Result<Figures, String>,
    pictures: Vec<Picture>,
) -> Tried {
    let mut alloys = vec![job.base.alloy.clone()];
    for alloy in std::iter::once(&job.top.alloy).chain(job.doublers.iter().map(|d| &d.alloy)) {
        if !alloys.contains(alloy) {
            alloys.push(alloy.clone());
        }
    }
    Tried {
        name: choice.name.clone(),
        also: Vec::new(),
        supplier: choice.supplier.clone(),
        alloys,
        process: job.cutting.process.clone(),
        kerf: job.cutting.kerf,
        gap: job.cutting.gap,
        machine: [
            job.prices.cutting_per_hour,
            job.cutting.speed,
            job.cutting.travel,
            job.cutting.marking,
            job.cutting.pierce_s,
            Some(job.cutting.drill_s),
        ],
        outcome,
        pictures,
        given,
    }
}

fn pictures(choice: &Choice, parts: &[Part], made: &Made) -> Result<Vec<Picture>, Fault> {
    let count = made.facts.sheets.len();
    each_sheet(&made.groups)
        .into_iter()
        .zip(&made.facts.sheets)
        .enumerate()
        .map(|(i, ((group, nested), sheet))| {
            let small = SmallSheet {
                stock: &sheet.stock,
                parts: nested
                    .placed
                    .iter()
                    .map(|p| (&parts[group.parts[p.part]].outline, p.placement))
                    .collect(),
            };
            let title = format!("{}, sheet {} of {count}", choice.name, i + 1);
            Ok(Picture {
                svg: small_svg(&offer_drawing("estimate", &title, &small))?,
                width: sheet.stock.length,
                caption: format!(
                    "{} of {count}: {}, {} %",
                    i + 1,
                    sheet.stock.name,
                    number(sheet.sums.yield_ratio() * 100.0, 1)
                ),
            })
        })
        .collect()
}
