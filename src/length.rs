//! Lengths as people write and read them.
//!
//! Inside the project every length is millimetres. Here is the one door in
//! ([`parse`] for text with its unit, [`parse_cell`] for a table under a
//! stated unit) and the one door out ([`show`] for people, [`number`] for
//! every file).

mod notation;
mod scan;

pub use notation::booked;

use serde::{Deserialize, Serialize};

use crate::geom::Vec2;

/// Millimetres in an inch, exact by definition.
pub const INCH: f64 = 25.4;

/// Millimetres in a foot, exact by definition.
pub const FOOT: f64 = 304.8;

/// Longest length that is believed, mm: one kilometre. No boat is longer; a
/// larger figure is a slip of the pen, and would only overflow later on.
pub const LONGEST_MM: f64 = 1.0e6;

/// What a bare number in a table means. The unit is stated, never guessed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Unit {
    /// Millimetres.
    Mm,
    /// Metres.
    M,
    /// Decimal inches.
    In,
    /// Decimal feet.
    Ft,
    /// Feet, inches and fractions: `5 ft 3 1/2 in`, `5' 3-1/2"`.
    FeetInches,
    /// Feet-inches-eighths as a loftsman books them: `2-3-4`, `2-3-4+`.
    FeetInchesEighths,
}

impl Unit {
    /// Every unit with its name in a job file.
    pub const NAMES: [(&'static str, Self); 6] = [
        ("mm", Self::Mm),
        ("m", Self::M),
        ("in", Self::In),
        ("ft", Self::Ft),
        ("feet-inches", Self::FeetInches),
        ("feet-inches-eighths", Self::FeetInchesEighths),
    ];

    /// Its name in a job file.
    #[must_use]
    pub fn name(self) -> &'static str {
        let named = Self::NAMES.iter().find(|(_, unit)| *unit == self);
        named.map_or("", |(name, _)| name)
    }

    /// Millimetres in a decimal unit; `None` for feet and inches.
    #[must_use]
    pub fn mm(self) -> Option<f64> {
        match self {
            Self::Mm => Some(1.0),
            Self::M => Some(1000.0),
            Self::In => Some(INCH),
            Self::Ft => Some(FOOT),
            Self::FeetInches | Self::FeetInchesEighths => None,
        }
    }
}

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

/// What is wrong with a length.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wrong {
    /// It does not read as a length.
    Form,
    /// It has no unit where one is needed.
    Unit,
    /// It is not finite, or longer than [`LONGEST_MM`].
    Range,
}

/// A text that is not a length: what is wrong, and how to mend it.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{what}")]
pub struct LengthError {
    /// Kind.
    pub wrong: Wrong,
    /// One sentence.
    pub what: String,
    /// One sentence.
    pub mend: String,
}

impl LengthError {
    fn new(wrong: Wrong, what: impl Into<String>, mend: impl Into<String>) -> Self {
        Self {
            wrong,
            what: what.into(),
            mend: mend.into(),
        }
    }
}

/// Mend of a length that lacks its unit.
pub const WITH_UNIT: &str =
    "write the length with its unit, such as \"12.7 mm\", \"1/2 in\" or \"5 ft 3 1/2 in\"";

/// A length written with its unit, in mm: `12.7 mm`, `1.2 m`, `1 3/4 in`,
/// `5 ft 3 1/2 in`, `5' 3-1/2"`, `5.25 ft`; or three whole numbers of feet,
/// inches and eighths, `5-3-4`. A fraction may be one character, `4½ in`. A
/// leading minus makes it negative.
///
/// # Errors
/// [`Wrong::Unit`] without a unit; [`Wrong::Form`] where the text does not
/// read as a length, a fraction is bad, or inches after feet reach 12;
/// [`Wrong::Range`] where it is not finite or beyond [`LONGEST_MM`].
pub fn parse(text: &str) -> Result<f64, LengthError> {
    within(text, scan::with_unit(text)?)
}

/// A table cell under the table's stated unit, in mm. A cell that states its
/// own unit is taken at its word. `0` needs no form of its own.
///
/// # Errors
/// As [`parse`]; and where a feet-inches-eighths cell is not three whole
/// numbers with inches below 12 and eighths below 8.
pub fn parse_cell(text: &str, unit: Unit) -> Result<f64, LengthError> {
    within(text, scan::cell(text, unit)?)
}

