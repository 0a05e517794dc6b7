//! From the flat map to the part's own coordinates.

use std::f64::consts::PI;

use crate::develop::{Bend, BendLine};
use crate::fault::Fault;
use crate::geom::outline::hull;
use crate::geom::{Outline, Placement, Vec2};
use crate::layout::{Face, Feature};

use super::detailed::{Hole, PartFrame};
use super::input::PartInput;

/// Chord error, mm, of the polygon whose box is sought: it turns the part by
/// next to nothing and moves no dimension.
const HULL_FLATTEN: f64 = 0.05;
/// Boxes whose heights differ by less, mm, are equally low; the longest
/// straight side then decides, so that a rectangle never depends on rounding.
const EQUAL_HEIGHT: f64 = 1e-6;

/// Frame of the part, and its outline in it, counter-clockwise.
pub(super) fn settle(input: &PartInput, flat: &Outline) -> Result<(PartFrame, Outline), Fault> {
    let mut frame = PartFrame {
        mirrored: input.marked == Face::Lower,
        placement: Placement::IDENTITY,
    };
    let mut outline = flat.clone();
    if frame.mirrored {
        for v in &mut outline.vertices {
            v.at = frame.mirror(v.at);
            v.bulge = -v.bulge;
        }
    }
    if outline.area() < 0.0 {
        outline = outline.reversed();
    }
    let hull = hull(outline.flatten(HULL_FLATTEN));
    let Some(axis) = long_axis(&hull) else {
        return Err(input.fault(
            "the flat part has no width or no length",
            "look at its ends and at the plate's width",
        ));
    };
    frame.placement.turn = -axis.angle();
    let forward = frame.turn(forward(input));
    let backwards = if forward.x.abs() >= forward.y.abs() {
        forward.x < 0.0
    } else {
        forward.y < 0.0
    };
    if backwards {
        frame.placement.turn += if frame.placement.turn > 0.0 { -PI } else { PI };
    }
    frame.placement.shift = -outline.placed(frame.placement).bounds().0;
    Ok((frame, outline.placed(frame.placement)))
}

/// Chord of the flat strip's middle line, towards the bow.
fn forward(input: &PartInput) -> Vec2 {
    let (a, b) = (input.ends)(0.5);
    let chord = input.flat.jet(b, 0.5)[0] - input.flat.jet(a, 0.5)[0];
    if input.runs_aft { -chord } else { chord }
}

/// Direction of the hull's side along which the box is lowest.
fn long_axis(hull: &[Vec2]) -> Option<Vec2> {
    let mut best: Option<(f64, f64, Vec2)> = None;
    for (i, &a) in hull.iter().enumerate() {
        let side = hull[(i + 1) % hull.len()] - a;
        let length = side.length();
        let d = side.unit();
        let height = hull
            .iter()
            .map(|&p| d.cross(p - a))
            .fold(0.0, |m: f64, h| m.max(h));
        if !(length > 0.0 && height > 0.0) {
            continue;
        }
        let better = best.is_none_or(|(h, l, _)| {
            height < h - EQUAL_HEIGHT || (height < h + EQUAL_HEIGHT && length > l + EQUAL_HEIGHT)
        });
        if better {
            best = Some((height, length, d));
        }
    }
    best.map(|(.., d)| d)
}

/// Holes of the part, at their places in it.
pub(super) fn holes(input: &PartInput, frame: &PartFrame) -> Vec<Hole> {
    let hole = |f: &Feature| match *f {
        Feature::Hole { t, w, diameter } => Some(Hole {
            centre: frame.apply(input.flat.jet(t, w)[0]),
            diameter,
        }),
        _ => None,
    };
    input.features.iter().filter_map(hole).collect()
}

/// The bend schedule in the part's own coordinates.
pub(super) fn bend_lines(input: &PartInput, frame: &PartFrame) -> Vec<BendLine> {
    let laid = |b: &Bend| b.line.laid(|p| frame.apply(p));
    input.bends.iter().map(laid).collect()
}
