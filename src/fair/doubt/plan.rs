//! The parameter of the points along their edge in plan, which no slip may stretch.

use super::search::{Laid, Manner};
use super::walk::{Path, walk};
use crate::geom::{Vec2, trig};

/// Points nearer along the edge than this many accuracies do not carry its length: a
/// dense scan's zigzag would count as way.
const POST_ACCURACIES: f64 = 8.0;

/// Rounds that move a doubtful point to where its neighbours want it: each gains a
/// figure or more where the edge turns by less than a radian across the slip.
const ROUNDS: usize = 4;

/// Flattest angle, as a sine, between the line and the axis of a figure that can
/// tell it: at a tenth the figure's spread is ten times the line's.
pub(super) const FLATTEST: f64 = 0.1;

/// An axis of the plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Axis {
    /// Fore and aft.
    X,
    /// Athwart.
    Y,
}

impl Axis {
    pub(super) fn of(self, v: [f64; 2]) -> f64 {
        match self {
            Self::X => v[0],
            Self::Y => v[1],
        }
    }

    pub(super) fn other(self) -> Self {
        match self {
            Self::X => Self::Y,
            Self::Y => Self::X,
        }
    }
}

/// Points in order along an edge.
#[derive(Debug, Clone, Copy)]
pub(super) struct Edge<'a> {
    pub(super) points: &'a [Vec2],
    pub(super) accuracy: f64,
}

impl Edge<'_> {
    /// Lays the points along the chords of those that are kept; the others lie where
    /// they are nearest to those.
    pub(super) fn lay(&self, out: &[bool]) -> Laid<2> {
        let points = self.points;
        let posts = self.posts(out);
        let mut at = vec![0.0; points.len()];
        let mut square = vec![[0.0, 1.0]; points.len()];
        let mut way = 0.0;
        for (k, pair) in posts.windows(2).enumerate() {
            let (a, b) = (points[pair[0]], points[pair[1]]);
            let chord = b - a;
            let length = chord.length();
            let along = chord.unit();
            // The first and the last chord reach to points beyond them.
            let from = if k == 0 { 0 } else { pair[0] };
            let to = if k + 2 == posts.len() {
                points.len()
            } else {
                pair[1]
            };
            for i in from..to {
                at[i] = way + (points[i] - a).dot(along);
                if i > pair[0] && i < pair[1] {
                    at[i] = at[i].clamp(way, way + length);
                }
                square[i] = [-along.y, along.x];
            }
            if let Some(before) = k.checked_sub(1).and_then(|k| posts.get(k)) {
                let over = (b - points[*before]).unit();
                square[pair[0]] = [-over.y, over.x];
            }
            way += length;
        }
        for i in 1..at.len() {
            at[i] = at[i].max(at[i - 1]);
        }
        let mean = spacing(&at);
        Laid {
            steps: at.windows(2).map(|w| (w[1] - w[0]) / mean).collect(),
            values: points.iter().map(|p| [p.x, p.y]).collect(),
            square,
        }
    }

    /// Kept points that carry the length.
    fn posts(&self, out: &[bool]) -> Vec<usize> {
        let least = POST_ACCURACIES * self.accuracy;
        let mut posts: Vec<usize> = Vec::new();
        for (i, p) in self.points.iter().enumerate().filter(|(i, _)| !out[*i]) {
            let far = posts.last().is_none_or(|l| {
                let d = p.distance(self.points[*l]);
                d > least && d > 0.0
            });
            if far {
                posts.push(i);
            }
        }
        posts
    }
}

/// Mean spacing, above nought.
fn spacing(at: &[f64]) -> f64 {
    let way = at.last().copied().unwrap_or(0.0) - at.first().copied().unwrap_or(0.0);
    let mean = way / (at.len().max(2) - 1) as f64;
    if mean > 0.0 { mean } else { 1.0 }
}

/// Where the points that are left out would lie if one figure of each were wrong: the
/// places, and the lay of all points then.
pub(super) fn settle(
    edge: Edge<'_>,
    out: &[bool],
    axis: &dyn Fn(usize) -> Axis,
    manner: Manner,
) -> (Vec<Vec2>, Laid<2>) {
    let mut places = edge.points.to_vec();
    for _ in 0..ROUNDS {
        let laid = Edge {
            points: &places,
            accuracy: edge.accuracy,
        }
        .lay(out);
        let rough = laid.rough(manner.local);
        let path = Path {
            steps: &laid.steps,
            rough: &rough,
            values: &laid.values,
            out,
            corner: None,
        };
        let (_, told) = walk(&path, trig::pow(10.0, manner.rho));
        for i in (0..places.len()).filter(|i| out[*i]) {
            let square = laid.square[i];
            let rest = told[i].rest[0] * square[0] + told[i].rest[1] * square[1];
            let share = axis(i).of(square);
            if share.abs() < FLATTEST {
                continue;
            }
            match axis(i) {
                Axis::X => places[i].x -= rest / share,
                Axis::Y => places[i].y -= rest / share,
            }
        }
    }
    let laid = Edge {
        points: &places,
        accuracy: edge.accuracy,
    }
    .lay(out);
    (places, laid)
}
