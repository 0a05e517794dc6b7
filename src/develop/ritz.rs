//! Least elastic energy over the spline's control points: Newton's method
//! with a banded factor.
//!
//! Energy density of plane stress per unit modulus and thickness for the
//! principal strains e1, e2 (stretch less one, flat over space) and Poisson's
//! ratio v: (e1^2 + e2^2 + 2 v e1 e2) / (2 (1 - v^2)). With the conformal
//! parts of the map's gradient F,
//!
//! ```text
//! p = (F11 + F22, F21 - F12),  |p| = s1 + s2
//! q = (F11 - F22, F12 + F21),  |q| = s1 - s2
//! ```
//!
//! it is exactly (|p| - 2)^2 / (4 (1 - v)) + |q|^2 / (4 (1 + v)), of which only
//! the first term is not quadratic in the unknowns.

use super::grid::{Grid, Node};
use super::model::Error;
use crate::geom::banded::{Banded, Factor};
use crate::geom::bspline::ORDER;
use crate::geom::{Vec2, vec2};

/// Newton steps at most. A developable strip takes about four, a screw flight
/// about six; what has not settled by now does not.
const STEPS_MOST: usize = 60;
/// Settled when a step would change the strain by less than this (rms). It
/// lies an order above the rounding of coordinates of 10 m.
const SETTLED: f64 = 1e-12;
/// Rounding can stop the iteration above [`SETTLED`] on very long strips;
/// below this rms strain that is still no error.
const GOOD_ENOUGH: f64 = 1e-10;
/// The factor is kept while a step shrinks the next one to this part
/// (squares of strain): cheaper than a new one as long as it holds.
const KEEP: f64 = 1e-3;
/// Halvings of a step that does not lower the energy.
const HALVINGS: usize = 40;

/// Unknowns at a point of the grid: derivatives along x, y; across x, y.
type Four = [f64; 4];

/// Buffers and constants of the iteration.
struct Problem<'a> {
    grid: &'a Grid,
    /// Factor of (|p| - 2)^2.
    spread: f64,
    /// Factor of |q|^2.
    shear: f64,
    /// Places of the unknowns that pin the rigid motion.
    pinned: [usize; 3],
}

/// Minimises the energy from a first guess: control points and the energy
/// inside the strip's ends, mm2.
pub(super) fn least_energy(
    grid: &Grid,
    poisson: f64,
    mut x: Vec<[f64; 2]>,
) -> Result<(Vec<[f64; 2]>, f64), Error> {
    let problem = Problem::new(grid, poisson);
    let enough = |rms: f64| rms * rms * grid.area;
    let mut gradient = vec![0.0; 2 * x.len()];
    let mut energy = problem.energy(&x, Some(&mut gradient));
    let mut factor: Option<Factor> = None;
    let mut before = f64::INFINITY;
    for _ in 0..STEPS_MOST {
        let fresh = factor.is_none();
        if fresh {
            factor = problem.factor(&x);
        }
        let Some(f) = &factor else { break };
        let mut step = gradient.clone();
        f.solve(&mut step);
        let decrement: f64 = step.iter().zip(&gradient).map(|(a, b)| a * b).sum();
        let Some(better) = problem.search(&x, &step, energy, decrement) else {
            if fresh {
                return problem.end(x, decrement <= enough(GOOD_ENOUGH));
            }
            factor = None;
            continue;
        };
        x = better;
        if decrement <= enough(SETTLED) {
            return problem.end(x, true);
        }
        if decrement <= enough(GOOD_ENOUGH) && decrement > 0.1 * before {
            return problem.end(x, true);
        }
        if decrement > KEEP * before {
            factor = None;
        }
        before = decrement;
        energy = problem.energy(&x, Some(&mut gradient));
    }
    problem.end(x, false)
}

