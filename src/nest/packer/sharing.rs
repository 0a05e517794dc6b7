//! Long parts shared out anew over one sheet less. Passing them about changes
//! two sheets at a time, each of which must find room at once; here it is
//! planned what each sheet is to hold, by the odds ([`super::odds`]), and the
//! sheets are then laid one by one, what was planned changing with what is
//! learnt on the way.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicBool, Ordering};

use super::fill::{Lay, Spec};
use super::odds::{Beside, Odds};
use super::passing::{anywhere, cleared};
use super::random::Random;
use super::search::{BATCH, Search, Trial, spent};
use super::sheets::CLOSEST;
use super::sheets::{Offer, Plan, Used};
use crate::geom::trig;

/// Searches for a place, for each part, after which a mix is given up.
const SOUGHT: usize = 40;
/// Exchanges tried, for each part, when parts are shared out at first, and
/// when they are again after sheets were tried.
const STEPS: (usize, usize) = (1500, 300);
/// Tries that an exchange may cost at first, and may cost again, with a chance
/// of 1 in e.
const HEAT: (f64, f64) = (5.0, 0.2);
/// The same at the end.
const COLD: f64 = 0.05;
/// Exchanges after which it is seen whether the search is to stop.
const LOOK: usize = 1024;
/// Work of an exchange tried, for each part on a sheet.
const STEP: u64 = 12;
/// What a try that failed takes from the chance of the same mix, as a power of
/// e: of mixes tried twice the second try came out much as the first.
const DOUBT: f64 = 0.2;
/// Tries, as a power of e, over which more cost but little more: what is all
/// but impossible must not hide what is unlikely.
const MANY: f64 = 3.0;
/// Tries for each that breaks a rule.
const NEVER: f64 = 1e4;
/// Times the work that is left that sharing out may be thought to take, and is
/// gone on with: the least likely sheets are tried first, so that what is
/// learnt from them is too dark at first.
const HOPE: f64 = 2.0;
/// Work of a try before any was made.
const TRY: f64 = 30e6;
/// Tries that each of the next parts is worth that is thought to find no room
/// beside the shares.
const NEXT: f64 = 8.0;

/// What came of a mix so far.
#[derive(Debug, Default, Clone)]
struct Mix {
    failed: usize,
    lay: Option<Lay>,
}

/// Sheets over which parts are shared out.
struct Sharing<'a> {
    spec: &'a Spec,
    offers: &'a [Offer],
    sheets: &'a [&'a Used],
    odds: &'a Odds,
    next: &'a Next,
    mixes: &'a BTreeMap<u64, Mix>,
    stop: &'a AtomicBool,
}

/// Parts that are to find room beside those shared out.
#[derive(Debug, Clone, Default)]
pub(super) struct Next {
    /// How many there are, and their area, mm2.
    pub count: usize,
    pub area: f64,
    /// What is thought to find room beside mixes.
    pub beside: Beside,
}

impl Next {
    /// How many are thought to find no room where so much area does, mm2.
    fn left(&self, area: f64) -> f64 {
        let short = (self.area - area).max(0.0) / self.area.max(f64::MIN_POSITIVE);
        short * self.count as f64
    }
}

/// What each sheet is to hold, the tries that each is thought to take, and the
/// area thought to find room beside it, mm2.
#[derive(Clone)]
struct Shares {
    parts: Vec<Vec<usize>>,
    tries: Vec<f64>,
    beside: Vec<f64>,
}

/// What is known of mixes, and what is to find room beside them.
pub(super) struct Learnt {
    pub odds: Odds,
    pub next: Next,
    mixes: BTreeMap<u64, Mix>,
}

impl Learnt {
    pub(super) fn new(odds: Odds, next: Next) -> Self {
        Self {
            odds,
            next,
            mixes: BTreeMap::new(),
        }
    }
}

