//! Dividing a length at allowed places: the fewest pieces first, then the
//! most even. Stanchions, lift joints and butts all go through here.

/// Closed intervals, ascending and apart.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Spans(Vec<(f64, f64)>);

impl Spans {
    /// The union of any intervals; empty and reversed ones are dropped.
    pub(super) fn union(mut all: Vec<(f64, f64)>) -> Self {
        all.retain(|s| s.1 > s.0);
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut out: Vec<(f64, f64)> = Vec::new();
        for s in all {
            match out.last_mut() {
                Some(last) if s.0 <= last.1 => last.1 = last.1.max(s.1),
                _ => out.push(s),
            }
        }
        Self(out)
    }

    /// True strictly inside one of the intervals.
    pub(super) fn covers(&self, x: f64) -> bool {
        let i = self.0.partition_point(|s| s.1 <= x);
        self.0.get(i).is_some_and(|s| s.0 < x)
    }

    /// The intervals clipped to `from..=to`, as distances from `from`, or
    /// back from `to` where `flip` asks for it.
    pub(super) fn within(&self, from: f64, to: f64, flip: bool) -> Self {
        let local = |&(a, b): &(f64, f64)| {
            let (a, b) = (a.max(from), b.min(to));
            if flip {
                (to - b, to - a)
            } else {
                (a - from, b - from)
            }
        };
        Self::union(self.0.iter().map(local).collect())
    }

    /// The intervals themselves.
    pub(super) fn intervals(&self) -> &[(f64, f64)] {
        &self.0
    }

    /// What of `from..=to` lies outside all intervals, ascending.
    pub(super) fn free(&self, from: f64, to: f64) -> Vec<(f64, f64)> {
        let mut out = Vec::new();
        let mut at = from;
        for &(a, b) in &self.0 {
            if b <= from || a >= to {
                continue;
            }
            if a > at {
                out.push((at, a));
            }
            at = at.max(b);
        }
        if at < to {
            out.push((at, to));
        }
        out
    }
}

/// Spacing of the places that are tried, mm: fine enough that evenness to
/// the eye is not lost, coarse enough that a whole boat takes a millisecond.
const STEP: f64 = 20.0;

/// Places from 0 to `length`, both included, no further apart than the step,
/// none inside `barred`. Symmetric about the middle when `barred` is; the
/// edges of free intervals are places too, so that narrow ones are not missed.
pub(super) fn places(length: f64, barred: &Spans) -> Vec<f64> {
    let count = (length / STEP - 1e-9).ceil().max(1.0);
    let mut out = vec![0.0];
    let mut k = 1.0;
    while k < count {
        out.push(length * k / count);
        k += 1.0;
    }
    for (a, b) in barred.free(0.0, length) {
        out.extend([a, b, 0.5 * (a + b)]);
    }
    out.retain(|&x| x > 0.0 && x < length && !barred.covers(x));
    out.extend([0.0, length]);
    out.sort_by(f64::total_cmp);
    out.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
    out
}

/// Chooses places so that every piece is within reach: `reach(i)` is the
/// index of the furthest place a piece that starts at place i may end at.
/// Returns the indices of the chosen inner places, or the index of a place
/// from which no other can be reached.
///
/// Shortest path over (pieces, sum of squared lengths): the second part is
/// least when the pieces are even. Cost: places times places within reach.
pub(super) fn divide(places: &[f64], reach: &dyn Fn(usize) -> usize) -> Result<Vec<usize>, usize> {
    let n = places.len();
    let mut best = vec![(usize::MAX, f64::INFINITY, 0_usize); n];
    best[0] = (0, 0.0, 0);
    let mut furthest = 0;
    for i in 0..n - 1 {
        if best[i].0 == usize::MAX {
            continue;
        }
        let end = reach(i).min(n - 1);
        furthest = furthest.max(end);
        for j in i + 1..=end {
            let l = places[j] - places[i];
            let cost = (best[i].0 + 1, best[i].1 + l * l);
            // A gain below rounding is no gain: ties go to the earlier place.
            if cost.0 < best[j].0 || (cost.0 == best[j].0 && cost.1 < best[j].1 - 1e-6) {
                best[j] = (cost.0, cost.1, i);
            }
        }
    }
    if best[n - 1].0 == usize::MAX {
        return Err(furthest);
    }
    let mut out = Vec::new();
    let mut at = best[n - 1].2;
    while at > 0 {
        out.push(at);
        at = best[at].2;
    }
    out.reverse();
    Ok(out)
}

/// Places of a length at which it may be divided, in the order in which it is: from
/// its beginning, or back from its end.
pub(super) struct Divisible {
    pub at: Vec<f64>,
    offsets: Vec<f64>,
    flip: bool,
}

impl Divisible {
    pub(super) fn new(from: f64, to: f64, flip: bool, barred: &Spans) -> Self {
        let offsets = places(to - from, &barred.within(from, to, flip));
        let at = |x: &f64| if flip { to - x } else { from + x };
        Self {
            at: offsets.iter().map(at).collect(),
            offsets,
            flip,
        }
    }

    /// The inner places at which it is divided, ascending; or the place from which no
    /// other is within `reach`, as [`divide`] has it.
    pub(super) fn divided(&self, reach: &dyn Fn(usize) -> usize) -> Result<Vec<f64>, f64> {
        let chosen = divide(&self.offsets, reach).map_err(|stuck| self.at[stuck])?;
        let mut out: Vec<f64> = chosen.into_iter().map(|i| self.at[i]).collect();
        if self.flip {
            out.reverse();
        }
        Ok(out)
    }
}

/// Index of the last place not further than `limit` beyond place i.
pub(super) fn within(places: &[f64], i: usize, limit: f64) -> usize {
    places
        .partition_point(|&x| x <= places[i] + limit + 1e-6)
        .saturating_sub(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cut(length: f64, barred: Vec<(f64, f64)>, limit: f64) -> Vec<f64> {
        let p = places(length, &Spans::union(barred));
        divide(&p, &|i| within(&p, i, limit))
            .expect("can be divided")
            .into_iter()
            .map(|i| p[i])
            .collect()
    }

    #[test]
    fn an_open_length_is_cut_evenly_into_the_fewest_pieces() {
        assert_eq!(cut(9000.0, vec![], 3000.0), vec![3000.0, 6000.0]);
        assert_eq!(cut(2999.0, vec![], 3000.0), Vec::<f64>::new());
    }

    #[test]
    fn barred_lengths_are_kept_out_of() {
        let got = cut(6000.0, vec![(2800.0, 3300.0)], 3500.0);
        assert_eq!(got, vec![2800.0]);
    }

    #[test]
    fn a_length_with_nowhere_to_cut_is_an_error() {
        let p = places(5000.0, &Spans::union(vec![(100.0, 4900.0)]));
        assert!(divide(&p, &|i| within(&p, i, 3000.0)).is_err());
    }

    #[test]
    fn spans_join_and_complement() {
        let s = Spans::union(vec![(5.0, 8.0), (1.0, 2.0), (7.0, 9.0), (3.0, 3.0)]);
        assert_eq!(s.free(0.0, 10.0), vec![(0.0, 1.0), (2.0, 5.0), (9.0, 10.0)]);
        assert!(s.covers(8.5) && !s.covers(9.0) && !s.covers(3.0));
    }
}
