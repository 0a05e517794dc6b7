//! The fit to expect on the boat, part by part.

use rayon::prelude::*;

use super::model::{Joint, JointForm, Layout, Member, MemberKind};
use crate::fair::{EdgePiece, FairEdge};

/// The fit of one part to expect; its figures are those of
/// [`EdgePiece::gap_95`] and [`EdgePiece::butt_95`].
#[derive(Debug, Clone, PartialEq)]
pub struct ExpectedFit {
    /// Part.
    pub name: String,
    /// Plate.
    pub kind: MemberKind,
    /// Largest gap under or over the plate, mm.
    pub gap_95: f64,
    /// Nearest measured point to where it is least sure.
    pub at: String,
    /// t there, mm.
    pub at_t: f64,
    /// Opening of a butt, mm, the worse of its two; `None` where it has no butt.
    pub butt_along_95: Option<f64>,
    /// Step at a butt square to the edge, mm.
    pub butt_across_95: Option<f64>,
}

impl Layout {
    /// The fit to expect of base and top plates; those that are not known are
    /// left out.
    #[must_use]
    pub fn expected_fit(&self, edge: &FairEdge) -> Vec<ExpectedFit> {
        let plates = self.members.par_iter();
        plates
            .filter(|m| m.kind != MemberKind::Doubler)
            .filter_map(|m| self.expected_of(m, edge))
            .collect()
    }

    fn expected_of(&self, member: &Member, edge: &FairEdge) -> Option<ExpectedFit> {
        let (gap_95, at_t) = piece(member, edge)?.gap_95();
        let nearest = edge.chains.get(member.stretch.chain)?.nearest(at_t)?;
        let mut butts: Option<[f64; 2]> = None;
        for joint in &self.joints {
            let ours = joint.form != JointForm::Mitre && joint.between.contains(&member.name);
            let Some(own) = ours.then(|| self.butt_95(joint, edge)).flatten() else {
                continue;
            };
            let so_far = butts.get_or_insert([0.0; 2]);
            for (a, b) in so_far.iter_mut().zip(own) {
                *a = a.max(b);
            }
        }
        Some(ExpectedFit {
            name: member.name.clone(),
            kind: member.kind,
            gap_95,
            at: format!("{}, {}", nearest.side.name(), nearest.name),
            at_t,
            butt_along_95: butts.map(|b| b[0]),
            butt_across_95: butts.map(|b| b[1]),
        })
    }

    fn butt_95(&self, joint: &Joint, edge: &FairEdge) -> Option<[f64; 2]> {
        let of = |name: &String| piece(self.members.iter().find(|m| m.name == *name)?, edge);
        of(&joint.between[0])?.butt_95(&of(&joint.between[1])?, joint.t)
    }
}

fn piece<'a>(member: &Member, edge: &'a FairEdge) -> Option<EdgePiece<'a>> {
    let s = member.stretch;
    edge.piece(s.chain, s.length, s.from, s.to)
}
