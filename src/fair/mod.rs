//! Fair curves through the survey: the base line as the boat is, the top
//! line as the eye wants it.

mod accuracy;
mod alike;
mod arc;
mod bends;
mod camber;
pub mod compare;
mod doubt;
mod edge;
mod ends;
mod expected;
mod findings;
mod knots;
mod line;
mod slope;
mod smooth;
mod top;
mod uncertainty;

#[cfg(test)]
mod tests;

pub use accuracy::{Accuracy, settle};
pub use camber::Mould;
pub use doubt::{Doubt, Figure, Sure, doubtful};
pub use edge::{
    EdgePlace, FairChain, FairEdge, FairLength, Finding, FindingKind, LineKind, PointFit, Toward,
    View,
};
pub use expected::EdgePiece;
pub use line::{Ends, Frame, Line, NoLine, curvature, fit_line, frame};
pub use slope::square_from_athwart;
pub use smooth::Rule;
pub use top::{reference_inboard, whole_height};
pub use uncertainty::{Again, Sd, Uncertainty, ordinate_sd};

use crate::fault::{Fault, Faults, Kind, Place};
use crate::geom::bspline::Spline;
use crate::geom::{Vec2, Vec3};
use crate::job::{Job, Sides};
use crate::length::fine;
use crate::survey::{Chain, Point, Survey};
use alike::Even;
use findings::Seen;
use line::fit_line_to;
use slope::Deck;
use smooth::EXACT_MM;
use top::{Stated, Top};

/// A point of a line that is to be exact may be off by this, mm, before it is
/// a finding: where points lie too near each other to interpolate each.
const EXACT_FOUND_MM: f64 = 0.01;

/// A point of a scan may be left by this many times its tolerance before it is a
/// finding: of thousands of points with errors up to the tolerance some lie at its very end,
/// and a curve with far fewer knots cannot reach each. Up to eight points a knot all are
/// brought within their tolerance if they can be.
const SCAN_SLACK: f64 = 1.05;

/// A length of a chain on its way: points `first` to `first + line.feet.len() - 1`.
struct Piece {
    first: usize,
    ends: Ends,
    /// By t, counted along the chain.
    line: Line,
    uncertainty: Option<Uncertainty>,
}

impl Piece {
    /// Index into the chain of the measured point nearest t.
    fn nearest(&self, t: f64) -> usize {
        let apart = |i: &usize| (self.line.feet[*i] - t).abs();
        let nearest = (0..self.line.feet.len()).min_by(|a, b| apart(a).total_cmp(&apart(b)));
        self.first + nearest.unwrap_or_default()
    }
}

/// Fairs both lines through a survey.
///
/// # Errors
/// All that hinders the base lines, then all that hinders slopes and top
/// lines: points that are none or double back ([`Kind::Survey`],
/// [`Kind::Range`]), a slope that is missing or cannot be
/// turned square to the edge, a top line that folds ([`Kind::Geometry`]);
/// before all, an accuracy that is neither stated nor to be estimated
/// ([`Kind::Missing`]).
pub fn fair(survey: &Survey, job: &Job) -> Result<FairEdge, Faults> {
    // Doubts by what the job states: a gross error would pass for a poor accuracy.
    let (doubts, based) = rayon::join(
        || doubtful(survey, job),
        || -> Result<_, Faults> {
            let (job, accuracy) = settle(survey, job)?;
            let lines: Vec<_> = survey.chains.iter().map(|c| base_lines(c, &job)).collect();
            Ok((job, accuracy, lines))
        },
    );
    let (job, accuracy, lines) = based?;
    let job = job.as_ref();
    let mut faults = Faults::default();
    let mut bases = Vec::new();
    for line in lines {
        match line {
            Ok(pieces) => bases.push(pieces),
            Err(f) => faults.0.extend(f.0),
        }
    }
    if !faults.0.is_empty() {
        // A slip may be what hinders the line.
        faults.0.extend(doubts.iter().map(|d| d.fault(job.show)));
        return Err(faults);
    }
    let even = match job.fairing.sides {
        Sides::Own => None,
        Sides::Alike => Some(Even::of(survey, &bases, job)?),
    };
    let (faired, bases) = match &even {
        None => (survey, &bases),
        Some(even) => (&even.survey, &even.bases),
    };
    let deck = Deck::of(faired, bases, job)?;
    let mut edge = FairEdge {
        chains: Vec::new(),
        findings: Vec::new(),
        doubts,
        accuracy,
        fairing: job.fairing,
        again: Vec::new(),
    };
    for (index, (chain, pieces)) in faired.chains.iter().zip(bases).enumerate() {
        match finish(index, chain, pieces, deck.as_ref(), job) {
            Ok((chain, findings)) => {
                edge.chains.push(chain);
                edge.findings.extend(findings);
            }
            Err(f) => faults.0.extend(f.0),
        }
    }
    if !faults.0.is_empty() {
        // What the job lacks is told once, not once a chain.
        faults.0.dedup();
        return Err(faults);
    }
    edge.again = uncertainty::again(&edge.chains, faired);
    if even.is_some() {
        alike::even_tops(&mut edge, job)?;
        alike::tell(&mut edge, faired, survey, job);
    }
    Ok(edge)
}

