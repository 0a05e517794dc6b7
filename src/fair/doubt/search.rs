//! Which values stand out against their neighbours.
//!
//! Every value is either measured with a common error, or anything at all: a slip,
//! even over [`REACH`]. The search leaves out the value, or the pair side by side,
//! that is likelier a slip, estimates roughness and error anew, and takes values back that
//! agree once the slips near them are gone: so slips do not hide each other.

use super::walk::{LeaveOneOut, Path, walk};
use crate::geom::trig;
use crate::length::FOOT;

/// A slip is taken as even over plus and minus this, mm: a foot. Twice as much moves the
/// threshold by a thirtieth.
const REACH: f64 = FOOT;

/// Share of figures that are slips, before any is seen: three in a hundred. With
/// [`REACH`] it puts the threshold at about four standard deviations of a value
/// well held by many neighbours, and lower where the neighbours say little.
const SHARE: f64 = 0.03;

/// How much less evidence leaves a value out for a trial (twice a log likelihood): what
/// does not stand up once its neighbours are clean is taken back.
const TRIAL: f64 = 8.0;

/// A pair must beat its better half by this to go together.
const PAIR: f64 = 6.0;

/// Largest share of the values that may be slips; beyond it there is no telling
/// which are.
const MOST: f64 = 0.3;

/// Values that must stay for a word on the others: a parabola and two more.
const LEAST: usize = 5;

/// Values left out together in one round stand further apart than this: nearer ones
/// speak of each other.
const APART: usize = 6;

/// Rounds of leaving out and taking back. Each settles at least one value in a small
/// table, many in a large one.
const ROUNDS: usize = 40;

/// Roughness tried, in decades of rho (see [`walk`]): from a parabola over any
/// table to nothing but nearness of the nearest.
const DECADES: std::ops::RangeInclusive<i32> = -9..=7;

/// Sizes of error tried about the median's.
const SIZES: [f64; 5] = [0.6, 0.8, 1.0, 1.25, 1.6];

/// Standard deviation of a normal error over the median of its size.
const OVER_MEDIAN: f64 = 1.4826;

/// Two slips side by side that hide each other still show this many spreads in one of them.
const MASKED: f64 = 1.5;

/// What the stated accuracy is worth to the error's size, in degrees of freedom, up to a third of
/// the points' own: without it a slip of an inch in ten points passes, with more a sharp bow in ten is doubted.
const STATED: f64 = 4.0;

/// Neighbours on each side whose own residuals widen a verdict.
const NEAR: usize = 3;

/// Powers of the local spacing by which roughness falls: nought, the same all along; 5,
/// the same from point to point, as where a surveyor takes points closer because the
/// edge bends.
const LOCAL: [f64; 3] = [0.0, 2.5, 5.0];

/// Steps on each side over whose mean the local spacing is taken.
const WIDE: usize = 3;

/// Least and most local spacing, in means (natural logarithms): points measured twice say nothing of roughness.
const FAR: f64 = 4.0;

/// Roughness and error of a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct NoiseModel {
    /// Decade of rho, in halves.
    pub(super) rho: f64,
    /// How the roughness grows where points stand closer: one of [`LOCAL`].
    pub(super) local: f64,
    /// Standard deviation of one error, mm.
    pub(super) error: f64,
}

/// Values laid along their parameter, and the way a residual is measured at each.
#[derive(Debug, Clone)]
pub(super) struct Laid<const M: usize> {
    /// Steps to the next, mean spacings.
    pub(super) steps: Vec<f64>,
    /// Values, mm.
    pub(super) values: Vec<[f64; M]>,
    /// Unit direction square to the line, in the values' own components.
    pub(super) square: Vec<[f64; M]>,
    /// Standard deviation, mm, by which the line itself may leave its neighbours' curve, to
    /// the side that its sign gives.
    pub(super) turn: Vec<f64>,
}

