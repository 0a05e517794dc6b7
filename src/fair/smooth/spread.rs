//! How far a smoothing spline may lie from the truth: its covariance from the
//! system that it was solved from. The formulas are in `docs/method-fairing.md`
//! under "How sure is the fit".

use super::problem::{
    GRID, Operator, Problem, Sample, Solution, UNIFORM_VARIANCE, third_derivative,
};
use crate::geom::banded::{Banded, Factor};
use crate::geom::bspline::Basis;
use crate::geom::quadrature::GAUSS_5;
use crate::geom::selected::sandwich;

/// No weight counts for more than this many times the least: such a point is
/// met exactly for every purpose (its own error of 1e-5 left), and a greater
/// one only costs figures.
const MOST_WEIGHT: f64 = 1e5;

/// The freedom that a curve takes counts this many times in cross-validation:
/// plainly counted, one survey in twenty is taken for free of errors (Kim & Gu,
/// Journal of the Royal Statistical Society B 66, 2004, from memory).
const CAUTION: f64 = 1.4;

/// Share of the diagonal that keeps the system of an interpolant from failing
/// by rounding where two points nearly share a place.
const RIDGE: f64 = 1e-12;

/// The curve's own scale: with the penalty's weight lambda its roughness has
/// this variance over lambda, in units where a point's error has the variance
/// tolerance^2 times this (Wahba 1983).
const PRIOR: f64 = UNIFORM_VARIANCE;

/// A problem with the balance that it was solved at.
#[derive(Debug)]
pub(in crate::fair) struct Solved<const M: usize> {
    /// The problem.
    pub(in crate::fair) problem: Problem<M>,
    /// Balance; nought for an interpolant.
    pub(in crate::fair) lambda: f64,
    /// Factors on the samples' weights; empty where all are one.
    pub(in crate::fair) factors: Vec<f64>,
}

/// Covariance of a curve of M components over its own parameter.
#[derive(Debug, Clone)]
pub(in crate::fair) struct Spread<const M: usize> {
    basis: Basis,
    factor: Factor,
    /// Covariance of the right-hand side.
    noise: Banded,
    /// Covariance of the coefficients within the band.
    covariance: Banded,
    /// For each sample, by how much a second measurement of it lowers
    /// [`Spread::whole`].
    pub(in crate::fair) gains: Vec<f64>,
    /// Integral of the variance in the direction asked for, mm^3.
    pub(in crate::fair) whole: f64,
}

impl<const M: usize> Solved<M> {
    /// Weight of each sample; a pinned end's is the greatest.
    fn weights(&self) -> Vec<f64> {
        let samples = &self.problem.samples;
        let mut out: Vec<f64> = samples
            .iter()
            .enumerate()
            .map(|(i, s)| {
                let factor = self.factors.get(i).copied().unwrap_or(1.0);
                factor / (s.tolerance * s.tolerance)
            })
            .collect();
        let least = out.iter().copied().fold(f64::INFINITY, f64::min);
        for w in &mut out {
            *w = w.min(MOST_WEIGHT * least);
        }
        let last = out.len() - 1;
        for (end, i) in [(0, 0), (1, last)] {
            if self.problem.pins[end].is_some() {
                out[i] = MOST_WEIGHT * least;
            }
        }
        out
    }

    /// Sum over samples of `by(i)` times their outer product.
    fn outer(&self, by: impl Fn(usize) -> f64) -> Banded {
        let p = &self.problem;
        let mut out = Banded::zeros(p.penalty.size(), p.penalty.half_width());
        for (i, s) in p.samples.iter().enumerate() {
            let (row, w) = (&s.near.ders[0], by(i));
            for k in 0..=p.basis.degree() {
                for (l, b) in row.iter().enumerate().take(k + 1) {
                    for m in 0..M {
                        let (r, c) = ((s.near.first + k) * M + m, (s.near.first + l) * M + m);
                        out.add(r, c, w * row[k] * b);
                    }
                }
            }
        }
        out
    }

