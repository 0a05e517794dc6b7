//! Choices of stock tried one by one: laid out, flattened, nested and cut,
//! each to figures that can be set against each other.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use rayon::prelude::*;

use super::cutting::{each_sheet, sheet_plans};
use super::fairness::{Faired, faired};
use super::files::densities;
use super::{Group, every, flatten, nest_parts};
use crate::cut;
use crate::drawing::{SmallSheet, offer_drawing};
use crate::fair::{FairEdge, fair};
use crate::fault::{Fault, Faults, Kind, Place};
use crate::job::{ButtChoice, Choice, Effort, Job, SurveyFile, section_faults};
use crate::layout::{Layout, Member, layout};
use crate::length::number;
use crate::part::Part;
use crate::report::NestGroup;
use crate::report::estimate::{
    Efforts, Estimate, Figures, Picture, Tried, Variation, Varied, Welds, estimate_csv,
    estimate_json, estimate_page, estimate_text, variations_csv,
};
use crate::report::facts::{Basis, Facts, facts};
use crate::report::fairness::misgivings;
use crate::survey::Survey;
use crate::write::svg::small_svg;

mod vary;

/// The estimate, with its files.
#[derive(Debug)]
pub struct Estimated {
    /// Text of every file by its name.
    pub files: BTreeMap<String, String>,
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
    let steps = Steps {
        done: AtomicUsize::new(0),
        all: choices.len() * if chosen { 2 } else { 1 } + variants,
        tell: progress,
    };
    let offers: Vec<(Choice, Job)> = choices
        .into_iter()
        .map(|c| {
            let with = job.with_choice(&c);
            if !chosen {
                return (c, with);
            }
            let stop = AtomicBool::new(false);
            // Where its butts cannot be chosen, the trial below tells why.
            let found = super::butts::chosen(&with, &edge, &|f| steps.within(f), &stop);
            steps.step();
            (c, found.map_or(with, |(with, _)| with))
        })
        .collect();
    let jobs: Vec<&Job> = offers.iter().map(|(_, j)| j).collect();
    let outcomes = try_all(
        &jobs,
        &edge,
        efforts.choices,
        &steps,
        &AtomicBool::new(false),
    );
    let faults: Vec<Fault> = outcomes
        .iter()
        .zip(&offers)
        .filter_map(|(o, (c, _))| o.as_ref().err().map(|f| (f, c)))
        .map(|(f, c)| Fault {
            what: format!("choice `{}` cannot be made: {}", c.name, f.what),
            ..f.clone()
        })
        .collect();
    if faults.len() == offers.len() {
        return Err(Faults(faults));
    }
    let tried = offers
        .iter()
        .zip(outcomes)
        .enumerate()
        .map(|(given, ((choice, with), outcome))| tell(given, choice, with, outcome))
        .collect::<Result<Vec<_>, _>>()?;
    let mut estimate = Estimate::ranked(tried, efforts);
    if vary
        && let Some((best, figures)) = estimate.best()
        && let Some((_, with)) = offers.get(best.given)
    {
        estimate.variations = vary::variations(with, &survey, &edge, figures, &steps, efforts);
    }
    estimate.add_notes(job);
    estimate.warnings = misgivings(&survey, &edge.doubts);
    let mut files = BTreeMap::from([
        ("estimate.txt".to_owned(), estimate_text(&estimate, job)),
        ("estimate.csv".to_owned(), estimate_csv(&estimate, job)?),
        ("estimate.json".to_owned(), estimate_json(&estimate, job)?),
        ("estimate.html".to_owned(), estimate_page(&estimate, job)),
    ]);
    if vary {
        files.insert("variations.csv".to_owned(), variations_csv(&estimate, job)?);
    }
    Ok(Estimated { files, estimate })
}

/// Counts what is done.
pub(super) struct Steps<'a> {
    pub(super) done: AtomicUsize,
    pub(super) all: usize,
    pub(super) tell: &'a (dyn Fn(f64) + Sync),
}

impl Steps<'_> {
    fn step(&self) {
        self.done.fetch_add(1, Ordering::Relaxed);
        self.within(0.0);
    }

    /// Tells how far the step that is under way is, 0 to 1.
    fn within(&self, step: f64) {
        let done = self.done.load(Ordering::Relaxed) as f64 + step;
        (self.tell)(done / self.all.max(1) as f64);
    }
}

/// A choice that can be made.
pub(super) struct Made {
    pub(super) figures: Figures,
    parts: Vec<Part>,
    groups: Vec<Group>,
    facts: Facts,
}

