//! Rigid fit of two sets of points.

use super::RefoldError;
use crate::geom::{Vec3, vec3};

/// Sweeps of Jacobi's method: it converges quadratically, five or six do.
const SWEEPS: usize = 30;

/// Largest distance, mm, between points and their partners after the rigid
/// fit (no mirroring) of least squares: Horn, Closed-form solution of
/// absolute orientation using unit quaternions, 1987.
///
/// # Errors
/// [`RefoldError::Count`] where the sets are empty or differ in number.
pub fn gap(refolded: &[Vec3], member: &[Vec3]) -> Result<f64, RefoldError> {
    if refolded.len() != member.len() || refolded.is_empty() {
        return Err(RefoldError::Count {
            refolded: refolded.len(),
            member: member.len(),
        });
    }
    let (a, b) = (centre(refolded), centre(member));
    let mut s = [[0.0; 3]; 3];
    for (p, q) in refolded.iter().zip(member) {
        let (p, q) = (*p - a, *q - b);
        for (row, x) in s.iter_mut().zip([p.x, p.y, p.z]) {
            for (slot, y) in row.iter_mut().zip([q.x, q.y, q.z]) {
                *slot += x * y;
            }
        }
    }
    let turn = best_turn(&s);
    Ok(refolded
        .iter()
        .zip(member)
        .map(|(p, q)| (turned(turn, *p - a) + b).distance(*q))
        .fold(0.0, f64::max))
}

fn centre(points: &[Vec3]) -> Vec3 {
    let sum = points.iter().fold(Vec3::default(), |a, &p| a + p);
    sum * (1.0 / points.len() as f64)
}

/// Unit quaternion of the turn that fits best: eigenvector of the largest
/// eigenvalue of Horn's symmetric 4 x 4 matrix.
fn best_turn(s: &[[f64; 3]; 3]) -> [f64; 4] {
    let mut n = [
        [
            s[0][0] + s[1][1] + s[2][2],
            s[1][2] - s[2][1],
            s[2][0] - s[0][2],
            s[0][1] - s[1][0],
        ],
        [
            s[1][2] - s[2][1],
            s[0][0] - s[1][1] - s[2][2],
            s[0][1] + s[1][0],
            s[2][0] + s[0][2],
        ],
        [
            s[2][0] - s[0][2],
            s[0][1] + s[1][0],
            s[1][1] - s[0][0] - s[2][2],
            s[1][2] + s[2][1],
        ],
        [
            s[0][1] - s[1][0],
            s[2][0] + s[0][2],
            s[1][2] + s[2][1],
            s[2][2] - s[0][0] - s[1][1],
        ],
    ];
    // Columns of `v` become the eigenvectors.
    let mut v = [[0.0; 4]; 4];
    for (k, row) in v.iter_mut().enumerate() {
        row[k] = 1.0;
    }
    for _ in 0..SWEEPS {
        let mut changed = false;
        for p in 0..3 {
            for q in p + 1..4 {
                changed |= rotate(&mut n, &mut v, p, q);
            }
        }
        if !changed {
            break;
        }
    }
    let mut best = 0;
    for k in 1..4 {
        if n[k][k] > n[best][best] {
            best = k;
        }
    }
    [v[0][best], v[1][best], v[2][best], v[3][best]]
}

/// Jacobi rotation that clears entry (p, q); false where it is clear.
fn rotate(n: &mut [[f64; 4]; 4], v: &mut [[f64; 4]; 4], p: usize, q: usize) -> bool {
    let scale = n[p][p].abs() + n[q][q].abs();
    if n[p][q].abs() <= 1e-17 * scale {
        return false;
    }
    let theta = (n[q][q] - n[p][p]) / (2.0 * n[p][q]);
    let sign = if theta < 0.0 { -1.0 } else { 1.0 };
    let t = sign / (theta.abs() + (theta * theta + 1.0).sqrt());
    let c = 1.0 / (t * t + 1.0).sqrt();
    let s = t * c;
    for row in n.iter_mut() {
        (row[p], row[q]) = (c * row[p] - s * row[q], s * row[p] + c * row[q]);
    }
    let (row_p, row_q) = (n[p], n[q]);
    n[p] = std::array::from_fn(|k| c * row_p[k] - s * row_q[k]);
    n[q] = std::array::from_fn(|k| s * row_p[k] + c * row_q[k]);
    for row in v.iter_mut() {
        (row[p], row[q]) = (c * row[p] - s * row[q], s * row[p] + c * row[q]);
    }
    true
}

/// A vector turned by a unit quaternion.
fn turned(q: [f64; 4], p: Vec3) -> Vec3 {
    let axis = vec3(q[1], q[2], q[3]);
    let twice = axis.cross(p) * 2.0;
    p + twice * q[0] + axis.cross(twice)
}

#[cfg(test)]
mod tests {
    use super::gap;
    use crate::geom::{Vec3, trig, vec3};

    fn cloud() -> Vec<Vec3> {
        (0..40)
            .map(|k| {
                let x = f64::from(k) * 90.0;
                vec3(x, 180.0 * f64::from(k % 2), 1e-4 * x * x)
            })
            .collect()
    }

    #[test]
    fn a_turned_and_shifted_copy_has_no_gap_and_a_mirrored_one_has() {
        let (s, c) = (trig::sin(2.5), trig::cos(2.5));
        let a = cloud();
        let b: Vec<Vec3> = a
            .iter()
            .map(|p| vec3(c * p.x - s * p.z, p.y, s * p.x + c * p.z) + vec3(5e3, -1e3, 7.0))
            .collect();
        assert!(gap(&a, &b).expect("same number") < 1e-9);
        let m: Vec<Vec3> = a.iter().map(|p| vec3(p.x, p.y, -p.z)).collect();
        assert!(gap(&a, &m).expect("same number") > 1.0);
    }

    #[test]
    fn one_point_out_of_place_shows() {
        let a = cloud();
        let mut b = a.clone();
        b[20].z += 1.0;
        let g = gap(&a, &b).expect("same number");
        assert!(g > 0.9 && g < 1.0, "{g}");
        assert!(gap(&a, &b[1..]).is_err());
    }
}
