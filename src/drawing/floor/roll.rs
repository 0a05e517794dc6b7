//! A chain's plates rolled out: distances along their outboard edges.

use super::input::Boat;
use crate::layout::{Along, Guide, Guides};

/// Distances are kept this far apart, mm. Between them runs the cubic through
/// both with the edge's own speed there: off by less than a micrometre.
const STEP: f64 = 50.0;

/// A chain rolled out. Both plates begin at 0.
pub(super) struct Roll<'a> {
    pub(super) along: &'a Along,
    base: Vec<Kept>,
    top: Vec<Kept>,
}

/// Distances along one guide.
struct Kept {
    from: f64,
    step: f64,
    /// Distance, and its growth in a step.
    at: Vec<(f64, f64)>,
}

impl Kept {
    fn new(guide: &Guide, begin: f64) -> Self {
        let (from, to) = guide.edge.basis.range();
        let count = ((to - from) / STEP).ceil().max(1.0);
        let step = (to - from) / count;
        let growth = |t: f64| step * guide.edge_speed(t);
        let mut at = vec![(begin, growth(from))];
        let (mut k, mut x) = (0.0, begin);
        while k < count {
            let next = from + (k + 1.0) * step;
            x += guide.edge_length(from + k * step, next);
            at.push((x, growth(next)));
            k += 1.0;
        }
        Self { from, step, at }
    }

    fn end(&self) -> f64 {
        self.at.last().map_or(0.0, |last| last.0)
    }

    fn at(&self, t: f64) -> f64 {
        let last = self.at.len() - 2;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "clamped to the table"
        )]
        let k = ((t - self.from) / self.step).clamp(0.0, last as f64) as usize;
        let f = (t - self.from) / self.step - k as f64;
        let ((a, grows_a), (b, grows_b)) = (self.at[k], self.at[k + 1]);
        let g = 1.0 - f;
        a * g * g * (1.0 + 2.0 * f)
            + b * f * f * (3.0 - 2.0 * f)
            + f * g * (grows_a * g - grows_b * f)
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::bspline::{Basis, Spline};

    /// A round quarter of some 1,200 mm, rising.
    #[test]
    fn distances_are_those_of_the_edge_between_those_kept() {
        let basis = Basis::clamped(5, &[0.0, 700.0, 1900.0]);
        let places = [
            [0.0, 0.0, 0.0],
            [300.0, 0.0, 20.0],
            [700.0, 90.0, 40.0],
            [1000.0, 420.0, 90.0],
            [1150.0, 800.0, 120.0],
            [1200.0, 1000.0, 150.0],
            [1200.0, 1300.0, 170.0],
        ];
        let guide = Guide {
            edge: Spline {
                basis: basis.clone(),
                coefficients: places[..basis.len()].to_vec(),
            },
            slope: Spline {
                coefficients: vec![[0.05]; basis.len()],
                basis,
            },
            offset: 40.0,
            inset: 0.0,
            lift: 8.0,
            width: 180.0,
        };
        let kept = Kept::new(&guide, 25.0);
        for k in 0..=190 {
            let t = 10.0 * f64::from(k);
            let off = kept.at(t) - 25.0 - guide.edge_length(0.0, t);
            assert!(off.abs() < 1e-3, "{off} mm at {t}");
        }
    }
}
