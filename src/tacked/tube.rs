//! The smoothest line within reach of a row of stanchions, in one view: a
//! linear programme.
//!
//! With s the line, d the measured line and b the reach at each stanchion (all in mm off the
//! planned line), it finds the least `need` with
//!
//! ```text
//! |s_i - d_i| <= b_i + need        at every stanchion
//! |D_k(s)| <= smooth_k             for every five in a row
//! ```
//!
//! where D_k is how far the middle one of five stands out from the cubic
//! through the other four. A need of nought or less: a smooth line lies within reach of all.

use crate::geom::banded::Banded;

/// Steps of the interior-point method; 12 to 25 are usual, each gains a figure or more.
const STEPS: usize = 80;

/// The programme is solved when the mean product of slacks and multipliers is
/// below this, mm: far below a length that is measured.
const SOLVED: f64 = 1e-10;

/// Share of the way to the nearest bound that a step goes, so that no slack becomes nought.
const SHORT_OF: f64 = 0.995;

/// Added to the diagonal, relative: keeps the factor when slacks differ by twelve figures.
const RIDGE: f64 = 1e-13;

/// How far the middle one of five stands out from the cubic through the other four, as
/// factors of the five.
pub(super) type Stencil = [f64; 5];

/// Stencils of every five in a row, by their places along the edge, increasing, mm.
pub(super) fn stencils(at: &[f64]) -> Vec<Stencil> {
    at.windows(5)
        .map(|x| {
            let mut out = [0.0; 5];
            for j in [0, 1, 3, 4] {
                let others = [0, 1, 3, 4].into_iter().filter(|m| *m != j);
                out[j] = -others
                    .map(|m| (x[2] - x[m]) / (x[j] - x[m]))
                    .product::<f64>();
            }
            out[2] = 1.0;
            out
        })
        .collect()
}

/// Most that wide spacing, as at a gate, eases what may stand out there: a stanchion
/// beside it could hide a fault otherwise.
const EASED: f64 = 4.0;

/// How much more than at even spacing each five may stand out: the middle one of a line of
/// fourth derivative f stands out by f / 24 times the product of its distances from the other
/// four, f h^4 / 6 at even spacing h. From 1 to [`EASED`].
pub(super) fn eases(at: &[f64]) -> Vec<f64> {
    let mut steps: Vec<f64> = at.windows(2).map(|w| w[1] - w[0]).collect();
    steps.sort_by(f64::total_cmp);
    let h = steps.get(steps.len() / 2).copied().unwrap_or(1.0);
    at.windows(5)
        .map(|x| {
            let product: f64 = [0, 1, 3, 4].map(|j| (x[2] - x[j]).abs()).iter().product();
            (product / (4.0 * h * h * h * h)).clamp(1.0, EASED)
        })
        .collect()
}

/// Applies a stencil to five values from `k` on.
pub(super) fn stands_out(stencil: &Stencil, k: usize, s: &[f64]) -> f64 {
    stencil.iter().zip(&s[k..]).map(|(a, b)| a * b).sum()
}

/// The programme.
pub(super) struct Tube<'a> {
    /// One less than four fewer than the stanchions, in order.
    pub(super) stencils: &'a [Stencil],
    /// Measured line off the planned one, mm.
    pub(super) off: &'a [f64],
    /// Reach at each stanchion, mm.
    pub(super) reach: &'a [f64],
    /// Most that the middle of each five may stand out, mm; above nought.
    pub(super) smooth: &'a [f64],
}

/// Its solution.
#[derive(Debug, Clone)]
pub(super) struct Best {
    /// How much more reach would be needed, mm; below nought: how much is to spare.
    pub(super) need: f64,
    /// The line, mm off the planned one.
    pub(super) line: Vec<f64>,
    /// How much each stanchion's reach binds: parts of one. Where the need is above
    /// nought, these stanchions alone already leave no smooth line.
    pub(super) binds: Vec<f64>,
}

impl Tube<'_> {
    /// Solves it by a primal-dual interior-point method (Mehrotra, "On the
    /// implementation of a primal-dual interior point method", SIAM J. Optim. 2, 1992), about a line that is
    /// always within the bounds. Time grows with the number of stanchions.
    pub(super) fn solve(&self) -> Best {
        let mut state = State::start(self);
        for _ in 0..STEPS {
            if !state.step(self) {
                break;
            }
        }
        let n = self.off.len();
        let binds = (0..n).map(|i| state.y[i] + state.y[n + i]).collect();
        Best {
            need: state.need,
            line: state.line,
            binds,
        }
    }

    /// Left-hand sides of all rows: above, below, out, in.
    fn rows(&self, s: &[f64], t: f64) -> Vec<f64> {
        let k = self.stencils.iter().enumerate();
        let out: Vec<f64> = k.map(|(k, d)| stands_out(d, k, s)).collect();
        let mut all: Vec<f64> = s.iter().map(|s| s - t).collect();
        all.extend(s.iter().map(|s| -s - t));
        all.extend(&out);
        all.extend(out.iter().map(|d| -d));
        all
    }

    fn limits(&self) -> Vec<f64> {
        let both = || self.off.iter().zip(self.reach);
        let mut all: Vec<f64> = both().map(|(d, b)| d + b).collect();
        all.extend(both().map(|(d, b)| b - d));
        all.extend(self.smooth);
        all.extend(self.smooth);
        all
    }

    /// The transposed rows times multipliers: by stanchion, and of the need.
    fn across(&self, y: &[f64]) -> (Vec<f64>, f64) {
        let (n, k) = (self.off.len(), self.stencils.len());
        let mut s: Vec<f64> = (0..n).map(|i| y[i] - y[n + i]).collect();
        for (j, d) in self.stencils.iter().enumerate() {
            let by = y[2 * n + j] - y[2 * n + k + j];
            for (c, s) in d.iter().zip(&mut s[j..]) {
                *s += c * by;
            }
        }
        (s, -y[..2 * n].iter().sum::<f64>())
    }

    /// The rows' squares weighed by `w`, among the stanchions.
    fn square(&self, w: &[f64]) -> Banded {
        let (n, k) = (self.off.len(), self.stencils.len());
        let mut square = Banded::zeros(n, 4);
        for i in 0..n {
            square.add(i, i, (w[i] + w[n + i]) * (1.0 + RIDGE));
        }
        for (j, d) in self.stencils.iter().enumerate() {
            let by = w[2 * n + j] + w[2 * n + k + j];
            for a in 0..5 {
                for b in 0..=a {
                    square.add(j + a, j + b, by * d[a] * d[b]);
                }
            }
        }
        square
    }
}

