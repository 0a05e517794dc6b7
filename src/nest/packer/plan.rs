//! Which sheets to buy, and parts moved between them.

use super::fill::{Fall, Lay};
use super::odds::Odds;
use super::search::{BATCH, Search, Trial, changed, fresh};
use super::sharing::{Learnt, Next};
use super::sheets::{Offer, Plan, Used};

/// Share of the budget that goes into filling sheets one after the other.
const BUILD: f64 = 0.12;
/// Share reached at most when long parts have been shared out over fewer sheets.
const SHARE: f64 = 0.65;
/// Ways that are found for it at most, of which the best is kept.
const WAYS: usize = 6;
/// Shares that go into making room beside long parts, and into using it, each
/// time.
const TIGHTEN: f64 = 0.025;
const TOP: f64 = 0.02;
/// Shares reached when parts have been passed between sheets of long ones, and
/// when the middling ones have.
const PASS: [f64; 2] = [0.7, 0.85];
/// Share reached when parts have been moved between sheets by dropping, what
/// went into sharing them out and passing them not counted.
const MOVE: f64 = 0.2;
/// Share reached when overlaps have been cleared, which finds far more; the
/// rest goes into the last sheet's offcut.
const CLEAR: f64 = 0.95;
/// Fill that the number of sheets is first guessed from.
const USUAL_FILL: f64 = 0.72;
/// A part over this share of the longest is long, as strips are; over this
/// share of a long one middling, as doublers are; else small, as gussets are.
const LONG: f64 = 0.4;
/// Batches without a better offcut after which the last sheet is left: jobs
/// of few parts need not spend their budget.
const PATIENCE: usize = 150;
/// Ways of falling tried on the last sheet: to the left for a short one, and
/// down for a narrow one.
const LAST_FALLS: [Fall; 4] = [
    Fall { x: 1.0, y: 0.02 },
    Fall { x: 1.0, y: 0.3 },
    Fall { x: 0.02, y: 1.0 },
    Fall { x: 0.2, y: 1.0 },
];

