//! The top line: over the measured edge by height and lean, faired on its own.

use rayon::prelude::*;

use super::base::BaseLine;
use super::curve::{self, Frame};
use super::knots;
use super::line::{Line, fit_line_to};
use super::no_line::{NoLine, no_line, place_of};
use super::slope::straight_between;
use super::smooth::Rule;
use super::uncertainty::Uncertainty;
use crate::fault::{Fault, Faults, Kind};
use crate::geom::bspline::Spline;
use crate::geom::{Vec3, trig};
use crate::job::{HeightFrom, HeightTo, Job, SurveyedLine, TopSlope};
use crate::length::show;
use crate::survey::Point;

/// The top line's plan place may come no nearer to the base line's centre of
/// curvature than this share of the radius: beyond, it folds.
const FOLD: f64 = 0.05;

/// The top line's places square to the base line are found to this, mm along
/// the edge: a twentieth of what sizes are held to.
const ALONG_MM: f64 = 1e-3;

/// Steps of Newton's method for a place on the top line; it gains twice the
/// figures a step, from within a step of the place before.
const NEWTON: usize = 30;

/// Distance of the reference line (inner face of the planking, less the weld
/// setback) inboard of the surveyed line, mm.
#[must_use]
pub fn reference_inboard(job: &Job) -> f64 {
    let inset = match job.survey.line {
        SurveyedLine::CoveringBoardEdge => job.section.planking_inset,
        SurveyedLine::OutsideOfPlanking => 0.0,
    };
    inset + job.section.planking + job.section.weld_setback
}

/// Height from the covering board's top at the edge to the top plate's upper
/// face, vertical, mm. A plate's thickness is square to its face; over a face
/// that rises `s` athwart and `g` along the edge it counts sqrt(1 + s^2 + g^2)
/// times as much vertically. The base plate's upper face is taken at
/// the reference line, where the board has already risen by its slope.
#[must_use]
pub fn whole_height(job: &Job, stated: f64, slope: f64, grade: f64) -> f64 {
    let vertical = |thickness: f64, s: f64| thickness * (1.0 + s * s + grade * grade).sqrt();
    let top_slope = match job.top_slope {
        TopSlope::Level => 0.0,
        TopSlope::Deck => slope,
        TopSlope::Angle(a) => trig::tan(a),
    };
    let from = match job.bulwark.height_from {
        HeightFrom::CoveringBoard => 0.0,
        HeightFrom::BasePlate => {
            slope * reference_inboard(job) + vertical(job.bedding + job.base.thickness, slope)
        }
    };
    let to = match job.bulwark.height_to {
        HeightTo::TopPlate => 0.0,
        HeightTo::UnderTopPlate => vertical(job.top.thickness, top_slope),
        HeightTo::Cap => -vertical(job.section.cap_thickness, top_slope),
    };
    stated + from + to
}

/// Height and lean along a chain: straight between the rows that give them, the job's where
/// none does.
pub(super) struct Stated {
    height: Vec<(f64, f64)>,
    lean: Vec<(f64, f64)>,
    job: (f64, f64),
}

impl Stated {
    pub(super) fn of(points: &[Point], pieces: &[BaseLine], job: &Job) -> Self {
        let mut height = Vec::new();
        let mut lean = Vec::new();
        for piece in pieces {
            for (k, t) in piece.line.feet.iter().enumerate() {
                let p = &points[piece.first + k];
                height.extend(p.height.map(|h| (*t, h)));
                lean.extend(p.lean.map(|l| (*t, l)));
            }
        }
        height.sort_by(|a, b| a.0.total_cmp(&b.0));
        lean.sort_by(|a, b| a.0.total_cmp(&b.0));
        Self {
            height,
            lean,
            job: (job.bulwark.height, job.bulwark.lean),
        }
    }

    /// Height, mm, and lean, rad, at t.
    pub(super) fn at(&self, t: f64) -> (f64, f64) {
        (
            straight_between(&self.height, t).unwrap_or(self.job.0),
            straight_between(&self.lean, t).unwrap_or(self.job.1),
        )
    }
}

/// The top line of one length: the curve, its points' feet, and its
/// parameter over t.
pub(super) struct Top {
    pub(super) line: Line,
    /// The points that it was fitted to, mm.
    pub(super) raw: Vec<Vec3>,
    pub(super) over: Spline<1>,
    /// How far the line would move were the survey repeated.
    pub(super) uncertainty: Option<Uncertainty>,
}

/// Rise of the top line over the edge and its shift inboard at t, mm.
fn rise_and_shift(job: &Job, stated: &Stated, slope: &Spline<1>, t: f64, grade: f64) -> (f64, f64) {
    let (height, lean) = stated.at(t);
    let rise = whole_height(job, height, slope.at(t)[0], grade);
    (rise, reference_inboard(job) - rise * trig::tan(lean))
}

