//! Long parts passed between two sheets at a time, from the emptier to the
//! fuller: laid over those that are there, perhaps in the place of some of
//! them, and the overlaps cleared. A sheet by itself is some hundred times as
//! quick to clear as all of them together, so many mixes of parts are tried;
//! which are worth it is learnt on the way ([`super::loads`]).

use std::sync::Arc;

use super::clearing::{Body, Table};
use super::fill::{Lay, Spec};
use super::loads::Loads;
use super::random::Random;
use super::room::Room;
use super::search::{BATCH, Search, Trial, leaning, spent};
use super::sheets::CLOSEST;
use super::sheets::{Offer, Plan, Used};
use super::strip::{bodies, laid};
use crate::geom::{Vec2, trig, vec2};

/// Rounds without getting better after which a mix is given up: half as many
/// give up what would clear, twice as many cost more for each that does.
const PATIENCE: usize = 60;
/// Searches for a place, for each part, after which a mix is given up at first:
/// most that clear do so soon, and a try that fails takes three times as long.
const SOUGHT: usize = 16;
/// As many more are allowed after each so many batches that made the emptiest
/// sheet no emptier: what clears soon is found by then.
const DEEPER: usize = 8;
/// Share of the tries that scatter all parts of a sheet anew.
const ANEW: f64 = 0.4;
/// Batches that make the emptiest sheet no emptier after which the sheets are
/// left.
const IDLE: usize = 80;
/// Most parts that come, and most that go.
const MOST: usize = 2;
/// Exchanges drawn for each that is tried.
const DRAWN: usize = 400;
/// Each try that failed takes this from the chances of a sheet: what it holds
/// may lie such that nothing comes to it.
const DOUBT: f64 = 0.8;
/// Exchanges that bring less, of what the fuller sheet holds, bring nothing.
const LEAST: f64 = 1e-3;

/// Parts that come to a fuller sheet, and those that go for them.
struct Exchange {
    from: usize,
    to: usize,
    come: Vec<usize>,
    go: Vec<usize>,
}

/// What came of trying one.
struct Tried {
    /// Sheets by index, the parts laid on each, and whether they found room.
    mixes: Vec<(usize, Vec<usize>, bool)>,
    /// Both sheets where they did: index and what it now holds.
    passed: Option<[(usize, Trial); 2]>,
}

impl Search<'_> {
    /// Passes parts from emptier sheets to fuller ones until the emptiest is
    /// made no emptier, or `until` units of work are done. Where these are not
    /// `all` there are, a sheet less is what counts: it ends sooner where the
    /// others, were they as full as the fullest, would not hold what is on it.
    /// What was found where that sheet was emptiest stays.
    pub(super) fn passed(&mut self, offers: &[Offer], plan: &mut Plan, until: u64, all: bool) {
        let spec = self.spec;
        let mut loads = Loads::new(spec, plan);
        let (before, mut idle) = (self.work, 0);
        let mut best = plan.clone();
        let mut failed = vec![0; plan.sheets.len()];
        while self.work < until && plan.sheets.len() > 1 {
            let patience = if all || plan.with_one_less(offers) {
                IDLE
            } else {
                IDLE / 4
            };
            if idle >= patience {
                break;
            }
            let share = until.saturating_sub(self.work) / BATCH as u64;
            let stop = self.stop;
            let sought = SOUGHT * (1 + idle / DEEPER);
            let passing = Passing::new(spec, offers, plan, &loads, &failed, sought);
            let tried = self.batch(BATCH, |random, work| {
                let exchange = passing.drawn(random)?;
                Some(passing.tried(exchange, random, work, &|w| spent(w, share, stop) >= 1.0))
            });
            let mut changed = vec![false; plan.sheets.len()];
            for Tried { mixes, passed } in tried.into_iter().flatten() {
                for (sheet, mix, fits) in mixes {
                    failed[sheet] += i32::from(!fits);
                    loads.learn(spec, &mix, plan.sheets[sheet].lay.room.area(), fits);
                }
                // Of exchanges with a sheet in common the first is made.
                let free = |both: &[(usize, Trial); 2]| both.iter().all(|(k, _)| !changed[*k]);
                for (sheet, trial) in passed.filter(free).into_iter().flatten() {
                    changed[sheet] = true;
                    plan.sheets[sheet] = Used::of(plan.sheets[sheet].stock, trial);
                }
            }
            failed = (0..failed.len())
                .filter(|&k| !plan.sheets[k].lay.items.is_empty())
                .map(|k| if changed[k] { 0 } else { failed[k] })
                .collect();
            plan.sheets.retain(|s| !s.lay.items.is_empty());
            for used in &plan.sheets {
                let (parts, room) = (used.parts(), used.lay.room.area());
                if loads.share(spec, &parts, room) > 1.0 {
                    loads.learn(spec, &parts, room, true);
                }
            }
            idle += 1;
            let less = plan.least(offers) < best.least(offers) * (1.0 - 1e-9);
            if plan.sheets.len() < best.sheets.len() || less {
                idle = 0;
                best = plan.clone();
            }
            self.tell(plan.fill(offers));
        }
        *plan = best;
        self.passing += self.since(before);
    }
}

