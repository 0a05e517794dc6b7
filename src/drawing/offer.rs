//! The sheets of a choice of stock, small: for the eye, not for the table.

use super::{Drawing, Layer, Shape, ascii, text_length};
use crate::geom::{Outline, Placement, Vec2, vec2};
use crate::job::Sheet;

/// A nested sheet as its picture shows it.
#[derive(Debug, Clone)]
pub struct SmallSheet<'a> {
    /// The stock.
    pub stock: &'a Sheet,
    /// Profiles of the parts and where they lie.
    pub parts: Vec<(&'a Outline, Placement)>,
    /// A line under it.
    pub caption: String,
}

/// Chord error of the small profiles, mm: a tenth of a pixel where a sheet of
/// 6 m is 500 pixels long.
const CHORD: f64 = 1.2;
/// Height of the captions, mm: at the same scale 9 pixels.
const LETTERS: f64 = 110.0;
/// Air between sheets, mm.
const AIR: f64 = 200.0;
/// Longest row of sheets, mm: two of the longest usual ones.
const ROW: f64 = 12_800.0;

/// Sheets from left to right in rows, the first at the upper left, each with
/// its caption below it.
#[must_use]
pub fn offer_drawing(name: &str, title: &str, sheets: &[SmallSheet<'_>]) -> Drawing {
    let mut drawing = Drawing {
        name: name.to_owned(),
        title: title.to_owned(),
        items: Vec::new(),
    };
    let (mut x, mut top, mut deepest) = (0.0_f64, 0.0_f64, 0.0_f64);
    for sheet in sheets {
        let caption = ascii(&sheet.caption);
        let wide = sheet.stock.length.max(text_length(&caption, LETTERS));
        if x > 0.0 && x + wide > ROW {
            (x, top, deepest) = (0.0, top - deepest - AIR, 0.0);
        }
        let corner = vec2(x, top - sheet.stock.width);
        put(&mut drawing, sheet, corner);
        drawing.write(corner - vec2(0.0, 1.6 * LETTERS), LETTERS, &caption);
        x += wide + AIR;
        deepest = deepest.max(sheet.stock.width + 2.0 * LETTERS);
    }
    drawing
}

fn put(drawing: &mut Drawing, sheet: &SmallSheet<'_>, corner: Vec2) {
    let small = |outline: &Outline| {
        let points: Vec<Vec2> = outline
            .flatten(CHORD)
            .iter()
            .map(|p| vec2((p.x + corner.x).round(), (p.y + corner.y).round()))
            .collect();
        Shape::Profile(Outline::polygon(&points))
    };
    let stock = sheet.stock;
    match &stock.shape {
        None => {
            let corners = [
                vec2(0.0, 0.0),
                vec2(stock.length, 0.0),
                vec2(stock.length, stock.width),
                vec2(0.0, stock.width),
            ];
            drawing.put(Layer::Sheet, small(&Outline::polygon(&corners)));
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
    fn sheets_stand_apart_and_every_part_on_its_own() {
        let nested = sample::nested();
        let one = SmallSheet {
            stock: &nested.nest_job.sheets[0],
            parts: nested.nest.sheets[0]
                .placed
                .iter()
                .map(|p| (&nested.parts[p.part].outline, p.placement))
                .collect(),
            caption: "1 of 9".into(),
        };
        let drawing = offer_drawing("x", "X", &vec![one; 9]);
        let sheets = boxes(&drawing, Layer::Sheet);
        let parts = boxes(&drawing, Layer::Cut);
        assert_eq!((sheets.len(), parts.len()), (9, 18));
        for (i, a) in sheets.iter().enumerate() {
            for b in &sheets[i + 1..] {
                let apart = a.1.x < b.0.x || b.1.x < a.0.x || a.1.y < b.0.y || b.1.y < a.0.y;
                assert!(apart, "{a:?} {b:?}");
            }
            for p in &parts[2 * i..2 * i + 2] {
                assert!(p.0.x >= a.0.x && p.0.y >= a.0.y && p.1.x <= a.1.x && p.1.y <= a.1.y);
            }
        }
        // Five of 2 m and their air go in a row of 12.8 m.
        assert!((sheets[4].0.y - sheets[0].0.y).abs() < 1.0);
        assert!(sheets[5].1.y < sheets[0].0.y - LETTERS || sheets[6].1.y < sheets[0].0.y - LETTERS);
    }
}
