//! B-splines: a basis over a knot vector, and curves of one or more
//! components over it (Piegl & Tiller, The NURBS Book, 2nd ed., chapter 2).

/// Highest degree a basis may have: the stack arrays of its evaluation are
/// that long, so that no inner loop touches the heap.
pub const MAX_DEGREE: usize = 7;
/// Length of the arrays of [`Near`].
pub const ORDER: usize = MAX_DEGREE + 1;

/// A B-spline basis: knots with full multiplicity at both ends.
#[derive(Debug, Clone, PartialEq)]
pub struct Basis {
    degree: usize,
    knots: Vec<f64>,
    /// Spans in a unit of the parameter, were they even.
    density: f64,
    /// The functions as polynomials from the start of each span: for each, the
    /// coefficients of power 0 of all functions, of power 1, to the degree.
    powers: Vec<[f64; ORDER]>,
}

/// Values and derivatives of the basis functions that are not zero at a
/// place, without touching the heap.
#[derive(Debug, Clone, Copy)]
pub struct Near<const D: usize> {
    /// Index of the first non-zero basis function.
    pub first: usize,
    /// `ders[d][k]`: derivative d of function `first + k`; zero beyond the degree.
    pub ders: [[f64; ORDER]; D],
}

impl Basis {
    /// A clamped basis of `degree` on the strictly increasing `breaks`
    /// (at least two, both ends included).
    ///
    /// # Panics
    /// If the degree exceeds [`MAX_DEGREE`]: a programming error.
    #[must_use]
    pub fn clamped(degree: usize, breaks: &[f64]) -> Self {
        Self::with_repeats(degree, breaks, |_| 1)
    }

    /// As [`Basis::clamped`], with inner break `k` repeated `repeats(k)`
    /// times (1 to `degree`): the spline is then `degree - repeats` times
    /// continuously differentiable there.
    ///
    /// # Panics
    /// If the degree exceeds [`MAX_DEGREE`]: a programming error.
    #[must_use]
    pub fn with_repeats(degree: usize, breaks: &[f64], repeats: impl Fn(usize) -> usize) -> Self {
        assert!(degree <= MAX_DEGREE, "degree above {MAX_DEGREE}");
        let last = breaks.len() - 1;
        let mut knots = vec![breaks[0]; degree + 1];
        for (k, &b) in breaks.iter().enumerate().take(last).skip(1) {
            knots.extend(std::iter::repeat_n(b, repeats(k).clamp(1, degree.max(1))));
        }
        knots.extend(std::iter::repeat_n(breaks[last], degree + 1));
        Self::on(degree, knots)
    }

