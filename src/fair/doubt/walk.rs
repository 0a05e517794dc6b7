//! A curve as a random walk of its change of curvature, seen with errors, and
//! what its neighbours say of every point without asking the point itself.
//!
//! The curve minimises sum (r / s)^2 + integral (third derivative)^2 / rho, as
//! the smoothing of the stage does (Wahba, *Spline Models for Observational
//! Data*, 1990, chapter 1). Written as a random walk of state (value, slope,
//! bend) it is solved point after point in one pass forward and one back
//! (Kalman 1960; the errors of smoothing by de Jong, *Biometrika* 76, 1989),
//! so that time grows with the number of points whatever their spacing.

/// Variance of the state before the first point, in variances of one error: no
/// knowledge. Ten figures above an error; six more are left in a double.
const NO_KNOWLEDGE: f64 = 1e10;

/// Error variance of a point that is left out, in variances of one error: its
/// weight is a ten-thousandth, so that a slip of a hundred errors moves its neighbours' word by a
/// hundredth of one; with much less the variance of that word drowns in rounding.
const LEFT_OUT: f64 = 1e4;

/// Values in order of their parameter, to be walked.
#[derive(Debug)]
pub(super) struct Path<'a, const M: usize> {
    /// Steps to the next point, in mean spacings; one fewer than the values or as many.
    pub(super) steps: &'a [f64],
    /// How much rougher than the mean each step is.
    pub(super) rough: &'a [f64],
    pub(super) values: &'a [[f64; M]],
    /// Points that are left out.
    pub(super) out: &'a [bool],
    /// A corner at this point: slope and bend may jump by these standard deviations.
    pub(super) corner: Option<(usize, [f64; 2])>,
}

/// What the neighbours say of a point.
#[derive(Debug, Clone, Copy)]
pub(super) struct LeaveOneOut<const M: usize> {
    /// Value less what its neighbours say.
    pub(super) residual: [f64; M],
    /// Variance of that, in variances of one error, its own error included.
    pub(super) variance: f64,
    /// Covariance with the point before, of the two smoothing errors.
    before: f64,
}

impl<const M: usize> LeaveOneOut<M> {
    /// The same with a residual of one component.
    pub(super) fn single(&self, residual: f64) -> LeaveOneOut<1> {
        LeaveOneOut {
            residual: [residual],
            variance: self.variance,
            before: self.before,
        }
    }

    /// For this point and the one before it left out together: the sum of squares that
    /// both make about what the others say, by component, and the log of the
    /// determinant of their covariance.
    pub(super) fn pair(&self, first: &Self) -> Option<([f64; M], f64)> {
        let (a, b) = (1.0 / first.variance, 1.0 / self.variance);
        let det = a * b - self.before * self.before;
        if det <= 1e-12 * a * b {
            return None;
        }
        let mut square = [0.0; M];
        for (m, s) in square.iter_mut().enumerate() {
            let (u, v) = (first.residual[m] * a, self.residual[m] * b);
            *s = (b * u * u - 2.0 * self.before * u * v + a * v * v) / det;
        }
        Some((square, -crate::geom::trig::ln(det)))
    }
}

/// How likely the values are, in the parts that the error's size scales.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Fit {
    /// Sum of squared surprises, in variances of one error, of those kept.
    pub(super) squares: f64,
    /// Sum of the logs of their variances.
    pub(super) logs: f64,
    /// How many were kept.
    pub(super) kept: usize,
}

struct Gone<const M: usize> {
    surprise: [f64; M],
    variance: f64,
    gain: [f64; 3],
}

type Square = [[f64; 3]; 3];

/// Walks a path forward and back for one roughness `rho`, the variance of the
/// third derivative's noise a mean spacing, in variances of one error.
pub(super) fn walk<const M: usize>(path: &Path<'_, M>, rho: f64) -> (Fit, Vec<LeaveOneOut<M>>) {
    let (fit, gone) = forward(path, rho);
    (fit, back(path, &gone))
}

