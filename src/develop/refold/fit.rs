//! Rigid fit of two sets of points, pair by pair.

use super::error::RefoldError;
use crate::geom::Vec3;
use crate::geom::rigid::best;

/// Largest distance, mm, of points from their partners after the rigid fit of
/// least squares.
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
    let motion = best(refolded, member);
    let pairs = refolded.iter().zip(member);
    let far = pairs.map(|(&p, q)| motion.apply(p).distance(*q));
    // What cannot be measured is no small gap.
    Ok(far.fold(0.0, |worst: f64, mm| {
        if mm.is_nan() {
            f64::INFINITY
        } else {
            worst.max(mm)
        }
    }))
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
