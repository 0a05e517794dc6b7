//! Least-squares splines.

use super::banded::Banded;
use super::bspline::{Basis, Near, Spline};

/// Rounds of refinement. Each gains as many figures as the squared condition
/// leaves, ten or more on even spacing; five serve uneven ones.
const ROUNDS: usize = 5;

impl<const N: usize> Spline<N> {
    /// The spline of `basis` nearest to `values` at `params`, in the least
    /// squares sense; an interpolant where there are as many values as basis
    /// functions, suitably placed (Schoenberg & Whitney 1953). `None` where
    /// the values do not determine it or are not finite.
    ///
    /// Normal equations, solved with refinement. The ridge of 1e-13 of the
    /// diagonal only keeps the factor from failing; the refinement takes its
    /// effect out again (iterated ridge regression).
    #[must_use]
    pub fn fit(basis: Basis, params: &[f64], values: &[[f64; N]]) -> Option<Self> {
        if params.len() < basis.len() {
            return None;
        }
        let rows: Vec<Near<1>> = params.iter().map(|&t| basis.near(t)).collect();
        let mut matrix = Banded::zeros(basis.len(), basis.degree());
        for row in &rows {
            for k in 0..=basis.degree() {
                for l in 0..=k {
                    matrix.add(
                        row.first + k,
                        row.first + l,
                        row.ders[0][k] * row.ders[0][l],
                    );
                }
            }
        }
        let ridge = 1e-13 * matrix.largest_diagonal();
        for i in 0..basis.len() {
            matrix.add(i, i, ridge);
        }
        let factor = matrix.factor()?;
        let mut coefficients = vec![[0.0; N]; basis.len()];
        let mut rest = values.to_vec();
        for _ in 0..ROUNDS {
            for m in 0..N {
                let mut rhs = vec![0.0; basis.len()];
                for (row, r) in rows.iter().zip(&rest) {
                    for k in 0..=basis.degree() {
                        rhs[row.first + k] += row.ders[0][k] * r[m];
                    }
                }
                factor.solve(&mut rhs);
                for (c, d) in coefficients.iter_mut().zip(&rhs) {
                    c[m] += d;
                }
            }
            for ((row, r), v) in rows.iter().zip(&mut rest).zip(values) {
                for m in 0..N {
                    let at: f64 = (0..=basis.degree())
                        .map(|k| row.ders[0][k] * coefficients[row.first + k][m])
                        .sum();
                    r[m] = v[m] - at;
                }
            }
        }
        let finite = coefficients.iter().flatten().all(|c| c.is_finite());
        finite.then_some(Self {
            basis,
            coefficients,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quintic_polynomial_comes_back_exactly() {
        let f = |t: f64| 3.0 - t + 0.5 * t * t * t - 0.01 * t * t * t * t * t;
        let basis = Basis::clamped(5, &[0.0, 1.0, 3.0, 4.0]);
        let params: Vec<f64> = (0..=40).map(|k| f64::from(k) / 10.0).collect();
        let values: Vec<[f64; 1]> = params.iter().map(|&t| [f(t)]).collect();
        let s = Spline::fit(basis, &params, &values).expect("determined");
        for k in 0..=80 {
            let t = f64::from(k) / 20.0;
            assert!((s.at(t)[0] - f(t)).abs() < 1e-9);
        }
    }

    #[test]
    fn too_few_values_give_none() {
        let basis = Basis::clamped(5, &[0.0, 1.0, 2.0]);
        assert!(Spline::fit(basis, &[0.0, 1.0], &[[0.0], [1.0]]).is_none());
    }
}
