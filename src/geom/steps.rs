//! Even steps over a length.

/// Places from `from` to `from + over`, both included, in so many steps: a whole number.
pub fn evenly(from: f64, over: f64, steps: f64) -> impl Iterator<Item = f64> {
    std::iter::successors(Some(0.0), |k| Some(k + 1.0))
        .take_while(move |&k| k <= steps)
        .map(move |k| from + over * k / steps)
}

/// Places from `a` to `b`, both included, evenly and no further apart than `most`.
pub fn apart(a: f64, b: f64, most: f64) -> impl Iterator<Item = f64> {
    evenly(a, b - a, ((b - a) / most).ceil().max(1.0))
}
