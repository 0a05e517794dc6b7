//! What every writer draws: layers, profiles with arcs, circles, strokes and
//! text, in millimetres.

mod cuts;
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

use std::f64::consts::{PI, TAU};

use crate::geom::{Outline, Placement, Vec2, Vertex, vec2};
use crate::job::Job;
pub use crate::pairs::ascii;
use crate::pairs::wrapped;
use crate::part::Part;
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

/// Estimated length of a line of text, mm.
pub(crate) fn text_length(text: &str, height: f64) -> f64 {
    text.chars().count() as f64 * height * LETTER_ADVANCE
}

/// A part at net size, 1:1, as it lies in its own coordinates.
#[must_use]
pub fn part_drawing(part: &Part, job: &Job) -> Drawing {
    let mut drawing = Drawing {
        name: part.name.clone(),
        title: ascii(&format!(
            "{}, part {}, {}, {} thick, net size",
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

/// Draws a part turned and shifted, in the order in which it is worked: marks,
/// holes, outer profile.
fn put_part(drawing: &mut Drawing, part: &Part, placement: Placement) {
    put_marks(drawing, part, placement);
    for hole in 0..part.holes.len() {
        put_profile(drawing, part, placement, Some(hole));
    }
    put_profile(drawing, part, placement, None);
}

/// A hole of a part at net size; `None`: its outer profile.
fn put_profile(drawing: &mut Drawing, part: &Part, placement: Placement, hole: Option<usize>) {
    match hole.map(|h| part.holes[h]) {
        Some(hole) => drawing.put(
            Layer::Hole,
            Shape::Circle {
                centre: placement.apply(hole.centre),
                radius: hole.diameter / 2.0,
            },
        ),
        None => drawing.put(Layer::Cut, Shape::Profile(part.outline.placed(placement))),
    }
}

/// Lines, letters and text of a part.
fn put_marks(drawing: &mut Drawing, part: &Part, placement: Placement) {
    for stroke in part.marks.iter().flat_map(|m| &m.strokes) {
        let points = stroke.iter().map(|&p| placement.apply(p)).collect();
        drawing.put(Layer::Mark, Shape::Stroke(points));
    }
    for label in &part.labels {
        let (at, angle) = upright(
            placement.apply(label.at),
            label.angle + placement.turn,
            label.size(),
        );
        for (text, line) in label.placed() {
            drawing.put(
                Layer::Label,
                Shape::Text {
                    at: at + line.turned(angle),
                    height: label.height,
                    angle,
                    text: ascii(text),
                },
            );
        }
    }
}

/// Turns nearer to none than this, rad, are none: no writer's digits show
/// them, and rounded up they would be a whole turn.
const LEAST_TURN: f64 = 1e-8;

/// Lower left corner and angle, from 0 to below a whole turn, of a box of text
/// of this size: one that would stand on its head is turned about its middle.
fn upright(at: Vec2, angle: f64, size: Vec2) -> (Vec2, f64) {
    let whole = |angle: f64| {
        let turn = angle.rem_euclid(TAU);
        let seen = turn > LEAST_TURN && turn < TAU - LEAST_TURN;
        if seen { turn } else { 0.0 }
    };
    if vec2(1.0, 0.0).turned(angle).x > -1e-9 {
        return (at, whole(angle));
    }
    (at + size.turned(angle), whole(angle - PI))
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
        assert_eq!(count(Layer::Label), 2);
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

    /// Corner, turn and words of every text of a part laid so.
    fn texts(turn: f64, shift: Vec2) -> Vec<(Vec2, f64, String)> {
        let mut d = Drawing::default();
        let placement = Placement { turn, shift };
        put_part(&mut d, &sample::ring_sector("B1"), placement);
        let text = |i: &Item| match &i.shape {
            Shape::Text {
                at, angle, text, ..
            } => Some((*at, *angle, text.clone())),
            _ => None,
        };
        d.items.iter().filter_map(text).collect()
    }

    #[test]
    fn a_label_on_its_head_is_turned_as_one_block_in_its_place() {
        let size = sample::ring_sector("B1").labels[0].size();
        let shift = vec2(3.0, 4.0);
        let middle = |t: &[(Vec2, f64, String)]| {
            // The lower line stands as far above the box's lower edge as in the part.
            let below = sample::ring_sector("B1").labels[0]
                .placed()
                .last()
                .map(|(_, at)| at)
                .unwrap();
            t[1].0 + (size * 0.5 - below).turned(t[1].1)
        };
        let plain = texts(0.0, vec2(0.0, 0.0));
        assert_eq!(
            (plain[0].2.as_str(), plain[1].2.as_str()),
            ("B1", "base plate")
        );
        for turn in [-3.1, -1e-12, 0.4, 2.0, 3.1, 4.0, 5.5, TAU - 1e-12, 7.0] {
            let turned = texts(turn, shift);
            let words =
                |t: &[(Vec2, f64, String)]| t.iter().map(|t| t.2.clone()).collect::<Vec<_>>();
            assert_eq!(words(&turned), words(&plain));
            let (name, angle, _) = turned[0];
            assert!((0.0..TAU - LEAST_TURN).contains(&angle), "{turn}: {angle}");
            assert!(vec2(1.0, 0.0).turned(angle).x > -1e-6, "{turn}");
            // The name is the upper line as it reads, and the block keeps its place.
            let down = (turned[1].0 - name).turned(-angle);
            assert!(
                down.distance(plain[1].0 - plain[0].0) < 1e-9,
                "{turn}: {down:?}"
            );
            assert!(down.y < 0.0);
            let want = middle(&plain).turned(turn) + shift;
            assert!(middle(&turned).distance(want) < 1e-9, "{turn}");
        }
    }

    #[test]
    fn a_part_is_drawn_in_the_order_in_which_it_is_worked() {
        let d = part_drawing(&sample::ring_sector("B1"), &sample::job());
        let profiles: Vec<Layer> = (d.items.iter().map(|i| i.layer))
            .filter(|l| matches!(l, Layer::Cut | Layer::Hole))
            .collect();
        assert_eq!(profiles, [Layer::Hole, Layer::Hole, Layer::Cut]);
        let first_hole = d.items.iter().position(|i| i.layer == Layer::Hole).unwrap();
        let last_mark = d
            .items
            .iter()
            .rposition(|i| i.layer == Layer::Mark)
            .unwrap();
        assert!(last_mark < first_hole);
    }
}
