//! The fewest stanchions to move so that a row is fair, in one view.

use std::collections::BTreeSet;

use super::tube::{Best, Stencil, Tube, eases, stands_out, stencils};
use crate::geom::banded::Banded;
use crate::geom::trig;

/// A need below this, mm, is none: what rounding leaves of nought.
const NONE_MM: f64 = 1e-6;

/// A stanchion binds where its part of the need is above this. Smaller parts are what
/// the method leaves of nought; together they can hold no more than some thousandths of the need.
const BINDS: f64 = 1e-4;

/// Sets of up to so many stanchions are searched until the fewest are proven;
/// beyond, one is added at a time. Four would take a minute where it now takes a second.
const PROVEN: usize = 3;

/// Programmes solved in one search, at most. Some hundred are usual; the search for a
/// proof ends there and the sets found one at a time stand.
const WORK: usize = 4000;

/// Moves nearer to each other than so many stanchions are one group: a line's smoothness
/// ties five in a row.
const APART: usize = 5;

/// Balances tried for the line to move to, from the smoothest on, two a decade.
const BALANCES: i32 = 24;

/// A limit that never binds, mm: figures further off are doubtful bookings.
const UNLIMITED_MM: f64 = 1000.0;

/// A row of five or more stanchions in one view, by place along the edge.
#[derive(Debug, Clone)]
pub(super) struct Row {
    stencils: Vec<Stencil>,
    /// Measured line off the planned one, mm.
    off: Vec<f64>,
    /// How far each can be moved, mm; `None`: it is fixed.
    limit: Vec<Option<f64>>,
    /// Accuracy of the survey, mm.
    accuracy: f64,
    /// Most that the middle of each five may stand out, mm.
    smooth: Vec<f64>,
}

/// What is to be said of a row in one view.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// How much the accuracy would have to be worse for the line to pass as fair,
    /// mm: fair at nought or below.
    pub need: f64,
    /// The fair line within the survey's accuracy of all that are not moved, mm off the planned line.
    pub line: Vec<f64>,
    /// Stanchions to move, by index into the row, and by how much, mm, positive out or up.
    pub moves: Vec<(usize, f64)>,
    /// No smaller set of moves would do.
    pub fewest: bool,
    /// Fewer moves that would do without the limits and the fixing, with the whole move,
    /// mm; none where these cost no move.
    pub freed: Vec<(usize, f64)>,
    /// What is left where no moves within the limits make it fair; the moves then go as far as
    /// the limits allow.
    pub left: Option<Left>,
}

impl Verdict {
    /// True where the line is fair as it stands.
    #[must_use]
    pub fn fair(&self) -> bool {
        self.need <= NONE_MM
    }
}

/// What no move within the limits mends.
#[derive(Debug, Clone, PartialEq)]
pub struct Left {
    /// Need that is left with the moves as far as the limits allow, mm.
    pub need: f64,
    /// Stanchions that would have to move further, or are fixed, by index into the row, with the
    /// whole move, mm.
    pub at_limit: Vec<(usize, f64)>,
    /// Stanchions between which the unfairness lies.
    pub about: Vec<usize>,
}

impl Row {
    /// A row of stanchions at places `at` along the edge, increasing, mm.
    pub(super) fn new(
        at: &[f64],
        off: Vec<f64>,
        limit: Vec<Option<f64>>,
        (accuracy, smooth): (f64, f64),
    ) -> Self {
        Self {
            stencils: stencils(at),
            off,
            limit,
            accuracy,
            smooth: eases(at).iter().map(|e| smooth * e).collect(),
        }
    }

    /// The best line with some stanchions free to move within their limits.
    fn best(&self, moved: &BTreeSet<usize>) -> Best {
        let reach = self.reach(moved);
        Tube {
            stencils: &self.stencils,
            off: &self.off,
            reach: &reach,
            smooth: &self.smooth,
        }
        .solve()
    }

    fn reach(&self, moved: &BTreeSet<usize>) -> Vec<f64> {
        let limit = |i: usize| self.limit[i].filter(|_| moved.contains(&i));
        (0..self.off.len())
            .map(|i| limit(i).map_or(self.accuracy, |l| l.max(self.accuracy)))
            .collect()
    }

    /// Stanchions that bind and can still be moved further than the accuracy, the most binding first.
    fn movable(&self, best: &Best, moved: &BTreeSet<usize>) -> Vec<usize> {
        let far = |i: &usize| self.limit[*i].is_some_and(|l| l > self.accuracy);
        let mut all: Vec<usize> = (0..self.off.len())
            .filter(|i| best.binds[*i] > BINDS && far(i) && !moved.contains(i))
            .collect();
        all.sort_by(|a, b| best.binds[*b].total_cmp(&best.binds[*a]));
        all
    }

