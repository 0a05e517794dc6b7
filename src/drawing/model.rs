//! Drawings: shapes on layers.

use crate::dxf::{ascii, wrapped};
use crate::geom::{Outline, Placement, Vec2, Vertex, vec2};

/// Layers, in plain words; the job may rename and colour them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Layer {
    /// Outer profiles.
    Cut,
    /// Inner profiles.
    Hole,
    /// Lines and letters for the marker.
    Mark,
    /// Text for people.
    Label,
    /// Stock edge.
    Sheet,
    /// Lead-ins and lead-outs.
    Lead,
}

impl Layer {
    /// All layers, in drawing order.
    pub const ALL: [Self; 6] = [
        Self::Sheet,
        Self::Cut,
        Self::Hole,
        Self::Lead,
        Self::Mark,
        Self::Label,
    ];

    /// Name where the job gives no other.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Cut => "CUT",
            Self::Hole => "HOLE",
            Self::Mark => "MARK",
            Self::Label => "LABEL",
            Self::Sheet => "SHEET",
            Self::Lead => "LEAD",
        }
    }
}

/// A thing drawn.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A closed profile of lines and arcs.
    Profile(Outline),
    /// A circle.
    Circle {
        /// Centre, mm.
        centre: Vec2,
        /// Radius, mm.
        radius: f64,
    },
    /// An open line of straight pieces.
    Stroke(Vec<Vec2>),
    /// An open line of lines and arcs; the last bulge says nothing.
    Line(Vec<Vertex>),
    /// A line of text.
    Text {
        /// Lower left, mm.
        at: Vec2,
        /// Height of capitals, mm.
        height: f64,
        /// Turn, rad, from 0 to below a whole turn.
        angle: f64,
        /// ASCII text.
        text: String,
    },
}

/// A shape on a layer.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// Layer.
    pub layer: Layer,
    /// Shape.
    pub shape: Shape,
}

/// A drawing: one part, or one sheet.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Drawing {
    /// Name: the file's stem.
    pub name: String,
    /// What it shows, for titles.
    pub title: String,
    /// Things drawn, in order.
    pub items: Vec<Item>,
}

/// Mean advance of a letter over its height in a plain sans face. Common
/// practice, no source; used only to keep text apart and to bound a drawing.
/// Too small and neighbouring texts touch.
pub(super) const LETTER_ADVANCE: f64 = 0.68;

/// Letters in a line of a notice above a drawing.
const NOTICE_LETTERS: usize = 60;
/// Least and greatest height of its letters, mm: legible beside a doubler, no
/// taller than a sheet's own notes.
const NOTICE_MM: (f64, f64) = (8.0, 30.0);

impl Drawing {
    /// Lower left and upper right corners of all that is drawn, mm; texts
    /// count with their estimated length. `None` where nothing is drawn.
    #[must_use]
    pub fn bounds(&self) -> Option<(Vec2, Vec2)> {
        let mut all: Option<(Vec2, Vec2)> = None;
        for item in &self.items {
            let Some((lo, hi)) = item.shape.bounds() else {
                continue;
            };
            all = Some(match all {
                None => (lo, hi),
                Some((a, b)) => (
                    vec2(a.x.min(lo.x), a.y.min(lo.y)),
                    vec2(b.x.max(hi.x), b.y.max(hi.y)),
                ),
            });
        }
        all
    }

    /// Puts a line of upright words on the label layer, lower left at `at`.
    pub(super) fn write(&mut self, at: Vec2, height: f64, words: &str) {
        self.put(
            Layer::Label,
            Shape::Text {
                at,
                height,
                angle: 0.0,
                text: ascii(words),
            },
        );
    }

    /// Puts a notice on the label layer, in lines above all that is drawn.
    pub fn notice(&mut self, words: &str) {
        let Some((lo, hi)) = self.bounds() else {
            return;
        };
        let height = ((hi.x - lo.x) / NOTICE_LETTERS as f64).clamp(NOTICE_MM.0, NOTICE_MM.1);
        let lines = wrapped(&ascii(words), NOTICE_LETTERS);
        for (k, line) in lines.iter().rev().enumerate() {
            let y = hi.y + height * (1.0 + 1.8 * k as f64);
            self.write(vec2(lo.x.max(0.0), y), height, line);
        }
    }

    /// True where every coordinate drawn is a finite number.
    #[must_use]
    pub fn is_finite(&self) -> bool {
        self.items.iter().all(|i| i.shape.is_finite())
    }

    /// Layers that something lies on, in drawing order.
    pub fn layers(&self) -> impl Iterator<Item = Layer> + '_ {
        Layer::ALL
            .into_iter()
            .filter(|l| self.items.iter().any(|i| i.layer == *l))
    }

    pub(super) fn put(&mut self, layer: Layer, shape: Shape) {
        self.items.push(Item { layer, shape });
    }
}

