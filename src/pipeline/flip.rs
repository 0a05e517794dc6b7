//! Parts laid with their other face up.
//!
//! A nest says of a part that it is flipped; its marks, drawn for one face,
//! would be false on the other, and its letters mirror writing. So a part that
//! may be flipped is detailed twice, once marked on each face, and each is
//! proved from its own file. Where the nest flips it, the one marked on the
//! other face takes its place, laid as it is: nothing after this mirrors
//! anything.

use super::{Flattened, Group, Shaped, checked_as, every, refold, sketch};
use crate::fault::Fault;
use crate::geom::{Placement, Vec2, vec2};
use crate::job::{Flip, Job, Rotation};
use crate::layout::{Face, Member, MemberKind};
use crate::nest::Nest;
use crate::part::{Part, PartFrame};
use crate::report::{Alone, lists};

/// True where the job lets a part be laid with its other face up.
pub(super) fn may_be(job: &Job, part: &Part) -> bool {
    match job.cutting.flip {
        Flip::None => false,
        Flip::Doublers => part.kind == MemberKind::Doubler && part.is_plain(),
    }
}

/// Parts that may be flipped, marked on their other face and proved.
pub(super) fn other_faces(
    job: &Job,
    members: &[Member],
    parts: &[Flattened],
) -> Result<Vec<Option<Flattened>>, Fault> {
    let pairs: Vec<(&Member, &Flattened)> = members.iter().zip(parts).collect();
    every(&pairs, |&(member, own)| {
        if !may_be(job, &own.part) {
            return Ok(None);
        }
        let mut member = member.clone();
        member.marked = match member.marked {
            Face::Upper => Face::Lower,
            Face::Lower => Face::Upper,
        };
        let mut other = sketch(&member, job)?;
        other.part.flipped = true;
        let schedule = refold::read_schedule(&lists::bend_schedule(&[&other.part])?)?;
        let rows = schedule
            .get(&other.part.name)
            .map_or(&[][..], Vec::as_slice);
        let refold_gap = refold::prove(&member, &other.part, &other.dxf, rows, job)?;
        Ok(Some(Flattened {
            part: other.part,
            drawing: other.drawing,
            dxf: other.dxf,
            refold_gap,
        }))
    })
}

/// What is cut: the parts with the face up that they are cut and marked on,
/// and the nests of those.
#[derive(Debug)]
pub(super) struct AsCut<'a> {
    /// In the order of [`Shaped::parts`].
    pub parts: Vec<&'a Flattened>,
    /// Nests that flip nothing.
    pub groups: Vec<Group>,
    /// Their bend schedule.
    pub bends: String,
}

/// Puts the parts marked on their other face where the nests flip them;
/// `None` where they flip nothing.
///
/// # Errors
/// Where a nest so written fails its check.
pub(super) fn as_cut<'a>(shaped: &'a Shaped, groups: &[Group]) -> Result<Option<AsCut<'a>>, Fault> {
    let mut parts: Vec<&Flattened> = shaped.parts.iter().collect();
    for group in groups {
        let placed = group.nest.sheets.iter().flat_map(|s| &s.placed);
        for index in placed
            .filter(|p| p.placement.flipped)
            .map(|p| group.parts[p.part])
        {
            if let Some(Some(other)) = shaped.over.get(index) {
                parts[index] = other;
            }
        }
    }
    if parts.iter().all(|f| !f.part.flipped) {
        return Ok(None);
    }
    let groups = groups
        .iter()
        .map(|g| turned_over(g, shaped, &parts))
        .collect::<Result<_, _>>()?;
    let all: Vec<&Part> = parts.iter().map(|f| &f.part).collect();
    let bends = lists::bend_schedule(&all)?;
    Ok(Some(AsCut {
        parts,
        groups,
        bends,
    }))
}

/// A group with the parts that are cut in place of those that were nested.
fn turned_over(group: &Group, shaped: &Shaped, parts: &[&Flattened]) -> Result<Group, Fault> {
    let mut job = group.job.clone();
    for (own, &index) in job.parts.iter_mut().zip(&group.parts) {
        if parts[index].part.flipped {
            // Plain: it has no holes.
            own.outline = parts[index].part.outline.clone();
        }
    }
    let over = |nest: &Nest| {
        let mut nest = nest.clone();
        for p in nest.sheets.iter_mut().flat_map(|s| &mut s.placed) {
            let index = group.parts[p.part];
            if parts[index].part.flipped {
                let (was, is) = (&shaped.parts[index].part.frame, &parts[index].part.frame);
                p.placement = other_face(p.placement, was, is);
            }
        }
        nest
    };
    let nest = over(&group.nest);
    let alone = group
        .alone
        .iter()
        .map(|a| Alone {
            sheet: a.sheet.clone(),
            nest: a.nest.as_ref().map(over),
        })
        .collect();
    // The turns were checked of the parts as nested.
    let mut free = job.clone();
    free.rotation = Rotation::Free;
    Ok(Group {
        nest: checked_as(&free, nest)?,
        job,
        parts: group.parts.clone(),
        alone,
        stopped: group.stopped,
    })
}

/// Where a part in the frame `is` lies when the same part in the frame `was`
/// has been placed, the two marked on opposite faces: `placement` after `was`
/// undone by `is`.
fn other_face(placement: Placement, was: &PartFrame, is: &PartFrame) -> Placement {
    // Flat to sheet by way of the old part; a place and a direction of it.
    let place = |flat: Vec2| placement.apply(was.apply(flat));
    let origin = place(is.undo(vec2(0.0, 0.0)));
    let along = place(is.undo(vec2(1.0, 0.0))) - origin;
    Placement {
        turn: along.angle(),
        shift: origin,
        flipped: !placement.flipped,
    }
}
