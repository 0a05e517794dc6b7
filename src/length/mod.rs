//! Lengths as people write and read them.
//!
//! Inside the project every length is millimetres. Here is the one door in
//! ([`parse`] for text with its unit, [`parse_cell`] for a table under a
//! stated unit) and the one door out ([`show`] for people, [`number`] for
//! every file).

mod figures;
mod notation;
mod scan;
mod unit;

pub use figures::{number, trimmed, unrounded};
pub use notation::{booked, is_fraction};
pub use scan::WITH_UNIT;
pub use unit::{FOOT, INCH, Unit};

use notation::feet_inches;

use serde::{Deserialize, Serialize};

use crate::fault::{Kind, Refused};
use crate::geom::Vec2;

/// Longest length that is believed, mm: one kilometre. No boat is longer; a
/// larger figure is a slip of the pen, and would only overflow later on.
pub const LONGEST_MM: f64 = 1.0e6;

/// How numbers are shown to people.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Show {
    /// Millimetres.
    #[default]
    Mm,
    /// Feet, inches and sixteenths.
    FeetInches,
}

/// A length written with its unit, in mm: `12.7 mm`, `1.2 m`, `1 3/4 in`,
/// `5 ft 3 1/2 in`, `5' 3-1/2"`, `5.25 ft`; or three whole numbers of feet,
/// inches and eighths, `5-3-4`. A fraction may be one character, `4½ in`. A
/// leading minus makes it negative.
///
/// # Errors
/// [`Kind::Unit`] without a unit; [`Kind::Syntax`] where the text does not
/// read as a length, a fraction is bad, or inches after feet reach 12;
/// [`Kind::Range`] where it is not finite or beyond [`LONGEST_MM`].
pub fn parse(text: &str) -> Result<f64, Refused> {
    within(text, scan::with_unit(text)?)
}

/// A table cell under the table's stated unit, in mm. A cell that states its
/// own unit is taken at its word. `0` needs no form of its own.
///
/// # Errors
/// As [`parse`]; and where a feet-inches-eighths cell is not three whole
/// numbers with inches below 12 and eighths below 8.
pub fn parse_cell(text: &str, unit: Unit) -> Result<f64, Refused> {
    within(text, scan::cell(text, unit)?)
}

fn within(text: &str, mm: f64) -> Result<f64, Refused> {
    if mm.is_finite() && mm.abs() <= LONGEST_MM {
        return Ok(mm);
    }
    let what = format!("`{}` is longer than 1 km", text.trim());
    let mend = "check the figure and its unit";
    Err(Refused::new(Kind::Range, what, mend))
}

/// A length for people, with its unit: millimetres to a tenth (`12.7 mm`,
/// `1200 mm`), or feet, inches and the nearest sixteenth (`5 ft 3 1/2 in`); a
/// finer fraction where the length is one (`1/32 in`).
#[must_use]
pub fn show(mm: f64, show: Show) -> String {
    match show {
        Show::Mm => format!("{} mm", trimmed(mm, 1)),
        Show::FeetInches => feet_inches(mm),
    }
}

/// A length as a fault tells it: in the job's units, and where those are feet
/// and inches, in millimetres too (`1 ft 7 11/16 in (500 mm)`). Millimetres are
/// told to a thousandth; what is below an inch and no sixteenth is told in
/// thousandths of an inch.
#[must_use]
pub fn told(mm: f64, shown: Show) -> String {
    told_as(mm, shown, &trimmed(mm, 3), Round::Nearest)
}

/// Which way feet and inches are rounded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Round {
    /// To the nearest: a figure.
    Nearest,
    /// Up: a lower limit.
    Up,
    /// Down: an upper limit.
    Down,
}

/// The same, its millimetres as they stand: a figure beside the limit that it
/// breaks, or that limit, rounded so that it is within itself when it is read
/// again.
#[must_use]
pub fn told_unrounded(mm: f64, shown: Show, round: Round) -> String {
    told_as(mm, shown, &unrounded(mm), round)
}

fn told_as(mm: f64, shown: Show, figure: &str, round: Round) -> String {
    match shown {
        Show::Mm => format!("{figure} mm"),
        Show::FeetInches => format!("{} ({figure} mm)", inches_rounded(mm, round)),
    }
}

fn inches_rounded(mm: f64, round: Round) -> String {
    let sixteenths = mm / INCH * 16.0;
    // A limit that is off a sixteenth by less than this is told as one.
    let near = if round == Round::Nearest { 0.01 } else { 1e-9 };
    let fine = mm.abs() < INCH && (sixteenths - sixteenths.round()).abs() > near;
    let parts = if fine { 1000.0 } else { 16.0 };
    let nearest = (mm / INCH * parts).round();
    let text = |count: f64| match fine {
        true => format!("{} in", trimmed(count / parts, 3)),
        false => feet_inches(count / parts * INCH),
    };
    let holds = |text: &String| match round {
        Round::Nearest => true,
        Round::Up => parse(text).is_ok_and(|read| read >= mm),
        Round::Down => parse(text).is_ok_and(|read| read <= mm),
    };
    let step = if round == Round::Down { -1.0 } else { 1.0 };
    let first = Some(text(nearest)).filter(holds);
    first.unwrap_or_else(|| text(nearest + step))
}

/// A length that sixteenths are too coarse for: hundredths of a millimetre, or
/// thousandths of an inch.
#[must_use]
pub fn fine(mm: f64, shown: Show) -> String {
    match shown {
        Show::Mm => format!("{} mm", number(mm, 2)),
        Show::FeetInches => format!("{} in", number(mm / INCH, 3)),
    }
}

/// The same, never less than it is.
#[must_use]
pub fn fine_up(mm: f64, shown: Show) -> String {
    let unit = match shown {
        Show::Mm => 0.01,
        Show::FeetInches => 0.001 * INCH,
    };
    fine((mm / unit - 1e-6).ceil() * unit, shown)
}

/// A place on a part or a sheet, mm: `x 1 ft 3 1/2 in, y 2 in`.
#[must_use]
pub fn place(at: Vec2, shown: Show) -> String {
    format!("x {}, y {}", show(at.x, shown), show(at.y, shown))
}

#[cfg(test)]
mod tests;
