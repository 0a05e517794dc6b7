//! The independent check: measures every clearance from the placed outlines,
//! arcs as arcs, and refuses a nest that breaks a rule. It shares nothing
//! with the packer but the outline type.

mod piece;
#[cfg(test)]
mod tests;

use std::f64::consts::{PI, TAU};

use self::piece::{Piece, Shape, box_distance};
use super::model::{Nest, NestJob, NestedSheet, Placed};
use crate::fault::{Fault, Kind, Place};
use crate::geom::{Outline, Vec2, vec2};
use crate::job::{Rotation, Sheet};
use crate::length::told;

/// A turn may be off the job's rule by this much, rad: rounding only.
const TURN: f64 = 1e-9;

/// A clearance measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clearance {
    /// Distance, mm.
    pub distance: f64,
    /// Index of the nested sheet.
    pub sheet: usize,
    /// Index of the part.
    pub part: usize,
    /// Index of the other part; `None`: the sheet's edge.
    pub other: Option<usize>,
}

/// What the check measured of a nest that holds.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckReport {
    /// Sheets checked.
    pub sheets: usize,
    /// Parts checked.
    pub parts: usize,
    /// Pairs of parts on one sheet.
    pub pairs: usize,
    /// The smallest distance between two parts; `None` where no sheet has two.
    pub part_to_part: Option<Clearance>,
    /// The smallest distance of a part from a sheet's edge.
    pub part_to_edge: Option<Clearance>,
}

/// Measures every clearance of a nest.
///
/// # Errors
/// All the rules broken: a part lost, doubled or unknown, a sheet unknown or
/// used more often than it is to be had ([`Kind::Missing`],
/// [`Kind::Conflict`], [`Kind::Stock`]); a turn that the job does not
/// allow; parts that overlap, lie in each other or closer than the gap, or nearer
/// to the edge, a hole or a clamp of the sheet than the margin, by more than the job's slack
/// ([`Kind::Geometry`]).
pub fn check(job: &NestJob, nest: &Nest) -> Result<CheckReport, Vec<Fault>> {
    let mut faults = Vec::new();
    counts(job, nest, &mut faults);
    let mut report = CheckReport {
        sheets: nest.sheets.len(),
        parts: nest.sheets.iter().map(|s| s.placed.len()).sum(),
        pairs: 0,
        part_to_part: None,
        part_to_edge: None,
    };
    for (index, sheet) in nest.sheets.iter().enumerate() {
        Sheeted {
            job,
            index,
            sheet,
            report: &mut report,
            faults: &mut faults,
        }
        .check();
    }
    if faults.is_empty() {
        Ok(report)
    } else {
        Err(faults)
    }
}

fn fault(kind: Kind, sheet: Option<usize>, what: String) -> Fault {
    let place = match sheet {
        Some(i) => Place::default().field(format!("sheet {}", i + 1)),
        None => Place::default(),
    };
    Fault::new(
        kind,
        place,
        what,
        "do not cut this nest; nest the job again",
    )
}

/// Every part once, and no more sheets than there are.
fn counts(job: &NestJob, nest: &Nest, faults: &mut Vec<Fault>) {
    let mut seen = vec![0usize; job.parts.len()];
    let mut used = vec![0usize; job.sheets.len()];
    for (i, s) in nest.sheets.iter().enumerate() {
        match used.get_mut(s.stock) {
            Some(n) => *n += 1,
            None => faults.push(fault(
                Kind::Unknown,
                Some(i),
                format!("there is no sheet number {} on offer", s.stock),
            )),
        }
        for p in &s.placed {
            match seen.get_mut(p.part) {
                Some(n) => *n += 1,
                None => faults.push(fault(
                    Kind::Unknown,
                    Some(i),
                    format!("there is no part number {} in the job", p.part),
                )),
            }
        }
    }
    for (part, &n) in job.parts.iter().zip(&seen) {
        if n == 0 {
            faults.push(fault(
                Kind::Missing,
                None,
                format!("part {} is on no sheet", part.name),
            ));
        } else if n > 1 {
            let what = format!("part {} is placed {n} times", part.name);
            faults.push(fault(Kind::Conflict, None, what));
        }
    }
    for (sheet, &n) in job.sheets.iter().zip(&used) {
        if let Some(q) = sheet.quantity.filter(|&q| n > q) {
            let what = format!("{n} sheets {} are used and {q} are to be had", sheet.name);
            faults.push(fault(Kind::Stock, None, what));
        }
    }
}

