//! Units of length.

use serde::{Deserialize, Serialize};

/// Millimetres in an inch, exact by definition.
pub const INCH: f64 = 25.4;

/// Millimetres in a foot, exact by definition.
pub const FOOT: f64 = 304.8;

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
