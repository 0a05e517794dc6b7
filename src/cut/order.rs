//! The order of cuts: little travel, heat spread, and nothing cut loose
//! before what is inside it.

use crate::geom::Vec2;

/// A run of cuts that stays together: a part with what lies in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stop {
    /// Where its first pierce is.
    pub(super) first: Vec2,
    /// Where its last cut ends.
    pub(super) last: Vec2,
}

/// Travel that is paid at most to keep two parts side by side from being cut
/// one after the other, mm. Common practice is to skip about the sheet, no
/// source; 400 mm is two widths of a plate of this trade, so that a tour
/// skips one part and comes back. Much more and the travel doubles; nought
/// and the tour runs from neighbour to neighbour.
const HEAT_MM: f64 = 400.0;
/// Passes of improvement at the most; most tours settle within ten.
const PASSES: usize = 30;
/// Work of improvement at the most, in stops looked at: a tour of some 300
/// parts is improved to the end.
const WORK: usize = 60_000_000;

/// A tour of all stops from `home`: the nearest next one first, then
/// stretches turned about (2-opt; G. A. Croes 1958) and stops moved while the
/// cost falls. The cost is travel, and [`HEAT_MM`] for each two neighbours
/// that follow each other. `near(i, k)` says that two stops lie side by side.
pub(super) fn tour(stops: &[Stop], home: Vec2, near: &dyn Fn(usize, usize) -> bool) -> Vec<usize> {
    let n = stops.len();
    let step = |a: usize, b: usize| {
        let heat = if near(a, b) { HEAT_MM } else { 0.0 };
        stops[a].last.distance(stops[b].first) + heat
    };
    let mut left: Vec<usize> = (0..n).collect();
    let mut order: Vec<usize> = Vec::with_capacity(n);
    while !left.is_empty() {
        let from = |i: usize| match order.last() {
            Some(&a) => step(a, i),
            None => home.distance(stops[i].first),
        };
        // Ties go to the earlier part, so that the tour is the same everywhere.
        let k = (0..left.len())
            .min_by(|&a, &b| from(left[a]).total_cmp(&from(left[b])))
            .unwrap_or(0);
        order.push(left.remove(k));
    }
    let cost = |o: &[usize]| -> f64 {
        let first = o.first().map_or(0.0, |&i| home.distance(stops[i].first));
        first + o.windows(2).map(|w| step(w[0], w[1])).sum::<f64>()
    };
    let mut best = cost(&order);
    let mut work = 0;
    for _ in 0..PASSES {
        let before = best;
        for i in 0..n {
            for k in i + 1..n {
                for change in [Change::Turn, Change::Forward, Change::Back] {
                    work += n;
                    if work > WORK {
                        return order;
                    }
                    let tried = change.of(&order, i, k);
                    let now = cost(&tried);
                    // A gain below a micrometre is rounding.
                    if now < best - 1e-3 {
                        best = now;
                        order = tried;
                    }
                }
            }
        }
        if best >= before - 1e-3 {
            break;
        }
    }
    order
}

#[derive(Clone, Copy)]
enum Change {
    /// The stretch from `i` to `k` turned about.
    Turn,
    /// Stop `i` moved to just after `k`.
    Forward,
    /// Stop `k` moved to just before `i`.
    Back,
}

impl Change {
    fn of(self, order: &[usize], i: usize, k: usize) -> Vec<usize> {
        let mut out = order.to_vec();
        match self {
            Self::Turn => out[i..=k].reverse(),
            Self::Forward => out[i..=k].rotate_left(1),
            Self::Back => out[i..=k].rotate_right(1),
        }
        out
    }
}

/// Indices of places in the order of the nearest next one.
pub(super) fn nearest_next(places: &[(Vec2, Vec2)], from: Vec2) -> Vec<usize> {
    let mut left: Vec<usize> = (0..places.len()).collect();
    let mut at = from;
    let mut out = Vec::with_capacity(left.len());
    while !left.is_empty() {
        let d = |k: usize| at.distance(places[left[k]].0);
        let k = (0..left.len())
            .min_by(|&a, &b| d(a).total_cmp(&d(b)))
            .unwrap_or(0);
        let i = left.remove(k);
        at = places[i].1;
        out.push(i);
    }
    out
}
