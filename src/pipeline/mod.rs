//! The one place that calls the stages in order.
//!
//! [`shape`] goes from the measured points to detailed flat parts, [`nest`]
//! lays them on sheets, [`files()`] writes everything as text. Nothing here
//! touches a disk.

mod butts;
mod cutting;
mod estimate;
mod fairness;
mod files;
mod refold;
mod tacked;
mod truth;

use std::sync::atomic::{AtomicBool, Ordering};

use rayon::prelude::*;

use crate::develop::{self, Flat};
use crate::drawing::{Drawing, part_drawing};
use crate::fair::FairEdge;
use crate::fault::{Fault, Faults, Kind, Place};
use crate::geom::Outline;
use crate::geom::patch::Patch;
use crate::job::{Effort, Job, Sheet, SurveyFile};
use crate::layout::{Layout, Member, layout};
use crate::length::{show, told};
use crate::nest::{self as nesting, Nest, NestJob, NestPart, check};
use crate::part::{self, Hole, Part, PartInput};
use crate::report::butts::ButtTrials;
use crate::report::fairness::doubted_notice;
use crate::report::{Alone, NestGroup, lists};
use crate::stock;
use crate::survey::Survey;
use crate::write::dxf::dxf;

pub use estimate::{Estimated, estimate};
pub use fairness::{Faired, faired, fairness, settled};
pub use files::{Output, files};
pub use tacked::{TackedCheck, tacked_check};

pub use crate::pairs::drawing_text;
pub use crate::report::estimate::Efforts;

/// Everything up to the flat parts.
#[derive(Debug)]
pub struct Shaped {
    /// Measured points.
    pub survey: Survey,
    /// Faired lines.
    pub edge: FairEdge,
    /// The bulwark in space.
    pub layout: Layout,
    /// Flat parts with their proof, in the layout's order of members.
    pub parts: Vec<Flattened>,
    /// Text of the bend schedule that the parts were folded from.
    pub bends: String,
    /// What was tried to choose the butts; `None`: set by rule or by hand.
    pub butts: Option<ButtTrials>,
}

/// A flat part and what shows that it is right.
#[derive(Debug)]
pub struct Flattened {
    /// The part.
    pub part: Part,
    /// Its drawing: what both of its files show.
    pub drawing: Drawing,
    /// Its DXF file's text, as it was read back for the refold.
    pub dxf: String,
    /// Largest gap of the part, folded from its file and the written bend
    /// schedule, against the member's true edges, ends and holes, mm.
    pub refold_gap: f64,
}

/// A detailed part before its proof.
struct Sketched {
    part: Part,
    drawing: Drawing,
    dxf: String,
}

/// Parts of one alloy and thickness, nested.
#[derive(Debug)]
pub struct Group {
    /// What was nested.
    pub job: NestJob,
    /// For each part of the nest job, its index into [`Shaped::parts`].
    pub parts: Vec<usize>,
    /// How it came out; checked.
    pub nest: Nest,
    /// The same parts on each size of sheet alone.
    pub alone: Vec<Alone>,
    /// True where the search was ended early: the same job may nest better.
    pub stopped: bool,
}

impl Group {
    /// As the reports take it.
    fn told(&self) -> NestGroup<'_> {
        NestGroup {
            job: &self.job,
            parts: &self.parts,
            nest: &self.nest,
            alone: &self.alone,
        }
    }
}

/// The bulwark in space, before anything is flattened.
#[derive(Debug)]
pub struct Laid {
    /// Measured points.
    pub survey: Survey,
    /// Faired lines.
    pub edge: FairEdge,
    /// The bulwark in space.
    pub layout: Layout,
}

/// From measured points to the bulwark in space.
///
/// # Errors
/// All problems of the survey, or the first of a later stage.
pub fn lay(job: &Job, tables: &[(SurveyFile, String)]) -> Result<Laid, Faults> {
    let faired = faired(job, tables)?;
    let layout = layout(&faired.edge, job).map_err(|f| faired.first(job, f))?;
    let Faired { survey, edge } = faired;
    Ok(Laid {
        survey,
        edge,
        layout,
    })
}

