//! A member's true boundary and holes in space: what its drawing must fold
//! back to. They come from the layout alone; the flat map has no part in them.

use crate::develop::refold::Bore;
use crate::geom::Vec3;
use crate::geom::patch::Patch;
use crate::geom::steps::evenly;
use crate::layout::{Feature, Member, Strip};

/// Steps along each curve at least.
const STEPS_LEAST: f64 = 8.0;
/// A curve shorter than this, mm, is a corner: a strip that runs out to a
/// point.
const CORNER_MM: f64 = 1e-6;

/// The four sides in order: outboard edge, last end, inboard edge back, first
/// end back; those without length left out. Each is what it is and its places on the
/// mid-thickness, evenly spaced in the strip's coordinates, at most `step` mm apart,
/// nearly.
pub(super) fn boundary(member: &Member, step: f64) -> Vec<(&'static str, Vec<Vec3>)> {
    let strip = &member.strip;
    let (mut first, mut last) = ("fore end", "aft end");
    if !member.runs_aft {
        (first, last) = (last, first);
    }
    let ((a0, b0), (a1, b1)) = (strip.ends(0.0), strip.ends(1.0));
    let (start, end) = (&strip.cuts[0], &strip.cuts[1]);
    let at = |t: f64, w: f64| strip.jet(t, w).point;
    let sides: [(&'static str, &dyn Fn(f64) -> Vec3); 4] = [
        ("outboard edge", &|f| at(a0 + (b0 - a0) * f, 0.0)),
        (last, &|f| at(end.at(f), f)),
        ("inboard edge", &|f| at(b1 + (a1 - b1) * f, 1.0)),
        (first, &|f| at(start.at(1.0 - f), 1.0 - f)),
    ];
    let each = sides.into_iter().filter_map(|(name, curve)| {
        let length = length(&sampled(curve, STEPS_LEAST));
        let steps = (length / step).ceil().max(STEPS_LEAST);
        (length > CORNER_MM).then(|| (name, sampled(curve, steps)))
    });
    each.collect()
}

/// The axes of a member's holes, along the plate's normal.
pub(super) fn bores(member: &Member) -> Vec<Bore> {
    let bore = |feature: &Feature| match *feature {
        Feature::Hole { t, w, diameter } => {
            let jet = member.strip.jet(t, w);
            Some(Bore {
                centre: jet.point,
                axis: jet.along.cross(jet.across).unit(),
                diameter,
            })
        }
        _ => None,
    };
    member.features.iter().filter_map(bore).collect()
}

/// Places of both long edges over the whole of the strip's t, where a fold
/// begins and ends: for each the part of the outboard edge's length up to it,
/// w, and the place.
pub(super) fn whole_edges(strip: &Strip) -> Vec<(f64, f64, Vec3)> {
    let (first, last) = strip.range();
    let t = |f: f64| first + (last - first) * f;
    let outboard = sampled(&|f| strip.jet(t(f), 0.0).point, 32.0);
    let inboard = sampled(&|f| strip.jet(t(f), 1.0).point, 32.0);
    let whole = length(&outboard);
    let mut out = Vec::new();
    for (k, (&o, &i)) in outboard.iter().zip(&inboard).enumerate() {
        let part = length(&outboard[..=k]) / whole;
        out.extend([(part, 0.0, o), (part, 1.0, i)]);
    }
    out
}

/// A curve over 0..=1 at even steps.
fn sampled(curve: &dyn Fn(f64) -> Vec3, steps: f64) -> Vec<Vec3> {
    evenly(0.0, 1.0, steps).map(curve).collect()
}

fn length(places: &[Vec3]) -> f64 {
    places.windows(2).map(|p| p[0].distance(p[1])).sum()
}
