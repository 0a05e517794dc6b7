//! A fair curve through points in space, by its plan arc length.

use rayon::prelude::*;

use super::arc::{SPEED_ERROR, arcs_at, by_arc_length, speed, speed_error};
use super::bends::{Bends, change_of_curvature};
use super::curve::{foot, frame, places};
use super::knots::{self, MOST_SMOOTH};
use super::no_line::NoLine;
use super::smooth::{self, EXACT_MM, Operator, Problem, Rule, Solved};
use crate::geom::bspline::{Basis, Near, Spline};
use crate::geom::{Vec2, Vec3, vec2};

/// Rounds of refitting by the arc length of the curve before. Each gains
/// about two figures; the balance is held from [`SETTLE`] on so that a choice
/// on the edge between two cannot go on for ever.
const ROUNDS: usize = 12;

/// Round from which the balance chosen before is kept.
const SETTLE: usize = 4;

/// Rounds end when no parameter moves by more than this share of the length.
const STILL: f64 = 1e-11;

/// The same for a scan, of more than [`SCAN`] points a function of the basis: its
/// errors are far larger, and every round costs all its points.
const STILL_SCAN: f64 = 1e-8;
const SCAN: usize = 50;

/// A smoothed line that leaves the line through its own points by more than this
/// between them, mm, gives way to it: half of what a faired line must come back within.
const OWN_MM: f64 = 0.005;

/// Below this speed the curve doubles back on itself.
const LEAST_SPEED: f64 = 0.5;

/// Points whose feet one thread looks for at a time: fewer cost more to share out
/// than to do.
const FEET_TOGETHER: usize = 500;

/// A fitted line.
#[derive(Debug, Clone)]
pub struct Line {
    /// The curve by its plan arc length from zero.
    pub curve: Spline<3>,
    /// Parameter of each point's foot square to the line in plan, within the curve's range.
    pub feet: Vec<f64>,
}

/// What a line does at its ends beside passing near their points.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Ends {
    /// Passes through its first and last point exactly.
    pub pinned: [bool; 2],
    /// Runs in this direction in plan (unit vector of travel) at its ends.
    pub toward: [Option<Vec2>; 2],
}

/// Fits a line to `points` in order, none to be left by more than its
/// tolerance (mm) in plan square to the line and vertically. `pinned` holds
/// the first and last point exactly.
///
/// # Errors
/// See [`NoLine`].
pub fn fit_line(
    points: &[Vec3],
    tolerances: &[f64],
    pinned: [bool; 2],
    rule: Rule,
) -> Result<Line, NoLine> {
    let ends = Ends {
        pinned,
        ..Ends::default()
    };
    fit_line_to(points, tolerances, &ends, rule).map(|(line, _)| line)
}

/// The same with directions at its ends, and the equations that it came from.
pub(super) fn fit_line_to(
    points: &[Vec3],
    tolerances: &[f64],
    ends: &Ends,
    rule: Rule,
) -> Result<(Line, System), NoLine> {
    let finite = points.iter().all(|p| (p.x + p.y + p.z).is_finite());
    if !finite || tolerances.len() != points.len() || tolerances.iter().any(|t| !t.is_finite()) {
        return Err(NoLine::NotFinite);
    }
    let n = points.len();
    if n < 2 {
        return Err(NoLine::TooFew);
    }
    // About the middle, so that rounding does not grow with the datum's distance.
    let middle = points.iter().fold(Vec3::default(), |s, p| s + *p) * (1.0 / n as f64);
    let local: Vec<Vec3> = points.iter().map(|p| *p - middle).collect();
    let plan: Vec<Vec2> = local.iter().map(|p| p.plan()).collect();
    // Up to three points a parabola runs through all: there is nothing to smooth.
    let directed = ends.toward.iter().any(Option::is_some);
    if directed && n <= 3 {
        return Err(NoLine::TooFewForDirection);
    }
    let exact = n <= 3 || !directed && tolerances.iter().all(|t| *t <= EXACT_MM);
    let fit = if exact {
        interpolate_plan(&plan)?
    } else {
        smooth_plan(&plan, tolerances, ends, rule)?
    };
    let heights: Vec<[f64; 1]> = local.iter().map(|p| [p.z]).collect();
    let (up, heights) = fit_heights(&fit, &heights, tolerances, ends, rule)?;
    let coefficients = fit.curve.coefficients.iter().zip(&up);
    let mut curve = Spline {
        basis: fit.curve.basis.clone(),
        coefficients: coefficients.map(|(p, z)| [p[0], p[1], z[0]]).collect(),
    };
    let range = curve.basis.range();
    let equations = match (fit.solved, heights) {
        (Some(plan), Some(heights)) => Equations::Smoothed(Box::new(plan), Box::new(heights)),
        _ => Equations::Exact {
            basis: curve.basis.clone(),
            feet: fit.feet.clone(),
        },
    };
    let mut feet = fit.feet;
    if !exact
        && !directed
        && n <= MOST_SMOOTH
        && let Some((own, own_feet)) = through_own_points(&curve, &feet)
        && leaves(&curve, &own, &own_feet) > OWN_MM
    {
        (curve, feet) = (own, own_feet);
    }
    for c in &mut curve.coefficients {
        *c = [c[0] + middle.x, c[1] + middle.y, c[2] + middle.z];
    }
    // The first and last functions are the ends themselves: no last digit lost there.
    let last = curve.coefficients.len() - 1;
    for (held, (k, p)) in ends
        .pinned
        .iter()
        .zip([(0, points[0]), (last, points[n - 1])])
    {
        if *held {
            curve.coefficients[k] = [p.x, p.y, p.z];
        }
    }
    check_speed(&curve, &feet)?;
    if speed_error(&curve) > SPEED_ERROR {
        curve = by_arc_length(&curve, &mut feet)?;
    }
    let (first, end) = curve.basis.range();
    for t in &mut feet {
        *t = t.clamp(first, end);
    }
    Ok((Line { curve, feet }, System { equations, range }))
}