impl<const M: usize> Laid<M> {
    /// How much rougher than the mean each step is, for a power of the local spacing.
    pub(super) fn rough(&self, local: f64) -> Vec<f64> {
        let n = self.steps.len();
        if local <= 0.0 {
            return vec![1.0; n];
        }
        let mut sums = vec![0.0; n + 1];
        for (i, h) in self.steps.iter().enumerate() {
            let log = trig::ln(h.max(1e-9)).clamp(-FAR, FAR);
            sums[i + 1] = sums[i] + log;
        }
        let mean = |i: usize| {
            let (a, b) = (i.saturating_sub(WIDE), (i + WIDE + 1).min(n));
            (sums[b] - sums[a]) / (b - a) as f64
        };
        let e = std::f64::consts::E;
        (0..n).map(|i| trig::pow(e, -local * mean(i))).collect()
    }
}

/// A value that stands out, or its neighbours' word on one that does not.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Word {
    /// Value less what its neighbours say, square to the line, mm.
    pub(super) residual: f64,
    /// Standard deviation of that, mm.
    pub(super) spread: f64,
    /// Twice the log of how much likelier it is a slip; above nought it is one.
    pub(super) score: f64,
}

impl Word {
    /// Rest over spread.
    fn size(&self) -> f64 {
        self.residual.abs() / self.spread
    }
}

/// What a search found.
#[derive(Debug, Clone)]
pub(super) struct Found<const M: usize> {
    /// Values that stand out.
    pub(super) out: Vec<bool>,
    /// The neighbours' word on each.
    pub(super) words: Vec<Word>,
    /// Roughness and error.
    pub(super) noise: NoiseModel,
    /// As they lay in the end.
    pub(super) laid: Laid<M>,
}

/// Evidence (twice a log likelihood) that a slip costs.
pub(super) fn price() -> f64 {
    2.0 * trig::ln(2.0 * REACH) + 2.0 * trig::ln((1.0 - SHARE) / SHARE)
}

/// Twice the log of how unlikely a sum of squares of `count` values is, errors normal with a
/// variance estimated from `freedom` others.
fn unlikely(square: f64, logs: f64, count: f64, freedom: f64) -> f64 {
    let tail = (freedom + count) * trig::ln(1.0 + square / freedom);
    tail + logs + count * trig::ln(std::f64::consts::TAU)
}

fn along<const M: usize>(residual: &[f64; M], square: &[f64; M]) -> f64 {
    residual.iter().zip(square).map(|(r, s)| r * s).sum()
}

/// One look at the values with some left out.
struct Look<'a, const M: usize> {
    laid: &'a Laid<M>,
    out: &'a [bool],
    floor: f64,
}

