//! Port and starboard of the faired lines against each other.

use super::edge::{FairChain, FairEdge, LineKind};
use crate::geom::Vec3;
use crate::geom::bspline::Spline;
use crate::job::Side;
use crate::survey::Survey;

/// Steps along a length in which the other side is looked for, mm; a side
/// does not pass the same x twice within one.
const STEP_MM: f64 = 100.0;

/// Halvings of a step: to below a nanometre.
const HALVINGS: usize = 40;

/// Ends as far forward as each other to this, mm, are compared: both sides of
/// a boat measured at the same stations end at one x, to rounding.
const SAME_MM: f64 = 1e-3;

/// A side runs more fore-and-aft than athwart where this holds of its plan
/// tangent's x: round a stern one x is no place to compare at.
const FORE_AND_AFT: f64 = std::f64::consts::FRAC_1_SQRT_2;

/// Both sides at one distance forward.
#[derive(Debug, Clone, PartialEq)]
pub struct Unlike {
    /// Station or point of port as booked.
    pub station: String,
    /// Distance forward of the datum, mm.
    pub x: f64,
    /// Half-breadth of port less that of starboard, base line, mm.
    pub base_wider: f64,
    /// Height of port less that of starboard, base line, mm.
    pub base_higher: f64,
    /// The same of the top line, mm.
    pub top_wider: f64,
    /// The same of the top line, mm.
    pub top_higher: f64,
}

/// Both sides compared at every measured station of port, where both run more
/// fore-and-aft than athwart and starboard reaches; empty where only one side
/// stands.
#[must_use]
pub fn compare(edge: &FairEdge, survey: &Survey) -> Vec<Unlike> {
    let mut out = Vec::new();
    for (chain, measured) in edge.chains.iter().zip(&survey.chains) {
        for fit in &chain.points {
            if measured.points[fit.index].side != Side::Port {
                continue;
            }
            let length = &chain.lengths[fit.length];
            if length.frame(fit.t).tangent.x.abs() < FORE_AND_AFT {
                continue;
            }
            let here = length.base_point(fit.t);
            let over = length.top_point(fit.t);
            let base = across(edge, LineKind::Base, here.x);
            let top = across(edge, LineKind::Top, over.x);
            if let (Some(base), Some(top)) = (base, top) {
                out.push(Unlike {
                    station: fit.name.clone(),
                    x: here.x,
                    base_wider: here.y + base.y,
                    base_higher: here.z - base.z,
                    top_wider: over.y + top.y,
                    top_higher: over.z - top.z,
                });
            }
        }
    }
    out
}

/// Starboard of a line at a distance forward, where it runs fore-and-aft.
fn across(edge: &FairEdge, line: LineKind, x: f64) -> Option<Vec3> {
    edge.chains.iter().find_map(|c| on_chain(c, line, x))
}

fn on_chain(chain: &FairChain, line: LineKind, x: f64) -> Option<Vec3> {
    chain.lengths.iter().find_map(|length| {
        let curve = match line {
            LineKind::Base => &length.base,
            LineKind::Top => &length.top,
        };
        let (first, last) = curve.basis.range();
        let count = ((last - first) / STEP_MM).ceil().max(1.0);
        let mut before = (first, at(curve, first));
        let mut k = 1.0;
        while k <= count {
            let t = first + (last - first) * k / count;
            let here = (t, at(curve, t));
            let starboard = before.1.y < 0.0 && here.1.y < 0.0;
            let run = here.1.plan() - before.1.plan();
            if starboard
                && before.1.x.min(here.1.x) <= x + SAME_MM
                && before.1.x.max(here.1.x) >= x - SAME_MM
                && run.x.abs() >= FORE_AND_AFT * run.length()
            {
                return Some(halved(curve, x, before.0, here.0));
            }
            before = here;
            k += 1.0;
        }
        None
    })
}

fn at(curve: &Spline<3>, t: f64) -> Vec3 {
    let [x, y, z] = curve.at(t);
    crate::geom::vec3(x, y, z)
}

fn halved(curve: &Spline<3>, x: f64, mut a: f64, mut b: f64) -> Vec3 {
    let rising = at(curve, b).x > at(curve, a).x;
    for _ in 0..HALVINGS {
        let middle = 0.5 * (a + b);
        if (at(curve, middle).x < x) == rising {
            a = middle;
        } else {
            b = middle;
        }
    }
    at(curve, 0.5 * (a + b))
}