/// The equations that a line came from.
#[derive(Debug)]
pub(super) struct System {
    pub(super) equations: Equations,
    /// Range of their parameter.
    pub(super) range: (f64, f64),
}

/// Equations of a line.
#[derive(Debug)]
pub(super) enum Equations {
    /// An interpolant on a basis through points at `feet`.
    Exact { basis: Basis, feet: Vec<f64> },
    /// Plan and heights, smoothed.
    Smoothed(Box<Solved<2>>, Box<Solved<1>>),
}

/// A curve in plan and the parameters of the points on it.
struct PlanFit {
    curve: Spline<2>,
    feet: Vec<f64>,
    /// `None` for an interpolant.
    solved: Option<Solved<2>>,
}

fn chords(plan: &[Vec2]) -> Vec<f64> {
    let mut t = vec![0.0; plan.len()];
    for i in 1..plan.len() {
        t[i] = t[i - 1] + plan[i].distance(plan[i - 1]);
    }
    t
}

fn basis_for(t: &[f64], smooth: bool, more: [bool; 2]) -> Result<Basis, NoLine> {
    let mut sorted = t.to_vec();
    sorted.sort_by(f64::total_cmp);
    knots::basis(&sorted, smooth, more).ok_or(NoLine::TooFew)
}

fn interpolate_plan(plan: &[Vec2]) -> Result<PlanFit, NoLine> {
    let values: Vec<[f64; 2]> = plan.iter().map(|p| [p.x, p.y]).collect();
    let mut t = chords(plan);
    let mut round = 0;
    loop {
        let basis = basis_for(&t, false, [false; 2])?;
        let curve = Spline::fit(basis, &t, &values).ok_or(NoLine::Singular)?;
        let feet = if curve.basis.len() == plan.len() {
            t.clone()
        } else {
            feet(&curve, plan, &t)
        };
        let arcs = arcs_at(&curve, &feet);
        round += 1;
        if round == ROUNDS || moved(&arcs, &t) <= STILL * span(&arcs) {
            return Ok(PlanFit {
                curve,
                feet,
                solved: None,
            });
        }
        t = arcs;
    }
}

/// Furthest that `line` lies from another line through the same points at `feet`
/// of the other, mm, at three places between any two; square to it in plan, and in height.
fn leaves(line: &Spline<3>, other: &Spline<3>, feet: &[f64]) -> f64 {
    let mut most: f64 = 0.0;
    for w in feet.windows(2) {
        for share in [0.25, 0.5, 0.75] {
            let t = w[0] + share * (w[1] - w[0]);
            let there = frame(other, t).at;
            let here = frame(line, foot(line, there.plan(), t)).at;
            most = most.max(here.distance(there));
        }
    }
    most
}

/// The line through a smoothed one's own points, and their feet: what a survey
/// of those points without a tolerance gives. It leaves the smoothed line by
/// fractions of a millimetre between the points, and not at them. `None` where
/// the points bear no such line: two of them may have one place.
fn through_own_points(smoothed: &Spline<3>, feet: &[f64]) -> Option<(Spline<3>, Vec<f64>)> {
    let places: Vec<[f64; 3]> = feet.iter().map(|t| smoothed.at(*t)).collect();
    let plan: Vec<Vec2> = places.iter().map(|p| vec2(p[0], p[1])).collect();
    let fit = interpolate_plan(&plan).ok()?;
    let curve = Spline::fit(fit.curve.basis, &fit.feet, &places)?;
    check_speed(&curve, &fit.feet).ok()?;
    Some((curve, fit.feet))
}

