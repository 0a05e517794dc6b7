//! Common lines measured: one straight cut that frees two parts and touches none.

use super::piece::{Piece, Shape};
use super::{NestJob, NestedSheet};
use crate::geom::Vec2;

/// A shared edge may end this far before or behind the line, mm: what stays
/// there is cut off by the cut round both.
const ENDS: f64 = 0.05;

/// Pairs of parts that share a cut, the lower index first, and what is wrong with a common line.
pub(super) fn pairs(
    job: &NestJob,
    sheet: &NestedSheet,
    shapes: &[(usize, Shape)],
) -> (Vec<(usize, usize)>, Vec<String>) {
    let mut pairs = Vec::new();
    let mut wrong = Vec::new();
    for line in &sheet.common {
        let [left, right] = line.between;
        let name = |p: usize| job.parts.get(p).map_or("?", |p| p.name.as_str());
        let shape = |p: usize| shapes.iter().find(|s| s.0 == p).map(|s| &s.1);
        let rule = (job.common.as_ref())
            .filter(|r| left != right && r.parts.contains(&left) && r.parts.contains(&right));
        let held = match (rule, shape(left), shape(right)) {
            (None, _, _) => Err("the job allows them none".to_owned()),
            (_, None, _) | (_, _, None) => Err("not both lie on the sheet".to_owned()),
            (Some(rule), Some(a), Some(b)) => measured(
                line.ends,
                rule.kerf,
                (a, b),
                &mut shapes.iter().map(|s| (name(s.0), &s.1)),
                job.slack,
            ),
        };
        match held {
            Ok(()) => pairs.push((left.min(right), left.max(right))),
            Err(what) => wrong.push(format!(
                "parts {} and {} have no common line where one is given: {what}",
                name(left),
                name(right)
            )),
        }
    }
    (pairs, wrong)
}

/// Measures a line against the two parts beside it and all on the sheet.
fn measured(
    [from, to]: [Vec2; 2],
    kerf: f64,
    (left, right): (&Shape, &Shape),
    all: &mut dyn Iterator<Item = (&str, &Shape)>,
    slack: f64,
) -> Result<(), String> {
    let along = (to - from).unit();
    let out = along.left() * (0.5 * kerf);
    let edge = |shape: &Shape, a: Vec2, b: Vec2| {
        shape.pieces.iter().any(|p| {
            let beside = |end: Vec2, want: Vec2| {
                let off = end - want;
                off.dot(along).abs() <= ENDS && off.cross(along).abs() <= slack
            };
            p.arc.is_none() && beside(p.a, a) && beside(p.b, b)
        })
    };
    if !edge(left, from + out, to + out) || !edge(right, to - out, from - out) {
        return Err(format!(
            "no straight edges of one length lie {kerf} mm apart along it"
        ));
    }
    // The cut round both parts passes half a kerf beyond its ends.
    let more = along * (0.5 * kerf);
    let cut = Piece::new(from - more, to + more, 0.0);
    for (name, shape) in all {
        let near = shape.pieces.iter().map(|p| p.distance(&cut));
        let distance = near.fold(f64::INFINITY, f64::min);
        if distance < 0.5 * kerf - slack {
            return Err(format!(
                "the middle of the cut passes {distance:.4} mm from part {name}, and half its width is {} mm",
                0.5 * kerf
            ));
        }
    }
    Ok(())
}
