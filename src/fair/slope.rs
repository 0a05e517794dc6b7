//! Slope of the covering board: rise inboard per unit, square to the edge in plan.

use super::base::BaseLine;
use super::camber::Mould;
use super::no_line::place_of;
use super::smooth::{EXACT_MM, Operator, Problem, Rule, third_derivative};
use super::{curve, knots};
use crate::fault::{Fault, Faults, Kind};
use crate::geom::bspline::Spline;
use crate::geom::{Vec2, trig, vec2};
use crate::job::{Job, Side};
use crate::length::{Round, show, told, told_unrounded};
use crate::survey::{LEAST_INBOARD, Point, SlopeGiven, Survey};

/// Slopes are fitted in mm per metre, so that the least tolerance, meant for
/// millimetres, is fine enough for them.
const PER_METRE: f64 = 1000.0;

/// The mould is continued this far beyond its half-beam (share of it) by its
/// own formula: the faired edge may lie outside the measured one a little.
const BEYOND_MOULD: f64 = 1.1;

/// The centreline profile may leave the surveyed deck by this much, mm, where deck and
/// mould disagree; how much it does follows from the points.
const CROWN_ERROR: f64 = 50.0;

/// Slope square to the edge from the slope athwart. The deck's height is
/// z(x, y); along the edge, of plan tangent (tx, ty), it rises at z' = zx tx +
/// zy ty. The normal to the left is (-ty, tx), so that the slope is
/// -ty zx + tx zy = (zy - ty z') / tx.
///
/// `rise` is z' and `to_port` is zy. `None` where the edge has turned more
/// than 45 degrees from fore-and-aft.
#[must_use]
pub fn square_from_athwart(to_port: f64, tangent: Vec2, rise: f64) -> Option<f64> {
    // A hair over, so that an edge at 45 degrees is not refused for its last digit.
    let fore_and_aft = tangent.x.abs() * (1.0 + 1e-12) >= tangent.y.abs();
    (fore_and_aft && tangent.x.abs() > 0.0).then(|| (to_port - tangent.y * rise) / tangent.x)
}

/// The deck as one mould along a centreline profile.
pub(super) struct Deck {
    mould: Mould,
    /// Height of the crown by x.
    crown: Spline<1>,
}

impl Deck {
    /// From the round-up in the job, if there is one: the crown over every
    /// measured point of every chain, faired along x.
    pub(super) fn of(
        survey: &Survey,
        chains: &[Vec<BaseLine>],
        job: &Job,
    ) -> Result<Option<Self>, Faults> {
        let Some(round_up) = job.survey.round_up else {
            return Ok(None);
        };
        let widest = survey
            .chains
            .iter()
            .flat_map(|c| &c.points)
            .fold(0.0, |m: f64, p| m.max(p.at.y.abs()));
        let mould = Mould {
            height: round_up.height,
            half_beam: round_up.half_beam.unwrap_or(widest),
            construction: round_up.construction,
        };
        let place = || job.place("survey.round_up");
        let mut x = Vec::new();
        let mut z = Vec::new();
        for piece in chains.iter().flatten() {
            for t in &piece.line.feet {
                let at = piece.line.curve.at(*t);
                let fall = (at[1].abs() <= BEYOND_MOULD * mould.half_beam)
                    .then(|| mould.fall(at[1]))
                    .flatten();
                let Some((fall, _)) = fall else {
                    return Err(Faults::from(Fault::new(
                        Kind::Conflict,
                        job.place("survey.round_up.half_beam"),
                        format!(
                            "the round-up of {} over a half-beam of {} has no height {} off the centreline, where the edge runs",
                            show(mould.height, job.show),
                            show(mould.half_beam, job.show),
                            show(at[1].abs(), job.show)
                        ),
                        "give the greatest half-beam of the deck, or leave it out to use the greatest surveyed",
                    )));
                };
                x.push(at[0]);
                z.push([at[2] + fall]);
            }
        }
        match crown(&x, &z) {
            Some(crown) => Ok(Some(Self { mould, crown })),
            None => Err(Faults::from(Fault::new(
                Kind::Conflict,
                place(),
                "a deck with round-up needs surveyed points at different x, and there are none",
                "give the slope of the covering board by row or for the whole job instead",
            ))),
        }
    }

    /// Gradient of the deck across an edge, in the direction `n`.
    fn slope(&self, at: Vec2, n: Vec2) -> Option<f64> {
        let (_, growth) = self.mould.fall(at.y)?;
        let [_, dx] = self.crown.jet::<2>(at.x);
        let dy = if at.y < 0.0 { growth } else { -growth };
        Some(n.dot(vec2(dx[0], dy)))
    }
}