/// Where the method stands.
struct State {
    line: Vec<f64>,
    need: f64,
    /// Slack of every row, above nought.
    z: Vec<f64>,
    /// Multiplier of every row, above nought.
    y: Vec<f64>,
}

/// A direction to go.
struct Way {
    line: Vec<f64>,
    need: f64,
    z: Vec<f64>,
    y: Vec<f64>,
}

impl State {
    /// The planned line itself is smooth; a need large enough makes it reach all.
    fn start(tube: &Tube<'_>) -> Self {
        let n = tube.off.len();
        let both = tube.off.iter().zip(tube.reach);
        let need = both.fold(0.0, |m: f64, (d, b)| m.max(d.abs() - b)) + 1.0;
        let line = vec![0.0; n];
        let rows = tube.rows(&line, need);
        let z: Vec<f64> = tube.limits().iter().zip(rows).map(|(b, a)| b - a).collect();
        let even = 1.0 / z[..2 * n].iter().map(|z| 1.0 / z).sum::<f64>();
        let y = z.iter().map(|z| even / z).collect();
        Self { line, need, z, y }
    }

    /// One step; false when it is solved, or can go no further.
    fn step(&mut self, tube: &Tube<'_>) -> bool {
        let m = self.z.len() as f64;
        let gap = |z: &[f64], y: &[f64]| z.iter().zip(y).map(|(z, y)| z * y).sum::<f64>() / m;
        let mean = gap(&self.z, &self.y);
        if mean.is_nan() || mean < SOLVED {
            return false;
        }
        let zy = self.z.iter().zip(&self.y).map(|(z, y)| -z * y);
        let first: Vec<f64> = zy.collect();
        let Some(guess) = self.way(tube, &first) else {
            return false;
        };
        let (p, d) = self.reach(&guess);
        let moved = |a: &[f64], by: &[f64], f: f64| -> Vec<f64> {
            a.iter().zip(by).map(|(a, b)| a + f * b).collect()
        };
        let after = gap(&moved(&self.z, &guess.z, p), &moved(&self.y, &guess.y, d));
        let share = after / mean;
        let aim = share * share * share * mean;
        let second: Vec<f64> = first
            .iter()
            .zip(guess.z.iter().zip(&guess.y))
            .map(|(f, (z, y))| f + aim - z * y)
            .collect();
        let Some(way) = self.way(tube, &second) else {
            return false;
        };
        let (p, d) = self.reach(&way);
        let (p, d) = ((SHORT_OF * p).min(1.0), (SHORT_OF * d).min(1.0));
        self.line = moved(&self.line, &way.line, p);
        self.need += p * way.need;
        self.z = moved(&self.z, &way.z, p);
        self.y = moved(&self.y, &way.y, d);
        true
    }

    /// Newton's direction to slacks times multipliers more by `aim`.
    fn way(&self, tube: &Tube<'_>, aim: &[f64]) -> Option<Way> {
        let n = self.line.len();
        let w: Vec<f64> = self.y.iter().zip(&self.z).map(|(y, z)| y / z).collect();
        let (lean_s, lean_t) = tube.across(&self.y);
        let by_z: Vec<f64> = aim.iter().zip(&self.z).map(|(a, z)| a / z).collect();
        let (push_s, push_t) = tube.across(&by_z);
        // Minus the gradient (of the need: 1) and the push, by stanchion and of the need.
        let mut right: Vec<f64> = lean_s.iter().zip(&push_s).map(|(a, b)| -a - b).collect();
        let right_t = -(lean_t + 1.0) - push_t;
        let factor = tube.square(&w).factor()?;
        let border: Vec<f64> = (0..n).map(|i| w[n + i] - w[i]).collect();
        let corner: f64 = w[..2 * n].iter().sum();
        let mut by_border = border.clone();
        factor.solve(&mut by_border);
        factor.solve(&mut right);
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        let need = (right_t - dot(&border, &right)) / (corner - dot(&border, &by_border));
        let line: Vec<f64> = right
            .iter()
            .zip(&by_border)
            .map(|(r, b)| r - b * need)
            .collect();
        let z: Vec<f64> = tube.rows(&line, need).iter().map(|a| -a).collect();
        let y: Vec<f64> = (0..z.len()).map(|r| by_z[r] - w[r] * z[r]).collect();
        let sound = need.is_finite() && y.iter().all(|y| y.is_finite());
        sound.then_some(Way { line, need, z, y })
    }

    /// How far along a way slacks and multipliers stay above nought.
    fn reach(&self, way: &Way) -> (f64, f64) {
        let most = |a: &[f64], by: &[f64]| {
            let ends = a.iter().zip(by).filter(|(_, b)| **b < 0.0);
            ends.fold(1.0 / SHORT_OF, |m: f64, (a, b)| m.min(-a / b))
        };
        (most(&self.z, &way.z), most(&self.y, &way.y))
    }
}