impl Search<'_> {
    /// The best plan found: the size or mix of sizes is chosen by a short
    /// trial of each, the best is then worked out in full.
    pub(super) fn plan(&mut self, offers: &[Offer], parts: &[usize]) -> Plan {
        let all: Vec<usize> = (0..offers.len()).collect();
        let mut choices: Vec<Vec<usize>> = all.iter().map(|&i| vec![i]).collect();
        if offers.len() > 1 {
            choices.push(all);
        }
        let mut best: Option<(Plan, usize)> = None;
        if choices.len() > 1 {
            for (i, choice) in choices.iter().enumerate() {
                let plan = self.filled(offers, choice, Plan::bare(parts), 0);
                if best.as_ref().is_none_or(|b| cheaper(offers, &plan, &b.0)) {
                    best = Some((plan, i));
                }
            }
        }
        let choice = best.as_ref().map_or(0, |b| b.1);
        let share = self.share(BUILD).saturating_sub(self.work);
        let choice = &choices[choice];
        let mut plan = self.filled(offers, choice, Plan::bare(parts), share / 2);
        let other = self.long_first(offers, choice, parts, share / 2);
        if other.left.is_empty() && !cheaper(offers, &plan, &other) {
            plan = other;
        }
        if let Some((rough, _)) = best.filter(|b| cheaper(offers, &b.0, &plan)) {
            plan = rough;
        }
        self.exchanged(offers, &mut plan);
        let until = self.share(CLEAR);
        self.cleared(offers, &mut plan, until);
        self.downgraded(offers, &mut plan);
        self.last_sheet(offers, &mut plan);
        self.work = self.work.max(self.budget);
        self.tell(plan.fill(offers));
        plan
    }

    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a share of a positive budget far below 2^52"
    )]
    fn share(&self, of: f64) -> u64 {
        (self.budget as f64 * of) as u64
    }

    /// Sheet after sheet is filled, `choice` first and any other where none
    /// of it is left or takes a part; `share` units of work are spread over
    /// the sheets expected.
    fn filled(&mut self, offers: &[Offer], choice: &[usize], mut plan: Plan, share: u64) -> Plan {
        let spec = self.spec;
        let end = self.after(share);
        // Kinds of sheet on which a trial found room for nothing that is left.
        let mut barren = vec![false; offers.len()];
        while !plan.left.is_empty() {
            let of = |list: &[usize]| -> Vec<usize> {
                list.iter()
                    .copied()
                    .filter(|&s| {
                        !barren[s]
                            && plan.available(offers, s)
                            && plan.left.iter().any(|&p| offers[s].fits[spec.of[p]])
                    })
                    .collect()
            };
            let mut open = of(choice);
            if open.is_empty() {
                open = of(&(0..offers.len()).collect::<Vec<_>>());
            }
            let Some(stock) = self.chosen(offers, &open, &plan.left) else {
                break;
            };
            let left = spec.area(&plan.left);
            let sheets = (left / (USUAL_FILL * offers[stock].area)).ceil().max(1.0);
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "a share of a positive count far below 2^52"
            )]
            let until = self.work + (end.saturating_sub(self.work) as f64 / sheets) as u64;
            let mut trial = self.sheet(&offers[stock].room, &plan.left, until);
            if trial.lay.items.is_empty() {
                barren[stock] = true;
                continue;
            }
            plan.left = std::mem::take(&mut trial.left);
            plan.sheets.push(Used::of(stock, trial));
            self.tell(plan.fill(offers));
        }
        plan
    }

    /// Of the sheets open, the cheapest that takes all that is left, or else
    /// the one that takes the most worth for its cost.
    fn chosen(&mut self, offers: &[Offer], open: &[usize], left: &[usize]) -> Option<usize> {
        if open.len() < 2 {
            return open.first().copied();
        }
        let mut best: Option<(bool, f64, usize)> = None;
        for &stock in open {
            let trial = self.sheet(&offers[stock].room, left, 0);
            let whole = trial.left.is_empty();
            let rate = offers[stock].for_cost(if whole { 1.0 } else { trial.worth });
            let better =
                best.is_none_or(|b| (whole && !b.0) || (whole == b.0 && rate > b.1 * (1.0 + 1e-9)));
            if better {
                best = Some((whole, rate, stock));
            }
        }
        best.map(|b| b.2)
    }

    /// Sheets filled with long parts alone, as few as may be, then parts of
    /// middling length put beside them, then small ones: short parts would else
    /// fill the first sheets, and the room beside the long ones stay empty.
    fn long_first(
        &mut self,
        offers: &[Offer],
        choice: &[usize],
        parts: &[usize],
        share: u64,
    ) -> Plan {
        let mut plan = Plan::bare(&[]);
        let mut tiers = self.tiers(parts);
        let some = tiers.each_ref().map(|t| !t.is_empty());
        let last = some.iter().rposition(|&s| s);
        for k in 0..tiers.len() {
            if !some[k] {
                continue;
            }
            plan.left = std::mem::take(&mut tiers[k]);
            let work = self.share(TOP);
            self.topped(&mut plan, work);
            let first = plan.sheets.is_empty();
            let share = if first { share * 4 / 5 } else { share / 10 };
            plan = self.filled(offers, choice, plan, share);
            if !plan.left.is_empty() {
                break;
            }
            let Some(&until) = PASS.get(k) else {
                continue;
            };
            if k == 0
                && let Some(fewer) = self.fewer(offers, &plan, &tiers[1])
            {
                plan = fewer;
                // What is left of the middling ones waits its turn.
                tiers[1] = std::mem::take(&mut plan.left);
                if some[1] {
                    continue;
                }
            }
            self.passed(offers, &mut plan, self.share(until), Some(k) == last);
            if k == 0 {
                let work = self.share(TIGHTEN);
                self.tightened(&mut plan, work);
            }
        }
        plan
    }

    /// Long parts shared out over fewer sheets, and those that come next put beside
    /// them: of some ways the cheapest, of equals the one that leaves least of
    /// these. `None` where no fewer sheets are found.
    fn fewer(&mut self, offers: &[Offer], plan: &Plan, next: &[usize]) -> Option<Plan> {
        let spec = self.spec;
        let until = self.share(SHARE);
        let beside = Next {
            count: next.len(),
            area: spec.area(next),
            ..Next::default()
        };
        let mut learnt = Learnt::new(Odds::new(spec, plan, LONG), beside);
        let mut best: Option<(f64, f64, Plan)> = None;
        for _ in 0..WAYS {
            let mut way = plan.clone();
            self.shared_out(offers, &mut way, &mut learnt, until);
            if way.sheets.len() == plan.sheets.len() {
                break;
            }
            if next.is_empty() {
                return Some(way);
            }
            let (tighten, top) = (self.share(TIGHTEN), self.share(TOP));
            self.tightened(&mut way, tighten);
            let mut topped = way.clone();
            topped.left = next.to_vec();
            self.topped(&mut topped, top);
            let left = spec.area(&topped.left);
            // Where all found room no sheet shows how much more would have.
            if left > 0.0 {
                let Learnt { odds, next, .. } = &mut learnt;
                let seen = way.sheets.iter().zip(&topped.sheets).map(|(bare, full)| {
                    let room = &bare.lay.room;
                    let known = odds.known(spec, room, &bare.parts());
                    (known, full.share() - bare.share())
                });
                next.beside.learn(seen);
            }
            let cost = way.cost(offers);
            if best.as_ref().is_none_or(|b| (cost, left) < (b.0, b.1)) {
                best = Some((cost, left, topped));
            }
            if left <= 0.0 {
                break;
            }
        }
        best.map(|b| b.2)
    }

    /// Parts by their length: long, middling, and small ones.
    fn tiers(&self, parts: &[usize]) -> [Vec<usize>; 3] {
        let mut tiers = [Vec::new(), Vec::new(), Vec::new()];
        for &part in parts {
            let length = self.spec.classes[self.spec.of[part]].diameter / self.spec.longest;
            let tier = usize::from(length <= LONG) + usize::from(length <= LONG * LONG);
            tiers[tier].push(part);
        }
        tiers
    }

    /// Moves parts from the emptiest sheet to the others, until its share of
    /// the budget is spent.
    fn exchanged(&mut self, offers: &[Offer], plan: &mut Plan) {
        let spec = self.spec;
        let until = self.share(MOVE) + self.passing;
        while self.work < until && plan.sheets.len() > 1 && plan.left.is_empty() {
            let Some(last) = plan.last(offers) else {
                return;
            };
            let giving = plan.sheets[last].parts();
            let now = &*plan;
            let tried = self.batch(BATCH, |random, work| {
                let mut i = random.below(now.sheets.len() - 1);
                if i >= last {
                    i += 1;
                }
                let old = &now.sheets[i];
                let new = changed(spec, &old.lay, &giving, random, work);
                if new.worth < old.worth * (1.0 - 1e-9) {
                    return None;
                }
                let moved = new.worth > old.worth * (1.0 + 1e-9);
                if !moved && new.weight >= old.weight * (1.0 - 1e-9) {
                    return None;
                }
                let stays = |p: &usize| new.left.contains(p);
                let mut rest = now.sheets[last]
                    .lay
                    .keeping(spec, |k| stays(&now.sheets[last].lay.items[k].part));
                let come: Vec<usize> = old.parts().into_iter().filter(stays).collect();
                let fall = LAST_FALLS[2];
                let mut over = rest.fill(spec, &come, fall, work);
                if !over.is_empty() {
                    let again = fresh(spec, &rest.room, new.left.clone(), Some(fall), random, work);
                    (rest, over) = (again.lay, again.left);
                }
                over.is_empty().then_some((i, moved, new, rest))
            });
            let gain = |t: &(usize, bool, Trial, Lay)| {
                let old = &plan.sheets[t.0];
                if t.1 {
                    (t.2.worth - old.worth, 0.0)
                } else {
                    (0.0, old.weight - t.2.weight)
                }
            };
            let mut best: Option<(usize, bool, Trial, Lay)> = None;
            for t in tried.into_iter().flatten() {
                if best.as_ref().is_none_or(|b| gain(&t) > gain(b)) {
                    best = Some(t);
                }
            }
            if let Some((i, _, new, rest)) = best {
                let (from, to) = (plan.sheets[last].stock, plan.sheets[i].stock);
                plan.sheets[i] = Used::of(to, new);
                if rest.items.is_empty() {
                    plan.sheets.remove(last);
                } else {
                    plan.sheets[last] = Used::of(from, Trial::new(spec, rest, Vec::new()));
                }
            }
            self.tell(plan.fill(offers));
        }
    }

    /// Changes each sheet for the cheapest on offer that takes its parts.
    fn downgraded(&mut self, offers: &[Offer], plan: &mut Plan) {
        let spec = self.spec;
        for i in 0..plan.sheets.len() {
            let parts = plan.sheets[i].parts();
            let now = plan.sheets[i].stock;
            let mut cheap: Vec<usize> = (0..offers.len())
                .filter(|&s| {
                    offers[s].cost < offers[now].cost
                        && plan.available(offers, s)
                        && plan.sheets[i].lay.area <= offers[s].area
                        && parts.iter().all(|&p| offers[s].fits[spec.of[p]])
                })
                .collect();
            cheap.sort_by(|&a, &b| offers[a].cost.total_cmp(&offers[b].cost).then(a.cmp(&b)));
            for stock in cheap {
                let trial = self.sheet(&offers[stock].room, &parts, 0);
                if trial.left.is_empty() {
                    plan.sheets[i] = Used::of(stock, trial);
                    break;
                }
            }
        }
    }

    /// Puts the emptiest sheet last and lays its parts so that the largest
    /// offcut stays.
    fn last_sheet(&mut self, offers: &[Offer], plan: &mut Plan) {
        let spec = self.spec;
        let Some(last) = plan.last(offers) else {
            return;
        };
        let used = plan.sheets.remove(last);
        let room = used.lay.room.clone();
        let parts = used.parts();
        let stock = used.stock;
        let offcut = |lay: &Lay| {
            let far = lay.extent(spec);
            let (w, h) = (room.hi.x - room.lo.x, room.hi.y - room.lo.y);
            ((room.hi.x - far.x) * h).max((room.hi.y - far.y) * w)
        };
        let mut best = used;
        let mut most = offcut(&best.lay);
        let mut idle = 0;
        loop {
            let now = &best;
            let tried = self.batch(BATCH, |random, work| {
                let fall = LAST_FALLS[random.below(LAST_FALLS.len())];
                let trial = if random.chance(0.5) {
                    fresh(spec, &room, parts.clone(), Some(fall), random, work)
                } else {
                    changed(spec, &now.lay, &[], random, work)
                };
                let cut = offcut(&trial.lay);
                (trial, cut)
            });
            idle += 1;
            for (trial, cut) in tried {
                if trial.left.is_empty() && cut > most * (1.0 + 1e-9) {
                    most = cut;
                    idle = 0;
                    best = Used::of(stock, trial);
                }
            }
            if self.work >= self.budget || idle > PATIENCE {
                break;
            }
            self.tell(plan.fill(offers));
        }
        plan.sheets.push(best);
    }
}

/// True where plan `a` is to be had before `b`: fewer parts without a sheet,
/// then less cost.
fn cheaper(offers: &[Offer], a: &Plan, b: &Plan) -> bool {
    let (x, y) = (a.left.len(), b.left.len());
    x < y || (x == y && a.cost(offers) < b.cost(offers) * (1.0 - 1e-9))
}
