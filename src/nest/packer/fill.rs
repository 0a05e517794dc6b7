//! Filling one sheet: each part in turn goes where it lies lowest, found by
//! exact vertical slides at many places and turns.

use std::sync::Arc;

use super::chain::{Piece, rise};
use super::room::{Room, SLACK};
use super::shape::{Class, Turned, within};
use crate::geom::{Placement, Vec2, trig, vec2};
use crate::job::Rotation;

/// Rounds of halving steps when a place is refined: from half the distance of the shifts tried to a hundredth and less.
const ROUNDS: usize = 8;
/// Work of turning a part, for each of its corners: measured against the
/// points passed on a chain.
const TURNING: u64 = 30;
/// A group of parts of which this many kinds found no room is passed over
/// where a kind is as large: most of the time of a full sheet goes into
/// parts that do not fit.
const MISSES: usize = 6;

/// Everything that stays the same during a search.
#[derive(Debug)]
pub(super) struct Spec {
    pub classes: Vec<Class>,
    /// Class of each part.
    pub of: Vec<usize>,
    pub rotation: Rotation,
    /// Greatest extent of any class, mm.
    pub longest: f64,
    /// Distance between the shifts tried along the sheet, mm; an eighth of a
    /// part's length where that is less. Refining finds the rest of the way.
    pub step: f64,
}

impl Spec {
    /// Net area of some parts, mm2.
    pub(super) fn area(&self, parts: &[usize]) -> f64 {
        let one = |&p: &usize| self.classes[self.of[p]].area;
        parts.iter().map(one).sum()
    }
}

/// Which way parts fall: the place of least `x * centre.x + y * centre.y`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Fall {
    pub x: f64,
    pub y: f64,
}

/// A part that lies on a sheet.
#[derive(Debug, Clone, Copy)]
pub(super) struct Item {
    pub part: usize,
    pub placement: Placement,
    /// Where its centre of area lies.
    pub centre: Vec2,
}

/// A sheet as far as it is filled.
#[derive(Debug, Clone)]
pub(super) struct Lay {
    pub room: Room,
    /// In the order of placing.
    pub items: Vec<Item>,
    /// Pieces of the parts placed, each with the index of its item.
    pieces: Vec<(usize, Piece)>,
    /// Net area placed, mm2.
    pub area: f64,
}

struct Spot {
    turned: Arc<Turned>,
    shift: Vec2,
    score: f64,
}

impl Lay {
    pub(super) fn new(room: Room) -> Self {
        Self {
            room,
            items: Vec::new(),
            pieces: Vec::new(),
            area: 0.0,
        }
    }

    /// The same with only the items that `keep` names by index.
    pub(super) fn keeping(&self, spec: &Spec, keep: impl Fn(usize) -> bool) -> Self {
        let mut out = Self::new(self.room.clone());
        let mut index = vec![usize::MAX; self.items.len()];
        for (i, item) in self.items.iter().enumerate().filter(|(i, _)| keep(*i)) {
            index[i] = out.items.len();
            out.items.push(*item);
            out.area += spec.classes[spec.of[item.part]].area;
        }
        out.pieces = self
            .pieces
            .iter()
            .filter(|(i, _)| index[*i] != usize::MAX)
            .map(|(i, p)| (index[*i], p.clone()))
            .collect();
        out
    }

    /// Puts a part where it is said to lie.
    pub(super) fn hold(&mut self, spec: &Spec, part: usize, turned: &Turned, shift: Vec2) {
        let item = self.items.len();
        self.items.push(Item {
            part,
            placement: Placement {
                turn: turned.turn,
                shift,
            },
            centre: turned.centre + shift,
        });
        self.pieces
            .extend(turned.pieces.iter().map(|p| (item, p.shifted(shift))));
        self.area += spec.classes[spec.of[part]].area;
    }

    /// Places the parts of `pool` that find room, in its order; what is left
    /// comes back in the same order. `work` counts the steps taken.
    pub(super) fn fill(
        &mut self,
        spec: &Spec,
        pool: &[usize],
        fall: Fall,
        work: &mut u64,
    ) -> Vec<usize> {
        let mut left = Vec::new();
        let mut failed: Vec<usize> = Vec::new();
        for &part in pool {
            let k = spec.of[part];
            let class = &spec.classes[k];
            let hopeless = failed.contains(&k)
                || self.area + class.area > self.room.area()
                || failed
                    .iter()
                    .filter(|&&f| {
                        let f = &spec.classes[f];
                        f.lying <= class.lying && f.diameter <= class.diameter
                    })
                    .count()
                    >= MISSES;
            let spot = if hopeless {
                None
            } else {
                self.find(spec, class, fall, work)
            };
            match spot {
                Some(spot) => self.hold(spec, part, &spot.turned, spot.shift),
                None => {
                    if !hopeless {
                        failed.push(k);
                    }
                    left.push(part);
                }
            }
        }
        left
    }

