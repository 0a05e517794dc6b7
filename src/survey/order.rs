//! Points of one side in order from forward aft, and the checks that need
//! more than one row.

use super::model::{Note, Point};
use super::passes::{Near, disagreements, in_order, merged, same_pass};
use super::stations::stations;
use crate::fault::Fault;
use crate::geom::Vec2;
use crate::job::TableForm;

/// Cosine beyond which two successive chords of edge double back: the edge
/// turns by more than 120 degrees at one point. A transom corner turns about
/// 90, a sharp stem is the end of a chain; rows out of order turn about 180.
const DOUBLES_BACK: f64 = -0.5;

/// Most crossings that are told: the first names the slip, the rest follow.
const MOST_CROSSINGS: usize = 5;

/// Points of one pass and one side, in file order.
#[derive(Clone)]
pub(super) struct Portion {
    pub(super) form: TableForm,
    /// True where the rows stand in no order.
    pub(super) loose: bool,
    pub(super) points: Vec<Point>,
}

/// One side from forward aft: loose rows sorted along the edge, every pass
/// turned to run aft, the passes laid into one another. Faults: a station
/// twice, stations out of order, doubled rows, an edge that doubles back,
/// passes that disagree.
pub(super) fn side_in_order(
    portions: Vec<Portion>,
    near: Near,
    faults: &mut Vec<Fault>,
    notes: &mut Vec<Note>,
) -> Vec<Point> {
    let mut turned: Vec<Vec<Point>> = Vec::new();
    let clean = faults.len();
    let any_loose = portions.iter().any(|p| p.loose);
    for portion in portions {
        let before = faults.len();
        if portion.form == TableForm::Offsets {
            stations(&portion.points, near.doubled, faults);
        }
        let mut points = portion.points;
        if portion.loose {
            points = in_order(points, near, notes);
            if runs_forward(&points, near.doubled) {
                points.reverse();
            }
        }
        if faults.len() == before {
            path(&points, near.doubled, portion.loose, faults, |_| true);
        }
        if runs_forward(&points, near.doubled) {
            points.reverse();
        }
        turned.push(points);
    }
    turned.sort_by(|a, b| fore_end(b).total_cmp(&fore_end(a)));
    if turned.len() < 2 {
        return turned.into_iter().flatten().collect();
    }
    if faults.len() == clean {
        disagreements(&turned, near, faults);
    }
    if faults.len() > clean {
        return turned.into_iter().flatten().collect();
    }
    let points = merged(turned, near.one_point, near.doubled);
    // Within a pass the rows were checked in their own order; now its joints.
    path(&points, near.doubled, any_loose, faults, |w| {
        w.iter().any(|p| !same_pass(p, &w[0]))
    });
    points
}

fn fore_end(points: &[Point]) -> f64 {
    points.first().map_or(f64::NEG_INFINITY, |p| p.at.x)
}

/// True where a table runs from aft forward. Where both ends are at one
/// station, as across a stern, the end nearer the centreline is the aft one.
fn runs_forward(points: &[Point], doubled_mm: f64) -> bool {
    let (Some(first), Some(last)) = (points.first(), points.last()) else {
        return false;
    };
    if (first.at.x - last.at.x).abs() > doubled_mm {
        first.at.x < last.at.x
    } else {
        first.at.y.abs() < last.at.y.abs()
    }
}

