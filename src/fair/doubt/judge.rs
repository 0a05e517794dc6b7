//! The doubtful figures of one run between knuckles: plan and height apart, and which
//! figure of the row it is.

use super::corner::corners;
use super::plan::{Axis, Edge, FLATTEST, settle};
use super::search::{Found, Laid, NoiseModel, Word, search};
use super::walk::{Path, walk};
use crate::geom::{Vec2, trig};
use crate::survey::Point;

/// Least points of a run that say anything of each other: a parabola's three, one in
/// doubt, and two that agree.
const LEAST: usize = 6;

/// Runs longer than this are judged in blocks, with one roughness.
const BLOCK: usize = 512;

/// Points beyond a block on each side that help to judge its own.
const MARGIN: usize = 40;

/// Points that the roughness of a long run is taken from, and the stretches they lie in.
const SAMPLE: (usize, usize) = (96, 6);

/// Least error of a figure, as a share of the stated accuracy: the standard deviation of
/// an error even within plus and minus the accuracy.
const EVEN: f64 = 0.577_350_27;

/// Least error where the job states no accuracy, mm: rounding to a tenth.
const LEAST_ERROR: f64 = 0.05;

/// Spreads within which a figure agrees with a station that is corrected, and beyond
/// which it does not with one that is not.
const AGREES: f64 = 2.5;
const STANDS_OUT: f64 = 3.5;

/// A run between knuckles.
pub(super) struct Stretch<'a> {
    pub(super) points: &'a [Point],
    /// Of the survey, mm.
    pub(super) accuracy: f64,
    /// True for a point whose station is set and whose half-breadth was measured.
    pub(super) athwart: Vec<bool>,
}

/// A doubtful figure in the boat's own coordinates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Suspect {
    /// In the run.
    pub(super) index: usize,
    /// 0 x, 1 y, 2 z.
    pub(super) axis: usize,
    /// mm.
    pub(super) booked: f64,
    /// By the neighbours, mm.
    pub(super) likely: f64,
    /// Standard deviation of the difference, mm.
    pub(super) spread: f64,
    /// Twice the log of the odds.
    pub(super) score: f64,
    /// A corner explains it as well.
    pub(super) may_be_knuckle: bool,
}

/// The doubtful figures of a run, in order.
pub(super) fn suspects(run: &Stretch<'_>) -> Vec<Suspect> {
    let n = run.points.len();
    if n < LEAST {
        return Vec::new();
    }
    if n <= BLOCK {
        return block(run, 0..n, [None; 2]);
    }
    let noises = sampled(run);
    let mut out = Vec::new();
    for first in (0..n).step_by(BLOCK) {
        let own = first..(first + BLOCK).min(n);
        let reach = own.start.saturating_sub(MARGIN)..(own.end + MARGIN).min(n);
        let found = block(run, reach, noises);
        out.extend(found.into_iter().filter(|s| own.contains(&s.index)));
    }
    out
}

/// Roughness and error of a long run: the median over stretches along it.
fn sampled(run: &Stretch<'_>) -> [Option<NoiseModel>; 2] {
    let (length, count) = SAMPLE;
    let n = run.points.len();
    let mut plans = Vec::new();
    let mut heights = Vec::new();
    for k in 0..count {
        let first = (n - length) * k / (count - 1);
        let scene = Scene::of(run, first..first + length);
        let plan = scene.plan(None);
        heights.push(scene.height(&plan.laid.steps, None).noise);
        plans.push(plan.noise);
    }
    [plans, heights].map(|mut m| {
        m.sort_by(|a, b| a.rho.total_cmp(&b.rho));
        let rho = m.get(count / 2).map(|m| m.rho);
        m.sort_by(|a, b| a.error.total_cmp(&b.error));
        let error = m.get(count / 2).map(|m| m.error);
        m.sort_by(|a, b| a.local.total_cmp(&b.local));
        let local = m.get(count / 2).map_or(0.0, |m| m.local);
        rho.zip(error)
            .map(|(rho, error)| NoiseModel { rho, local, error })
    })
}

/// The points of a block.
struct Scene {
    plan: Vec<Vec2>,
    heights: Vec<f64>,
    accuracy: f64,
}

impl Scene {
    fn of(run: &Stretch<'_>, range: std::ops::Range<usize>) -> Self {
        let points = &run.points[range];
        Self {
            plan: points.iter().map(|p| p.at.plan()).collect(),
            heights: points.iter().map(|p| p.at.z).collect(),
            accuracy: run.accuracy,
        }
    }

    fn floor(&self) -> f64 {
        (EVEN * self.accuracy).max(LEAST_ERROR)
    }

