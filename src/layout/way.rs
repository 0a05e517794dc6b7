//! Finding the way along a faired chain: places, sides, names, guides.

use std::sync::Arc;

use super::strip::{EndCut, Guide};
use crate::fair::{FairChain, FairEdge, FairLength, reference_inboard};
use crate::fault::{Fault, Kind, Place};
use crate::geom::bspline::Spline;
use crate::geom::{Vec2, Vec3, trig, vec2, vec3};
use crate::job::{At, Job, Position, Side, TopSlope};
use crate::length::{Unit, show, trimmed};
use crate::survey::End;

/// The two plates' guides on one smooth length of a chain.
#[derive(Debug, Clone)]
pub struct Guides {
    /// Base plate, by t.
    pub base: Arc<Guide>,
    /// Top plate, by u.
    pub top: Arc<Guide>,
    /// u over t.
    pub top_of: Spline<1>,
}

/// A chain with what the layout needs to move along it.
#[derive(Debug)]
pub(super) struct Way<'a> {
    pub job: &'a Job,
    pub index: usize,
    pub chain: &'a FairChain,
    pub guides: Vec<Guides>,
    /// Decimals of a bare number of the survey that its accuracy warrants.
    pub decimals: usize,
}

/// Decimals of the finest last figure that is no finer than the accuracy, mm,
/// of bare numbers in the survey's tables; of several units the most.
fn warranted(job: &Job, accuracy: f64) -> usize {
    /// A millionth of the unit: no survey is finer.
    const MOST: usize = 6;
    let of = |unit: Unit| {
        // Fractions and eighths are as fine as they were booked.
        let Some(mut last) = unit.mm() else {
            return 0;
        };
        let mut decimals = 0;
        while last > accuracy && decimals < MOST {
            last /= 10.0;
            decimals += 1;
        }
        decimals
    };
    let units = job.survey.files.iter().map(|f| f.unit);
    (units.map(|u| of(u.unwrap_or(job.survey.unit))).max()).unwrap_or(MOST)
}

/// Places along the edge at which a station is looked for, mm apart: nearer than
/// any two turns of an edge.
const STEP: f64 = 50.0;

/// An even slope along a line.
pub(super) fn constant(like: &Spline<3>, value: f64) -> Spline<1> {
    Spline {
        coefficients: vec![[value]; like.basis.len()],
        basis: like.basis.clone(),
    }
}

impl Guides {
    fn new(length: &FairLength, job: &Job) -> Option<Self> {
        let base = Guide {
            edge: length.base.clone(),
            slope: length.slope.clone(),
            offset: reference_inboard(job),
            inset: 0.0,
            lift: job.bedding + job.base.thickness / 2.0,
            width: job.base.width,
        };
        let slope = match job.top_slope {
            TopSlope::Level => constant(&length.top, 0.0),
            TopSlope::Angle(a) => constant(&length.top, trig::tan(a)),
            TopSlope::Deck => deck_slope_on_top(length)?,
        };
        let top = Guide {
            edge: length.top.clone(),
            slope,
            offset: 0.0,
            inset: 0.0,
            lift: -job.top.thickness / 2.0,
            width: job.top.width,
        };
        Some(Self {
            base: Arc::new(base),
            top: Arc::new(top),
            top_of: length.top_of.clone(),
        })
    }

    /// Range of t.
    #[must_use]
    pub fn range(&self) -> (f64, f64) {
        self.base.edge.basis.range()
    }

    /// u of the top line square to the base line at t.
    #[must_use]
    pub fn u(&self, t: f64) -> f64 {
        self.top_of.at(t)[0]
    }
}

/// The deck's slope carried up to the top line: the same value square above,
/// as a spline over u through densely taken values.
fn deck_slope_on_top(length: &FairLength) -> Option<Spline<1>> {
    let (a, b) = length.base.basis.range();
    // Four values a knot span determine a quintic piece with room to spare.
    let count = 4 * (length.base.basis.breaks().len() + 2);
    let (mut us, mut slopes) = (Vec::new(), Vec::new());
    for k in 0..=count {
        let t = a + (b - a) * k as f64 / count as f64;
        us.push(length.top_of.at(t)[0]);
        slopes.push([length.slope.at(t)[0]]);
    }
    Spline::fit(length.top.basis.clone(), &us, &slopes)
}

