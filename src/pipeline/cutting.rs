//! Cuts of every sheet, and what is left of it.

use rayon::prelude::*;

use super::first::in_job;
use crate::cut::{self, Plan, Rules};
use crate::fault::Fault;
use crate::geom::Region;
use crate::job::Job;
use crate::nest::{NestedSheet, remnants};
use crate::part::Part;
use crate::report::facts::{Facts, Group, sheet_name};

/// Every nested sheet with its group, in the order of the sheets through all groups.
pub(super) fn each_sheet(groups: &[Group]) -> Vec<(&Group, &NestedSheet)> {
    (groups.iter())
        .flat_map(|g| g.nest.sheets.iter().map(move |s| (g, s)))
        .collect()
}

/// How every sheet is cut.
pub(super) fn sheet_plans(
    job: &Job,
    parts: &[Part],
    groups: &[Group],
    facts: &Facts,
) -> Result<Vec<Plan>, Fault> {
    let done: Vec<Result<Plan, Fault>> = each_sheet(groups)
        .par_iter()
        .enumerate()
        .map(|(i, (group, nested))| {
            sheet_plan(job, parts, group, nested, facts, &sheet_name(i + 1))
        })
        .collect();
    done.into_iter().collect()
}

/// What is left of every sheet and worth keeping.
pub(super) fn left_of_sheets(job: &Job, groups: &[Group]) -> Vec<Vec<Region>> {
    each_sheet(groups)
        .par_iter()
        .map(|(group, nested)| remnants(&group.job, nested, &job.remnants))
        .collect()
}

/// How one sheet of a group is cut.
fn sheet_plan(
    job: &Job,
    parts: &[Part],
    group: &Group,
    nested: &NestedSheet,
    facts: &Facts,
    name: &str,
) -> Result<Plan, Fault> {
    let own: Vec<&Part> = group.parts.iter().map(|&i| &parts[i]).collect();
    let masses: Vec<f64> = group.parts.iter().map(|&i| facts.parts[i].mass).collect();
    let stock = &group.job.sheets[nested.stock];
    cut::plan(&cut::Input {
        name,
        stock,
        nested,
        parts: &own,
        masses_kg: &masses,
        gap: group.job.gap,
        rules: &Rules::of(&job.cutting, stock.thickness),
    })
    .map_err(|f| in_job(f, job))
}
