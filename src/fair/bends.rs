//! How a curve bends, and the penalty on its change.

use super::arc::{arc, arcs_at};
use crate::geom::bspline::{Near, ORDER, Spline};
use crate::geom::{Vec2, vec2};

/// Direction and curvature of the curve of the round before, by the arc length of the next.
pub(super) struct Bends {
    curve: Spline<2>,
    /// Arc length from the first foot, and parameter, at every break.
    table: Vec<(f64, f64)>,
}

impl Bends {
    pub(super) fn of(curve: Spline<2>, start: f64) -> Self {
        let breaks = curve.basis.breaks().to_vec();
        let arcs = arcs_at(&curve, &breaks);
        let lead = arc(&curve, breaks[0], start);
        let table = arcs.iter().zip(&breaks).map(|(a, b)| (a - lead, *b));
        let table = table.collect();
        Self { curve, table }
    }

    /// At arc length `s`.
    fn at(&self, s: f64) -> Bend {
        let last = self.table.len() - 1;
        let k = self.table.partition_point(|(a, _)| *a <= s).clamp(1, last);
        let ((a0, t0), (a1, t1)) = (self.table[k - 1], self.table[k]);
        let t = if a1 > a0 {
            t0 + (t1 - t0) * (s - a0) / (a1 - a0)
        } else {
            t0
        };
        let [_, d, dd, ddd] = self.curve.jet::<4>(t);
        let (v, a, j) = (vec2(d[0], d[1]), vec2(dd[0], dd[1]), vec2(ddd[0], ddd[1]));
        let speed = v.length();
        if speed <= 0.0 {
            return Bend {
                tangent: vec2(1.0, 0.0),
                by: 0.0,
                change: 0.0,
            };
        }
        let cube = speed * speed * speed;
        let by = v.cross(a) / cube;
        let change = (v.cross(j) / cube - 3.0 * by * v.dot(a) / (speed * speed)) / speed;
        Bend {
            tangent: v.unit(),
            by,
            change,
        }
    }
}

/// Direction in plan, curvature (left positive, 1/mm) and its change along
/// the arc length (1/mm^2).
struct Bend {
    tangent: Vec2,
    by: f64,
    change: f64,
}

/// The penalty in plan, two rows. A curve C of speed v, tangent T, normal n
/// and curvature k has
/// C' = v T, C'' = v' T + k v^2 n, C''' = (v'' - k^2 v^3) T + (k' v^3 + 3 k v v') n,
/// so that about v = 1 the change of curvature k', which no change of speed
/// touches, and the second change of speed are, linearised about the curve
/// of the round before,
/// n . C''' + k^2 n . C' - 3 k T . C'' - 3 k' (T . C' - 1) and
/// T . C''' + k^2 T . C' + 2 k n . C'' - 2 k^2.
/// The first is nought on every circle: no pull towards flatness. Without its
/// last two terms a curve of uneven bend would be smoothed by running fast
/// where it is flat instead of by changing shape.
pub(super) fn change_of_curvature(
    bends: &Bends,
    at: f64,
    near: &Near<4>,
) -> ([[[f64; 2]; 2]; ORDER], [f64; 2]) {
    let Bend {
        tangent,
        by: k,
        change,
    } = bends.at(at);
    let normal = tangent.left();
    let (t, n) = ([tangent.x, tangent.y], [normal.x, normal.y]);
    let mut op = [[[0.0; 2]; 2]; ORDER];
    for (f, block) in op.iter_mut().enumerate() {
        let [_, d1, d2, d3] = near.ders.map(|row| row[f]);
        for m in 0..2 {
            block[0][m] = (d3 + k * k * d1) * n[m] - 3.0 * (k * d2 + change * d1) * t[m];
            block[1][m] = (d3 + k * k * d1) * t[m] + 2.0 * k * d2 * n[m];
        }
    }
    (op, [-3.0 * change, 2.0 * k * k])
}
