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

/// Feet, inches and the nearest sixteenth.
pub(super) fn feet_inches(mm: f64) -> String {
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