/// Tries jobs that differ in stock, prices and cutting on one faired edge.
/// What is laid out alike is flattened once; what `stop` forestalls is refused.
pub(super) fn try_all(
    jobs: &[&Job],
    edge: &FairEdge,
    effort: Effort,
    steps: &Steps<'_>,
    stop: &AtomicBool,
) -> Vec<Result<Made, Fault>> {
    let layouts: Vec<Result<Layout, Fault>> = jobs
        .par_iter()
        .map(|job| layout(edge, job).map_err(|f| first(f, job)))
        .collect();
    // For each job the first one that is laid out alike.
    let like: Vec<usize> = (0..jobs.len())
        .map(|i| {
            let same = |k: &usize| match (&layouts[*k], &layouts[i]) {
                (Ok(a), Ok(b)) => alike(a, b),
                _ => false,
            };
            (0..i).find(same).unwrap_or(i)
        })
        .collect();
    let flat: Vec<Option<Result<Vec<Part>, Fault>>> = jobs
        .par_iter()
        .enumerate()
        .map(|(i, job)| {
            let laid = layouts[i].as_ref().ok().filter(|_| like[i] == i)?;
            Some(parts_of(laid, job))
        })
        .collect();
    jobs.par_iter()
        .enumerate()
        .map(|(i, job)| {
            let laid = layouts[i].as_ref().map_err(Clone::clone)?;
            if stop.load(Ordering::Relaxed) {
                return Err(stopped(job));
            }
            let made = match &flat[like[i]] {
                Some(Ok(parts)) => make(job, laid, parts.clone(), effort),
                Some(Err(f)) => Err(f.clone()),
                None => Err(unshaped(job)),
            };
            steps.step();
            made
        })
        .collect()
}

/// A job that was not tried because the search was ended.
fn stopped(job: &Job) -> Fault {
    Fault::new(
        Kind::Stock,
        Place::file(&job.file),
        "the search was ended before this was tried",
        "let it run to its end",
    )
}

/// Never met: the first of those laid out alike is always flattened.
fn unshaped(job: &Job) -> Fault {
    Fault::new(
        Kind::Geometry,
        Place::file(&job.file),
        "the parts of a choice were not made",
        "report this job",
    )
}

fn first(faults: Faults, job: &Job) -> Fault {
    faults.0.into_iter().next().unwrap_or_else(|| unshaped(job))
}

/// True where two layouts on one edge have the same members: their guides,
/// which depend on nothing that a choice changes, are then the same too.
pub(super) fn alike(a: &Layout, b: &Layout) -> bool {
    let same = |m: &Member, n: &Member| {
        m.name == n.name
            && m.kind == n.kind
            && m.alloy == n.alloy
            && m.strip.cuts == n.strip.cuts
            && m.stretch == n.stretch
            && m.features == n.features
            && m.allowance == n.allowance
    };
    a.members.len() == b.members.len() && a.members.iter().zip(&b.members).all(|(m, n)| same(m, n))
}

/// Flat parts, as [`super::shape`] makes them, without their proof.
fn parts_of(laid: &Layout, job: &Job) -> Result<Vec<Part>, Fault> {
    every(&laid.members, |m| flatten(m, job))
}

/// Nests and cuts.
fn make(job: &Job, laid: &Layout, parts: Vec<Part>, effort: Effort) -> Result<Made, Fault> {
    let all: Vec<&Part> = parts.iter().collect();
    let groups = nest_parts(job, &all, effort, (&|_, _| (), &AtomicBool::new(false)))?;
    let nests: Vec<NestGroup<'_>> = groups.iter().map(Group::told).collect();
    let facts = facts(&Basis {
        job,
        parts: &parts,
        nests: &nests,
        densities: &densities(job)?,
    })?;
    let plans = sheet_plans(job, &parts, &groups, &facts)?;
    let cuts = (plans.iter().map(|p| p.figures)).fold(cut::Figures::none(), cut::Figures::and);
    let welds = Welds::of(laid, job.prices.weld.as_ref());
    let figures = Figures::of(job, &facts, &cuts, welds);
    Ok(Made {
        figures,
        parts,
        groups,
        facts,
    })
}

/// What a report says of a choice.
fn tell(
    given: usize,
    choice: &Choice,
    job: &Job,
    outcome: Result<Made, Fault>,
) -> Result<Tried, Fault> {
    let mut alloys: Vec<String> = Vec::new();
    let doublers = job.doublers.iter().map(|d| &d.alloy);
    for alloy in [&job.base.alloy, &job.top.alloy]
        .into_iter()
        .chain(doublers)
    {
        if !alloys.contains(alloy) {
            alloys.push(alloy.clone());
        }
    }
    let pictures = match &outcome {
        Ok(made) => pictures(choice, made)?,
        Err(_) => Vec::new(),
    };
    Ok(Tried {
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
        outcome: outcome.map(|m| m.figures).map_err(|f| reason(&f)),
        pictures,
        given,
    })
}

/// Why something cannot be made, in a line.
fn reason(fault: &Fault) -> String {
    let mut out = fault.what.clone();
    if let Some(station) = &fault.place.station {
        out = format!("{station}: {out}");
    }
    format!("{out}; {}", fault.mend)
}

fn pictures(choice: &Choice, made: &Made) -> Result<Vec<Picture>, Fault> {
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
                    .map(|p| (&made.parts[group.parts[p.part]].outline, p.placement))
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
