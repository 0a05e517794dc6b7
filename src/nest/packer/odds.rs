//! The odds that a mix of parts finds room on a sheet, learnt from mixes that
//! did and mixes that did not (logistic regression). Area alone says too
//! little: strips laid in one another take their widths and the rise of the
//! most curved, and a row with one short part takes as much as with two.
//! In the same way it is learnt what finds room beside a mix (least squares).

use super::fill::Spec;
use super::room::Room;
use super::sheets::Plan;
use crate::geom::trig;

/// How many things are known of a mix: its area, the emptiness of its parts'
/// boxes, the greatest of these, what rows as wide as its parts take along the
/// whole room, what that is more than there is, and how many parts of middling
/// area it makes, each as a share of the room's area; and 1.
const KNOWN: usize = 7;

/// What is known of a mix.
pub(super) type Known = [f64; KNOWN];

/// What each is thought to take from the odds before any mix is tried, and how
/// far off that may well be: what random draws of strips came to, rounded.
const FIRST: Known = [-35.0, -25.0, -35.0, -45.0, -150.0, 15.0, 0.0];
const OFF: Known = [40.0, 15.0, 20.0, 30.0, 60.0, 30.0, 30.0];
/// How far off weights of what finds room beside a mix may be from none, for
/// each unit that it is off by.
const RIDGE: f64 = 1e-4;
/// Newton's steps after each batch of mixes: the last fit is close already.
const STEPS: usize = 4;
/// Times that a step is halved where it overshoots.
const HALVINGS: usize = 12;
/// Curved ends pass one another: parts lie end to end in a room shorter than
/// their lengths by this share of it.
const PASS_BY: f64 = 0.1;

/// What is known of a class.
#[derive(Debug, Clone, Copy)]
struct Kind {
    /// Of its least box, what it leaves empty, mm2.
    empty: f64,
    /// Longer side of that box, mm.
    length: f64,
    /// Mean width along it, and the gap to the next, mm.
    width: f64,
    /// Long ones lie in rows; others find room beside them.
    rowed: bool,
}

impl Kind {
    /// How many of these lie end to end in a room.
    fn in_a_row(&self, room: &Room) -> f64 {
        let size = room.hi - room.lo;
        let along = (1.0 + PASS_BY) * size.x.max(size.y);
        (along / self.length).floor().max(1.0)
    }
}

/// The odds of mixes.
#[derive(Debug, Clone)]
pub(super) struct Odds {
    kinds: Vec<Kind>,
    /// Mean area of the long parts, mm2.
    mean: f64,
    first: Known,
    weights: Known,
    tried: Vec<(Known, bool)>,
}

impl Odds {
    /// Even for the middling one of the sheets filled, whose mixes are the
    /// first known to find room. Parts over `long` of the longest lie in rows.
    pub(super) fn new(spec: &Spec, plan: &Plan, long: f64) -> Self {
        let kinds: Vec<Kind> = spec
            .classes
            .iter()
            .map(|c| {
                let sizes = c
                    .turns
                    .iter()
                    .map(|t| (t.net.1 - t.net.0, t.grown.1 - t.grown.0));
                let least = sizes.min_by(|(a, _), (b, _)| (a.x * a.y).total_cmp(&(b.x * b.y)));
                let length = least.map_or(c.diameter, |(s, _)| s.x.max(s.y));
                let gap = least.map_or(0.0, |(s, grown)| grown.y - s.y);
                Kind {
                    empty: least.map_or(0.0, |(s, _)| s.x * s.y - c.area),
                    length,
                    width: c.area / length.max(f64::MIN_POSITIVE) + gap,
                    rowed: c.diameter > long * spec.longest,
                }
            })
            .collect();
        let parts = 0..spec.of.len();
        let rowed: Vec<usize> = parts.filter(|&p| kinds[spec.of[p]].rowed).collect();
        let mean = spec.area(&rowed) / rowed.len().max(1) as f64;
        let mut odds = Self {
            kinds,
            mean,
            first: FIRST,
            weights: FIRST,
            tried: Vec::new(),
        };
        for used in &plan.sheets {
            let known = odds.known(spec, &used.lay.room, &used.parts());
            odds.tried.push((known, true));
        }
        let mut sums: Vec<f64> = odds.tried.iter().map(|t| sum(&t.0, &FIRST)).collect();
        sums.sort_by(f64::total_cmp);
        odds.first[KNOWN - 1] = -sums.get(sums.len() / 2).copied().unwrap_or(0.0);
        odds.weights = odds.first;
        odds.fit();
        odds
    }