impl Plan {
    /// True where the sheets but the emptiest, were they as full as the fullest,
    /// would hold all.
    fn with_one_less(&self, offers: &[Offer]) -> bool {
        let last = self.last(offers);
        let all: f64 = self.sheets.iter().map(|s| s.lay.area).sum();
        let fullest = self.sheets.iter().map(Used::share).fold(0.0, f64::max);
        let others = self.sheets.iter().enumerate();
        let rooms: f64 = others
            .filter(|(k, _)| Some(*k) != last)
            .map(|(_, s)| s.lay.room.area())
            .sum();
        all <= fullest * rooms
    }
}

/// Sheets and what is thought of them.
struct Passing<'a> {
    spec: &'a Spec,
    offers: &'a [Offer],
    plan: &'a Plan,
    loads: &'a Loads,
    /// Parts of each sheet.
    parts: Vec<Vec<usize>>,
    /// Load of each, as a share of what it holds.
    held: Vec<f64>,
    /// Load for its cost, by which it is fuller than another.
    full: Vec<f64>,
    /// What chances are taken for after the tries that failed on each since it
    /// last changed.
    doubt: Vec<f64>,
    /// Searches for a place, for each part, after which a mix is given up.
    sought: usize,
}

impl<'a> Passing<'a> {
    fn new(
        spec: &'a Spec,
        offers: &'a [Offer],
        plan: &'a Plan,
        loads: &'a Loads,
        failed: &[i32],
        sought: usize,
    ) -> Self {
        let parts: Vec<Vec<usize>> = plan.sheets.iter().map(Used::parts).collect();
        let held: Vec<f64> = plan
            .sheets
            .iter()
            .zip(&parts)
            .map(|(s, parts)| loads.share(spec, parts, s.lay.room.area()))
            .collect();
        let full = plan
            .sheets
            .iter()
            .zip(&held)
            .map(|(s, held)| offers[s.stock].for_cost(held * s.lay.room.area()));
        Self {
            full: full.collect(),
            doubt: failed
                .iter()
                .map(|&n| trig::pow(DOUBT, f64::from(n)))
                .collect(),
            spec,
            offers,
            plan,
            loads,
            parts,
            held,
            sought,
        }
    }

    /// Of some exchanges the one that promises to bring most.
    fn drawn(&self, random: &mut Random) -> Option<Exchange> {
        let mut best: Option<(f64, Exchange)> = None;
        for _ in 0..DRAWN {
            let sheets = self.parts.len();
            let (mut from, mut to) = (random.below(sheets), random.below(sheets));
            if self.full[from] > self.full[to] {
                (from, to) = (to, from);
            }
            let come = drawn(&self.parts[from], 1 + random.below(MOST), random);
            let go = drawn(&self.parts[to], random.below(MOST + 1), random);
            let exchange = Exchange { from, to, come, go };
            let promise = self.promise(&exchange);
            if promise > best.as_ref().map_or(0.0, |b| b.0) {
                best = Some((promise, exchange));
            }
        }
        best.map(|b| b.1)
    }

    /// What an exchange is to bring to the fuller sheet, of what it holds,
    /// times the chance that it does; 0 where it cannot be.
    fn promise(&self, Exchange { from, to, come, go }: &Exchange) -> f64 {
        let (spec, giver, taker) = (self.spec, &self.plan.sheets[*from], &self.plan.sheets[*to]);
        let fits = |parts: &[usize], s: &Used| {
            let fits = &self.offers[s.stock].fits;
            parts.iter().all(|&p| fits[spec.of[p]])
        };
        let close = |s: &Used, more: f64| s.lay.area + more > CLOSEST * s.lay.room.area();
        let more = spec.area(come) - spec.area(go);
        if from == to
            || !fits(come, taker)
            || !fits(go, giver)
            || close(taker, more)
            || close(giver, -more)
        {
            return 0.0;
        }
        let brings = |s: &Used| {
            let room = s.lay.room.area();
            self.loads.share(spec, come, room) - self.loads.share(spec, go, room)
        };
        let (more, less) = (brings(taker), brings(giver));
        if more < LEAST {
            return 0.0;
        }
        let chance = |k: usize, more: f64| Loads::chance(self.held[k] + more) * self.doubt[k];
        more * chance(*to, more) * chance(*from, -less)
    }