/// From measured points to detailed flat parts.
///
/// # Errors
/// All problems of the survey, or the first of a later stage.
pub fn shape(job: &Job, tables: &[(SurveyFile, String)]) -> Result<Shaped, Faults> {
    shape_until(job, faired(job, tables)?, &|_| (), &AtomicBool::new(false))
}

/// As [`shape`], from lines that are faired already. Where butts are chosen with the nest, which takes a while,
/// `progress` hears the fraction of that which is done, from any thread, and
/// `stop` ends it with the best found.
///
/// # Errors
/// The first problem of a stage after the fairing.
pub fn shape_until(
    job: &Job,
    faired: Faired,
    progress: &(dyn Fn(f64) + Sync),
    stop: &AtomicBool,
) -> Result<Shaped, Faults> {
    let shape = shape_faired(job, &faired, (progress, stop));
    let (layout, parts, bends, butts) = shape.map_err(|f| faired.first(job, f))?;
    let Faired { survey, edge } = faired;
    Ok(Shaped {
        survey,
        edge,
        layout,
        parts,
        bends,
        butts,
    })
}

/// What a faired survey gives: the bulwark, its parts, their bend schedule, and
/// what was tried for the butts.
type FromFaired = (Layout, Vec<Flattened>, String, Option<ButtTrials>);

/// Who hears of the choice of butts, and what ends it early.
type Choosing<'a> = (&'a (dyn Fn(f64) + Sync), &'a AtomicBool);

fn shape_faired(job: &Job, faired: &Faired, choosing: Choosing<'_>) -> Result<FromFaired, Faults> {
    let Faired { survey, edge } = faired;
    let (job, butts) = butts::chosen(job, edge, choosing.0, choosing.1)?;
    let job = &job;
    let layout = layout(edge, job)?;
    let notice = doubted_notice(survey, &edge.doubts);
    let sketched = every(&layout.members, |m| sketch(m, notice.as_deref(), job))?;
    let parts: Vec<&Part> = sketched.iter().map(|s| &s.part).collect();
    let bends = lists::bend_schedule(&parts)?;
    let schedule = refold::read_schedule(&bends)?;
    let pairs: Vec<(&Member, &Sketched)> = layout.members.iter().zip(&sketched).collect();
    let gaps = every(&pairs, |&(member, s)| {
        let rows = schedule.get(&s.part.name).map_or(&[][..], Vec::as_slice);
        refold::prove(member, &s.part, &s.dxf, rows, job)
    })?;
    let parts: Vec<Flattened> = sketched
        .into_iter()
        .zip(gaps)
        .map(|(s, refold_gap)| Flattened {
            part: s.part,
            drawing: s.drawing,
            dxf: s.dxf,
            refold_gap,
        })
        .collect();
    Ok((layout, parts, bends, butts))
}

/// Maps in parallel; the first fault in order is the one returned.
fn every<T: Sync, U: Send>(
    all: &[T],
    f: impl Fn(&T) -> Result<U, Fault> + Sync,
) -> Result<Vec<U>, Fault> {
    let done: Vec<Result<U, Fault>> = all.par_iter().map(&f).collect();
    done.into_iter().collect()
}

fn sketch(member: &Member, notice: Option<&str>, job: &Job) -> Result<Sketched, Fault> {
    let part = flatten(member, job)?;
    let mut drawing = part_drawing(&part, job);
    if let Some(words) = notice {
        drawing.notice(words);
    }
    let dxf = dxf(&drawing, &job.output)?;
    Ok(Sketched { part, drawing, dxf })
}

/// A member flattened and detailed.
fn flatten(member: &Member, job: &Job) -> Result<Part, Fault> {
    let flat = develop_member(member, job)?;
    let ends = |w: f64| member.strip.ends(w);
    let input = PartInput::of(member, &flat.map, &ends, &flat.bends, flat.stretch);
    let options = part::Options {
        outline_tolerance: job.tolerance.outline_mm,
        ordinate_spacing: job.output.ordinate_spacing,
        letter_height: job.output.letter_height,
        show: job.show,
    };
    part::detail(&input, &options).map_err(|f| in_job(f, job))
}

