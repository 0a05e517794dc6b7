//! What the reports of a job are made from.

use super::butts::ButtTrials;
use super::facts::Group;
use crate::cut::{Figures, Plan};
use crate::fair::{Again, FairEdge};
use crate::geom::Region;
use crate::job::Job;
use crate::layout::{ExpectedFit, Layout};
use crate::part::Part;
use crate::survey::Survey;

/// All that the reports are made from.
#[derive(Debug, Clone, Copy)]
pub struct Input<'a> {
    /// The job.
    pub job: &'a Job,
    /// Measured points, with what was noted of them.
    pub survey: &'a Survey,
    /// Faired lines.
    pub edge: &'a FairEdge,
    /// The bulwark in space.
    pub layout: &'a Layout,
    /// The fit to expect on the boat.
    pub expected: &'a [ExpectedFit],
    /// Flat parts.
    pub parts: &'a [Part],
    /// Largest gap of each part folded back, mm, in the parts' order; shorter
    /// where it was not measured.
    pub refold_gaps: &'a [f64],
    /// Nests, one for each alloy and thickness.
    pub nests: &'a [Group],
    /// How every sheet is cut and what is left of it, in the order of the
    /// sheets through all nests.
    pub cuts: &'a [SheetCut],
    /// What was tried to choose the butts with the nest.
    pub butts: Option<&'a ButtTrials>,
    /// What of the job's own settled a doubt, sentences for people: nothing to mend.
    pub notes: &'a [String],
    /// Warnings of all stages, sentences for people.
    pub warnings: &'a [String],
}

/// Points that are told to be measured again.
const AGAIN: usize = 20;

impl<'a> Input<'a> {
    /// Points to measure again, the one that gains most first.
    pub(super) fn again(&self) -> impl Iterator<Item = &'a Again> + use<'a> {
        self.edge.again.iter().take(AGAIN)
    }
}

/// How a sheet is cut, and what is left of it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SheetCut {
    /// Cuts in order.
    pub plan: Plan,
    /// Pieces worth keeping, in the sheet's frame, the largest first.
    pub remnants: Vec<Region>,
}

impl SheetCut {
    /// What the cutting of all sheets comes to.
    #[must_use]
    pub fn total(cuts: &[Self]) -> Figures {
        let each = cuts.iter().map(|c| c.plan.figures);
        each.fold(Figures::none(), Figures::and)
    }
}