fn moved(a: &[f64], b: &[f64]) -> f64 {
    a.iter()
        .zip(b)
        .fold(0.0, |m: f64, (a, b)| m.max((a - b).abs()))
}

fn span(t: &[f64]) -> f64 {
    t.last().copied().unwrap_or_default() - t.first().copied().unwrap_or_default()
}

fn smooth_plan(
    plan: &[Vec2],
    tolerances: &[f64],
    ends: &Ends,
    rule: Rule,
) -> Result<PlanFit, NoLine> {
    let values: Vec<[f64; 2]> = plan.iter().map(|p| [p.x, p.y]).collect();
    let last = values.len() - 1;
    let pins = [
        ends.pinned[0].then_some(values[0]),
        ends.pinned[1].then_some(values[last]),
    ];
    let still = ends.toward.map(|d| {
        d.map(|d| {
            let n = d.left();
            [n.x, n.y]
        })
    });
    let more = ends.toward.map(|d| d.is_some());
    let mut t = chords(plan);
    let mut bends: Option<Bends> = None;
    let mut grid = None;
    let mut round = 0;
    loop {
        let basis = basis_for(&t, true, more)?;
        let guided = |at: f64, near: &Near<4>| match &bends {
            Some(b) => change_of_curvature(b, at, near),
            None => smooth::third_derivative(at, near),
        };
        let operator: &Operator<'_, 2> = &guided;
        let problem = Problem::new(basis.clone(), &t, &values, tolerances, pins, operator);
        let problem = problem.meeting(still);
        let fixed = if round < SETTLE { None } else { grid };
        let chosen = problem.choose(rule, fixed).ok_or(NoLine::Singular)?;
        grid = Some(chosen.grid);
        // The first round's penalty is the plain third derivative, which
        // pulls a round end flat: nothing to tighten yet.
        let solution = if round > 0 {
            problem.tighten(chosen)
        } else {
            chosen
        };
        let curve = Spline {
            basis,
            coefficients: solution.coefficients,
        };
        let feet = feet(&curve, plan, &t);
        let arcs = arcs_at(&curve, &feet);
        round += 1;
        let share = if plan.len() > SCAN * curve.basis.len() {
            STILL_SCAN
        } else {
            STILL
        };
        let still = round > 2 && moved(&arcs, &t) <= share * span(&arcs);
        if round == ROUNDS || still {
            let solved = Solved {
                problem,
                lambda: solution.lambda,
                factors: solution.factors,
            };
            return Ok(PlanFit {
                curve,
                feet,
                solved: Some(solved),
            });
        }
        bends = Some(Bends::of(curve, feet[0]));
        t = arcs;
    }
}

/// Coefficients of the heights on the plan's basis, and their equations where
/// they are smoothed as the plan is.
type Heights = (Vec<[f64; 1]>, Option<Solved<1>>);

fn fit_heights(
    fit: &PlanFit,
    heights: &[[f64; 1]],
    tolerances: &[f64],
    ends: &Ends,
    rule: Rule,
) -> Result<Heights, NoLine> {
    let basis = fit.curve.basis.clone();
    if fit.solved.is_none() {
        let exact = Spline::fit(basis, &fit.feet, heights).ok_or(NoLine::Singular)?;
        return Ok((exact.coefficients, None));
    }
    let last = heights.len() - 1;
    let pins = [
        ends.pinned[0].then_some(heights[0]),
        ends.pinned[1].then_some(heights[last]),
    ];
    let operator: &Operator<'_, 1> = &smooth::third_derivative;
    let problem = Problem::new(basis, &fit.feet, heights, tolerances, pins, operator);
    let chosen = problem.choose(rule, None).ok_or(NoLine::Singular)?;
    let solution = problem.tighten(chosen);
    let solved = Solved {
        problem,
        lambda: solution.lambda,
        factors: solution.factors,
    };
    Ok((solution.coefficients, Some(solved)))
}

/// Foot of each point on the curve, from the parameters `from`.
fn feet(curve: &Spline<2>, plan: &[Vec2], from: &[f64]) -> Vec<f64> {
    let both = plan.par_iter().zip(from);
    both.with_min_len(FEET_TOGETHER)
        .map(|(p, t)| foot(curve, *p, *t))
        .collect()
}

fn check_speed(curve: &Spline<3>, feet: &[f64]) -> Result<(), NoLine> {
    for t in places(&curve.basis) {
        let v = speed(curve, t);
        if v.is_finite() && v >= LEAST_SPEED {
            continue;
        }
        let apart = |i: &usize| (feet[*i] - t).abs();
        let nearest = (0..feet.len()).min_by(|a, b| apart(a).total_cmp(&apart(b)));
        return Err(NoLine::DoublesBack(nearest.unwrap_or_default()));
    }
    Ok(())
}