    /// What is known of a mix in a room.
    pub(super) fn known(&self, spec: &Spec, room: &Room, parts: &[usize]) -> Known {
        let (mut empty, mut most) = (0.0, 0.0_f64);
        let (mut rows, mut wide) = (0.0, 0.0);
        for &p in parts {
            let kind = &self.kinds[spec.of[p]];
            empty += kind.empty;
            most = most.max(kind.empty);
            if kind.rowed {
                rows += 1.0 / kind.in_a_row(room);
                wide += kind.width / kind.in_a_row(room);
            }
        }
        // A row that is half empty is as wide as one that is full.
        let whole = if rows > 0.0 {
            wide * (rows - 1e-9).ceil() / rows
        } else {
            0.0
        };
        let size = room.hi - room.lo;
        let taken = whole * size.x.max(size.y);
        let pieces = parts.len() as f64 * self.mean;
        let of = room.area().max(f64::MIN_POSITIVE);
        let over = (taken - of).max(0.0);
        [spec.area(parts), empty, most, taken, over, pieces, of].map(|a| a / of)
    }

    /// Natural logarithm of the chance that a mix finds room.
    pub(super) fn log_chance(&self, known: &Known) -> f64 {
        log_chance(sum(known, &self.weights))
    }

    /// Mixes that found room or did not.
    pub(super) fn learn(&mut self, tried: impl IntoIterator<Item = (Known, bool)>) {
        self.tried.extend(tried);
        self.fit();
    }

    /// Newton's steps up the likelihood of what came of all mixes, times that
    /// of weights no further off than thought; none that overshoots.
    fn fit(&mut self) {
        for _ in 0..STEPS {
            let step = self.step();
            let (from, was) = (self.weights, self.likelihood());
            let found = (0..HALVINGS).any(|k| {
                let by = trig::pow(0.5, k as f64);
                self.weights = std::array::from_fn(|i| from[i] + by * step[i]);
                self.likelihood() > was
            });
            if !found {
                self.weights = from;
                return;
            }
        }
    }

    /// Newton's step.
    fn step(&self) -> Known {
        let mut slope: Known =
            std::array::from_fn(|i| (self.first[i] - self.weights[i]) / (OFF[i] * OFF[i]));
        let mut bend = [[0.0; KNOWN]; KNOWN];
        for i in 0..KNOWN {
            bend[i][i] = 1.0 / (OFF[i] * OFF[i]);
        }
        for (known, fits) in &self.tried {
            let chance = trig::exp(self.log_chance(known));
            let off = f64::from(*fits) - chance;
            for i in 0..KNOWN {
                slope[i] += off * known[i];
                for j in 0..KNOWN {
                    bend[i][j] += chance * (1.0 - chance) * known[i] * known[j];
                }
            }
        }
        solved(bend, slope)
    }

    /// Logarithm of the likelihood.
    fn likelihood(&self) -> f64 {
        let off = |i: usize| (self.weights[i] - self.first[i]) / OFF[i];
        let thought: f64 = (0..KNOWN).map(|i| -0.5 * off(i) * off(i)).sum();
        let came = self.tried.iter().map(|(known, fits)| {
            let sum = sum(known, &self.weights);
            log_chance(if *fits { sum } else { -sum })
        });
        thought + came.sum::<f64>()
    }
}

/// What finds room beside mixes of long parts.
#[derive(Debug, Clone, Default)]
pub(super) struct Beside {
    weights: Known,
    seen: Vec<(Known, f64)>,
}

impl Beside {
    /// What is thought to find room beside a mix, as a share of the room; none
    /// where nothing was seen.
    pub(super) fn share(&self, known: &Known) -> f64 {
        sum(known, &self.weights).max(0.0)
    }

    /// Shares of rooms that were put beside mixes: least squares over all that
    /// were seen, the weights held to no more than they need be.
    pub(super) fn learn(&mut self, seen: impl IntoIterator<Item = (Known, f64)>) {
        self.seen.extend(seen);
        let mut slope = [0.0; KNOWN];
        let mut bend = [[0.0; KNOWN]; KNOWN];
        for (i, row) in bend.iter_mut().enumerate() {
            row[i] = RIDGE;
        }
        for (known, share) in &self.seen {
            for i in 0..KNOWN {
                slope[i] += share * known[i];
                for j in 0..KNOWN {
                    bend[i][j] += known[i] * known[j];
                }
            }
        }
        self.weights = solved(bend, slope);
    }
}

fn sum(known: &Known, weights: &Known) -> f64 {
    known.iter().zip(weights).map(|(k, w)| k * w).sum()
}

/// Logarithm of 1 / (1 + e^-x).
fn log_chance(x: f64) -> f64 {
    x.min(0.0) - trig::ln(1.0 + trig::exp(-x.abs()))
}

