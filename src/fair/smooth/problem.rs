//! A smoothing problem and its solution.

use crate::geom::banded::Banded;
use crate::geom::bspline::{Basis, Near, ORDER};
use crate::geom::quadrature::GAUSS_3;
use crate::geom::trig;

/// Tolerances below this, mm, are taken as zero: the point is interpolated.
/// Smaller ones would ask the smoothing to resolve less than its rounding.
pub(in crate::fair) const EXACT_MM: f64 = 0.002;

/// How the balance between nearness and smoothness is chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rule {
    /// Follows what was measured: the likeliest curve, the errors taken to be
    /// as large as the tolerance says or smaller (to `SURER` of it) if the
    /// points agree better.
    Likeliest,
    /// Follows the eye: as smooth as the tolerance allows, the root mean
    /// square of the moves that of an error uniform within the tolerance.
    Smoothest,
    /// The likeliest curve where the errors' size is not known beforehand:
    /// anything up to the tolerance.
    Unknown,
}

/// The error's variance, as a share of the tolerance squared: that of an error
/// uniform in plus and minus the tolerance.
pub(super) const UNIFORM_VARIANCE: f64 = 1.0 / 3.0;

/// The likeliest curve may find the points this much surer (in standard deviation) than stated.
/// One (no freedom) smooths a good survey with a timid tolerance too hard;
/// far below, few points that agree by chance are followed too closely.
const SURER: f64 = 0.5;

/// The same where the errors' size is not known.
const SURER_UNKNOWN: f64 = 1e-5;

/// Range of the balance searched, in quarter decades of `mu`, where lambda =
/// mu length^(2 degree of the penalised derivative - 1): from interpolation to a
/// curve of even curvature. A fixed grid, so that rounding cannot move the
/// choice: neighbours on it differ by a tenth in the length that is smoothed over.
pub(super) const GRID: std::ops::RangeInclusive<i32> = -60..=12;

/// Largest ratio of the penalty's diagonal to the data's: beyond, the
/// Cholesky factor loses the data in rounding.
const CONDITION: f64 = 1e11;

/// How much faster than in proportion a weight is raised. Slower, hundreds of
/// rounds may pass among the many points of a scan; faster, points end well inside
/// their tolerance and roughen the curve.
const HASTE: f64 = 1.1;

/// So many samples to a function are many.
const MANY: usize = 8;

/// Rounds of raising the weights of points beyond their tolerance, before the
/// balance is lowered as well; a quarter of them where the samples are many, of
/// which some always lie at the very end of their errors.
const TIGHTEN_ROUNDS: usize = 60;

/// How much stiffer than the data an end's direction is held. The solution is
/// then off by less than 1e-6 mm, which is taken out; much stiffer, the place
/// of the end would lose figures.
const STIFF: f64 = 1e7;

/// A place of the quadrature of the penalty: the integrand is
/// |sum op c - target|^2.
#[derive(Debug)]
struct Quadrature<const M: usize> {
    first: usize,
    weight: f64,
    /// Per function, the M x M block that acts on its coefficient.
    op: [[[f64; M]; M]; ORDER],
    target: [f64; M],
}

/// A measured value.
#[derive(Debug)]
pub(super) struct Sample<const M: usize> {
    pub(super) t: f64,
    pub(super) near: Near<1>,
    pub(super) value: [f64; M],
    pub(super) tolerance: f64,
}

/// A smoothing problem for M coupled components.
#[derive(Debug)]
pub(in crate::fair) struct Problem<const M: usize> {
    pub(super) basis: Basis,
    pub(super) samples: Vec<Sample<M>>,
    quadrature: Vec<Quadrature<M>>,
    pub(super) penalty: Banded,
    penalty_rhs: Vec<f64>,
    /// Sum of squares of the values over their tolerances.
    moment: f64,
    pub(super) pins: [Option<[f64; M]>; 2],
    /// Directions that the curve does not move in at its ends.
    still: [Option<[f64; M]>; 2],
    /// Largest diagonal entry of the data's matrix, were every sample weighted
    /// as the least is.
    soft: f64,
}