/// Where parts may lie on a sheet.
struct Ground {
    /// Length and width of its box.
    size: Vec2,
    /// The outer profile, where it is not the box.
    outer: Option<Shape>,
    /// Holes and clamps, and what each is called.
    solids: Vec<(Shape, &'static str)>,
}

impl Ground {
    fn new(stock: &Sheet) -> Self {
        let holes = stock.shape.iter().flat_map(|r| &r.holes);
        let clamps = stock.clamps.iter();
        Self {
            size: vec2(stock.length, stock.width),
            outer: stock.shape.as_ref().map(|r| Shape::new(&r.outer)),
            solids: holes
                .map(|h| (Shape::new(h), "a hole of the remnant"))
                .chain(clamps.map(|z| (Shape::new(&Outline::rectangle(z.lo, z.hi)), "a clamp")))
                .collect(),
        }
    }
}

/// One sheet under check.
struct Sheeted<'a> {
    job: &'a NestJob,
    index: usize,
    sheet: &'a NestedSheet,
    report: &'a mut CheckReport,
    faults: &'a mut Vec<Fault>,
}

impl Sheeted<'_> {
    fn check(&mut self) {
        let mut shapes: Vec<(usize, Shape)> = Vec::new();
        let ground = self.job.sheets.get(self.sheet.stock).map(Ground::new);
        for p in &self.sheet.placed {
            let Some(part) = self.job.parts.get(p.part) else {
                continue;
            };
            let profiles = std::iter::once(&part.outline).chain(&part.holes);
            let shape = Shape::of(profiles.map(|o| o.placed(p.placement)));
            let sizes = [shape.lo.x, shape.lo.y, shape.hi.x, shape.hi.y];
            let whole = |q: &Piece| q.a.x.is_finite() && q.a.y.is_finite();
            if !sizes.iter().all(|v| v.is_finite()) || !shape.pieces.iter().all(whole) {
                let what = format!("part {} is placed at no finite place", part.name);
                self.refuse(what);
                continue;
            }
            self.turn(p);
            if let Some(ground) = &ground {
                self.margin(p.part, &shape, ground);
            }
            shapes.push((p.part, shape));
        }
        // From left to right; a pair whose boxes are further apart in x than
        // both the gap and the smallest distance so far needs no measuring.
        shapes.sort_by(|a, b| a.1.lo.x.total_cmp(&b.1.lo.x).then(a.0.cmp(&b.0)));
        for i in 0..shapes.len() {
            for j in i + 1..shapes.len() {
                self.report.pairs += 1;
                let (a, b) = (&shapes[i], &shapes[j]);
                if box_distance((a.1.lo, a.1.hi), (b.1.lo, b.1.hi)) <= self.reach() {
                    self.pair((a.0, &a.1), (b.0, &b.1));
                }
            }
        }
    }

    /// No distance over this changes a verdict or the smallest one; never less
    /// than what tells touching from lying apart.
    fn reach(&self) -> f64 {
        let smallest = self
            .report
            .part_to_part
            .map_or(f64::INFINITY, |c| c.distance);
        self.job.gap.max(smallest).max(2.0 * self.job.slack)
    }

    fn refuse(&mut self, what: String) {
        self.faults
            .push(fault(Kind::Geometry, Some(self.index), what));
    }

    /// A distance that is too small, never told as more than it is.
    fn short(&self, mm: f64) -> String {
        told((mm * 1000.0 + 1e-6).floor() / 1000.0, self.job.show)
    }

    fn name(&self, part: usize) -> &str {
        &self.job.parts[part].name
    }

    fn turn(&mut self, p: &Placed) {
        let turn = p.placement.turn;
        // Distance of the turn from the nearest whole multiple of a step.
        let off = |step: f64| (turn - step * (turn / step).round()).abs();
        let (allowed, rule) = match self.job.rotation {
            Rotation::Free => return,
            Rotation::Steps(step) if step > 0.0 => {
                // A step that does not go into a whole turn has its multiples
                // from 0 up and down; those that do have no others.
                (
                    off(step) <= TURN,
                    format!("steps of {:.3} degrees", step.to_degrees()),
                )
            }
            Rotation::Steps(_) => (off(TAU) <= TURN, "no turn".to_owned()),
            Rotation::Within(limit) => (
                off(PI) <= limit + TURN,
                format!(
                    "within {:.3} degrees of the sheet's length",
                    limit.to_degrees()
                ),
            ),
        };
        if !allowed {
            let what = format!(
                "part {} is turned {:.4} degrees, and the job allows {rule}",
                self.name(p.part),
                turn.to_degrees()
            );
            self.refuse(what);
        }
    }

    fn margin(&mut self, part: usize, shape: &Shape, ground: &Ground) {
        let (lo, hi) = (shape.lo, shape.hi);
        let size = ground.size;
        let mut distance = lo.x.min(lo.y).min(size.x - hi.x).min(size.y - hi.y);
        let slack = self.job.slack;
        if let Some(outer) = &ground.outer {
            let d = profile_distance(shape, outer, f64::INFINITY);
            distance = distance.min(d);
            if leaves(shape, outer, slack) {
                let what = format!("part {} is not wholly on the remnant", self.name(part));
                self.refuse(what);
                return;
            }
        }
        for (solid, what) in &ground.solids {
            let d = profile_distance(shape, solid, f64::INFINITY);
            let over = apart_inside(shape, solid, d, slack)
                || overlap(shape, solid, d, (self.job.edge_margin, slack));
            if over {
                let what = format!("part {} lies over {what}", self.name(part));
                self.refuse(what);
                return;
            }
            distance = distance.min(d);
        }
        if self
            .report
            .part_to_edge
            .is_none_or(|c| distance < c.distance)
        {
            self.report.part_to_edge = Some(Clearance {
                distance,
                sheet: self.index,
                part,
                other: None,
            });
        }
        if distance < self.job.edge_margin - self.job.slack {
            let what = format!(
                "part {} lies {} from the sheet's edge, its holes or clamps, and the margin is {}",
                self.name(part),
                self.short(distance),
                told(self.job.edge_margin, self.job.show)
            );
            self.refuse(what);
        }
    }

    /// Two parts.
    fn pair(&mut self, (i, a): (usize, &Shape), (j, b): (usize, &Shape)) {
        let gap = self.job.gap;
        let distance = profile_distance(a, b, self.reach());
        let slack = self.job.slack;
        let (first, second) = (self.name(i).to_owned(), self.name(j).to_owned());
        if apart_inside(a, b, distance, slack) {
            self.refuse(format!(
                "parts {first} and {second} overlap: one lies inside the other"
            ));
            return;
        }
        if overlap(a, b, distance, (gap, slack)) {
            self.refuse(format!("parts {first} and {second} overlap"));
            return;
        }
        let smallest = self.report.part_to_part;
        if distance.is_finite() && smallest.is_none_or(|c| distance < c.distance) {
            self.report.part_to_part = Some(Clearance {
                distance,
                sheet: self.index,
                part: i,
                other: Some(j),
            });
        }
        if distance < gap - slack {
            let how = if distance > 0.0 {
                "are too close"
            } else {
                "overlap or touch"
            };
            self.refuse(format!(
                "parts {first} and {second} {how}: {} apart, and the gap is {}",
                self.short(distance),
                told(gap, self.job.show)
            ));
        }
    }
}