/// Gauss's elimination; without pivots, as the matrix is positive definite.
fn solved(mut a: [[f64; KNOWN]; KNOWN], mut b: Known) -> Known {
    for i in 0..KNOWN {
        let row = a[i];
        for k in i + 1..KNOWN {
            let by = a[k][i] / row[i];
            for j in i..KNOWN {
                a[k][j] -= by * row[j];
            }
            b[k] -= by * b[i];
        }
    }
    for i in (0..KNOWN).rev() {
        for j in i + 1..KNOWN {
            b[i] -= a[i][j] * b[j];
        }
        b[i] /= a[i][i];
    }
    b
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::nest::packer::made;
    use crate::nest::packer::random::Random;
    use crate::nest::tests::{job, rectangle, sheet};

    fn bare() -> Odds {
        Odds {
            kinds: Vec::new(),
            mean: 1.0,
            first: FIRST,
            weights: FIRST,
            tried: Vec::new(),
        }
    }

    /// Two rows of one long strip each and one of a short strip: rectangles
    /// leave nothing of their boxes, the short one takes a whole row.
    #[test]
    fn what_is_known_of_rectangles() {
        let strips = vec![
            rectangle(900.0, 200.0),
            rectangle(900.0, 200.0),
            rectangle(500.0, 180.0),
        ];
        let job = job(strips, vec![sheet(1000.0, 800.0, None, None)], 0.0, 0.0);
        let (spec, room) = made::set(&job);
        let plan = Plan {
            sheets: Vec::new(),
            left: Vec::new(),
        };
        let odds = Odds::new(&spec, &plan, 0.4);
        let known = odds.known(&spec, &room, &[0, 1, 2]);
        // The mean of two of 200 mm and a half of 180, over three rows.
        let rows = 3.0 * (490.0 / 2.5) * 1000.0;
        let is = [450_000.0, 0.0, 0.0, rows, 0.0, 450_000.0, 800_000.0];
        for (found, is) in known.iter().zip(is) {
            assert!((found - is / 800_000.0).abs() < 1e-3, "{known:?}");
        }
        let pair = odds.known(&spec, &room, &[2, 2]);
        assert!((pair[3] - 180.0 / 800.0).abs() < 1e-3, "{pair:?}");
        let five = odds.known(&spec, &room, &[0, 0, 1, 1, 0]);
        assert!((five[4] - 0.25).abs() < 1e-3, "{five:?}");
    }

    /// Mixes whose chances are known: those told are within a twentieth.
    #[test]
    fn chances_are_learnt() {
        let truth = [-40.0, -20.0, -25.0, -40.0, -100.0, 5.0, 60.0];
        let mut random = Random::new(1);
        let mut mix = || -> (Known, bool, f64) {
            let known = [
                0.55 + 0.25 * random.unit(),
                0.3 * random.unit(),
                0.1 * random.unit(),
                0.8 + 0.2 * random.unit(),
                0.05 * random.unit(),
                0.6 + 0.3 * random.unit(),
                1.0,
            ];
            let chance = trig::exp(log_chance(sum(&known, &truth)));
            (known, random.unit() < chance, chance)
        };
        let mut odds = bare();
        for _ in 0..100 {
            let batch: Vec<_> = (0..20).map(|_| mix()).map(|m| (m.0, m.1)).collect();
            odds.learn(batch);
        }
        let asked: Vec<_> = (0..500).map(|_| mix()).collect();
        let off = asked
            .iter()
            .map(|m| (trig::exp(odds.log_chance(&m.0)) - m.2).abs());
        let off = off.sum::<f64>() / 500.0;
        assert!(off < 0.05, "{off}");
    }

    /// Mixes that one weight would tell apart whatever its size: the weights
    /// stay finite, and every step makes the likelihood greater.
    #[test]
    fn what_tells_all_apart_does_not_run_away() {
        let mut odds = bare();
        for k in 0..40 {
            let area = 0.6 + 0.005 * f64::from(k);
            let before = odds.likelihood();
            odds.fit();
            assert!(odds.likelihood() >= before);
            odds.learn([([area, 0.1, 0.05, 0.9, 0.0, 0.7, 1.0], k < 20)]);
        }
        assert!(
            odds.weights.iter().all(|w| w.abs() < 1e3),
            "{:?}",
            odds.weights
        );
        let low = odds.log_chance(&[0.6, 0.1, 0.05, 0.9, 0.0, 0.7, 1.0]);
        let high = odds.log_chance(&[0.8, 0.1, 0.05, 0.9, 0.0, 0.7, 1.0]);
        assert!(low > trig::ln(0.8) && high < trig::ln(0.2), "{low} {high}");
    }

    /// What finds room by a rule is told for mixes that were not seen, and
    /// never less than none.
    #[test]
    fn what_finds_room_beside_mixes_is_learnt() {
        let rule = [-0.9, 0.1, -0.4, 0.05, 0.0, -0.02, 0.75];
        let mut random = Random::new(1);
        let mut mix = || -> Known {
            std::array::from_fn(|i| if i == KNOWN - 1 { 1.0 } else { random.unit() })
        };
        let mut beside = Beside::default();
        assert!(beside.share(&mix()) < f64::MIN_POSITIVE);
        beside.learn((0..50).map(|_| mix()).map(|known| {
            let share = sum(&known, &rule);
            (known, share)
        }));
        for _ in 0..100 {
            let known = mix();
            let is = sum(&known, &rule).max(0.0);
            assert!((beside.share(&known) - is).abs() < 1e-3);
        }
    }
}
