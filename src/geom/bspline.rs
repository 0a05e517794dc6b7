//! B-splines: a basis over a knot vector, and curves of one or more
//! components over it (Piegl & Tiller, The NURBS Book, 2nd ed., A2.1-A2.3).

/// A B-spline basis: knots with full multiplicity at both ends.
#[derive(Debug, Clone, PartialEq)]
pub struct Basis {
    degree: usize,
    knots: Vec<f64>,
}

/// Most functions of a quintic basis that are not zero at one place.
pub const ORDER: usize = 6;

/// Values and derivatives of the basis functions that are not zero at a
/// place, without allocation, for bases up to the fifth degree.
#[derive(Debug, Clone, Copy)]
pub struct Near<const D: usize> {
    /// Index of the first non-zero basis function.
    pub first: usize,
    /// `ders[d][k]`: derivative d of function `first + k`; zero beyond the degree.
    pub ders: [[f64; ORDER]; D],
}

/// Values and derivatives of the basis functions that are not zero at a place.
#[derive(Debug, Clone)]
pub struct Local {
    /// Index of the first non-zero basis function.
    pub first: usize,
    /// `ders[d][k]`: derivative d of function `first + k`.
    pub ders: Vec<Vec<f64>>,
}

impl Basis {
    /// A clamped basis of `degree` on the strictly increasing `breaks`
    /// (at least two, both ends included).
    #[must_use]
    pub fn clamped(degree: usize, breaks: &[f64]) -> Self {
        let (a, b) = (breaks[0], breaks[breaks.len() - 1]);
        let mut knots = vec![a; degree];
        knots.extend_from_slice(breaks);
        knots.extend(std::iter::repeat_n(b, degree));
        Self { degree, knots }
    }

    /// Number of basis functions.
    #[must_use]
    pub fn len(&self) -> usize {
        self.knots.len() - self.degree - 1
    }

    /// True where there is no basis function.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Polynomial degree of each piece.
    #[must_use]
    pub fn degree(&self) -> usize {
        self.degree
    }

    /// First and last parameter.
    #[must_use]
    pub fn range(&self) -> (f64, f64) {
        (
            self.knots[self.degree],
            self.knots[self.knots.len() - 1 - self.degree],
        )
    }

    /// The distinct knots, ends included.
    #[must_use]
    pub fn breaks(&self) -> &[f64] {
        &self.knots[self.degree..self.knots.len() - self.degree]
    }

    /// Index of the knot span that holds `t`; places outside the range use
    /// the end pieces, so the curve is continued as a polynomial.
    fn span(&self, t: f64) -> usize {
        let last = self.knots.len() - self.degree - 2;
        let upper = self.knots[..=last].partition_point(|&k| k <= t);
        upper.saturating_sub(1).clamp(self.degree, last)
    }

    /// The same basis with its parameter counted from another zero: every
    /// knot moved up by `by`.
    #[must_use]
    pub fn shifted(&self, by: f64) -> Self {
        Self {
            degree: self.degree,
            knots: self.knots.iter().map(|k| k + by).collect(),
        }
    }

    /// Values and derivatives 1..D-1 at `t`, for a degree of five or less.
    ///
    /// # Panics
    /// If the degree is above five: a programming error; use [`Basis::local`].
    #[must_use]
    pub fn near<const D: usize>(&self, t: f64) -> Near<D> {
        let p = self.degree;
        assert!(p < ORDER, "basis of too high a degree");
        let i = self.span(t);
        let u = &self.knots;
        // Row j of `ndu` above the diagonal: values of degree j; below: knot differences.
        let mut ndu = [[0.0; ORDER]; ORDER];
        let (mut left, mut right) = ([0.0; ORDER], [0.0; ORDER]);
        ndu[0][0] = 1.0;
        for j in 1..=p {
            left[j] = t - u[i + 1 - j];
            right[j] = u[i + j] - t;
            let mut saved = 0.0;
            for r in 0..j {
                ndu[j][r] = right[r + 1] + left[j - r];
                let temp = ndu[r][j - 1] / ndu[j][r];
                ndu[r][j] = saved + right[r + 1] * temp;
                saved = left[j - r] * temp;
            }
            ndu[j][j] = saved;
        }
        let mut ders = [[0.0; ORDER]; D];
        let mut factor = 1.0;
        for (k, row) in ders.iter_mut().enumerate().take(p + 1) {
            // Derivative k of the degree p functions from the degree p - k
            // values: k times differenced, each time over the knot distance.
            let mut value = [0.0; ORDER];
            for (r, v) in value.iter_mut().enumerate().take(p - k + 1) {
                *v = ndu[r][p - k];
            }
            for (degree, distances) in ndu.iter().enumerate().take(p + 1).skip(p - k + 1) {
                let mut raised = [0.0; ORDER];
                for r in 0..degree {
                    let share = value[r] / distances[r];
                    raised[r] -= share;
                    raised[r + 1] += share;
                }
                value = raised;
            }
            if k > 0 {
                factor *= (p + 1 - k) as f64;
            }
            for (d, v) in row.iter_mut().zip(&value) {
                *d = factor * v;
            }
        }
        Near { first: i - p, ders }
    }

