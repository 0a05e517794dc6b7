//! Several passes over one side become one line.
//!
//! Passes that each run aft are laid into one another by what comes first
//! along the edge; points of different passes that could be one point are
//! averaged, which takes the error down by the root of their number. What two
//! passes say of one place is compared first.

use super::model::{Note, Point};
use super::path;
use super::places::{place_order, tree, within};
use crate::fault::{Fault, Place};
use crate::geom::{Vec2, Vec3, vec2};
use crate::job::SurveyJob;
use crate::length::{Show, show};
use crate::tolerance::Tolerance;

/// Most lengths of disagreement that are told.
const MOST_TOLD: usize = 5;

/// Each pass is compared with this many before it along the boat: a drawing
/// of a thousand short lines is not compared line by line with them all.
const COMPARED: usize = 16;

/// Port and starboard ends nearer than this many accuracies are one point
/// measured twice: each is off by at most one accuracy along each of three
/// axes, so the two lie within 2 sqrt 3 of each other.
pub(super) const ONE_POINT_ACCURACIES: f64 = 3.5;

/// Distances that tell one point from two, mm.
#[derive(Debug, Clone, Copy)]
pub(super) struct Near {
    /// Rows of one table this near are one row written twice.
    pub(super) doubled: f64,
    /// Points of two passes this near may be one point.
    pub(super) one_point: f64,
    /// Furthest a point of one side may lie over the centreline: it was measured on it.
    pub(super) reach: f64,
    /// Units in which distances are told.
    pub(super) shown: Show,
}

impl Near {
    pub(super) fn of(job: &SurveyJob, tolerance: &Tolerance) -> Self {
        let doubled = tolerance.doubled_point_mm;
        Self {
            doubled,
            one_point: doubled.max(ONE_POINT_ACCURACIES * job.accuracy),
            reach: doubled.max(job.accuracy),
            shown: job.show,
        }
    }
}

/// Loose points of one file and side in order along the edge. Points nearer
/// than one point are one place measured again, and averaged.
pub(super) fn in_order(points: Vec<Point>, near: Near, notes: &mut Vec<Note>) -> Vec<Point> {
    let places = clustered(points, near, notes);
    let at: Vec<Vec3> = places.iter().map(|p| p.at).collect();
    let mut places: Vec<Option<Point>> = places.into_iter().map(Some).collect();
    path::order(&at)
        .into_iter()
        .filter_map(|i| places.get_mut(i).and_then(Option::take))
        .collect()
}

/// Points nearer than the radius to the first of their lot as one. The lots
/// depend on the places alone, not on the rows' order.
fn clustered(mut points: Vec<Point>, near: Near, notes: &mut Vec<Note>) -> Vec<Point> {
    let radius = near.one_point;
    points.sort_by(|a, b| place_order(a.at, b.at).then(a.line.cmp(&b.line)));
    let tree = tree(points.iter().map(|p| p.at));
    let mut taken = vec![false; points.len()];
    let mut out = Vec::new();
    let mut repeats: Vec<(usize, usize)> = Vec::new();
    for i in 0..points.len() {
        if taken[i] {
            continue;
        }
        let seed = points[i].at;
        let near = within(&tree, seed, radius);
        let mut lot: Vec<usize> = near.filter(|&j| !taken[j]).collect();
        lot.sort_unstable_by_key(|&j| (points[j].line, j));
        for &j in &lot {
            taken[j] = true;
        }
        if let [first, second, ..] = lot[..] {
            repeats.push((points[first].line, points[second].line));
        }
        let lot: Vec<&Point> = lot.iter().map(|&j| &points[j]).collect();
        out.extend(averaged(&lot));
    }
    let rows = points.len() - out.len();
    repeats.sort_unstable();
    if let (Some((a, b)), Some(p)) = (repeats.first(), points.first()) {
        notes.push(Note {
            place: Place::file(p.file.as_str()).line(*b),
            text: format!(
                "{rows} {} of {} measured again within {} of another, first on lines {a} and {b}: averaged",
                if rows == 1 { "row" } else { "rows" },
                p.side.name(),
                show(radius, near.shown)
            ),
        });
    }
    out
}

