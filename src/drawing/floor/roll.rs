//! A chain's plates rolled out: distances along their outboard edges.

use super::input::Boat;
use crate::layout::{Along, Guide, Guides};

/// Distances are kept this far apart, mm, and found from the nearest before.
const STEP: f64 = 100.0;

/// A chain rolled out. Both plates begin at 0.
pub(super) struct Roll<'a> {
    pub(super) along: &'a Along,
    base: Vec<Kept<'a>>,
    top: Vec<Kept<'a>>,
}

/// Distances along one guide.
struct Kept<'a> {
    guide: &'a Guide,
    from: f64,
    step: f64,
    at: Vec<f64>,
}

impl<'a> Kept<'a> {
    fn new(guide: &'a Guide, begin: f64) -> Self {
        let (from, to) = guide.edge.basis.range();
        let count = ((to - from) / STEP).ceil().max(1.0);
        let step = (to - from) / count;
        let mut at = vec![begin];
        let (mut k, mut x) = (0.0, begin);
        while k < count {
            x += guide.edge_length(from + k * step, from + (k + 1.0) * step);
            at.push(x);
            k += 1.0;
        }
        Self {
            guide,
            from,
            step,
            at,
        }
    }

    fn end(&self) -> f64 {
        self.at.last().copied().unwrap_or_default()
    }

    fn at(&self, t: f64) -> f64 {
        let last = self.at.len() - 1;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "clamped to the table"
        )]
        let k = ((t - self.from) / self.step).clamp(0.0, last as f64) as usize;
        let near = self.from + k as f64 * self.step;
        self.at[k] + self.guide.edge_length(near, t)
    }
}

impl<'a> Roll<'a> {
    pub(super) fn new(along: &'a Along) -> Self {
        let kept = |guide: fn(&Guides) -> &Guide| {
            let mut begin = 0.0;
            let mut out = Vec::new();
            for guides in &along.lengths {
                let one = Kept::new(guide(guides), begin);
                begin = one.end();
                out.push(one);
            }
            out
        };
        Self {
            along,
            base: kept(|g| &g.base),
            top: kept(|g| &g.top),
        }
    }

    /// Length of the base plate's edge, mm.
    pub(super) fn length(&self) -> f64 {
        self.base.last().map_or(0.0, Kept::end)
    }

    /// Distance of a place of the base plate.
    pub(super) fn base(&self, length: usize, t: f64) -> f64 {
        self.base[length].at(t)
    }

    /// Distance of a place of the top plate, by its own parameter.
    pub(super) fn top(&self, length: usize, u: f64) -> f64 {
        self.top[length].at(u)
    }

    /// The smooth length that holds t.
    pub(super) fn length_at(&self, t: f64) -> usize {
        let holds = |g: &Guides| t <= g.range().1;
        let last = self.along.lengths.len() - 1;
        (self.along.lengths.iter().position(holds)).unwrap_or(last)
    }

    /// Length and t at a distance along the base plate's edge.
    pub(super) fn place(&self, x: f64) -> (usize, f64) {
        let last = self.base.len() - 1;
        let length = (self.base.iter().position(|b| x <= b.end())).unwrap_or(last);
        let (mut lo, mut hi) = self.along.lengths[length].range();
        for _ in 0..50 {
            let mid = 0.5 * (lo + hi);
            if self.base(length, mid) < x {
                lo = mid;
            } else {
                hi = mid;
            }
        }
        (length, 0.5 * (lo + hi))
    }
}

/// The least distance between neighbouring stanchions, mm.
pub(super) fn nearest_stanchions(boat: &Boat<'_>, rolls: &[Roll<'_>]) -> f64 {
    let mut all: Vec<(usize, f64)> = boat
        .stanchions()
        .map(|s| {
            let roll = &rolls[s.chain];
            (s.chain, roll.base(roll.length_at(s.t), s.t))
        })
        .collect();
    all.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let pairs = all.windows(2).filter(|p| p[0].0 == p[1].0);
    // Those that hands put closer than they are wide are told in any case.
    let least = 2.0 * boat.job.stanchions.side;
    pairs
        .map(|p| p[1].1 - p[0].1)
        .fold(f64::INFINITY, f64::min)
        .max(least)
}