/// Height of the crown over x. Many points share an x at a round stern or a
/// transom and port and starboard need not agree, so that the errors' size is
/// left to the likelihood.
fn crown(x: &[f64], z: &[[f64; 1]]) -> Option<Spline<1>> {
    let mut sorted = x.to_vec();
    sorted.sort_by(f64::total_cmp);
    let basis = knots::basis(&sorted, true, [false; 2])?;
    let coefficients = if basis.degree() < 3 {
        Spline::fit(basis.clone(), x, z)?.coefficients
    } else {
        let tolerances = vec![CROWN_ERROR; x.len()];
        let operator: &Operator<'_, 1> = &third_derivative;
        let problem = Problem::new(basis.clone(), x, z, &tolerances, [None; 2], operator);
        problem.choose(Rule::Unknown, None)?.coefficients
    };
    Some(Spline {
        basis,
        coefficients,
    })
}

/// A slope where it was given.
#[derive(Debug, Clone, Copy)]
struct Given {
    t: f64,
    slope: f64,
    tolerance: f64,
}

/// Slope over t for every length of a chain.
pub(super) fn of_chain(
    points: &[Point],
    pieces: &[BaseLine],
    deck: Option<&Deck>,
    job: &Job,
) -> Result<Vec<Spline<1>>, Faults> {
    let mut faults: Vec<(usize, Faults)> = Vec::new();
    let mut given: Vec<(usize, Given)> = Vec::new();
    for piece in pieces {
        for (k, t) in piece.line.feet.iter().enumerate() {
            let index = piece.first + k;
            let Some(slope) = points[index].slope else {
                continue;
            };
            match at_row(&points[index], slope, piece, *t, job) {
                Ok(g) => given.push((index, g)),
                Err(f) => faults.push((index, f)),
            }
        }
    }
    // A knuckle belongs to two lengths: what its row gives holds by the one
    // whose direction it can be turned by, as of a side that ends at a transom.
    faults.retain(|(index, _)| given.iter().all(|(i, _)| i != index));
    let mut faults = Faults(faults.into_iter().flat_map(|(_, f)| f.0).collect());
    if !faults.0.is_empty() {
        // Where neither can, its trouble is told once.
        faults.0.dedup();
        return Err(faults);
    }
    let singular = || {
        Faults::from(Fault::new(
            Kind::Geometry,
            place_of(&points[0]),
            "the slopes of the covering board give no curve along this edge",
            "check the rows' slopes and inboard points for gross errors",
        ))
    };
    let mut out = Vec::new();
    for piece in pieces {
        let fitted = if !given.is_empty() {
            by_rows(piece, &given)
        } else if let Some(deck) = deck {
            by_deck(piece, deck)
        } else if let Some(slope) = job.survey.slope {
            constant(piece, slope)
        } else {
            return Err(Faults::from(Fault::new(
                Kind::Missing,
                job.place("survey.slope"),
                "nothing says how the covering board slopes: no row gives a slope or an inboard point, and the job has neither a round-up nor a slope",
                "add a slope or inboard point to the survey, or a round-up or slope to the job",
            )));
        };
        out.push(fitted.ok_or_else(singular)?);
    }
    Ok(out)
}

fn at_row(
    point: &Point,
    slope: SlopeGiven,
    piece: &BaseLine,
    t: f64,
    job: &Job,
) -> Result<Given, Faults> {
    let refuse = |kind, what: String, mend: &str| {
        Faults::from(Fault::new(kind, place_of(point), what, mend))
    };
    let frame = curve::frame(&piece.line.curve, t);
    let athwart = |s: f64| {
        let to_port = match point.side {
            Side::Port => -s,
            Side::Starboard => s,
        };
        match square_from_athwart(to_port, frame.tangent, frame.grade) {
            Some(slope) => Ok(slope),
            None => Err(refuse(
                Kind::Survey,
                format!(
                    "a slope athwartships is given where the edge has turned {:.0} degrees from fore-and-aft",
                    trig::atan2(frame.tangent.y.abs(), frame.tangent.x.abs()).to_degrees()
                ),
                "give an inboard point of the covering board, or the slope square to the edge",
            )),
        }
        .map(|slope| (slope, 0.0))
    };
    let (value, tolerance) = match slope {
        SlopeGiven::Square(s) => Ok((s, 0.0)),
        SlopeGiven::Athwart(s) => athwart(s),
        SlopeGiven::RoundUp(height) => {
            let Some(round_up) = job.survey.round_up else {
                return Err(refuse(
                    Kind::Missing,
                    "a round-up is given for this row, but the job does not say how it is drawn"
                        .to_owned(),
                    "name the construction under survey.round_up in the job",
                ));
            };
            let mould = Mould {
                height,
                half_beam: frame.at.y.abs(),
                construction: round_up.construction,
            };
            match mould.fall(frame.at.y) {
                Some((_, growth)) => athwart(growth),
                None => Err(refuse(
                    Kind::Range,
                    format!(
                        "a round-up of {} cannot be drawn over a half-beam of {}",
                        show(height, job.show),
                        show(mould.half_beam, job.show)
                    ),
                    "check the round-up, or give an inboard point of the covering board",
                )),
            }
        }
        SlopeGiven::Inboard(p) => {
            let foot = curve::foot(&piece.line.curve, p.plan(), t);
            let here = curve::frame(&piece.line.curve, foot);
            let distance = (p.plan() - here.at.plan()).dot(here.tangent.left());
            if distance.is_nan() || distance < LEAST_INBOARD {
                return Err(refuse(
                    Kind::Survey,
                    format!(
                        "the inboard point lies {} inboard of the edge; at least {} is needed",
                        told(distance, job.show),
                        told_unrounded(LEAST_INBOARD, job.show, Round::Up)
                    ),
                    "measure the inboard point further from the edge, and check its side",
                ));
            }
            // Both heights have the survey's error.
            let tolerance = job.survey.accuracy * 2.0_f64.sqrt() / distance;
            return finite(point, foot, (p.z - here.at.z) / distance, tolerance);
        }
    }?;
    finite(point, t, value, tolerance)
}

