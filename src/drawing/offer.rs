//! A sheet of a choice of stock, small: for the eye, not for the table.

use super::model::{Drawing, Layer, Shape};
use crate::geom::{Outline, Placement, Vec2, vec2};
use crate::job::Sheet;

/// A nested sheet as its picture shows it.
#[derive(Debug, Clone)]
pub struct SmallSheet<'a> {
    /// The stock.
    pub stock: &'a Sheet,
    /// Profiles of the parts and where they lie.
    pub parts: Vec<(&'a Outline, Placement)>,
}

/// Chord error of the small profiles, mm: a tenth of a pixel where a sheet of
/// 6 m is 500 pixels long.
const CHORD: f64 = 1.2;

/// The sheet and its parts, shapes only, its lower left corner at the origin.
#[must_use]
pub fn offer_drawing(name: &str, title: &str, sheet: &SmallSheet<'_>) -> Drawing {
    let mut drawing = Drawing {
        name: name.to_owned(),
        title: title.to_owned(),
        items: Vec::new(),
    };
    let small = |outline: &Outline| {
        let points: Vec<Vec2> = outline
            .flatten(CHORD)
            .iter()
            .map(|p| vec2(p.x.round(), p.y.round()))
            .collect();
        Shape::Profile(Outline::polygon(&points))
    };
    let stock = sheet.stock;
    match &stock.shape {
        None => {
            let corner = vec2(stock.length, stock.width);
            let edge = Outline::rectangle(vec2(0.0, 0.0), corner);
            drawing.put(Layer::Sheet, small(&edge));
        }
        Some(region) => {
            for profile in region.profiles() {
                drawing.put(Layer::Sheet, small(profile));
            }
        }
    }
    for (outline, placement) in &sheet.parts {
        drawing.put(Layer::Cut, small(&outline.placed(*placement)));
    }
    drawing
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;

    /// Boxes of the profiles of a layer.
    fn boxes(drawing: &Drawing, layer: Layer) -> Vec<(Vec2, Vec2)> {
        drawing
            .items
            .iter()
            .filter(|i| i.layer == layer)
            .filter_map(|i| match &i.shape {
                Shape::Profile(o) => Some(o.bounds()),
                _ => None,
            })
            .collect()
    }

    #[test]
    fn every_part_lies_on_the_sheet() {
        let nested = sample::nested();
        let small = SmallSheet {
            stock: &nested.nest_job.sheets[0],
            parts: nested.nest.sheets[0]
                .placed
                .iter()
                .map(|p| (&nested.parts[p.part].outline, p.placement))
                .collect(),
        };
        let drawing = offer_drawing("x", "X", &small);
        let sheets = boxes(&drawing, Layer::Sheet);
        let parts = boxes(&drawing, Layer::Cut);
        assert_eq!((sheets.len(), parts.len()), (1, 2));
        let (lo, hi) = sheets[0];
        assert_eq!((lo, hi), (vec2(0.0, 0.0), vec2(2000.0, 1000.0)));
        for p in &parts {
            assert!(p.0.x >= lo.x && p.0.y >= lo.y && p.1.x <= hi.x && p.1.y <= hi.y);
        }
    }
}
