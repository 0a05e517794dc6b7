//! Lengths as people write and read them.

use serde::{Deserialize, Serialize};

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

/// A number with a fixed count of decimals; minus zero is written as zero.
#[must_use]
pub fn number(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        _ => text,
    }
}

/// A length, mm, as people read it: `3657.6 mm`, or feet, inches and the
/// nearest sixteenth, `12 ft 0 1/2 in`.
#[must_use]
pub fn show(mm: f64, show: Show) -> String {
    match show {
        Show::Mm => format!("{} mm", number(mm, 1)),
        Show::FeetInches => {
            // Beyond 1e12 mm no sixteenth is left in an f64.
            #[expect(
                clippy::cast_possible_truncation,
                reason = "bounded by the clamp, and as saturates"
            )]
            let sixteenths = (mm / 25.4 * 16.0).round().clamp(-1e15, 1e15) as i64;
            let sign = if sixteenths < 0 { "-" } else { "" };
            let whole = sixteenths.unsigned_abs();
            let (feet, inches, mut part, mut over) =
                (whole / 192, whole % 192 / 16, whole % 16, 16_u64);
            while part > 0 && part % 2 == 0 {
                part /= 2;
                over /= 2;
            }
            let fraction = if part > 0 {
                format!(" {part}/{over}")
            } else {
                String::new()
            };
            let feet = if feet > 0 {
                format!("{feet} ft ")
            } else {
                String::new()
            };
            format!("{sign}{feet}{inches}{fraction} in")
        }
    }
}