fn finite(point: &Point, t: f64, slope: f64, tolerance: f64) -> Result<Given, Faults> {
    if (t + slope + tolerance).is_finite() {
        return Ok(Given {
            t,
            slope,
            tolerance,
        });
    }
    Err(Faults::from(Fault::new(
        Kind::Range,
        place_of(point),
        "the slope of the covering board is not a finite number here",
        "check this row's slope or inboard point",
    )))
}

/// Value over t between the places where it is known: straight between them
/// and level beyond.
pub(super) fn straight_between(known: &[(f64, f64)], t: f64) -> Option<f64> {
    let k = known.partition_point(|(a, _)| *a <= t);
    let (before, after) = (k.checked_sub(1).and_then(|i| known.get(i)), known.get(k));
    match (before, after) {
        (Some((t0, v0)), Some((t1, v1))) => Some(v0 + (v1 - v0) * (t - t0) / (t1 - t0)),
        (Some((_, v)), None) | (None, Some((_, v))) => Some(*v),
        (None, None) => None,
    }
}

/// Through the rows that give a slope; the others take theirs straight
/// between, so that a curve between far rows cannot swing.
fn by_rows(piece: &BaseLine, given: &[(usize, Given)]) -> Option<Spline<1>> {
    let mut known: Vec<(f64, f64)> = given.iter().map(|(_, g)| (g.t, g.slope)).collect();
    known.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (start, end) = piece.line.curve.basis.range();
    let mut rows: Vec<(f64, f64, f64)> = Vec::new();
    for (k, t) in piece.line.feet.iter().enumerate() {
        // A knuckle's row may be given by both of its lengths, one after the other.
        let index = piece.first + k;
        let from = given.partition_point(|(i, _)| *i < index);
        let mut own = given[from..].iter().take_while(|(i, _)| *i == index);
        let here = own.find(|(_, g)| (start - 1.0..=end + 1.0).contains(&g.t));
        rows.push(match here {
            Some((_, g)) => (g.t, g.slope, g.tolerance),
            None => (*t, straight_between(&known, *t)?, 0.0),
        });
    }
    fit(&rows)
}

fn by_deck(piece: &BaseLine, deck: &Deck) -> Option<Spline<1>> {
    let mut rows = Vec::new();
    for t in curve::places(&piece.line.curve.basis) {
        let f = curve::frame(&piece.line.curve, t);
        rows.push((t, deck.slope(f.at.plan(), f.tangent.left())?));
    }
    rows.dedup_by(|a, b| a.0 <= b.0);
    let t: Vec<f64> = rows.iter().map(|r| r.0).collect();
    let values: Vec<[f64; 1]> = rows.iter().map(|r| [r.1]).collect();
    let basis = knots::through(&t)?;
    Spline::fit(basis, &t, &values)
}

fn constant(piece: &BaseLine, slope: f64) -> Option<Spline<1>> {
    let (a, b) = piece.line.curve.basis.range();
    fit(&[(a, slope, 0.0), (b, slope, 0.0)])
}

/// A curve through (t, slope, tolerance); interpolated where every tolerance is nought.
fn fit(rows: &[(f64, f64, f64)]) -> Option<Spline<1>> {
    let t: Vec<f64> = rows.iter().map(|r| r.0).collect();
    let values: Vec<[f64; 1]> = rows.iter().map(|r| [r.1 * PER_METRE]).collect();
    let tolerances: Vec<f64> = rows.iter().map(|r| r.2 * PER_METRE).collect();
    let mut sorted = t.clone();
    sorted.sort_by(f64::total_cmp);
    let exact = rows.len() <= 3 || tolerances.iter().all(|t| *t <= EXACT_MM);
    let basis = knots::basis(&sorted, !exact, [false; 2])?;
    let coefficients = if exact {
        Spline::fit(basis.clone(), &t, &values)?.coefficients
    } else {
        let operator: &Operator<'_, 1> = &third_derivative;
        let problem = Problem::new(basis.clone(), &t, &values, &tolerances, [None; 2], operator);
        let chosen = problem.choose(Rule::Likeliest, None)?;
        problem.tighten(chosen).coefficients
    };
    Some(Spline {
        basis,
        coefficients: coefficients.iter().map(|c| [c[0] / PER_METRE]).collect(),
    })
}
