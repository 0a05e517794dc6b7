//! Orders of placing, and the search among them for one sheet.

use std::sync::atomic::{AtomicBool, Ordering};

use rayon::prelude::*;

use super::fill::{Fall, Lay, Spec};
use super::random::Random;
use super::room::Room;

/// Trials made side by side from one state; the best is kept, so the result
/// does not depend on how many run at once. Few, because all but one are
/// thrown away; at least as many as a small machine has cores.
pub(super) const BATCH: usize = 4;
/// How parts fall on a sheet that is to be filled: down, and a little to the
/// left. The larger leanings pack short parts in columns.
const LEANINGS: [f64; 6] = [0.0, 0.01, 0.03, 0.1, 0.3, 1.0];
/// Disorder of the first-largest order: 0 keeps it, 1 can bring a part of
/// half the worth in front.
const DISORDER: [f64; 5] = [0.0, 0.05, 0.15, 0.4, 1.0];
/// The measure of how well a sheet is stacked.
pub(super) const STACKED: Fall = Fall { x: 0.1, y: 1.0 };

/// Units of work to be done in all, asked with those that are done: the same
/// number always, but where a clock counts.
pub(super) type Total<'a> = &'a (dyn Fn(u64) -> u64 + Sync);

/// Budget, streams of random numbers and news of the search.
pub(super) struct Search<'a> {
    pub spec: &'a Spec,
    pub budget: u64,
    pub work: u64,
    /// Of it, what went into sharing parts out and passing them.
    pub passing: u64,
    total: Total<'a>,
    /// The largest budget so far: no loop goes on beyond it.
    most: u64,
    stream: u64,
    pub news: &'a (dyn Fn(f64, f64) + Sync),
    pub stop: &'a AtomicBool,
}

/// A filled sheet and what it is worth.
#[derive(Debug, Clone)]
pub(super) struct Trial {
    pub lay: Lay,
    pub left: Vec<usize>,
    pub worth: f64,
    pub weight: f64,
}

impl Trial {
    pub(super) fn new(spec: &Spec, lay: Lay, left: Vec<usize>) -> Self {
        let worth = lay.items.iter().map(|i| spec.worth(i.part)).sum();
        let weight = lay.weight(spec, STACKED);
        Self {
            lay,
            left,
            worth,
            weight,
        }
    }

    /// True where this is worth more, or as much and better stacked.
    pub(super) fn beats(&self, other: &Self) -> bool {
        let more = self.worth - other.worth;
        let least = 1e-9 * other.worth;
        more > least || (more > -least && self.weight < other.weight * (1.0 - 1e-9))
    }
}

impl Spec {
    /// What it is worth to have a part on a sheet: its area, more for long
    /// parts, which are the hardest to find room for later.
    pub(super) fn worth(&self, part: usize) -> f64 {
        let class = &self.classes[self.of[part]];
        class.area * (1.0 + class.diameter / self.longest)
    }

    /// An order of placing: the most worth first, more or less; parts of one
    /// kind together.
    pub(super) fn ordered(&self, mut pool: Vec<usize>, random: &mut Random) -> Vec<usize> {
        let disorder = DISORDER[random.below(DISORDER.len())];
        let together = random.chance(0.7);
        let stream = random.next();
        let key = |part: usize| {
            let of = if together { self.of[part] } else { part };
            let noise = Random::new(stream.wrapping_add(of as u64)).unit();
            self.worth(part) * (1.0 - 0.5 * disorder * noise)
        };
        pool.sort_unstable();
        let mut keyed: Vec<(f64, usize)> = pool.iter().map(|&p| (key(p), p)).collect();
        keyed.sort_by(|a, b| {
            b.0.total_cmp(&a.0)
                .then(self.of[a.1].cmp(&self.of[b.1]))
                .then(a.1.cmp(&b.1))
        });
        keyed.into_iter().map(|k| k.1).collect()
    }
}

/// A way of falling, drawn.
pub(super) fn leaning(random: &mut Random) -> Fall {
    Fall {
        x: LEANINGS[random.below(LEANINGS.len())],
        y: 1.0,
    }
}

/// A sheet filled afresh.
pub(super) fn fresh(
    spec: &Spec,
    room: &Room,
    pool: Vec<usize>,
    fall: Option<Fall>,
    random: &mut Random,
    work: &mut u64,
) -> Trial {
    let order = spec.ordered(pool, random);
    let fall = fall.unwrap_or_else(|| leaning(random));
    let mut lay = Lay::new(room.clone());
    let left = lay.fill(spec, &order, fall, work);
    Trial::new(spec, lay, left)
}

