//! Both sides averaged to one.

use super::super::base::{BaseLine, base_lines, tolerance};
use super::super::curve::{foot, frame};
use super::super::edge::FairEdge;
use super::super::no_line::place_of;
use super::super::slope::{self, Deck, straight_between};
use super::super::top::Stated;
use super::even;
use crate::fault::{Fault, Faults, Kind, Place};
use crate::geom::bspline::Spline;
use crate::geom::{Vec3, vec3};
use crate::job::{Job, Side};
use crate::survey::{Chain, Point, SlopeGiven, Survey};

/// Knuckles of one corner may lie this share of the shorter smooth length
/// beside them apart. Further, they are not the same corner: one side has one
/// that the other has not.
const ONE_CORNER: f64 = 0.25;

/// A point of starboard this near to one of port, as a share of the distance to its own
/// neighbours, is no place of its own on the line: it counts through what
/// starboard differs by. More than half, so that stations that lie half way between
/// those of port leave one point a station, as errors that are told apart
/// by the fit need; less than one, so that a place that port has not is kept.
const NO_PLACE: f64 = 0.6;

/// The same where its row gives a tolerance, which belongs to that very place; and
/// two rows further apart are never one station.
const ONE_STATION: f64 = 0.25;

/// Rows of both sides this near in x, mm, are booked at one station, and their
/// figures averaged as they are; nearer to the centreline than this a point lies on it.
const SAME_MM: f64 = 0.5;

/// Places of a line that the nearest to a first point is looked for among.
const COARSE: u32 = 64;

/// The averaged survey and its base lines, exactly even.
pub(in crate::fair) struct Even {
    pub(in crate::fair) survey: Survey,
    pub(in crate::fair) bases: Vec<Vec<BaseLine>>,
}

/// A smooth length of a measured side with its own line.
struct Length<'a> {
    points: &'a [Point],
    piece: &'a BaseLine,
    /// Where any row gives slopes.
    slope: Option<Spline<1>>,
    /// Where any row gives heights or leans.
    stated: Option<&'a Stated>,
}

/// What the rows of a side give at a place of its line.
struct Given {
    /// Slope of the covering board square to the edge.
    slope: Option<f64>,
    /// Height, mm, and lean, rad.
    stated: Option<(f64, f64)>,
}

/// A measured point as it lies on port's side.
struct Row {
    point: Point,
    /// Place along port's own line, mm.
    t: f64,
    /// Place along its own side's own line, mm.
    own: f64,
    /// From port's own line, outboard and up, mm.
    off: [f64; 2],
}

impl Even {
    /// Averages both sides of a survey, whose own base lines are `bases`.
    ///
    /// # Errors
    /// One side alone, or knuckles that the other side does not have
    /// ([`Kind::Conflict`]); what hinders the slopes or the averaged lines.
    pub(in crate::fair) fn of(
        survey: &Survey,
        bases: &[Vec<BaseLine>],
        job: &Job,
    ) -> Result<Self, Faults> {
        let stated = stated(survey, bases, job);
        let lengths = lengths(survey, bases, &stated, job)?;
        both_sides(&lengths, job)?;
        let count = lengths.len();
        let mut port: Vec<Point> = Vec::new();
        for i in 0..count.div_ceil(2) {
            // A corner ends one length and begins the next.
            port.truncate(port.len().saturating_sub(1));
            let (here, fellow) = (&lengths[i], &lengths[count - 1 - i]);
            let side = averaged(here, fellow, 2 * i + 1 == count, job);
            port.extend(side.ok_or_else(|| no_mean(job))?);
        }
        let survey = Survey {
            chains: even_chains(port, survey),
            ..survey.clone()
        };
        let lines = survey.chains.iter().map(|c| base_lines(c, job));
        let mut bases = lines.collect::<Result<Vec<_>, _>>()?;
        even::bases(&mut bases).ok_or_else(|| no_mean(job))?;
        Ok(Self { survey, bases })
    }
}

/// Makes what was faired through an even survey exactly even.
pub(in crate::fair) fn even_tops(edge: &mut FairEdge, job: &Job) -> Result<(), Faults> {
    even::tops(&mut edge.chains).ok_or_else(|| no_mean(job))
}

fn refused(place: Place, what: impl Into<String>, mend: &str) -> Faults {
    Faults::from(Fault::new(Kind::Conflict, place, what, mend))
}

fn field(job: &Job) -> Place {
    job.place("fairing.sides")
}

fn no_mean(job: &Job) -> Faults {
    refused(
        field(job),
        "no one line can be drawn half way between port and starboard",
        "check that both sides are measured over the same length, or leave fairing.sides at \"own\"",
    )
}