/// Points that are one place as one: the mean of their places, everything
/// else from the first that gives it. A knuckle stands where it was measured
/// as such. `None` of none.
fn averaged(lot: &[&Point]) -> Option<Point> {
    let first = *lot.first()?;
    let any_knuckle = lot.iter().any(|p| p.knuckle);
    let (mut sum, mut count) = (Vec3::default(), 0.0);
    for p in lot.iter().filter(|p| !any_knuckle || p.knuckle) {
        sum += p.at;
        count += 1.0;
    }
    Some(Point {
        at: sum * (1.0 / count),
        height: lot.iter().find_map(|p| p.height),
        lean: lot.iter().find_map(|p| p.lean),
        slope: lot.iter().find_map(|p| p.slope),
        tolerance: lot.iter().find_map(|p| p.tolerance),
        knuckle: any_knuckle,
        ..first.clone()
    })
}

/// Faults of passes that disagree. They stand in order of their fore ends.
pub(super) fn disagreements(passes: &[Vec<Point>], near: Near, faults: &mut Vec<Fault>) {
    for (i, pass) in passes.iter().enumerate() {
        for earlier in &passes[i.saturating_sub(COMPARED)..i] {
            disagreement(earlier, pass, near, faults);
        }
    }
}

/// Passes of one side, each from forward aft and in order of their fore ends,
/// as one line.
pub(super) fn merged(passes: Vec<Vec<Point>>, radius: f64, doubled_mm: f64) -> Vec<Point> {
    let line = passes.into_iter().fold(Vec::new(), laid_into);
    let mut out: Vec<Point> = Vec::new();
    let mut lot: Vec<&Point> = Vec::new();
    for p in &line {
        let first = lot.first().is_some_and(|q| q.at.distance(p.at) <= radius);
        // A line's end and the next one's start are one point of both.
        let last = lot
            .last()
            .is_some_and(|q| q.at.distance(p.at) <= doubled_mm);
        let others = lot.iter().all(|q| !same_pass(q, p));
        if !others || !(first || last) {
            out.extend(averaged(&lot));
            lot.clear();
        }
        lot.push(p);
    }
    out.extend(averaged(&lot));
    out
}

pub(super) fn same_pass(a: &Point, b: &Point) -> bool {
    a.file == b.file && a.pass == b.pass
}

/// Two lines that run aft as one, by what comes first along the edge.
fn laid_into(a: Vec<Point>, b: Vec<Point>) -> Vec<Point> {
    if a.is_empty() {
        return b;
    }
    let ways = [directions(&a), directions(&b)];
    let mut out = Vec::with_capacity(a.len() + b.len());
    let (mut a, mut b) = (a.into_iter().peekable(), b.into_iter().peekable());
    let (mut i, mut j) = (0, 0);
    while let (Some(p), Some(q)) = (a.peek(), b.peek()) {
        let way = (ways[0][i] + ways[1][j]).unit();
        // Two single points have no way of their own: the edge runs aft.
        let way = if way == Vec2::default() {
            vec2(-1.0, 0.0)
        } else {
            way
        };
        if (q.at - p.at).plan().dot(way) < 0.0 {
            out.extend(b.next());
            j += 1;
        } else {
            out.extend(a.next());
            i += 1;
        }
    }
    out.extend(a);
    out.extend(b);
    out
}

/// Direction of a line in plan at each of its points.
fn directions(points: &[Point]) -> Vec<Vec2> {
    (0..points.len())
        .map(|i| {
            let (a, b) = (i.saturating_sub(1), (i + 1).min(points.len() - 1));
            (points[b].at - points[a].at).plan().unit()
        })
        .collect()
}