    /// Mean spacing in plan, mm.
    fn spacing(&self) -> f64 {
        let way: f64 = self.plan.windows(2).map(|w| w[0].distance(w[1])).sum();
        way / (self.plan.len().max(2) - 1) as f64
    }

    fn edge(&self) -> Edge<'_> {
        Edge {
            points: &self.plan,
            accuracy: self.accuracy,
        }
    }

    fn plan(&self, noise: Option<NoiseModel>) -> Found<2> {
        let edge = self.edge();
        search(self.plan.len(), &|out| edge.lay(out), self.floor(), noise)
    }

    fn height(&self, steps: &[f64], noise: Option<NoiseModel>) -> Found<1> {
        let laid = self.laid(steps);
        search(self.plan.len(), &|_| laid.clone(), self.floor(), noise)
    }

    fn laid(&self, steps: &[f64]) -> Laid<1> {
        Laid {
            steps: steps.to_vec(),
            values: self.heights.iter().map(|z| [*z]).collect(),
            square: vec![[1.0]; self.heights.len()],
            turn: vec![0.0; self.heights.len()],
        }
    }
}

fn block(
    run: &Stretch<'_>,
    range: std::ops::Range<usize>,
    noises: [Option<NoiseModel>; 2],
) -> Vec<Suspect> {
    let first = range.start;
    let scene = Scene::of(run, range.clone());
    let plan = scene.plan(noises[0]);
    let axis = |i: usize| usual_axis(run.athwart[first + i], plan.laid.square[i]);
    let mut out = Vec::new();
    let spacing = scene.spacing();
    if !plan.out.iter().any(|o| *o) {
        let height = scene.height(&plan.laid.steps, noises[1]);
        heights(&scene, &height, first, &mut out);
        return out;
    }
    let corner = corners(&plan, spacing);
    let (usual, usual_laid) = settle(scene.edge(), &plan.out, &axis, plan.noise);
    let mut height = scene.height(&usual_laid.steps, noises[1]);
    let other = |i: usize| axis(i).other();
    let (others, other_laid) = settle(scene.edge(), &plan.out, &other, plan.noise);
    // Heights if the other figure of each doubtful row were wrong.
    let left_out = {
        let mut without = height.out.clone();
        for (w, o) in without.iter_mut().zip(&plan.out) {
            *w |= *o;
        }
        let laid = scene.laid(&other_laid.steps);
        let rough = laid.rough(height.noise.local);
        let path = Path {
            steps: &laid.steps,
            rough: &rough,
            values: &laid.values,
            out: &without,
            corner: None,
        };
        walk(&path, trig::pow(10.0, height.noise.rho)).1
    };
    for i in (0..plan.out.len()).filter(|i| plan.out[*i]) {
        let word = height.words[i];
        let usual_z = (word.residual / word.spread).abs();
        let other_z =
            (left_out[i].residual[0] / (left_out[i].variance.sqrt() * height.noise.error)).abs();
        let share = other(i).of(plan.laid.square[i]).abs();
        let by_other = usual_z > STANDS_OUT && other_z < AGREES && share >= FLATTEST;
        let (axis, place) = if by_other {
            height.out[i] = false;
            (other(i), others[i])
        } else {
            (axis(i), usual[i])
        };
        let square = axis.of(plan.laid.square[i]).abs();
        if square < FLATTEST {
            continue;
        }
        let (k, booked, likely) = match axis {
            Axis::X => (0, scene.plan[i].x, place.x),
            Axis::Y => (1, scene.plan[i].y, place.y),
        };
        out.push(Suspect {
            index: first + i,
            axis: k,
            booked,
            likely,
            spread: plan.words[i].spread / square,
            score: plan.words[i].score,
            may_be_knuckle: corner[i],
        });
    }
    heights(&scene, &height, first, &mut out);
    out.sort_by_key(|s| (s.index, s.axis));
    out
}

fn heights(scene: &Scene, found: &Found<1>, first: usize, out: &mut Vec<Suspect>) {
    let corner = corners(found, scene.spacing());
    for (
        i,
        Word {
            residual,
            spread,
            score,
        },
    ) in found.words.iter().copied().enumerate()
    {
        if found.out[i] {
            out.push(Suspect {
                index: first + i,
                axis: 2,
                booked: scene.heights[i],
                likely: scene.heights[i] - residual,
                spread,
                score,
                may_be_knuckle: corner[i],
            });
        }
    }
}

/// The figure that a row is likelier wrong in: the half-breadth, where stations were set
/// out, else the one more square to the line.
fn usual_axis(athwart: bool, square: [f64; 2]) -> Axis {
    let y = square[1].abs();
    if (athwart && y >= FLATTEST) || y >= square[0].abs() {
        Axis::Y
    } else {
        Axis::X
    }
}
