//! Overlaps cleared: parts laid over one another on one or more sheets are
//! moved, one at a time, to where they overlap least, and pairs that go on
//! overlapping weigh more and more (guided local search: Voudouris and Tsang
//! 1999; for nesting Egeblad, Nielsen and Odgaard 2007, whose exact search
//! along a line is used here, with depth in place of area).

mod seek;
mod shorten;
mod tents;

use std::sync::Arc;

use self::seek::Spot;
use self::tents::Tent;
use super::chain::Piece;
use super::fill::Spec;
use super::random::Random;
use super::room::{Room, SLACK};
use super::shape::Turned;
use crate::geom::{Vec2, vec2};

pub(super) use self::shorten::{Side, Spent, shorten};

/// A pair that overlaps most weighs this much more after each round, others less.
const HEAVIER: (f64, f64) = (0.2, 1.0);
/// Pairs that do not overlap weigh this share, down to 1.
const LIGHTER: f64 = 0.95;
/// Work of a round beside that of its moves.
const ROUND: u64 = 100;
/// Depths summed below this are none, mm.
const NONE: f64 = 1e-9;

/// A part where it lies.
#[derive(Debug, Clone)]
pub(super) struct Body {
    pub part: usize,
    pub class: usize,
    pub board: usize,
    pub turned: Arc<Turned>,
    pub shift: Vec2,
    /// Must not come to the last board.
    pub barred: bool,
}

impl Body {
    /// Pushes the part into the room of its board, where it fits.
    fn keep_in(&mut self, room: &Room) {
        if let Some((lo, hi)) = ranges(room, &self.turned) {
            let at = self.shift;
            self.shift = vec2(at.x.clamp(lo.x, hi.x), at.y.clamp(lo.y, hi.y));
        }
    }
}

/// Parts on sheets, overlapping or not.
#[derive(Debug, Clone)]
pub(super) struct Table<'a> {
    pub spec: &'a Spec,
    pub boards: Vec<Room>,
    pub bodies: Vec<Body>,
    on: Vec<Vec<usize>>,
    weight: Vec<f64>,
    /// Depth of each body in the walls of its board, and what a mm of it costs.
    walled: Vec<f64>,
    wall_weight: Vec<f64>,
    over: Vec<Vec<(usize, f64)>>,
    pub total: f64,
    /// The board that barred parts keep off.
    pub last: usize,
    /// Searches for a place after which clearing is given up.
    pub most: usize,
    /// Searches made.
    sought: usize,
}

/// Shifts in x and in y that keep a part in a room.
fn ranges(room: &Room, turned: &Turned) -> Option<(Vec2, Vec2)> {
    let (lo, hi) = (room.lo - turned.net.0, room.hi - turned.net.1);
    (hi.x >= lo.x - SLACK && hi.y >= lo.y - SLACK)
        .then_some((lo, vec2(hi.x.max(lo.x), hi.y.max(lo.y))))
}

impl<'a> Table<'a> {
    pub(super) fn new(spec: &'a Spec, boards: Vec<Room>, bodies: Vec<Body>) -> Self {
        let n = bodies.len();
        let mut table = Self {
            spec,
            boards,
            bodies,
            on: Vec::new(),
            weight: vec![1.0; n * n],
            walled: vec![0.0; n],
            wall_weight: vec![1.0; n],
            over: vec![Vec::new(); n],
            total: 0.0,
            last: usize::MAX,
            most: usize::MAX,
            sought: 0,
        };
        table.measure(&mut 0);
        table
    }

    /// Measures every overlap afresh.
    pub(super) fn measure(&mut self, work: &mut u64) {
        self.on = vec![Vec::new(); self.boards.len()];
        for (i, b) in self.bodies.iter().enumerate() {
            self.on[b.board].push(i);
        }
        for list in &mut self.over {
            list.clear();
        }
        self.total = 0.0;
        for on in &self.on {
            for (k, &i) in on.iter().enumerate() {
                for &j in &on[k + 1..] {
                    let (a, b) = (&self.bodies[i], &self.bodies[j]);
                    let depth = depth(&a.turned, a.shift, &b.turned, b.shift, work);
                    if depth > 0.0 {
                        self.over[i].push((j, depth));
                        self.over[j].push((i, depth));
                        self.total += depth;
                    }
                }
            }
        }
        for i in 0..self.bodies.len() {
            self.walled[i] = self.depth_in_walls(i, work);
            self.total += self.walled[i];
        }
    }