impl<'a> Problem<'a> {
    fn new(grid: &'a Grid, poisson: f64) -> Self {
        let count = grid.across.len();
        // Two control points across the middle of the strip: both
        // coordinates of one, and the other's lengthwise one. The energy does
        // not know where the plate lies, so this biases nothing.
        let middle = grid.along.len() / 2 * count;
        Self {
            grid,
            spread: 0.25 / (1.0 - poisson),
            shear: 0.25 / (1.0 + poisson),
            pinned: [2 * middle, 2 * middle + 1, 2 * (middle + count - 1)],
        }
    }

    /// Energy, and its gradient with the pinned unknowns left out.
    fn energy(&self, x: &[[f64; 2]], gradient: Option<&mut Vec<f64>>) -> f64 {
        let mut total = 0.0;
        let Some(gradient) = gradient else {
            self.each_line(x, |_, nodes, columns, grid| {
                for (node, place) in nodes.iter().zip(&grid.places) {
                    let (spread, shear, _) = parts(node, &derivative(columns, place));
                    total += node.area
                        * (self.spread * (spread.length() - 2.0) * (spread.length() - 2.0)
                            + self.shear * shear.dot(shear));
                }
            });
            return total;
        };
        gradient.fill(0.0);
        let count = self.grid.across.len();
        let mut pull = vec![[0.0; 4]; count];
        self.each_line(x, |line, nodes, columns, grid| {
            pull.fill([0.0; 4]);
            for (node, place) in nodes.iter().zip(&grid.places) {
                let (p, q, rows) = parts(node, &derivative(columns, place));
                let size = p.length();
                total +=
                    node.area * (self.spread * (size - 2.0) * (size - 2.0) + self.shear * q.dot(q));
                let kp = 2.0 * node.area * self.spread * (size - 2.0);
                let kq = 2.0 * node.area * self.shear;
                let u = p.unit();
                let mut g = [0.0; 4];
                for (k, g) in g.iter_mut().enumerate() {
                    *g = kp * (u.x * rows[0][k] + u.y * rows[1][k])
                        + kq * (q.x * rows[2][k] + q.y * rows[3][k]);
                }
                for ((s, v), d) in pull.iter_mut().zip(&place.value).zip(&place.slope) {
                    s[0] += v * g[0];
                    s[1] += v * g[1];
                    s[2] += d * g[2];
                    s[3] += d * g[3];
                }
            }
            for i in 0..=grid.along.degree() {
                let (n, d) = (line.basis[0][i], line.basis[1][i]);
                let start = 2 * (line.first + i) * count;
                let out = &mut gradient[start..start + 2 * count];
                for (o, s) in out.chunks_exact_mut(2).zip(&pull) {
                    o[0] += d * s[0] + n * s[2];
                    o[1] += d * s[1] + n * s[3];
                }
            }
        });
        for p in self.pinned {
            gradient[p] = 0.0;
        }
        total
    }

    /// Calls `f` with every line, its points, and the map along it: for every
    /// node across, its derivative along t and its value.
    fn each_line(
        &self,
        x: &[[f64; 2]],
        mut f: impl FnMut(&super::grid::Line, &[Node], &[Four], &Grid),
    ) {
        let grid = self.grid;
        let count = grid.across.len();
        let mut columns = vec![[0.0; 4]; count];
        let nodes = grid.nodes.chunks_exact(grid.places.len());
        for (line, nodes) in grid.lines.iter().zip(nodes) {
            columns.fill([0.0; 4]);
            for i in 0..=grid.along.degree() {
                let (n, d) = (line.basis[0][i], line.basis[1][i]);
                let start = (line.first + i) * count;
                for (c, p) in columns.iter_mut().zip(&x[start..start + count]) {
                    c[0] += d * p[0];
                    c[1] += d * p[1];
                    c[2] += n * p[0];
                    c[3] += n * p[1];
                }
            }
            f(line, nodes, &columns, grid);
        }
    }

    /// Factor of the second derivatives; where they are not positive definite,
    /// of the part of them that always is.
    fn factor(&self, x: &[[f64; 2]]) -> Option<Factor> {
        self.matrix(x, true)
            .factor()
            .or_else(|| self.matrix(x, false).factor())
    }

