//! Symmetric positive definite banded systems: the factor of smoothing
//! splines and of strip flattening, where the unknowns couple only to their
//! near neighbours.

use super::trig;

/// A symmetric positive definite matrix that is zero further than
/// `half_width` from its diagonal; the lower band is stored row by row.
#[derive(Debug, Clone)]
pub struct Banded {
    size: usize,
    half_width: usize,
    /// Row i holds columns i - half_width ..= i.
    band: Vec<f64>,
}

/// The Cholesky factor of a [`Banded`] matrix.
#[derive(Debug, Clone)]
pub struct Factor {
    lower: Banded,
}

impl Banded {
    /// A zero matrix of `size` rows whose entries couple at most
    /// `half_width` apart.
    #[must_use]
    pub fn zeros(size: usize, half_width: usize) -> Self {
        Self {
            size,
            half_width,
            band: vec![0.0; size * (half_width + 1)],
        }
    }

    /// Number of rows.
    #[must_use]
    pub fn size(&self) -> usize {
        self.size
    }

    /// Largest |i - j| that is stored.
    #[must_use]
    pub fn half_width(&self) -> usize {
        self.half_width
    }

    fn slot(&self, i: usize, j: usize) -> usize {
        i * (self.half_width + 1) + self.half_width + j - i
    }

    /// Adds to entry (i, j) and its mirror. Only i >= j is stored: a caller
    /// that loops over both triangles must skip one of them.
    ///
    /// # Panics
    /// If i < j or i - j exceeds the half width: a programming error.
    pub fn add(&mut self, i: usize, j: usize, value: f64) {
        assert!(j <= i && i - j <= self.half_width, "entry outside the band");
        let s = self.slot(i, j);
        self.band[s] += value;
    }

    /// The stored part of row `i`: columns `i - half_width ..= i`, of which
    /// those left of column 0 must stay zero.
    #[must_use]
    pub fn row_mut(&mut self, i: usize) -> &mut [f64] {
        let stride = self.half_width + 1;
        &mut self.band[i * stride..(i + 1) * stride]
    }

    /// Entry (i, j) with i >= j; zero outside the band.
    #[must_use]
    pub fn get(&self, i: usize, j: usize) -> f64 {
        if j > i || i - j > self.half_width {
            return 0.0;
        }
        self.band[self.slot(i, j)]
    }

    /// Adds `factor` times another matrix of the same size and width.
    ///
    /// # Panics
    /// If the shapes differ: a programming error.
    pub fn add_scaled(&mut self, factor: f64, other: &Self) {
        assert!(
            self.size == other.size && self.half_width == other.half_width,
            "matrices of different shape"
        );
        for (a, b) in self.band.iter_mut().zip(&other.band) {
            *a += factor * b;
        }
    }

    /// The matrix times a vector, one value a row.
    #[must_use]
    pub fn times(&self, x: &[f64]) -> Vec<f64> {
        let mut out = vec![0.0; self.size];
        for i in 0..self.size {
            let first = i.saturating_sub(self.half_width);
            for j in first..i {
                let a = self.band[self.slot(i, j)];
                out[i] += a * x[j];
                out[j] += a * x[i];
            }
            out[i] += self.band[self.slot(i, i)] * x[i];
        }
        out
    }

    /// Largest entry of the diagonal; zero for an empty matrix.
    #[must_use]
    pub fn largest_diagonal(&self) -> f64 {
        (0..self.size).fold(0.0, |m: f64, i| m.max(self.get(i, i)))
    }

    /// Fixes unknown `k` of the system self * x = `rhs` at `value`, keeping
    /// the matrix symmetric; the pivot becomes 1, so that the determinant is
    /// that of the remaining unknowns.
    pub fn pin(&mut self, k: usize, value: f64, rhs: &mut [f64]) {
        let w = self.half_width;
        for i in k.saturating_sub(w)..(k + w + 1).min(self.size) {
            let (row, column) = (i.max(k), i.min(k));
            let s = self.slot(row, column);
            if i == k {
                self.band[s] = 1.0;
                rhs[k] = value;
            } else {
                rhs[i] -= self.band[s] * value;
                self.band[s] = 0.0;
            }
        }
    }

    /// Cholesky factor, or `None` where the matrix is not positive definite
    /// (a pivot not above zero, or not finite). Cost: size * half_width^2.
    #[must_use]
    pub fn factor(mut self) -> Option<Factor> {
        let (n, w) = (self.size, self.half_width);
        let stride = w + 1;
        let mut inverse = vec![0.0; n];
        for i in 0..n {
            let first = i.saturating_sub(w);
            // Rows above `i` are finished: split so that both can be seen.
            let (above, here) = self.band.split_at_mut(i * stride);
            let row_i = &mut here[..stride];
            for j in first..i {
                let from = first.max(j.saturating_sub(w));
                let (a, b) = (from + w - i, j + w - i);
                let row_j = &above[j * stride + from + w - j..j * stride + w];
                let rest = row_i[b] - dot(&row_i[a..b], row_j);
                row_i[b] = rest * inverse[j];
            }
            let done = &row_i[first + w - i..w];
            let rest = row_i[w] - dot(done, done);
            if !(rest > 0.0 && rest.is_finite()) {
                return None;
            }
            row_i[w] = rest.sqrt();
            inverse[i] = 1.0 / row_i[w];
        }
        Some(Factor { lower: self })
    }
}

