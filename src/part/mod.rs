//! A flat part: outline, holes, marks, letters.
//!
//! A part lies with its long axis along x, its lower left corner at the
//! origin, its marked face up, forward to the right.
//!
//! [`detail`] goes in this order: boundary as lines and arcs (`boundary`),
//! frame (`frame`), holes, lines (`lines`), letters and labels where there is
//! room (`lettering`, `room`), ordinates (`ordinates`), and last the check of
//! the finished part (`check`).

mod boundary;
mod check;
mod frame;
mod input;
mod lettering;
mod lines;
mod ordinates;
mod room;
mod way;

#[cfg(test)]
mod tests;

pub use check::validate;
pub use frame::PartFrame;
pub use input::{FlatSurface, Options, PartInput};
pub use lettering::LABEL_ADVANCE;

pub use crate::develop::BendLine;

use crate::fault::Fault;
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
    /// A stanchion's foot or head, or the outline of a doubler.
    Footprint,
    /// A station line.
    Station,
    /// The boat's centreline.
    Centreline,
    /// The net end of a closing piece.
    Net,
    /// Letters: name, forward, side, outboard, face.
    Letters,
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
}

/// Details a flat part.
///
/// # Errors
/// Where the flat map is not smooth or not finite, where the part's name
/// finds no room, or where the finished part fails [`validate`].
pub fn detail(input: &PartInput, options: &Options) -> Result<Part, Fault> {
    let flat = boundary::outline(input, options)?;
    let (frame, outline) = frame::settle(input, &flat)?;
    let holes = input.holes(&frame);
    let profile = room::Profile::new(&outline);
    let mut sheet = lines::Sheet::new(input, &frame, &profile, &holes, options.letter_height);
    lines::draw(&mut sheet);
    lettering::letter(&mut sheet, options.show)?;
    let allowance = input.allowance.map_or(0.0, |(mm, _)| mm);
    let (t, w) = input.stretch.at;
    let part = Part {
        name: input.name.to_owned(),
        kind: input.kind,
        alloy: input.alloy.to_owned(),
        thickness: input.thickness,
        face: input.marked,
        place: input.place.to_owned(),
        ordinates: ordinates::along(&outline, options.ordinate_spacing),
        outline,
        marks: sheet.marks,
        labels: sheet.labels,
        caption: sheet.caption,
        left_out: sheet.left_out,
        holes,
        bends: input.bend_lines(&frame),
        stretch: input.stretch.signed,
        stretch_at: frame.apply(input.flat.jet(t, w)[0]),
        stress_mpa: input.stretch.stress_mpa,
        net_edge_length: boundary::edge_length(input) - allowance,
        allowance,
        frame,
    };
    let broken = validate(&part, options.show);
    if broken.is_empty() {
        Ok(part)
    } else {
        Err(input.fault(
            format!("the part cannot be cut as drawn: {}", broken.join("; ")),
            "look at the survey and the plate's width near this place",
        ))
    }
}
