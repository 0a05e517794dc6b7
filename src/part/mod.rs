//! A flat part: outline, holes, marks, letters.
//!
//! A part lies with its long axis along x, its lower left corner at the
//! origin, its marked face up. It is never flipped after this.

use crate::geom::{Outline, Vec2};
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
}

/// What a mark means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum MarkKind {
    /// A stanchion's foot or head.
    Footprint,
    /// A station line.
    Station,
    /// The middle of the plate's width, or the boat's centreline.
    Centreline,
    /// The net end of a closing piece.
    Net,
    /// Letters: name, forward, outboard, face.
    Letters,
}

/// Text for people.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// Lower left of the text, mm.
    pub at: Vec2,
    /// Height of capitals, mm.
    pub height: f64,
    /// Turn, rad.
    pub angle: f64,
    /// The text, ASCII.
    pub text: String,
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
}

/// A bend line in the part's coordinates; see [`crate::develop::Bend`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BendLine {
    /// Distance along the outboard edge, mm.
    pub along: f64,
    /// Outboard end, mm.
    pub outboard: Vec2,
    /// Inboard end, mm.
    pub inboard: Vec2,
    /// Normal curvature along the outboard edge, 1/mm, positive towards the
    /// upper face of the plate in place.
    pub curvature: f64,
    /// Twist rate, rad/mm, as on the plate's upper face.
    pub twist: f64,
}
