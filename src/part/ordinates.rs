//! Ordinates of both edges from the straight base line y = 0: what a shop
//! without a table lofts on the plate.

use std::f64::consts::TAU;

use crate::geom::{Outline, Segment, Vec2, trig, vec2};

use super::detailed::Ordinate;

/// Points within this of the left or right extreme, mm, belong to it: both
/// corners of an end that is square but for what a plate bends.
const EXTREME: f64 = 0.05;
/// A place along the base line is moved by this, mm, where the outline has a
/// corner there and rounding hides which lines meet in it.
const NUDGE: f64 = 1e-7;
/// Heights and places nearer than this, mm, are one.
const SAME: f64 = 1e-4;
/// An outline that turns by more than this, rad, has a corner there: fitted
/// lines and arcs turn by less than a hundredth where they join.
const CORNER: f64 = 0.05;
/// An ordinate nearer to a corner than this share of the spacing says nothing.
const NEAR: f64 = 0.01;
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

/// Ordinates every `spacing` mm from x = 0, at every corner and at the right
/// extreme, exact on the outline's lines and arcs: the places of each edge in
/// order, joined by battens and straight between corners, are the outline.
/// Where a square line meets the outline more than twice, no ordinate is given.
pub(super) fn along(outline: &Outline, spacing: f64) -> Vec<Ordinate> {
    let (lo, hi) = outline.bounds();
    let length = hi.x - lo.x;
    if !(length.is_finite() && length > 0.0 && spacing > 0.0) {
        return Vec::new();
    }
    let spacing = spacing.max(length / MOST);
    let pieces = pieces(outline);
    let corners = corners(outline);
    let mut places: Vec<f64> = (corners.iter().map(|c| c.x))
        .filter(|x| *x > lo.x + EXTREME && *x < hi.x - EXTREME)
        .collect();
    let mut k = 1.0;
    while k * spacing < length {
        let x = lo.x + k * spacing;
        let told = corners.iter().map(|c| c.x).chain([hi.x]);
        if told.map(|c| (c - x).abs()).all(|far| far >= NEAR * spacing) {
            places.push(x);
        }
        k += 1.0;
    }
    places.sort_by(f64::total_cmp);
    places.dedup_by(|a, b| (*a - *b).abs() <= SAME);
    let mut out = Vec::new();
    out.extend(extreme(&pieces, lo.x));
    out.extend(places.into_iter().filter_map(|x| {
        let mut beside = [0.0, NUDGE, -NUDGE].into_iter();
        let found = beside.find_map(|by| section(&pieces, x + by))?;
        Some(Ordinate { x, ..found })
    }));
    out.extend(extreme(&pieces, hi.x));
    for o in &mut out {
        let here = |c: &&Vec2| (c.x - o.x).abs() <= EXTREME;
        let at = |y: f64| (corners.iter().filter(here)).any(|c| (c.y - y).abs() <= SAME);
        o.corners = [at(o.lower), at(o.upper)];
    }
    out
}

/// Where the outline turns.
fn corners(outline: &Outline) -> Vec<Vec2> {
    let all: Vec<Segment> = outline.segments().collect();
    let next = all.iter().cycle().skip(1);
    all.iter()
        .zip(next)
        .filter(|(a, b)| {
            let (before, after) = (a.direction(1.0), b.direction(0.0));
            trig::atan2(before.cross(after), before.dot(after)).abs() > CORNER
        })
        .map(|(a, _)| a.b)
        .collect()
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
            corners: [false; 2],
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
    (lower <= upper).then_some(Ordinate {
        x,
        lower,
        upper,
        corners: [false; 2],
    })
}
