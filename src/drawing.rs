//! What every writer draws: layers, profiles with arcs, circles, strokes and
//! text, in millimetres.

use crate::geom::{Outline, Vec2};

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
}

impl Layer {
    /// All layers, in drawing order.
    pub const ALL: [Self; 5] = [Self::Sheet, Self::Cut, Self::Hole, Self::Mark, Self::Label];

    /// Name where the job gives no other.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Cut => "CUT",
            Self::Hole => "HOLE",
            Self::Mark => "MARK",
            Self::Label => "LABEL",
            Self::Sheet => "SHEET",
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
