//! The pass over the code pairs that the `dxf` crate writes.
//!
//! Measured with a strict reader on crate version 0.6.2: release 12 comes
//! with subclass markers (group 100) that the release does not have, and
//! without units; release 2000 comes with tables that have no handle of their
//! own (group 5 after the table's name). The header also carries the clock
//! and two random identifiers, so the whole header is written here instead:
//! the few variables that a reader of plain profiles uses.

use crate::geom::Vec2;
use crate::job::{DxfUnits, DxfVersion};
use crate::length::number;

/// What the header says.
pub(super) struct Header {
    /// Release.
    pub(super) release: DxfVersion,
    /// Units of the coordinates.
    pub(super) units: DxfUnits,
    /// Corners of the drawing, in its units.
    pub(super) extents: (Vec2, Vec2),
}

/// Group code and value as text.
type Pair<'a> = (i32, &'a str);

/// The mended text of the file.
pub(super) fn mended(text: &str, header: &Header) -> String {
    let pairs = pairs(text);
    let mut next = 1 + pairs
        .iter()
        .filter(|(code, _)| matches!(code, 5 | 105))
        .filter_map(|(_, value)| u64::from_str_radix(value.trim(), 16).ok())
        .max()
        .unwrap_or(0);
    let mut body = String::new();
    let mut put = |code: i32, value: &str| {
        body.push_str(&format!("{code:>3}\r\n{value}\r\n"));
    };
    let mut section = "";
    let mut previous: Pair<'_> = (-1, "");
    for (i, &(code, value)) in pairs.iter().enumerate() {
        if previous == (0, "SECTION") && code == 2 {
            section = value;
        }
        let opens_header = (code, value) == (0, "SECTION")
            && pairs.get(i + 1).is_some_and(|p| *p == (2, "HEADER"));
        let drop = opens_header
            || section == "HEADER"
            || (header.release == DxfVersion::R12 && code == 100);
        if !drop {
            put(code, value);
            let names_table = previous == (0, "TABLE") && code == 2;
            if names_table && header.release == DxfVersion::R2000 {
                put(5, &format!("{next:X}"));
                next += 1;
            }
        }
        if (code, value) == (0, "ENDSEC") {
            section = "";
        }
        previous = (code, value);
    }
    header_text(header, next) + &body
}

/// Code pairs of a text: a line with the code, a line with the value.
fn pairs(text: &str) -> Vec<Pair<'_>> {
    let mut lines = text.lines();
    let mut out = Vec::new();
    while let (Some(code), Some(value)) = (lines.next(), lines.next()) {
        if let Ok(code) = code.trim().parse() {
            out.push((code, value));
        }
    }
    out
}

fn header_text(header: &Header, next_handle: u64) -> String {
    let (version, handles) = match header.release {
        DxfVersion::R12 => ("AC1009", None),
        DxfVersion::R2000 => ("AC1015", Some(format!("{next_handle:X}"))),
    };
    // Units of insertion: 4 mm, 1 in. Measurement: 1 metric, 0 in inches.
    let (units, measurement) = match header.units {
        DxfUnits::Mm => ("4", "1"),
        DxfUnits::In => ("1", "0"),
    };
    let (lo, hi) = header.extents;
    let n = |v: f64| number(v, 9);
    let corner = |p: Vec2| vec![(10, n(p.x)), (20, n(p.y)), (30, n(0.0))];
    let mut variables: Vec<(&str, Vec<(i32, String)>)> = vec![
        ("$ACADVER", vec![(1, version.to_owned())]),
        ("$DWGCODEPAGE", vec![(3, "ANSI_1252".to_owned())]),
        ("$INSBASE", corner(Vec2::default())),
        ("$EXTMIN", corner(lo)),
        ("$EXTMAX", corner(hi)),
        ("$INSUNITS", vec![(70, units.to_owned())]),
        ("$MEASUREMENT", vec![(70, measurement.to_owned())]),
        // Decimal lengths, six places shown.
        ("$LUNITS", vec![(70, "2".to_owned())]),
        ("$LUPREC", vec![(70, "6".to_owned())]),
    ];
    if let Some(seed) = handles {
        variables.push(("$HANDSEED", vec![(5, seed)]));
    }
    let mut out = String::from("  0\r\nSECTION\r\n  2\r\nHEADER\r\n");
    for (name, values) in variables {
        out.push_str(&format!("  9\r\n{name}\r\n"));
        for (code, value) in values {
            out.push_str(&format!("{code:>3}\r\n{value}\r\n"));
        }
    }
    out + "  0\r\nENDSEC\r\n"
}