impl<const M: usize> Look<'_, M> {
    fn walk(&self, rho: f64, rough: &[f64]) -> Vec<LeaveOneOut<M>> {
        let path = Path {
            steps: &self.laid.steps,
            rough,
            values: &self.laid.values,
            out: self.out,
            corner: None,
        };
        walk(&path, trig::pow(10.0, rho)).1
    }

    /// Error and how unlikely the kept values are, each counted for no more than a slip.
    fn judge(&self, left_out: &[LeaveOneOut<M>]) -> (f64, f64) {
        let mut sizes: Vec<f64> = Vec::with_capacity(left_out.len());
        let mut pairs: Vec<(f64, f64)> = Vec::with_capacity(left_out.len());
        for (i, t) in left_out.iter().enumerate().filter(|(i, _)| !self.out[*i]) {
            let residual = along(&t.residual, &self.laid.square[i]);
            let z_sq = residual * residual / t.variance;
            sizes.push(z_sq.sqrt());
            pairs.push((z_sq, trig::ln(t.variance)));
        }
        let middle = sizes.len() / 2;
        let median = if sizes.is_empty() {
            0.0
        } else {
            *sizes.select_nth_unstable_by(middle, f64::total_cmp).1
        };
        let most = price();
        let base = trig::ln(std::f64::consts::TAU);
        let sized = SIZES.map(|s| {
            let error = (s * OVER_MEDIAN * median).max(self.floor);
            let logs = base + 2.0 * trig::ln(error);
            let worth = |(z_sq, l): &(f64, f64)| (z_sq / (error * error) + l + logs).min(most);
            (error, pairs.iter().map(worth).sum::<f64>())
        });
        sized.into_iter().fold(
            (self.floor, f64::INFINITY),
            |a, b| if b.1 < a.1 { b } else { a },
        )
    }

    /// The likeliest roughness and error.
    fn noise(&self) -> NoiseModel {
        let mut best = (
            NoiseModel {
                rho: 0.0,
                local: 0.0,
                error: self.floor,
            },
            f64::INFINITY,
        );
        for local in LOCAL {
            let rough = self.laid.rough(local);
            let mut own = best;
            own.1 = f64::INFINITY;
            let try_one = |rho: f64, own: &mut (NoiseModel, f64)| {
                let (error, worth) = self.judge(&self.walk(rho, &rough));
                if worth < own.1 {
                    *own = (NoiseModel { rho, local, error }, worth);
                }
            };
            for decade in DECADES {
                try_one(f64::from(decade), &mut own);
            }
            let coarse = own.0.rho;
            try_one(coarse - 0.5, &mut own);
            try_one(coarse + 0.5, &mut own);
            if own.1 < best.1 {
                best = own;
            }
        }
        best.0
    }

    fn freedom(&self) -> f64 {
        let kept = self.out.iter().filter(|o| !**o).count();
        let own = (kept as f64 - 4.0).max(1.0);
        own + STATED.min(own / 3.0)
    }

    fn words(&self, left_out: &[LeaveOneOut<M>], error: f64) -> Vec<Word> {
        let freedom = self.freedom();
        let price = price();
        let each = left_out.iter().zip(&self.laid.square).zip(&self.laid.turn);
        each.map(|((t, s), turn)| {
            let residual = along(&t.residual, s);
            let mut variance = error * error * t.variance;
            if turn * residual > 0.0 {
                variance += turn * turn;
            }
            let score = unlikely(
                residual * residual / variance,
                trig::ln(variance),
                1.0,
                freedom,
            ) - price;
            Word {
                residual,
                spread: variance.sqrt(),
                score,
            }
        })
        .collect()
    }

    /// Evidence that a value and the one before are both slips, beyond that of the likelier.
    fn pair(&self, left_out: &[LeaveOneOut<M>], i: usize, error: f64) -> Option<f64> {
        if self.out[i] || self.out[i - 1] {
            return None;
        }
        let project =
            |k: usize| left_out[k].single(along(&left_out[k].residual, &self.laid.square[k]));
        let ([square], logs) = project(i).pair(&project(i - 1))?;
        let scale = error * error;
        let logs = logs + 2.0 * trig::ln(scale);
        Some(unlikely(square / scale, logs, 2.0, self.freedom()) - 2.0 * price())
    }
}

/// A group of values that may be left out.
struct Candidate {
    score: f64,
    first: usize,
    count: usize,
}

/// Searches values for slips. `lay` lays them along their parameter, given those left
/// out; `floor` is the least error, mm; a `noise` that is given is kept.
pub(super) fn search<const M: usize>(
    n: usize,
    lay: &dyn Fn(&[bool]) -> Laid<M>,
    floor: f64,
    noise: Option<NoiseModel>,
) -> Found<M> {
    let mut out = vec![false; n];
    // How often each was taken back: then it needs the whole evidence to go again.
    let mut back = vec![0_usize; n];
    let many = n > 4 * APART * APART;
    let mut laid = lay(&out);
    let mut now = noise.unwrap_or(NoiseModel {
        rho: 0.0,
        local: 0.0,
        error: floor,
    });
    let mut words = Vec::new();
    for _ in 0..ROUNDS {
        let look = Look {
            laid: &laid,
            out: &out,
            floor,
        };
        now = noise.unwrap_or_else(|| look.noise());
        let left_out = look.walk(now.rho, &laid.rough(now.local));
        words = look.words(&left_out, now.error);
        let gone = out.iter().filter(|o| **o).count();
        let room = room(n).saturating_sub(gone);
        let go = candidates(&look, &left_out, &words, now.error, &back, room, many);
        if !go.is_empty() {
            for c in go {
                out[c.first..c.first + c.count].fill(true);
            }
        } else {
            let freedom = look.freedom();
            if !take_back(&mut out, &mut back, &words, freedom) {
                break;
            }
        }
        laid = lay(&out);
    }
    Found {
        out,
        words,
        noise: now,
        laid,
    }
}

