//! Cuts of every sheet, and what is left of it.

use rayon::prelude::*;

use super::{Group, in_job};
use crate::cut::{self, Plan, Rules};
use crate::fault::Fault;
use crate::job::Job;
use crate::nest::{NestedSheet, remnants};
use crate::part::Part;
use crate::report::cuts::SheetCut;
use crate::report::facts::Facts;
use crate::report::sheet_name;

/// How every sheet is cut, in the order of the sheets through all groups.
pub(super) fn sheet_cuts(
    job: &Job,
    parts: &[Part],
    groups: &[Group],
    facts: &Facts,
) -> Result<Vec<SheetCut>, Fault> {
    let sheets: Vec<_> = groups
        .iter()
        .flat_map(|g| g.nest.sheets.iter().map(move |s| (g, s)))
        .enumerate()
        .collect();
    let done: Vec<Result<SheetCut, Fault>> = sheets
        .par_iter()
        .map(|&(i, (group, nested))| {
            Ok(SheetCut {
                plan: sheet_plan(job, parts, group, nested, facts, &sheet_name(i + 1))?,
                remnants: remnants(&group.job, nested, &job.remnants),
            })
        })
        .collect();
    done.into_iter().collect()
}

/// How one sheet of a group is cut.
pub(super) fn sheet_plan(
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
