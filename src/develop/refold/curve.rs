//! Interpolation of a schedule's columns.

/// Cubic spline of N components through given values, with the not-a-knot
/// end condition (de Boor, A Practical Guide to Splines, chapter IV): the
/// usual interpolating spline of numerical libraries, so that a schedule
/// means the same curve elsewhere. Two rows give a straight line, three a
/// parabola.
#[derive(Debug, Clone)]
pub(super) struct Curve<const N: usize> {
    places: Vec<f64>,
    values: Vec<[f64; N]>,
    slopes: Vec<[f64; N]>,
}

impl<const N: usize> Curve<N> {
    /// Through `values` at ascending `places`, at least two.
    pub(super) fn through(places: Vec<f64>, values: Vec<[f64; N]>) -> Self {
        let slopes = slopes(&places, &values);
        Self {
            places,
            values,
            slopes,
        }
    }

    /// Value and derivative; outside the places the end pieces go on.
    pub(super) fn jet(&self, at: f64) -> ([f64; N], [f64; N]) {
        let last = self.places.len() - 2;
        let k = (self.places.partition_point(|&p| p <= at).max(1) - 1).min(last);
        let h = self.places[k + 1] - self.places[k];
        let x = (at - self.places[k]) / h;
        let (mut value, mut slope) = ([0.0; N], [0.0; N]);
        for c in 0..N {
            let (a, b) = (self.values[k][c], self.values[k + 1][c]);
            let (m, n) = (self.slopes[k][c] * h, self.slopes[k + 1][c] * h);
            // Hermite's cubic as a + m x + (3 r - 2 m - n) x^2 + (m + n - 2 r) x^3.
            let r = b - a;
            let (p, q) = (3.0 * r - 2.0 * m - n, m + n - 2.0 * r);
            value[c] = a + x * (m + x * (p + x * q));
            slope[c] = (m + x * (2.0 * p + x * 3.0 * q)) / h;
        }
        (value, slope)
    }
}

fn slopes<const N: usize>(places: &[f64], values: &[[f64; N]]) -> Vec<[f64; N]> {
    let n = places.len();
    let h: Vec<f64> = places.windows(2).map(|p| p[1] - p[0]).collect();
    let rise = |k: usize, c: usize| (values[k + 1][c] - values[k][c]) / h[k];
    let mut out = vec![[0.0; N]; n];
    if n == 2 {
        return vec![std::array::from_fn(|c| rise(0, c)); 2];
    }
    if n == 3 {
        for (k, slope) in out.iter_mut().enumerate() {
            for (c, s) in slope.iter_mut().enumerate() {
                let second = (rise(1, c) - rise(0, c)) / (h[0] + h[1]);
                *s = rise(0, c) + second * (2.0 * places[k] - places[0] - places[1]);
            }
        }
        return out;
    }
    // Rows (lower, diagonal, upper); the right-hand sides go into `out`.
    let mut rows = vec![(0.0, 0.0, 0.0); n];
    let z = n - 1;
    let end = |a: f64, b: f64, near: f64, next: f64| {
        ((3.0 * a + 2.0 * b) * b * near + a * a * next) / (a + b)
    };
    rows[0] = (0.0, h[1], h[0] + h[1]);
    out[0] = std::array::from_fn(|c| end(h[0], h[1], rise(0, c), rise(1, c)));
    rows[z] = (h[z - 1] + h[z - 2], h[z - 2], 0.0);
    out[z] = std::array::from_fn(|c| end(h[z - 1], h[z - 2], rise(z - 1, c), rise(z - 2, c)));
    for k in 1..z {
        rows[k] = (h[k], 2.0 * (h[k - 1] + h[k]), h[k - 1]);
        out[k] = std::array::from_fn(|c| 3.0 * (h[k] * rise(k - 1, c) + h[k - 1] * rise(k, c)));
    }
    // Elimination without exchanges: for ascending places no pivot vanishes.
    for k in 1..n {
        let f = rows[k].0 / rows[k - 1].1;
        rows[k].1 -= f * rows[k - 1].2;
        let above = out[k - 1];
        for (x, y) in out[k].iter_mut().zip(above) {
            *x -= f * y;
        }
    }
    let mut below = [0.0; N];
    for (row, x) in rows.iter().zip(&mut out).rev() {
        below = std::array::from_fn(|c| (x[c] - row.2 * below[c]) / row.1);
        *x = below;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::Curve;

    #[test]
    fn one_cubic_comes_back_exactly_from_uneven_places() {
        let f = |x: f64| 2.0 - x + 0.5 * x * x - 0.3 * x * x * x;
        let d = |x: f64| -1.0 + x - 0.9 * x * x;
        for n in [4, 5, 9] {
            let places: Vec<f64> = (0..n).map(|k| f64::from(k * k) * 0.05 - 1.0).collect();
            let curve = Curve::through(places.clone(), places.iter().map(|&x| [f(x)]).collect());
            for x in [-1.3, -0.99, -0.7, 0.1] {
                let ([v], [s]) = curve.jet(x);
                assert!((v - f(x)).abs() < 1e-11, "{n} rows at {x}");
                assert!((s - d(x)).abs() < 1e-10, "{n} rows at {x}");
            }
        }
    }

    #[test]
    fn two_rows_give_a_line_and_three_a_parabola() {
        let line = Curve::through(vec![1.0, 3.0], vec![[2.0], [6.0]]);
        assert!((line.jet(2.5).0[0] - 5.0).abs() < 1e-14);
        let parabola = Curve::through(vec![0.0, 1.0, 3.0], vec![[0.0], [1.0], [9.0]]);
        assert!((parabola.jet(2.0).0[0] - 4.0).abs() < 1e-13);
        assert!((parabola.jet(2.0).1[0] - 4.0).abs() < 1e-13);
    }
}
