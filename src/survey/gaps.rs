//! Lengths of edge that were passed over.

use super::{Chain, Note, Point};
use crate::fault::Place;
use crate::length::{Show, show};

/// A spacing this many times its neighbours' is a gap. Twice is usual where
/// a surveyor steps from the bends to the straight; four times is not. Our
/// own figure, no source.
const GAP: f64 = 4.0;

/// Spacings looked at on each side.
const BESIDE: usize = 2;

/// Most gaps that are told of a chain.
const MOST: usize = 5;

/// Notes of the gaps in chains. A spacing is set against the second largest
/// of its neighbours, two on each side: passes that interleave make short
/// spacings between long ones, and one point alone in a gap does not hide it.
pub(super) fn gaps(chains: &[Chain], notes: &mut Vec<Note>) {
    for chain in chains {
        let steps: Vec<f64> = chain
            .points
            .windows(2)
            .map(|w| apart(&w[0], &w[1]))
            .collect();
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
            notes.push(Note {
                place: Place::file(w[1].file.as_str()).line(w[1].line),
                text: format!(
                    "no point was measured over {} between {} and {}; beside it the points are {} apart",
                    show(steps[i], Show::Mm),
                    w[0].name,
                    w[1].name,
                    show(usual, Show::Mm)
                ),
            });
        }
    }
}

fn apart(a: &Point, b: &Point) -> f64 {
    a.at.distance(b.at)
}