/// Where a measured point is booked.
fn place_of(point: &Point) -> Place {
    let side = point.side.name();
    Place::file(&point.file)
        .line(point.line)
        .station(format!("{side}, {}", point.name))
}

/// Why there is no line through points, for people.
fn no_line(why: NoLine, points: &[Point], name: &str) -> Fault {
    let at = match why {
        NoLine::DoublesBack(i) => i,
        _ => 0,
    };
    let place = points
        .get(at)
        .or(points.first())
        .map_or_else(Place::default, place_of);
    let (kind, what, mend) = match why {
        NoLine::TooFew => (
            Kind::Survey,
            format!("the {name} from here has fewer than two points at different places in plan"),
            "measure more points, and check for a knuckle marked twice",
        ),
        NoLine::NotFinite => (
            Kind::Range,
            format!("a number of the {name} from here is not finite"),
            "check the rows of this length, and the job's heights, leans and tolerances",
        ),
        NoLine::DoublesBack(_) => (
            Kind::Survey,
            format!("the {name} doubles back on itself about here"),
            "check the order of the points, or mark a corner as a knuckle",
        ),
        NoLine::Singular => (
            Kind::Survey,
            format!("no smooth {name} can be drawn through the points from here"),
            "check the points for gross errors, or mark a corner as a knuckle",
        ),
        NoLine::TooFewForDirection => (
            Kind::Survey,
            format!(
                "the {name} from here has fewer than four points, too few to meet a given angle"
            ),
            "measure more points, or leave out fairing.stem_angle_deg and fairing.stern_angle_deg",
        ),
    };
    Fault::new(kind, place, what, mend)
}

/// Tolerance of a point of the base line, mm.
fn tolerance(point: &Point, job: &Job) -> f64 {
    point.tolerance.unwrap_or(job.fairing.base)
}

/// Places of points and the tolerances that the base line has to them, mm.
fn wanted(points: &[Point], job: &Job) -> (Vec<Vec3>, Vec<f64>) {
    points.iter().map(|p| (p.at, tolerance(p, job))).unzip()
}

/// Indices of the points between which a chain is smooth: ends and knuckles.
fn corners(chain: &Chain) -> Vec<usize> {
    let last = chain.points.len().saturating_sub(1);
    let mut corners = vec![0];
    corners.extend((1..last).filter(|i| chain.points[*i].knuckle));
    corners.push(last);
    corners
}

/// The base lines of a chain, one between any two knuckles.
fn base_lines(chain: &Chain, job: &Job) -> Result<Vec<Piece>, Faults> {
    let points = &chain.points;
    if points.len() < 2 {
        return Err(Faults::from(no_line(NoLine::TooFew, points, "edge")));
    }
    let mut faults = Faults::default();
    let mut pieces: Vec<Piece> = Vec::new();
    let mut start = 0.0;
    for w in corners(chain).windows(2) {
        let within = &points[w[0]..=w[1]];
        let (places, tolerances) = wanted(within, job);
        let ends = ends::of_length(chain, w[0], w[1], job);
        match fit_line_to(&places, &tolerances, &ends, Rule::Likeliest) {
            Ok((mut line, system)) => {
                let uncertainty = Uncertainty::of(&line, &system, job.survey.accuracy, true);
                let uncertainty = uncertainty.map(|s| s.shifted(start));
                line.curve.basis = line.curve.basis.shifted(start);
                for t in &mut line.feet {
                    *t += start;
                }
                start = line.curve.basis.range().1;
                pieces.push(Piece {
                    first: w[0],
                    ends,
                    line,
                    uncertainty,
                });
            }
            Err(e) => faults.0.push(no_line(e, within, "edge")),
        }
    }
    if faults.0.is_empty() {
        Ok(pieces)
    } else {
        Err(faults)
    }
}

/// Slope, top line and fits of a chain.
fn finish(
    index: usize,
    chain: &Chain,
    pieces: &[Piece],
    deck: Option<&Deck>,
    job: &Job,
) -> Result<(FairChain, Vec<Finding>), Faults> {
    let points = &chain.points;
    let slopes = slope::of_chain(points, pieces, deck, job)?;
    let stated = Stated::of(points, pieces, job);
    let mut faults = Faults::default();
    let mut out = FairChain {
        lengths: Vec::new(),
        ends: [chain.start, chain.end],
        points: Vec::new(),
    };
    let mut found = Vec::new();
    for (k, (piece, slope)) in pieces.iter().zip(slopes).enumerate() {
        let (top, smoothest) = rayon::join(
            || top::over(points, piece, &slope, &stated, job),
            || smoothest(points, piece, job),
        );
        let top = match top {
            Ok(top) => top,
            Err(f) => {
                faults.0.extend(f.0);
                continue;
            }
        };
        let fits = fits(points, piece, &top, (index, k));
        found.extend(look(
            index,
            points,
            piece,
            [&smoothest, &top.line],
            &fits,
            job,
        ));
        // A knuckle is the last point of one length and the first of the
        // next; it is told once, with the length it begins.
        if k > 0 {
            out.points.pop();
        }
        out.points.extend(fits);
        out.lengths.push(FairLength {
            base: piece.line.curve.clone(),
            slope,
            top: top.line.curve,
            top_of: top.over,
            uncertainty: piece.uncertainty.clone(),
            top_uncertainty: top.uncertainty,
        });
    }
    if faults.0.is_empty() {
        Ok((out, found))
    } else {
        Err(faults)
    }
}