/// The walk forward alone.
fn forward<const M: usize>(path: &Path<'_, M>, rho: f64) -> (Fit, Vec<Gone<M>>) {
    let n = path.values.len();
    let mut state = [[0.0; M]; 3];
    if let Some(first) = path.values.first() {
        state[0] = *first;
    }
    let mut p: Square = [[0.0; 3]; 3];
    for (k, row) in p.iter_mut().enumerate() {
        row[k] = NO_KNOWLEDGE;
    }
    let mut fit = Fit::default();
    let mut gone = Vec::with_capacity(n);
    for (i, value) in path.values.iter().enumerate() {
        let error = if path.out[i] { LEFT_OUT } else { 1.0 };
        let variance = p[0][0] + error;
        let gain = [0, 1, 2].map(|k| p[k][0] / variance);
        let mut surprise = [0.0; M];
        for m in 0..M {
            surprise[m] = value[m] - state[0][m];
            for k in 0..3 {
                state[k][m] += gain[k] * surprise[m];
            }
        }
        if !path.out[i] {
            fit.squares += surprise.iter().map(|s| s * s).sum::<f64>() / variance;
            fit.logs += crate::geom::trig::ln(variance);
            fit.kept += 1;
        }
        gone.push(Gone {
            surprise,
            variance,
            gain,
        });
        let first = p[0];
        // The corner is exact in its first row: 1 - gain is error / variance.
        for k in 0..3 {
            p[0][k] = first[k] * (error / variance);
            p[k][0] = p[0][k];
        }
        for k in 1..3 {
            for l in 1..3 {
                p[k][l] -= gain[k] * first[l];
            }
        }
        if let Some((at, jump)) = path.corner
            && at == i
        {
            p[1][1] += jump[0] * jump[0];
            p[2][2] += jump[1] * jump[1];
        }
        if let Some(&h) = path.steps.get(i) {
            predict(&mut state, &mut p, h, rho * path.rough[i]);
        }
    }
    (fit, gone)
}

/// Takes the state on by a step.
fn predict<const M: usize>(state: &mut [[f64; M]; 3], p: &mut Square, h: f64, rho: f64) {
    let half = 0.5 * h * h;
    let [values, slopes, bends] = state;
    for ((value, slope), bend) in values.iter_mut().zip(slopes).zip(bends) {
        *value += h * *slope + half * *bend;
        *slope += h * *bend;
    }
    let a = [
        p[0][0] + h * p[1][0] + half * p[2][0],
        p[0][1] + h * p[1][1] + half * p[2][1],
        p[0][2] + h * p[1][2] + half * p[2][2],
    ];
    let b = [p[1][1] + h * p[2][1], p[1][2] + h * p[2][2]];
    let q = rho * h;
    let hh = h * h;
    p[0][0] = a[0] + h * a[1] + half * a[2] + q * hh * hh / 20.0;
    p[0][1] = a[1] + h * a[2] + q * hh * h / 8.0;
    p[0][2] = a[2] + q * hh / 6.0;
    p[1][1] = b[0] + h * b[1] + q * hh / 3.0;
    p[1][2] = b[1] + q * h / 2.0;
    p[2][2] += q;
    p[1][0] = p[0][1];
    p[2][0] = p[0][2];
    p[2][1] = p[1][2];
}

/// The walk back: what the neighbours on both sides say.
fn back<const M: usize>(path: &Path<'_, M>, gone: &[Gone<M>]) -> Vec<LeaveOneOut<M>> {
    let n = gone.len();
    let blank = LeaveOneOut {
        residual: [0.0; M],
        variance: 1.0,
        before: 0.0,
    };
    let mut left_out = vec![blank; n];
    let mut r = [[0.0; M]; 3];
    let mut big: Square = [[0.0; 3]; 3];
    // Covariance of the next point's smoothing error with r.
    let mut next = [0.0; 3];
    for i in (0..n).rev() {
        if let Some(&h) = path.steps.get(i) {
            let half = 0.5 * h * h;
            let [first, second, third] = &mut r;
            for ((a, b), c) in first.iter().zip(second).zip(third) {
                *c += h * *b + half * *a;
                *b += h * *a;
            }
            next[2] += h * next[1] + half * next[0];
            next[1] += h * next[0];
            // T' N T, T with h and h^2/2 above its diagonal of ones.
            for row in &mut big {
                row[2] += h * row[1] + half * row[0];
                row[1] += h * row[0];
            }
            let [first, second, third] = &mut big;
            for ((a, b), c) in first.iter().zip(second).zip(third) {
                *c += h * *b + half * *a;
                *b += h * *a;
            }
        }
        let g = &gone[i];
        let mut u = [0.0; M];
        for m in 0..M {
            let from_behind: f64 = (0..3).map(|k| g.gain[k] * r[k][m]).sum();
            u[m] = g.surprise[m] / g.variance - from_behind;
        }
        let gn = [0, 1, 2].map(|k| (0..3).map(|l| g.gain[l] * big[l][k]).sum::<f64>());
        let gng: f64 = (0..3).map(|k| gn[k] * g.gain[k]).sum();
        let d = 1.0 / g.variance + gng;
        if i + 1 < n {
            left_out[i + 1].before = -(0..3).map(|k| next[k] * g.gain[k]).sum::<f64>();
        }
        left_out[i].residual = u.map(|u| u / d);
        left_out[i].variance = 1.0 / d;
        if path.out[i] {
            left_out[i].variance = (1.0 / d - LEFT_OUT + 1.0).max(1.0);
        }
        for m in 0..M {
            r[0][m] += u[m];
        }
        next = gn.map(|g| -g);
        next[0] += d;
        big[0][0] += d - gn[0] - gn[0];
        // The first row was used whole above: add its other entries now.
        for k in 1..3 {
            big[0][k] -= gn[k];
            big[k][0] -= gn[k];
        }
    }
    left_out
}