/// How many of n values may be slips.
fn room(n: usize) -> usize {
    let share = (0..n).take_while(|k| (*k as f64) < MOST * n as f64).count();
    share.min(n.saturating_sub(LEAST))
}

fn candidates<const M: usize>(
    look: &Look<'_, M>,
    left_out: &[LeaveOneOut<M>],
    words: &[Word],
    error: f64,
    back: &[usize],
    room: usize,
    many: bool,
) -> Vec<Candidate> {
    let mut all = Vec::new();
    for (i, word) in words.iter().enumerate() {
        let ease = |k: usize| if back[k] == 0 { TRIAL } else { 0.0 };
        let score = word.score + ease(i);
        if !look.out[i] && back[i] < 2 && score > 0.0 {
            all.push(Candidate {
                score,
                first: i,
                count: 1,
            });
        }
        if i > 0
            && word.size().max(words[i - 1].size()) > MASKED
            && back[i].max(back[i - 1]) < 2
            && let Some(score) = look.pair(left_out, i, error)
        {
            let ease = ease(i).min(ease(i - 1));
            let single = word.score.max(words[i - 1].score);
            if score > single + PAIR {
                all.push(Candidate {
                    score: score + ease,
                    first: i - 1,
                    count: 2,
                });
            }
        }
    }
    all.retain(|c| c.score > 0.0 && c.count <= room);
    all.sort_by(|a, b| b.score.total_cmp(&a.score).then(a.first.cmp(&b.first)));
    let mut near = vec![false; words.len()];
    let mut taken: Vec<Candidate> = Vec::new();
    let mut left = room;
    for c in all {
        let span = c.first.saturating_sub(APART)..(c.first + c.count + APART).min(words.len());
        if c.count > left || near[c.first] || near[c.first + c.count - 1] {
            continue;
        }
        near[span].fill(true);
        left -= c.count;
        taken.push(c);
        if !many {
            break;
        }
    }
    taken
}

/// Takes back the values that agree with their neighbours after all; in one round only
/// such as stand apart, the least doubtful first. True if any was.
fn take_back(out: &mut [bool], back: &mut [usize], words: &[Word], freedom: f64) -> bool {
    let widened = |i: usize| {
        let word = words[i];
        let near = i.saturating_sub(NEAR)..(i + NEAR + 1).min(words.len());
        let mut sizes: Vec<f64> = near.filter(|k| !out[*k]).map(|k| words[k].size()).collect();
        sizes.sort_by(f64::total_cmp);
        let wider = sizes.get(sizes.len() / 2).map_or(1.0, |s| s.max(1.0));
        let variance = word.spread * word.spread * wider * wider;
        let square = word.residual * word.residual / variance;
        unlikely(square, trig::ln(variance), 1.0, freedom) - price()
    };
    let mut low: Vec<(f64, usize)> = (0..out.len())
        .filter(|i| out[*i])
        .map(|i| (widened(i), i))
        .filter(|(g, _)| *g <= 0.0)
        .collect();
    low.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let mut last: Vec<usize> = Vec::new();
    for (_, i) in &low {
        if last.iter().all(|k| k.abs_diff(*i) > APART) {
            out[*i] = false;
            back[*i] += 1;
            last.push(*i);
        }
    }
    !last.is_empty()
}