    /// Judges the row; `step` is what moves are rounded to, mm.
    pub(super) fn judge(&self, step: f64) -> Verdict {
        let none = BTreeSet::new();
        let as_it_is = self.best(&none);
        let mut verdict = Verdict {
            need: as_it_is.need,
            line: Vec::new(),
            moves: Vec::new(),
            fewest: true,
            freed: Vec::new(),
            left: None,
        };
        if verdict.fair() {
            verdict.line = self.smooth_line(&none, as_it_is);
            return verdict;
        }
        let Some(one_by_one) = self.one_by_one(&as_it_is) else {
            return self.left(verdict, step);
        };
        let (set, fewest) = self.fewest(one_by_one);
        verdict.fewest = fewest;
        verdict.line = self.smooth_line(&set, self.best(&set));
        verdict.moves = self.rounded(&set, &verdict.line, step);
        verdict.freed = self.freed(&verdict.moves, step);
        verdict
    }

    /// Fewer moves that would do without the limits, or without the fixing too.
    fn freed(&self, moves: &[(usize, f64)], step: f64) -> Vec<(usize, f64)> {
        let freed = |fixed| {
            let (set, row) = self.lifted(fixed)?;
            (set.len() < moves.len()).then(|| (row.fewest(set).0, row))
        };
        if moves.len() < 2 {
            return Vec::new();
        }
        let Some((set, row)) = freed(false).or_else(|| freed(true)) else {
            return Vec::new();
        };
        let line = row.smooth_line(&set, row.best(&set));
        row.rounded(&set, &line, step)
    }

    /// The row without limits, and if asked without fixing, and a set that would then do.
    fn lifted(&self, fixed: bool) -> Option<(BTreeSet<usize>, Self)> {
        let mut row = self.clone();
        for limit in &mut row.limit {
            if limit.is_some() || fixed {
                *limit = Some(UNLIMITED_MM);
            }
        }
        let set = row.one_by_one(&row.best(&BTreeSet::new()))?;
        Some((set, row))
    }

    /// A set that does, found by adding the one that helps most, and then
    /// leaving out what is not needed; `None` where all together do not.
    fn one_by_one(&self, as_it_is: &Best) -> Option<BTreeSet<usize>> {
        let mut set = BTreeSet::new();
        let mut best = as_it_is.clone();
        while best.need > NONE_MM {
            let mut next: Option<(usize, Best)> = None;
            for i in self.movable(&best, &set) {
                let mut with = set.clone();
                with.insert(i);
                let tried = self.best(&with);
                if next.as_ref().is_none_or(|(_, b)| tried.need < b.need) {
                    next = Some((i, tried));
                }
            }
            let (i, then) = next?;
            set.insert(i);
            best = then;
        }
        for i in set.clone() {
            let mut without = set.clone();
            without.remove(&i);
            if self.best(&without).need <= NONE_MM {
                set = without;
            }
        }
        Some(set)
    }

    /// The smallest set that does, with whether that is proven. Of equally small
    /// ones, the one that leaves the others closest to a smooth line.
    ///
    /// Where no line is within reach, the stanchions that bind are such that any
    /// set that does holds one of them: the search branches over these and misses none.
    fn fewest(&self, known: BTreeSet<usize>) -> (BTreeSet<usize>, bool) {
        let mut work = 0;
        for size in 1..=known.len().min(PROVEN) {
            let mut seen = BTreeSet::new();
            let mut found = None;
            self.branch(&BTreeSet::new(), size, &mut seen, &mut found, &mut work);
            if let Some((_, set)) = found {
                return (set, work <= WORK);
            }
            if work > WORK {
                return (known, false);
            }
        }
        let set = self.by_groups(known);
        let proven = set.len() <= PROVEN + 1;
        (set, proven)
    }

    /// The same with each group of near moves replaced by the smallest one that does with the others.
    fn by_groups(&self, known: BTreeSet<usize>) -> BTreeSet<usize> {
        let mut groups: Vec<Vec<usize>> = Vec::new();
        for i in &known {
            match groups.last_mut() {
                Some(group) if group.last().is_some_and(|l| i - l < APART) => group.push(*i),
                _ => groups.push(vec![*i]),
            }
        }
        let mut set = known;
        for group in groups {
            let rest: BTreeSet<usize> =
                set.iter().filter(|i| !group.contains(i)).copied().collect();
            for size in 0..=group.len().min(PROVEN) {
                let (mut seen, mut found, mut work) = (BTreeSet::new(), None, 0);
                self.branch(&rest, size, &mut seen, &mut found, &mut work);
                if let Some((_, better)) = found {
                    set = better;
                    break;
                }
            }
        }
        set
    }