impl<'a> Way<'a> {
    /// Guides of every length of a chain.
    ///
    /// # Errors
    /// If a line cannot be followed (not finite).
    pub(super) fn new(job: &'a Job, edge: &'a FairEdge, index: usize) -> Result<Self, Fault> {
        let chain = &edge.chains[index];
        let guides: Option<Vec<_>> = chain.lengths.iter().map(|l| Guides::new(l, job)).collect();
        let guides = guides.ok_or_else(|| {
            Fault::new(
                Kind::Geometry,
                job.place("top.slope"),
                "the deck's slope cannot be carried up to the top plate",
                "check slopes and leans in the survey, or make the top plate level",
            )
        })?;
        Ok(Self {
            job,
            index,
            chain,
            guides,
            decimals: warranted(job, edge.accuracy.mm()),
        })
    }

    /// A station's name as it is marked: of a bare number, alone or after `x`,
    /// no more decimals than the survey's accuracy warrants.
    pub(super) fn marked(&self, name: &str) -> String {
        let figure = name.strip_prefix("x ").unwrap_or(name);
        let decimals = figure.split_once('.').map_or(0, |(_, d)| d.len());
        match figure.parse::<f64>() {
            Ok(value) if decimals > self.decimals && value.is_finite() => {
                let kept = trimmed(value, self.decimals);
                name.replace(figure, &kept)
            }
            _ => name.to_owned(),
        }
    }

    /// First and last t.
    pub(super) fn range(&self) -> (f64, f64) {
        let first = self.guides.first().map_or(0.0, |g| g.range().0);
        let last = self.guides.last().map_or(0.0, |g| g.range().1);
        (first, last)
    }

    /// Index of the smooth length that holds t.
    pub(super) fn length_at(&self, t: f64) -> usize {
        self.guides
            .iter()
            .position(|g| t <= g.range().1)
            .unwrap_or(self.guides.len() - 1)
    }

    /// Point of the faired surveyed line.
    pub(super) fn point(&self, t: f64) -> Vec3 {
        let [x, y, z] = self.guides[self.length_at(t)].base.edge.at(t);
        vec3(x, y, z)
    }

    /// Side at t.
    pub(super) fn side(&self, t: f64) -> Side {
        if self.point(t).y >= 0.0 {
            Side::Port
        } else {
            Side::Starboard
        }
    }

    /// Whether a smooth length runs across the boat, as a transom does: more
    /// athwart than fore and aft all along.
    pub(super) fn goes_across(&self, length: usize) -> bool {
        let guides = &self.guides[length];
        let (a, b) = guides.range();
        let steps = ((b - a) / STEP).ceil().max(1.0);
        let mut k = 0.0;
        while k <= steps {
            let tangent = guides.base.tangent(a + (b - a) * k / steps);
            if tangent.y.abs() <= tangent.x.abs() {
                return false;
            }
            k += 1.0;
        }
        true
    }

    /// A stretch in pieces that each lie on one side, in order: with the side,
    /// from and to.
    pub(super) fn by_side(&self, from: f64, to: f64) -> Vec<(Side, f64, f64)> {
        let steps = ((to - from) / STEP).ceil().max(1.0);
        let mut out = vec![(self.side(from), from, to)];
        let mut k = 1.0;
        while k <= steps {
            let (mut lo, mut hi) = (
                from + (to - from) * (k - 1.0) / steps,
                from + (to - from) * k / steps,
            );
            k += 1.0;
            let (before, after) = (self.side(lo), self.side(hi));
            if before == after {
                continue;
            }
            for _ in 0..60 {
                let mid = 0.5 * (lo + hi);
                if self.side(mid) == before {
                    lo = mid;
                } else {
                    hi = mid;
                }
            }
            if let Some(last) = out.last_mut() {
                last.2 = lo;
            }
            out.push((after, lo, to));
        }
        out
    }

    /// Place for people: side and station, and near a stern, where the edge
    /// runs athwart and a station says little, the distance off the centreline.
    pub(super) fn name(&self, t: f64) -> String {
        format!("{}, {}", self.side(t).name(), self.station(t))
    }

    /// The same without the side.
    pub(super) fn station(&self, t: f64) -> String {
        match self.figure(t) {
            (figure, true) => format!("{figure} off the centreline"),
            (figure, false) => format!("station {figure}"),
        }
    }

