//! Parts passed from the emptiest sheet to one other at a time: laid over
//! those that are there, perhaps in the place of one of them, and the overlaps
//! cleared. A sheet by itself is some hundred times as quick to clear as all
//! of them together, so many more mixes of parts are tried.

use std::sync::Arc;

use super::clearing::{Body, Table};
use super::fewer::CLOSEST;
use super::fill::{Lay, Spec};
use super::plan::{Offer, Plan, Used};
use super::random::Random;
use super::room::Room;
use super::search::{BATCH, Search, Trial, leaning, spent};
use super::strip::{bodies, laid};
use crate::geom::{Vec2, vec2};

/// Rounds without getting better after which a mix is given up: half as many
/// give up what would clear, twice as many cost more for each that does.
const PATIENCE: usize = 60;
/// Batches in which nothing was passed after which the sheets are left.
const IDLE: usize = 60;
/// Most parts passed at once.
const MOST: usize = 2;

/// A part passed: the sheet that took it and what it now holds, and what is
/// left of the emptiest.
struct Passed {
    to: usize,
    new: Trial,
    rest: Trial,
}

impl Search<'_> {
    /// Passes parts from the emptiest sheet to the others until none of them
    /// takes any, or `until` units of work are done.
    pub(super) fn passed(&mut self, offers: &[Offer], plan: &mut Plan, until: u64) {
        let (before, mut idle) = (self.work, 0);
        while self.work < until && idle < IDLE && plan.sheets.len() > 1 {
            let Some(last) = plan.last_put_last(offers) else {
                break;
            };
            let spec = self.spec;
            let now = &*plan;
            let share = until.saturating_sub(self.work) / BATCH as u64;
            let stop = self.stop;
            let tried = self.batch(BATCH, |random, work| {
                pass(spec, offers, now, last, random, work, &|w| {
                    spent(w, share, stop) >= 1.0
                })
            });
            let best = tried
                .into_iter()
                .flatten()
                .reduce(|a, b| if b.rest.worth < a.rest.worth { b } else { a });
            idle += 1;
            if let Some(Passed { to, new, rest }) = best {
                idle = 0;
                plan.sheets[to] = Used::of(plan.sheets[to].stock, new);
                plan.sheets[last] = Used::of(plan.sheets[last].stock, rest);
                plan.sheets.retain(|s| !s.lay.items.is_empty());
            }
            self.tell(plan.fill(offers));
        }
        self.passing += self.work - before;
    }
}

/// One try: some parts of sheet `last` laid on another.
fn pass(
    spec: &Spec,
    offers: &[Offer],
    plan: &Plan,
    last: usize,
    random: &mut Random,
    work: &mut u64,
    ends: &dyn Fn(u64) -> bool,
) -> Option<Passed> {
    let from = &plan.sheets[last];
    // Of two drawn, the one with the more room.
    let free = |k: usize| {
        let lay = &plan.sheets[k].lay;
        lay.room.area() - lay.area
    };
    let (a, b) = (random.below(last), random.below(last));
    let to = if free(b) > free(a) { b } else { a };
    let sheet = &plan.sheets[to];
    let area = |parts: &[usize]| -> f64 {
        let one = |&p: &usize| spec.classes[spec.of[p]].area;
        parts.iter().map(one).sum()
    };
    let worth = |parts: &[usize]| -> f64 { parts.iter().map(|&p| spec.worth(p)).sum() };
    let come = drawn(&from.parts(), 1 + random.below(MOST), random);
    let go = drawn(&sheet.parts(), random.below(2), random);
    let fits = |parts: &[usize], s: &Used| parts.iter().all(|&p| offers[s.stock].fits[spec.of[p]]);
    let room = &sheet.lay.room;
    let close = sheet.lay.area + area(&come) - area(&go) > CLOSEST * room.area();
    let better = worth(&come) > worth(&go) * (1.0 + 1e-9);
    if close || !better || !fits(&come, sheet) || !fits(&go, from) {
        return None;
    }
    let stays: Vec<Body> = bodies(spec, &sheet.lay, 0)
        .into_iter()
        .filter(|b| !go.contains(&b.part))
        .collect();
    let new = laid_over(spec, room, stays, &come, random, work, ends)?;
    let rest = from
        .lay
        .keeping(spec, |k| !come.contains(&from.lay.items[k].part));
    let mut dropped = rest.clone();
    let rest = if dropped.fill(spec, &go, leaning(random), work).is_empty() {
        dropped
    } else {
        let stays = bodies(spec, &rest, 0);
        laid_over(spec, &rest.room, stays, &go, random, work, ends)?
    };
    let whole = |lay: Lay| Trial::new(spec, lay, Vec::new());
    Some(Passed {
        to,
        new: whole(new),
        rest: whole(rest),
    })
}

