//! Where a part would cost least.

use std::sync::Arc;

use super::overlap::NONE;
use super::table::{Spot, Table, ranges};
use super::tents::{Tent, least};
use crate::geom::{Vec2, vec2};
use crate::job::Rotation;
use crate::nest::packer::chain::Piece;
use crate::nest::packer::fill::Spec;
use crate::nest::packer::random::Random;
use crate::nest::packer::room::SLACK;
use crate::nest::packer::shape::{Class, Turned, within};

/// Work of turning a part, for each of its corners.
const TURNING: u64 = 12;
/// Places tried all over a sheet for each part moved.
const WIDE: usize = 10;
/// Places tried near where it lies.
const NEAR: usize = 4;
/// Best places that are refined.
const REFINED: usize = 2;

impl Table<'_> {
    /// The place in y that costs least for body `i` at a turn and a shift in x.
    fn line(
        &self,
        i: usize,
        (board, turned, x): (usize, &Turned, f64),
        high: bool,
        scratch: &mut Scratch,
        work: &mut u64,
    ) -> Option<(f64, f64)> {
        let (lo, hi) = ranges(&self.boards[board], turned)?;
        scratch.tents.clear();
        for &j in &self.on[board] {
            if j == i {
                continue;
            }
            let other = &self.bodies[j];
            let (o, s) = (&*other.turned, other.shift);
            if o.grown.1.x + s.x <= turned.grown.0.x + x + SLACK
                || o.grown.0.x + s.x >= turned.grown.1.x + x - SLACK
            {
                continue;
            }
            let weight = self.weight[self.pair(i, j)];
            scratch.pitch((turned, x), (&o.pieces, s), (lo.y, hi.y), weight, work);
        }
        let walls = (&*self.boards[board].walls, vec2(0.0, 0.0));
        let weight = self.wall_weight[i];
        scratch.pitch((turned, x), walls, (lo.y, hi.y), weight, work);
        *work += 4 + self.on[board].len() as u64 / 4 + 4 * scratch.tents.len() as u64;
        Some(least(
            &scratch.tents,
            (lo.y, hi.y),
            high,
            &mut scratch.bends,
        ))
    }

    /// Looks for a place of body `i` that costs less than where it lies.
    pub(super) fn seek(&self, i: usize, random: &mut Random, work: &mut u64) -> Option<Spot> {
        let body = &self.bodies[i];
        let class = &self.spec.classes[body.class];
        let now = if self.too_large(i) {
            f64::INFINITY
        } else {
            self.cost(i)
        };
        let mut scratch = Scratch::default();
        let mut best: Vec<Spot> = Vec::with_capacity(REFINED + 1);
        let keep = |spot: Spot, best: &mut Vec<Spot>| {
            let at = best.partition_point(|b| b.cost <= spot.cost);
            if at < REFINED {
                best.insert(at, spot);
                best.truncate(REFINED);
            }
        };
        let others = self.boards.len();
        for k in 0..WIDE + NEAR {
            let (board, turned, x) = if k < WIDE {
                let board = if others > 1 && k % 2 == 1 {
                    random.below(others)
                } else {
                    body.board
                };
                if body.barred && board == self.last {
                    continue;
                }
                let turned = &class.turns[random.below(class.turns.len())];
                let Some((lo, hi)) = ranges(&self.boards[board], turned) else {
                    continue;
                };
                let x = lo.x + (hi.x - lo.x) * random.unit();
                (board, Arc::clone(turned), x)
            } else {
                let size = body.turned.size();
                let slide = 0.2 * size.x.min(size.y) * (2.0 * random.unit() - 1.0);
                let mut turned = Arc::clone(&body.turned);
                if !self.spec.stiff(class) && random.chance(0.5) {
                    let turn = slide / class.diameter.max(1.0);
                    let to = self.spec.allowed(body.turned.turn + 0.2 * turn);
                    *work += TURNING * class.corners() as u64;
                    turned = Arc::new(class.turned(to));
                }
                let Some((lo, hi)) = ranges(&self.boards[body.board], &turned) else {
                    continue;
                };
                let x = body.shift.x + body.turned.centre.x - turned.centre.x + slide;
                (body.board, turned, x.clamp(lo.x, hi.x))
            };
            let high = random.chance(0.5);
            let found = self.line(i, (board, &turned, x), high, &mut scratch, work);
            if let Some((y, cost)) = found {
                let shift = vec2(x, y);
                keep(
                    Spot {
                        board,
                        turned,
                        shift,
                        cost,
                    },
                    &mut best,
                );
                if cost <= NONE {
                    break;
                }
            }
        }
        let mut winner: Option<Spot> = None;
        for spot in best {
            let spot = self.refined(i, class, spot, &mut scratch, work);
            if spot.cost < winner.as_ref().map_or(f64::INFINITY, |w| w.cost) {
                winner = Some(spot);
            }
            if winner.as_ref().is_some_and(|w| w.cost <= NONE) {
                break;
            }
        }
        winner.filter(|w| w.cost < now * (1.0 - 1e-9))
    }

    /// Slides and turns a spot by ever smaller steps while it costs less.
    fn refined(
        &self,
        i: usize,
        class: &Class,
        mut spot: Spot,
        scratch: &mut Scratch,
        work: &mut u64,
    ) -> Spot {
        let size = spot.turned.size();
        let stiff = self.spec.stiff(class);
        let mut slide = 0.1 * size.x.min(size.y);
        let least = 1e-3 * slide;
        while slide > least && spot.cost > NONE {
            let turn = 2.0 * slide / class.diameter.max(1.0);
            let mut moved = false;
            for (dx, da) in [(-slide, 0.0), (slide, 0.0), (0.0, turn), (0.0, -turn)] {
                let mut turned = Arc::clone(&spot.turned);
                if da != 0.0 {
                    if stiff {
                        continue;
                    }
                    *work += TURNING * class.corners() as u64;
                    let to = self.spec.allowed(turned.turn + da);
                    turned = Arc::new(class.turned(to));
                }
                let Some((lo, hi)) = ranges(&self.boards[spot.board], &turned) else {
                    continue;
                };
                let x =
                    (spot.shift.x + dx + spot.turned.centre.x - turned.centre.x).clamp(lo.x, hi.x);
                let found = self.line(i, (spot.board, &turned, x), false, scratch, work);
                if let Some((y, cost)) = found
                    && cost < spot.cost * (1.0 - 1e-9)
                {
                    spot = Spot {
                        board: spot.board,
                        turned,
                        shift: vec2(x, y),
                        cost,
                    };
                    moved = true;
                    break;
                }
            }
            if !moved {
                slide *= 0.4;
            }
        }
        spot
    }
}

#[derive(Default)]
struct Scratch {
    tents: Vec<Tent>,
    bends: Vec<(f64, f64)>,
}

impl Scratch {
    /// Adds the tents of a part at a shift in x against pieces that lie still.
    fn pitch(
        &mut self,
        (turned, x): (&Turned, f64),
        (pieces, at): (&[Piece], Vec2),
        (lo, hi): (f64, f64),
        weight: f64,
        work: &mut u64,
    ) {
        for q in pieces {
            for p in &turned.pieces {
                if q.lo.y + at.y - p.hi.y < hi && q.hi.y + at.y - p.lo.y > lo {
                    self.tents
                        .extend(Tent::between((p, x), (q, at), (lo, hi), weight, work));
                }
            }
        }
    }
}

impl Spec {
    /// True where a class keeps to the turns worked out at the start.
    fn stiff(&self, class: &Class) -> bool {
        matches!(self.rotation, Rotation::Steps(_)) || class.lying > 0.5 * class.diameter
    }

    /// The nearest turn that the job allows.
    fn allowed(&self, turn: f64) -> f64 {
        match self.rotation {
            Rotation::Within(limit) => within(turn, limit),
            _ => turn,
        }
    }
}
