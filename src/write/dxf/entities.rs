//! The entities of a drawing as code pairs.

use super::layers::style;
use super::pairs::{Handles, put};
use crate::drawing::{Drawing, Shape, ascii};
use crate::geom::{Vec2, Vertex};
use crate::job::{DxfVersion, Output};
use crate::length::trimmed;

/// Decimals of a coordinate, and of a bulge: a millionth of what an outline is held to.
const PLACE_DECIMALS: usize = 9;
const BULGE_DECIMALS: usize = 12;

/// Writes entities one after the other.
struct Writer<'a> {
    out: &'a mut String,
    handles: &'a mut Handles,
    modern: bool,
    /// Drawing units in a millimetre.
    scale: f64,
}

/// Puts every item of a drawing, `scale` drawing units to a millimetre.
pub(super) fn put_entities(
    out: &mut String,
    drawing: &Drawing,
    output: &Output,
    scale: f64,
    handles: &mut Handles,
) {
    let mut writer = Writer {
        out,
        handles,
        modern: output.dxf == DxfVersion::R2000,
        scale,
    };
    for item in &drawing.items {
        let layer = style(item.layer, output).name;
        match &item.shape {
            Shape::Profile(outline) => writer.line(&layer, outline.vertices.iter().copied(), true),
            Shape::Line(vertices) => writer.line(&layer, vertices.iter().copied(), false),
            Shape::Stroke(points) => {
                let straight = points.iter().map(|&at| Vertex { at, bulge: 0.0 });
                writer.line(&layer, straight, false);
            }
            Shape::Circle { centre, radius } => {
                writer.begin("CIRCLE", &layer, "AcDbCircle");
                writer.place(*centre);
                writer.length(40, *radius);
            }
            Shape::Text {
                at,
                height,
                angle,
                text,
            } => {
                writer.begin("TEXT", &layer, "AcDbText");
                writer.place(*at);
                writer.length(40, *height);
                // A doubled percent sign begins a control code.
                put(writer.out, 1, &ascii(text).replace("%%", "% %"));
                put(writer.out, 50, &trimmed(angle.to_degrees(), PLACE_DECIMALS));
                if writer.modern {
                    put(writer.out, 100, "AcDbText");
                }
            }
        }
    }
}

impl Writer<'_> {
    fn begin(&mut self, kind: &str, layer: &str, class: &str) {
        put(self.out, 0, kind);
        if self.modern {
            put(self.out, 5, &self.handles.next());
            put(self.out, 100, "AcDbEntity");
        }
        put(self.out, 8, layer);
        if self.modern {
            put(self.out, 100, class);
        }
    }

    fn length(&mut self, code: i32, mm: f64) {
        put(self.out, code, &trimmed(mm * self.scale, PLACE_DECIMALS));
    }

    fn flat(&mut self, at: Vec2) {
        self.length(10, at.x);
        self.length(20, at.y);
    }

    fn place(&mut self, at: Vec2) {
        self.flat(at);
        put(self.out, 30, "0");
    }

    fn bulge(&mut self, bulge: f64) {
        if bulge != 0.0 {
            put(self.out, 42, &trimmed(bulge, BULGE_DECIMALS));
        }
    }

    fn line(&mut self, layer: &str, vertices: impl ExactSizeIterator<Item = Vertex>, closed: bool) {
        let closed = if closed { "1" } else { "0" };
        if self.modern {
            self.begin("LWPOLYLINE", layer, "AcDbPolyline");
            put(self.out, 90, &vertices.len().to_string());
            put(self.out, 70, closed);
            for v in vertices {
                self.flat(v.at);
                self.bulge(v.bulge);
            }
            return;
        }
        self.begin("POLYLINE", layer, "");
        put(self.out, 66, "1");
        self.place(Vec2::default());
        put(self.out, 70, closed);
        for v in vertices {
            self.begin("VERTEX", layer, "");
            self.place(v.at);
            self.bulge(v.bulge);
        }
        self.begin("SEQEND", layer, "");
    }
}
