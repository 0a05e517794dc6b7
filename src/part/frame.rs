//! From the flat map to the part's own coordinates.

use std::f64::consts::PI;

use crate::fault::Fault;
use crate::geom::outline::hull;
use crate::geom::{Outline, Placement, Vec2, vec2};
use crate::layout::Face;

use super::input::PartInput;

/// Chord error, mm, of the polygon whose box is sought: it turns the part by
/// next to nothing and moves no dimension.
const HULL_FLATTEN: f64 = 0.05;
/// Boxes whose heights differ by less, mm, are equally low; the longest
/// straight side then decides, so that a rectangle never depends on rounding.
const EQUAL_HEIGHT: f64 = 1e-6;

/// How the flat map is laid into the part's coordinates: mirrored for a part
/// marked on its lower face, then turned and shifted.
///
/// The turn is that of the lowest box round the part: a hollow strip lies on
/// the two corners of its hollow side, or with them up. Of the two ways round,
/// forward points to the right (up, for a part wider than long). A port and
/// a starboard strip of the same shape are each other's mirror image about
/// the x axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PartFrame {
    /// The flat's y is turned about before placing: seen from below.
    pub mirrored: bool,
    /// Turn and shift after that.
    pub placement: Placement,
}

impl PartFrame {
    /// Part coordinates of a place on the flat map.
    #[must_use]
    pub fn apply(&self, flat: Vec2) -> Vec2 {
        self.placement.apply(self.mirror(flat))
    }

    /// A direction on the flat map, in part coordinates.
    #[must_use]
    pub fn turn(&self, flat: Vec2) -> Vec2 {
        self.mirror(flat).turned(self.placement.turn)
    }

    /// Flat place of part coordinates: the inverse of [`PartFrame::apply`].
    #[must_use]
    pub fn undo(&self, place: Vec2) -> Vec2 {
        self.mirror((place - self.placement.shift).turned(-self.placement.turn))
    }

    fn mirror(&self, p: Vec2) -> Vec2 {
        if self.mirrored { vec2(p.x, -p.y) } else { p }
    }
}

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