/// A solution for one balance.
pub(in crate::fair) struct Solution<const M: usize> {
    /// Coefficients of the curve.
    pub(in crate::fair) coefficients: Vec<[f64; M]>,
    /// Place on the grid of balances.
    pub(in crate::fair) grid: i32,
    /// Factors on the samples' weights; empty where all are one.
    pub(in crate::fair) factors: Vec<f64>,
    log_determinant: f64,
    pub(in crate::fair) lambda: f64,
}

/// What the penalty is at a place: blocks and target from the basis's
/// derivatives there.
pub(in crate::fair) type Operator<'a, const M: usize> =
    dyn Fn(f64, &Near<4>) -> ([[[f64; M]; M]; ORDER], [f64; M]) + 'a;

/// The penalty on the plain third derivative of every component.
pub(in crate::fair) fn third_derivative<const M: usize>(
    _t: f64,
    near: &Near<4>,
) -> ([[[f64; M]; M]; ORDER], [f64; M]) {
    let mut op = [[[0.0; M]; M]; ORDER];
    for (block, d) in op.iter_mut().zip(&near.ders[3]) {
        for (m, row) in block.iter_mut().enumerate() {
            row[m] = *d;
        }
    }
    (op, [0.0; M])
}

impl<const M: usize> Problem<M> {
    /// Points at parameters `t`, values and tolerances alike in number; `pins`
    /// hold the ends of the curve exactly.
    pub(in crate::fair) fn new(
        basis: Basis,
        t: &[f64],
        values: &[[f64; M]],
        tolerances: &[f64],
        pins: [Option<[f64; M]>; 2],
        operator: &Operator<'_, M>,
    ) -> Self {
        let samples: Vec<Sample<M>> = t
            .iter()
            .zip(values)
            .zip(tolerances)
            .map(|((&t, &value), &tolerance)| Sample {
                t,
                near: basis.near(t),
                value,
                tolerance: tolerance.max(EXACT_MM),
            })
            .collect();
        let moment = samples.iter().map(|s| {
            let sum_sq: f64 = s.value.iter().map(|v| v * v).sum();
            sum_sq / (s.tolerance * s.tolerance)
        });
        let moment = moment.sum();
        let loosest = samples.iter().fold(0.0, |m: f64, s| m.max(s.tolerance));
        let mut own = vec![0.0; basis.len()];
        for s in &samples {
            for (o, b) in own[s.near.first..].iter_mut().zip(&s.near.ders[0]) {
                *o += b * b;
            }
        }
        let soft = own.iter().fold(0.0, |m: f64, o| m.max(*o)) / (loosest * loosest);
        let quadrature = quadrature(&basis, operator);
        let mut penalty = Banded::zeros(basis.len() * M, (basis.degree() + 1) * M - 1);
        let mut penalty_rhs = vec![0.0; basis.len() * M];
        for q in &quadrature {
            for k in 0..=basis.degree() {
                for m in 0..M {
                    let i = (q.first + k) * M + m;
                    for r in 0..M {
                        penalty_rhs[i] += q.weight * q.op[k][r][m] * q.target[r];
                    }
                    for j in q.first * M..=i {
                        let (l, n) = (j / M - q.first, j % M);
                        let dot: f64 = (0..M).map(|r| q.op[k][r][m] * q.op[l][r][n]).sum();
                        penalty.add(i, j, q.weight * dot);
                    }
                }
            }
        }
        Self {
            basis,
            samples,
            quadrature,
            penalty,
            penalty_rhs,
            moment,
            pins,
            still: [None; 2],
            soft,
        }
    }

    /// The same with its first and last derivative held square to the unit
    /// vectors given.
    pub(in crate::fair) fn meeting(mut self, still: [Option<[f64; M]>; 2]) -> Self {
        self.still = still;
        self
    }

