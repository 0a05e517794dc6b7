//! What became of the measured points, and what is found along both lines.

use super::base::{BaseLine, tolerance};
use super::curve::{foot, frame};
use super::edge::{Finding, FindingKind, LineKind, PointFit, Toward, View};
use super::findings::{self, Seen};
use super::line::Line;
use super::smooth::EXACT_MM;
use super::top::Top;
use crate::geom::bspline::Spline;
use crate::geom::{Vec2, Vec3};
use crate::job::Job;
use crate::length::fine;
use crate::survey::Point;

/// A point of a line that is to be exact may be off by this, mm, before it is
/// a finding: where points lie too near each other to interpolate each.
const EXACT_FOUND_MM: f64 = 0.01;

/// A point of a scan may be left by this many times its tolerance before it is a
/// finding: of thousands of points with errors up to the tolerance some lie at its very end,
/// and a curve with far fewer knots cannot reach each. Up to eight points a knot all are
/// brought within their tolerance if they can be.
const SCAN_SLACK: f64 = 1.05;

/// What became of the points of a length, by its chain's index and its own.
pub(super) fn fits(
    points: &[Point],
    piece: &BaseLine,
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

/// Findings along both lines of a length, and points beyond their tolerance.
pub(super) fn look(
    chain: usize,
    points: &[Point],
    piece: &BaseLine,
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
            foot(&piece.line.curve, Vec2 { x: at[0], y: at[1] }, guess)
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
pub(super) fn left_beyond(
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
