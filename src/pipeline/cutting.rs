//! Cuts of every sheet, and what is left of it.

use rayon::prelude::*;

use super::first::{every, in_job};
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

/// The parts and their masses, kg, of a group of sheets.
pub(super) struct OnSheets<'a> {
    pub(super) group: &'a Group,
    pub(super) parts: Vec<&'a Part>,
    pub(super) masses: Vec<f64>,
}

impl<'a> OnSheets<'a> {
    pub(super) fn of(parts: &'a [Part], groups: &'a [Group], facts: &Facts) -> Vec<Self> {
        let each = groups.iter().map(|group| Self {
            group,
            parts: group.parts.iter().map(|&i| &parts[i]).collect(),
            masses: group.parts.iter().map(|&i| facts.parts[i].mass).collect(),
        });
        each.collect()
    }
}

/// How every sheet is cut.
pub(super) fn sheet_plans(job: &Job, groups: &[OnSheets<'_>]) -> Result<Vec<Plan>, Fault> {
    let sheets = (groups.iter()).flat_map(|on| on.group.nest.sheets.iter().map(move |s| (on, s)));
    let sheets: Vec<_> = sheets.enumerate().collect();
    every(&sheets, |&(i, (on, nested))| {
        let stock = &on.group.job.sheets[nested.stock];
        cut::plan(&cut::Input {
            name: &sheet_name(i + 1),
            stock,
            nested,
            parts: &on.parts,
            masses_kg: &on.masses,
            gap: on.group.job.gap,
            rules: &Rules::of(&job.cutting, stock.thickness),
        })
        .map_err(|f| in_job(f, job))
    })
}

/// What is left of every sheet and worth keeping.
pub(super) fn left_of_sheets(job: &Job, groups: &[Group]) -> Vec<Vec<Region>> {
    each_sheet(groups)
        .par_iter()
        .map(|(group, nested)| remnants(&group.job, nested, &job.remnants))
        .collect()
}
