//! Room made beside the parts of a sheet, and parts without a sheet put there.

use super::clearing::{Side, Table, shorten};
use super::fill::Lay;
use super::search::{BATCH, Search, Trial, leaning, spent};
use super::sheets::{Plan, Used};
use super::strip::{bodies, laid};

impl Search<'_> {
    /// Pushes the parts of each sheet together towards its left end, `work`
    /// units of work for all: they were laid wherever they found room.
    pub(super) fn tightened(&mut self, plan: &mut Plan, work: u64) {
        let (spec, stop) = (self.spec, self.stop);
        let share = work / plan.sheets.len().max(1) as u64;
        let sheets = std::mem::take(&mut plan.sheets);
        plan.sheets = self.each(&sheets, |used, random, work| {
            let room = &used.lay.room;
            let mut table = Table::new(spec, vec![room.clone()], bodies(spec, &used.lay, 0));
            let mut ends = |w| spent(w, share, stop);
            shorten(&mut table, Side::Length(0), random, &mut ends, work);
            let lay = laid(spec, room, &table.bodies, 0);
            Used::of(used.stock, Trial::new(spec, lay, Vec::new()))
        });
    }

    /// Puts parts without a sheet beside those that lie on one: as they lie, or
    /// dropped anew, the most worth that comes in, of equals the better stacked.
    /// So much work goes into dropping them anew, on all sheets together.
    pub(super) fn topped(&mut self, plan: &mut Plan, work: u64) {
        let spec = self.spec;
        let share = work / plan.sheets.len().max(1) as u64;
        for i in 0..plan.sheets.len() {
            if plan.left.is_empty() {
                return;
            }
            let now = &*plan;
            let lies = &now.sheets[i].lay;
            let tried = self.batch(BATCH, |random, work| {
                let order = spec.ordered(now.left.clone(), random);
                let mut lay = lies.clone();
                let left = lay.fill(spec, &order, leaning(random), work);
                Some(Trial::new(spec, lay, left))
            });
            let better = |best: Option<Trial>, tried: Vec<Option<Trial>>| {
                let all = best.into_iter().chain(tried.into_iter().flatten());
                all.reduce(|a, b| if b.beats(&a) { b } else { a })
            };
            let mut best = better(None, tried);
            let own = now.sheets[i].parts();
            let until = self.after(share);
            while self.work < until {
                let tried = self.batch(BATCH, |random, work| {
                    let fall = leaning(random);
                    let order = spec.ordered(own.clone(), random);
                    let mut lay = Lay::new(lies.room.clone());
                    // All that lies there stays there.
                    if !lay.fill(spec, &order, fall, work).is_empty() {
                        return None;
                    }
                    let order = spec.ordered(now.left.clone(), random);
                    let left = lay.fill(spec, &order, fall, work);
                    Some(Trial::new(spec, lay, left))
                });
                best = better(best, tried);
            }
            if let Some(mut trial) = best {
                plan.left = std::mem::take(&mut trial.left);
                plan.sheets[i] = Used::of(plan.sheets[i].stock, trial);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;
    use std::sync::atomic::{AtomicBool, Ordering};

    use super::*;
    use crate::geom::vec2;
    use crate::nest::packer::made;
    use crate::nest::tests::{job, rectangle, sheet};

    /// Two strips that lie to the left and to the right of a sheet: together
    /// they take one length of a strip, and then a plate finds room that finds
    /// none beside them as they lie. Dropped anew it finds room too.
    #[test]
    fn room_is_made_beside_strips_and_used() {
        let parts = vec![
            rectangle(1000.0, 190.0),
            rectangle(1000.0, 190.0),
            rectangle(250.0, 380.0),
        ];
        let job = job(parts, vec![sheet(1300.0, 420.0, None, None)], 6.0, 10.0);
        let (spec, room) = made::set(&job);
        let class = &spec.classes[0];
        let lying = class.turns.iter().find(|t| {
            let size = t.net.1 - t.net.0;
            size.x > size.y
        });
        let lying = Arc::clone(lying.expect("a strip lies at one of its turns"));
        let mut lay = Lay::new(room.clone());
        for (part, x, y) in [(0, 10.0, 10.0), (1, 290.0, 210.0)] {
            lay.hold(&spec, part, &lying, vec2(x, y) - lying.net.0);
        }
        let plan = || Plan {
            sheets: vec![Used::of(0, Trial::new(&spec, lay.clone(), Vec::new()))],
            left: vec![2],
        };
        let stop = AtomicBool::new(false);
        let mut search = Search::new(&spec, &|_| 1_000_000_000, 1, &|_, _| {}, &stop);
        let mut as_they_lie = plan();
        search.topped(&mut as_they_lie, 0);
        assert_eq!(as_they_lie.left, [2]);
        let mut anew = plan();
        search.topped(&mut anew, 1_000_000);
        assert!(anew.left.is_empty() && anew.sheets[0].lay.items.len() == 3);
        // A search that is to stop does not go through what would take hours.
        stop.store(true, Ordering::Relaxed);
        let mut stopped = plan();
        search.topped(&mut stopped, 1_000_000_000_000);
        assert_eq!(stopped.left, [2]);
        stop.store(false, Ordering::Relaxed);
        let mut tight = plan();
        search.tightened(&mut tight, 100_000_000);
        let far = tight.sheets[0].lay.extent(&spec).x;
        assert!(far < 1025.0, "{far}");
        search.topped(&mut tight, 0);
        assert!(tight.left.is_empty());
    }
}
