//! The order of cutting: runs of cuts that stay together, and a tour of them.

use super::model::Step;
use super::order::{Stop, nearest_next, tour};
use super::plan::{Net, Planner};
use super::walk::points;
use crate::geom::{Vec2, Vertex, vec2};

/// Parts nearer than this many gaps lie side by side: one heats the other.
const NEAR_GAPS: f64 = 3.0;
/// Distance between the points at which nearness of parts is measured, mm.
const NEAR_STEP: f64 = 40.0;

impl Planner<'_> {
    /// The steps in the order of cutting: in a part first what lies in the
    /// holes, then the holes, then the outer profile.
    pub(super) fn ordered(&self, steps: Vec<Step>) -> Vec<Step> {
        let within = self.within();
        let groups: Vec<(usize, Vec<usize>)> = (0..self.input.nested.placed.len())
            .filter(|&i| within[i].is_none())
            .map(|i| (i, self.group(i, &within, &steps, 0)))
            .filter(|(_, g)| !g.is_empty())
            .collect();
        let stops: Vec<Stop> = groups
            .iter()
            .map(|(_, g)| Stop {
                first: g.first().map_or_else(Vec2::default, |&s| steps[s].first()),
                last: g.last().map_or_else(Vec2::default, |&s| steps[s].last()),
            })
            .collect();
        let near = self.near(&groups.iter().map(|g| g.0).collect::<Vec<_>>());
        let count = groups.len();
        let order = tour(&stops, vec2(0.0, 0.0), &|a, b| near[a * count + b]);
        let mut taken: Vec<Option<Step>> = steps.into_iter().map(Some).collect();
        order
            .into_iter()
            .flat_map(|g| groups[g].1.iter().copied())
            .filter_map(|s| taken[s].take())
            .collect()
    }

    /// For each placed part, the placed part in a hole of which it lies.
    fn within(&self) -> Vec<Option<usize>> {
        let outer = |i: usize| self.nets.iter().find(move |n| n.round(i));
        (0..self.input.nested.placed.len())
            .map(|i| {
                let point = outer(i)?.profile.vertices.first()?.at;
                self.nets
                    .iter()
                    .filter(|n| n.hole.is_some() && n.placed != i)
                    .filter(|n| {
                        let (lo, hi) = n.profile.bounds();
                        point.x > lo.x
                            && point.x < hi.x
                            && point.y > lo.y
                            && point.y < hi.y
                            && n.profile.contains(point, 0.01)
                    })
                    // The innermost of holes in each other.
                    .min_by(|a, b| {
                        let area = |n: &Net| n.profile.area().abs();
                        area(a).total_cmp(&area(b))
                    })
                    .map(|n| n.placed)
            })
            .collect()
    }

    /// Steps of a part and of all that lies in it. The last hole is the one
    /// nearest to where the outer profile begins. `depth` ends a chain of
    /// parts that lie in each other, which no sound nest has.
    fn group(
        &self,
        placed: usize,
        within: &[Option<usize>],
        steps: &[Step],
        depth: usize,
    ) -> Vec<usize> {
        let mut out = Vec::new();
        if depth > within.len() {
            return out;
        }
        for i in (0..within.len()).filter(|&i| within[i] == Some(placed)) {
            out.extend(self.group(i, within, steps, depth + 1));
        }
        let own = |asked: &dyn Fn(&Step) -> bool| -> Vec<usize> {
            (0..steps.len())
                .filter(|&s| steps[s].placed == placed && asked(&steps[s]))
                .collect()
        };
        let holes = own(&|s| s.hole.is_some());
        let rest = own(&|s| s.hole.is_none());
        let last = (rest.first()).map_or_else(Vec2::default, |&s| steps[s].first());
        let places: Vec<(Vec2, Vec2)> = holes
            .iter()
            .map(|&s| (steps[s].last(), steps[s].first()))
            .collect();
        out.extend(
            nearest_next(&places, last)
                .into_iter()
                .rev()
                .map(|k| holes[k]),
        );
        out.extend(rest);
        out
    }

    /// Which of the placed parts lie side by side, row by row.
    fn near(&self, placed: &[usize]) -> Vec<bool> {
        let reach = NEAR_GAPS * self.input.gap.max(self.input.rules.kerf) + 0.5 * NEAR_STEP;
        let of: Vec<Option<usize>> = placed
            .iter()
            .map(|&i| self.nets.iter().position(|n| n.round(i)))
            .collect();
        let points: Vec<Vec<Vec2>> = of.iter().map(|k| self.points(*k)).collect();
        let n = placed.len();
        let mut out = vec![false; n * n];
        for a in 0..n {
            for b in a + 1..n {
                let Some(k) = of[b] else { continue };
                let side = points[a]
                    .iter()
                    .any(|&p| self.walks[k].distance(p, reach) < reach);
                out[a * n + b] = side;
                out[b * n + a] = side;
            }
        }
        out
    }

    fn points(&self, net: Option<usize>) -> Vec<Vec2> {
        let Some(k) = net else { return Vec::new() };
        let mut line: Vec<Vertex> = self.nets[k].profile.vertices.clone();
        line.extend(line.first().copied());
        points(&line, NEAR_STEP)
    }
}
