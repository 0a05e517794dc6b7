//! A part as a pattern shows it: what is cut and marked, and what a person
//! who works from paper wants beside it.

use super::model::{Drawing, Item, Layer, Shape};
use super::part::{placed_part, upright};
use crate::dxf::ascii;
use crate::geom::outline::{hull, polygon_contains};
use crate::geom::{Outline, Placement, Vec2, Vertex, vec2};
use crate::job::Job;
use crate::layout::{Face, MemberKind};
use crate::length::{self, Show, number};
use crate::part::{BendCheck, Label, Mark, MarkKind, Part, bend_checks, check_step, hollow};
use crate::quantity::{Quantity, thickness};

/// Half a centre cross, beyond the hole's radius, mm.
const CROSS: f64 = 2.0;
/// Length of a bend's tick from an edge, mm.
const TICK: f64 = 8.0;
/// Height of the small letters, mm.
const SMALL: f64 = 2.5;
/// Clear ground round small letters, mm.
const CLEAR: f64 = 0.8;
/// How wide a small letter is taken, in heights: no common face is wider in
/// the mean.
const ADVANCE: f64 = 0.8;

/// What a pattern shows of a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shows {
    /// The part as it is marked.
    Part,
    /// Its mirror image, as the other face is marked.
    OtherFace,
    /// Of a base plate: where the covering board below it is drilled, seen from
    /// above; its edge, holes, stations and letters, and nothing of the plate's
    /// own.
    Drilling,
    /// What is marked, to mark out what is cut already: the plate's edge is a thin
    /// line, and there are no holes.
    Footprints,
}

/// A part at net size as it lies on its pattern, with its holes' centres and
/// diameters, and ticks where a plate's bend is checked.
#[must_use]
pub fn pattern_drawing(part: &Part, job: &Job, shows: Shows, placement: Placement) -> Drawing {
    let part = &shown(part, shows);
    let mut drawing = placed_part(part, job, placement);
    if shows == Shows::Footprints {
        for item in drawing.items.iter_mut().filter(|i| i.layer == Layer::Cut) {
            item.layer = Layer::Sheet;
        }
    }
    let beside = beside(part, job.show).items.into_iter();
    drawing.items.extend(beside.map(|item| Item {
        shape: item.shape.placed(placement),
        ..item
    }));
    drawing
}

/// A part with no more of it than a pattern shows.
fn shown(part: &Part, shows: Shows) -> Part {
    let over = match shows {
        Shows::Part | Shows::Footprints => false,
        Shows::OtherFace => true,
        Shows::Drilling => part.face == Face::Lower,
    };
    let mut part = if over { mirrored(part) } else { part.clone() };
    match shows {
        Shows::Drilling => {
            bare(&mut part.marks);
            part.labels.clear();
            part.bends.clear();
        }
        Shows::Footprints => {
            part.holes.clear();
            part.bends.clear();
        }
        Shows::Part | Shows::OtherFace => {}
    }
    part
}

/// The outline that a pattern shows of a part, as it lies in its drawing.
#[must_use]
pub fn pattern_outline(part: &Part, shows: Shows) -> Outline {
    shown(part, shows).outline
}

/// What stands beside a part's own lines, in its coordinates.
fn beside(part: &Part, show: Show) -> Drawing {
    let mut drawing = Drawing::default();
    let mut small = Small::over(part);
    for hole in &part.holes {
        let arm = hole.diameter / 2.0 + CROSS;
        for half in [vec2(arm, 0.0), vec2(0.0, arm)] {
            let ends = vec![hole.centre - half, hole.centre + half];
            drawing.put(Layer::Label, Shape::Stroke(ends));
        }
    }
    for hole in &part.holes {
        let text = diameter(hole.diameter, show);
        small.beside(
            &mut drawing,
            hole.centre,
            hole.diameter / 2.0 + CROSS,
            &text,
        );
    }
    let step = check_step(show);
    let straight = |c: &BendCheck| c.bend == 0.0 && c.twist.abs() < 1e-9;
    let checks = bend_checks(part, step);
    // A cap is sprung into its place, not bent to a schedule.
    if part.kind != MemberKind::Cap && !checks.iter().all(straight) {
        for check in &checks {
            bend_ticks(&mut drawing, &mut small, check, step, show);
        }
    }
    drawing
}

/// What a pattern says of a hole's diameter, mm.
#[must_use]
pub fn diameter(mm: f64, show: Show) -> String {
    format!("dia {}", thickness(mm, show))
}

