//! Rigid motions in space, and the one that fits best.

use super::{Vec3, vec3};

/// Sweeps of Jacobi's method over a symmetric 4 by 4 matrix. It converges
/// quadratically: six sweeps give full precision, twelve are never needed.
const SWEEPS: usize = 12;

/// A rigid motion: a turn about a point, then a shift. It never mirrors.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rigid {
    /// Rows of the rotation matrix.
    pub turn: [Vec3; 3],
    /// Turned about this point, mm.
    pub about: Vec3,
    /// Where that point comes to, mm.
    pub to: Vec3,
}

impl Rigid {
    /// Moves a point.
    #[must_use]
    pub fn apply(&self, p: Vec3) -> Vec3 {
        let q = p - self.about;
        let [a, b, c] = self.turn;
        vec3(a.dot(q), b.dot(q), c.dot(q)) + self.to
    }

    /// Cosine of the angle between the vertical of one frame and the other's.
    #[must_use]
    pub fn upright(&self) -> f64 {
        self.turn[2].z
    }
}

/// The motion that brings `from` to `to` with the least sum of squared
/// distances: the eigenvector of the largest eigenvalue of Horn's matrix is
/// the rotation's quaternion (B. K. P. Horn, "Closed-form solution of
/// absolute orientation using unit quaternions", Journal of the Optical
/// Society of America A 4, 1987, 629-642). Always a proper rotation.
///
/// The points of a pair stand at one index; points without a partner are
/// left out. Points on one line leave the turn about it free: check with
/// [`spread`] first.
#[must_use]
pub fn best(from: &[Vec3], to: &[Vec3]) -> Rigid {
    let (about, centre) = (mean(from), mean(to));
    let mut s = [[0.0; 3]; 3];
    for (&p, &q) in from.iter().zip(to) {
        let (p, q) = (p - about, q - centre);
        for (row, a) in s.iter_mut().zip([p.x, p.y, p.z]) {
            for (cell, b) in row.iter_mut().zip([q.x, q.y, q.z]) {
                *cell += a * b;
            }
        }
    }
    let [[xx, xy, xz], [yx, yy, yz], [zx, zy, zz]] = s;
    let matrix = [
        [xx + yy + zz, yz - zy, zx - xz, xy - yx],
        [yz - zy, xx - yy - zz, xy + yx, zx + xz],
        [zx - xz, xy + yx, yy - xx - zz, yz + zy],
        [xy - yx, zx + xz, yz + zy, zz - xx - yy],
    ];
    Rigid {
        turn: rotation(largest_eigenvector(matrix)),
        about,
        to: centre,
    }
}

/// As [`best`], turning about the vertical only: the angle whose tangent is
/// the sum of cross products over the sum of scalar products in plan.
#[must_use]
pub fn best_level(from: &[Vec3], to: &[Vec3]) -> Rigid {
    let (about, centre) = (mean(from), mean(to));
    let (mut cos, mut sin) = (0.0, 0.0);
    for (&p, &q) in from.iter().zip(to) {
        let (p, q) = ((p - about).plan(), (q - centre).plan());
        cos += p.dot(q);
        sin += p.cross(q);
    }
    let size = (cos * cos + sin * sin).sqrt();
    let (cos, sin) = if size > 0.0 {
        (cos / size, sin / size)
    } else {
        (1.0, 0.0)
    };
    Rigid {
        turn: [
            vec3(cos, -sin, 0.0),
            vec3(sin, cos, 0.0),
            vec3(0.0, 0.0, 1.0),
        ],
        about,
        to: centre,
    }
}

/// How far points spread: the greatest distance between two of them, and the
/// greatest distance of any other from the line through those two, mm.
#[must_use]
pub fn spread(points: &[Vec3]) -> (f64, f64) {
    let mut ends = (Vec3::default(), Vec3::default());
    let mut length = 0.0;
    for (i, &a) in points.iter().enumerate() {
        for &b in points.iter().skip(i + 1) {
            if a.distance(b) > length {
                length = a.distance(b);
                ends = (a, b);
            }
        }
    }
    let along = (ends.1 - ends.0).unit();
    let off = |p: &Vec3| (*p - ends.0).cross(along).length();
    (length, points.iter().map(off).fold(0.0, f64::max))
}

/// Middle of points, mm; the origin where there are none.
#[must_use]
pub fn mean(points: &[Vec3]) -> Vec3 {
    let sum = points.iter().fold(Vec3::default(), |s, &p| s + p);
    sum * (1.0 / points.len().max(1) as f64)
}

/// Rotation matrix of a unit quaternion (w, x, y, z).
fn rotation([w, x, y, z]: [f64; 4]) -> [Vec3; 3] {
    let (ww, xx, yy, zz) = (w * w, x * x, y * y, z * z);
    let (xy, xz, yz) = (x * y, x * z, y * z);
    let (wx, wy, wz) = (w * x, w * y, w * z);
    [
        vec3(ww + xx - yy - zz, 2.0 * (xy - wz), 2.0 * (xz + wy)),
        vec3(2.0 * (xy + wz), ww - xx + yy - zz, 2.0 * (yz - wx)),
        vec3(2.0 * (xz - wy), 2.0 * (yz + wx), ww - xx - yy + zz),
    ]
}

