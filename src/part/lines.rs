//! Lines for the marker.
//!
//! What a fitter wants, and no more: a stanchion's footprint in full; a
//! station as a short tick square to both edges, so that the plate stays
//! clear and a straightedge laid over both gives the line; the net end and
//! the boat's centreline right across; where a doubler is welded on, its
//! outline. Lines stay off the outline and are broken at holes. All
//! distances are common practice, no source.

use crate::geom::{Vec2, vec2};
use crate::layout::{CrossKind, Feature};

use super::detailed::{Hole, Mark, MarkKind};
use super::room::{Block, line_block};
use super::sheet::{EDGE_CLEAR, LINE_CLEAR, Named, Sheet, Tag};

/// A footprint may come this near the edge, mm: the stanchions' outboard
/// faces stand a weld setback inside it, and the line is wanted there.
const FOOTPRINT_CLEAR: f64 = 1.0;
/// A tick begins [`EDGE_CLEAR`] from the edge along the line across, which
/// may lean: square to the edge it is a little less.
const TICK_CLEAR: f64 = 2.95;
/// Length of a station's ticks, mm, and the most of the width they take.
const TICK: (f64, f64) = (25.0, 0.2);
/// Steps in which a doubler's long edges follow the plate's curve.
const DOUBLER_STEPS: u32 = 12;
/// Step in t in which the edge of the plate below is followed: chords leave a curve
/// of a metre's radius by a hundredth of a millimetre.
const EDGE_STEP: f64 = 10.0;
/// Bits of a broken line shorter than this, mm, are left out.
const SHORTEST: f64 = 4.0;
/// Step, mm, in which a line is searched for what breaks it: no hole with its
/// clearance is smaller.
const SEARCH: f64 = 2.0;
impl Sheet<'_> {
    /// Parts of a straight line that lie `clear` mm inside the outline and
    /// off the holes.
    fn clipped(&self, a: Vec2, b: Vec2, clear: f64) -> Vec<[Vec2; 2]> {
        let whole = line_block(a, b);
        let off_holes = |p: Vec2| {
            self.holes
                .iter()
                .all(|h| p.distance(h.centre) >= h.diameter / 2.0 + EDGE_CLEAR)
        };
        let length = a.distance(b);
        let near = |h: &Hole| {
            let reach = 0.5 * length + h.diameter / 2.0 + EDGE_CLEAR;
            h.centre.distance(whole.centre) < reach
        };
        if self.profile.holds(&whole, clear) && !self.holes.iter().any(near) {
            return vec![[a, b]];
        }
        let good = |f: f64| {
            let p = a.lerp(b, f);
            self.profile.holds_disc(p, clear) && off_holes(p)
        };
        let edge = |mut good_at: f64, mut bad_at: f64| {
            for _ in 0..24 {
                let mid = 0.5 * (good_at + bad_at);
                if good(mid) {
                    good_at = mid;
                } else {
                    bad_at = mid;
                }
            }
            good_at
        };
        let steps = (length / SEARCH).ceil().clamp(1.0, 5000.0);
        let mut out = Vec::new();
        let mut start = good(0.0).then_some(0.0);
        let mut before = 0.0;
        let mut k = 1.0;
        while k <= steps {
            let f = k / steps;
            match (start, good(f)) {
                (None, true) => start = Some(edge(f, before)),
                (Some(s), false) => {
                    out.push([a.lerp(b, s), a.lerp(b, edge(before, f))]);
                    start = None;
                }
                _ => {}
            }
            before = f;
            k += 1.0;
        }
        if let Some(s) = start {
            out.push([a.lerp(b, s), b]);
        }
        out.retain(|[p, q]| p.distance(*q) >= SHORTEST);
        out
    }

    /// Parts of a line through places that lie on the plate.
    fn followed(&self, points: &[Vec2]) -> Vec<Vec<Vec2>> {
        let mut strokes: Vec<Vec<Vec2>> = Vec::new();
        for pair in points.windows(2) {
            for [a, b] in self.clipped(pair[0], pair[1], FOOTPRINT_CLEAR) {
                match strokes.last_mut() {
                    Some(s) if s.last() == Some(&a) => s.push(b),
                    _ => strokes.push(vec![a, b]),
                }
            }
        }
        strokes
    }

    fn add_mark(&mut self, kind: MarkKind, strokes: Vec<Vec<Vec2>>) {
        for s in &strokes {
            for w in s.windows(2) {
                self.field.add_line(w[0], w[1], LINE_CLEAR);
            }
        }
        if !strokes.is_empty() {
            let along = vec2(1.0, 0.0);
            self.marks.push(Mark {
                kind,
                strokes,
                along,
            });
        }
    }
}

/// Draws footprints and lines across, and notes their names for lettering.
pub(super) fn draw(sheet: &mut Sheet) {
    for feature in sheet.input.features {
        match feature {
            Feature::Hole { .. } => {}
            Feature::Footprint { corners, name } => footprint(sheet, corners, name),
            Feature::Doubler { t, w, name } => doubler(sheet, *t, *w, name),
            Feature::EdgeLine { t, w } => edge_line(sheet, *t, *w),
            Feature::CrossLine { t, name, kind } => cross_line(sheet, *t, name, *kind),
        }
    }
}