    /// The two unknowns that the direction at an end hangs on.
    fn end_pair(&self, end: usize) -> [usize; 2] {
        let last = self.basis.len() - 1;
        if end == 0 { [0, 1] } else { [last, last - 1] }
    }

    /// Adds what holds the directions of the ends.
    pub(super) fn meet(&self, matrix: &mut Banded) {
        for (end, still) in self.still.iter().enumerate() {
            let Some(n) = still else { continue };
            let [at, next] = self.end_pair(end);
            for (a, sa) in [(at, 1.0), (next, -1.0)] {
                for (b, sb) in [(at, 1.0), (next, -1.0)] {
                    for (m, x) in n.iter().enumerate() {
                        for (k, y) in n.iter().enumerate() {
                            let (i, j) = (a * M + m, b * M + k);
                            if i >= j {
                                matrix.add(i, j, STIFF * self.soft * sa * sb * x * y);
                            }
                        }
                    }
                }
            }
        }
    }

    /// The data's part of the system, each sample weighted by 1 / tolerance^2.
    pub(in crate::fair) fn data(&self) -> (Banded, Vec<f64>) {
        let size = self.basis.len() * M;
        let mut data = (
            Banded::zeros(size, (self.basis.degree() + 1) * M - 1),
            vec![0.0; size],
        );
        for s in &self.samples {
            self.weigh(&mut data, s, 1.0);
        }
        data
    }

    /// Adds a sample to the system, at `factor` times its weight.
    fn weigh(&self, data: &mut (Banded, Vec<f64>), s: &Sample<M>, factor: f64) {
        let (matrix, rhs) = data;
        let w = factor / (s.tolerance * s.tolerance);
        let row = &s.near.ders[0];
        for k in 0..=self.basis.degree() {
            let i = s.near.first + k;
            for m in 0..M {
                rhs[i * M + m] += w * row[k] * s.value[m];
                for (l, b) in row.iter().enumerate().take(k + 1) {
                    matrix.add(i * M + m, (s.near.first + l) * M + m, w * row[k] * b);
                }
            }
        }
    }

    pub(super) fn solve(&self, data: &(Banded, Vec<f64>), grid: i32) -> Option<Solution<M>> {
        let (a, b) = self.basis.range();
        let length = b - a;
        let unit = length * length * length * length * length;
        let tolerance = self.samples.iter().map(|s| s.tolerance);
        let weight: f64 = tolerance.map(|t| 1.0 / (t * t)).sum();
        let lambda = trig::pow(10.0, f64::from(grid) / 4.0) * unit * weight;
        if lambda * self.penalty.largest_diagonal() > CONDITION * data.0.largest_diagonal() {
            return None;
        }
        let mut solution = self.solve_at(data, lambda)?;
        solution.grid = grid;
        Some(solution)
    }

    /// The solution at a balance that need not be on the grid.
    pub(in crate::fair) fn solve_at(
        &self,
        data: &(Banded, Vec<f64>),
        lambda: f64,
    ) -> Option<Solution<M>> {
        let (mut matrix, mut rhs) = data.clone();
        matrix.add_scaled(lambda, &self.penalty);
        self.meet(&mut matrix);
        for (r, p) in rhs.iter_mut().zip(&self.penalty_rhs) {
            *r += lambda * p;
        }
        for (end, pin) in self.pins.iter().enumerate() {
            let k = if end == 0 { 0 } else { self.basis.len() - 1 };
            for (m, v) in pin.iter().flatten().enumerate() {
                matrix.pin(k * M + m, *v, &mut rhs);
            }
        }
        let factor = matrix.factor()?;
        factor.solve(&mut rhs);
        let mut coefficients = vec![[0.0; M]; self.basis.len()];
        for (i, v) in rhs.iter().enumerate() {
            coefficients[i / M][i % M] = *v;
        }
        for (end, still) in self.still.iter().enumerate() {
            let Some(n) = still else { continue };
            let [at, next] = self.end_pair(end);
            let off: f64 = (0..M)
                .map(|m| n[m] * (coefficients[next][m] - coefficients[at][m]))
                .sum();
            for m in 0..M {
                coefficients[next][m] -= off * n[m];
            }
        }
        Some(Solution {
            coefficients,
            grid: 0,
            factors: Vec::new(),
            log_determinant: factor.log_determinant(),
            lambda,
        })
    }

