//! Masses, areas and thicknesses as people read them, with their units.

use crate::length::{self, Show};

/// Kilograms in a pound, exactly (the international pound of 1959).
pub const KG_PER_LB: f64 = 0.453_592_37;
/// Square millimetres in a square foot, exactly.
pub const MM2_PER_FT2: f64 = 304.8 * 304.8;
/// Millimetres in an inch, exactly.
pub const MM_PER_IN: f64 = 25.4;

/// A mass, kg, to one decimal of the shown unit: `12.3 kg` or `27.1 lb`.
#[must_use]
pub fn mass(kg: f64, show: Show) -> String {
    format!(
        "{} {}",
        length::number(mass_in(kg, show), 1),
        mass_unit(show)
    )
}

/// A mass, kg, in the shown unit.
#[must_use]
pub fn mass_in(kg: f64, show: Show) -> f64 {
    match show {
        Show::Mm => kg,
        Show::FeetInches => kg / KG_PER_LB,
    }
}

/// The unit of masses.
#[must_use]
pub fn mass_unit(show: Show) -> &'static str {
    match show {
        Show::Mm => "kg",
        Show::FeetInches => "lb",
    }
}

/// An area, mm2, in the shown unit, m2 or ft2.
#[must_use]
pub fn area_in(mm2: f64, show: Show) -> f64 {
    match show {
        Show::Mm => mm2 / 1e6,
        Show::FeetInches => mm2 / MM2_PER_FT2,
    }
}

/// The unit of areas.
#[must_use]
pub fn area_unit(show: Show) -> &'static str {
    match show {
        Show::Mm => "m2",
        Show::FeetInches => "ft2",
    }
}

/// A thickness, kerf or gap, mm: `12.7 mm`, `6.35 mm`, or decimal inches,
/// `0.500 in`, since plate and kerfs are not booked in feet.
#[must_use]
pub fn thickness(mm: f64, show: Show) -> String {
    match show {
        Show::Mm => {
            let figure = length::number(mm, 2);
            format!("{} mm", figure.strip_suffix('0').unwrap_or(&figure))
        }
        Show::FeetInches => format!("{} in", length::number(mm / MM_PER_IN, 3)),
    }
}

/// A speed of a machine, mm/min: `1430 mm/min`, or to a tenth of an inch,
/// `56.3 in/min`.
#[must_use]
pub fn speed(mm_min: f64, show: Show) -> String {
    match show {
        Show::Mm => format!("{} mm/min", length::trimmed(mm_min, 2)),
        Show::FeetInches => format!("{} in/min", length::trimmed(mm_min / MM_PER_IN, 1)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_the_international_ones() {
        assert_eq!(mass(1.0, Show::Mm), "1.0 kg");
        assert_eq!(mass(KG_PER_LB * 10.0, Show::FeetInches), "10.0 lb");
        assert!((area_in(92_903.04, Show::FeetInches) - 1.0).abs() < 1e-12);
        assert!((area_in(2.5e6, Show::Mm) - 2.5).abs() < 1e-12);
        assert_eq!(thickness(12.7, Show::FeetInches), "0.500 in");
        assert_eq!(thickness(12.7, Show::Mm), "12.7 mm");
        assert_eq!(thickness(6.35, Show::Mm), "6.35 mm");
        assert_eq!(thickness(10.0, Show::Mm), "10.0 mm");
        assert_eq!(speed(1430.0, Show::Mm), "1430 mm/min");
        assert_eq!(speed(2108.2, Show::FeetInches), "83 in/min");
        assert_eq!(speed(250.0, Show::FeetInches), "9.8 in/min");
        assert_eq!(
            (area_unit(Show::Mm), area_unit(Show::FeetInches)),
            ("m2", "ft2")
        );
    }
}
