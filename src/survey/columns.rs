//! The columns of every table form, found by name in the header.

use std::collections::BTreeMap;

use super::lines::Line;
use crate::fault::{Fault, Kind, Place};
use crate::job::{SurveyFile, TableForm};
use crate::stock::nearest;

/// Columns of an offset table beside the common ones.
const OFFSETS: [&str; 5] = [
    "station",
    "half_breadth",
    "height",
    "inboard_half_breadth",
    "inboard_height",
];

/// Columns of a point table beside the common ones.
const POINTS: [&str; 6] = ["x", "y", "z", "inboard_x", "inboard_y", "inboard_z"];

/// Columns of a point list beside the common ones.
const LIST: [&str; 7] = ["x", "y", "z", "code", "inboard_x", "inboard_y", "inboard_z"];

/// Columns of every form.
const COMMON: [&str; 9] = [
    "side",
    "bulwark_height",
    "lean_deg",
    "slope",
    "slope_athwart",
    "round_up",
    "knuckle",
    "tolerance",
    "name",
];

/// Where each column stands.
#[derive(Debug, Clone)]
pub(super) struct Columns {
    /// Cell index by column name.
    by_name: BTreeMap<&'static str, usize>,
    /// Cells in the header.
    pub(super) count: usize,
    /// True where a needed column is absent or the header is at fault.
    pub(super) broken: bool,
}

impl Columns {
    /// Index of a column's cell.
    pub(super) fn index(&self, name: &str) -> Option<usize> {
        self.by_name.get(name).copied()
    }

    /// Columns by the header's line; every fault of it is added.
    pub(super) fn read(file: &SurveyFile, header: &Line, faults: &mut Vec<Fault>) -> Self {
        // The first columns of a form are those without which a row is no
        // point.
        let (own, needed): (&[&'static str], usize) = match file.form {
            TableForm::Offsets => (&OFFSETS, 3),
            TableForm::List => (&LIST, 4),
            TableForm::Points | TableForm::Dxf => (&POINTS, 3),
        };
        let line = || Place::file(&file.path).line(header.number);
        let known = || own.iter().chain(&COMMON).copied();
        let mut by_name = BTreeMap::new();
        for (i, cell) in header.cells.iter().enumerate() {
            let place = line().column(cell.column).field(cell.text.as_str());
            let plain = cell.text.to_lowercase().replace([' ', '-'], "_");
            match known().find(|k| *k == plain) {
                Some(name) if by_name.contains_key(name) => {
                    let what = format!("the column `{name}` stands twice in the header");
                    faults.push(Fault::new(Kind::Conflict, place, what, "keep one of them"));
                }
                Some(name) => {
                    by_name.insert(name, i);
                }
                None => faults.push(unknown(place, &cell.text, known())),
            }
        }
        let mut broken = false;
        for name in own[..needed].iter().filter(|n| !by_name.contains_key(*n)) {
            let what = format!("the header has no column `{name}`");
            let mend = format!("a table of this form needs {}", own[..needed].join(", "));
            faults.push(Fault::new(Kind::Missing, line().field(*name), what, mend));
            broken = true;
        }
        Self {
            by_name,
            count: header.cells.len(),
            broken,
        }
    }
}

fn unknown(place: Place, text: &str, known: impl Iterator<Item = &'static str>) -> Fault {
    if text.is_empty() {
        let mend = "name every column in the header, or take it out";
        return Fault::new(Kind::Unknown, place, "a column has no name", mend);
    }
    let near = nearest(text, known).unwrap_or_default();
    let what = format!("there is no column `{text}` in this form of table");
    let mend = format!("the nearest known column is `{near}`");
    Fault::new(Kind::Unknown, place, what, mend)
}