impl Search<'_> {
    /// Shares the parts out over one sheet less, as often as that is thought to
    /// come off before `until` units of work are done.
    pub(super) fn shared_out(
        &mut self,
        offers: &[Offer],
        plan: &mut Plan,
        learnt: &mut Learnt,
        until: u64,
    ) {
        let before = self.work;
        while let Some(fewer) = self.with_one_less(offers, plan, learnt, until) {
            *plan = fewer;
            self.tell(plan.fill(offers));
        }
        self.passing += self.since(before);
    }

    /// All parts on the sheets but the emptiest, or `None` where that is not
    /// thought to come off in time.
    fn with_one_less(
        &mut self,
        offers: &[Offer],
        plan: &Plan,
        Learnt { odds, next, mixes }: &mut Learnt,
        until: u64,
    ) -> Option<Plan> {
        let spec = self.spec;
        let last = plan.last(offers)?;
        let others = plan.sheets.iter().enumerate().filter(|(k, _)| *k != last);
        let sheets: Vec<&Used> = others.map(|s| s.1).collect();
        let n = sheets.len();
        // On one sheet there is nothing to share out.
        if n < 2 {
            return None;
        }
        let mut parts: Vec<Vec<usize>> = sheets.iter().map(|s| s.parts()).collect();
        for (used, parts) in sheets.iter().zip(&parts) {
            let mix = mixes.entry(key(spec, used.stock, parts)).or_default();
            mix.lay = Some(used.lay.clone());
        }
        let over = plan.sheets[last].parts();
        let count = over.len() + parts.iter().map(Vec::len).sum::<usize>();
        for (k, part) in over.into_iter().enumerate() {
            parts[k % n].push(part);
        }
        let mut shares = Shares {
            parts,
            tries: vec![NEVER; n],
            beside: vec![0.0; n],
        };
        let (mut tries, mut cost) = (1.0, TRY);
        let mut afresh = true;
        loop {
            let sharing = Sharing {
                spec,
                offers,
                sheets: &sheets,
                odds,
                next,
                mixes,
                stop: self.stop,
            };
            let (steps, heat) = if afresh {
                (STEPS.0, HEAT.0)
            } else {
                (STEPS.1, HEAT.1)
            };
            // A sheet tried, beside the sharing out, is the least that it takes.
            let least = cost / tries + (STEP * (steps * count * count) as u64) as f64 / n as f64;
            if self.work as f64 + least > until as f64 {
                return None;
            }
            let from = &shares;
            let mut shared = self.batch(1, |random, work| {
                sharing.shared(from, steps * count, heat, random, work)
            });
            shares = shared.pop()?;
            let mut open: Vec<usize> = (0..n).filter(|&k| shares.tries[k] > 0.0).collect();
            if open.is_empty() {
                return sharing.laid(&shares.parts);
            }
            let thought: f64 = open.iter().map(|&k| shares.tries[k]).sum();
            let left = until.saturating_sub(self.work) as f64;
            if thought * cost / tries > HOPE * left {
                // Once more from the start, as other shares may be likelier.
                if afresh {
                    return None;
                }
                afresh = true;
                continue;
            }
            afresh = false;
            // The least likely first: they teach most, and change the others.
            open.sort_by(|&a, &b| shares.tries[b].total_cmp(&shares.tries[a]).then(a.cmp(&b)));
            let targets: Vec<usize> = (0..BATCH).map(|k| open[k % open.len()]).collect();
            let before = self.work;
            let left = until.saturating_sub(before) / BATCH as u64;
            let stop = self.stop;
            let tried = self.each(&targets, |&k, random, work| {
                let room = &sheets[k].lay.room;
                let parts = shares.parts[k].iter();
                let all = parts.map(|&p| anywhere(spec, room, p, random)).collect();
                let ends = |w| spent(w, left, stop) >= 1.0;
                cleared(spec, room, all, SOUGHT, random, work, &ends)
            });
            tries += targets.len() as f64;
            cost += (self.work - before) as f64;
            let learnt: Vec<_> = targets
                .iter()
                .zip(&tried)
                .map(|(&k, lay)| {
                    let known = odds.known(spec, &sheets[k].lay.room, &shares.parts[k]);
                    (known, lay.is_some())
                })
                .collect();
            odds.learn(learnt);
            for (k, lay) in targets.into_iter().zip(tried) {
                let mix = mixes
                    .entry(key(spec, sheets[k].stock, &shares.parts[k]))
                    .or_default();
                match lay {
                    Some(lay) => mix.lay = Some(lay),
                    None => mix.failed += 1,
                }
            }
            self.tell(plan.fill(offers));
        }
    }
}

/// What names a mix on a kind of sheet: the same whatever the order of its
/// parts, and of parts of one class whichever they are.
fn key(spec: &Spec, stock: usize, parts: &[usize]) -> u64 {
    let one = |k: usize| Random::new(k as u64).next();
    let stock = one(spec.classes.len() + stock);
    parts
        .iter()
        .fold(stock, |key, &p| key.wrapping_add(one(spec.of[p])))
}