/// Where the top line is wanted over each point of a length, mm.
pub(super) fn raised(
    points: &[Point],
    piece: &BaseLine,
    slope: &Spline<1>,
    stated: &Stated,
    job: &Job,
) -> Vec<Vec3> {
    let place = |(k, t): (usize, &f64)| {
        let f = curve::frame(&piece.line.curve, *t);
        let (rise, shift) = rise_and_shift(job, stated, slope, *t, f.grade);
        let measured = points[piece.first + k].at;
        (measured.plan() + f.tangent.left() * shift).at_height(measured.z + rise)
    };
    piece.line.feet.iter().enumerate().map(place).collect()
}

/// Fits the top line over a length of the base line.
pub(super) fn over(
    points: &[Point],
    piece: &BaseLine,
    slope: &Spline<1>,
    stated: &Stated,
    job: &Job,
) -> Result<Top, Faults> {
    let curve = &piece.line.curve;
    for t in curve::places(&curve.basis) {
        let f = curve::frame(curve, t);
        let (_, shift) = rise_and_shift(job, stated, slope, t, f.grade);
        let (bend, _) = curve::curvature(curve, t);
        let left_over = 1.0 - bend * shift;
        if left_over.is_nan() || left_over < FOLD {
            return Err(Faults::from(Fault::new(
                Kind::Geometry,
                place_of(&points[piece.nearest(t)]),
                format!(
                    "the edge bends to a radius of {} here and the top line lies {} inside it, so that it folds",
                    show(1.0 / bend, job.show),
                    show(shift, job.show)
                ),
                "check the measured points here, or mark a corner as a knuckle",
            )));
        }
    }
    let raw = raised(points, piece, slope, stated, job);
    let tolerances = vec![job.fairing.top; raw.len()];
    let (fitted, system) = fit_line_to(&raw, &tolerances, &piece.ends, Rule::Smoothest)
        .map_err(|e| Faults::from(no_line(e, &points[piece.first..], "top line")))?;
    let over = parameter_over(curve, &fitted.curve).ok_or_else(|| {
        Faults::from(no_line(
            NoLine::Singular,
            &points[piece.first..],
            "top line",
        ))
    })?;
    Ok(Top {
        uncertainty: Uncertainty::of(&fitted, &system, job.survey.accuracy, false),
        line: fitted,
        raw,
        over,
    })
}

/// Parameter of the place on `top` that lies square to the base line at each
/// t, as a curve over t. Places are doubled until the error
/// between them is below [`ALONG_MM`], three times at most.
fn parameter_over(base: &Spline<3>, top: &Spline<3>) -> Option<Spline<1>> {
    let mut t: Vec<f64> = Vec::new();
    for s in base.basis.breaks().windows(2) {
        t.extend([s[0], 0.5 * (s[0] + s[1])]);
    }
    t.push(base.basis.range().1);
    let mut values = Vec::with_capacity(t.len());
    let mut u = top.basis.range().0;
    let mut before = t[0];
    for t in &t {
        u = square_to(&curve::frame(base, *t), top, u + t - before)?;
        before = *t;
        values.push([u]);
    }
    for doubled in 0.. {
        let over = Spline::fit(knots::through(&t)?, &t, &values)?;
        let between: Vec<f64> = t.windows(2).map(|s| 0.5 * (s[0] + s[1])).collect();
        let exact = |t: &f64| square_to(&curve::frame(base, *t), top, over.at(*t)[0]);
        let exact: Option<Vec<f64>> = between.par_iter().map(exact).collect();
        let exact = exact?;
        let off = between
            .iter()
            .zip(&exact)
            .fold(0.0, |m: f64, (t, u)| m.max((over.at(*t)[0] - u).abs()));
        if off <= ALONG_MM || doubled == 3 {
            return Some(over);
        }
        let mut all: Vec<(f64, f64)> = t.into_iter().zip(values.iter().map(|v| v[0])).collect();
        all.extend(between.into_iter().zip(exact));
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        t = all.iter().map(|a| a.0).collect();
        values = all.iter().map(|a| [a.1]).collect();
    }
    None
}

/// Parameter near `from` at which `top` meets the plane square to a frame;
/// `None` where there is none.
fn square_to(frame: &Frame, top: &Spline<3>, from: f64) -> Option<f64> {
    let mut u = from;
    // Far from the origin the places themselves are rounded by more than the
    // parameter is.
    let rounding = 4.0 * f64::EPSILON * frame.at.plan().length();
    for _ in 0..NEWTON {
        let f = curve::frame(top, u);
        let advance = f.tangent.dot(frame.tangent);
        let off = (f.at.plan() - frame.at.plan()).dot(frame.tangent);
        if !(off.is_finite() && advance > 0.1) {
            return None;
        }
        u -= off / advance;
        if off.abs() < (1e-11 * (1.0 + u.abs())).max(rounding) {
            return Some(u);
        }
    }
    None
}