/// How far a point lies off another pass.
struct Off<'a> {
    point: &'a Point,
    index: usize,
    by: f64,
    between: [&'a Point; 2],
}

/// Tells where a pass lies off another one by more than the accuracy
/// explains: one point's, and what the curve through the other's points is
/// uncertain by. Neighbouring rows are told as one.
fn disagreement(base: &[Point], pass: &[Point], near: Near, faults: &mut Vec<Fault>) {
    let radius = near.one_point;
    let mut at = 0;
    let mut off: Vec<Off<'_>> = Vec::new();
    for (index, point) in pass.iter().enumerate() {
        while let Some(w) = base.get(at..at + 2)
            && ((point.at - w[1].at).dot(w[1].at - w[0].at) > 0.0 || w[0].at == w[1].at)
        {
            at += 1;
        }
        let Some([a, b]) = base.get(at..at + 2) else {
            break;
        };
        if (point.at - a.at).dot(b.at - a.at) < 0.0 {
            continue;
        }
        let (by, unsure) = distance(base, at, point.at);
        if by > radius + unsure {
            off.push(Off {
                point,
                index,
                by,
                between: [a, b],
            });
        }
    }
    let runs = off.chunk_by(|a, b| b.index == a.index + 1);
    for run in runs.take(MOST_TOLD) {
        let worst = run.iter().reduce(|w, o| if o.by > w.by { o } else { w });
        faults.extend(worst.map(|w| disagrees(w, run.len(), near.shown)));
    }
}

fn disagrees(worst: &Off<'_>, count: usize, shown: Show) -> Fault {
    let more = match count {
        1 => String::new(),
        2 => "; so does a row beside it".to_owned(),
        n => format!("; so do {} rows beside it", n - 1),
    };
    let [a, b] = worst.between;
    let what = format!(
        "this pass lies {} off the one in {}, between {} (line {}) and {} (line {}): more than the accuracy explains{more}",
        show(worst.by, shown),
        a.file,
        a.name,
        a.line,
        b.name,
        b.line,
    );
    let mend = "measure the place again and take the wrong rows out, or state the accuracy that these passes have";
    worst.point.fault(what, mend)
}

/// Distance of a point from the curve through a pass, square to it, and how
/// unsure that curve is there, mm. The curve is the mean of the two parabolas
/// through three successive points each; half their difference is its
/// uncertainty. A knuckle ends it; a lone piece is straight, and unsure by a
/// parabola's rise where it has one neighbour.
fn distance(base: &[Point], at: usize, p: Vec3) -> (f64, f64) {
    let (a, b) = (&base[at], &base[at + 1]);
    let chord = b.at - a.at;
    let s = (p - a.at).dot(chord) / chord.dot(chord).max(f64::MIN_POSITIVE);
    let straight = a.at + chord * s;
    let before = at.checked_sub(1).map(|i| &base[i]).filter(|_| !a.knuckle);
    let after = base.get(at + 2).filter(|_| !b.knuckle);
    // Rise of the parabola through a third point, above the chord.
    let rise = |third: Vec3| {
        let t = (third - a.at).dot(chord) / chord.dot(chord).max(f64::MIN_POSITIVE);
        let above = third - (a.at + chord * t);
        let scale = t * (t - 1.0);
        if scale > 0.0 {
            above * (s * (s - 1.0) / scale)
        } else {
            Vec3::default()
        }
    };
    let (curve, unsure) = match (before, after) {
        (Some(l), Some(r)) => {
            let (l, r) = (rise(l.at), rise(r.at));
            (straight + (l + r) * 0.5, (l - r).length() / 2.0)
        }
        (Some(one), None) | (None, Some(one)) => {
            let rise = rise(one.at);
            (straight + rise, rise.length())
        }
        (None, None) => (straight, chord.length() / 8.0),
    };
    let off = p - curve;
    let along = chord.unit();
    ((off - along * off.dot(along)).length(), unsure)
}
