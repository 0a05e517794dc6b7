//! One job taken along the stages from its faired edge to its cuts, each
//! worked out once: jobs that are laid out alike share their flat parts.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use rayon::prelude::*;

use super::cutting::{OnSheets, sheet_plans};
use super::first::{every, in_job};
use super::nests::nest_parts;
use crate::cut;
use crate::develop::{self, FOLDS_BACK_MM, Flat};
use crate::fair::FairEdge;
use crate::fault::{Fault, Faults, Kind, Place};
use crate::geom::patch::Patch;
use crate::job::{Effort, Job};
use crate::layout::{Layout, Member, MemberKind, layout};
use crate::length::{show, told};
use crate::part::{self, Part, PartInput};
use crate::report::estimate::{Figures, Welds};
use crate::report::facts::{Basis, Facts, Group, facts};

/// Flat parts, or why there are none; jobs that are laid out alike share them.
type FlatParts = Arc<Result<Vec<Part>, Fault>>;

/// A job laid out and flattened on a faired edge.
pub(super) struct FlatJob {
    pub(super) job: Job,
    pub(super) layout: Layout,
    /// Flat parts, in the layout's order of members.
    parts: FlatParts,
}

/// What a job comes to once it is nested and cut.
pub(super) struct Made {
    pub(super) figures: Figures,
    pub(super) groups: Vec<Group>,
    pub(super) facts: Facts,
}

impl FlatJob {
    /// One job on its edge.
    ///
    /// # Errors
    /// Why it cannot be laid out.
    pub(super) fn of(job: Job, edge: &FairEdge) -> Result<Self, Faults> {
        let layout = layout(edge, &job)?;
        let parts = Arc::new(flat(&layout, &job));
        Ok(Self { job, layout, parts })
    }

    /// Jobs on one edge, in their order; those that are laid out alike are
    /// flattened once.
    ///
    /// # Errors
    /// For each: why it cannot be laid out.
    pub(super) fn each(jobs: Vec<Job>, edge: &FairEdge) -> Vec<Result<Self, Faults>> {
        let laid: Vec<Result<Layout, Faults>> =
            jobs.par_iter().map(|job| layout(edge, job)).collect();
        // For each job the first one that is laid out alike.
        let like: Vec<usize> = (0..jobs.len())
            .map(|i| {
                let same =
                    |&k: &usize| matches!((&laid[k], &laid[i]), (Ok(a), Ok(b)) if alike(a, b));
                (0..i).find(same).unwrap_or(i)
            })
            .collect();
        let parts: Vec<Option<FlatParts>> = (0..jobs.len())
            .into_par_iter()
            .map(|i| {
                let layout = laid[i].as_ref().ok().filter(|_| like[i] == i)?;
                Some(Arc::new(flat(layout, &jobs[i])))
            })
            .collect();
        jobs.into_iter()
            .zip(laid)
            .zip(like)
            .map(|((job, layout), like)| {
                let layout = layout?;
                let parts = match &parts[like] {
                    Some(parts) => Arc::clone(parts),
                    None => Arc::new(flat(&layout, &job)),
                };
                Ok(Self { job, layout, parts })
            })
            .collect()
    }

    /// The same parts for a job that differs in nesting and cutting alone.
    pub(super) fn nested_as(&self, job: Job) -> Self {
        Self {
            job,
            layout: self.layout.clone(),
            parts: Arc::clone(&self.parts),
        }
    }

    /// True where another job on this edge is laid out alike.
    pub(super) fn alike(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.parts, &other.parts)
    }

    /// Its flat parts, without their proof.
    ///
    /// # Errors
    /// Why the first of them cannot be flattened.
    pub(super) fn parts(&self) -> Result<&[Part], Fault> {
        self.parts.as_deref().map_err(Clone::clone)
    }

    /// Nested and cut.
    ///
    /// # Errors
    /// The first of what stands in the way.
    pub(super) fn made(&self, effort: Effort) -> Result<Made, Fault> {
        let (job, parts) = (&self.job, self.parts()?);
        let all: Vec<&Part> = parts.iter().collect();
        let groups = nest_parts(job, &all, effort, (&|_, _| (), &AtomicBool::new(false)))?;
        let facts = facts(&Basis {
            job,
            parts,
            nests: &groups,
            densities: &densities(job)?,
        })?;
        let plans = sheet_plans(job, &OnSheets::of(parts, &groups, &facts))?;
        let cuts = (plans.iter().map(|p| p.figures)).fold(cut::Figures::none(), cut::Figures::and);
        let welds = Welds::of(&self.layout, job.prices.weld.as_ref());
        let figures = Figures::of(job, &facts, &cuts, welds);
        Ok(Made {
            figures,
            groups,
            facts,
        })
    }
}

/// True where two layouts on one edge have the same members: their guides,
/// which depend on nothing that a choice changes, are then the same too.
fn alike(a: &Layout, b: &Layout) -> bool {
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

fn flat(laid: &Layout, job: &Job) -> Result<Vec<Part>, Fault> {
    every(&laid.members, |m| flatten(m, job))
}

/// A member flattened and detailed.
pub(super) fn flatten(member: &Member, job: &Job) -> Result<Part, Fault> {
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

pub(super) fn develop_member(member: &Member, job: &Job) -> Result<Flat, Fault> {
    let mut options = develop::Options {
        bend_step_mm: job.tolerance.bend_step_mm,
        ..develop::Options::default()
    };
    let sawn = member.kind == MemberKind::Cap;
    if !sawn {
        let alloy = job.alloy(&member.alloy)?;
        (options.modulus_mpa, options.poisson) = (alloy.modulus_mpa, alloy.poisson);
    }
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
    if flat.bends_gap > FOLDS_BACK_MM && !sawn {
        return Err(fault(format!(
            "it stretches so unevenly that folded back from a bend schedule it stays {} off, and {} is the most",
            told(flat.bends_gap, job.show),
            told(FOLDS_BACK_MM, job.show)
        )));
    }
    Ok(flat)
}

/// Densities of every alloy that the job names, kg/mm3.
pub(super) fn densities(job: &Job) -> Result<BTreeMap<String, f64>, Fault> {
    let names = [&job.base.alloy, &job.top.alloy, &job.stanchions.alloy]
        .into_iter()
        .chain(job.doublers.iter().map(|d| &d.alloy))
        .chain(job.sheets.iter().map(|s| &s.alloy));
    let mut out = BTreeMap::new();
    for name in names {
        out.insert(name.clone(), job.alloy(name)?.density_kg_mm3());
    }
    Ok(out)
}
