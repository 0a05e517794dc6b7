//! What the job places along the edge, found on its chains.

use super::chain::{Chain, STEP, as_counted, bisected};
use crate::fault::{Fault, Kind};
use crate::geom::steps::apart;
use crate::job::{At, Job, Position, Side};
use crate::length::show;

impl Chain<'_> {
    /// t of a position of the job on this chain; `None` where it is not here.
    pub(super) fn find(&self, position: &Position) -> Option<f64> {
        let (a, b) = self.range();
        let has = |side| self.chain_sides().contains(&side);
        match position.at {
            At::Along(s) => {
                let t = match position.side {
                    Some(Side::Starboard) if has(Side::Starboard) => b - s,
                    Some(Side::Port) if has(Side::Port) => a + s,
                    None if has(Side::Port) => a + s,
                    _ => return None,
                };
                (t >= a - 1e-6 && t <= b + 1e-6).then(|| t.clamp(a, b))
            }
            At::X(x) => self.find_station(x, position.side),
        }
    }

    /// The range of a position's figure on its side of this chain, mm: places
    /// along the edge, or x; `None` where the chain is of the other side.
    fn reach(&self, position: &Position) -> Option<(f64, f64)> {
        let (a, b) = self.range();
        let on = |side: Side| position.side.is_none_or(|s| s == side);
        if !self.chain_sides().into_iter().any(on) {
            return None;
        }
        if let At::Along(_) = position.at {
            return Some((0.0, b - a));
        }
        let own = apart(a, b, STEP).filter(|&t| on(self.side(t)));
        own.map(|t| (self.point(t).x, self.point(t).x)).reduce(both)
    }

    /// The sides that the chain runs along: those on which it goes a tenth as
    /// far from the centreline as it goes at all. Its ends alone do not tell:
    /// one that meets the centreline may lie a hair over it.
    fn chain_sides(&self) -> Vec<Side> {
        let (a, b) = self.range();
        let (mut port, mut starboard) = (0.0_f64, 0.0_f64);
        for t in apart(a, b, STEP) {
            let y = self.point(t).y;
            port = port.max(y);
            starboard = starboard.max(-y);
        }
        let least = 0.1 * port.max(starboard);
        let far = [(Side::Port, port), (Side::Starboard, starboard)].into_iter();
        far.filter_map(|(side, far)| (far >= least).then_some(side))
            .collect()
    }

    /// First crossing of a station on the wanted side, by bisection between
    /// places [`STEP`] apart.
    fn find_station(&self, x: f64, side: Option<Side>) -> Option<f64> {
        let (a, b) = self.range();
        let off = |t: f64| self.point(t).x - x;
        let places: Vec<f64> = apart(a, b, STEP).collect();
        let crossings = (places.windows(2))
            .filter(|w| off(w[0]) * off(w[1]) <= 0.0)
            .map(|w| bisected(w[0], w[1], |t| off(w[0]) * off(t) > 0.0));
        crossings
            .into_iter()
            .find(|&t| side.is_none_or(|s| self.side(t) == s))
    }
}

/// A position of the job on whichever chain holds it; `what` stands there.
pub(super) fn locate(
    chains: &[Chain<'_>],
    position: &Position,
    (what, field): (&str, &str),
    job: &Job,
) -> Result<(usize, f64), Fault> {
    let mut found = chains
        .iter()
        .filter_map(|c| Some((c.index, c.find(position)?)));
    let one_sided = chains.iter().flat_map(Chain::chain_sides).count() == 1;
    if position.side.is_none() && !one_sided && matches!(position.at, At::X(_)) {
        let what = "a station alone does not say which side is meant";
        let mend = "add side = \"port\" or side = \"starboard\" to the position";
        return Err(Fault::new(Kind::Missing, job.place(field), what, mend));
    }
    found.next().ok_or_else(|| {
        let side = position
            .side
            .map_or(String::new(), |s| format!("{}, ", s.name()));
        let reach = chains.iter().filter_map(|w| w.reach(position));
        let reach = reach.reduce(both);
        let mend = reach.map_or_else(
            || "that side is not surveyed: correct `side`".to_owned(),
            |(lo, hi)| match position.at {
                At::Along(_) => format!("the edge of that side is {} long", show(hi, job.show)),
                At::X(_) => {
                    let (a, b) = (as_counted(lo, job), as_counted(hi, job));
                    let (a, b) = (show(a.min(b), job.show), show(a.max(b), job.show));
                    format!("the edge of that side runs from station {a} to station {b}")
                }
            },
        );
        let at = as_placed(position.at, job);
        let what = format!("{what} at {side}{at} lies off the surveyed edge");
        Fault::new(Kind::Range, job.place(field), what, mend)
    })
}

/// A reach that holds two.
fn both(a: (f64, f64), b: (f64, f64)) -> (f64, f64) {
    (a.0.min(b.0), a.1.max(b.1))
}

/// A place as the job gives it, without the side.
fn as_placed(at: At, job: &Job) -> String {
    match at {
        At::Along(s) => format!("{} along the edge", show(s, job.show)),
        At::X(x) => format!("station {}", show(as_counted(x, job), job.show)),
    }
}

/// The same in the words of a label.
pub(super) fn as_placed_short(at: At, job: &Job) -> String {
    match at {
        At::Along(s) => format!("{} along", show(s, job.show)),
        At::X(x) => format!("sta {}", show(as_counted(x, job), job.show)),
    }
}