    /// Second derivatives of the energy: all of them, or without the part
    /// that compression makes negative (Gauss-Newton).
    fn matrix(&self, x: &[[f64; 2]], whole: bool) -> Banded {
        let count = self.grid.across.len();
        let degree = self.grid.along.degree();
        let half = 2 * count * (degree + 1) - 1;
        let mut matrix = Banded::zeros(2 * x.len(), half);
        let mut blocks = Blocks::new(count);
        self.each_line(x, |line, nodes, columns, grid| {
            blocks.clear();
            for (node, place) in nodes.iter().zip(&grid.places) {
                let (p, _, rows) = parts(node, &derivative(columns, place));
                let curve = self.curve(node, p, &rows, whole);
                blocks.add(&curve, &place.value, &place.slope);
            }
            blocks.scatter(&line.basis, degree, line.first, &mut matrix);
        });
        // A pinned unknown keeps a row of its own, as stiff as its neighbours.
        for p in self.pinned {
            let stiff = matrix.get(p, p);
            matrix.row_mut(p).fill(0.0);
            for i in p + 1..(p + half + 1).min(matrix.size()) {
                matrix.row_mut(i)[half + p - i] = 0.0;
            }
            matrix.add(p, p, stiff);
        }
        matrix
    }

    /// Second derivatives at a point, in the map's four derivatives.
    fn curve(&self, node: &Node, p: Vec2, rows: &[Four; 4], whole: bool) -> [Four; 4] {
        let kp = 2.0 * node.area * self.spread;
        let kq = 2.0 * node.area * self.shear;
        let u = p.unit();
        let side = 1.0 - 2.0 / p.length();
        let side = if whole { side } else { side.max(0.0) };
        let (mut r, mut s) = ([0.0; 4], [0.0; 4]);
        for k in 0..4 {
            r[k] = u.x * rows[0][k] + u.y * rows[1][k];
            s[k] = u.x * rows[1][k] - u.y * rows[0][k];
        }
        let mut out = [[0.0; 4]; 4];
        for a in 0..4 {
            for b in 0..4 {
                out[a][b] = kp * (r[a] * r[b] + side * s[a] * s[b])
                    + kq * (rows[2][a] * rows[2][b] + rows[3][a] * rows[3][b]);
            }
        }
        out
    }

    /// The longest of the step, its half, its quarter... that lowers the
    /// energy. Near the minimum the energy no longer feels the step; there
    /// its rounding is allowed for.
    fn search(
        &self,
        x: &[[f64; 2]],
        step: &[f64],
        energy: f64,
        decrement: f64,
    ) -> Option<Vec<[f64; 2]>> {
        if !(decrement.is_finite() && decrement >= 0.0) {
            return None;
        }
        let slack = 1e-12 * energy + GOOD_ENOUGH * GOOD_ENOUGH * self.grid.area;
        let mut part = 1.0;
        for _ in 0..HALVINGS {
            let moved: Vec<[f64; 2]> = x
                .iter()
                .zip(step.chunks_exact(2))
                .map(|(p, s)| [p[0] - part * s[0], p[1] - part * s[1]])
                .collect();
            let e = self.energy(&moved, None);
            if e <= energy - 1e-4 * part * decrement + slack {
                return Some(moved);
            }
            part *= 0.5;
        }
        None
    }

    /// The result, or where the strain is largest if it is not settled.
    fn end(&self, x: Vec<[f64; 2]>, settled: bool) -> Result<(Vec<[f64; 2]>, f64), Error> {
        let (mut total, mut worst) = (0.0, (-1.0, 0.0));
        self.each_line(&x, |line, nodes, columns, grid| {
            for (node, place) in nodes.iter().zip(&grid.places) {
                if node.inside {
                    let (p, q, _) = parts(node, &derivative(columns, place));
                    let (p, q) = (p.length() - 2.0, q.length());
                    total += node.area * (self.spread * p * p + self.shear * q * q);
                    if p.abs() + q > worst.0 {
                        worst = (p.abs() + q, line.t);
                    }
                }
            }
        });
        if settled && total.is_finite() {
            Ok((x, total))
        } else {
            Err(Error::NotSettled { t: worst.1 })
        }
    }
}

