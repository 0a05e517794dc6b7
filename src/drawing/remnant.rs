//! A remnant's drawing, in the form that a job takes as stock.

use super::model::{Drawing, Layer, Shape, text_length};
use crate::dxf::ascii;
use crate::geom::{Placement, Region, vec2};
use crate::length::trimmed;
use crate::stock::{ALLOY_WORD, THICKNESS_WORD};

/// Height of the letters over the piece's length, and their range in mm: told
/// from the shop floor, and no larger than a small piece.
const LETTERS: (f64, f64, f64) = (1.0 / 60.0, 8.0, 30.0);

/// The drawing of a piece of plate, the lower left of its box at the origin:
/// edge, holes, and what it is of. `from` says where it came from.
#[must_use]
pub fn remnant_drawing(
    name: &str,
    region: &Region,
    thickness: f64,
    alloy: &str,
    from: &str,
) -> Drawing {
    let (lo, _) = region.bounds();
    let region = region.placed(Placement {
        turn: 0.0,
        shift: -lo,
    });
    let (_, size) = region.bounds();
    let mut drawing = Drawing {
        name: name.to_owned(),
        title: ascii(&format!("Remnant {name}")),
        items: Vec::new(),
    };
    drawing.put(Layer::Sheet, Shape::Profile(region.outer.clone()));
    for hole in &region.holes {
        drawing.put(Layer::Hole, Shape::Profile(hole.clone()));
    }
    let said = [
        format!("{THICKNESS_WORD} {} mm", trimmed(thickness, 3)),
        format!("{ALLOY_WORD} {alloy}"),
        from.to_owned(),
    ];
    let longest = said.iter().map(|t| text_length(t, 1.0)).fold(1.0, f64::max);
    let height = (size.x * LETTERS.0)
        .clamp(LETTERS.1, LETTERS.2)
        .min(size.x / longest);
    for (i, text) in said.iter().rev().enumerate() {
        let up = size.y + height * (0.8 + 1.8 * i as f64);
        drawing.write(vec2(0.0, up), height, text);
    }
    drawing
}