    /// Matrix of the system at a balance.
    fn matrix(&self, weights: &[f64], lambda: f64) -> Banded {
        let mut out = self.outer(|i| weights[i]);
        let most = out.largest_diagonal();
        if lambda > 0.0 {
            out.add_scaled(lambda, &self.problem.penalty);
        } else {
            for i in 0..out.size() {
                out.add(i, i, RIDGE * most);
            }
        }
        self.problem.meet(&mut out);
        out
    }

    /// Covariance, where each ordinate's error has the standard deviation
    /// `sigma`, mm. `honest` counts what smoothing itself may have taken off
    /// the truth as well; without it only what repeating the survey would
    /// change. `across` is the direction at a parameter whose variance is
    /// summed for [`Spread::whole`] and the gains.
    /// `None` where the system cannot be solved.
    pub(in crate::fair) fn spread(
        &self,
        sigma: f64,
        honest: bool,
        across: impl Fn(f64) -> [f64; M],
    ) -> Option<Spread<M>> {
        let p = &self.problem;
        let weights = self.weights();
        let matrix = self.matrix(&weights, self.lambda);
        let variance = sigma * sigma;
        let mut noise = self.outer(|i| weights[i] * weights[i] * variance);
        if honest {
            noise.add_scaled(PRIOR * self.lambda, &p.penalty);
        }
        let covariance = sandwich(&matrix, &noise)?.between;
        let gram = gram(&p.basis, &across);
        let of_gram = sandwich(&matrix, &gram)?;
        let mut whole = 0.0;
        for i in 0..gram.size() {
            for j in i.saturating_sub(gram.half_width())..=i {
                let twice = if i == j { 1.0 } else { 2.0 };
                whole += twice * gram.get(i, j) * covariance.get(i, j);
            }
        }
        let gain = |(s, w): (&Sample<M>, &f64)| {
            let local = local(&s.near.ders[0][..=p.basis.degree()], across(s.t));
            let first = s.near.first * M;
            let reach = form(&of_gram.between, first, &local, &local);
            let held = form(&of_gram.inverse, first, &local, &local);
            variance * w * w * reach / (1.0 + w * held)
        };
        let gains = p.samples.iter().zip(&weights).map(gain).collect();
        Some(Spread {
            basis: p.basis.clone(),
            factor: matrix.factor()?,
            noise,
            covariance,
            gains,
            whole,
        })
    }

    /// Sum of squares of the distances from the curve in the direction
    /// `across`, and the freedom left to them (the samples less the trace of
    /// the influence matrix in that direction), at the balance that generalised
    /// cross-validation finds. `None` where no balance can be solved.
    pub(in crate::fair) fn cross_validated(
        &self,
        across: impl Fn(f64) -> [f64; M],
    ) -> Option<(f64, f64)> {
        let data = self.problem.data();
        let count = self.problem.samples.len() as f64;
        let mut best: Option<(f64, i32, (f64, f64))> = None;
        let mut attempt = |grid: i32| {
            let found = self.problem.solve(&data, grid).and_then(|s| {
                let (sum_sq, freedom) = self.residual(&s, &across)?;
                let left = count - CAUTION * (count - freedom);
                (left > 0.0).then(|| (sum_sq / (left * left), grid, (sum_sq, freedom)))
            });
            if let Some(f) = found
                && best.is_none_or(|b| f.0 < b.0)
            {
                best = Some(f);
            }
            best.map_or(grid, |b| b.1)
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
        best.map(|b| b.2)
    }

    fn residual(
        &self,
        solution: &Solution<M>,
        across: impl Fn(f64) -> [f64; M],
    ) -> Option<(f64, f64)> {
        let p = &self.problem;
        let weights = self.weights();
        let matrix = self.matrix(&weights, solution.lambda);
        let none = Banded::zeros(matrix.size(), matrix.half_width());
        let inverse = sandwich(&matrix, &none)?.inverse;
        let (mut sum_sq, mut freedom) = (0.0, 0.0);
        for (s, w) in p.samples.iter().zip(&weights) {
            let row = &s.near.ders[0][..=p.basis.degree()];
            let n = across(s.t);
            let mut off = 0.0;
            for m in 0..M {
                let own = row.iter().zip(&solution.coefficients[s.near.first..]);
                let at: f64 = own.map(|(b, c)| b * c[m]).sum();
                off += n[m] * (at - s.value[m]);
            }
            let local = local(row, n);
            sum_sq += off * off;
            freedom += 1.0 - w * form(&inverse, s.near.first * M, &local, &local);
        }
        Some((sum_sq, freedom))
    }
}

/// The equations of an interpolant: no penalty, every point of one weight.
pub(in crate::fair) fn exact_problem<const M: usize>(basis: Basis, feet: &[f64]) -> Solved<M> {
    let values = vec![[0.0; M]; feet.len()];
    let tolerances = vec![1.0; feet.len()];
    let operator: &Operator<'_, M> = &third_derivative;
    Solved {
        problem: Problem::new(basis, feet, &values, &tolerances, [None; 2], operator),
        lambda: 0.0,
        factors: Vec::new(),
    }
}

impl<const M: usize> Spread<M> {
    /// Covariances of value and change per mm at `t` in the direction
    /// `across`: of the value, of value and change, of the change.
    pub(in crate::fair) fn jet(&self, t: f64, across: [f64; M]) -> [f64; 3] {
        let near = self.basis.near::<2>(t);
        let p = self.basis.degree();
        let value = local(&near.ders[0][..=p], across);
        let change = local(&near.ders[1][..=p], across);
        let first = near.first * M;
        [
            form(&self.covariance, first, &value, &value),
            form(&self.covariance, first, &value, &change),
            form(&self.covariance, first, &change, &change),
        ]
    }