    fn branch(
        &self,
        set: &BTreeSet<usize>,
        more: usize,
        seen: &mut BTreeSet<BTreeSet<usize>>,
        found: &mut Option<(f64, BTreeSet<usize>)>,
        work: &mut usize,
    ) {
        if *work > WORK || !seen.insert(set.clone()) {
            return;
        }
        *work += 1;
        let best = self.best(set);
        if best.need <= NONE_MM {
            if found.as_ref().is_none_or(|(need, _)| best.need < *need) {
                *found = Some((best.need, set.clone()));
            }
            return;
        }
        if more == 0 {
            return;
        }
        for i in self.movable(&best, set) {
            let mut with = set.clone();
            with.insert(i);
            self.branch(&with, more - 1, seen, found, work);
        }
    }

    /// What would make it fair without the limits, and, where that is not enough, without
    /// the fixing; the moves as far as they are allowed; and what that leaves.
    fn left(&self, mut verdict: Verdict, step: f64) -> Verdict {
        let Some((set, row)) = self.lifted(false).or_else(|| self.lifted(true)) else {
            return verdict;
        };
        let set = row.fewest(set).0;
        let line = row.smooth_line(&set, row.best(&set));
        let mut at_limit = Vec::new();
        let mut after = self.clone();
        for (i, whole) in row.rounded(&set, &line, step) {
            let most = self.limit[i].unwrap_or(0.0);
            let by = if whole.abs() > most {
                at_limit.push((i, whole));
                whole.signum() * (most / step).trunc() * step
            } else {
                whole
            };
            if by.abs() > 0.0 {
                verdict.moves.push((i, by));
            }
            after.off[i] += by;
        }
        let best = after.best(&BTreeSet::new());
        let about = (0..self.off.len())
            .filter(|i| best.binds[*i] > BINDS)
            .collect();
        verdict.line = line;
        verdict.left = Some(Left {
            need: best.need.max(0.0),
            at_limit,
            about,
        });
        verdict
    }

    /// The smoothest line, by least squares of what stands out, that lies
    /// within reach of all and off those not moved by no more than an error even
    /// within the accuracy (root mean square accuracy / sqrt 3). The programme's line where there is none.
    fn smooth_line(&self, moved: &BTreeSet<usize>, best: Best) -> Vec<f64> {
        let reach = self.reach(moved);
        let kept: Vec<usize> = (0..self.off.len()).filter(|i| !moved.contains(i)).collect();
        let even = self.accuracy * self.accuracy / 3.0;
        for k in 0..BALANCES {
            let balance = trig::pow(10.0, 6.0 - 0.5 * f64::from(k));
            let Some(line) = self.balanced(moved, balance) else {
                continue;
            };
            let off = |i: usize| line[i] - self.off[i];
            let square = kept.iter().map(|i| off(*i) * off(*i)).sum::<f64>();
            let within = (0..line.len()).all(|i| off(i).abs() <= reach[i]);
            let out = |(j, d): (usize, &Stencil)| stands_out(d, j, &line).abs() <= self.smooth[j];
            let smooth = self.stencils.iter().enumerate().all(out);
            if within && smooth && square <= even * kept.len() as f64 {
                return line;
            }
        }
        best.line
    }

    /// Least squares of distances from those kept and, `balance` times, of what stands out.
    fn balanced(&self, moved: &BTreeSet<usize>, balance: f64) -> Option<Vec<f64>> {
        /// Weight of one that is moved: next to nothing, so that four kept ones suffice.
        const FREE: f64 = 1e-9;
        let n = self.off.len();
        let weight = |i: usize| if moved.contains(&i) { FREE } else { 1.0 };
        let mut square = Banded::zeros(n, 4);
        for i in 0..n {
            square.add(i, i, weight(i));
        }
        for (j, d) in self.stencils.iter().enumerate() {
            for a in 0..5 {
                for b in 0..=a {
                    square.add(j + a, j + b, balance * d[a] * d[b]);
                }
            }
        }
        let mut line: Vec<f64> = (0..n).map(|i| weight(i) * self.off[i]).collect();
        square.factor()?.solve(&mut line);
        line.iter().all(|s| s.is_finite()).then_some(line)
    }

    /// Moves to the line, rounded where the rounded ones keep the limits and make it fair too.
    fn rounded(&self, set: &BTreeSet<usize>, line: &[f64], step: f64) -> Vec<(usize, f64)> {
        let exact: Vec<(usize, f64)> = set.iter().map(|i| (*i, line[*i] - self.off[*i])).collect();
        let round = |(i, by): &(usize, f64)| {
            let near = (by / step).round() * step;
            let over = self.limit[*i].is_some_and(|l| near.abs() > l);
            (
                *i,
                if over {
                    (by / step).trunc() * step
                } else {
                    near
                },
            )
        };
        let rounded: Vec<(usize, f64)> = exact.iter().map(round).collect();
        let mut after = self.clone();
        for (i, by) in &rounded {
            after.off[*i] += by;
        }
        if after.best(&BTreeSet::new()).need <= NONE_MM {
            rounded
        } else {
            exact
        }
    }
}