    /// The figure that tells a place, and whether it is off the centreline.
    fn figure(&self, t: f64) -> (String, bool) {
        let p = self.point(t);
        let tangent = self.guides[self.length_at(t)].base.tangent(t);
        let athwart = tangent.y.abs() > tangent.x.abs();
        let mm = if athwart {
            p.y.abs()
        } else {
            as_counted(p.x, self.job)
        };
        (show(mm, self.job.show), athwart)
    }

    /// A stretch in the words of a label, which are short, what both ends share told once: `port, sta
    /// 2105 mm to 5600 mm`, `port, sta 200 mm to 1300 mm off CL`, and across
    /// the boat `port 1300 mm to stbd 1300 mm off CL`.
    pub(super) fn stretch(&self, ends: [f64; 2]) -> String {
        let [(a, off_a), (b, off_b)] = ends.map(|t| self.figure(t));
        let [from, to] = ends.map(|t| self.side(t).short());
        let first = match (off_a, off_b) {
            (false, _) => format!("sta {a}"),
            (true, false) => format!("{a} off CL"),
            (true, true) => a,
        };
        let last = match (off_a, off_b) {
            (_, true) => format!("{b} off CL"),
            (true, false) => format!("sta {b}"),
            (false, false) => b,
        };
        if from == to {
            format!("{from}, {first} to {last}")
        } else {
            format!("{from} {first} to {to} {last}")
        }
    }

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
        let steps = ((b - a) / STEP).ceil().max(1.0);
        let mut out: Option<(f64, f64)> = None;
        let mut k = 0.0;
        while k <= steps {
            let t = a + (b - a) * k / steps;
            k += 1.0;
            if on(self.side(t)) {
                let x = self.point(t).x;
                let (lo, hi) = out.unwrap_or((x, x));
                out = Some((lo.min(x), hi.max(x)));
            }
        }
        out
    }

    /// The sides that the chain runs along: those on which it goes a tenth as
    /// far from the centreline as it goes at all. Its ends alone do not tell:
    /// one that meets the centreline may lie a hair over it.
    fn chain_sides(&self) -> Vec<Side> {
        let (a, b) = self.range();
        let steps = ((b - a) / STEP).ceil().max(1.0);
        let (mut port, mut starboard) = (0.0_f64, 0.0_f64);
        let mut k = 0.0;
        while k <= steps {
            let y = self.point(a + (b - a) * k / steps).y;
            k += 1.0;
            port = port.max(y);
            starboard = starboard.max(-y);
        }
        let least = 0.1 * port.max(starboard);
        [(Side::Port, port), (Side::Starboard, starboard)]
            .into_iter()
            .filter_map(|(side, far)| (far >= least).then_some(side))
            .collect()
    }

    /// First crossing of a station on the wanted side, by bisection between
    /// places [`STEP`] apart.
    fn find_station(&self, x: f64, side: Option<Side>) -> Option<f64> {
        let (a, b) = self.range();
        let steps = ((b - a) / STEP).ceil().max(1.0);
        let off = |t: f64| self.point(t).x - x;
        let mut k = 0.0;
        while k < steps {
            let (mut lo, mut hi) = (a + (b - a) * k / steps, a + (b - a) * (k + 1.0) / steps);
            k += 1.0;
            if off(lo) * off(hi) > 0.0 {
                continue;
            }
            for _ in 0..60 {
                let mid = 0.5 * (lo + hi);
                if off(lo) * off(mid) <= 0.0 {
                    hi = mid;
                } else {
                    lo = mid;
                }
            }
            if side.is_none_or(|s| self.side(lo) == s) {
                return Some(lo);
            }
        }
        None
    }

    /// Net ends of both plates where a run begins or ends inside a length or
    /// at a chain's end: (base, top).
    pub(super) fn end_cuts(&self, t: f64) -> Result<(EndCut, EndCut), Fault> {
        let (a, b) = self.range();
        let end = if (t - a).abs() < 1e-6 {
            Some(self.chain.ends[0])
        } else if (t - b).abs() < 1e-6 {
            Some(self.chain.ends[1])
        } else {
            None
        };
        let length = self.length_at(t);
        match end {
            Some(End::Centreline { y }) => self
                .plane_cuts(length, t, vec2(0.0, y), vec2(0.0, 1.0))
                .ok_or_else(|| self.ends_off(t, y)),
            _ => Ok((EndCut::Across(t), EndCut::Across(self.guides[length].u(t)))),
        }
    }

    /// Mitres of both plates at the knuckle between a length and the next:
    /// in the plane that bisects the corner in plan, `back` mm short of it on
    /// either side. `after` asks for the first end of the next length.
    pub(super) fn mitre_cuts(
        &self,
        length: usize,
        after: bool,
        back: f64,
    ) -> Result<(EndCut, EndCut), Fault> {
        let t = self.guides[length].range().1;
        let before = self.guides[length].base.tangent(t);
        let beyond = self.guides[length + 1].base.tangent(t);
        let normal = (before + beyond).unit();
        let sign = if after { 1.0 } else { -1.0 };
        let through = self.point(t).plan() + normal * (sign * back);
        self.plane_cuts(length + usize::from(after), t, through, normal)
            .ok_or_else(|| {
                Fault::new(
                    Kind::Geometry,
                    Place::file(&self.job.file).station(self.name(t)),
                    "the plates do not meet in a mitre at this corner",
                    "check the points on either side of the corner, or round it: take its `knuckle` out",
                )
            })
    }

    fn plane_cuts(
        &self,
        length: usize,
        t: f64,
        through: Vec2,
        normal: Vec2,
    ) -> Option<(EndCut, EndCut)> {
        let g = &self.guides[length];
        let base = g.base.oblique(through, normal, t);
        let top = g.top.oblique(through, normal, g.u(t));
        base.zip(top)
    }

    /// A fault of an end that the job mitres on the plane at `y`, too far from
    /// it for plates to reach.
    fn ends_off(&self, t: f64, y: f64) -> Fault {
        let (a, b) = self.range();
        let x = |t: f64| self.point(t).x;
        let aft = x(t) < x(a).max(x(b)) - STEP;
        let (field, mend) = if aft {
            (
                "survey.stern",
                "survey the edge to where the sides meet, or set survey.stern = \"transom\" for a boat that has one, or \"open\" where no bulwark crosses the stern",
            )
        } else {
            (
                "survey.stem",
                "survey the edge to the stem, check survey.stem_half_siding, or set survey.stem = \"square\"",
            )
        };
        let off = (self.point(t).y.abs() - y.abs()).abs();
        let plane = if y.abs() > 0.0 {
            "the half-siding"
        } else {
            "the centreline"
        };
        Fault::new(
            Kind::Geometry,
            self.job.place(field).station(self.name(t)),
            format!(
                "the edge ends {} off {plane}, on which \"mitre\" joins the plates of both sides, and they do not reach it",
                show(off, self.job.show)
            ),
            mend,
        )
    }
}