/// What a pattern's words at the ticks of a bend mean.
#[must_use]
pub fn bend_words(show: Show) -> String {
    let step = length::show(check_step(show), show);
    format!(
        "Ticks at both edges are a check of the bend. Hollow: the depth under a straight edge of \
         {step} laid lengthwise over them, up where it lies on the plate's upper face, down where on \
         its lower one. Twist: what the plate turns from the check before, counted from the end \
         where it is 0; plus where the inboard edge comes up, minus where it goes down."
    )
}

/// Leaves out footprints with the letters in them, and which face is marked.
fn bare(marks: &mut Vec<Mark>) {
    let points = |m: &Mark| m.strokes.iter().flatten().copied().collect::<Vec<Vec2>>();
    let footprints: Vec<Vec<Vec2>> = (marks.iter())
        .filter(|m| m.kind == MarkKind::Footprint)
        .map(|m| hull(points(m)))
        .collect();
    let within = |m: &Mark| {
        let all = points(m);
        let middle = all.iter().fold(Vec2::default(), |sum, p| sum + *p) * (1.0 / all.len() as f64);
        footprints.iter().any(|f| polygon_contains(f, middle))
    };
    marks.retain(|m| match m.kind {
        MarkKind::Footprint | MarkKind::Face => false,
        MarkKind::Letters => !within(m),
        _ => true,
    });
}

/// Ticks at both ends of a bend's line, and what it is.
fn bend_ticks(d: &mut Drawing, small: &mut Small, check: &BendCheck, step: f64, show: Show) {
    let [out, inb] = check.ends;
    let across = (inb - out).unit();
    if !(across.x.is_finite() && across.y.is_finite()) {
        return;
    }
    let tick = TICK.min(out.distance(inb) / 4.0);
    for (from, way) in [(out, across), (inb, across * -1.0)] {
        d.put(Layer::Label, Shape::Stroke(vec![from, from + way * tick]));
    }
    let way = match check.bend {
        b if b > 0.0 => " up",
        b if b < 0.0 => " down",
        _ => "",
    };
    let bend = Quantity::Fine.told(hollow(check.bend.abs(), step), show);
    let twist = number(check.twist.to_degrees(), 2);
    let text = format!("hollow {bend}{way}, twist {twist} deg");
    small.beside(d, out + across * (tick + SMALL), SMALL, &text);
}

/// A part as it lies with its other face up: turned over about its x axis.
/// Letters stay readable, each in its place; the word that names the marked
/// face is left out.
fn mirrored(part: &Part) -> Part {
    let over = |p: Vec2| vec2(p.x, -p.y);
    let mut out = part.clone();
    let vertices = &part.outline.vertices;
    let n = vertices.len();
    // Run the other way, to be counter-clockwise again.
    let turned = |k: usize| Vertex {
        at: over(vertices[n - 1 - k].at),
        bulge: vertices[(2 * n - 2 - k) % n].bulge,
    };
    out.outline = Outline {
        vertices: (0..n).map(turned).collect(),
    };
    for hole in &mut out.holes {
        hole.centre = over(hole.centre);
    }
    out.marks.retain(|m| m.kind != MarkKind::Face);
    for mark in &mut out.marks {
        turn_over(mark);
    }
    for label in &mut out.labels {
        // The box's upper left corner comes to be its lower left one.
        let up = vec2(0.0, label.size().y).turned(label.angle);
        label.at = over(label.at + up);
        label.angle = -label.angle;
        for line in &mut label.lines {
            *line = seen_from_the_other(line);
        }
        settle(label);
    }
    for bend in &mut out.bends {
        bend.places = bend.places.map(over);
    }
    out
}

/// Turns a mark over; letters are turned back about their middle, along the
/// line in which they are read.
fn turn_over(mark: &mut Mark) {
    let over = |p: Vec2| vec2(p.x, -p.y);
    if !mark.kind.is_letters() {
        for p in mark.strokes.iter_mut().flatten() {
            *p = over(*p);
        }
        return;
    }
    let (u, v) = (mark.along, mark.along.left());
    let rise: Vec<f64> = mark.strokes.iter().flatten().map(|p| p.dot(v)).collect();
    let low = rise.iter().copied().fold(f64::INFINITY, f64::min);
    let high = rise.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let to = over(u);
    for p in mark.strokes.iter_mut().flatten() {
        // Height above the line upside down, then turned over with the part.
        let back = u * p.dot(u) + v * (low + high - p.dot(v));
        *p = over(back);
    }
    mark.along = to;
}

fn settle(label: &mut Label) {
    let (at, angle) = upright(label.at, label.angle, label.size());
    (label.at, label.angle) = (at, angle);
}