    /// The best place of a class, or none.
    fn find(&self, spec: &Spec, class: &Class, fall: Fall, work: &mut u64) -> Option<Spot> {
        let mut best: Option<(usize, Vec2, f64)> = None;
        let mut scratch = Vec::new();
        for (t, turned) in class.turns.iter().enumerate() {
            let Some(range) = self.range(turned) else {
                continue;
            };
            for x in self.places(spec, turned, range) {
                let bound = best.map_or(f64::INFINITY, |b| b.2);
                if let Some((y, score)) = self.drop(turned, x, fall, bound, &mut scratch, work) {
                    best = Some((t, vec2(x, y), score));
                }
            }
        }
        let (t, shift, score) = best?;
        let spot = Spot {
            turned: class.turns[t].clone(),
            shift,
            score,
        };
        Some(self.refined(spec, class, spot, fall, work))
    }

    /// What parts keep off.
    fn obstacles(&self) -> impl Iterator<Item = &Piece> {
        self.room
            .walls
            .iter()
            .chain(self.pieces.iter().map(|(_, p)| p))
    }

    /// True where a place is found for a part of a class.
    pub(super) fn takes(&self, spec: &Spec, class: &Class, work: &mut u64) -> bool {
        let fall = Fall { x: 0.0, y: 1.0 };
        self.find(spec, class, fall, work).is_some()
    }

    /// Shifts in x, and in y, that keep the true outline in the room.
    fn range(&self, turned: &Turned) -> Option<(f64, f64)> {
        let (lo, hi) = (self.room.lo - turned.net.0, self.room.hi - turned.net.1);
        (hi.x >= lo.x - SLACK && hi.y >= lo.y - SLACK).then_some((lo.x, hi.x.max(lo.x)))
    }