/// Heights and leans along each chain, where any row of the survey gives them.
fn stated(survey: &Survey, bases: &[Vec<BaseLine>], job: &Job) -> Vec<Option<Stated>> {
    let points = || survey.chains.iter().flat_map(|c| &c.points);
    let given = points().any(|p| p.height.is_some() || p.lean.is_some());
    let along = |(c, p): (&Chain, &Vec<BaseLine>)| given.then(|| Stated::of(&c.points, p, job));
    survey.chains.iter().zip(bases).map(along).collect()
}

/// All lengths from port's fore end to starboard's.
fn lengths<'a>(
    survey: &'a Survey,
    bases: &'a [Vec<BaseLine>],
    stated: &'a [Option<Stated>],
    job: &Job,
) -> Result<Vec<Length<'a>>, Faults> {
    let points = || survey.chains.iter().flat_map(|c| &c.points);
    let sloped = points().any(|p| p.slope.is_some());
    let deck = if sloped {
        Deck::of(survey, bases, job)?
    } else {
        None
    };
    let mut out = Vec::new();
    for ((chain, pieces), stated) in survey.chains.iter().zip(bases).zip(stated) {
        let points = &chain.points;
        let mut slopes = if sloped {
            slope::of_chain(points, pieces, deck.as_ref(), job)?.into_iter()
        } else {
            Vec::new().into_iter()
        };
        out.extend(pieces.iter().map(|piece| Length {
            points,
            piece,
            slope: slopes.next(),
            stated: stated.as_ref(),
        }));
    }
    Ok(out)
}

/// Both sides stand, with the same knuckles.
fn both_sides(lengths: &[Length<'_>], job: &Job) -> Result<(), Faults> {
    let points = || lengths.iter().flat_map(|l| l.points);
    for (side, other) in [(Side::Port, Side::Starboard), (Side::Starboard, Side::Port)] {
        if points().all(|p| p.side == side) {
            let what = format!(
                "both sides are to be faired to one line, and {} was not measured",
                other.name()
            );
            return Err(refused(
                field(job),
                what,
                "measure that side too, set survey.mirrored = true, or leave fairing.sides at \"own\"",
            ));
        }
    }
    for (here, fellow) in lengths.iter().zip(lengths.iter().rev()) {
        let [a, b] = [here, fellow].map(Length::ends);
        let held = [here, fellow].map(|l| l.piece.ends.pinned);
        // The far end of one is the near end of the other.
        for k in 0..2 {
            let (p, q) = (a[k], b[1 - k]);
            let apart = p.at.distance(mirrored(q.at));
            if held[0][k] != held[1][1 - k]
                || (held[0][k] && apart > ONE_CORNER * here.span().min(fellow.span()))
            {
                let p = if held[0][k] { p } else { q };
                return Err(refused(
                    place_of(p),
                    "both sides are to be faired to one line, and the other side has no knuckle like this one",
                    "mark the same knuckles on both sides, or leave fairing.sides at \"own\"",
                ));
            }
        }
    }
    Ok(())
}

impl Length<'_> {
    /// First and last point.
    fn ends(&self) -> [&Point; 2] {
        let first = self.piece.first;
        [first, first + self.piece.line.feet.len() - 1].map(|i| &self.points[i])
    }

    fn span(&self) -> f64 {
        let (a, b) = self.piece.line.curve.basis.range();
        b - a
    }

    /// The measured points with their places on the own line.
    fn rows(&self) -> impl DoubleEndedIterator<Item = (Point, f64)> + '_ {
        let feet = self.piece.line.feet.iter().enumerate();
        feet.map(|(k, t)| (self.points[self.piece.first + k].clone(), *t))
    }

    /// What rows give at t of the own line.
    fn given(&self, t: f64) -> Given {
        let (a, b) = self.piece.line.curve.basis.range();
        let t = t.clamp(a, b);
        Given {
            slope: self.slope.as_ref().map(|s| s.at(t)[0]),
            stated: self.stated.map(|s| s.at(t)),
        }
    }
}

/// The other side of a place.
fn mirrored(p: Vec3) -> Vec3 {
    let [x, y, z] = even::over([p.x, p.y, p.z], 0.0);
    vec3(x, y, z)
}

/// A point as it would lie on the other side.
fn image(point: Point) -> Point {
    let side = match point.side {
        Side::Port => Side::Starboard,
        Side::Starboard => Side::Port,
    };
    Point {
        at: mirrored(point.at),
        side,
        ..point
    }
}

