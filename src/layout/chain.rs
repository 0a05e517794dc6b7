//! A faired chain with its guides: places, sides, names, ends.

use super::guides::Guides;
use super::strip::EndCut;
use crate::fair::{FairChain, FairEdge};
use crate::fault::{Fault, Kind, Place};
use crate::geom::steps::apart;
use crate::geom::{Vec2, Vec3, vec2, vec3};
use crate::job::{Job, Side};
use crate::length::{Unit, show, trimmed};
use crate::survey::End;

/// A chain with what the layout needs to move along it.
#[derive(Debug)]
pub(super) struct Chain<'a> {
    pub job: &'a Job,
    pub index: usize,
    pub fair: &'a FairChain,
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
pub(super) const STEP: f64 = 50.0;

impl<'a> Chain<'a> {
    /// Guides of every length of a chain.
    ///
    /// # Errors
    /// If a line cannot be followed (not finite).
    pub(super) fn new(job: &'a Job, edge: &'a FairEdge, index: usize) -> Result<Self, Fault> {
        let fair = &edge.chains[index];
        let guides: Option<Vec<_>> = fair.lengths.iter().map(|l| Guides::new(l, job)).collect();
        let guides = guides.ok_or_else(|| {
            let what = "the deck's slope cannot be carried up to the top plate";
            let mend = "check slopes and leans in the survey, or make the top plate level";
            Fault::new(Kind::Geometry, job.place("top.slope"), what, mend)
        })?;
        Ok(Self {
            job,
            index,
            fair,
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

    /// Plan unit tangent of that line.
    pub(super) fn tangent(&self, t: f64) -> Vec2 {
        self.guides[self.length_at(t)].base.tangent(t)
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
        apart(a, b, STEP).all(|t| is_athwart(guides.base.tangent(t)))
    }

    /// A stretch in pieces that each lie on one side, in order: with the side,
    /// from and to.
    pub(super) fn by_side(&self, from: f64, to: f64) -> Vec<(Side, f64, f64)> {
        let places: Vec<f64> = apart(from, to, STEP).collect();
        let mut out = vec![(self.side(from), from, to)];
        for pair in places.windows(2) {
            let [before, after] = [pair[0], pair[1]].map(|t| self.side(t));
            if before != after {
                let at = bisected(pair[0], pair[1], |t| self.side(t) == before);
                if let Some(last) = out.last_mut() {
                    last.2 = at;
                }
                out.push((after, at, to));
            }
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
        let athwart = is_athwart(self.tangent(t));
        let mm = if athwart {
            p.y.abs()
        } else {
            as_counted(p.x, self.job)
        };
        (show(mm, self.job.show), athwart)
    }

    /// A fault of what is made there, at a key of the job.
    pub(super) fn fault(
        &self,
        field: impl AsRef<str>,
        t: f64,
        what: impl Into<String>,
        mend: &str,
    ) -> Fault {
        let place = self.job.place(field).station(self.name(t));
        Fault::new(Kind::Geometry, place, what, mend)
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

    /// Net ends of both plates where a run begins or ends inside a length or
    /// at a chain's end: (base, top).
    pub(super) fn end_cuts(&self, t: f64) -> Result<(EndCut, EndCut), Fault> {
        let (a, b) = self.range();
        let end = if (t - a).abs() < 1e-6 {
            Some(self.fair.ends[0])
        } else if (t - b).abs() < 1e-6 {
            Some(self.fair.ends[1])
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
        let what = format!(
            "the edge ends {} off {plane}, on which \"mitre\" joins the plates of both sides, and they do not reach it",
            show(off, self.job.show)
        );
        self.fault(field, t, what, mend)
    }
}

/// True where an edge runs more athwart than fore and aft.
pub(super) fn is_athwart(tangent: Vec2) -> bool {
    tangent.y.abs() > tangent.x.abs()
}

/// The last place before which something holds, which holds at `lo` and not at `hi`.
pub(super) fn bisected(mut lo: f64, mut hi: f64, holds: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..60 {
        let mid = 0.5 * (lo + hi);
        if holds(mid) {
            lo = mid;
        } else {
            hi = mid;
        }
    }
    lo
}

/// A station as the survey counts, from x.
pub(super) fn as_counted(x: f64, job: &Job) -> f64 {
    if job.survey.stations_aft { -x } else { x }
}

/// All chains.
pub(super) fn chains<'a>(edge: &'a FairEdge, job: &'a Job) -> Result<Vec<Chain<'a>>, Fault> {
    (0..edge.chains.len())
        .map(|index| Chain::new(job, edge, index))
        .collect()
}
