//! The band of a banded matrix's inverse, without the rest of it: variances
//! of a smoothing spline need only how near neighbours vary together.
//!
//! From A = L D L^T the inverse Z obeys, for j >= i,
//! Z_ij = (i == j) / d_i - sum over k > i of L_ki Z_kj,
//! and inside the band it calls on nothing outside (Takahashi, Fagan & Chin
//! 1973; for smoothing splines Hutchinson & de Hoog, Numerische Mathematik 47,
//! 1985; both from memory). Cost: size times half width squared.

use super::banded::Banded;

/// Bands that belong to a matrix A and another M of the same shape.
#[derive(Debug, Clone)]
pub struct Sandwich {
    /// The band of A^-1.
    pub inverse: Banded,
    /// The band of A^-1 M A^-1.
    pub between: Banded,
}

/// A number and its derivative: A + e M is inverted with e infinitely small,
/// and the derivative of the inverse by e is - A^-1 M A^-1.
#[derive(Debug, Clone, Copy, Default)]
struct Dual {
    value: f64,
    slope: f64,
}

impl Dual {
    fn times(self, o: Self) -> Self {
        Self {
            value: self.value * o.value,
            slope: self.slope * o.value + self.value * o.slope,
        }
    }

    /// Less the product of two others.
    fn less(self, a: Self, b: Self) -> Self {
        let product = a.times(b);
        Self {
            value: self.value - product.value,
            slope: self.slope - product.slope,
        }
    }

    fn inverse(self) -> Self {
        let value = 1.0 / self.value;
        Self {
            value,
            slope: -self.slope * value * value,
        }
    }
}

/// Lower band, row i holding columns i - width ..= i.
struct Band {
    width: usize,
    cells: Vec<Dual>,
}

impl Band {
    fn zeros(size: usize, width: usize) -> Self {
        let cells = vec![Dual::default(); size * (width + 1)];
        Self { width, cells }
    }
    fn slot(&self, i: usize, j: usize) -> usize {
        i * (self.width + 1) + self.width + j - i
    }
    fn get(&self, i: usize, j: usize) -> Dual {
        self.cells[self.slot(i.max(j), i.min(j))]
    }
    fn set(&mut self, i: usize, j: usize, v: Dual) {
        let s = self.slot(i.max(j), i.min(j));
        self.cells[s] = v;
    }
}

/// Bands of A^-1 and A^-1 M A^-1. `None` where A is not positive definite, or
/// the shapes differ.
#[must_use]
pub fn sandwich(a: &Banded, m: &Banded) -> Option<Sandwich> {
    let (n, w) = (a.size(), a.half_width());
    if m.size() != n || m.half_width() != w {
        return None;
    }
    let mut l = Band::zeros(n, w);
    for i in 0..n {
        for j in i.saturating_sub(w)..=i {
            let (value, slope) = (a.get(i, j), m.get(i, j));
            l.set(i, j, Dual { value, slope });
        }
    }
    let turned = factor(&mut l, n)?;
    let mut z = Band::zeros(n, w);
    for i in (0..n).rev() {
        let last = (i + w).min(n - 1);
        for j in (i..=last).rev() {
            let mut sum = if i == j { turned[i] } else { Dual::default() };
            for k in i + 1..=last {
                sum = sum.less(l.get(k, i), z.get(k, j));
            }
            z.set(j, i, sum);
        }
    }
    let mut out = Sandwich {
        inverse: Banded::zeros(n, w),
        between: Banded::zeros(n, w),
    };
    for i in 0..n {
        for j in i.saturating_sub(w)..=i {
            let d = z.get(i, j);
            out.inverse.add(i, j, d.value);
            out.between.add(i, j, -d.slope);
        }
    }
    Some(out)
}

/// Turns `l` into the unit lower factor (its diagonal is left unused) and
/// returns one over the pivots.
fn factor(l: &mut Band, n: usize) -> Option<Vec<Dual>> {
    let w = l.width;
    let mut turned: Vec<Dual> = Vec::with_capacity(n);
    for i in 0..n {
        let first = i.saturating_sub(w);
        for j in first..i {
            // Times its pivot until the row is done.
            let mut sum = l.get(i, j);
            for k in first.max(j.saturating_sub(w))..j {
                sum = sum.less(l.get(i, k), l.get(j, k));
            }
            l.set(i, j, sum);
        }
        let mut pivot = l.get(i, i);
        for (j, over) in turned.iter().enumerate().skip(first) {
            let scaled = l.get(i, j);
            let unit = scaled.times(*over);
            pivot = pivot.less(scaled, unit);
            l.set(i, j, unit);
        }
        if !(pivot.value > 0.0 && pivot.value.is_finite()) {
            return None;
        }
        turned.push(pivot.inverse());
    }
    Some(turned)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_band_of_the_second_difference_inverse_is_its_closed_form() {
        // tridiag(-1, 2, -1) of size n has the inverse (i+1)(n-j)/(n+1), i <= j
        // (textbook result). A^-1 I A^-1 is its square.
        let n = 14;
        let (mut a, mut m) = (Banded::zeros(n, 3), Banded::zeros(n, 3));
        for i in 0..n {
            a.add(i, i, 2.0);
            m.add(i, i, 1.0);
            if i > 0 {
                a.add(i, i - 1, -1.0);
            }
        }
        let s = sandwich(&a, &m).expect("positive definite");
        let exact = |i: usize, j: usize| {
            let (i, j) = (i.min(j), i.max(j));
            ((i + 1) * (n - j)) as f64 / (n + 1) as f64
        };
        for i in 0..n {
            for j in i.saturating_sub(3)..=i {
                let squared: f64 = (0..n).map(|k| exact(i, k) * exact(k, j)).sum();
                assert!((s.inverse.get(i, j) - exact(i, j)).abs() < 1e-12);
                assert!((s.between.get(i, j) - squared).abs() < 1e-10);
            }
        }
    }

    #[test]
    fn it_agrees_with_solving_for_every_column() {
        let (n, w) = (23, 5);
        let (mut a, mut m) = (Banded::zeros(n, w), Banded::zeros(n, w));
        for i in 0..n {
            for j in i.saturating_sub(w)..=i {
                let v = ((i * 7 + j * 3) % 11) as f64 / 11.0 - 0.4;
                a.add(i, j, if i == j { 9.0 + v } else { v });
                m.add(i, j, ((i * 5 + j) % 7) as f64);
            }
        }
        let s = sandwich(&a, &m).expect("positive definite");
        let factor = a.clone().factor().expect("positive definite");
        let column = |k: usize| {
            let mut x = vec![0.0; n];
            x[k] = 1.0;
            factor.solve(&mut x);
            x
        };
        for i in 0..n {
            let x = column(i);
            let mx = m.times(&x);
            for (j, inverse) in x.iter().enumerate().take(i + 1) {
                if i - j > w {
                    continue;
                }
                let y = column(j);
                let between: f64 = mx.iter().zip(&y).map(|(a, b)| a * b).sum();
                assert!((s.inverse.get(i, j) - inverse).abs() < 1e-14);
                assert!((s.between.get(i, j) - between).abs() < 1e-13);
            }
        }
    }

    #[test]
    fn an_indefinite_matrix_or_another_shape_has_none() {
        let mut a = Banded::zeros(2, 1);
        a.add(0, 0, 1.0);
        a.add(1, 1, 1.0);
        a.add(1, 0, 2.0);
        assert!(sandwich(&a, &Banded::zeros(2, 1)).is_none());
        assert!(sandwich(&a, &Banded::zeros(3, 1)).is_none());
    }
}