    /// Variance of the sum over (t, factor in each component): one solve.
    pub(in crate::fair) fn of_sum(&self, terms: &[(f64, [f64; M])]) -> f64 {
        let mut x = vec![0.0; self.noise.size()];
        for (t, by) in terms {
            let near = self.basis.near::<1>(*t);
            let own = local(&near.ders[0][..=self.basis.degree()], *by);
            for (k, v) in own.iter().enumerate() {
                x[near.first * M + k] += v;
            }
        }
        self.factor.solve(&mut x);
        let spread = self.noise.times(&x);
        spread
            .iter()
            .zip(&x)
            .map(|(a, b)| a * b)
            .sum::<f64>()
            .max(0.0)
    }
}

/// Functions at a place times a direction, one value an unknown.
fn local<const M: usize>(row: &[f64], across: [f64; M]) -> Vec<f64> {
    row.iter().flat_map(|b| across.map(|n| b * n)).collect()
}

/// x^T Z y on the unknowns from `first` on, Z symmetric within its band.
fn form(z: &Banded, first: usize, x: &[f64], y: &[f64]) -> f64 {
    let mut sum = 0.0;
    for (k, a) in x.iter().enumerate() {
        for (l, b) in y.iter().enumerate() {
            sum += a * b * z.get(first + k.max(l), first + k.min(l));
        }
    }
    sum
}

/// Integral of the outer product of the functions in the direction `across`.
/// Five Gauss points a piece: exact to the ninth degree of the tenth of
/// quintics, within a thousandth.
fn gram<const M: usize>(basis: &Basis, across: &impl Fn(f64) -> [f64; M]) -> Banded {
    let mut out = Banded::zeros(basis.len() * M, (basis.degree() + 1) * M - 1);
    for span in basis.breaks().windows(2) {
        let (middle, half) = (0.5 * (span[0] + span[1]), 0.5 * (span[1] - span[0]));
        for (x, w) in GAUSS_5 {
            let t = middle + half * x;
            let near = basis.near::<1>(t);
            let own = local(&near.ders[0][..=basis.degree()], across(t));
            for k in 0..own.len() {
                for l in 0..=k {
                    out.add(
                        near.first * M + k,
                        near.first * M + l,
                        w * half * own[k] * own[l],
                    );
                }
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn solved(n: u32, lambda: f64) -> (Solved<1>, Vec<f64>) {
        let t: Vec<f64> = (0..n).map(|k| 500.0 * f64::from(k)).collect();
        let values = vec![[0.0]; t.len()];
        let basis = crate::fair::knots::basis(&t, true, [false; 2]).expect("a basis");
        let tolerances = vec![3.0; t.len()];
        let problem = Problem::new(
            basis,
            &t,
            &values,
            &tolerances,
            [None; 2],
            &third_derivative,
        );
        let solved = Solved {
            problem,
            lambda,
            factors: Vec::new(),
        };
        (solved, t)
    }

    #[test]
    fn at_full_smoothing_it_is_the_parabola_of_least_squares() {
        // Variance of a least-squares parabola through evenly spaced values, in
        // Legendre's polynomials over -m..m (Chebyshev 1864, the textbook result):
        // s^2 (1/n + k^2/S2 + (k^2 - S2/n)^2/Q), S2 = sum k^2, Q = sum (k^2 - S2/n)^2.
        let (solved, t) = solved(41, 1e23);
        let spread = solved.spread(1.7, false, |_| [1.0]).expect("solvable");
        let (n, m) = (41.0, 20.0);
        let ks: Vec<f64> = t.iter().map(|t| t / 500.0 - m).collect();
        let s2: f64 = ks.iter().map(|k| k * k).sum();
        let q: f64 = ks.iter().map(|k| (k * k - s2 / n) * (k * k - s2 / n)).sum();
        for (t, k) in t.iter().zip(&ks) {
            let off = k * k - s2 / n;
            let exact = 1.7 * 1.7 * (1.0 / n + k * k / s2 + off * off / q);
            let mine = spread.jet(*t, [1.0])[0];
            assert!((mine / exact - 1.0).abs() < 1e-3, "{mine} {exact}");
        }
    }

    #[test]
    fn an_interpolant_is_as_unsure_as_its_points() {
        let (solved, t) = solved(30, 0.0);
        let spread = solved.spread(1.2, true, |_| [1.0]).expect("solvable");
        for t in t {
            assert!((spread.jet(t, [1.0])[0].sqrt() - 1.2).abs() < 1e-6);
        }
    }

    #[test]
    fn the_sum_over_one_place_is_the_variance_there() {
        let (solved, _) = solved(25, 1e9);
        let spread = solved.spread(1.0, true, |_| [1.0]).expect("solvable");
        for t in [0.0, 333.0, 6100.0, 12_000.0] {
            let (a, b) = (spread.jet(t, [1.0])[0], spread.of_sum(&[(t, [1.0])]));
            assert!((a / b - 1.0).abs() < 1e-8, "{a} {b}");
        }
    }

    #[test]
    fn a_gain_is_what_solving_again_with_twice_the_weight_takes_off() {
        // With the error's variance in the proportion 1/3 to the tolerance
        // squared, doubling a sample's weight is halving its variance.
        let sigma = 3.0 / 3.0_f64.sqrt();
        let (first, t) = solved(25, 1e10);
        let before = first.spread(sigma, true, |_| [1.0]).expect("solvable");
        for i in [0, 3, 12] {
            let (mut again, _) = solved(25, 1e10);
            again.problem.samples[i].tolerance /= 2.0_f64.sqrt();
            // The doubled sample's error is smaller in the same proportion: the
            // covariance is the inverse over three.
            let weights = again.weights();
            let matrix = again.matrix(&weights, again.lambda);
            let none = Banded::zeros(matrix.size(), matrix.half_width());
            let inverse = sandwich(&matrix, &none).expect("solvable").inverse;
            let gram = gram(&again.problem.basis, &|_| [1.0]);
            let mut whole = 0.0;
            for r in 0..gram.size() {
                for c in r.saturating_sub(gram.half_width())..=r {
                    let twice = if r == c { 1.0 } else { 2.0 };
                    whole += twice * gram.get(r, c) * inverse.get(r, c) / 3.0;
                }
            }
            let drop = before.whole - whole;
            assert!((before.gains[i] / drop - 1.0).abs() < 1e-6, "{} {i}", t[i]);
        }
    }
}
