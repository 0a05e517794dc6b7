//! The fewest pages that hold all ink of a drawing and hang together.
//!
//! Every whole degree of half a turn is tried (the other half is the same
//! lattice upside down), and at each many shifts. What may need the fewest pages
//! is looked into first, and nothing that needs more than the best: a turn needs
//! those from side to side of its box, a shift across of it those that its ink
//! needs there at the best shift along. Of equally few pages the fewest joints
//! across holes are taken, and off a roll the least paper.

use std::collections::BTreeSet;

use super::cover::{Cover, Field, Lines, Score, count};
use super::lattice::{NEAR, Turned};
use crate::geom::outline::hull;
use crate::geom::{Vec2, vec2};

/// The fewest pages found for a drawing; `None` where it has no ink.
#[must_use]
pub fn cover(lines: &Lines, field: Field) -> Option<Cover> {
    if lines.chords.is_empty() {
        return None;
    }
    let around = hull(lines.chords.iter().flatten().copied().collect());
    // The long way of a part lies along x: up the page first. What reads along x
    // stands on its head at none of these.
    let degrees = [90].into_iter().chain(-89..90);
    let turns: Vec<f64> = degrees.map(|d| f64::from(d).to_radians()).collect();
    // The fewest pages that may come of it, whether it is a whole turn, the
    // turn's index, and that of a shift across.
    let mut open: BTreeSet<(usize, bool, usize, usize)> = (turns.iter().enumerate())
        .map(|(k, &turn)| (at_least(&around, &field, turn), true, k, 0))
        .collect();
    let mut best: Option<(Score, Cover)> = None;
    while let Some((least, whole, k, shift)) = open.pop_first() {
        if (best.as_ref()).is_some_and(|(s, _)| s.enough(least, &field)) {
            break;
        }
        let turned = Turned::new(lines, field, turns[k]);
        if whole {
            let needs = turned.needs().into_iter().enumerate();
            open.extend(needs.map(|(i, pages)| (pages.max(least), false, k, i)));
        } else {
            turned.search(shift, &mut best);
        }
    }
    best.map(|(_, cover)| cover)
}

/// Pages that a drawing takes at least at a turn, from its convex hull: those
/// that hang together from side to side of its box, both ways.
fn at_least(around: &[Vec2], field: &Field, turn: f64) -> usize {
    let (along, pitch) = (vec2(1.0, 0.0).turned(turn), field.pitch());
    let more = |way: Vec2, side: f64, pitch: f64| {
        let at = around.iter().map(|p| p.dot(way));
        let high = at.clone().fold(f64::NEG_INFINITY, f64::max);
        let span = high - at.fold(f64::INFINITY, f64::min);
        count(((span - side) / pitch - NEAR).ceil())
    };
    // The drawing's x comes to lie along `along`.
    1 + more(vec2(along.x, -along.y), field.width, pitch.x)
        + more(vec2(along.y, along.x), field.length, pitch.y)
}

#[cfg(test)]
#[path = "tests/cover.rs"]
mod tests;