/// A position of the job on whichever chain holds it; `what` stands there.
pub(super) fn locate(
    ways: &[Way<'_>],
    position: &Position,
    (what, field): (&str, &str),
    job: &Job,
) -> Result<(usize, f64), Fault> {
    let found: Vec<(usize, f64)> = ways
        .iter()
        .filter_map(|w| w.find(position).map(|t| (w.index, t)))
        .collect();
    let one_sided = ways.iter().flat_map(Way::chain_sides).count() == 1;
    if position.side.is_none() && !one_sided && matches!(position.at, At::X(_)) {
        return Err(Fault::new(
            Kind::Missing,
            job.place(field),
            "a station alone does not say which side is meant",
            "add side = \"port\" or side = \"starboard\" to the position",
        ));
    }
    found.first().copied().ok_or_else(|| {
        let side = position
            .side
            .map_or(String::new(), |s| format!("{}, ", s.name()));
        let reach = ways.iter().filter_map(|w| w.reach(position));
        let reach = reach.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)));
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
        Fault::new(
            Kind::Range,
            job.place(field),
            format!(
                "{what} at {side}{} lies off the surveyed edge",
                as_placed(position.at, job)
            ),
            mend,
        )
    })
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

/// A station as the survey counts, from x.
fn as_counted(x: f64, job: &Job) -> f64 {
    if job.survey.stations_aft { -x } else { x }
}

/// All chains.
pub(super) fn ways<'a>(edge: &'a FairEdge, job: &'a Job) -> Result<Vec<Way<'a>>, Fault> {
    (0..edge.chains.len())
        .map(|index| Way::new(job, edge, index))
        .collect()
}