impl Sharing<'_> {
    /// Tries that a mix is thought to take on a sheet, none where it is laid;
    /// and the area thought to find room beside it, mm2.
    fn thought(&self, sheet: usize, parts: &[usize]) -> (f64, f64) {
        let used = self.sheets[sheet];
        let room = &used.lay.room;
        if parts.is_empty() {
            return (0.0, 0.0);
        }
        let known = self.odds.known(self.spec, room, parts);
        let beside = self.next.beside.share(&known) * room.area();
        let mix = self.mixes.get(&key(self.spec, used.stock, parts));
        if mix.is_some_and(|m| m.lay.is_some()) {
            return (0.0, beside);
        }
        let fits = &self.offers[used.stock].fits;
        let over = (self.spec.area(parts) / room.area() - CLOSEST).max(0.0);
        let barred = parts.iter().filter(|&&p| !fits[self.spec.of[p]]).count();
        let failed = mix.map_or(0, |m| m.failed) as f64;
        let power = DOUBT * failed - self.odds.log_chance(&known);
        let tries = trig::exp(power.min(MANY)) * (1.0 + (power - MANY).max(0.0));
        (tries + NEVER * (over + barred as f64), beside)
    }

    /// Shares of the fewest tries found, with those that the next parts are
    /// worth, by simulated annealing: one or two parts, or none, of each of two
    /// sheets change places.
    fn shared(
        &self,
        from: &Shares,
        steps: usize,
        heat: f64,
        random: &mut Random,
        work: &mut u64,
    ) -> Shares {
        let n = from.parts.len();
        let mut now = from.clone();
        for k in 0..n {
            (now.tries[k], now.beside[k]) = self.thought(k, &now.parts[k]);
        }
        let cost = |tries: f64, beside: f64| tries + NEXT * self.next.left(beside);
        let mut best = now.clone();
        let mut tries: f64 = now.tries.iter().sum();
        let mut beside: f64 = now.beside.iter().sum();
        let mut least = cost(tries, beside);
        for step in 0..steps {
            if step % LOOK == 0 && self.stop.load(Ordering::Relaxed) {
                break;
            }
            let heat = heat * trig::pow(COLD / heat, step as f64 / steps as f64);
            let a = random.below(n);
            let b = (a + 1 + random.below(n - 1)) % n;
            let counts = [random.below(3), random.below(3)];
            let (mut left, mut right) = (now.parts[a].clone(), now.parts[b].clone());
            let mut take = |from: &mut Vec<usize>, count: usize| -> Vec<usize> {
                (0..count.min(from.len()))
                    .map(|_| from.swap_remove(random.below(from.len())))
                    .collect()
            };
            let (go, come) = (take(&mut left, counts[0]), take(&mut right, counts[1]));
            if go.is_empty() && come.is_empty() {
                continue;
            }
            left.extend(come);
            right.extend(go);
            *work += STEP * (left.len() + right.len()) as u64;
            let (to_a, to_b) = (self.thought(a, &left), self.thought(b, &right));
            let then = (
                tries + to_a.0 + to_b.0 - now.tries[a] - now.tries[b],
                beside + to_a.1 + to_b.1 - now.beside[a] - now.beside[b],
            );
            let more = cost(then.0, then.1) - cost(tries, beside);
            if more <= 0.0 || random.unit() < trig::exp(-more / heat) {
                (now.parts[a], now.parts[b]) = (left, right);
                (now.tries[a], now.tries[b]) = (to_a.0, to_b.0);
                (now.beside[a], now.beside[b]) = (to_a.1, to_b.1);
                // Summed afresh, so that no rounding adds up.
                tries = now.tries.iter().sum();
                beside = now.beside.iter().sum();
                if cost(tries, beside) < least {
                    least = cost(tries, beside);
                    best = now.clone();
                }
            }
        }
        best
    }

    /// The sheets, all of whose mixes are laid.
    fn laid(&self, parts: &[Vec<usize>]) -> Option<Plan> {
        let spec = self.spec;
        let mut sheets = Vec::new();
        for (used, parts) in self.sheets.iter().zip(parts) {
            if parts.is_empty() {
                continue;
            }
            let mix = self.mixes.get(&key(spec, used.stock, parts))?;
            let mut lay = mix.lay.clone()?;
            let mut parts = parts.clone();
            for item in &mut lay.items {
                let class = spec.of[item.part];
                let at = parts.iter().position(|&p| spec.of[p] == class)?;
                item.part = parts.swap_remove(at);
            }
            let whole = parts.is_empty();
            sheets.push(whole.then(|| Used::of(used.stock, Trial::new(spec, lay, Vec::new())))?);
        }
        Some(Plan {
            sheets,
            left: Vec::new(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::nest::packer::clearing::Table;
    use crate::nest::packer::made;
    use crate::nest::packer::strip::bodies;
    use crate::nest::tests::{job, rectangle, sheet};

    /// Strips of which a sheet takes four, on five sheets: sixteen come to lie on
    /// four, seventeen do not, and none is lost.
    #[test]
    fn strips_are_shared_out_over_as_few_sheets_as_hold_them() {
        for (count, sheets) in [(16, 4), (17, 5)] {
            let strips: Vec<_> = (0..count)
                .map(|k| rectangle(1000.0 + f64::from(k % 3), 190.0))
                .collect();
            let job = job(strips, vec![sheet(1100.0, 860.0, None, None)], 6.0, 10.0);
            let (spec, room) = made::set(&job);
            let parts: Vec<usize> = (0..job.parts.len()).collect();
            let (full, rest) = parts.split_at(12);
            let mut plan = Plan {
                sheets: full
                    .chunks(4)
                    .chain(rest.chunks(3))
                    .map(|p| made::used(&spec, &room, p))
                    .collect(),
                left: Vec::new(),
            };
            assert_eq!(plan.sheets.len(), 5);
            let stop = AtomicBool::new(false);
            let mut search = Search::new(&spec, &|_| 1_000_000_000, 1, &|_, _| {}, &stop);
            let mut learnt = Learnt::new(Odds::new(&spec, &plan, 0.4), Next::default());
            search.shared_out(
                &[made::offer(&spec, &room)],
                &mut plan,
                &mut learnt,
                1_000_000_000,
            );
            assert_eq!(plan.sheets.len(), sheets, "{count}");
            let mut found: Vec<usize> = plan.sheets.iter().flat_map(Used::parts).collect();
            found.sort_unstable();
            assert_eq!(found, parts);
            for used in &plan.sheets {
                let mut table = Table::new(&spec, vec![room.clone()], bodies(&spec, &used.lay, 0));
                table.measure(&mut 0);
                assert!(table.clear());
            }
        }
    }

    /// Two lengths of strips of which any four find room: where parts find room
    /// beside four short ones alone, these come to lie together.
    #[test]
    fn room_beside_the_shares_is_worth_tries() {
        let strips: Vec<_> = (0..8)
            .map(|k| rectangle(if k % 2 == 0 { 1000.0 } else { 700.0 }, 190.0))
            .collect();
        let job = job(strips, vec![sheet(1100.0, 860.0, None, None)], 6.0, 10.0);
        let (spec, room) = made::set(&job);
        let offers = [made::offer(&spec, &room)];
        let halves = [[0, 1, 2, 3], [4, 5, 6, 7]];
        let plan = Plan {
            sheets: halves.map(|p| made::used(&spec, &room, &p)).into(),
            left: Vec::new(),
        };
        let odds = Odds::new(&spec, &plan, 0.4);
        // Beside four short ones, which take 0.585 of the room.
        let rule = |parts: &[usize]| {
            let known = odds.known(&spec, &room, parts);
            (known, 2.0 * (0.62 - known[0]))
        };
        let seen = [
            &[1, 3, 5, 7][..],
            &[1, 3, 5],
            &[0, 1],
            &[0, 2, 4, 6],
            &[0],
            &[0, 2, 5],
        ];
        let mut next = Next {
            count: 10,
            area: 0.1 * room.area(),
            ..Next::default()
        };
        next.beside.learn(seen.map(rule));
        let mixes = BTreeMap::new();
        let sharing = Sharing {
            spec: &spec,
            offers: &offers,
            sheets: &plan.sheets.iter().collect::<Vec<_>>(),
            odds: &odds,
            next: &next,
            mixes: &mixes,
            stop: &AtomicBool::new(false),
        };
        let from = Shares {
            parts: plan.sheets.iter().map(Used::parts).collect(),
            tries: vec![NEVER; 2],
            beside: vec![0.0; 2],
        };
        let shares = sharing.shared(&from, 4000, HEAT.0, &mut Random::new(1), &mut 0);
        for parts in &shares.parts {
            assert_eq!(parts.len(), 4, "{:?}", shares.parts);
            assert!(
                parts.iter().all(|p| p % 2 == parts[0] % 2),
                "{:?}",
                shares.parts
            );
        }
    }

    /// Mixes are one whatever the order of their parts, and another on another
    /// kind of sheet or with another count.
    #[test]
    fn mixes_are_told_apart_by_what_is_in_them() {
        let strips = vec![
            rectangle(1000.0, 190.0),
            rectangle(1000.0, 190.0),
            rectangle(900.0, 190.0),
        ];
        let job = job(strips, vec![sheet(1100.0, 860.0, None, None)], 6.0, 10.0);
        let (spec, _) = made::set(&job);
        assert_eq!(key(&spec, 0, &[0, 2]), key(&spec, 0, &[2, 1]));
        assert_ne!(key(&spec, 0, &[0, 2]), key(&spec, 1, &[0, 2]));
        assert_ne!(key(&spec, 0, &[0, 2]), key(&spec, 0, &[0, 1, 2]));
        assert_ne!(key(&spec, 0, &[0, 1]), key(&spec, 0, &[2]));
    }
}