/// Parameters of places in order along a line: square to it, and straight on
/// beyond its ends.
pub(super) fn feet(curve: &Spline<3>, places: impl IntoIterator<Item = Vec3>) -> Vec<f64> {
    let (a, b) = curve.basis.range();
    let mut out = Vec::new();
    let mut before: Option<(Vec3, f64)> = None;
    for place in places {
        let point = place.plan();
        let from = if let Some((last, t)) = before {
            t + last.plan().distance(point)
        } else {
            let coarse = (0..=COARSE).map(|k| a + (b - a) * f64::from(k) / f64::from(COARSE));
            let apart = |t: &f64| frame(curve, *t).at.plan().distance(point);
            let nearest = coarse.min_by(|s, t| apart(s).total_cmp(&apart(t)));
            nearest.unwrap_or(a)
        };
        let mut t = foot(curve, point, from.clamp(a, b));
        if !(a..=b).contains(&t) {
            let end = if t > b { b } else { a };
            let f = frame(curve, end);
            t = end + (point - f.at.plan()).dot(f.tangent);
        }
        before = Some((place, t));
        out.push(t);
    }
    out
}

/// How far off a line a place lies, outboard and up, mm.
fn off(curve: &Spline<3>, t: f64, place: Vec3) -> [f64; 2] {
    let (a, b) = curve.basis.range();
    let f = frame(curve, t.clamp(a, b));
    let by = place - f.at;
    let beyond = by.plan().dot(f.tangent);
    [-by.plan().dot(f.tangent.left()), by.z - f.grade * beyond]
}

/// The rows of one side against port's own line, by place along it.
fn against(curve: &Spline<3>, side: Vec<(Point, f64)>, feet: Vec<f64>) -> Vec<Row> {
    let rows = side.into_iter().zip(feet).map(|((point, own), t)| Row {
        off: off(curve, t, point.at),
        point,
        t,
        own,
    });
    let mut rows: Vec<Row> = rows.collect();
    rows.sort_by(|a, b| a.t.total_cmp(&b.t));
    rows
}

/// Index of the row nearest to a place.
fn nearest(rows: &[Row], t: f64) -> Option<usize> {
    let after = rows.partition_point(|r| r.t < t);
    let near = after.saturating_sub(1)..(after + 1).min(rows.len());
    near.min_by(|a, b| (rows[*a].t - t).abs().total_cmp(&(rows[*b].t - t).abs()))
}

/// Distance from row k to the further of its neighbours, so that
/// a row measured twice has the room of one.
fn room(rows: &[Row], k: usize) -> f64 {
    let before = k.checked_sub(1).map_or(0.0, |j| rows[k].t - rows[j].t);
    let after = rows.get(k + 1).map_or(0.0, |r| r.t - rows[k].t);
    before.max(after)
}

/// What two sides differ by along port's own line.
struct Between {
    port: [Vec<(f64, f64)>; 2],
    starboard: [Vec<(f64, f64)>; 2],
    /// Where both are measured.
    both: (f64, f64),
}

impl Between {
    /// `None` where they do not run beside each other.
    fn of(port: &[Row], starboard: &[Row]) -> Option<Self> {
        let start = port.first()?.t.max(starboard.first()?.t);
        let end = port.last()?.t.min(starboard.last()?.t);
        let lists = |rows: &[Row]| [0, 1].map(|k| rows.iter().map(|r| (r.t, r.off[k])).collect());
        (start <= end).then(|| Self {
            port: lists(port),
            starboard: lists(starboard),
            both: (start, end),
        })
    }

    /// Half the way from port to starboard at t, outboard and up, mm: straight
    /// between measured points, and as at the end of the shorter side beyond it.
    fn half(&self, t: f64) -> [f64; 2] {
        let t = t.clamp(self.both.0, self.both.1);
        [0, 1].map(|k| {
            let (p, s) = (&self.port[k], &self.starboard[k]);
            let both = straight_between(p, t).zip(straight_between(s, t));
            both.map_or(0.0, |(p, s)| 0.5 * (s - p))
        })
    }
}

