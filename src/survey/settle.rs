//! Loose rows in the boat's frame to points of the edge: their sides, and
//! which of them an inboard point belongs to.

use std::collections::BTreeMap;

use super::model::{Note, Point, SlopeGiven, at_point};
use super::taken::{RowKind, Taken};
use crate::fault::{Fault, Kind, Place};
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
    (reach, shown): (f64, Show),
    faults: &mut Vec<Fault>,
    notes: &mut Vec<Note>,
) -> (Vec<Point>, Vec<Suspect>) {
    for taken in &mut rows {
        let p = &mut taken.point;
        if !taken.stated {
            p.side = match lone {
                Some(side) if p.at.y.abs() <= reach => side,
                _ => sign(p.at),
            };
        } else if outboard(p) < -reach && !matches!(taken.kind, RowKind::Reference(_)) {
            let what = format!(
                "the point lies {} over the centreline from its side",
                show(outboard(p).abs(), shown)
            );
            let mend = "y is positive to port: correct y, or the side";
            faults.push(at_point(p, Kind::Conflict, "y", what, mend));
        }
    }
    let suspects = swapped(&rows, reach, shown);
    let (mut edge, mut inboard) = (Vec::new(), Vec::new());
    for taken in rows {
        match taken.kind {
            RowKind::Edge | RowKind::Knuckle => edge.push(taken.point),
            RowKind::Inboard => inboard.push(taken.point),
            RowKind::Reference(_) | RowKind::Ignored => {}
        }
    }
    hang(&mut edge, inboard, shown, faults, notes);
    (edge, suspects)
}

fn outboard(p: &Point) -> f64 {
    match p.side {
        Side::Port => p.at.y,
        Side::Starboard => -p.at.y,
    }
}

/// Rows whose y has the other sign than two rows before and two after, and
/// that would lie between them with theirs. Two on each side, because a
/// surveyor may well step from side to side at every station.
fn swapped(rows: &[Taken], reach: f64, shown: Show) -> Vec<Suspect> {
    let edge: Vec<&Taken> = rows
        .iter()
        .filter(|t| matches!(t.kind, RowKind::Edge | RowKind::Knuckle))
        .collect();
    let mut out = Vec::new();
    for w in edge.windows(5) {
        let [a, p, q, r, b] = [0, 1, 2, 3, 4].map(|i| &w[i].point);
        let side = p.side;
        let others = [a, r, b].iter().all(|o| o.side == side);
        if w[2].stated || !others || q.side == side || q.at.y.abs() <= reach {
            continue;
        }
        let spacing = p.at.distance(r.at);
        let mirrored = vec3(q.at.x, -q.at.y, q.at.z);
        let between = mirrored.distance(p.at).max(mirrored.distance(r.at)) < spacing;
        // Nearer the centreline, either side is as likely.
        if between && q.at.distance(p.at).min(q.at.distance(r.at)) > spacing {
            let what = format!(
                "y is {}, on {}, and the rows before and after (lines {} and {}) are on {}",
                show(q.at.y, shown),
                q.side.name(),
                p.line,
                r.line,
                side.name(),
            );
            let mend = "turn the sign of y, or write the side in a column `side` if it is right";
            out.push(Suspect {
                fault: at_point(q, Kind::Survey, "y", what, mend),
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
        let side = if s.side == Side::Port {
            &port
        } else {
            &starboard
        };
        let at = s.lines.map(|l| side.get(&(s.file.clone(), l)).copied());
        let follow = at.windows(2).all(|w| match (w[0], w[1]) {
            (Some(i), Some(j)) => i.abs_diff(j) == 1,
            _ => false,
        });
        if follow {
            faults.push(s.fault);
        }
    }
}

/// Gives every inboard point to the nearest edge point of its side. Points
/// are looked up by squares of the reach, so that a long list costs little.
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
    let cell = |v: f64| (v / INBOARD_REACH).floor();
    #[expect(clippy::cast_possible_truncation, reason = "places lie within 1 km")]
    let key = |p: &Point, dx: i64, dy: i64| (cell(p.at.x) as i64 + dx, cell(p.at.y) as i64 + dy);
    let mut squares: BTreeMap<(i64, i64), Vec<usize>> = BTreeMap::new();
    for (i, p) in edge.iter().enumerate() {
        squares.entry(key(p, 0, 0)).or_default().push(i);
    }
    let mut taken: BTreeMap<usize, (f64, usize)> = BTreeMap::new();
    for p in inboard {
        let mut best: Option<(f64, usize)> = None;
        for (dx, dy) in (-1..=1).flat_map(|dx| (-1..=1).map(move |dy| (dx, dy))) {
            for &i in squares.get(&key(&p, dx, dy)).into_iter().flatten() {
                let d = edge[i].at.distance(p.at);
                let nearer = best.is_none_or(|(least, _)| d < least);
                if edge[i].side == p.side && d <= INBOARD_REACH && nearer {
                    best = Some((d, i));
                }
            }
        }
        let Some((d, i)) = best else {
            let what = format!(
                "no edge point lies within {} of this inboard point",
                show(INBOARD_REACH, shown)
            );
            let mend = "measure the edge beside it, or correct its figures";
            faults.push(at_point(&p, Kind::Survey, "", what, mend));
            continue;
        };
        if let Some((nearest, line)) = taken.get(&i) {
            notes.push(Note {
                place: Place::file(p.file.as_str()).line(p.line),
                text: format!(
                    "two inboard points belong to the edge point on line {}: lines {line} and {}; the nearer one is used",
                    edge[i].line, p.line
                ),
            });
            if d >= *nearest {
                continue;
            }
        } else if edge[i].slope.is_some() {
            let what = format!(
                "this inboard point belongs to the edge point on line {}, which gives its slope itself",
                edge[i].line
            );
            faults.push(at_point(&p, Kind::Conflict, "", what, "keep one of them"));
            continue;
        }
        edge[i].slope = Some(SlopeGiven::Inboard(p.at));
        taken.insert(i, (d, p.line));
    }
}
