//! Least-squares splines.

use super::banded::Banded;
use super::bspline::{Basis, Spline};

impl<const N: usize> Spline<N> {
    /// The spline of `basis` nearest to `values` at `params`, in the least
    /// squares sense; an interpolant where there are as many values as basis
    /// functions, suitably placed (Schoenberg & Whitney 1953). `None` where
    /// the values do not determine it or are not finite.
    ///
    /// Normal equations: they square the condition number, which for the
    /// well-spaced values this is used on stays below 1e6.
    #[must_use]
    pub fn fit(basis: Basis, params: &[f64], values: &[[f64; N]]) -> Option<Self> {
        let (n, degree) = (basis.len(), basis.degree());
        let mut matrix = Banded::zeros(n, degree);
        let mut rhs = vec![vec![0.0; n]; N];
        for (&t, value) in params.iter().zip(values) {
            let local = basis.local(t, 0);
            for (i, a) in local.ders[0].iter().enumerate() {
                for (j, b) in local.ders[0].iter().enumerate().take(i + 1) {
                    matrix.add(local.first + i, local.first + j, a * b);
                }
                for (component, v) in rhs.iter_mut().zip(value) {
                    component[local.first + i] += a * v;
                }
            }
        }
        let factor = matrix.factor()?;
        for component in &mut rhs {
            factor.solve(component);
        }
        let coefficients: Vec<[f64; N]> =
            (0..n).map(|i| std::array::from_fn(|c| rhs[c][i])).collect();
        coefficients
            .iter()
            .flatten()
            .all(|c| c.is_finite())
            .then_some(Self {
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