    /// The basis of a degree on its knots.
    fn on(degree: usize, knots: Vec<f64>) -> Self {
        let spans = knots.len() - 2 * degree - 1;
        let mut out = Self {
            degree,
            density: spans as f64 / (knots[degree + spans] - knots[degree]),
            knots,
            powers: Vec::with_capacity(spans * (degree + 1)),
        };
        for i in degree..degree + spans {
            let start = out.knots[i];
            let empty = out.knots[i + 1] <= start;
            // Between two knots at one place nothing is ever looked for.
            let mut rows = if empty {
                [[0.0; ORDER]; ORDER]
            } else {
                out.ders(start, i)
            };
            let mut factorial = 1.0;
            for (k, row) in rows.iter_mut().enumerate().skip(2).take(degree) {
                factorial *= k as f64;
                for value in row {
                    *value /= factorial;
                }
            }
            out.powers.extend(&rows[..=degree]);
        }
        out
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

    /// The knots from end to end, each end once; inner ones as often as they
    /// are repeated.
    #[must_use]
    pub fn breaks(&self) -> &[f64] {
        &self.knots[self.degree..self.knots.len() - self.degree]
    }

    /// Index of the knot span that holds `t`; places outside the range use
    /// the end pieces, so the curve is continued as a polynomial.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a cast that saturates is the guess that is wanted"
    )]
    fn span(&self, t: f64) -> usize {
        let first = self.degree;
        let last = self.knots.len() - first - 2;
        // Most knots are near evenly spaced: a guess and a step or two.
        let guess = (t - self.knots[first]) * self.density;
        let mut i = first.saturating_add(guess as usize).min(last);
        for _ in 0..4 {
            if self.knots[i] <= t {
                if i == last || t < self.knots[i + 1] {
                    return i;
                }
                i += 1;
            } else {
                if i == first {
                    return i;
                }
                i -= 1;
            }
        }
        let upper = self.knots[..=last].partition_point(|&k| k <= t);
        upper.saturating_sub(1).clamp(first, last)
    }

    /// The same basis with its parameter counted from another zero: every
    /// knot moved up by `by`.
    #[must_use]
    pub fn shifted(&self, by: f64) -> Self {
        Self::on(self.degree, self.knots.iter().map(|k| k + by).collect())
    }

    /// The same basis run the other way: every knot k at `sum - k`.
    #[must_use]
    pub fn reflected(&self, sum: f64) -> Self {
        let knots = self.knots.iter().rev().map(|k| sum - k).collect();
        Self::on(self.degree, knots)
    }

    /// Values and the first D - 1 derivatives at `t`, without touching the
    /// heap.
    #[must_use]
    pub fn near<const D: usize>(&self, t: f64) -> Near<D> {
        let i = self.span(t);
        // The degree as a constant lets the compiler unroll the loops.
        let ders = match self.degree {
            1 => self.horner::<1, D>(t, i),
            2 => self.horner::<2, D>(t, i),
            3 => self.horner::<3, D>(t, i),
            4 => self.horner::<4, D>(t, i),
            5 => self.horner::<5, D>(t, i),
            6 => self.horner::<6, D>(t, i),
            MAX_DEGREE => self.horner::<MAX_DEGREE, D>(t, i),
            _ => self.horner::<0, D>(t, i),
        };
        Near {
            first: i - self.degree,
            ders,
        }
    }

    /// Values and derivatives over span `i` by Horner's scheme, all functions
    /// side by side: a third of the time of the recurrences.
    fn horner<const P: usize, const D: usize>(&self, t: f64, i: usize) -> [[f64; ORDER]; D] {
        let x = t - self.knots[i];
        let rows = &self.powers[(i - P) * (P + 1)..(i - P + 1) * (P + 1)];
        let mut ders = [[0.0; ORDER]; D];
        for row in rows.iter().rev() {
            for d in (1..D).rev() {
                let lower = ders[d - 1];
                for (value, lower) in ders[d].iter_mut().zip(lower) {
                    *value = *value * x + lower;
                }
            }
            for (value, c) in ders[0].iter_mut().zip(row) {
                *value = *value * x + c;
            }
        }
        // The scheme gives the derivative of order d over d factorial.
        let mut factorial = 1.0;
        for (d, row) in ders.iter_mut().enumerate().skip(2) {
            factorial *= d as f64;
            for value in row {
                *value *= factorial;
            }
        }
        ders
    }

    /// Value and all derivatives of the functions over span `i` at `t`:
    /// values of every degree by the recurrence of Cox and de Boor (The NURBS
    /// Book, A2.2), and each derivative by differences of the functions of
    /// lower degree (equation 2.9 there, applied once an order).
    fn ders(&self, t: f64, i: usize) -> [[f64; ORDER]; ORDER] {
        let p = self.degree;
        let u = &self.knots[i + 1 - p..=i + p];
        let mut ders = [[0.0; ORDER]; ORDER];
        // inverse[q][r]: one over the length of the knots that functions r
        // and r + 1 of degree q share.
        let mut inverse = [[0.0; ORDER]; ORDER];
        let mut values = [0.0; ORDER];
        values[0] = 1.0;
        ders[p] = values;
        for q in 1..=p {
            let mut saved = 0.0;
            for r in 0..q {
                let (left, right) = (t - u[p + r - q], u[p + r] - t);
                inverse[q][r] = 1.0 / (right + left);
                let part = values[r] * inverse[q][r];
                values[r] = saved + right * part;
                saved = left * part;
            }
            values[q] = saved;
            // The derivative of order k begins with the values of degree p - k.
            ders[p - q] = values;
        }
        for (k, row) in ders.iter_mut().enumerate().take(p + 1) {
            for q in p - k + 1..=p {
                let mut before = 0.0;
                for r in 0..q {
                    let here = row[r] * inverse[q][r];
                    row[r] = q as f64 * (before - here);
                    before = here;
                }
                row[q] = q as f64 * before;
            }
        }
        ders
    }

    /// Greville abscissa of function `k`: the mean of its inner knots, where
    /// it is felt most.
    #[must_use]
    pub fn greville(&self, k: usize) -> f64 {
        let p = self.degree;
        self.knots[k + 1..=k + p].iter().sum::<f64>() / p as f64
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
        let local = self.basis.near::<D>(t);
        let control = &self.coefficients[local.first..=local.first + self.basis.degree];
        let mut out = [[0.0; N]; D];
        for (o, row) in out.iter_mut().zip(&local.ders) {
            for (b, c) in row.iter().zip(control) {
                for (x, y) in o.iter_mut().zip(c) {
                    *x += b * y;
                }
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
            let l = b.near::<4>(t);
            assert!((l.ders[0].iter().sum::<f64>() - 1.0).abs() < 1e-12);
            for d in 1..=3 {
                assert!(l.ders[d].iter().sum::<f64>().abs() < 1e-9);
            }
        }
    }

    /// A search that runs away asks for places like these.
    #[test]
    fn any_place_has_its_end_piece() {
        let b = Basis::clamped(5, &[0.0, 1.0, 2.5, 3.0, 7.0]);
        let last = b.len() - 6;
        for (t, first) in [(-1e300, 0), (1e300, last), (f64::MAX, last), (f64::MIN, 0)] {
            assert_eq!(b.near::<1>(t).first, first, "{t}");
        }
    }

    #[test]
    fn a_repeated_break_lets_only_higher_derivatives_jump() {
        let b = Basis::with_repeats(5, &[0.0, 1.0, 2.0], |_| 3);
        assert_eq!(b.len(), 9);
        let coefficients = (0..9).map(|i| [(i * 5 % 7) as f64]).collect();
        let s = Spline::<1> {
            basis: b,
            coefficients,
        };
        let (lo, hi) = (s.jet::<4>(1.0 - 1e-12), s.jet::<4>(1.0));
        for d in 0..3 {
            assert!((lo[d][0] - hi[d][0]).abs() < 1e-6, "derivative {d}");
        }
        assert!((lo[3][0] - hi[3][0]).abs() > 1.0);
    }

    #[test]
    fn greville_places_reproduce_a_straight_line() {
        let b = Basis::clamped(5, &[0.0, 1.0, 2.5, 3.0, 7.0]);
        let coefficients = (0..b.len()).map(|k| [2.0 * b.greville(k) - 1.0]).collect();
        let s = Spline::<1> {
            basis: b,
            coefficients,
        };
        for t in [0.0, 0.7, 2.6, 6.9] {
            assert!((s.at(t)[0] - (2.0 * t - 1.0)).abs() < 1e-12);
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