/// What became of the points of a length, by its chain's index and its own.
fn fits(
    points: &[Point],
    piece: &Piece,
    top: &Top,
    (chain, length): (usize, usize),
) -> Vec<PointFit> {
    let off = |curve: &Spline<3>, t: f64, from: Vec3| {
        let f = frame(curve, t);
        let by = f.at.plan() - from.plan();
        (-by.dot(f.tangent.left()), f.at.z - from.z)
    };
    let feet = piece.line.feet.iter().zip(&top.line.feet);
    feet.enumerate()
        .map(|(k, (t, u))| {
            let index = piece.first + k;
            let (base_out, base_up) = off(&piece.line.curve, *t, points[index].at);
            let (top_out, top_up) = off(&top.line.curve, *u, top.raw[k]);
            PointFit {
                chain,
                index,
                name: points[index].name.clone(),
                side: points[index].side,
                t: *t,
                length,
                base_out,
                base_up,
                top_out,
                top_up,
            }
        })
        .collect()
}

/// The smoothest base line within the tolerance, which shows only what the survey's errors
/// cannot explain; the base line itself where no smoother one can be had.
fn smoothest(points: &[Point], piece: &Piece, job: &Job) -> Line {
    let within = &points[piece.first..piece.first + piece.line.feet.len()];
    let (places, tolerances) = wanted(within, job);
    let smoothest = fit_line_to(&places, &tolerances, &piece.ends, Rule::Smoothest);
    smoothest.map_or_else(|_| piece.line.clone(), |(line, _)| line)
}

/// Findings along both lines of a length, and points beyond their tolerance.
fn look(
    chain: usize,
    points: &[Point],
    piece: &Piece,
    lines: [&Line; 2],
    fits: &[PointFit],
    job: &Job,
) -> Vec<Finding> {
    let mut out = Vec::new();
    for (kind, line, tolerance) in [
        (LineKind::Base, lines[0], job.fairing.base),
        (LineKind::Top, lines[1], job.fairing.top),
    ] {
        let to_t = |u: f64| {
            let at = line.curve.at(u);
            let nearest = line.feet.partition_point(|f| *f < u);
            let guess = piece.line.feet[nearest.min(piece.line.feet.len() - 1)];
            line::foot(&piece.line.curve, Vec2 { x: at[0], y: at[1] }, guess)
        };
        out.extend(findings::along(&Seen {
            line: kind,
            chain,
            curve: &line.curve,
            to_t: &to_t,
            feet: &line.feet,
            tolerance,
            show: job.show,
        }));
    }
    out.extend(left_beyond(chain, points, fits, |_, _| None, job));
    out
}

/// Points that a line leaves by more than their tolerance. `unlike` says what both sides differ
/// by at a point in each of its four moves, mm, where both were faired to one line.
fn left_beyond(
    chain: usize,
    points: &[Point],
    fits: &[PointFit],
    unlike: impl Fn(&PointFit, usize) -> Option<f64>,
    job: &Job,
) -> Vec<Finding> {
    let length = |mm: f64| fine(mm, job.show);
    let mut out = Vec::new();
    for fit in fits {
        let point = &points[fit.index];
        let allowed = tolerance(point, job);
        let checks = [
            (LineKind::Base, View::Plan, fit.base_out, allowed),
            (LineKind::Base, View::Profile, fit.base_up, allowed),
            (LineKind::Top, View::Plan, fit.top_out, job.fairing.top),
            (LineKind::Top, View::Profile, fit.top_up, job.fairing.top),
        ];
        for (k, (name, view, off, allowed)) in checks.into_iter().enumerate() {
            let most = if allowed <= EXACT_MM {
                EXACT_FOUND_MM
            } else {
                allowed * SCAN_SLACK
            };
            if off.abs() <= most {
                continue;
            }
            let unlike = unlike(fit, k);
            let sides = unlike.map_or_else(String::new, |by| {
                format!("; port and starboard differ by {} here", length(by))
            });
            out.push(Finding {
                chain,
                t: fit.t,
                kind: FindingKind::Tolerance,
                line: name,
                view,
                size: off.abs(),
                // Back to the point.
                toward: match view {
                    View::Plan => Toward::plan(-off),
                    _ => Toward::height(-off),
                },
                unlike,
                text: format!(
                    "{}: point {} is left by {}, more than its {}{sides}",
                    name.name(),
                    point.name,
                    length(off.abs()),
                    length(allowed)
                ),
                at: point.at,
            });
        }
    }
    out
}