    /// Sum of squares of distance over tolerance. Many points to a function:
    /// from the system's own moments, whose rounding is far below the errors
    /// of so many; else point by point.
    fn misfit(&self, s: &Solution<M>, data: &(Banded, Vec<f64>)) -> f64 {
        if self.samples.len() < MANY * self.basis.len() {
            return self.ratios_sq(s).iter().sum();
        }
        let (matrix, rhs) = data;
        let c: Vec<f64> = s.coefficients.iter().flatten().copied().collect();
        let own: f64 = matrix.times(&c).iter().zip(&c).map(|(a, b)| a * b).sum();
        let cross: f64 = rhs.iter().zip(&c).map(|(a, b)| a * b).sum();
        (own - 2.0 * cross + self.moment).max(0.0)
    }

    /// Distance of each sample from the curve over its tolerance, squared.
    fn ratios_sq(&self, s: &Solution<M>) -> Vec<f64> {
        let ratio_sq = |p: &Sample<M>| {
            let mut sum = 0.0;
            for m in 0..M {
                let at: f64 = p.near.ders[0][..=self.basis.degree()]
                    .iter()
                    .zip(&s.coefficients[p.near.first..])
                    .map(|(b, c)| b * c[m])
                    .sum();
                sum += (at - p.value[m]) * (at - p.value[m]);
            }
            sum / (p.tolerance * p.tolerance)
        };
        self.samples.iter().map(ratio_sq).collect()
    }

    /// Integral of the penalised change of curvature.
    fn roughness(&self, s: &Solution<M>) -> f64 {
        let at = |q: &Quadrature<M>| {
            let mut sum_sq = 0.0;
            for r in 0..M {
                let mut sum = -q.target[r];
                for k in 0..=self.basis.degree() {
                    let c = &s.coefficients[q.first + k];
                    sum += (0..M).map(|m| q.op[k][r][m] * c[m]).sum::<f64>();
                }
                sum_sq += sum * sum;
            }
            q.weight * sum_sq
        };
        self.quadrature.iter().map(at).sum()
    }

    /// Minus twice the logarithm of the restricted likelihood, the variance
    /// of the errors free between its bounds.
    fn unlikelihood(&self, s: &Solution<M>, data: &(Banded, Vec<f64>), surer: f64) -> f64 {
        let energy = self.misfit(s, data) + s.lambda * self.roughness(s);
        let freedom = (self.samples.len() as f64 - 3.0).max(1.0);
        let least = surer * surer * UNIFORM_VARIANCE;
        let variance = (energy / freedom).clamp(least, UNIFORM_VARIANCE);
        let rank = (self.basis.len() as f64 - 3.0) * M as f64;
        energy / variance
            + freedom * trig::ln(variance)
            + (s.log_determinant - rank * trig::ln(s.lambda)) / M as f64
    }

    /// The balance by the likelihood: whole decades first, then the quarters
    /// around the best.
    fn likeliest(&self, data: &(Banded, Vec<f64>), surer: f64) -> Option<Solution<M>> {
        let mut best: Option<(f64, Solution<M>)> = None;
        let mut attempt = |grid: i32| {
            if let Some(s) = self.solve(data, grid) {
                let u = self.unlikelihood(&s, data, surer);
                if u.is_finite() && best.as_ref().is_none_or(|(b, _)| u < *b) {
                    best = Some((u, s));
                }
            }
            best.as_ref().map_or(grid, |(_, s)| s.grid)
        };
        let mut middle = 0;
        for grid in GRID.step_by(4) {
            middle = attempt(grid);
        }
        for step in [2, 1] {
            let centre = middle;
            attempt(centre - step);
            middle = attempt(centre + step);
        }
        best.map(|(_, s)| s)
    }