    /// Values and the first `count` derivatives at `t`.
    #[must_use]
    pub fn local(&self, t: f64, count: usize) -> Local {
        let p = self.degree;
        let i = self.span(t);
        let u = &self.knots;
        let mut ndu = vec![vec![0.0; p + 1]; p + 1];
        let (mut left, mut right) = (vec![0.0; p + 1], vec![0.0; p + 1]);
        ndu[0][0] = 1.0;
        for j in 1..=p {
            left[j] = t - u[i + 1 - j];
            right[j] = u[i + j] - t;
            let mut saved = 0.0;
            for r in 0..j {
                ndu[j][r] = right[r + 1] + left[j - r];
                let temp = ndu[r][j - 1] / ndu[j][r];
                ndu[r][j] = saved + right[r + 1] * temp;
                saved = left[j - r] * temp;
            }
            ndu[j][j] = saved;
        }
        let mut ders = vec![vec![0.0; p + 1]; count + 1];
        for (j, d) in ders[0].iter_mut().enumerate() {
            *d = ndu[j][p];
        }
        for r in 0..=p {
            let mut a = vec![vec![0.0; p + 1]; 2];
            a[0][0] = 1.0;
            let (mut s1, mut s2) = (0, 1);
            for k in 1..=count.min(p) {
                let mut d = 0.0;
                let pk = p - k;
                if r >= k {
                    a[s2][0] = a[s1][0] / ndu[pk + 1][r - k];
                    d = a[s2][0] * ndu[r - k][pk];
                }
                let j1 = if r + 1 >= k { 1 } else { k - r };
                let j2 = if r <= pk + 1 { k - 1 } else { p - r };
                for j in j1..=j2 {
                    a[s2][j] = (a[s1][j] - a[s1][j - 1]) / ndu[pk + 1][r + j - k];
                    d += a[s2][j] * ndu[r + j - k][pk];
                }
                if r <= pk {
                    a[s2][k] = -a[s1][k - 1] / ndu[pk + 1][r];
                    d += a[s2][k] * ndu[r][pk];
                }
                ders[k][r] = d;
                std::mem::swap(&mut s1, &mut s2);
            }
        }
        let mut factor = 1.0;
        for (k, row) in ders.iter_mut().enumerate().take(p + 1).skip(1) {
            factor *= (p + 1 - k) as f64;
            for d in row {
                *d *= factor;
            }
        }
        Local { first: i - p, ders }
    }
}

/// A spline curve of N components.
#[derive(Debug, Clone, PartialEq)]
pub struct Spline<const N: usize> {
    /// The basis.
    pub basis: Basis,
    /// One coefficient a basis function.
    pub coefficients: Vec<[f64; N]>,
}

impl<const N: usize> Spline<N> {
    /// Value and derivatives 1..D-1 at `t`; outside the range the end
    /// polynomials are continued.
    #[must_use]
    pub fn jet<const D: usize>(&self, t: f64) -> [[f64; N]; D] {
        let mut out = [[0.0; N]; D];
        let gather = |o: &mut [f64; N], first: usize, row: &[f64]| {
            for (b, c) in row.iter().zip(&self.coefficients[first..]) {
                for (x, y) in o.iter_mut().zip(c) {
                    *x += b * y;
                }
            }
        };
        if self.basis.degree < ORDER {
            let near = self.basis.near::<D>(t);
            for (o, row) in out.iter_mut().zip(&near.ders) {
                gather(o, near.first, &row[..=self.basis.degree]);
            }
        } else {
            let local = self.basis.local(t, D - 1);
            for (o, row) in out.iter_mut().zip(&local.ders) {
                gather(o, local.first, row);
            }
        }
        out
    }

    /// Value at `t`.
    #[must_use]
    pub fn at(&self, t: f64) -> [f64; N] {
        self.jet::<1>(t)[0]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_basis_sums_to_one_and_its_derivatives_to_zero() {
        let b = Basis::clamped(5, &[0.0, 1.0, 2.5, 3.0, 7.0]);
        for t in [-0.2, 0.0, 0.3, 1.0, 2.9, 6.9, 7.0, 7.4] {
            let l = b.local(t, 3);
            assert!((l.ders[0].iter().sum::<f64>() - 1.0).abs() < 1e-12);
            for d in 1..=3 {
                assert!(l.ders[d].iter().sum::<f64>().abs() < 1e-9);
            }
        }
    }

    #[test]
    fn the_quick_evaluation_agrees_with_the_general_one() {
        for degree in 1..=5 {
            let b = Basis::clamped(degree, &[0.0, 1.0, 2.5, 3.0, 7.0]).shifted(3.0);
            for t in [2.8, 3.0, 3.7, 5.5, 9.9, 10.0, 10.3] {
                let (l, n) = (b.local(t, 3), b.near::<4>(t));
                assert_eq!(l.first, n.first);
                for d in 0..4 {
                    for k in 0..=degree {
                        assert!((l.ders[d][k] - n.ders[d][k]).abs() < 1e-9);
                    }
                }
            }
        }
    }

    #[test]
    fn derivatives_agree_with_finite_differences() {
        let basis = Basis::clamped(5, &[0.0, 1.0, 2.0, 4.0]);
        let coefficients = (0..basis.len())
            .map(|i| [(i * i % 7) as f64, 3.0 - i as f64])
            .collect();
        let s = Spline::<2> {
            basis,
            coefficients,
        };
        let h = 1e-5;
        for t in [0.4, 1.7, 3.3] {
            let j = s.jet::<4>(t);
            for d in 0..3 {
                let (lo, hi) = (s.jet::<3>(t - h)[d], s.jet::<3>(t + h)[d]);
                for c in 0..2 {
                    assert!(((hi[c] - lo[c]) / (2.0 * h) - j[d + 1][c]).abs() < 1e-5);
                }
            }
        }
    }
}