/// So many of some parts.
fn drawn(parts: &[usize], count: usize, random: &mut Random) -> Vec<usize> {
    let mut pool = parts.to_vec();
    let count = count.min(pool.len());
    (0..count)
        .map(|_| pool.swap_remove(random.below(pool.len())))
        .collect()
}

/// A sheet with parts laid over those that stay, or all of them scattered
/// anew, and the overlaps cleared.
fn laid_over(
    spec: &Spec,
    room: &Room,
    stays: Vec<Body>,
    come: &[usize],
    random: &mut Random,
    work: &mut u64,
    ends: &dyn Fn(u64) -> bool,
) -> Option<Lay> {
    let anew = random.chance(0.5);
    let size = room.hi - room.lo;
    let mut anywhere = |part: usize| {
        let class = &spec.classes[spec.of[part]];
        let turned = Arc::clone(&class.turns[random.below(class.turns.len())]);
        let middle: Vec2 = room.lo + vec2(size.x * random.unit(), size.y * random.unit());
        Body {
            part,
            class: spec.of[part],
            board: 0,
            shift: middle - turned.centre,
            turned,
            barred: false,
        }
    };
    let mut all: Vec<Body> = stays
        .into_iter()
        .map(|b| if anew { anywhere(b.part) } else { b })
        .collect();
    all.extend(come.iter().map(|&p| anywhere(p)));
    let mut table = Table::new(spec, vec![room.clone()], all);
    table.inside(work);
    let clear = table.separate(PATIENCE, random, &mut |w| ends(w), work);
    clear.then(|| laid(spec, room, &table.bodies, 0))
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::AtomicBool;

    use super::*;
    use crate::nest::packer::shape::classes;
    use crate::nest::packer::spec;
    use crate::nest::tests::{job, rectangle, sheet};

    /// Sheets half full of strips, and a fifth strip on a third sheet: what one
    /// sheet cannot hold is left, the rest is passed.
    #[test]
    fn what_finds_room_on_another_sheet_is_passed_and_no_more() {
        for (count, sheets) in [(4, 1), (5, 2)] {
            let strips = vec![rectangle(1000.0, 190.0); count];
            let job = job(strips, vec![sheet(1100.0, 860.0, None, None)], 6.0, 10.0);
            let (classes, of) = classes(&job);
            let spec = spec(&job, classes, of);
            let room = Room::new(&job.sheets[0], job.gap, job.edge_margin);
            let offer = Offer {
                room: room.clone(),
                area: job.sheets[0].area(),
                cost: 1.0,
                quantity: None,
                fits: vec![true],
            };
            let mut used = |parts: &[usize]| {
                let mut lay = Lay::new(room.clone());
                let left = lay.fill(&spec, parts, leaning(&mut Random::new(1)), &mut 0);
                assert!(left.is_empty());
                Used::of(0, Trial::new(&spec, lay, left))
            };
            let parts: Vec<usize> = (0..count).collect();
            let mut plan = Plan {
                sheets: parts.chunks(2).map(&mut used).collect(),
                left: Vec::new(),
            };
            let before = plan.sheets.len();
            let stop = AtomicBool::new(false);
            let mut search = Search::new(&spec, &|_| 300_000_000, 1, &|_, _| {}, &stop);
            search.passed(&[offer], &mut plan, 300_000_000);
            assert!(before > sheets && plan.sheets.len() == sheets, "{count}");
            let mut found: Vec<usize> = plan.sheets.iter().flat_map(Used::parts).collect();
            found.sort_unstable();
            assert_eq!(found, parts);
            assert!(search.passing > 0);
        }
    }
}