/// A closed outline, as far as it lies on the plate: its corners. `None`, and
/// told, where nothing of it does.
fn print(sheet: &mut Sheet, corners: &[(f64, f64)], name: &str) -> Option<Vec<Vec2>> {
    let points: Vec<Vec2> = corners
        .iter()
        .map(|&(t, w)| sheet.frame.apply(sheet.input.flat.jet(t, w)[0]))
        .collect();
    let round = [&points[..], &points[..1.min(points.len())]].concat();
    let strokes = sheet.followed(&round);
    if strokes.is_empty() {
        sheet
            .left_out
            .push(format!("footprint {name}: it lies off the plate"));
        return None;
    }
    sheet.add_mark(MarkKind::Footprint, strokes);
    Some(points)
}

/// A doubler's outline; what it hides is kept free of letters.
fn doubler(sheet: &mut Sheet, t: (f64, f64), w: (f64, f64), name: &str) {
    let along = |k: u32| t.0 + (t.1 - t.0) * f64::from(k) / f64::from(DOUBLER_STEPS);
    let corners: Vec<(f64, f64)> = (0..=DOUBLER_STEPS)
        .map(|k| (along(k), w.0))
        .chain((0..=DOUBLER_STEPS).rev().map(|k| (along(k), w.1)))
        .collect();
    let at = |t: f64, w: f64| sheet.frame.apply(sheet.input.flat.jet(t, w)[0]);
    let blocks: Vec<Block> = (0..DOUBLER_STEPS)
        .map(|k| {
            let ends = [along(k), along(k + 1)].map(|t| [at(t, w.0), at(t, w.1)]);
            let [from, to] = ends.map(|[lo, hi]| lo.lerp(hi, 0.5));
            let wide = ends.map(|[lo, hi]| lo.distance(hi));
            Block {
                half: vec2(0.5 * from.distance(to), 0.25 * (wide[0] + wide[1])),
                ..line_block(from, to)
            }
        })
        .collect();
    for block in blocks {
        sheet.field.hide(block);
    }
    if print(sheet, &corners, name).is_none() {
        return;
    }
    sheet.tags.push(Tag {
        text: name.to_owned(),
        t: 0.5 * (t.0 + t.1),
        w: 0.5 * (w.0 + w.1),
        of: Named::Doubler { t, w },
    });
}

/// An edge of the plate below, in chords.
fn edge_line(sheet: &mut Sheet, t: (f64, f64), w: f64) {
    let steps = ((t.1 - t.0) / EDGE_STEP).abs().ceil().max(1.0);
    let mut points = Vec::new();
    let mut k = 0.0;
    while k <= steps {
        let t = t.0 + (t.1 - t.0) * k / steps;
        points.push(sheet.frame.apply(sheet.input.flat.jet(t, w)[0]));
        k += 1.0;
    }
    let strokes = sheet.followed(&points);
    sheet.add_mark(MarkKind::PlateEdge, strokes);
}

fn footprint(sheet: &mut Sheet, corners: &[(f64, f64)], name: &str) {
    let Some(points) = print(sheet, corners, name) else {
        return;
    };
    let k = 1.0 / corners.len() as f64;
    let middle = corners
        .iter()
        .fold((0.0, 0.0), |(t, w), c| (t + c.0 * k, w + c.1 * k));
    sheet.tags.push(Tag {
        text: name.to_owned(),
        t: middle.0,
        w: middle.1,
        of: Named::Stanchion(points),
    });
}

fn cross_line(sheet: &mut Sheet, t: f64, name: &str, kind: CrossKind) {
    let at = |w: f64| sheet.frame.apply(sheet.input.flat.jet(t, w)[0]);
    let (o, m, i) = (at(0.0), at(0.5), at(1.0));
    let mut strokes = Vec::new();
    if kind == CrossKind::Station {
        let width = o.distance(i);
        let tick = TICK.0.min(TICK.1 * width);
        for (from, to) in [(o, m), (i, m)] {
            let d = (to - from).unit();
            let (p, q) = (from + d * EDGE_CLEAR, from + d * (EDGE_CLEAR + tick));
            strokes.extend(sheet.clipped(p, q, TICK_CLEAR).into_iter().map(Vec::from));
        }
    } else {
        strokes.extend(sheet.clipped(o, m, EDGE_CLEAR).into_iter().map(Vec::from));
        for line in sheet.clipped(m, i, EDGE_CLEAR).into_iter().map(Vec::from) {
            match strokes.last_mut() {
                Some(s) if s.last() == line.first() => s.extend_from_slice(&line[1..]),
                _ => strokes.push(line),
            }
        }
    }
    if strokes.is_empty() {
        sheet.left_out.push(format!("line {name}: no room"));
        return;
    }
    let (kind, w) = match kind {
        CrossKind::Station => (MarkKind::Station, 0.0),
        CrossKind::Net => (MarkKind::Net, 0.5),
        CrossKind::Centreline => (MarkKind::Centreline, 0.5),
        CrossKind::Scarf => (MarkKind::Scarf, 0.5),
    };
    sheet.add_mark(kind, strokes);
    sheet.tags.push(Tag {
        text: name.to_owned(),
        t,
        w,
        of: Named::Line,
    });
}
