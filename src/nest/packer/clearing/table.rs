//! Parts where they lie, over one another or not, and what that costs.

use std::sync::Arc;

use super::overlap::{depth, pieces_depth};
use crate::geom::{Vec2, vec2};
use crate::nest::packer::fill::Spec;
use crate::nest::packer::room::{Room, SLACK};
use crate::nest::packer::shape::Turned;

/// A part where it lies.
#[derive(Debug, Clone)]
pub(in crate::nest::packer) struct Body {
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
    pub(super) fn keep_in(&mut self, room: &Room) {
        if let Some((lo, hi)) = ranges(room, &self.turned) {
            let at = self.shift;
            self.shift = vec2(at.x.clamp(lo.x, hi.x), at.y.clamp(lo.y, hi.y));
        }
    }
}

/// A place for a part and what it would cost there.
#[derive(Debug, Clone)]
pub(super) struct Spot {
    pub board: usize,
    pub turned: Arc<Turned>,
    pub shift: Vec2,
    pub cost: f64,
}

/// Parts on sheets, overlapping or not.
#[derive(Debug, Clone)]
pub(in crate::nest::packer) struct Table<'a> {
    pub spec: &'a Spec,
    pub boards: Vec<Room>,
    pub bodies: Vec<Body>,
    pub(super) on: Vec<Vec<usize>>,
    pub(super) weight: Vec<f64>,
    /// Depth of each body in the walls of its board, and what a mm of it costs.
    pub(super) walled: Vec<f64>,
    pub(super) wall_weight: Vec<f64>,
    pub(super) over: Vec<Vec<(usize, f64)>>,
    pub total: f64,
    /// The board that barred parts keep off.
    pub last: usize,
    /// Searches for a place after which clearing is given up.
    pub most: usize,
    /// Searches made.
    pub(super) sought: usize,
}

/// Shifts in x and in y that keep a part in a room.
pub(super) fn ranges(room: &Room, turned: &Turned) -> Option<(Vec2, Vec2)> {
    let (lo, hi) = (room.lo - turned.net.0, room.hi - turned.net.1);
    (hi.x >= lo.x - SLACK && hi.y >= lo.y - SLACK)
        .then_some((lo, vec2(hi.x.max(lo.x), hi.y.max(lo.y))))
}

impl<'a> Table<'a> {
    pub(in crate::nest::packer) fn new(
        spec: &'a Spec,
        boards: Vec<Room>,
        bodies: Vec<Body>,
    ) -> Self {
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
    pub(in crate::nest::packer) fn measure(&mut self, work: &mut u64) {
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
    pub(in crate::nest::packer) fn restore(&mut self, bodies: &[Body], work: &mut u64) {
        self.bodies = bodies.to_vec();
        self.measure(work);
    }

    /// Pushes every part into its room, where it fits.
    pub(in crate::nest::packer) fn inside(&mut self, work: &mut u64) {
        for b in &mut self.bodies {
            b.keep_in(&self.boards[b.board]);
        }
        self.measure(work);
    }

    /// True where a body does not fit the room it is on.
    pub(super) fn too_large(&self, i: usize) -> bool {
        let b = &self.bodies[i];
        ranges(&self.boards[b.board], &b.turned).is_none()
    }

    /// All weights back to 1.
    pub(in crate::nest::packer) fn level(&mut self) {
        self.weight.fill(1.0);
        self.wall_weight.fill(1.0);
    }

    pub(super) fn pair(&self, i: usize, j: usize) -> usize {
        let (a, b) = if i < j { (i, j) } else { (j, i) };
        a * self.bodies.len() + b
    }

    pub(super) fn cost(&self, i: usize) -> f64 {
        let parts: f64 = self.over[i]
            .iter()
            .map(|&(j, d)| d * self.weight[self.pair(i, j)])
            .sum();
        parts + self.walled[i] * self.wall_weight[i]
    }

    /// Moves body `i`.
    pub(super) fn place(&mut self, i: usize, spot: Spot, work: &mut u64) {
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
    pub(super) fn out_of_place(&self, i: usize) -> bool {
        !self.over[i].is_empty() || self.walled[i] > 0.0 || self.too_large(i)
    }

    /// True where no part overlaps another and all lie in their rooms.
    pub(in crate::nest::packer) fn clear(&self) -> bool {
        (0..self.bodies.len()).all(|i| !self.out_of_place(i))
    }
}