fn within(text: &str, mm: f64) -> Result<f64, LengthError> {
    if mm.is_finite() && mm.abs() <= LONGEST_MM {
        return Ok(mm);
    }
    Err(LengthError::new(
        Wrong::Range,
        format!("`{}` is longer than 1 km", text.trim()),
        "check the figure and its unit",
    ))
}

/// A length for people, with its unit: millimetres to a tenth (`12.7 mm`,
/// `1200 mm`), or feet, inches and the nearest sixteenth (`5 ft 3 1/2 in`).
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

fn feet_inches(mm: f64) -> String {
    let sixteenths = (mm.abs() / INCH * 16.0).round();
    let feet = (sixteenths / 192.0).floor();
    let inches = ((sixteenths - feet * 192.0) / 16.0).floor();
    let part = sixteenths - feet * 192.0 - inches * 16.0;
    let mut words = Vec::new();
    if feet > 0.0 {
        words.push(format!("{} ft", number(feet, 0)));
    }
    let mut inch = Vec::new();
    if inches > 0.0 || (part < 0.5 && feet < 0.5) {
        inch.push(number(inches, 0));
    }
    if part > 0.5 {
        let (mut over, mut under) = (part, 16.0);
        while over % 2.0 < 0.5 {
            over /= 2.0;
            under /= 2.0;
        }
        inch.push(format!("{}/{}", number(over, 0), number(under, 0)));
    }
    if !inch.is_empty() {
        words.push(format!("{} in", inch.join(" ")));
    }
    let sign = if mm < 0.0 && sixteenths > 0.5 {
        "-"
    } else {
        ""
    };
    format!("{sign}{}", words.join(" "))
}

/// The one number formatter: fixed decimals, never `-0`, never an exponent.
/// Every writer uses it, so the same job gives the same bytes. A number that
/// is not finite never reaches a writer.
#[must_use]
pub fn number(value: f64, decimals: usize) -> String {
    if let Some(text) = whole_figures(value, decimals) {
        return text;
    }
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|b| b == b'0' || b == b'.') => rest.to_owned(),
        _ => text,
    }
}

/// The same text through a whole number, several times faster; `None` where the
/// product with the power of ten could round to the wrong side: too large for
/// a double to hold to a thousandth, or within a thousandth of a tie.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "from nought to 2^42, and single figures"
)]
fn whole_figures(value: f64, decimals: usize) -> Option<String> {
    /// 2^42: a product below has a spacing of at most 2^-11, half of a
    /// thousandth, and is itself off by at most half that spacing.
    const LARGEST: f64 = 4_398_046_511_104.0;
    const POWERS: [f64; 10] = [1.0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9];
    let scaled = value.abs() * POWERS.get(decimals)?;
    let tie = (scaled - scaled.floor() - 0.5).abs() < 1e-3;
    if tie || scaled.is_nan() || scaled >= LARGEST {
        return None;
    }
    let mut rest = scaled.round() as u64;
    let negative = value < 0.0 && rest > 0;
    // Sign, thirteen figures at most, a point and noughts before the first figure.
    let mut text = [0_u8; 32];
    let mut at = text.len();
    let mut count = 0;
    while rest > 0 || count <= decimals {
        if count == decimals && decimals > 0 {
            at -= 1;
            text[at] = b'.';
        }
        at -= 1;
        text[at] = b'0' + (rest % 10) as u8;
        rest /= 10;
        count += 1;
    }
    if negative {
        at -= 1;
        text[at] = b'-';
    }
    String::from_utf8(text[at..].to_vec()).ok()
}

/// As [`number`], without the zeros that end a fraction.
#[must_use]
pub fn trimmed(value: f64, decimals: usize) -> String {
    let text = number(value, decimals);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// A figure as it stands, for a message beside the limit that it breaks:
/// rounded, the two could read the same.
#[must_use]
pub fn unrounded(value: f64) -> String {
    let text = trimmed(value, 9);
    let same = |v: f64| (v - value).abs() <= 1e-12 * value.abs();
    if value.abs() < 1e15 && text.parse().is_ok_and(same) {
        text
    } else if value.abs() >= 1e-6 && value.abs() < 1e15 {
        format!("{value}")
    } else {
        format!("{value:e}")
    }
}

#[cfg(test)]
mod tests;
