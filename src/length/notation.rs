//! A length in the notation of a table: what a row would say.

use super::figures::{number, trimmed};
use super::unit::{FOOT, INCH, Unit};

/// A length as a table of this unit books it: `1612.5`, `1.6125`, `63.5`, `5.25`,
/// `5 ft 3 1/2 in`, `5-3-4+`. Rounded to a hundredth of a millimetre, a thousandth
/// of a foot or inch, or a sixteenth. [`super::parse_cell`] reads it back.
#[must_use]
pub fn booked(mm: f64, unit: Unit) -> String {
    match unit {
        Unit::Mm => trimmed(mm, 2),
        Unit::M => trimmed(mm / 1000.0, 5),
        Unit::In => trimmed(mm / INCH, 4),
        Unit::Ft => trimmed(mm / FOOT, 4),
        Unit::FeetInches => feet_inches(mm),
        Unit::FeetInchesEighths => eighths(mm),
    }
}

fn eighths(mm: f64) -> String {
    let all = (mm.abs() / INCH * 16.0).round();
    let sign = if mm < 0.0 && all > 0.5 { "-" } else { "" };
    let odd = all % 2.0 > 0.5;
    let even = if odd { all - 1.0 } else { all } / 2.0;
    let feet = (even / 96.0).floor();
    let inches = ((even - feet * 96.0) / 8.0).floor();
    let part = even - feet * 96.0 - inches * 8.0;
    let plus = if odd { "+" } else { "" };
    format!(
        "{sign}{}-{}-{}{plus}",
        number(feet, 0),
        number(inches, 0),
        number(part, 0)
    )
}

/// Finest fraction of an inch that a rule has: 1 over this.
const FINEST: f64 = 64.0;

/// Fraction of an inch to which lengths that are none are shown.
const USUAL: f64 = 16.0;

/// True where a length is whole 64ths of an inch.
#[must_use]
pub fn is_fraction(mm: f64) -> bool {
    let parts = mm / INCH * FINEST;
    (parts - parts.round()).abs() < 1e-6
}

/// Feet, inches and the nearest sixteenth, or the finer fraction that it is.
pub(super) fn feet_inches(mm: f64) -> String {
    let per = if is_fraction(mm) { FINEST } else { USUAL };
    let parts = (mm.abs() / INCH * per).round();
    let feet = (parts / (12.0 * per)).floor();
    let inches = (parts / per - 12.0 * feet).floor();
    let part = parts - (12.0 * feet + inches) * per;
    let mut words = Vec::new();
    if feet > 0.0 {
        words.push(format!("{} ft", number(feet, 0)));
    }
    let mut inch = Vec::new();
    if inches > 0.0 || (part < 0.5 && feet < 0.5) {
        inch.push(number(inches, 0));
    }
    if part > 0.5 {
        let (mut over, mut under) = (part, per);
        while over % 2.0 < 0.5 {
            over /= 2.0;
            under /= 2.0;
        }
        inch.push(format!("{}/{}", number(over, 0), number(under, 0)));
    }
    if !inch.is_empty() {
        words.push(format!("{} in", inch.join(" ")));
    }
    let sign = if mm < 0.0 && parts > 0.5 { "-" } else { "" };
    format!("{sign}{}", words.join(" "))
}

#[cfg(test)]
mod tests {
    use super::super::parse_cell;
    use super::*;

    #[test]
    fn what_is_booked_reads_back() {
        for (unit, text) in [
            (Unit::Mm, "1612.5"),
            (Unit::Mm, "-0.25"),
            (Unit::M, "1.6125"),
            (Unit::In, "63.5"),
            (Unit::Ft, "5.25"),
            (Unit::FeetInches, "5 ft 3 1/2 in"),
            (Unit::FeetInchesEighths, "5-3-4"),
            (Unit::FeetInchesEighths, "-0-11-7+"),
        ] {
            let mm = parse_cell(text, unit).unwrap();
            assert_eq!(booked(mm, unit), text);
        }
        // 1/16 in below 2-3-4 is booked as 1/16 in above 2-3-3.
        let mm = parse_cell("2-3-4-", Unit::FeetInchesEighths).unwrap();
        assert_eq!(booked(mm, Unit::FeetInchesEighths), "2-3-3+");
    }
}
