//! Knots of a fair curve: as many as the points can carry and no more.

use crate::geom::bspline::Basis;

/// Highest degree of a fair curve: the fifth, whose third derivative (the
/// change of curvature) is what is kept small, and whose pieces join with
/// continuous fourth derivatives. A lower degree shows in the curvature.
const DEGREE: usize = 5;

/// Knots closer than this share of the mean spacing of the points are merged.
/// Two passes over one place give points a millimetre apart among points at
/// half a metre: a knot at each would let the curve swing by their errors
/// times the ratio of the spacings. A twentieth leaves real changes of
/// spacing alone (a stern measured at 60 mm among stations at 1200 mm).
const LEAST_SPACING: f64 = 0.05;

/// Most places of knots of a smoothed curve. On a 30 m edge they lie 100 mm apart:
/// shorter waves are no shape of a deck edge. More only cost time.
pub(super) const MOST_SMOOTH: usize = 300;

/// An interpolating curve has a knot a point up to here, and beyond this a
/// further one only for every second point: so close, points are a scan, and
/// interpolating a scan follows its noise.
const MOST_EXACT: usize = 2000;

/// A basis on the sorted parameters `sorted` of the points, "not-a-knot": the
/// first two and last two inner ones carry no knot, so that there are as many functions as
/// points, and no end condition falsifies the curvature at the ends.
/// `None` with fewer than two distinct parameters. An end marked in `more` has
/// one more function: room for a condition beside the points.
///
/// Guarantee: where no two points were merged and the caps above do not bind,
/// the basis has one function a point and the Schoenberg-Whitney conditions
/// hold (de Boor, A Practical Guide to Splines, chapter XIII).
pub(super) fn basis(sorted: &[f64], smooth: bool, more: [bool; 2]) -> Option<Basis> {
    let (first, last) = (*sorted.first()?, *sorted.last()?);
    let length = last - first;
    if !(length > 0.0 && length.is_finite()) {
        return None;
    }
    let least = LEAST_SPACING * length / (sorted.len() - 1) as f64;
    let mut kept = vec![first];
    for &t in &sorted[1..] {
        if t - kept[kept.len() - 1] >= least {
            kept.push(t);
        }
    }
    if kept[kept.len() - 1] < last {
        // The last point always stays; one too near before it goes instead.
        if kept.len() > 1 {
            kept.pop();
        }
        kept.push(last);
    }
    let most = if smooth {
        MOST_SMOOTH
    } else {
        MOST_EXACT + kept.len().saturating_sub(MOST_EXACT) / 2
    };
    if kept.len() > most {
        let n = kept.len() - 1;
        kept = (0..most).map(|i| kept[i * n / (most - 1)]).collect();
    }
    with_room(&kept, more)
}

/// The basis that interpolates at each of the strictly increasing `places`, not-a-knot.
/// `None` with fewer than two.
pub(super) fn through(places: &[f64]) -> Option<Basis> {
    with_room(places, [false; 2])
}

/// The same with one more function at the ends marked.
fn with_room(places: &[f64], more: [bool; 2]) -> Option<Basis> {
    let (first, last) = (*places.first()?, *places.last()?);
    let increasing = places.windows(2).all(|w| w[0] < w[1]);
    if places.len() < 2 || !increasing || !(last - first).is_finite() {
        return None;
    }
    let [before, after] = more.map(usize::from);
    let degree = DEGREE.min(places.len() - 1 + before + after);
    let mut breaks = vec![first];
    if places.len() + before + after > DEGREE + 1 {
        breaks.extend_from_slice(&places[3 - before..places.len() - 3 + after]);
    }
    breaks.push(last);
    Some(Basis::clamped(degree, &breaks))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_function_a_point_and_the_middle_knots_only() {
        let t: Vec<f64> = (0..10).map(f64::from).collect();
        let b = basis(&t, false, [false; 2]).expect("a basis");
        assert_eq!(b.len(), 10);
        assert_eq!(b.breaks(), [0.0, 3.0, 4.0, 5.0, 6.0, 9.0]);
        for n in 2..7 {
            let b = basis(&t[..n], true, [false; 2]).expect("a basis");
            assert_eq!((b.len(), b.degree()), (n, n - 1));
        }
        assert!(basis(&[1.0, 1.0], true, [false; 2]).is_none());
        assert!(basis(&[1.0], true, [false; 2]).is_none());
        assert!(basis(&[0.0, f64::INFINITY], true, [false; 2]).is_none());
    }

    #[test]
    fn an_end_with_a_condition_has_a_function_more() {
        let t: Vec<f64> = (0..10).map(f64::from).collect();
        for n in 2..=10 {
            for more in [[true, false], [false, true], [true, true]] {
                let b = basis(&t[..n], true, more).expect("a basis");
                let count = n + usize::from(more[0]) + usize::from(more[1]);
                assert_eq!(b.len(), count, "{n} {more:?}");
            }
        }
        let b = basis(&t, true, [true, false]).expect("a basis");
        assert_eq!(b.breaks(), [0.0, 2.0, 3.0, 4.0, 5.0, 6.0, 9.0]);
    }

    #[test]
    fn doubled_points_share_a_knot_and_the_ends_stay() {
        let t = [0.0, 0.0, 1.0, 2.0, 2.001, 3.0, 4.0, 5.0, 5.999, 6.0];
        let b = basis(&t, false, [false; 2]).expect("a basis");
        assert_eq!(b.range(), (0.0, 6.0));
        assert_eq!(b.len(), 7);
    }

    #[test]
    fn the_number_of_knots_is_capped() {
        let t: Vec<f64> = (0..100_000).map(f64::from).collect();
        assert_eq!(
            basis(&t, true, [false; 2]).expect("a basis").len(),
            MOST_SMOOTH
        );
        assert_eq!(basis(&t, false, [false; 2]).expect("a basis").len(), 51_000);
    }
}