/// A fault of a stage that does not know the job's file.
fn in_job(mut fault: Fault, job: &Job) -> Fault {
    if fault.place.file.is_empty() {
        fault.place.file.clone_from(&job.file);
    }
    fault
}

/// What a plate folded back from its bend schedule may lie off the member, mm.
const SCHEDULE_MM: f64 = 0.02;

fn develop_member(member: &Member, job: &Job) -> Result<Flat, Fault> {
    let alloy = job.alloy(&member.alloy)?;
    let options = develop::Options {
        modulus_mpa: alloy.modulus_mpa,
        poisson: alloy.poisson,
        bend_step_mm: job.tolerance.bend_step_mm,
        ..develop::Options::default()
    };
    let fault = |why: String| {
        Fault::new(
            Kind::Geometry,
            Place::file(&job.file).station(&member.place),
            format!("part {} cannot be flattened: {why}", member.name),
            "look at the survey, slope and lean near this place, or make the plate narrower",
        )
    };
    let flat = develop::develop(&member.strip, &options).map_err(|e| {
        let at = e
            .t()
            .map(|t| format!("{} along its edge: ", show(t, job.show)));
        fault(format!("{}{e}", at.unwrap_or_default()))
    })?;
    if flat.bends_gap > SCHEDULE_MM {
        return Err(fault(format!(
            "it stretches so unevenly that folded back from a bend schedule it stays {} off, and {} is the most",
            told(flat.bends_gap, job.show),
            told(SCHEDULE_MM, job.show)
        )));
    }
    Ok(flat)
}

/// Who hears of the progress, and what ends the search early.
type Watch<'a> = (&'a (dyn Fn(f64, f64) + Sync), &'a AtomicBool);

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
fn nest_parts(
    job: &Job,
    parts: &[&Part],
    effort: Effort,
    watch: Watch<'_>,
) -> Result<Vec<Group>, Fault> {
    let mut keys: Vec<(String, f64)> = Vec::new();
    for part in parts {
        let key = (part.alloy.clone(), part.thickness);
        if !keys
            .iter()
            .any(|k| k.0 == key.0 && stock::same_thickness(k.1, key.1))
        {
            keys.push(key);
        }
    }
    let count = keys.len() as f64;
    let mut out = Vec::new();
    for (k, (name, thickness)) in keys.iter().enumerate() {
        let tell = |fraction: f64, best: f64| watch.0((k as f64 + fraction) / count, best);
        out.push(group(
            job,
            parts,
            (name, *thickness),
            effort,
            (&tell, watch.1),
        )?);
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
    let fits = |a: &str, t: f64| a == name && stock::same_thickness(t, thickness);
    let parts: Vec<usize> = (0..all.len())
        .filter(|&i| fits(&all[i].alloy, all[i].thickness))
        .collect();
    let sheets: Vec<Sheet> = job
        .sheets
        .iter()
        .filter(|s| fits(&s.alloy, s.thickness))
        .cloned()
        .collect();
    let mass_per_area = job.alloy(name)?.mass_per_area(thickness);
    let nest_parts: Vec<NestPart> = parts
        .iter()
        .map(|&i| NestPart {
            name: all[i].name.clone(),
            outline: all[i].outline.clone(),
            holes: all[i].holes.iter().map(bore).collect(),
        })
        .collect();
    let base = NestJob {
        parts: nest_parts,
        sheets,
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

fn checked(job: &NestJob, (progress, stop): Watch<'_>) -> Result<Nest, Fault> {
    checked_as(job, nesting::nest_until(job, progress, stop)?)
}

/// A nest that has passed its check.
fn checked_as(job: &NestJob, nest: Nest) -> Result<Nest, Fault> {
    match check(job, &nest) {
        Ok(_) => Ok(nest),
        Err(faults) => Err(faults.into_iter().next().unwrap_or_else(|| {
            Fault::new(
                Kind::Stock,
                Place::default(),
                "the nest failed its check without a reason",
                "try another effort or gap",
            )
        })),
    }
}

#[cfg(test)]
mod tests;