/// Scalar product in eight fixed running sums: the order of additions never
/// depends on the machine, and none waits for the one before.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let (mut s, mut rest) = ([0.0; 8], 0.0);
    let (ca, cb) = (a.chunks_exact(8), b.chunks_exact(8));
    for (x, y) in ca.remainder().iter().zip(cb.remainder()) {
        rest += x * y;
    }
    for (x, y) in ca.zip(cb) {
        for k in 0..8 {
            s[k] += x[k] * y[k];
        }
    }
    let half = |k: usize| (s[k] + s[k + 1]) + (s[k + 2] + s[k + 3]);
    half(0) + half(4) + rest
}

impl Factor {
    /// Natural logarithm of the matrix's determinant.
    #[must_use]
    pub fn log_determinant(&self) -> f64 {
        (0..self.lower.size)
            .map(|i| 2.0 * trig::ln(self.lower.get(i, i)))
            .sum()
    }

    /// Solves in place: `rhs` (one value a row) becomes the solution.
    ///
    /// # Panics
    /// If `rhs` is not as long as the matrix: a programming error.
    pub fn solve(&self, rhs: &mut [f64]) {
        let l = &self.lower;
        let (n, w) = (l.size, l.half_width);
        assert_eq!(rhs.len(), n, "right-hand side of another size");
        for i in 0..n {
            let first = i.saturating_sub(w);
            let row = &l.band[l.slot(i, first)..l.slot(i, i)];
            rhs[i] = (rhs[i] - dot(row, &rhs[first..i])) / l.band[l.slot(i, i)];
        }
        for i in (0..n).rev() {
            rhs[i] /= l.band[l.slot(i, i)];
            let x = rhs[i];
            let first = i.saturating_sub(w);
            let row = &l.band[l.slot(i, first)..l.slot(i, i)];
            for (r, a) in rhs[first..i].iter_mut().zip(row) {
                *r -= a * x;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn second_difference_matrix_matches_its_closed_form_inverse() {
        // The matrix tridiag(-1, 2, -1) of size n has the inverse
        // (i+1)(n-j)/(n+1) for i <= j (textbook result).
        let n = 12;
        let mut m = Banded::zeros(n, 1);
        for i in 0..n {
            m.add(i, i, 2.0);
            if i > 0 {
                m.add(i, i - 1, -1.0);
            }
        }
        let ramp: Vec<f64> = (0..n).map(|i| i as f64).collect();
        let mut by_hand = vec![0.0; n];
        by_hand[0] = -1.0;
        by_hand[n - 1] = n as f64;
        assert_eq!(m.times(&ramp), by_hand);
        let f = m.factor().expect("positive definite");
        for col in 0..n {
            let mut rhs = vec![0.0; n];
            rhs[col] = 1.0;
            f.solve(&mut rhs);
            for (row, x) in rhs.iter().enumerate() {
                let (i, j) = (row.min(col), row.max(col));
                let exact = ((i + 1) * (n - j)) as f64 / (n + 1) as f64;
                assert!((x - exact).abs() < 1e-13);
            }
        }
    }

    #[test]
    fn a_pinned_unknown_keeps_its_value_and_the_rest_follow() {
        // tridiag(-1, 2, -1) x = 0 with x_0 = 1 and x_4 = 3 pinned is the
        // straight line between them; the inner 3 x 3 determinant is 4.
        let mut m = Banded::zeros(5, 1);
        for i in 0..5 {
            m.add(i, i, 2.0);
            if i > 0 {
                m.add(i, i - 1, -1.0);
            }
        }
        let mut rhs = vec![0.0; 5];
        m.pin(0, 1.0, &mut rhs);
        m.pin(4, 3.0, &mut rhs);
        let f = m.factor().expect("positive definite");
        assert!((f.log_determinant() - trig::ln(4.0)).abs() < 1e-14);
        f.solve(&mut rhs);
        for (x, exact) in rhs.iter().zip([1.0, 1.5, 2.0, 2.5, 3.0]) {
            assert!((x - exact).abs() < 1e-14);
        }
    }

    #[test]
    fn an_indefinite_matrix_has_no_factor() {
        let mut m = Banded::zeros(2, 1);
        m.add(0, 0, 1.0);
        m.add(1, 1, 1.0);
        m.add(1, 0, 2.0);
        assert!(m.factor().is_none());
    }
}