    /// Shifts in x to try: against each end, against each part placed, and
    /// evenly between.
    fn places(&self, spec: &Spec, turned: &Turned, (lo, hi): (f64, f64)) -> Vec<f64> {
        let mut out = vec![lo, hi];
        let step = spec.step.min(0.125 * turned.size().x);
        if step > 0.0 {
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "clamped to 1..=2000"
            )]
            let n = ((hi - lo) / step).ceil().clamp(1.0, 2000.0) as usize;
            out.extend((1..n).map(|k| lo + (hi - lo) * (k as f64 / n as f64)));
        }
        for piece in self.obstacles() {
            for x in [piece.hi.x - turned.grown.0.x, piece.lo.x - turned.grown.1.x] {
                if x > lo && x < hi {
                    out.push(x);
                }
            }
        }
        out.sort_by(f64::total_cmp);
        out.dedup_by(|b, a| *b - *a < SLACK);
        out
    }

    /// The lowest free shift in y at this x, with its score, where it is
    /// better than `bound`.
    fn drop(
        &self,
        turned: &Turned,
        x: f64,
        fall: Fall,
        bound: f64,
        scratch: &mut Vec<(f64, f64)>,
        work: &mut u64,
    ) -> Option<(f64, f64)> {
        let (lo, hi) = (
            self.room.lo.y - turned.net.0.y,
            self.room.hi.y - turned.net.1.y,
        );
        let base = fall.x * (turned.centre.x + x) + fall.y * turned.centre.y;
        if base + fall.y * lo >= bound {
            return None;
        }
        // No higher than where the score meets the bound.
        let top = if fall.y > 0.0 {
            hi.min((bound - base) / fall.y)
        } else {
            hi
        };
        scratch.clear();
        for o in self.obstacles() {
            if o.hi.x <= turned.grown.0.x + x + SLACK || o.lo.x >= turned.grown.1.x + x - SLACK {
                continue;
            }
            for p in &turned.pieces {
                let (x0, x1) = (o.lo.x.max(p.lo.x + x), o.hi.x.min(p.hi.x + x));
                if x1 - x0 <= SLACK || o.lo.y - p.hi.y >= top || o.hi.y - p.lo.y <= lo {
                    continue;
                }
                *work += (o.lower.len() + p.lower.len()) as u64;
                let up = rise(&o.upper, 0.0, &p.lower, x, x0, x1);
                if up <= lo {
                    continue;
                }
                let down = -rise(&p.upper, x, &o.lower, 0.0, x0, x1);
                if up - down > 2.0 * SLACK {
                    scratch.push((down, up));
                }
            }
        }
        *work += 4 + (self.room.walls.len() + self.pieces.len()) as u64 / 4;
        scratch.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let mut y = lo;
        for &(down, up) in scratch.iter() {
            if down + SLACK >= y {
                break;
            }
            y = y.max(up);
        }
        // An easing of SLACK at the top edge too.
        if y > hi + SLACK {
            return None;
        }
        let y = y.min(hi.max(lo));
        let score = base + fall.y * y;
        (score < bound).then_some((y, score))
    }

    /// Slides and turns the spot by ever smaller steps while it gets better.
    fn refined(
        &self,
        spec: &Spec,
        class: &Class,
        mut spot: Spot,
        fall: Fall,
        work: &mut u64,
    ) -> Spot {
        let mut scratch = Vec::new();
        let size = spot.turned.size();
        // Ends of a long part move by as much as a slide does.
        let mut slide = 0.5 * spec.step.min(0.125 * size.x);
        let fixed =
            matches!(spec.rotation, Rotation::Steps(_)) || class.lying > 0.5 * class.diameter;
        for _ in 0..ROUNDS {
            let turn = 2.0 * slide / class.diameter.max(1.0);
            let mut moved = false;
            for (dx, da) in [(-slide, 0.0), (slide, 0.0), (0.0, turn), (0.0, -turn)] {
                let mut turned = None;
                if da != 0.0 {
                    if fixed {
                        continue;
                    }
                    let mut to = spot.turned.turn + da;
                    if let Rotation::Within(limit) = spec.rotation {
                        to = within(to, limit);
                    }
                    *work += TURNING * class.corners() as u64;
                    turned = Some(Arc::new(class.turned(to)));
                }
                let t: &Turned = turned.as_ref().unwrap_or(&spot.turned);
                let Some((lo, hi)) = self.range(t) else {
                    continue;
                };
                let x = (spot.shift.x + dx + spot.turned.centre.x - t.centre.x).clamp(lo, hi);
                let found = self.drop(t, x, fall, spot.score, &mut scratch, work);
                if let Some((y, score)) = found {
                    spot.shift = vec2(x, y);
                    spot.score = score;
                    if let Some(t) = turned {
                        spot.turned = t;
                    }
                    moved = true;
                }
            }
            if !moved {
                slide *= 0.5;
            }
        }
        spot
    }

    /// Sum of area by height of centre: less is better stacked.
    pub(super) fn weight(&self, spec: &Spec, fall: Fall) -> f64 {
        self.items
            .iter()
            .map(|i| {
                let area = spec.classes[spec.of[i.part]].area;
                area * (fall.x * i.centre.x + fall.y * i.centre.y)
            })
            .sum()
    }

    /// Furthest extent of the true outlines in x and in y.
    pub(super) fn extent(&self, spec: &Spec) -> Vec2 {
        let mut far = self.room.lo;
        for i in &self.items {
            let class = &spec.classes[spec.of[i.part]];
            let hi = class.net_high(i.placement);
            far = vec2(far.x.max(hi.x), far.y.max(hi.y));
        }
        far
    }
}

/// True where a part fits the room at some turn that the job allows, and
/// that turn. Beyond the turns of the class, every half degree is tried and
/// the best refined: a part may fit on the diagonal only.
pub(super) fn fitting_turn(class: &Class, rotation: Rotation, room: &Room) -> Option<f64> {
    let space = room.hi - room.lo;
    // Above zero by how much a part of a size is too large.
    let excess = |s: Vec2| (s.x - space.x).max(s.y - space.y);
    let over = |turn: f64| excess(class.size_at(turn));
    if let Some(t) = class.turns.iter().find(|t| excess(t.size()) <= SLACK) {
        return Some(t.turn);
    }
    let allowed = |turn: f64| match rotation {
        Rotation::Free => turn,
        Rotation::Within(limit) => within(turn, limit),
        Rotation::Steps(step) => {
            if step.abs() > 0.0 {
                (turn / step).round() * step
            } else {
                0.0
            }
        }
    };
    let degree = trig::atan(1.0) / 45.0;
    let mut best = (f64::INFINITY, 0.0);
    for k in 0..720 {
        let turn = allowed(f64::from(k) * 0.5 * degree);
        let o = over(turn);
        if o < best.0 {
            best = (o, turn);
        }
    }
    if !matches!(rotation, Rotation::Steps(_)) {
        let mut step = 0.25 * degree;
        while step > 1e-9 && best.0 > SLACK {
            let before = best;
            for turn in [best.1 - step, best.1 + step] {
                let turn = allowed(turn);
                let o = over(turn);
                if o < best.0 {
                    best = (o, turn);
                }
            }
            if before.0 <= best.0 {
                step *= 0.5;
            }
        }
    }
    (best.0 <= SLACK).then_some(best.1)
}
