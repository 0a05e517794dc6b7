//! Lengths of edge that were passed over.

use super::model::{Chain, Note, Point};
use crate::geom::{Vec2, trig};
use crate::length::{Show, number, show};

/// A spacing this many times its neighbours' is a gap. Twice is usual where
/// a surveyor steps from the bends to the straight; four times is not. Our
/// own figure, no source.
const GAP: f64 = 4.0;

/// Spacings looked at on each side.
const BESIDE: usize = 2;

/// A line that turns by more than this at a point beside the centreline, rad,
/// was not measured round its stern. Our own figure,
/// no source: a half circle of five points turns by 45 degrees at each.
const STERN_TURN: f64 = std::f64::consts::FRAC_PI_3;

/// Most gaps that are told of a chain.
const MOST: usize = 5;

/// Notes of the gaps in chains. A spacing is set against the second largest
/// of its neighbours, two on each side: passes that interleave make short
/// spacings between long ones, and one point alone in a gap does not hide it.
pub(super) fn gaps(chains: &[Chain], shown: Show, notes: &mut Vec<Note>) {
    for chain in chains {
        notes.extend(round_stern(chain, shown));
        let steps = chain.points.windows(2).map(|w| apart(&w[0], &w[1]));
        let steps: Vec<f64> = steps.collect();
        let mut told = 0;
        for (i, w) in chain.points.windows(2).enumerate() {
            let around = i.saturating_sub(BESIDE)..(i + BESIDE + 1).min(steps.len());
            let mut beside: Vec<f64> = around.filter(|&k| k != i).map(|k| steps[k]).collect();
            beside.sort_by(|a, b| b.total_cmp(a));
            let Some(&usual) = beside.get(usize::from(beside.len() > 2)) else {
                continue;
            };
            // Between knuckles the edge may be straight, as across a transom.
            let straight = w[0].knuckle && w[1].knuckle;
            if steps[i] <= GAP * usual || straight || told == MOST {
                continue;
            }
            told += 1;
            notes.push(w[1].note(format!(
                "no point was measured over {} between {} and {}; beside it the points are {} apart",
                show(steps[i], shown),
                w[0].name,
                w[1].name,
                show(usual, shown)
            )));
        }
    }
}

/// Where a chain is a guess: the index of the point before a stern that the
/// line turns round without a point to carry it.
#[must_use]
pub fn guessed(chain: &Chain) -> Option<usize> {
    let mut all = chain.points.windows(4).zip(0..);
    let (w, first) = all.find(|(w, _)| w[1].side != w[2].side)?;
    let straight = w[1].knuckle || w[2].knuckle;
    let [a, b, c] = ways(w)?;
    let sharpest = turn(a, b).max(turn(b, c));
    (sharpest > STERN_TURN && !straight).then_some(first + 1)
}

/// The ways between four points.
fn ways(w: &[Point]) -> Option<[Vec2; 3]> {
    let [a, b, c, d] = w else { return None };
    let way = |a: &Point, b: &Point| (b.at - a.at).plan();
    Some([way(a, b), way(b, c), way(c, d)])
}

fn turn(a: Vec2, b: Vec2) -> f64 {
    trig::atan2(a.cross(b), a.dot(b)).abs()
}

/// A note of a stern that the line turns round between two points.
fn round_stern(chain: &Chain, shown: Show) -> Option<Note> {
    let w = chain.points.get(guessed(chain)? - 1..)?.get(..4)?;
    let [before, _, after] = ways(w)?;
    Some(w[2].note(format!(
            "no point was measured round the stern between {} and {}, {} apart, and the edge turns {} degrees there: the line is a guess; measure round it, or set survey.stern to \"transom\", \"mitre\" or \"open\"",
            w[1].name,
            w[2].name,
            show(apart(&w[1], &w[2]), shown),
            number(turn(before, after).to_degrees(), 0),
        )))
}

fn apart(a: &Point, b: &Point) -> f64 {
    a.at.distance(b.at)
}