    /// An exchange tried: both sheets, where both find room for their parts.
    fn tried(
        &self,
        Exchange { from, to, come, go }: Exchange,
        random: &mut Random,
        work: &mut u64,
        ends: &dyn Fn(u64) -> bool,
    ) -> Tried {
        let mut tried = Tried {
            mixes: Vec::new(),
            passed: None,
        };
        let mut laid = |sheet: usize, go: &[usize], come: &[usize]| {
            let lay = self.laid(sheet, go, come, random, work, ends);
            let stay = self.parts[sheet].iter().filter(|p| !go.contains(p));
            let mix = stay.chain(come).copied().collect();
            // A try cut short tells nothing.
            if lay.is_some() || !ends(*work) {
                tried.mixes.push((sheet, mix, lay.is_some()));
            }
            let lay = lay?;
            Some((sheet, Trial::new(self.spec, lay, Vec::new())))
        };
        let passed = laid(to, &go, &come)
            .and_then(|fuller| laid(from, &come, &go).map(|emptier| [fuller, emptier]));
        tried.passed = passed;
        tried
    }

    /// A sheet without some of its parts and with others, where they find
    /// room: dropped beside those that stay, or laid over them, or all
    /// scattered anew, and the overlaps cleared.
    fn laid(
        &self,
        sheet: usize,
        go: &[usize],
        come: &[usize],
        random: &mut Random,
        work: &mut u64,
        ends: &dyn Fn(u64) -> bool,
    ) -> Option<Lay> {
        let (spec, lay) = (self.spec, &self.plan.sheets[sheet].lay);
        let rest = lay.keeping(spec, |k| !go.contains(&lay.items[k].part));
        let mut dropped = rest.clone();
        if dropped.fill(spec, come, leaning(random), work).is_empty() {
            return Some(dropped);
        }
        let anew = random.chance(ANEW);
        let room = &rest.room;
        let mut all = bodies(spec, &rest, 0);
        if anew {
            for b in &mut all {
                *b = anywhere(spec, room, b.part, random);
            }
        }
        all.extend(come.iter().map(|&p| anywhere(spec, room, p, random)));
        cleared(spec, room, all, self.sought, random, work, ends)
    }
}

/// A sheet on which the overlaps of some bodies are cleared, within so many
/// searches for a place for each. `None` where they find no room.
pub(super) fn cleared(
    spec: &Spec,
    room: &Room,
    bodies: Vec<Body>,
    sought: usize,
    random: &mut Random,
    work: &mut u64,
    ends: &dyn Fn(u64) -> bool,
) -> Option<Lay> {
    let mut table = Table::new(spec, vec![room.clone()], bodies);
    table.most = sought * table.bodies.len();
    table.inside(work);
    let clear = table.separate(PATIENCE, random, &mut |w| ends(w), work);
    clear.then(|| laid(spec, room, &table.bodies, 0))
}

/// A part somewhere in a room.
pub(super) fn anywhere(spec: &Spec, room: &Room, part: usize, random: &mut Random) -> Body {
    let class = &spec.classes[spec.of[part]];
    let turned = Arc::clone(&class.turns[random.below(class.turns.len())]);
    let size = room.hi - room.lo;
    let middle: Vec2 = room.lo + vec2(size.x * random.unit(), size.y * random.unit());
    Body {
        part,
        class: spec.of[part],
        board: 0,
        shift: middle - turned.centre,
        turned,
        barred: false,
    }
}

/// So many of some parts.
fn drawn(parts: &[usize], count: usize, random: &mut Random) -> Vec<usize> {
    let mut pool = parts.to_vec();
    let count = count.min(pool.len());
    (0..count)
        .map(|_| pool.swap_remove(random.below(pool.len())))
        .collect()
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::AtomicBool;

    use super::*;
    use crate::nest::packer::made;
    use crate::nest::tests::{job, rectangle, sheet};

    /// Sheets half full of strips, and a fifth strip on a third sheet: what one
    /// sheet cannot hold is left, the rest is passed.
    #[test]
    fn what_finds_room_on_another_sheet_is_passed_and_no_more() {
        for (count, sheets) in [(4, 1), (5, 2)] {
            let strips = vec![rectangle(1000.0, 190.0); count];
            let job = job(strips, vec![sheet(1100.0, 860.0, None, None)], 6.0, 10.0);
            let (spec, room) = made::set(&job);
            let parts: Vec<usize> = (0..count).collect();
            let mut plan = Plan {
                sheets: parts
                    .chunks(2)
                    .map(|p| made::used(&spec, &room, p))
                    .collect(),
                left: Vec::new(),
            };
            let before = plan.sheets.len();
            let stop = AtomicBool::new(false);
            let mut search = Search::new(&spec, &|_| 300_000_000, 1, &|_, _| {}, &stop);
            search.passed(&[made::offer(&spec, &room)], &mut plan, 300_000_000, true);
            assert!(before > sheets && plan.sheets.len() == sheets, "{count}");
            let mut found: Vec<usize> = plan.sheets.iter().flat_map(Used::parts).collect();
            found.sort_unstable();
            assert_eq!(found, parts);
            assert!(search.passing > 0);
        }
    }
}