    /// Depth of a body in the walls of its board.
    fn depth_in_walls(&self, i: usize, work: &mut u64) -> f64 {
        let b = &self.bodies[i];
        let walls = &self.boards[b.board].walls;
        pieces_depth((&b.turned.pieces, b.shift), (walls, vec2(0.0, 0.0)), work)
    }

    /// Puts the bodies as given; weights stay.
    pub(super) fn restore(&mut self, bodies: &[Body], work: &mut u64) {
        self.bodies = bodies.to_vec();
        self.measure(work);
    }

    /// Pushes every part into its room, where it fits.
    pub(super) fn inside(&mut self, work: &mut u64) {
        for b in &mut self.bodies {
            b.keep_in(&self.boards[b.board]);
        }
        self.measure(work);
    }

    /// True where a body does not fit the room it is on.
    fn too_large(&self, i: usize) -> bool {
        let b = &self.bodies[i];
        ranges(&self.boards[b.board], &b.turned).is_none()
    }

    /// All weights back to 1.
    pub(super) fn level(&mut self) {
        self.weight.fill(1.0);
        self.wall_weight.fill(1.0);
    }

    fn pair(&self, i: usize, j: usize) -> usize {
        let (a, b) = if i < j { (i, j) } else { (j, i) };
        a * self.bodies.len() + b
    }

    fn cost(&self, i: usize) -> f64 {
        let parts: f64 = self.over[i]
            .iter()
            .map(|&(j, d)| d * self.weight[self.pair(i, j)])
            .sum();
        parts + self.walled[i] * self.wall_weight[i]
    }

    /// Moves body `i`.
    fn place(&mut self, i: usize, spot: Spot, work: &mut u64) {
        let list = std::mem::take(&mut self.over[i]);
        for (j, d) in list {
            self.total -= d;
            self.over[j].retain(|o| o.0 != i);
        }
        let from = self.bodies[i].board;
        if from != spot.board {
            self.on[from].retain(|&j| j != i);
            self.on[spot.board].push(i);
        }
        let body = &mut self.bodies[i];
        body.board = spot.board;
        body.turned = spot.turned;
        body.shift = spot.shift;
        let body = &self.bodies[i];
        let mut found = Vec::new();
        for &j in &self.on[body.board] {
            if j != i {
                let b = &self.bodies[j];
                let depth = depth(&body.turned, body.shift, &b.turned, b.shift, work);
                if depth > 0.0 {
                    found.push((j, depth));
                }
            }
        }
        for &(j, d) in &found {
            self.total += d;
            self.over[j].push((i, d));
        }
        self.over[i] = found;
        self.total -= self.walled[i];
        self.walled[i] = self.depth_in_walls(i, work);
        self.total += self.walled[i];
    }

    /// True where a body overlaps another or a wall, or does not fit its room.
    fn out_of_place(&self, i: usize) -> bool {
        !self.over[i].is_empty() || self.walled[i] > 0.0 || self.too_large(i)
    }

    /// True where no part overlaps another and all lie in their rooms.
    pub(super) fn clear(&self) -> bool {
        (0..self.bodies.len()).all(|i| !self.out_of_place(i))
    }

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
    pub(super) fn separate(
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
    pub(super) fn swap(&mut self, random: &mut Random, work: &mut u64) {
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

/// True where two boxes do not overlap.
fn apart(lo: Vec2, hi: Vec2, low: Vec2, high: Vec2) -> bool {
    hi.x <= low.x + SLACK
        || high.x <= lo.x + SLACK
        || hi.y <= low.y + SLACK
        || high.y <= lo.y + SLACK
}

/// Depth of overlap of two parts, mm, summed over their pieces.
fn depth(a: &Turned, at: Vec2, b: &Turned, to: Vec2, work: &mut u64) -> f64 {
    if apart(
        a.grown.0 + at,
        a.grown.1 + at,
        b.grown.0 + to,
        b.grown.1 + to,
    ) {
        return 0.0;
    }
    pieces_depth((&a.pieces, at), (&b.pieces, to), work)
}

/// Depth of overlap of two sets of pieces, mm, summed.
fn pieces_depth((a, at): (&[Piece], Vec2), (b, to): (&[Piece], Vec2), work: &mut u64) -> f64 {
    let mut sum = 0.0;
    for p in a {
        for q in b {
            if apart(p.lo + at, p.hi + at, q.lo + to, q.hi + to) {
                continue;
            }
            let tent = Tent::between(
                (p, at.x),
                (q, to),
                (f64::NEG_INFINITY, f64::INFINITY),
                1.0,
                work,
            );
            let d = tent.map_or(0.0, |t| t.depth(at.y));
            if d > NONE {
                sum += d;
            }
        }
    }
    sum
}
