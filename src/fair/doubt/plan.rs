//! The parameter of the points along their edge in plan, which no slip may stretch.

use super::search::{Laid, NoiseModel};
use super::walk::{Path, walk};
use crate::geom::{Vec2, trig, vec2};

/// Points nearer along the edge than this many accuracies do not carry its length: a
/// dense scan's zigzag would count as way.
const POST_ACCURACIES: f64 = 8.0;

/// Rounds that move a doubtful point to where its neighbours want it: each gains a
/// figure or more where the edge turns by less than a radian across the slip.
const ROUNDS: usize = 4;

/// Flattest angle, as a sine, between the line and the axis of a figure that can
/// tell it: at a tenth the figure's spread is ten times the line's.
pub(super) const FLATTEST: f64 = 0.1;

/// An end within this share of the half-beam from the centreline is a stem or a pinched stern.
const STEM: f64 = 0.12;

/// Standard deviation of how far an edge turns in to its stem beyond its neighbours' curve,
/// over the distance to the next point: a full bow, round as a parabola, turns in by 0.4 of it.
/// Without this every full bow is doubted at the stem.
const STEM_TURN: f64 = 0.15;

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

/// A place that carries the length along an edge.
struct Post {
    /// Of the point, or of the middle one.
    index: usize,
    at: Vec2,
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
            let (a, b) = (pair[0].at, pair[1].at);
            let span = [pair[0].index, pair[1].index];
            let chord = b - a;
            let length = chord.length();
            let along = chord.unit();
            // The first and the last chord reach to points beyond them.
            let from = if k == 0 { 0 } else { span[0] };
            let to = if k + 2 == posts.len() {
                points.len()
            } else {
                span[1]
            };
            for i in from..to {
                at[i] = way + (points[i] - a).dot(along);
                if i > span[0] && i < span[1] {
                    at[i] = at[i].clamp(way, way + length);
                }
                square[i] = [-along.y, along.x];
            }
            if let Some(before) = k.checked_sub(1).and_then(|k| posts.get(k)) {
                let over = (b - before.at).unit();
                square[span[0]] = [-over.y, over.x];
            }
            way += length;
        }
        for i in 1..at.len() {
            at[i] = at[i].max(at[i - 1]);
        }
        let mean = spacing(&at);
        let turn = self.stems(&posts, &square);
        Laid {
            steps: at.windows(2).map(|w| (w[1] - w[0]) / mean).collect(),
            values: points.iter().map(|p| [p.x, p.y]).collect(),
            square,
            turn,
        }
    }

    /// At an end near the centreline the edge may turn in to the stem: how far.
    fn stems(&self, posts: &[Post], square: &[[f64; 2]]) -> Vec<f64> {
        let points = self.points;
        let mut turn = vec![0.0; points.len()];
        let beam = points.iter().fold(0.0, |m: f64, p| m.max(p.y.abs()));
        let Some(last) = points.len().checked_sub(1) else {
            return turn;
        };
        for end in [0, last] {
            let inner = if end == 0 {
                posts.iter().find(|p| p.index > 0)
            } else {
                posts.iter().rev().find(|p| p.index < last)
            };
            let Some(inner) = inner.map(|p| p.at) else {
                continue;
            };
            if points[end].y.abs() <= STEM * beam {
                let inward = -inner.y.signum() * square[end][1].signum();
                turn[end] = inward * STEM_TURN * inner.distance(points[end]);
            }
        }
        turn
    }

    /// Places that carry the length: the kept points, or in a dense scan the medians of so
    /// many that the way between two is plain.
    fn posts(&self, out: &[bool]) -> Vec<Post> {
        let kept: Vec<usize> = (0..self.points.len()).filter(|i| !out[*i]).collect();
        let least = POST_ACCURACIES * self.accuracy;
        let mut count = 1;
        while 4 * count < kept.len() && self.reach(&kept, count) <= least {
            count *= 2;
        }
        let mut posts: Vec<Post> = Vec::new();
        for group in kept.chunks(count) {
            let middle = |v: &dyn Fn(&Vec2) -> f64| {
                let mut all: Vec<f64> = group.iter().map(|i| v(&self.points[*i])).collect();
                let half = all.len() / 2;
                *all.select_nth_unstable_by(half, f64::total_cmp).1
            };
            let at = vec2(middle(&|p| p.x), middle(&|p| p.y));
            let index = group[group.len() / 2];
            let far = posts.last().is_none_or(|l| {
                let way = at.distance(l.at);
                way > least && way > 0.0
            });
            if far {
                posts.push(Post { index, at });
            }
        }
        posts
    }

    /// Median distance between points `count` apart.
    fn reach(&self, kept: &[usize], count: usize) -> f64 {
        let far = |w: (&usize, &usize)| self.points[*w.0].distance(self.points[*w.1]);
        let mut all: Vec<f64> = kept.iter().zip(kept.iter().skip(count)).map(far).collect();
        let half = all.len() / 2;
        if all.is_empty() {
            return f64::INFINITY;
        }
        *all.select_nth_unstable_by(half, f64::total_cmp).1
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
    noise: NoiseModel,
) -> (Vec<Vec2>, Laid<2>) {
    let mut places = edge.points.to_vec();
    for _ in 0..ROUNDS {
        let laid = Edge {
            points: &places,
            accuracy: edge.accuracy,
        }
        .lay(out);
        let rough = laid.rough(noise.local);
        let path = Path {
            steps: &laid.steps,
            rough: &rough,
            values: &laid.values,
            out,
            corner: None,
        };
        let (_, left_out) = walk(&path, trig::pow(10.0, noise.rho));
        for i in (0..places.len()).filter(|i| out[*i]) {
            let square = laid.square[i];
            let residual =
                left_out[i].residual[0] * square[0] + left_out[i].residual[1] * square[1];
            let share = axis(i).of(square);
            if share.abs() < FLATTEST {
                continue;
            }
            match axis(i) {
                Axis::X => places[i].x -= residual / share,
                Axis::Y => places[i].y -= residual / share,
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
