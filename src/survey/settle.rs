//! Loose rows in the boat's frame to points of the edge: their sides, and
//! which of them an inboard point belongs to.

use std::collections::BTreeMap;

use super::model::{Note, Point, SlopeGiven};
use super::passes::Near;
use super::places::{tree, within};
use super::rows::OVER_CENTRE;
use super::taken::{RowKind, Taken};
use crate::fault::{Fault, Kind};
use crate::geom::{Vec3, vec3};
use crate::job::Side;
use crate::length::{Show, show};

/// An inboard point lies no further than this from its edge point, mm: a
/// covering board is narrower (common practice, no source).
const INBOARD_REACH: f64 = 600.0;

/// A row that looks swapped from side to side by its neighbours in the file;
/// it is if they are neighbours along the edge as well.
pub(super) struct Suspect {
    fault: Fault,
    /// Side of the neighbours.
    side: Side,
    file: String,
    /// Lines of the two rows before and the two after.
    lines: [usize; 4],
}

/// The side of loose rows that state none, where every row off the centreline
/// is on one; otherwise the sign of y says.
pub(super) fn lone_side(files: &[Vec<Taken>], reach: f64) -> Option<Side> {
    let mut rows = files.iter().flatten().filter_map(|t| {
        if t.stated {
            Some(t.point.side)
        } else {
            (t.point.at.y.abs() > reach).then(|| sign(t.point.at))
        }
    });
    let first = rows.next()?;
    rows.all(|s| s == first).then_some(first)
}

fn sign(at: Vec3) -> Side {
    if at.y < 0.0 {
        Side::Starboard
    } else {
        Side::Port
    }
}

/// Gives loose rows their sides and hangs inboard points on their edge
/// points; what remains are the points of the edge, with the rows that look
/// swapped from side to side.
pub(super) fn settle(
    mut rows: Vec<Taken>,
    lone: Option<Side>,
    near: Near,
    faults: &mut Vec<Fault>,
    notes: &mut Vec<Note>,
) -> (Vec<Point>, Vec<Suspect>) {
    for taken in &mut rows {
        let p = &mut taken.point;
        if !taken.stated {
            p.side = match lone {
                Some(side) if p.at.y.abs() <= near.reach => side,
                _ => sign(p.at),
            };
        } else if p.side.outboard(p.at.y) < -near.reach
            && !matches!(taken.kind, RowKind::Reference(_))
        {
            let over = show(p.at.y.abs(), near.shown);
            let what = format!("the point lies {over} over the centreline from its side");
            faults.push(p.fault_of(Kind::Conflict, "y", what, OVER_CENTRE));
        }
    }
    let suspects = swapped(&rows, near);
    let (mut edge, mut inboard) = (Vec::new(), Vec::new());
    for taken in rows {
        match taken.kind {
            RowKind::Edge | RowKind::Knuckle => edge.push(taken.point),
            RowKind::Inboard => inboard.push(taken.point),
            RowKind::Reference(_) | RowKind::Ignored => {}
        }
    }
    hang(&mut edge, inboard, near.shown, faults, notes);
    (edge, suspects)
}

/// Rows whose y has the other sign than two rows before and two after, and
/// that would lie between them with theirs. Two on each side, because a
/// surveyor may well step from side to side at every station.
fn swapped(rows: &[Taken], near: Near) -> Vec<Suspect> {
    let edge: Vec<&Taken> = rows
        .iter()
        .filter(|t| matches!(t.kind, RowKind::Edge | RowKind::Knuckle))
        .collect();
    let mut out = Vec::new();
    for w in edge.windows(5) {
        let [a, p, q, r, b] = [0, 1, 2, 3, 4].map(|i| &w[i].point);
        let side = p.side;
        let others = [a, r, b].iter().all(|o| o.side == side);
        if w[2].stated || !others || q.side == side || q.at.y.abs() <= near.reach {
            continue;
        }
        let spacing = p.at.distance(r.at);
        let mirrored = vec3(q.at.x, -q.at.y, q.at.z);
        let between = mirrored.distance(p.at).max(mirrored.distance(r.at)) < spacing;
        // Nearer the centreline, either side is as likely.
        if between && q.at.distance(p.at).min(q.at.distance(r.at)) > spacing {
            let what = format!(
                "y is {}, on {}, and the rows before and after (lines {} and {}) are on {}",
                show(q.at.y, near.shown),
                q.side.name(),
                p.line,
                r.line,
                side.name(),
            );
            let mend = "turn the sign of y, or write the side in a column `side` if it is right";
            out.push(Suspect {
                fault: q.fault_of(Kind::Survey, "y", what, mend),
                side,
                file: q.file.clone(),
                lines: [a, p, r, b].map(|o| o.line),
            });
        }
    }
    out
}

/// Faults of suspects whose neighbours in the file follow each other along
/// the edge; in a list of no order they do not.
pub(super) fn convict(
    suspects: Vec<Suspect>,
    port: &[Point],
    starboard: &[Point],
    faults: &mut Vec<Fault>,
) {
    if suspects.is_empty() {
        return;
    }
    let places = |points: &[Point]| -> BTreeMap<(String, usize), usize> {
        let each = points.iter().enumerate();
        each.map(|(i, p)| ((p.file.clone(), p.line), i)).collect()
    };
    let (port, starboard) = (places(port), places(starboard));
    for s in suspects {
        let side = match s.side {
            Side::Port => &port,
            Side::Starboard => &starboard,
        };
        let at = s.lines.map(|l| side.get(&(s.file.clone(), l)));
        let beside = |w: &[Option<&usize>]| Some(w[0]?.abs_diff(*w[1]?) == 1);
        let follow = at.windows(2).all(|w| beside(w) == Some(true));
        if follow {
            faults.push(s.fault);
        }
    }
}

/// Gives every inboard point to the nearest edge point of its side.
fn hang(
    edge: &mut [Point],
    inboard: Vec<Point>,
    shown: Show,
    faults: &mut Vec<Fault>,
    notes: &mut Vec<Note>,
) {
    if inboard.is_empty() {
        return;
    }
    let tree = tree(edge.iter().map(|p| p.at));
    let mut taken: BTreeMap<usize, (f64, usize)> = BTreeMap::new();
    for p in inboard {
        let away = |i: usize| (edge[i].at.distance(p.at), i);
        let own = within(&tree, p.at, INBOARD_REACH).filter(|&i| edge[i].side == p.side);
        let nearest = own
            .map(away)
            .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let Some((d, i)) = nearest else {
            let reach = show(INBOARD_REACH, shown);
            let what = format!("no edge point lies within {reach} of this inboard point");
            faults.push(p.fault(what, "measure the edge beside it, or correct its figures"));
            continue;
        };
        if let Some((nearest, line)) = taken.get(&i) {
            notes.push(p.note(format!(
                "two inboard points belong to the edge point on line {}: lines {line} and {}; the nearer one is used",
                edge[i].line, p.line
            )));
            if d >= *nearest {
                continue;
            }
        } else if edge[i].slope.is_some() {
            let what = format!(
                "this inboard point belongs to the edge point on line {}, which gives its slope itself",
                edge[i].line
            );
            let kind = Kind::Conflict;
            let fault = p.fault(what, "keep one of them");
            faults.push(Fault { kind, ..fault });
            continue;
        }
        edge[i].slope = Some(SlopeGiven::Inboard(p.at));
        taken.insert(i, (d, p.line));
    }
}