fn seen_from_the_other(line: &str) -> String {
    let (above, below) = ("seen from above", "seen from below");
    if line.contains(above) {
        line.replace(above, below)
    } else {
        line.replace(below, above)
    }
}

/// Where small letters find room: between all that is drawn.
struct Small {
    lines: Vec<[Vec2; 2]>,
    boxes: Vec<(Vec2, Vec2)>,
    inside: Vec<Vec2>,
}

impl Small {
    fn over(part: &Part) -> Self {
        let inside = part.outline.flatten(0.5);
        let n = inside.len();
        let mut lines: Vec<[Vec2; 2]> = (0..n).map(|k| [inside[k], inside[(k + 1) % n]]).collect();
        let strokes = part.marks.iter().flat_map(|m| &m.strokes);
        lines.extend(strokes.flat_map(|s| s.windows(2)).map(|w| [w[0], w[1]]));
        let holes = part.holes.iter().map(|h| {
            let r = vec2(1.0, 1.0) * (h.diameter / 2.0 + CROSS);
            (h.centre - r, h.centre + r)
        });
        let labels = part.labels.iter().filter_map(|l| {
            let size = l.size();
            let corners = [vec2(0.0, 0.0), vec2(size.x, 0.0), size, vec2(0.0, size.y)];
            super::model::bounds(corners.map(|c| l.at + c.turned(l.angle)).into_iter()).into()
        });
        Self {
            boxes: holes.chain(labels).collect(),
            lines,
            inside,
        }
    }

    /// Writes a word near a place, off it by `off` mm, where there is room on
    /// the part; else it is left out.
    fn beside(&mut self, drawing: &mut Drawing, at: Vec2, off: f64, text: &str) {
        let size = vec2(text.chars().count() as f64 * ADVANCE, 1.0) * SMALL;
        let (x, y) = (off + CLEAR, off + CLEAR);
        let spots = [
            vec2(x, -0.5 * size.y),
            vec2(-x - size.x, -0.5 * size.y),
            vec2(-0.5 * size.x, y),
            vec2(-0.5 * size.x, -y - size.y),
            vec2(0.7 * x, 0.7 * y),
            vec2(-0.7 * x - size.x, 0.7 * y),
            vec2(0.7 * x, -0.7 * y - size.y),
            vec2(-0.7 * x - size.x, -0.7 * y - size.y),
        ];
        let clear = vec2(CLEAR, CLEAR);
        let free = |spot: &&Vec2| self.free(at + **spot - clear, at + **spot + size + clear);
        let Some(&spot) = spots.iter().find(free) else {
            return;
        };
        let lower = at + spot;
        self.boxes.push((lower, lower + size));
        drawing.put(
            Layer::Label,
            Shape::Text {
                at: lower,
                height: SMALL,
                angle: 0.0,
                text: ascii(text),
            },
        );
    }

    fn free(&self, lo: Vec2, hi: Vec2) -> bool {
        let apart =
            |a: &(Vec2, Vec2)| a.1.x <= lo.x || a.0.x >= hi.x || a.1.y <= lo.y || a.0.y >= hi.y;
        self.boxes.iter().all(apart)
            && self.lines.iter().all(|l| !meets(l, lo, hi))
            && polygon_contains(&self.inside, lo.lerp(hi, 0.5))
    }
}