/// The map's derivatives at a point of a line.
fn derivative(columns: &[Four], place: &super::grid::Across) -> Four {
    let mut z = [0.0; 4];
    for ((c, v), d) in columns.iter().zip(&place.value).zip(&place.slope) {
        z[0] += v * c[0];
        z[1] += v * c[1];
        z[2] += d * c[2];
        z[3] += d * c[3];
    }
    z
}

/// The conformal parts p and q of the map's gradient, and their rows: both
/// are linear in the map's derivatives.
fn parts(node: &Node, z: &Four) -> (Vec2, Vec2, [Four; 4]) {
    let (a, b, c) = (node.a, node.b, node.c);
    let rows = [
        [a, b, 0.0, c],
        [-b, a, -c, 0.0],
        [a, -b, 0.0, -c],
        [b, a, c, 0.0],
    ];
    let p = vec2(
        a * z[0] + b * z[1] + c * z[3],
        a * z[1] - b * z[0] - c * z[2],
    );
    let q = vec2(
        a * z[0] - b * z[1] - c * z[3],
        a * z[1] + b * z[0] + c * z[2],
    );
    (p, q, rows)
}

/// Second derivatives of a line's energy between the nodes across: summed
/// over the line's points first, spread along the strip after, which halves
/// the work.
struct Blocks {
    side: usize,
    /// Along by along, along by across, across by along, across by across;
    /// rows and columns are node across times coordinate.
    part: [Vec<f64>; 4],
    row: [Vec<f64>; 2],
}

impl Blocks {
    fn new(count: usize) -> Self {
        let side = 2 * count;
        Self {
            side,
            part: std::array::from_fn(|_| vec![0.0; side * side]),
            row: std::array::from_fn(|_| vec![0.0; side]),
        }
    }

    fn clear(&mut self) {
        for p in &mut self.part {
            p.fill(0.0);
        }
    }

    fn add(&mut self, curve: &[Four; 4], value: &[f64], slope: &[f64]) {
        let side = self.side;
        for (kind, part) in self.part.iter_mut().enumerate() {
            let (of_row, of_column) = (kind / 2, kind % 2);
            let left = if of_row == 0 { value } else { slope };
            let right = if of_column == 0 { value } else { slope };
            for (r, row) in part.chunks_exact_mut(side).enumerate() {
                let k = &curve[2 * of_row + r % 2];
                let (kx, ky) = (
                    left[r / 2] * k[2 * of_column],
                    left[r / 2] * k[2 * of_column + 1],
                );
                for (o, v) in row.chunks_exact_mut(2).zip(right) {
                    o[0] += kx * v;
                    o[1] += ky * v;
                }
            }
        }
    }

    fn scatter(
        &mut self,
        basis: &[[f64; ORDER]; 2],
        degree: usize,
        first: usize,
        matrix: &mut Banded,
    ) {
        let (side, half) = (self.side, matrix.half_width());
        for i in 0..=degree {
            let (n, d) = (basis[0][i], basis[1][i]);
            for r in 0..side {
                let at = r * side..(r + 1) * side;
                let [tt, tw, wt, ww] = &self.part;
                let [along, across] = &mut self.row;
                for (k, (x, y)) in at.zip(along.iter_mut().zip(across.iter_mut())) {
                    *x = d * tt[k] + n * wt[k];
                    *y = d * tw[k] + n * ww[k];
                }
                let index = (first + i) * side + r;
                let out = matrix.row_mut(index);
                // Column c of the matrix sits at half + c - index.
                let left = basis[0].iter().zip(&basis[1]).take(i + 1);
                for (k, (n, d)) in left.enumerate() {
                    let start = half + (first + k) * side - index;
                    let stop = (start + side).min(half + 1);
                    let out = &mut out[start..stop];
                    for ((o, x), y) in out.iter_mut().zip(along.iter()).zip(across.iter()) {
                        *o += d * x + n * y;
                    }
                }
            }
        }
    }
}