/// A sheet taken apart in part and filled again from what came off it and
/// what is left over.
pub(super) fn changed(
    spec: &Spec,
    lay: &Lay,
    left: &[usize],
    random: &mut Random,
    work: &mut u64,
) -> Trial {
    let n = lay.items.len();
    let fall = leaning(random);
    let (mut next, mut pool) = if random.chance(0.5) {
        // Everything placed after some part comes off.
        let cut = random.below(n);
        let off: Vec<usize> = lay.items[cut..].iter().map(|i| i.part).collect();
        (lay.keeping(spec, |i| i < cut), off)
    } else {
        // A part and its nearest neighbours come off.
        let middle = lay.items[random.below(n)].centre;
        let mut near: Vec<(f64, usize)> = (0..n)
            .map(|i| (middle.distance(lay.items[i].centre), i))
            .collect();
        near.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        near.truncate(1 + random.below(6));
        let off = near.iter().map(|&(_, i)| lay.items[i].part).collect();
        (lay.keeping(spec, |i| near.iter().all(|k| k.1 != i)), off)
    };
    let off = pool.len();
    pool.extend_from_slice(left);
    if random.chance(0.4) {
        pool = spec.ordered(pool, random);
    } else {
        // The order kept, but for one that waited coming to the front, or two changing places.
        pool[off..].sort_by(|&a, &b| {
            spec.worth(b)
                .total_cmp(&spec.worth(a))
                .then(spec.of[a].cmp(&spec.of[b]))
                .then(a.cmp(&b))
        });
        if !left.is_empty() && random.chance(0.6) {
            let part = pool.remove(off + random.below(left.len()));
            let to = random.below(off.min(3) + 1);
            pool.insert(to, part);
        } else if off > 1 {
            let (i, j) = (random.below(off), random.below(off));
            pool.swap(i, j);
        }
    }
    let left = next.fill(spec, &pool, fall, work);
    Trial::new(spec, next, left)
}

/// What share of some work is spent: all, where the search is to stop.
pub(super) fn spent(work: u64, of: u64, stop: &AtomicBool) -> f64 {
    if stop.load(Ordering::Relaxed) {
        1.0
    } else {
        work as f64 / of.max(1) as f64
    }
}

/// The first stream of a seed's: no search draws as many as lie between two.
pub(super) fn stream(seed: usize) -> u64 {
    (seed as u64) << 32
}

impl<'a> Search<'a> {
    pub(super) fn new(
        spec: &'a Spec,
        total: Total<'a>,
        seed: usize,
        news: &'a (dyn Fn(f64, f64) + Sync),
        stop: &'a AtomicBool,
    ) -> Self {
        Self {
            spec,
            budget: total(0),
            work: 0,
            passing: 0,
            total,
            most: total(0),
            stream: stream(seed),
            news,
            stop,
        }
    }

    /// Tells how far the search is.
    pub(super) fn tell(&self, best_yield: f64) {
        (self.news)(
            (self.work as f64 / self.budget.max(1) as f64).min(1.0),
            best_yield,
        );
    }

    /// Work done in all when so much more is; as much as is done where the search
    /// is to stop.
    pub(super) fn after(&self, more: u64) -> u64 {
        if self.stop.load(Ordering::Relaxed) {
            self.work
        } else {
            self.work + more
        }
    }

    /// Work done since then; none where the search is to stop, which takes all
    /// that is left for done.
    pub(super) fn since(&self, before: u64) -> u64 {
        if self.stop.load(Ordering::Relaxed) {
            0
        } else {
            self.work - before
        }
    }

    /// A batch of trials, each with its own stream of random numbers.
    pub(super) fn batch<T: Send>(
        &mut self,
        count: usize,
        trial: impl Fn(&mut Random, &mut u64) -> T + Sync,
    ) -> Vec<T> {
        self.each(&vec![(); count], |(), random, work| trial(random, work))
    }

    /// A trial of each of some things, each with its own stream of random
    /// numbers.
    pub(super) fn each<S: Sync, T: Send>(
        &mut self,
        of: &[S],
        trial: impl Fn(&S, &mut Random, &mut u64) -> T + Sync,
    ) -> Vec<T> {
        let from = self.stream;
        self.stream += of.len() as u64;
        let done: Vec<(T, u64)> = of
            .par_iter()
            .enumerate()
            .map(|(k, thing)| {
                let mut work = 0;
                let t = trial(thing, &mut Random::new(from + k as u64), &mut work);
                (t, work)
            })
            .collect();
        self.work += done.iter().map(|d| d.1).sum::<u64>();
        self.budget = (self.total)(self.work);
        self.most = self.most.max(self.budget);
        if self.stop.load(Ordering::Relaxed) {
            // All that is to be done is done.
            self.work = self.work.max(self.most);
        }
        done.into_iter().map(|d| d.0).collect()
    }

    /// One sheet filled as well as may be from a pool, until `until` units of
    /// work are done in all; one trial at least.
    pub(super) fn sheet(&mut self, room: &Room, pool: &[usize], until: u64) -> Trial {
        let spec = self.spec;
        let mut best: Option<Trial> = None;
        // No work left for this sheet: a single trial, to see what it takes.
        let count = if self.work >= until { 1 } else { BATCH };
        loop {
            let tried = self.batch(count, |random, work| match &best {
                Some(b) if !b.lay.items.is_empty() && random.chance(0.8) => {
                    changed(spec, &b.lay, &b.left, random, work)
                }
                _ => fresh(spec, room, pool.to_vec(), None, random, work),
            });
            for t in tried {
                if best.as_ref().is_none_or(|b| t.beats(b)) {
                    best = Some(t);
                }
            }
            let done = best.as_ref().is_some_and(|b| b.left.is_empty());
            if self.work >= until || done {
                return best
                    .unwrap_or_else(|| Trial::new(spec, Lay::new(room.clone()), pool.to_vec()));
            }
        }
    }
}