/// Successive points stand apart, and the edge does not double back. Only
/// those successions are checked that `wanted` holds for.
fn path(
    points: &[Point],
    doubled_mm: f64,
    loose: bool,
    faults: &mut Vec<Fault>,
    wanted: impl Fn(&[Point]) -> bool,
) {
    let mend = if loose {
        "two passes that disagree, a point that is not of the edge, or a wrong figure: take the row out or correct it"
    } else {
        "put the rows in order along the edge, or correct the figures"
    };
    for w in points.windows(2).filter(|w| wanted(w)) {
        if w[0].at.distance(w[1].at) <= doubled_mm {
            let what = format!("this is the same place as on line {}", w[0].line);
            faults.push(w[1].fault(what, "take one of the rows out"));
        } else if w.iter().all(|p| p.at.y.abs() <= doubled_mm) {
            let line = w[0].line;
            let what = format!("this point and the one on line {line} both lie on the centreline");
            faults.push(w[1].fault(what, "keep the one where the edge meets the centreline"));
        }
    }
    let mut skip = false;
    for w in points.windows(3).filter(|w| wanted(w)) {
        let (a, b) = (step(&w[0], &w[1]), step(&w[1], &w[2]));
        let back = a.unit().dot(b.unit()) < DOUBLES_BACK;
        if back && !skip {
            let (name, line) = (&w[1].name, w[1].line);
            let what = format!("the edge doubles back here, after {name} on line {line}");
            faults.push(w[2].fault(what, mend));
        }
        // Two rows swapped double back twice: told once.
        skip = back && !skip;
    }
}

fn step(a: &Point, b: &Point) -> Vec2 {
    b.at.plan() - a.at.plan()
}

/// The straight line between two successive points.
struct Chord<'a> {
    chain: usize,
    index: usize,
    ends: [&'a Point; 2],
}

impl Chord<'_> {
    fn x(&self) -> (f64, f64) {
        let [a, b] = self.ends.map(|p| p.at.x);
        (a.min(b), a.max(b))
    }

    /// True where the chords cross between their ends, in plan.
    fn crosses(&self, other: &Self) -> bool {
        let [a, b] = self.ends.map(|p| p.at.plan());
        let [c, d] = other.ends.map(|p| p.at.plan());
        let apart =
            |p: Vec2, q: Vec2, r: Vec2, s: Vec2| (q - p).cross(r - p) * (q - p).cross(s - p) < 0.0;
        apart(a, b, c, d) && apart(c, d, a, b)
    }

    fn near(&self, other: &Self) -> bool {
        self.chain == other.chain && self.index.abs_diff(other.index) <= 1
    }
}

/// Where the edge crosses itself or the other side in plan. Chords are swept
/// along x, so a long survey costs little more than a short one.
pub(super) fn crossings<'a>(chains: &[&'a [Point]], faults: &mut Vec<Fault>) {
    let along = |(chain, points): (usize, &&'a [Point])| {
        let pairs = points.windows(2).enumerate();
        pairs.map(move |(index, w)| Chord {
            chain,
            index,
            ends: [&w[0], &w[1]],
        })
    };
    let mut chords: Vec<Chord<'_>> = chains.iter().enumerate().flat_map(along).collect();
    chords.sort_by(|a, b| a.x().0.total_cmp(&b.x().0));
    let mut found: Vec<(&Chord<'_>, &Chord<'_>)> = Vec::new();
    for (i, a) in chords.iter().enumerate() {
        for b in chords.iter().skip(i + 1).take_while(|b| b.x().0 <= a.x().1) {
            if !a.near(b) && a.crosses(b) {
                let first_is_a = (a.chain, a.index) < (b.chain, b.index);
                found.push(if first_is_a { (a, b) } else { (b, a) });
            }
        }
    }
    found.sort_by_key(|(a, b)| (b.chain, b.index, a.chain, a.index));
    found.dedup_by_key(|(_, b)| (b.chain, b.index));
    for (a, b) in found.into_iter().take(MOST_CROSSINGS) {
        let told = |p: &Point| format!("{} (line {})", p.name, p.line);
        let what = format!(
            "the edge from {} to {} crosses the edge from {} ({}, line {}) to {}",
            told(b.ends[0]),
            told(b.ends[1]),
            a.ends[0].name,
            a.ends[0].file,
            a.ends[0].line,
            told(a.ends[1]),
        );
        let mend = "correct the points: an edge cannot cross itself or the other side";
        faults.push(b.ends[0].fault(what, mend));
    }
}
