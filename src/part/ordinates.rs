//! Ordinates of both edges from the straight base line y = 0: what a shop
//! without a table lofts on the plate.

use std::f64::consts::TAU;

use crate::geom::{Outline, Segment, trig, vec2};

use super::detailed::Ordinate;

/// Points within this of the left or right extreme, mm, belong to it.
const EXTREME: f64 = 1e-6;
/// Most ordinates of one part: a spacing far too small is widened.
const MOST: f64 = 2000.0;

/// Height of a segment that runs one way along x, where it has this x, mm.
fn y_at(s: &Segment, x: f64) -> f64 {
    if let Some(c) = s.circle {
        let dx = x - c.centre.x;
        let dy = (c.radius * c.radius - dx * dx).max(0.0).sqrt();
        let above = s.at(0.5).y > c.centre.y;
        return c.centre.y + if above { dy } else { -dy };
    }
    s.a.y + (s.b.y - s.a.y) * ((x - s.a.x) / (s.b.x - s.a.x))
}

/// Ordinates every `spacing` mm from x = 0, and at the right extreme, exact
/// on the outline's lines and arcs. Where a square line meets the outline
/// more than twice, no ordinate is given.
pub(super) fn along(outline: &Outline, spacing: f64) -> Vec<Ordinate> {
    let (lo, hi) = outline.bounds();
    let length = hi.x - lo.x;
    if !(length.is_finite() && length > 0.0 && spacing > 0.0) {
        return Vec::new();
    }
    let spacing = spacing.max(length / MOST);
    let pieces = pieces(outline);
    let mut out = Vec::new();
    out.extend(extreme(&pieces, lo.x));
    let mut k = 1.0;
    // An ordinate closer to the end than a hundredth of the spacing says nothing.
    while k * spacing < length - 0.01 * spacing {
        out.extend(section(&pieces, lo.x + k * spacing));
        k += 1.0;
    }
    out.extend(extreme(&pieces, hi.x));
    out
}

/// Segments that run one way along x: arcs are parted where they are upright.
fn pieces(outline: &Outline) -> Vec<Segment> {
    let mut out = Vec::new();
    for segment in outline.segments() {
        let Some(circle) = segment.circle else {
            out.push(segment);
            continue;
        };
        let from = segment.a - circle.centre;
        let mut cuts: Vec<f64> = [vec2(1.0, 0.0), vec2(-1.0, 0.0)]
            .into_iter()
            .map(|upright| {
                let turn = trig::atan2(from.cross(upright), from.dot(upright));
                let sweep = segment.sweep();
                (turn * sweep.signum()).rem_euclid(TAU) / sweep.abs()
            })
            .filter(|&f| f > 0.0 && f < 1.0)
            .collect();
        cuts.sort_by(f64::total_cmp);
        cuts.push(1.0);
        let mut from = 0.0;
        for to in cuts {
            out.push(segment.part(from, to));
            from = to;
        }
    }
    out
}

fn section(pieces: &[Segment], x: f64) -> Option<Ordinate> {
    let ys: Vec<f64> = pieces
        .iter()
        .filter(|p| (p.a.x <= x) != (p.b.x <= x))
        .map(|p| y_at(p, x))
        .collect();
    match ys[..] {
        [a, b] => Some(Ordinate {
            x,
            lower: a.min(b),
            upper: a.max(b),
        }),
        _ => None,
    }
}

/// What the outline has at its left or right extreme: a corner, a straight
/// end or the crown of an arc.
fn extreme(pieces: &[Segment], x: f64) -> Option<Ordinate> {
    let ys = pieces
        .iter()
        .filter(|p| (p.a.x - x).abs() <= EXTREME)
        .map(|p| p.a.y);
    let (lower, upper) = ys.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), y| {
        (a.min(y), b.max(y))
    });
    (lower <= upper).then_some(Ordinate { x, lower, upper })
}
