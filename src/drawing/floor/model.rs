//! A floor sheet's drawing: lines and words at their size on paper, mm, from
//! the lower left of the room that the page leaves it.

use super::super::model::Shape;
use crate::geom::{Vec2, vec2};
use crate::length::{Show, trimmed};

/// What a floor sheet shows.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FloorSheet {
    /// Short name, such as `boat`; none is the same twice.
    pub name: String,
    /// What it is, for the title block.
    pub heading: String,
    /// Size on paper over true size; `None`: not to one scale.
    pub scale: Option<f64>,
    /// What it shows, in words, for one who cannot see it.
    pub shows: String,
    /// Lines in the order in which they are drawn.
    pub lines: Vec<(Stroke, Shape)>,
    /// Words, those that must have their place first.
    pub tags: Vec<Tag>,
}

/// A line's kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stroke {
    /// An edge of what the sheet is about.
    Edge,
    /// Other edges, ticks, dimensions.
    Thin,
    /// What is hidden, or no edge.
    Dashed,
    /// A middle line.
    Centre,
    /// A closed shape of solid metal.
    Solid,
    /// A closed shape in light grey.
    Shade,
}

/// Words by a place.
#[derive(Debug, Clone, PartialEq)]
pub struct Tag {
    /// The words.
    pub text: String,
    /// Height of capitals, mm.
    pub height: f64,
    /// Where, mm.
    pub at: Vec2,
    /// How they stand to it.
    pub stand: Stand,
}

/// How words stand to their place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Stand {
    /// Their base line begins there, always.
    At,
    /// A cell of a table that begins there: its row, and whether it names its
    /// column.
    Cell(usize, bool),
    /// Their middle there, or as near as there is room.
    On,
    /// The same, whatever lines pass under them.
    Over,
    /// Beside it in this direction, or as near as there is room.
    By(Vec2),
    /// The same, and left out where there is no room near.
    MayBy(Vec2),
}

/// Height of the least letters, mm of paper: read at arm's length.
pub const LEAST_LETTER: f64 = 2.6;
/// Height of a line of notes, mm of paper.
pub(super) const LINE: f64 = 4.4;
/// Height of a part's name, mm of paper.
pub(super) const NAME: f64 = 3.6;

/// Scales of drawings, 1 to so many: round metric ones (ISO 5455 has 1:1 to
/// 1:10000 by 1, 2 and 5; those between are common practice), and whole
/// fractions of an inch to the foot (common practice, no source).
const METRIC: [f64; 20] = [
    1.0, 2.0, 3.0, 4.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 75.0, 100.0, 150.0, 200.0,
    500.0, 1000.0, 2000.0, 5000.0,
];
const TRADE: [f64; 15] = [
    1.0, 2.0, 4.0, 8.0, 12.0, 16.0, 24.0, 32.0, 48.0, 64.0, 96.0, 192.0, 384.0, 1200.0, 6000.0,
];

/// Scales from the largest, paper over true size.
pub(super) fn scales(show: Show) -> impl Iterator<Item = f64> {
    let all: &[f64] = match show {
        Show::Mm => &METRIC,
        Show::FeetInches => &TRADE,
    };
    all.iter().map(|n| 1.0 / n)
}

/// The largest scale that serves; the smallest there is where none does.
pub(super) fn largest(show: Show, serves: impl Fn(f64) -> bool) -> f64 {
    let mut last = 1.0;
    for scale in scales(show) {
        last = scale;
        if serves(scale) {
            break;
        }
    }
    last
}

/// A scale in words: `1:40`, and where lengths are told in feet and inches
/// `1/4 in = 1 ft (1:48)`.
#[must_use]
pub fn scale_words(scale: f64, show: Show) -> String {
    let ratio = format!("1:{}", trimmed(1.0 / scale, 1));
    match show {
        Show::FeetInches if scale < 1.0 => {
            let inch = crate::length::show(crate::length::FOOT * scale, show);
            format!("{inch} = 1 ft ({ratio})")
        }
        _ => ratio,
    }
}

impl FloorSheet {
    pub(super) fn stroke(&mut self, stroke: Stroke, points: Vec<Vec2>) {
        self.lines.push((stroke, Shape::Stroke(points)));
    }

    pub(super) fn line(&mut self, stroke: Stroke, a: Vec2, b: Vec2) {
        self.stroke(stroke, vec![a, b]);
    }

    /// A closed shape.
    pub(super) fn shape(&mut self, stroke: Stroke, corners: &[Vec2]) {
        let outline = crate::geom::Outline::polygon(corners);
        self.lines.push((stroke, Shape::Profile(outline)));
    }

    pub(super) fn tag(&mut self, text: impl Into<String>, height: f64, at: Vec2, stand: Stand) {
        self.tags.push(Tag {
            text: text.into(),
            height,
            at,
            stand,
        });
    }

    /// Notes, a line each, from an upper left corner; the lower edge returned.
    pub(super) fn notes(&mut self, at: Vec2, height: f64, lines: &[String]) -> f64 {
        let mut y = at.y;
        for line in lines {
            y -= 1.6 * height;
            self.tag(line.clone(), height, vec2(at.x, y), Stand::At);
        }
        y
    }
}
