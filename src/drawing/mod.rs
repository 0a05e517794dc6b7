//! What every writer draws: layers, profiles with arcs, circles, strokes and
//! text, in millimetres.

mod edge;
mod offer;
mod remnant;
mod sheet;
mod sight;

pub use edge::{EdgePicture, EdgePlace, edge_drawing};
pub use offer::{SmallSheet, offer_drawing};
pub use remnant::remnant_drawing;
pub use sheet::{SheetView, sheet_drawing};
pub use sight::{Sighted, sighting_drawing};

use crate::geom::{Outline, Placement, Vec2, Vertex, vec2};
use crate::job::Job;
use crate::part::{LABEL_ADVANCE, Part};
use crate::quantity;

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
        /// Turn, rad.
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
pub(crate) const LETTER_ADVANCE: f64 = 0.68;

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
    fn write(&mut self, at: Vec2, height: f64, words: &str) {
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
        let lines = sheet::wrapped(&ascii(words), NOTICE_LETTERS);
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

    fn put(&mut self, layer: Layer, shape: Shape) {
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
fn bounds(points: impl Iterator<Item = Vec2>) -> (Vec2, Vec2) {
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

/// Length that a part keeps free for a label's line of text, mm.
fn kept_length(text: &str, height: f64) -> f64 {
    text.chars().count() as f64 * height * LABEL_ADVANCE
}

/// Estimated length of a line of text, mm.
pub(crate) fn text_length(text: &str, height: f64) -> f64 {
    text.chars().count() as f64 * height * LETTER_ADVANCE
}

/// Text that every reader of old formats can show: ASCII, no control
/// characters. A letter that has no plain form becomes a question mark.
#[must_use]
pub fn ascii(text: &str) -> String {
    text.chars()
        .flat_map(|c| match c {
            ' '..='~' => vec![c],
            '\t' | '\n' | '\r' => vec![' '],
            '\u{d7}' => vec!['x'],
            '\u{b0}' => " deg".chars().collect(),
            '\u{2013}' | '\u{2014}' | '\u{2212}' => vec!['-'],
            '\u{2018}' | '\u{2019}' | '\u{2032}' => vec!['\''],
            '\u{201c}' | '\u{201d}' | '\u{2033}' => vec!['"'],
            '\u{bd}' => "1/2".chars().collect(),
            '\u{bc}' => "1/4".chars().collect(),
            '\u{be}' => "3/4".chars().collect(),
            c if c.is_control() => vec![' '],
            _ => vec!['?'],
        })
        .collect()
}

/// A part at net size, 1:1, as it lies in its own coordinates.
#[must_use]
pub fn part_drawing(part: &Part, job: &Job) -> Drawing {
    let mut drawing = Drawing {
        name: part.name.clone(),
        title: ascii(&format!(
            "{}  part {}, {}, {} thick, net size",
            job.name,
            part.name,
            part.alloy,
            quantity::thickness(part.thickness, job.show),
        )),
        items: Vec::new(),
    };
    put_part(&mut drawing, part, Placement::IDENTITY);
    drawing
}

/// Draws a part turned and shifted. One that is flipped keeps its profiles
/// only: its marks are for the other face, and its letters would be mirror
/// writing.
fn put_part(drawing: &mut Drawing, part: &Part, placement: Placement) {
    put_profiles(drawing, part, placement);
    put_marks(drawing, part, placement);
}

/// The profiles of a part at net size.
fn put_profiles(drawing: &mut Drawing, part: &Part, placement: Placement) {
    drawing.put(Layer::Cut, Shape::Profile(part.outline.placed(placement)));
    for hole in &part.holes {
        drawing.put(
            Layer::Hole,
            Shape::Circle {
                centre: placement.apply(hole.centre),
                radius: hole.diameter / 2.0,
            },
        );
    }
}

/// Lines, letters and text of a part.
fn put_marks(drawing: &mut Drawing, part: &Part, placement: Placement) {
    if placement.flipped {
        return;
    }
    for stroke in part.marks.iter().flat_map(|m| &m.strokes) {
        let points = stroke.iter().map(|&p| placement.apply(p)).collect();
        drawing.put(Layer::Mark, Shape::Stroke(points));
    }
    for label in &part.labels {
        let text = ascii(&label.text);
        let (at, angle) = upright(
            placement.apply(label.at),
            label.angle + placement.turn,
            vec2(kept_length(&text, label.height), label.height),
        );
        drawing.put(
            Layer::Label,
            Shape::Text {
                at,
                height: label.height,
                angle,
                text,
            },
        );
    }
}

/// Lower left corner and angle of a text of this size: one that would stand
/// on its head is turned about the middle of its place.
fn upright(at: Vec2, angle: f64, size: Vec2) -> (Vec2, f64) {
    if vec2(1.0, 0.0).turned(angle).x > -1e-9 {
        return (at, angle);
    }
    (at + size.turned(angle), angle - std::f64::consts::PI)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;

    #[test]
    fn a_part_is_drawn_on_the_layers_of_its_kind() {
        let d = part_drawing(&sample::ring_sector("B1"), &sample::job());
        let count = |l: Layer| d.items.iter().filter(|i| i.layer == l).count();
        assert_eq!(count(Layer::Cut), 1);
        assert_eq!(count(Layer::Hole), 2);
        assert_eq!(count(Layer::Mark), 2);
        assert_eq!(count(Layer::Label), 1);
        assert_eq!(count(Layer::Sheet), 0);
        assert!(d.title.is_ascii() && d.title.contains("B1"));
    }

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

    #[test]
    fn a_label_on_its_head_is_turned_in_its_place() {
        let part = sample::ring_sector("B1");
        for turn in [0.4, 2.0, 3.1, 4.0, 5.5] {
            let (mut turned, mut plain) = (Drawing::default(), Drawing::default());
            let shift = vec2(3.0, 4.0);
            put_part(
                &mut turned,
                &part,
                Placement {
                    turn,
                    shift,
                    flipped: false,
                },
            );
            put_part(&mut plain, &part, Placement::IDENTITY);
            let label = |d: &Drawing| {
                d.items
                    .iter()
                    .find_map(|i| match &i.shape {
                        Shape::Text {
                            at,
                            height,
                            angle,
                            text,
                        } => {
                            let half = vec2(kept_length(text, *height), *height) * 0.5;
                            Some((*at + half.turned(*angle), *angle))
                        }
                        _ => None,
                    })
                    .unwrap()
            };
            let (middle, angle) = label(&turned);
            let want = label(&plain).0.turned(turn) + shift;
            assert!(middle.distance(want) < 1e-9);
            assert!(vec2(1.0, 0.0).turned(angle).x > -1e-6, "{turn}");
        }
    }

    #[test]
    fn text_comes_out_as_ascii() {
        assert_eq!(ascii("5 \u{d7} 12\u{b0}\n\u{e9}"), "5 x 12 deg ?");
    }
}
