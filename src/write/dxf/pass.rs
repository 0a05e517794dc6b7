//! The pass over the code pairs that the `dxf` crate writes.
//!
//! Measured with a strict reader on crate version 0.6.2:
//! - release 12 comes with subclass markers (group 100) that the release does
//!   not have, without units, and with handles (group 5) that the reader
//!   finds twice, and that in a dimension style mean something else; they
//!   are optional there and all left out;
//! - release 2000 comes with tables that have no handle of their own (group 5
//!   after the table's name), without the blocks of the two spaces and
//!   without a root dictionary.
//!
//! The header also carries the clock and two random identifiers, so the whole
//! header is written here instead: the few variables that a reader of plain
//! profiles uses.

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

/// Puts the entities with handles that are not taken.
type PutEntities<'a> = &'a dyn Fn(&mut String, &mut Handles);

/// The mended text of a file without entities, and these put in.
pub(super) fn mended(text: &str, header: &Header, entities: PutEntities<'_>) -> String {
    let pairs = pairs(text);
    let mut handles = Handles::after(&pairs);
    let mut body = String::with_capacity(4 * text.len());
    let mut section = "";
    let mut previous: Pair<'_> = (-1, "");
    for (i, &(code, value)) in pairs.iter().enumerate() {
        if previous == (0, "SECTION") && code == 2 {
            section = value;
        }
        let opens = |name| {
            (code, value) == (0, "SECTION") && pairs.get(i + 1).is_some_and(|p| *p == (2, name))
        };
        let modern = header.release == DxfVersion::R2000;
        let drop =
            opens("HEADER") || section == "HEADER" || (!modern && matches!(code, 5 | 100 | 105));
        if modern && opens("ENTITIES") {
            put_blocks(&mut body, &pairs, &mut handles);
        }
        if !drop {
            put(&mut body, code, value);
        }
        if modern && previous == (0, "TABLE") && code == 2 {
            put(&mut body, 5, &handles.next());
        }
        if previous == (0, "SECTION") && (code, value) == (2, "ENTITIES") {
            entities(&mut body, &mut handles);
        }
        if modern && previous == (0, "SECTION") && (code, value) == (2, "OBJECTS") {
            put_dictionaries(&mut body, &mut handles);
        }
        if (code, value) == (0, "ENDSEC") {
            section = "";
        }
        previous = (code, value);
    }
    header_text(header, &handles.next()) + &body
}

/// Puts one code pair.
pub(super) fn put(out: &mut String, code: i32, value: &str) {
    for wider in [100, 10] {
        if code < wider {
            out.push(' ');
        }
    }
    out.push_str(&code.to_string());
    out.push_str("\r\n");
    out.push_str(value);
    out.push_str("\r\n");
}

/// Handles that are not taken.
pub(super) struct Handles(u64);

impl Handles {
    fn after(pairs: &[Pair<'_>]) -> Self {
        let most = pairs
            .iter()
            .filter(|(code, _)| matches!(code, 5 | 105))
            .filter_map(|(_, value)| u64::from_str_radix(value.trim(), 16).ok())
            .max();
        Self(most.unwrap_or(0))
    }

    pub(super) fn next(&mut self) -> String {
        self.0 += 1;
        format!("{:X}", self.0)
    }
}

/// The blocks of model and paper space, which a release 2000 file must have,
/// owned by their records.
fn put_blocks(out: &mut String, pairs: &[Pair<'_>], handles: &mut Handles) {
    put(out, 0, "SECTION");
    put(out, 2, "BLOCKS");
    let records = pairs
        .iter()
        .enumerate()
        .filter(|(i, p)| **p == (0, "BLOCK_RECORD") && *i > 0)
        .filter_map(|(i, _)| {
            let rest: Vec<_> = pairs[i + 1..].iter().take_while(|p| p.0 != 0).collect();
            let value = |code| rest.iter().find(|p| p.0 == code).map(|p| p.1);
            Some((value(5)?, value(2)?))
        });
    for (owner, name) in records {
        for end in [false, true] {
            put(out, 0, if end { "ENDBLK" } else { "BLOCK" });
            put(out, 5, &handles.next());
            put(out, 330, owner);
            put(out, 100, "AcDbEntity");
            put(out, 8, "0");
            if end {
                put(out, 100, "AcDbBlockEnd");
                continue;
            }
            put(out, 100, "AcDbBlockBegin");
            put(out, 2, name);
            put(out, 70, "0");
            for code in [10, 20, 30] {
                put(out, code, "0.0");
            }
            put(out, 3, name);
            put(out, 1, "");
        }
    }
    put(out, 0, "ENDSEC");
}

/// The root dictionary and the empty one of groups.
fn put_dictionaries(out: &mut String, handles: &mut Handles) {
    let (root, groups) = (handles.next(), handles.next());
    for (handle, owner) in [(&root, "0"), (&groups, root.as_str())] {
        put(out, 0, "DICTIONARY");
        put(out, 5, handle);
        put(out, 330, owner);
        put(out, 100, "AcDbDictionary");
        put(out, 281, "1");
        if owner == "0" {
            put(out, 3, "ACAD_GROUP");
            put(out, 350, &groups);
        }
    }
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

fn header_text(header: &Header, next_handle: &str) -> String {
    let (version, handles) = match header.release {
        DxfVersion::R12 => ("AC1009", None),
        DxfVersion::R2000 => ("AC1015", Some(next_handle.to_owned())),
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
        put(&mut out, 9, name);
        for (code, value) in values {
            put(&mut out, code, &value);
        }
    }
    out + "  0\r\nENDSEC\r\n"
}