/// True where a line has a place in a box.
fn meets(l: &[Vec2; 2], lo: Vec2, hi: Vec2) -> bool {
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    let d = l[1] - l[0];
    for (s, d, lo, hi) in [(l[0].x, d.x, lo.x, hi.x), (l[0].y, d.y, lo.y, hi.y)] {
        if d == 0.0 {
            if s < lo || s > hi {
                return false;
            }
        } else {
            let (u, v) = ((lo - s) / d, (hi - s) / d);
            from = from.max(u.min(v));
            to = to.min(u.max(v));
        }
    }
    from <= to
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;

    #[test]
    fn a_pattern_shows_centres_diameters_and_where_the_bend_is_checked() {
        let d = pattern_drawing(
            &sample::ring_sector("B1"),
            &sample::job(),
            Shows::Part,
            Placement::IDENTITY,
        );
        let texts: Vec<&str> = (d.items.iter())
            .filter_map(|i| match &i.shape {
                Shape::Text { text, .. } => Some(text.as_str()),
                _ => None,
            })
            .collect();
        assert_eq!(texts.iter().filter(|t| **t == "dia 12.0 mm").count(), 2);
        // Curvature 2e-5 over 300 mm: 0.225 mm; twist 1e-5 over 300 mm: 0.17 degrees.
        assert!(
            texts.contains(&"hollow 0.23 mm up, twist 0.17 deg"),
            "{texts:?}"
        );
        let strokes = |i: &&Item| i.layer == Layer::Label && matches!(i.shape, Shape::Stroke(_));
        // Two of a cross on each hole, two ticks at each of five checks.
        assert_eq!(d.items.iter().filter(strokes).count(), 4 + 10);
    }

    #[test]
    fn the_drilling_of_the_board_has_the_holes_as_they_lie_from_above() {
        let mut part = sample::ring_sector("B1");
        let circles = |d: &Drawing| -> Vec<Shape> {
            let hole = d.items.iter().filter(|i| i.layer == Layer::Hole);
            hole.map(|i| i.shape.clone()).collect()
        };
        let job = sample::job();
        let above = pattern_drawing(&part, &job, Shows::Drilling, Placement::IDENTITY);
        assert_eq!(
            circles(&above),
            circles(&pattern_drawing(
                &part,
                &job,
                Shows::Part,
                Placement::IDENTITY
            ))
        );
        // No letters in a footprint that is not drawn; others stay.
        let strokes = |d: &Drawing| d.items.iter().filter(|i| i.layer == Layer::Mark).count();
        let square = vec![
            vec2(300.0, 40.0),
            vec2(340.0, 40.0),
            vec2(340.0, 80.0),
            vec2(300.0, 80.0),
        ];
        let mark = |kind, strokes| Mark {
            kind,
            strokes,
            along: vec2(1.0, 0.0),
        };
        let letter = |x: f64| vec![vec![vec2(x, 50.0), vec2(x + 5.0, 60.0)]];
        let mut marked = part.clone();
        marked.marks.push(mark(MarkKind::Footprint, vec![square]));
        marked.marks.push(mark(MarkKind::Letters, letter(315.0)));
        let same = pattern_drawing(&marked, &job, Shows::Drilling, Placement::IDENTITY);
        assert_eq!(strokes(&same), strokes(&above));
        marked.marks.push(mark(MarkKind::Letters, letter(400.0)));
        let more = pattern_drawing(&marked, &job, Shows::Drilling, Placement::IDENTITY);
        assert_eq!(strokes(&more), strokes(&above) + 1);
        // Nothing of the bend, nor what the plate is.
        let texts = |d: &Drawing| {
            let text = |i: &&Item| matches!(&i.shape, Shape::Text { text, .. } if !text.starts_with("dia"));
            d.items.iter().filter(text).count()
        };
        assert_eq!(texts(&above), 0);
        part.face = Face::Lower;
        let below = pattern_drawing(&part, &job, Shows::Drilling, Placement::IDENTITY);
        assert_eq!(
            circles(&below),
            circles(&pattern_drawing(
                &part,
                &job,
                Shows::OtherFace,
                Placement::IDENTITY
            ))
        );
    }

    #[test]
    fn the_other_face_is_the_mirror_image_with_readable_letters() {
        let mut part = sample::ring_sector("B1");
        // An L along a slant: its foot points along, its leg up.
        let u = vec2(1.0, 0.0).turned(0.3);
        let corner = vec2(500.0, 60.0);
        let l = vec![corner + u.left() * 10.0, corner, corner + u * 5.0];
        part.marks.push(Mark {
            kind: MarkKind::Letters,
            strokes: vec![l],
            along: u,
        });
        part.marks.push(Mark {
            kind: MarkKind::Face,
            strokes: vec![vec![corner, corner + u]],
            along: u,
        });
        let over = mirrored(&part);
        assert!((over.outline.area() - part.outline.area()).abs() < 1e-6);
        assert!(over.outline.area() > 0.0);
        let (lo, hi) = part.outline.bounds();
        let (mlo, mhi) = over.outline.bounds();
        assert!((mlo.y + hi.y).abs() < 1e-9 && (mhi.y + lo.y).abs() < 1e-9);
        assert!(over.marks.iter().all(|m| m.kind != MarkKind::Face));
        let letter = over
            .marks
            .iter()
            .find(|m| m.kind == MarkKind::Letters)
            .unwrap();
        let s = &letter.strokes[0];
        // Read along the mirrored slant, still an L and not its mirror image.
        assert!((s[2] - s[1]).unit().distance(vec2(u.x, -u.y)) < 1e-9);
        assert!((s[0] - s[1]).unit().distance((s[2] - s[1]).unit().left()) < 1e-9);
        let middle = |s: &[Vec2]| s[0].lerp(s[2], 0.5);
        let before = middle(&part.marks[1].strokes[0]);
        assert!(middle(s).distance(vec2(before.x, -before.y)) < 1e-9);
    }
}