/// Unit eigenvector of the largest eigenvalue of a symmetric matrix, by
/// cyclic Jacobi rotations (Golub & Van Loan, *Matrix Computations*, 8.5).
fn largest_eigenvector(mut a: [[f64; 4]; 4]) -> [f64; 4] {
    let mut v = [[0.0; 4]; 4];
    for (i, row) in v.iter_mut().enumerate() {
        row[i] = 1.0;
    }
    for _ in 0..SWEEPS {
        for p in 0..3 {
            for q in p + 1..4 {
                if a[p][q] == 0.0 {
                    continue;
                }
                let theta = (a[q][q] - a[p][p]) / (2.0 * a[p][q]);
                let t = theta.signum() / (theta.abs() + (theta * theta + 1.0).sqrt());
                let c = 1.0 / (t * t + 1.0).sqrt();
                let s = t * c;
                for row in &mut a {
                    let (x, y) = (row[p], row[q]);
                    (row[p], row[q]) = (c * x - s * y, s * x + c * y);
                }
                for k in 0..4 {
                    let (x, y) = (a[p][k], a[q][k]);
                    (a[p][k], a[q][k]) = (c * x - s * y, s * x + c * y);
                    let (x, y) = (v[k][p], v[k][q]);
                    (v[k][p], v[k][q]) = (c * x - s * y, s * x + c * y);
                }
            }
        }
    }
    let best = (1..4).fold(0, |b, i| if a[i][i] > a[b][b] { i } else { b });
    let vector = [v[0][best], v[1][best], v[2][best], v[3][best]];
    let size = vector.iter().map(|c| c * c).sum::<f64>().sqrt();
    vector.map(|c| c / size)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::geom::vec3;

    fn determinant([a, b, c]: [Vec3; 3]) -> f64 {
        a.dot(b.cross(c))
    }

    #[test]
    fn a_quarter_turn_is_found() {
        let from = [
            vec3(1.0, 0.0, 0.0),
            vec3(0.0, 2.0, 0.0),
            vec3(0.0, 0.0, 3.0),
        ];
        // x to y, y to minus x, and a shift.
        let to = from.map(|p| vec3(10.0 - p.y, 20.0 + p.x, 30.0 + p.z));
        for fit in [best(&from, &to), best_level(&from, &to)] {
            for (&p, &q) in from.iter().zip(&to) {
                assert!(fit.apply(p).distance(q) < 1e-14, "{fit:?}");
            }
        }
    }

    #[test]
    fn a_mirror_image_is_met_by_a_rotation_only() {
        let from = [
            vec3(0.0, 0.0, 0.0),
            vec3(9.0, 0.0, 0.0),
            vec3(0.0, 5.0, 0.0),
            vec3(0.0, 0.0, 3.0),
        ];
        let to = from.map(|p| vec3(p.y, p.x, p.z));
        let fit = best(&from, &to);
        assert!((determinant(fit.turn) - 1.0).abs() < 1e-12);
        let worst = |fit: &Rigid| {
            let each = from.iter().zip(&to);
            each.map(|(&p, &q)| fit.apply(p).distance(q))
                .fold(0.0, f64::max)
        };
        assert!(worst(&fit) > 1.0);
    }

    #[test]
    fn spread_is_length_and_distance_off_the_line() {
        let points = [
            vec3(0.0, 0.0, 0.0),
            vec3(4.0, 0.0, 3.0),
            vec3(10.0, 0.0, 0.0),
        ];
        assert_eq!(spread(&points), (10.0, 3.0));
        assert_eq!(spread(&points[..1]), (0.0, 0.0));
    }

    proptest! {
        #[test]
        fn a_random_rigid_motion_comes_back(
            q in proptest::array::uniform4(-1.0..1.0f64),
            shift in proptest::array::uniform3(-5e4..5e4f64),
            points in proptest::collection::vec(proptest::array::uniform3(-1e4..1e4f64), 3..12),
        ) {
            let size = q.iter().map(|c| c * c).sum::<f64>().sqrt();
            prop_assume!(size > 0.1);
            let from: Vec<Vec3> = points.iter().map(|p| vec3(p[0], p[1], p[2])).collect();
            let (length, off) = spread(&from);
            prop_assume!(off > 0.05 * length);
            let motion = Rigid {
                turn: rotation(q.map(|c| c / size)),
                about: Vec3::default(),
                to: vec3(shift[0], shift[1], shift[2]),
            };
            let to: Vec<Vec3> = from.iter().map(|&p| motion.apply(p)).collect();
            let fit = best(&from, &to);
            prop_assert!((determinant(fit.turn) - 1.0).abs() < 1e-12);
            for (&p, &q) in from.iter().zip(&to) {
                prop_assert!(fit.apply(p).distance(q) < 1e-9, "{}", fit.apply(p).distance(q));
            }
            for (a, b) in fit.turn.iter().zip(&motion.turn) {
                prop_assert!(a.distance(*b) < 1e-9);
            }
        }
    }
}