/// Smallest distance between two profiles, mm; infinite where it is over `reach`.
fn profile_distance(a: &Shape, b: &Shape, reach: f64) -> f64 {
    let mut best = f64::INFINITY;
    let mut limit = reach;
    let near = |p: &&Piece, s: &Shape| box_distance((p.lo, p.hi), (s.lo, s.hi)) <= reach;
    let mut left: Vec<&Piece> = a.pieces.iter().filter(|p| near(p, b)).collect();
    let mut right: Vec<&Piece> = b.pieces.iter().filter(|p| near(p, a)).collect();
    left.sort_by(|p, q| p.lo.x.total_cmp(&q.lo.x));
    right.sort_by(|p, q| p.lo.x.total_cmp(&q.lo.x));
    for p in left {
        for q in &right {
            if q.lo.x - p.hi.x > limit {
                break;
            }
            if box_distance((p.lo, p.hi), (q.lo, q.hi)) <= limit {
                let d = p.distance(q);
                if d <= limit {
                    best = best.min(d);
                    limit = limit.min(d);
                }
            }
        }
    }
    best
}

/// True where one lies inside the other, their profiles `distance` apart.
fn apart_inside(a: &Shape, b: &Shape, distance: f64, slack: f64) -> bool {
    let inside = |a: &Shape, b: &Shape| a.pieces.first().is_some_and(|p| b.holds(p.a));
    // Nearer than the slack, rounding decides which side a corner is on.
    distance > slack && (inside(a, b) || inside(b, a))
}

