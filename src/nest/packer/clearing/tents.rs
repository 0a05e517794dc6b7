//! How much a part overlaps others as it slides up and down, and where least.

use crate::geom::Vec2;
use crate::nest::packer::chain::{Piece, rise};
use crate::nest::packer::room::SLACK;

/// A stretch of shifts in y at which a part overlaps a piece of another: the
/// depth rises from nothing at both ends, to no more than `cap`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Tent {
    /// Ends of the stretch, mm.
    pub down: f64,
    pub up: f64,
    /// Greatest depth, mm: the overlap in x, as moving aside would do too.
    pub cap: f64,
    /// What a millimetre of depth costs.
    pub weight: f64,
}

impl Tent {
    /// The overlap of a piece `p` shifted by `x`, as it slides up and down,
    /// with a piece `q` that lies still; `None` where there is none between
    /// the shifts `lo` and `hi`.
    pub(super) fn between(
        (p, x): (&Piece, f64),
        (q, at): (&Piece, Vec2),
        (lo, hi): (f64, f64),
        weight: f64,
        work: &mut u64,
    ) -> Option<Self> {
        let (x0, x1) = (
            (q.lo.x + at.x).max(p.lo.x + x),
            (q.hi.x + at.x).min(p.hi.x + x),
        );
        if x1 - x0 <= SLACK {
            return None;
        }
        *work += (q.lower.len() + p.lower.len()) as u64;
        let up = rise(&q.upper, at.x, &p.lower, x, x0, x1) + at.y;
        let down = at.y - rise(&p.upper, x, &q.lower, at.x, x0, x1);
        (up - down > 2.0 * SLACK && up > lo && down < hi).then_some(Self {
            down: down + SLACK,
            up: up - SLACK,
            cap: x1 - x0,
            weight,
        })
    }

    /// Depth of overlap at a shift, mm.
    pub(super) fn depth(&self, y: f64) -> f64 {
        (y - self.down).min(self.up - y).min(self.cap).max(0.0)
    }
}

/// The shift between `lo` and `hi` at which the tents together cost least,
/// and that cost: the sum runs straight between the ends of tents and of
/// their tops, so only those need looking at. Of equals the lowest, or the
/// highest where `high`.
pub(super) fn least(
    tents: &[Tent],
    (lo, hi): (f64, f64),
    high: bool,
    bends: &mut Vec<(f64, f64)>,
) -> (f64, f64) {
    bends.clear();
    let (mut cost, mut slope) = (0.0, 0.0);
    for t in tents {
        if t.down >= hi || t.up <= lo {
            continue;
        }
        let rise = t.cap.min(0.5 * (t.up - t.down));
        cost += t.weight * t.depth(lo);
        let mut steps = [
            (t.down, t.weight),
            (t.down + rise, -t.weight),
            (t.up - rise, -t.weight),
            (t.up, t.weight),
        ];
        for s in &mut steps {
            if s.0 <= lo {
                slope += s.1;
            } else if s.0 < hi {
                bends.push(*s);
            }
        }
    }
    bends.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    let mut best = (lo, cost);
    let mut y = lo;
    for &(to, change) in bends.iter().chain(std::iter::once(&(hi, 0.0))) {
        cost += slope * (to - y);
        y = to;
        slope += change;
        // Rounding of the running sum must not make one zero less than another.
        let least = best.1 - 1e-9 * (1.0 + best.1);
        if cost < least || (high && cost < best.1 + 1e-9 * (1.0 + best.1)) {
            best = (to, cost);
        }
    }
    (best.0, best.1.max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn tent(down: f64, up: f64) -> Tent {
        Tent {
            down,
            up,
            cap: f64::INFINITY,
            weight: 1.0,
        }
    }

    #[test]
    fn a_gap_between_two_costs_nothing() {
        let tents = [tent(-1.0, 4.0), tent(6.0, 11.0)];
        let mut bends = Vec::new();
        assert_eq!(least(&tents, (0.0, 10.0), false, &mut bends), (4.0, 0.0));
        assert_eq!(least(&tents, (0.0, 10.0), true, &mut bends), (6.0, 0.0));
    }

    proptest! {
        /// No shift of a fine row costs less.
        #[test]
        fn nothing_costs_less(
            raw in prop::collection::vec((-5.0..10.0f64, 0.1..8.0f64, 0.1..3.0f64, 0.5..4.0f64), 0..9),
            high in any::<bool>(),
        ) {
            let tents: Vec<Tent> = raw
                .iter()
                .map(|&(down, size, cap, weight)| Tent { down, up: down + size, cap, weight })
                .collect();
            let cost = |y: f64| tents.iter().map(|t| t.weight * t.depth(y)).sum::<f64>();
            let (y, found) = least(&tents, (0.0, 10.0), high, &mut Vec::new());
            prop_assert!((0.0..=10.0).contains(&y));
            prop_assert!((cost(y) - found).abs() < 1e-6);
            for k in 0..=1000 {
                prop_assert!(cost(f64::from(k) * 0.01) >= found - 1e-6);
            }
        }
    }
}
