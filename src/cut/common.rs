//! Parts that share cuts: one path round all of them, and a straight cut for
//! each common line, from path to path.

use super::lead::{SHORTER, STEP};
use super::walk::{Walk, points};
use super::{Cut, CutPath, Input};
use crate::fault::{Fault, Kind, Place};
use crate::geom::{Outline, Vec2, Vertex};
use crate::job::Leads;

/// Ends of shared edges are found within this, mm.
const ENDS: f64 = 0.1;

/// Parts held together by common lines.
pub(super) struct Block {
    /// Indices into the sheet's placed parts.
    pub(super) members: Vec<usize>,
    /// Net outline round all, the common cuts counted in.
    pub(super) outline: Outline,
    /// Common lines.
    pub(super) slits: Vec<Slit>,
}

/// A common line.
#[derive(Debug, Clone, Copy)]
pub(super) struct Slit {
    /// The two parts, by index into the placed ones.
    pub(super) parts: [usize; 2],
    /// From one end of the shared edges to the other, mm.
    ends: [Vec2; 2],
}

impl Slit {
    /// Ends of the shared edges.
    pub(super) fn mouths(&self) -> [Vec2; 2] {
        self.ends
    }
}

/// Blocks of a sheet, in the order of their first lines.
///
/// # Errors
/// [`Kind::Geometry`] where a part has no edge along a line that the nest
/// gives it.
pub(super) fn blocks(input: &Input<'_>) -> Result<Vec<Block>, Fault> {
    let mut blocks: Vec<Block> = Vec::new();
    for line in &input.nested.common {
        let place = |part: usize| input.nested.placed.iter().position(|p| p.part == part);
        let [Some(left), Some(right)] = line.between.map(place) else {
            return Err(no_edge(input));
        };
        let mut take = |placed: usize| -> Option<Block> {
            if let Some(k) = blocks.iter().position(|b| b.members.contains(&placed)) {
                return Some(blocks.remove(k));
            }
            let p = input.nested.placed[placed];
            Some(Block {
                members: vec![placed],
                outline: input.parts.get(p.part)?.outline.placed(p.placement),
                slits: Vec::new(),
            })
        };
        let Some(mut a) = take(left).filter(|a| !a.members.contains(&right)) else {
            return Err(no_edge(input));
        };
        let Some(b) = take(right) else {
            return Err(no_edge(input));
        };
        let [from, to] = line.ends;
        let out = (to - from).unit().left() * (0.5 * input.rules.kerf);
        let (Some(i), Some(j)) = (
            a.outline.straight_edge(from + out, to + out, ENDS),
            b.outline.straight_edge(to - out, from - out, ENDS),
        ) else {
            return Err(no_edge(input));
        };
        a.outline = a.outline.joined(i, &b.outline, j);
        a.members.extend(b.members);
        a.slits.extend(b.slits);
        a.slits.push(Slit {
            parts: [left, right],
            ends: line.ends,
        });
        blocks.push(a);
    }
    Ok(blocks)
}

fn no_edge(input: &Input<'_>) -> Fault {
    Fault::new(
        Kind::Geometry,
        Place::default().field("cutting.common_lines"),
        format!(
            "the edges of a common line on {} are not found in its parts",
            input.name
        ),
        "set cutting.common_lines = \"none\"",
    )
}

/// The cut of a common line, half a kerf beyond the shared edges at both ends,
/// where the path round both parts runs; the lead in its line, from the end
/// with more room. `others` are all profiles but those of its block.
pub(super) fn cut<'a>(
    slit: &Slit,
    kerf: f64,
    leads: Option<&Leads>,
    others: &(dyn Fn() -> Box<dyn Iterator<Item = &'a Walk> + 'a> + '_),
    own: &Walk,
) -> Cut {
    let [from, to] = slit.ends;
    let ways = [(from, to), (to, from)].map(|(from, to)| {
        let more = (to - from).unit() * (0.5 * kerf);
        (from - more, to + more)
    });
    let lead = leads.and_then(|leads| {
        let need = 0.5 * kerf + leads.clearance + 0.5 * STEP;
        SHORTER.iter().find_map(|&k| {
            ways.iter().find_map(|&(start, end)| {
                let pierce = start - (end - start).unit() * (k * leads.length);
                let line = line(pierce, start);
                let clear = points(&line, STEP).iter().all(|&p| {
                    own.distance(p, need) >= 0.5 * kerf - 1e-4
                        && others().all(|w| w.distance(p, need) >= need - 1e-9)
                });
                clear.then_some((line, (start, end)))
            })
        })
    });
    let (lead_in, (start, end)) = lead.unwrap_or((Vec::new(), ways[0]));
    Cut {
        lead_in,
        path: CutPath::Open(line(start, end)),
        lead_out: Vec::new(),
    }
}

fn line(from: Vec2, to: Vec2) -> Vec<Vertex> {
    [from, to].map(|at| Vertex { at, bulge: 0.0 }).to_vec()
}