/// True where two overlap whose profiles meet. With a clearance to be kept,
/// what overlaps is closer than that; without one, or one as small as the
/// slack, depth must be looked for.
fn overlap(a: &Shape, b: &Shape, distance: f64, (clearance, slack): (f64, f64)) -> bool {
    clearance <= 2.0 * slack && distance <= slack && (enters(a, b, slack) || enters(b, a, slack))
}

/// True where the profile of `a`, or its ground just inside the profile,
/// lies in `b` by more than `slack`: looked for at the ends and the middle
/// of each stretch between crossings.
fn enters(a: &Shape, b: &Shape, slack: f64) -> bool {
    let deep = |p: Vec2| b.holds(p) && b.profile_distance(p) > slack;
    stretches(a, b, slack, |p, f, g| {
        let middle = p.at(0.5 * (f + g));
        // Three slacks to either side: the side inside a is ground of a.
        let across = (p.at(g) - p.at(f)).unit().left() * (3.0 * slack);
        let within = [middle + across, middle - across]
            .into_iter()
            .any(|q| a.holds(q) && a.profile_distance(q) > slack && deep(q));
        within || deep(middle) || deep(p.at(f)) || deep(p.at(g))
    })
}

/// True where the profile of `a` lies outside `b` by more than `slack`,
/// looked for in the same way.
fn leaves(a: &Shape, b: &Shape, slack: f64) -> bool {
    let out = |p: Vec2| !b.holds(p) && b.profile_distance(p) > slack;
    stretches(a, b, slack, |p, f, g| {
        out(p.at(0.5 * (f + g))) || out(p.at(f)) || out(p.at(g))
    })
}

/// True where any stretch of the profile of `a` between its meetings with `b`
/// (a piece, and fractions of it) is as asked.
fn stretches(a: &Shape, b: &Shape, slack: f64, asked: impl Fn(&Piece, f64, f64) -> bool) -> bool {
    a.pieces.iter().any(|p| {
        let mut cuts = vec![0.0, 1.0];
        for q in &b.pieces {
            if box_distance((p.lo, p.hi), (q.lo, q.hi)) > 0.0 {
                continue;
            }
            cuts.extend(p.crossings(q).into_iter().map(|c| p.fraction(c)));
            // Ends of the other that lie along this one.
            cuts.extend(
                [q.a, q.b]
                    .into_iter()
                    .filter(|&c| p.distance_to(c) <= slack)
                    .map(|c| p.fraction(c)),
            );
        }
        cuts.sort_by(f64::total_cmp);
        cuts.windows(2).any(|pair| asked(p, pair[0], pair[1]))
    })
}