/// The points of both sides along a length of port, averaged; up to the
/// centreline where the length crosses it. `None` where the two do not run beside
/// each other.
fn averaged(
    here: &Length<'_>,
    fellow: &Length<'_>,
    crossing: bool,
    job: &Job,
) -> Option<Vec<Point>> {
    let curve = &here.piece.line.curve;
    let range = curve.basis.range();
    let port = against(curve, here.rows().collect(), here.piece.line.feet.clone());
    let other: Vec<(Point, f64)> = fellow.rows().rev().map(|(p, t)| (image(p), t)).collect();
    let on_port = feet(curve, other.iter().map(|(p, _)| p.at));
    let starboard = against(curve, other, on_port);
    let between = Between::of(&port, &starboard)?;
    let own_of: Vec<(f64, f64)> = starboard.iter().map(|r| (r.t, r.own)).collect();
    let as_one = |row: &Row, at: Vec3| {
        let theirs = straight_between(&own_of, row.t).unwrap_or(row.own);
        one_point(row, at, here.given(row.t), fellow.given(theirs))
    };
    let moved = |row: &Row, way: f64| {
        let outboard = frame(curve, row.t.clamp(range.0, range.1)).tangent.left() * -1.0;
        let [out, up] = between.half(row.t).map(|h| way * h);
        (row.point.at.plan() + outboard * out).at_height(row.point.at.z + up)
    };
    let held = here.piece.ends.pinned;
    let corner = |k: usize, rows: &[Row]| (held[0] && k == 0) || (held[1] && k + 1 == rows.len());
    let mut out: Vec<(f64, Point)> = Vec::new();
    for (k, row) in port.iter().enumerate() {
        let other = if !corner(k, &port) {
            same_station(&port, k, &starboard)
        } else if k == 0 {
            starboard.first()
        } else {
            starboard.last()
        };
        let mut point = match other {
            Some(other) => as_one(row, (row.point.at + other.point.at) * 0.5),
            None => as_one(row, moved(row, 1.0)),
        };
        point.knuckle = corner(k, &port);
        out.push((row.t, point));
    }
    for (k, row) in starboard.iter().enumerate() {
        let beside = nearest(&port, row.t)?;
        let given = row.point.tolerance.is_some();
        let share = if given { ONE_STATION } else { NO_PLACE };
        let apart = (port[beside].t - row.t).abs();
        if !corner(k, &starboard) && apart > share * room(&starboard, k) {
            let mut point = as_one(row, moved(row, -1.0));
            point.knuckle = false;
            out.push((row.t, point));
        } else if given {
            // The first of `out` are the rows of port.
            let point = &mut out[beside].1;
            point.tolerance = Some(tolerance(point, job).min(tolerance(&row.point, job)));
        }
    }
    out.sort_by(|a, b| a.0.total_cmp(&b.0));
    Some(if crossing {
        to_centreline(out, range)
    } else {
        out.into_iter().map(|(_, p)| p).collect()
    })
}

/// The row of starboard that is booked at the station of row k of port.
fn same_station<'a>(port: &[Row], k: usize, starboard: &'a [Row]) -> Option<&'a Row> {
    let row = &port[k];
    let other = starboard.get(nearest(starboard, row.t)?)?;
    let same = (other.t - row.t).abs() <= ONE_STATION * room(port, k)
        && (other.point.at.x - row.point.at.x).abs() <= SAME_MM;
    same.then_some(other)
}

/// A row as a point of the one line, with the mean of what both sides give there.
fn one_point(row: &Row, at: Vec3, here: Given, theirs: Given) -> Point {
    let mean = |a: f64, b: f64| 0.5 * (a + b);
    let stated = here.stated.zip(theirs.stated);
    let slope = here.slope.zip(theirs.slope);
    Point {
        at,
        side: Side::Port,
        slope: slope.map(|(a, b)| SlopeGiven::Square(mean(a, b))),
        height: stated.map(|(a, b)| mean(a.0, b.0)),
        lean: stated.map(|(a, b)| mean(a.1, b.1)),
        ..row.point.clone()
    }
}

/// The points of a length that crosses the centreline, up to there.
fn to_centreline(points: Vec<(f64, Point)>, (a, b): (f64, f64)) -> Vec<Point> {
    let mut out = Vec::new();
    for (t, mut point) in points {
        // Port's fore end may lie on the centreline too.
        if t > a + 0.25 * (b - a) && point.at.y <= SAME_MM {
            if point.at.y >= -SAME_MM {
                point.at.y = 0.0;
                out.push(point);
            }
            break;
        }
        out.push(point);
    }
    out
}

/// Port, and its mirror image, in chains that end as the survey's do.
fn even_chains(mut port: Vec<Point>, survey: &Survey) -> Vec<Chain> {
    let like = |points: Vec<Point>, chain: &Chain| Chain {
        points,
        ..chain.clone()
    };
    let images = |port: &[Point]| port.iter().rev().cloned().map(image).collect::<Vec<_>>();
    match survey.chains.as_slice() {
        [a, b] => {
            let starboard = images(&port);
            vec![like(port, a), like(starboard, b)]
        }
        [whole] => {
            // A point on the centreline is its own image; so is a knuckle there.
            let centre = port.pop_if(|p| p.at.y.abs() <= SAME_MM);
            let starboard = images(&port);
            port.extend(centre.map(|mut p| {
                p.at.y = 0.0;
                p
            }));
            port.extend(starboard);
            vec![like(port, whole)]
        }
        _ => Vec::new(),
    }
}