impl Shape {
    /// Corners of the box that holds the shape, mm; `None` where it is empty.
    #[must_use]
    pub fn bounds(&self) -> Option<(Vec2, Vec2)> {
        let of = |points: &[Vec2]| {
            let first = *points.first()?;
            Some(points.iter().fold((first, first), |(lo, hi), p| {
                (
                    vec2(lo.x.min(p.x), lo.y.min(p.y)),
                    vec2(hi.x.max(p.x), hi.y.max(p.y)),
                )
            }))
        };
        match self {
            Self::Profile(o) => (!o.vertices.is_empty()).then(|| o.bounds()),
            Self::Circle { centre, radius } => {
                let r = vec2(*radius, *radius);
                Some((*centre - r, *centre + r))
            }
            Self::Stroke(points) => of(points),
            Self::Line(vertices) => of(&open(vertices).flatten(LINE_CHORD)),
            Self::Text {
                at,
                height,
                angle,
                text,
            } => {
                let along = vec2(text_length(text, *height), 0.0).turned(*angle);
                let up = vec2(0.0, *height).turned(*angle);
                of(&[*at, *at + along, *at + up, *at + along + up])
            }
        }
    }

    /// The same turned and shifted.
    #[must_use]
    pub(super) fn placed(&self, placement: Placement) -> Self {
        let at = |p: &Vec2| placement.apply(*p);
        match self {
            Self::Profile(outline) => Self::Profile(outline.placed(placement)),
            Self::Circle { centre, radius } => Self::Circle {
                centre: at(centre),
                radius: *radius,
            },
            Self::Stroke(points) => Self::Stroke(points.iter().map(at).collect()),
            Self::Line(vertices) => Self::Line(
                (vertices.iter())
                    .map(|v| Vertex {
                        at: at(&v.at),
                        ..*v
                    })
                    .collect(),
            ),
            Self::Text {
                at: from,
                height,
                angle,
                text,
            } => Self::Text {
                at: at(from),
                height: *height,
                angle: (angle + placement.turn).rem_euclid(std::f64::consts::TAU),
                text: text.clone(),
            },
        }
    }

    fn is_finite(&self) -> bool {
        let ok = |p: &Vec2| p.x.is_finite() && p.y.is_finite();
        match self {
            Self::Profile(o) => o.vertices.iter().all(|v| ok(&v.at) && v.bulge.is_finite()),
            Self::Circle { centre, radius } => ok(centre) && radius.is_finite(),
            Self::Stroke(points) => points.iter().all(ok),
            Self::Line(v) => v.iter().all(|v| ok(&v.at) && v.bulge.is_finite()),
            Self::Text {
                at, height, angle, ..
            } => ok(at) && height.is_finite() && angle.is_finite(),
        }
    }
}

/// Arcs of open lines are taken as chords this close where a drawing is
/// bounded, mm.
const LINE_CHORD: f64 = 0.01;

/// An open line as a profile that runs back along nothing but a chord.
fn open(vertices: &[Vertex]) -> Outline {
    let mut vertices = vertices.to_vec();
    if let Some(last) = vertices.last_mut() {
        last.bulge = 0.0;
    }
    Outline { vertices }
}

/// Lower left and upper right corners around points; endless the wrong way
/// round where there is none.
pub(super) fn bounds(points: impl Iterator<Item = Vec2>) -> (Vec2, Vec2) {
    let all = (
        vec2(f64::INFINITY, f64::INFINITY),
        vec2(f64::NEG_INFINITY, f64::NEG_INFINITY),
    );
    points.fold(all, |(lo, hi), p| {
        (
            vec2(lo.x.min(p.x), lo.y.min(p.y)),
            vec2(hi.x.max(p.x), hi.y.max(p.y)),
        )
    })
}

/// Estimated length of a line of text, mm.
pub(crate) fn text_length(text: &str, height: f64) -> f64 {
    text.chars().count() as f64 * height * LETTER_ADVANCE
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bounds_hold_arcs_and_text() {
        let mut d = Drawing::default();
        assert!(d.bounds().is_none());
        d.put(
            Layer::Cut,
            Shape::Profile(Outline::circle(vec2(10.0, 10.0), 5.0)),
        );
        let text = Shape::Text {
            at: vec2(0.0, 20.0),
            height: 10.0,
            angle: 0.0,
            text: "ABCD".into(),
        };
        d.put(Layer::Label, text);
        let (lo, hi) = d.bounds().unwrap();
        assert!((lo.x - 0.0).abs() < 1e-12 && (lo.y - 5.0).abs() < 1e-12);
        assert!((hi.x - 4.0 * 10.0 * LETTER_ADVANCE).abs() < 1e-12 && (hi.y - 30.0).abs() < 1e-12);
    }
}
