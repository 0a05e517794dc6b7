//! A flat part: outline, holes, marks, letters.
//!
//! A part lies with its long axis along x, its lower left corner at the
//! origin, its marked face up, forward to the right.
//!
//! [`detail`] goes in this order: boundary as lines and arcs (`boundary`),
//! frame (`frame`), holes, lines (`lines`), letters and the label where there
//! is room (`marked_letters`, `label`, `room`), ordinates (`ordinates`), and last the check of
//! the finished part (`check`).

mod bend_checks;
mod boundary;
mod check;
mod detailed;
mod frame;
mod input;
mod label;
mod lines;
mod marked_letters;
mod ordinates;
mod room;
mod search;
mod sheet;

#[cfg(test)]
mod tests;

pub use bend_checks::{BendCheck, bend_checks, check_step, hollow};
pub use check::validate;
pub use detailed::{Caption, Hole, Label, Mark, MarkKind, Ordinate, Part, PartFrame};
pub use input::{FlatSurface, Options, PartInput};

pub use crate::develop::BendLine;

use crate::fault::Fault;
/// Details a flat part.
///
/// # Errors
/// Where the flat map is not smooth or not finite, where the part's name
/// finds no room, or where the finished part fails [`validate`].
pub fn detail(input: &PartInput, options: &Options) -> Result<Part, Fault> {
    let flat = boundary::outline(input, options)?;
    let (frame, outline) = frame::settle(input, &flat)?;
    let holes = frame::holes(input, &frame);
    let profile = room::Profile::new(&outline);
    let mut sheet = sheet::Sheet::new(input, &frame, &profile, &holes, options.letter_height);
    lines::draw(&mut sheet);
    marked_letters::letter(&mut sheet, options.show)?;
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
        bends: frame::bend_lines(input, &frame),
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
