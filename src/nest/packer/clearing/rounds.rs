//! Overlaps cleared by rounds of moves.

use super::table::{Body, Table, ranges};
use crate::nest::packer::random::Random;

/// A pair that overlaps most weighs this much more after each round, others less.
const HEAVIER: (f64, f64) = (0.2, 1.0);
/// Pairs that do not overlap weigh this share, down to 1.
const LIGHTER: f64 = 0.95;
/// Work of a round beside that of its moves.
const ROUND: u64 = 100;

impl Table<'_> {
    /// Weighs pairs that overlap more, others less.
    fn weigh(&mut self) {
        let most = self
            .over
            .iter()
            .flatten()
            .map(|o| &o.1)
            .chain(&self.walled)
            .copied()
            .fold(f64::MIN_POSITIVE, f64::max);
        let heavier = |d: f64| (1.0 + HEAVIER.0 + (HEAVIER.1 - HEAVIER.0) * d / most) / LIGHTER;
        for w in self.weight.iter_mut().chain(&mut self.wall_weight) {
            *w = (*w * LIGHTER).max(1.0);
        }
        for i in 0..self.over.len() {
            for k in 0..self.over[i].len() {
                let (j, d) = self.over[i][k];
                if i < j {
                    let at = self.pair(i, j);
                    self.weight[at] *= heavier(d);
                }
            }
            if self.walled[i] > 0.0 {
                self.wall_weight[i] *= heavier(self.walled[i]);
            }
        }
    }

    /// One round: every part that overlaps is moved where it costs least,
    /// in random order.
    fn round(&mut self, random: &mut Random, work: &mut u64) {
        let mut order: Vec<usize> = (0..self.bodies.len())
            .filter(|&i| self.out_of_place(i))
            .collect();
        for k in (1..order.len()).rev() {
            order.swap(k, random.below(k + 1));
        }
        for i in order {
            if self.out_of_place(i) {
                self.sought += 1;
                if let Some(spot) = self.seek(i, random, work) {
                    self.place(i, spot, work);
                }
            }
        }
    }

    /// Moves parts until none overlaps: true where it is done before `ends`
    /// says so of the work done, or `patience` rounds got no better, or the most
    /// searches were made. Otherwise
    /// the best state found is left, overlaps and all.
    pub(in crate::nest::packer) fn separate(
        &mut self,
        patience: usize,
        random: &mut Random,
        ends: &mut dyn FnMut(u64) -> bool,
        work: &mut u64,
    ) -> bool {
        let mut best = (self.total, self.bodies.clone());
        let mut idle = 0;
        loop {
            if self.clear() {
                return true;
            }
            if idle >= patience || self.sought >= self.most || ends(*work) {
                self.restore(&best.1, work);
                return false;
            }
            self.round(random, work);
            // A round that moves nothing is work too, or none would ever end.
            *work += ROUND + (self.weight.len() / 8) as u64;
            self.weigh();
            if self.total < best.0 {
                if self.total < 0.98 * best.0 {
                    idle = 0;
                }
                best = (self.total, self.bodies.clone());
            } else {
                idle += 1;
            }
        }
    }

    /// Two parts of unlike shape change places.
    pub(in crate::nest::packer) fn swap(&mut self, random: &mut Random, work: &mut u64) {
        let n = self.bodies.len();
        if n < 2 {
            return;
        }
        // Large parts first: of three drawn, the largest.
        let draw = |random: &mut Random| {
            (0..3)
                .map(|_| random.below(n))
                .max_by(|&a, &b| {
                    let area = |i: usize| self.spec.classes[self.bodies[i].class].area;
                    area(a).total_cmp(&area(b)).then(a.cmp(&b))
                })
                .unwrap_or(0)
        };
        let i = draw(random);
        let mut j = draw(random);
        for _ in 0..10 {
            if self.bodies[j].class != self.bodies[i].class {
                break;
            }
            j = draw(random);
        }
        let centre = |b: &Body| (b.board, b.turned.centre + b.shift);
        let (a, b) = (centre(&self.bodies[i]), centre(&self.bodies[j]));
        for (k, (board, to)) in [(i, b), (j, a)] {
            let body = &mut self.bodies[k];
            if ranges(&self.boards[board], &body.turned).is_some() {
                body.board = board;
                body.shift = to - body.turned.centre;
                body.keep_in(&self.boards[board]);
            }
        }
        self.measure(work);
    }
}