    /// The smoothest on the grid whose mean square of moves over tolerance is
    /// that of a uniform error at most; the mean square grows with the
    /// balance, so bisection finds it.
    fn smoothest(&self, data: &(Banded, Vec<f64>)) -> Option<Solution<M>> {
        let (mut low, mut high) = (*GRID.start(), *GRID.end() + 1);
        let mut found = self.solve(data, low)?;
        let most = UNIFORM_VARIANCE * self.samples.len() as f64;
        while high - low > 1 {
            let middle = low + (high - low) / 2;
            match self.solve(data, middle) {
                Some(s) if self.misfit(&s, data) <= most => {
                    low = middle;
                    found = s;
                }
                _ => high = middle,
            }
        }
        Some(found)
    }

    /// The curve for a rule, or at a balance chosen before. `None` where the
    /// system is singular.
    pub(in crate::fair) fn choose(&self, rule: Rule, fixed: Option<i32>) -> Option<Solution<M>> {
        let data = self.data();
        match (fixed, rule) {
            (Some(grid), _) => self.solve(&data, grid),
            (None, Rule::Likeliest) => self.likeliest(&data, SURER),
            (None, Rule::Unknown) => self.likeliest(&data, SURER_UNKNOWN),
            (None, Rule::Smoothest) => self.smoothest(&data),
        }
    }

    /// Brings every sample within its tolerance, as far as the basis can: the
    /// weights of those beyond it are raised until they are within, so that
    /// one bad point does not roughen the whole curve; where that fails the
    /// balance is lowered.
    pub(in crate::fair) fn tighten(&self, chosen: Solution<M>) -> Solution<M> {
        let mut factors = vec![1.0; self.samples.len()];
        let mut data = self.data();
        let mut solution = chosen;
        let mut least = solution.grid;
        let mut best: Option<(f64, Solution<M>)> = None;
        let rounds = if self.samples.len() < MANY * self.basis.len() {
            2 * TIGHTEN_ROUNDS
        } else {
            TIGHTEN_ROUNDS / 4
        };
        for round in 0..rounds {
            let ratios = self.ratios_sq(&solution);
            let worst = ratios.iter().fold(0.0, |m: f64, r| m.max(*r));
            if worst <= 1.0 {
                return solution;
            }
            for ((f, r), s) in factors.iter_mut().zip(&ratios).zip(&self.samples) {
                if *r > 1.0 {
                    // More than asked, or the limit is met only at infinity.
                    let more = (HASTE * r).min(100.0);
                    self.weigh(&mut data, s, *f * (more - 1.0));
                    *f *= more;
                }
            }
            if round >= TIGHTEN_ROUNDS {
                least = (least - 4).max(*GRID.start());
            }
            let Some(mut next) = self.solve(&data, least) else {
                break;
            };
            next.factors.clone_from(&factors);
            let last = std::mem::replace(&mut solution, next);
            if best.as_ref().is_none_or(|(w, _)| worst < *w) {
                best = Some((worst, last));
            }
        }
        best.map_or(solution, |(_, s)| s)
    }
}

/// Three Gauss points a piece: exact for the square of the third derivative
/// of a quintic.
fn quadrature<const M: usize>(basis: &Basis, operator: &Operator<'_, M>) -> Vec<Quadrature<M>> {
    let mut out = Vec::new();
    for span in basis.breaks().windows(2) {
        let (middle, half) = (0.5 * (span[0] + span[1]), 0.5 * (span[1] - span[0]));
        for (x, w) in GAUSS_3 {
            let t = middle + half * x;
            let near = basis.near::<4>(t);
            let (op, target) = operator(t, &near);
            out.push(Quadrature {
                first: near.first,
                weight: w * half,
                op,
                target,
            });
        }
    }
    out
}
