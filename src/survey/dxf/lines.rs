//! Lines of a drawing joined end to end.

use std::collections::BTreeMap;

use rstar::RTree;

use super::super::model::{Note, Point};
use super::super::places::{Spot, tree, within};
use crate::length::{Show, show, told};

/// Points of a line of the drawing, in its order.
pub(super) type Line = Vec<Point>;

/// Ends further apart than one point's errors by up to this factor were
/// likely meant to meet.
const NEAR_MISS: f64 = 10.0;

/// An end of a line: its line, and whether it is the last point.
type End = (usize, bool);

/// Lines joined where exactly two ends meet within `doubled_mm`, each once
/// its repeated points are out. Notes: repeated points, ends that nearly
/// meet, places where three or more ends meet. `near_mm` is what one point
/// measured twice may lie apart.
pub(super) fn joined(
    mut lines: Vec<Line>,
    doubled_mm: f64,
    (near_mm, shown): (f64, Show),
    notes: &mut Vec<Note>,
) -> Vec<Line> {
    for line in &mut lines {
        repeated(line, doubled_mm, notes);
    }
    let ends = Ends::new(&lines);
    let mut partner: BTreeMap<End, End> = BTreeMap::new();
    for &end in &ends.all {
        let meet = ends.near(end, doubled_mm);
        match meet[..] {
            [other] if ends.near(other, doubled_mm).len() == 1 => {
                partner.insert(end, other);
            }
            [] => {
                nearly(&ends, end, (doubled_mm, near_mm * NEAR_MISS), shown, notes);
            }
            [first, ..] if meet.len() > 1 && end < first => {
                let p = ends.point(end);
                let (count, name) = (meet.len() + 1, &p.name);
                notes.push(p.note(format!("{count} lines meet at {name}: none was joined")));
            }
            _ => {}
        }
    }
    chained(lines, &partner)
}

/// Takes out points that repeat the one before.
fn repeated(line: &mut Line, doubled_mm: f64, notes: &mut Vec<Note>) {
    let count = line.len();
    let mut first: Option<Point> = None;
    line.dedup_by(|b, a| {
        let same = a.at.distance(b.at) <= doubled_mm;
        if same {
            first.get_or_insert_with(|| b.clone());
        }
        same
    });
    if let Some(p) = first {
        let (name, count) = (&p.name, count - line.len());
        let text = format!("{name} repeats the point before; {count} of this line left out");
        notes.push(p.note(text));
    }
}

/// Says where an end stops short of another line's.
fn nearly(
    ends: &Ends<'_>,
    end: End,
    (doubled_mm, reach): (f64, f64),
    shown: Show,
    notes: &mut Vec<Note>,
) {
    let near = ends.near(end, reach);
    let here = ends.point(end);
    let other = near.into_iter().filter(|o| o.0 != end.0).min_by(|&a, &b| {
        let (a, b) = (ends.point(a), ends.point(b));
        a.at.distance(here.at).total_cmp(&b.at.distance(here.at))
    });
    if let Some(other) = other
        && end < other
    {
        let there = ends.point(other);
        notes.push(here.note(format!(
            "{} and {} (line {}) do not meet: they are {} apart, {} is joined",
            here.name,
            there.name,
            there.line,
            show(here.at.distance(there.at), shown),
            told(doubled_mm, shown)
        )));
    }
}

/// Ends of lines, found by place.
struct Ends<'a> {
    lines: &'a [Line],
    all: Vec<End>,
    tree: RTree<Spot>,
}

impl<'a> Ends<'a> {
    fn new(lines: &'a [Line]) -> Self {
        let all: Vec<End> = (0..lines.len())
            .filter(|&i| !lines[i].is_empty())
            .flat_map(|i| [(i, false), (i, true)])
            .collect();
        let tree = tree(all.iter().map(|&e| end_point(lines, e).at));
        Self { lines, all, tree }
    }

    fn point(&self, end: End) -> &'a Point {
        end_point(self.lines, end)
    }

    /// Other ends within a distance, in order; the other end of the same
    /// line counts where the line is longer than that.
    fn near(&self, end: End, mm: f64) -> Vec<End> {
        let mut out: Vec<End> = within(&self.tree, self.point(end).at, mm)
            .map(|i| self.all[i])
            .filter(|&other| {
                let alone = other.0 == end.0 && self.lines[end.0].len() < 3;
                other != end && !alone
            })
            .collect();
        out.sort_unstable();
        out
    }
}

/// The point at an end of a line, which is not empty.
fn end_point(lines: &[Line], (line, last): End) -> &Point {
    let points = &lines[line];
    &points[if last { points.len() - 1 } else { 0 }]
}

/// Lines in chains, from one free end to the other; rings from their first.
fn chained(lines: Vec<Line>, partner: &BTreeMap<End, End>) -> Vec<Line> {
    let mut left: Vec<Option<Line>> = lines.into_iter().map(Some).collect();
    let mut out = Vec::new();
    let free = |i: usize, last: bool| !partner.contains_key(&(i, last));
    let starts = (0..left.len())
        .flat_map(|i| [(i, false), (i, true)])
        .filter(|&(i, last)| free(i, last));
    let rings = (0..left.len()).map(|i| (i, false));
    let order: Vec<End> = starts.chain(rings).collect();
    for start in order {
        let mut chain: Line = Vec::new();
        let mut enter = Some(start);
        while let Some((i, last)) = enter
            && let Some(mut line) = left[i].take()
        {
            if last {
                line.reverse();
            }
            // The point that two lines share stands once.
            let shared = usize::from(!chain.is_empty());
            chain.extend(line.into_iter().skip(shared));
            enter = partner.get(&(i, !last)).copied();
        }
        if !chain.is_empty() {
            out.push(chain);
        }
    }
    out
}
