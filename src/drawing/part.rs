//! A part, as it lies in its own coordinates or on a sheet.

use std::f64::consts::{PI, TAU};

use super::model::{Drawing, Layer, Shape};
use crate::dxf::ascii;
use crate::geom::{Placement, Vec2, vec2};
use crate::job::Job;
use crate::part::Part;
use crate::quantity;

/// A part at net size, 1:1, as it lies in its own coordinates.
#[must_use]
pub fn part_drawing(part: &Part, job: &Job) -> Drawing {
    placed_part(part, job, Placement::IDENTITY)
}

/// A part at net size, 1:1, turned and shifted.
pub(super) fn placed_part(part: &Part, job: &Job, placement: Placement) -> Drawing {
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
    put_part(&mut drawing, part, placement);
    drawing
}

/// Draws a part turned and shifted, in the order in which it is worked: marks,
/// holes, outer profile.
pub(super) fn put_part(drawing: &mut Drawing, part: &Part, placement: Placement) {
    put_marks(drawing, part, placement);
    for hole in 0..part.holes.len() {
        put_profile(drawing, part, placement, Some(hole));
    }
    put_profile(drawing, part, placement, None);
}

/// A hole of a part at net size; `None`: its outer profile.
pub(super) fn put_profile(
    drawing: &mut Drawing,
    part: &Part,
    placement: Placement,
    hole: Option<usize>,
) {
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
pub(super) fn put_marks(drawing: &mut Drawing, part: &Part, placement: Placement) {
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
pub(super) fn upright(at: Vec2, angle: f64, size: Vec2) -> (Vec2, f64) {
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
    use super::super::model::Item;
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
