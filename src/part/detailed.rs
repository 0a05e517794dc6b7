//! A detailed part and what is on it.

use crate::develop::BendLine;
use crate::geom::{Outline, Placement, Vec2, vec2};
use crate::layout::{Face, MemberKind};

/// A detailed flat part at net size.
#[derive(Debug, Clone)]
pub struct Part {
    /// Name, marked on the part and used for its files.
    pub name: String,
    /// Kind.
    pub kind: MemberKind,
    /// Alloy and temper.
    pub alloy: String,
    /// Thickness, mm.
    pub thickness: f64,
    /// Face that is up.
    pub face: Face,
    /// Where it goes on the boat.
    pub place: String,
    /// Outer profile, counter-clockwise.
    pub outline: Outline,
    /// Holes.
    pub holes: Vec<Hole>,
    /// Lines and letters for the marker.
    pub marks: Vec<Mark>,
    /// Text for people.
    pub labels: Vec<Label>,
    /// Room for the name in large letters, where a picture shows many parts.
    pub caption: Option<Caption>,
    /// Ordinates of both edges from a straight line.
    pub ordinates: Vec<Ordinate>,
    /// Bend schedule in the part's own coordinates.
    pub bends: Vec<BendLine>,
    /// Largest stretch, signed ratio.
    pub stretch: f64,
    /// Where the largest stretch lies, mm in the part's coordinates.
    pub stretch_at: Vec2,
    /// Stress there, MPa.
    pub stress_mpa: f64,
    /// Length of the outboard edge at net size, without fit allowance, mm.
    pub net_edge_length: f64,
    /// Fit allowance included in the outline, mm.
    pub allowance: f64,
    /// From the flat map to the part's coordinates.
    pub frame: PartFrame,
    /// Minor texts that found no room on the part, for people.
    pub left_out: Vec<String>,
}

/// Width kept for a character of a label, in heights: no common face of a
/// viewer is wider in the mean.
pub(super) const LABEL_ADVANCE: f64 = 1.0;
/// Pitch of a label's lines, and what hangs below the line, in heights.
const LABEL_PITCH: f64 = 1.6;
const LABEL_BELOW: f64 = 0.35;

impl Label {
    /// Length and height of a box of lines of text, mm, as wide as any viewer
    /// draws them.
    pub(super) fn room(lines: &[String], height: f64) -> Vec2 {
        let longest = lines.iter().map(|l| l.chars().count()).max().unwrap_or(0);
        vec2(
            longest as f64 * LABEL_ADVANCE,
            lines.len() as f64 * LABEL_PITCH,
        ) * height
    }

    /// Length and height of the box, mm.
    #[must_use]
    pub fn size(&self) -> Vec2 {
        Self::room(&self.lines, self.height)
    }

    /// Every line from the top, and its lower left corner from that of the box
    /// before its turn, mm.
    pub fn placed(&self) -> impl Iterator<Item = (&str, Vec2)> {
        let below = (0..self.lines.len()).rev();
        self.lines.iter().zip(below).map(|(text, k)| {
            let y = (LABEL_PITCH * k as f64 + LABEL_BELOW) * self.height;
            (text.as_str(), vec2(0.0, y))
        })
    }
}

/// A round hole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hole {
    /// Centre, mm.
    pub centre: Vec2,
    /// Diameter, mm.
    pub diameter: f64,
}

/// A marked line or letter.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// What it is.
    pub kind: MarkKind,
    /// Open polylines; a closed one repeats its first point.
    pub strokes: Vec<Vec<Vec2>>,
    /// Unit direction in which letters are read; of lines along x.
    pub along: Vec2,
}

/// What a mark means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum MarkKind {
    /// A stanchion's foot or head, or the outline of a doubler.
    Footprint,
    /// A station line.
    Station,
    /// The boat's centreline.
    Centreline,
    /// The net end of a closing piece.
    Net,
    /// Where a scarf begins.
    Scarf,
    /// An edge of the plate below.
    PlateEdge,
    /// Letters: name, forward, side, outboard.
    Letters,
    /// Letters that say which face is marked.
    Face,
}

impl MarkKind {
    /// True of letters, which lie in no hole.
    #[must_use]
    pub fn is_letters(self) -> bool {
        matches!(self, Self::Letters | Self::Face)
    }
}

/// Lines of text for people in one box, which is turned as one.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// Lower left corner of the box, mm.
    pub at: Vec2,
    /// Height of capitals, mm.
    pub height: f64,
    /// Turn, rad.
    pub angle: f64,
    /// The lines from the top, ASCII.
    pub lines: Vec<String>,
}

/// Where nothing is in the way of the part's name in large letters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Caption {
    /// Middle of the name, mm.
    pub centre: Vec2,
    /// Turn, rad.
    pub angle: f64,
    /// Greatest height of capitals, mm.
    pub height: f64,
}

/// Ordinates of a strip's edges from its straight base line (y = 0 of the
/// part's coordinates).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ordinate {
    /// Distance along the base line, mm.
    pub x: f64,
    /// Lower edge, mm.
    pub lower: f64,
    /// Upper edge, mm.
    pub upper: f64,
    /// True where the lower edge has a corner here, and where the upper has.
    pub corners: [bool; 2],
}

impl Ordinate {
    /// Which edge has a corner here, in a word; empty where neither has.
    #[must_use]
    pub fn corner(&self) -> &'static str {
        match self.corners {
            [false, false] => "",
            [true, false] => "lower",
            [false, true] => "upper",
            [true, true] => "both",
        }
    }
}

/// How the flat map is laid into the part's coordinates: mirrored for a part
/// marked on its lower face, then turned and shifted.
///
/// The turn is that of the lowest box round the part: a hollow strip lies on
/// the two corners of its hollow side, or with them up. Of the two ways round,
/// forward points to the right (up, for a part wider than long). A port and
/// a starboard strip of the same shape are each other's mirror image about
/// the x axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PartFrame {
    /// The flat's y is turned about before placing: seen from below.
    pub mirrored: bool,
    /// Turn and shift after that.
    pub placement: Placement,
}

impl PartFrame {
    /// Part coordinates of a place on the flat map.
    #[must_use]
    pub fn apply(&self, flat: Vec2) -> Vec2 {
        self.placement.apply(self.mirror(flat))
    }

    /// A direction on the flat map, in part coordinates.
    #[must_use]
    pub fn turn(&self, flat: Vec2) -> Vec2 {
        self.mirror(flat).turned(self.placement.turn)
    }

    /// Flat place of part coordinates: the inverse of [`PartFrame::apply`].
    #[must_use]
    pub fn undo(&self, place: Vec2) -> Vec2 {
        self.mirror((place - self.placement.shift).turned(-self.placement.turn))
    }

    pub(super) fn mirror(&self, p: Vec2) -> Vec2 {
        if self.mirrored { vec2(p.x, -p.y) } else { p }
    }
}
