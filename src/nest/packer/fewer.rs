//! Sheets emptied: the parts of one are laid over those of the others and
//! the overlaps cleared; where that fails, the last sheet is made shorter.

use super::clearing::{Body, Side, Table, shorten};
use super::fill::Spec;
use super::room::Room;
use super::search::{Search, Trial, spent};
use super::sheets::{CLOSEST, Offer, Plan, Used};
use super::strip::{bodies, laid};

/// Trials side by side, whatever the machine, so that the result does not
/// depend on it.
const WALKS: usize = 2;
/// Share of the work that goes into emptying a sheet before it is only made
/// shorter.
const EMPTY: f64 = 0.6;
/// Rounds without getting better after which an emptying is given up.
const PATIENCE: usize = 60;
/// Times that the walks go on from the best of them, spread over the work.
const TURNS: u64 = 3;

impl Plan {
    /// Puts the sheet to be emptied at the end; its index.
    pub(super) fn last_put_last(&mut self, offers: &[Offer]) -> Option<usize> {
        let last = self.last(offers)?;
        let used = self.sheets.remove(last);
        self.sheets.push(used);
        Some(self.sheets.len() - 1)
    }
}

impl Search<'_> {
    /// Empties sheets, then shortens the last, until `until` units of work.
    pub(super) fn cleared(&mut self, offers: &[Offer], plan: &mut Plan, until: u64) {
        if !plan.left.is_empty() {
            return;
        }
        let start = self.work;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a share of a positive budget far below 2^52"
        )]
        let emptied = start + (until.saturating_sub(start) as f64 * EMPTY) as u64;
        while self.work < emptied && plan.sheets.len() > 1 {
            let before = self.work;
            self.relieved(offers, plan, emptied);
            self.tell(plan.fill(offers));
            if self.work == before {
                break;
            }
        }
        self.shortened(offers, plan, until);
    }

    /// Tries to take parts off the emptiest sheet: some of the largest, or
    /// all. Smaller parts may come to it in their place.
    fn relieved(&mut self, offers: &[Offer], plan: &mut Plan, until: u64) {
        let Some(last) = plan.last_put_last(offers) else {
            return;
        };
        let spec = self.spec;
        let scene = Scene::of(spec, plan);
        let free: f64 = plan.sheets[..last]
            .iter()
            .map(|s| CLOSEST * s.lay.room.area() - s.lay.area)
            .sum();
        let goes = plan.sheets[last].lay.area <= free;
        let share = until.saturating_sub(self.work) / WALKS as u64;
        let stop = self.stop;
        let tried = self.batch(WALKS, |random, work| {
            let mut all = scene.bodies.clone();
            let mut order: Vec<usize> = (0..all.len()).filter(|&i| all[i].board == last).collect();
            // The most worth first, more or less.
            let any = random.chance(0.3);
            let key: Vec<f64> = all
                .iter()
                .map(|b| {
                    let worth = if any { 1.0 } else { spec.worth(b.part) };
                    -worth * (0.5 + random.unit())
                })
                .collect();
            order.sort_by(|&a, &b| key[a].total_cmp(&key[b]).then(a.cmp(&b)));
            let whole = goes && random.chance(0.3);
            let count = if whole {
                order.len()
            } else {
                1 + random.below(3)
            };
            order.truncate(count);
            let least = order
                .iter()
                .map(|&i| spec.worth(all[i].part))
                .fold(f64::INFINITY, f64::min);
            for b in &mut all {
                b.barred = whole || spec.worth(b.part) >= least * (1.0 - 1e-9);
            }
            for i in order {
                let fits: Vec<usize> = (0..last)
                    .filter(|&k| offers[scene.stocks[k]].fits[all[i].class])
                    .collect();
                all[i].board = *fits.get(random.below(fits.len()))?;
            }
            // Those that stay on the last sheet may stay.
            for b in all.iter_mut().filter(|b| b.board == last) {
                b.barred = false;
            }
            let mut table = Table::new(spec, scene.rooms.clone(), all);
            table.last = last;
            table.inside(&mut 0);
            if !table.separate(
                PATIENCE,
                random,
                &mut |w| spent(w, share, stop) >= 1.0,
                work,
            ) {
                return None;
            }
            let worth: f64 = table
                .bodies
                .iter()
                .filter(|b| b.board == last)
                .map(|b| spec.worth(b.part))
                .sum();
            Some((worth, table.bodies))
        });
        let now = plan.sheets[last].worth;
        let best = tried
            .into_iter()
            .flatten()
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .filter(|b| b.0 < now * (1.0 - 1e-9));
        if let Some((_, found)) = best {
            plan.sheets = scene.sheets(spec, &found);
        }
    }

    /// Makes the last sheet shorter.
    fn shortened(&mut self, offers: &[Offer], plan: &mut Plan, until: u64) {
        let Some(last) = plan.last_put_last(offers) else {
            return;
        };
        let spec = self.spec;
        let scene = Scene::of(spec, plan);
        let mut now = scene.bodies.clone();
        // By the second turn the longer or the wider offcut has won.
        let mut sides = [Side::Length(last), Side::Width(last)];
        for turn in 0..TURNS {
            if self.work >= until {
                break;
            }
            let share = (until - self.work) / ((TURNS - turn) * sides.len() as u64);
            let from = &now;
            let stop = self.stop;
            let tried = self.each(&sides, |&side, random, work| {
                let mut table = Table::new(spec, scene.rooms.clone(), from.clone());
                shorten(
                    &mut table,
                    side,
                    random,
                    &mut |w| spent(w, share, stop),
                    work,
                );
                let size = scene.rooms[last].hi - scene.rooms[last].lo;
                let offcut = match side {
                    Side::Length(_) => (size.x - table.extent(side)) * size.y,
                    Side::Width(_) => (size.y - table.extent(side)) * size.x,
                };
                (offcut, side, table.bodies)
            });
            let best = tried.into_iter().max_by(|a, b| a.0.total_cmp(&b.0));
            if let Some((_, side, found)) = best {
                now = found;
                sides = [side; WALKS];
            }
            self.tell(plan.fill(offers));
            if now.iter().all(|b| b.board != last) {
                break;
            }
        }
        plan.sheets = scene.sheets(spec, &now);
    }
}

/// A plan's sheets as one table.
struct Scene {
    rooms: Vec<Room>,
    stocks: Vec<usize>,
    bodies: Vec<Body>,
}

impl Scene {
    fn of(spec: &Spec, plan: &Plan) -> Self {
        Self {
            rooms: plan.sheets.iter().map(|s| s.lay.room.clone()).collect(),
            stocks: plan.sheets.iter().map(|s| s.stock).collect(),
            bodies: plan
                .sheets
                .iter()
                .enumerate()
                .flat_map(|(k, s)| bodies(spec, &s.lay, k))
                .collect(),
        }
    }

    /// Bodies as sheets; those without a part are left out.
    fn sheets(&self, spec: &Spec, bodies: &[Body]) -> Vec<Used> {
        (0..self.rooms.len())
            .filter_map(|k| {
                let lay = laid(spec, &self.rooms[k], bodies, k);
                let used = !lay.items.is_empty();
                used.then(|| Used::of(self.stocks[k], Trial::new(spec, lay, Vec::new())))
            })
            .collect()
    }
}
