//! Where the planned line is at each stanchion, and where the measured one lies off it.

use super::mark::{Mark, foot};
use super::read::{Given, Measured};
use crate::fair::{FairEdge, frame};
use crate::fault::{Fault, Faults, Kind, Place};
use crate::geom::vec3;
use crate::job::Side;
use crate::length::{LONGEST_MM, Show, show};

/// A measured stanchion off the planned line.
#[derive(Debug, Clone)]
pub(super) struct Standing {
    /// Index of its mark.
    pub(super) mark: usize,
    /// Where along the top line, mm.
    pub(super) u: f64,
    /// Outboard positive, mm.
    pub(super) out: f64,
    /// Up positive, mm.
    pub(super) up: f64,
    /// As its row says, mm.
    pub(super) limit: Option<f64>,
    pub(super) fixed: bool,
    /// Where the figures in plan and in height are booked.
    pub(super) cells: [Place; 2],
}

/// Every measured stanchion off the planned line, along the edge.
pub(super) fn standings(
    edge: &FairEdge,
    marks: &[Mark],
    measured: &[Measured],
    file: &str,
    as_shown: Show,
) -> Result<Vec<Standing>, Faults> {
    let mut faults = Vec::new();
    let mut out: Vec<Standing> = Vec::new();
    for row in measured {
        match standing(edge, marks, row, file, as_shown) {
            Ok(s) => out.push(s),
            Err(f) => faults.push(f),
        }
    }
    if !faults.is_empty() {
        return Err(Faults(faults));
    }
    out.sort_by_key(|s| s.mark);
    Ok(out)
}

fn standing(
    edge: &FairEdge,
    marks: &[Mark],
    row: &Measured,
    file: &str,
    as_shown: Show,
) -> Result<Standing, Fault> {
    let mark = &marks[row.mark];
    let booked = |field: &str, column: usize| {
        Place::file(file)
            .line(row.line)
            .column(column)
            .field(field)
            .station(format!("stanchion {}", mark.name))
    };
    let [plan, height] = row.given.fields();
    let cells = [booked(plan, row.columns[0]), booked(height, row.columns[1])];
    let on = |u, out, up| Standing {
        mark: row.mark,
        u,
        out,
        up,
        limit: row.limit,
        fixed: row.fixed,
        cells: cells.clone(),
    };
    let at = match row.given {
        Given::Offsets { out, up } => return Ok(on(mark.u, out, up)),
        Given::Section { half, height } => {
            let y = match mark.side {
                Some(Side::Starboard) => -half,
                Some(Side::Port) | None => half,
            };
            vec3(mark.at.x, y, height)
        }
        Given::At(at) => at,
    };
    let Some(line) = edge
        .chains
        .get(mark.chain)
        .and_then(|c| c.lengths.get(mark.length))
        .map(|l| &l.top)
    else {
        return Ok(on(mark.u, 0.0, 0.0));
    };
    let tangent = frame(line, mark.u).tangent;
    if matches!(row.given, Given::Section { .. }) && tangent.x.abs() < tangent.y.abs() {
        return Err(Fault::new(
            Kind::Conflict,
            cells[0].clone(),
            "the edge has turned more than 45 degrees from fore-and-aft here, where a half-breadth does not place it",
            "survey the line with x, y and z, or with out and up from the planned line",
        ));
    }
    let (u, here) = foot(line, at.plan(), mark.u);
    let along = (u - mark.u).abs();
    let room = room(marks, row.mark);
    if along.is_nan() || along > room {
        return Err(Fault::new(
            Kind::Survey,
            cells[0].clone(),
            format!(
                "the point lies {} along the edge from the stanchion that it is booked for",
                show(along.min(LONGEST_MM), as_shown)
            ),
            format!(
                "check the name and the figures: it must lie within {} of it",
                show(room, as_shown)
            ),
        ));
    }
    let off = at - here.at;
    Ok(on(u, -off.plan().dot(here.tangent.left()), off.z))
}

/// How far along the edge a point may lie from its stanchion, mm: not half way to the next one.
fn room(marks: &[Mark], index: usize) -> f64 {
    /// For a stanchion alone on its length, mm.
    const ALONE: f64 = 300.0;
    /// Share of the distance to the nearer neighbour.
    const SHARE: f64 = 0.45;
    let mark = &marks[index];
    let beside = [index.checked_sub(1), Some(index + 1)];
    let near = beside.into_iter().flatten().filter_map(|i| {
        let other = marks.get(i)?;
        let same = (other.chain, other.length) == (mark.chain, mark.length);
        same.then(|| (other.u - mark.u).abs())
    });
    let nearest = near.fold(f64::INFINITY, f64::min);
    if nearest.is_finite() {
        SHARE * nearest
    } else {
        ALONE
    }
}
