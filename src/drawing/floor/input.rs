//! What the floor sheets are drawn from.

use super::sheets::FloorNest;
use crate::fair::FairEdge;
use crate::geom::{Vec2, Vec3, vec3};
use crate::job::{Job, Side};
use crate::layout::{
    Along, EdgeMark, Guide, Joint, Layout, Member, MemberKind, SectionCut, Stanchion,
};

/// What the floor sheets are drawn from.
#[derive(Debug, Clone, Copy)]
pub struct Boat<'a> {
    /// The job.
    pub job: &'a Job,
    /// The faired lines.
    pub edge: &'a FairEdge,
    /// The bulwark in space.
    pub layout: &'a Layout,
    /// What lies along each chain.
    pub along: &'a [Along],
    /// Cuts square to the edge.
    pub sections: &'a [SectionCut],
    /// Nested sheets.
    pub nests: &'a [FloorNest<'a>],
}

/// Most letters of a name on a drawing.
const NAME_LETTERS: usize = 32;

/// A name in as many letters as a drawing has room for.
pub(super) fn short(name: &str) -> String {
    if name.chars().count() <= NAME_LETTERS {
        return name.to_owned();
    }
    let kept: String = name.chars().take(NAME_LETTERS - 3).collect();
    format!("{}...", kept.trim_end())
}

impl<'a> Boat<'a> {
    pub(super) fn members(&self) -> impl Iterator<Item = &'a Member> {
        self.layout.members.iter()
    }

    pub(super) fn stanchions(&self) -> impl Iterator<Item = &'a Stanchion> {
        self.layout.stanchions.iter()
    }

    pub(super) fn joints_of(&self, kind: MemberKind) -> impl Iterator<Item = &'a Joint> {
        self.layout.joints.iter().filter(move |j| j.kind == kind)
    }

    /// Marks with the index of their chain.
    pub(super) fn marks(&self) -> impl Iterator<Item = (usize, &'a EdgeMark)> {
        let chains = self.along.iter().enumerate();
        chains.flat_map(|(k, a)| a.marks.iter().map(move |m| (k, m)))
    }

    /// The smooth length of a chain that holds t.
    pub(super) fn length_at(&self, chain: usize, t: f64) -> usize {
        let lengths = &self.along[chain].lengths;
        let holds = lengths.iter().position(|g| t <= g.range().1);
        holds.unwrap_or(lengths.len() - 1)
    }

    /// Unit vector inboard in plan.
    pub(super) fn inboard(&self, chain: usize, t: f64) -> Vec2 {
        let guides = &self.along[chain].lengths[self.length_at(chain, t)];
        guides.base.tangent(t).left()
    }

    /// The faired surveyed line.
    pub(super) fn edge_point(&self, chain: usize, t: f64) -> Vec3 {
        let length = &self.edge.chains[chain].lengths[self.length_at(chain, t)];
        let [x, y, z] = length.base.at(t);
        vec3(x, y, z)
    }

    /// The side at t.
    pub(super) fn side(&self, chain: usize, t: f64) -> Side {
        if self.edge_point(chain, t).y >= 0.0 {
            Side::Port
        } else {
            Side::Starboard
        }
    }

    /// The plate that a joint crosses and the joint's place on it, by the
    /// plate's own parameter.
    pub(super) fn on_plate(&self, joint: &Joint) -> (&'a Guide, f64) {
        let guides = &self.along[joint.chain].lengths[self.length_at(joint.chain, joint.t)];
        match joint.kind {
            MemberKind::TopPlate => (&guides.top, guides.u(joint.t)),
            _ => (&guides.base, joint.t),
        }
    }

    /// Places of a joint at two w.
    pub(super) fn across(&self, joint: &Joint, from: f64, to: f64) -> (Vec3, Vec3) {
        let (guide, t) = self.on_plate(joint);
        (guide.jet(t, from).point, guide.jet(t, to).point)
    }
}
