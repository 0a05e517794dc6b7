//! The edge of the flat strip as lines and arcs.

use crate::fault::Fault;
use crate::geom::biarc::{self, FitFault};
use crate::geom::{Outline, Vec2, Vertex};
use crate::length::told;

use super::input::{Options, PartInput};

/// An edge shorter than this, mm, is a corner: a strip that runs out to a point.
const CORNER: f64 = 1e-6;
/// Step for the slope of an oblique end, in w: small against any bend of the
/// end, large against the rounding of t.
const END_STEP: f64 = 1e-4;

/// The outline on the flat map: outboard edge, last end, inboard edge back,
/// first end back. The four corners are kept sharp.
pub(super) fn outline(input: &PartInput, options: &Options) -> Result<Outline, Fault> {
    let (a0, b0) = (input.ends)(0.0);
    let (a1, b1) = (input.ends)(1.0);
    let (outboard, inboard) = (input.flat.edge(0.0), input.flat.edge(1.0));
    let (first, last) = (|w| end(input, w, false), |w| end(input, w, true));
    let edges: [(biarc::Curve, (f64, f64)); 4] = [
        (&outboard, (a0, b0)),
        (&last, (0.0, 1.0)),
        (&inboard, (b1, a1)),
        (&first, (1.0, 0.0)),
    ];
    let mut vertices: Vec<Vertex> = Vec::new();
    for (curve, range) in edges {
        let (p, q) = (curve(range.0).0, curve(range.1).0);
        let middle = curve(0.5 * (range.0 + range.1)).0;
        if p.distance(middle) < CORNER && q.distance(middle) < CORNER {
            continue;
        }
        let mut chain = biarc::fit(curve, range, options.outline_tolerance).map_err(|e| {
            let why = match e {
                FitFault::NotReached(mm) => {
                    format!("they stay {} from the curve", told(mm, options.show))
                }
                e => e.to_string(),
            };
            input.fault(
                format!("its edge cannot be drawn as lines and arcs: {why}"),
                "look at the survey near this place, or allow a larger outline tolerance",
            )
        })?;
        chain.pop();
        vertices.append(&mut chain);
    }
    Ok(Outline { vertices })
}

/// Place and derivative by w on an end of the strip.
fn end(input: &PartInput, w: f64, last: bool) -> (Vec2, Vec2) {
    let t_at = |w: f64| {
        let (first, second) = (input.ends)(w);
        if last { second } else { first }
    };
    let t = t_at(w);
    let h = END_STEP;
    // One-sided differences of second order: w stays within 0..=1.
    let slope = if w < h {
        (4.0 * t_at(w + h) - 3.0 * t - t_at(w + 2.0 * h)) / (2.0 * h)
    } else if w > 1.0 - h {
        (3.0 * t - 4.0 * t_at(w - h) + t_at(w - 2.0 * h)) / (2.0 * h)
    } else {
        (t_at(w + h) - t_at(w - h)) / (2.0 * h)
    };
    let [p, dt, dw] = input.flat.jet(t, w);
    (p, dw + dt * slope)
}

/// Length of the flat outboard edge from end to end, mm: Gauss-Legendre with
/// three places on 128 pieces, exact to a nanometre on anything smooth.
pub(super) fn edge_length(input: &PartInput) -> f64 {
    // Places and weights of the three-point rule (root of 3/5; 5/9, 8/9).
    let root = 0.6_f64.sqrt();
    let rule = [(-root, 5.0 / 9.0), (0.0, 8.0 / 9.0), (root, 5.0 / 9.0)];
    let (a, b) = (input.ends)(0.0);
    let pieces = 128;
    let half = (b - a) / f64::from(2 * pieces);
    let edge = input.flat.edge(0.0);
    let mut sum = 0.0;
    for k in 0..pieces {
        let middle = a + half * f64::from(2 * k + 1);
        for (x, weight) in rule {
            sum += weight * edge(middle + half * x).1.length();
        }
    }
    sum * half
}
