//! The table of a tacked or welded line: one row a stanchion.

use std::collections::BTreeMap;

use super::mark::Mark;
use crate::fault::{Fault, Faults, Kind, Place, keep_first};
use crate::geom::{Vec3, vec3};
use crate::job::Job;
use crate::length::{Round, parse_cell, told_unrounded};
use crate::limits::MESSAGES;
use crate::stock::nearest;
use crate::survey::lines::{self, Cell, Line};

/// Furthest that a row may let its stanchion be moved, mm: more is another bulwark.
const MOST_LIMIT: f64 = 100.0;

/// The ways a row may give its place: columns that stand together.
const WAYS: [&[&str]; 3] = [
    &["x", "y", "z"],
    &["out", "up"],
    &["half_breadth", "height"],
];

/// Every column.
const COLUMNS: [&str; 10] = [
    "stanchion",
    "x",
    "y",
    "z",
    "out",
    "up",
    "half_breadth",
    "height",
    "limit",
    "fixed",
];

/// A stanchion's place as a row gives it, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Given {
    /// A point of the top plate's upper outboard edge, in the boat's coordinates.
    At(Vec3),
    /// Off the planned line: outboard square to the edge, and up.
    Offsets {
        /// Outboard positive.
        out: f64,
        /// Up positive.
        up: f64,
    },
    /// At the stanchion's planned station.
    Section {
        /// From the centreline, positive on both sides.
        half: f64,
        /// Above the baseline.
        height: f64,
    },
}

impl Given {
    /// Columns of the figures that show in plan and in height.
    pub(super) fn fields(&self) -> [&'static str; 2] {
        match self {
            Self::At(_) => ["y", "z"],
            Self::Offsets { .. } => ["out", "up"],
            Self::Section { .. } => ["half_breadth", "height"],
        }
    }
}

/// A row.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// Index of its stanchion's mark.
    pub mark: usize,
    /// Line in the file, counted from 1.
    pub line: usize,
    /// Columns of the text where the figures that show in plan and in height stand.
    pub columns: [usize; 2],
    /// Where the line was measured.
    pub given: Given,
    /// How far it can be moved, mm, where the row says so.
    pub limit: Option<f64>,
    /// The row says that it cannot be moved.
    pub fixed: bool,
}

/// Reads a table of the tacked or welded line.
///
/// # Errors
/// All its faults at once, each with line, column and field; and names under
/// the job's `check.fixed` that no stanchion has.
pub fn read(text: &str, file: &str, job: &Job, marks: &[Mark]) -> Result<Vec<Measured>, Faults> {
    let mut table = Table {
        file,
        job,
        marks,
        columns: BTreeMap::new(),
        way: 0,
        sought: 0,
        faults: Vec::new(),
    };
    table.check_fixed();
    let mut out: Vec<Measured> = Vec::new();
    let example = ", such as stanchion, x, y, z";
    if let Some((header, rows)) = lines::table(text, file, example, &mut table.faults)
        && table.header(&header)
    {
        let from = table.faults.len();
        for line in &rows {
            table.row(line, header.cells.len(), &mut out);
            keep_first(&mut table.faults, from);
        }
    }
    if table.faults.is_empty() {
        out.sort_by_key(|m| m.mark);
        Ok(out)
    } else {
        Err(Faults(table.faults))
    }
}

struct Table<'a> {
    file: &'a str,
    job: &'a Job,
    marks: &'a [Mark],
    /// Cell index by column.
    columns: BTreeMap<&'static str, usize>,
    /// Index into [`WAYS`].
    way: usize,
    /// Names that were not found; the nearest is told of the first
    /// [`MESSAGES`], for no more are shown of a file.
    sought: usize,
    faults: Vec<Fault>,
}

impl Table<'_> {
    fn check_fixed(&mut self) {
        let job = self.job;
        for name in &job.check.fixed {
            if self.find(name).is_none() {
                let (what, mend) = self.unknown(name);
                let place = job.check.place.clone();
                self.faults
                    .push(Fault::new(Kind::Unknown, place, what, mend));
            }
        }
    }

    fn find(&self, name: &str) -> Option<usize> {
        self.marks
            .iter()
            .position(|m| m.name.eq_ignore_ascii_case(name))
    }

    fn unknown(&mut self, name: &str) -> (String, String) {
        self.sought += 1;
        let names = self.marks.iter().map(|m| m.name.as_str());
        let near = (self.sought <= MESSAGES).then(|| nearest(name, names));
        let near = near.flatten().map_or(String::new(), |near| {
            format!("the nearest name is `{near}`; ")
        });
        (
            format!("there is no stanchion `{name}`"),
            format!("{near}lists/stanchions.csv has them all"),
        )
    }

    /// Finds the columns; false where no row can be read.
    fn header(&mut self, header: &Line) -> bool {
        let before = self.faults.len();
        for (i, cell) in header.cells.iter().enumerate() {
            let place = Place::file(self.file)
                .line(header.number)
                .column(cell.column)
                .field(cell.text.as_str());
            let plain = cell.text.to_lowercase().replace([' ', '-'], "_");
            let Some(name) = COLUMNS.into_iter().find(|c| *c == plain) else {
                let near = nearest(&cell.text, COLUMNS.into_iter()).unwrap_or_default();
                self.faults.push(Fault::new(
                    Kind::Unknown,
                    place,
                    format!("there is no column `{}` in this table", cell.text),
                    format!("the nearest known column is `{near}`"),
                ));
                continue;
            };
            if self.columns.insert(name, i).is_some() {
                self.faults.push(Fault::new(
                    Kind::Conflict,
                    place,
                    format!("the column `{name}` stands twice in the header"),
                    "keep one of them",
                ));
            }
        }
        let has = |c: &&str| self.columns.contains_key(*c);
        let begun: Vec<usize> = (0..WAYS.len())
            .filter(|w| WAYS[*w].iter().any(has))
            .collect();
        let missing = |fields: &str| Place::file(self.file).line(header.number).field(fields);
        let mut found = Vec::new();
        if !has(&"stanchion") {
            found.push(Fault::new(
                Kind::Missing,
                missing("stanchion"),
                "the header has no column `stanchion`",
                "name each row's stanchion as lists/stanchions.csv does, such as 12P",
            ));
        }
        match begun[..] {
            [way] => {
                self.way = way;
                let absent = WAYS[way].iter().filter(|c| !has(c));
                found.extend(absent.map(|c| {
                    Fault::new(
                        Kind::Missing,
                        missing(c),
                        format!("the header has no column `{c}`"),
                        format!("a table of this form needs {}", WAYS[way].join(", ")),
                    )
                }));
            }
            [] => found.push(Fault::new(
                Kind::Missing,
                missing("x"),
                "no column says where the line was measured",
                "give x, y and z; or out and up; or half_breadth and height",
            )),
            _ => found.push(Fault::new(
                Kind::Conflict,
                missing(WAYS[begun[1]][0]),
                "the columns give the line's place in two ways",
                "keep x, y and z; or out and up; or half_breadth and height",
            )),
        }
        self.faults.extend(found);
        self.faults.len() == before
    }

    fn row(&mut self, line: &Line, count: usize, out: &mut Vec<Measured>) {
        let before = self.faults.len();
        if line.cells.len() != count {
            let beyond = line.cells.get(count).or(line.cells.last());
            let mut place = Place::file(self.file).line(line.number);
            place.column = beyond.map(|c| c.column);
            self.faults.push(Fault::new(
                Kind::Syntax,
                place,
                format!(
                    "the row has {} cells and the header {count}",
                    line.cells.len()
                ),
                "give every column its cell, empty if it has no value",
            ));
            return;
        }
        let mark = self.stanchion(line, out);
        let figures: Vec<Option<f64>> = WAYS[self.way]
            .iter()
            .map(|c| self.length_needed(line, c))
            .collect();
        let limit = self.limit(line);
        let fixed = self.fixed(line);
        if self.faults.len() > before {
            return;
        }
        let given = match figures[..] {
            [Some(x), Some(y), Some(z)] => Given::At(vec3(x, y, z)),
            [Some(a), Some(b)] if self.way == 1 => Given::Offsets { out: a, up: b },
            [Some(a), Some(b)] => Given::Section { half: a, height: b },
            _ => return,
        };
        let columns = given
            .fields()
            .map(|c| self.cell(line, c).map_or(1, |cell| cell.column));
        let Some(mark) = mark else { return };
        out.push(Measured {
            mark,
            line: line.number,
            columns,
            given,
            limit,
            fixed,
        });
    }

    fn cell<'l>(&self, line: &'l Line, name: &str) -> Option<&'l Cell> {
        let cell = line.cells.get(*self.columns.get(name)?)?;
        (!cell.text.is_empty()).then_some(cell)
    }

    fn fault(
        &mut self,
        line: &Line,
        name: &'static str,
        kind: Kind,
        (what, mend): (String, String),
    ) {
        let cell = self.columns.get(name).and_then(|i| line.cells.get(*i));
        let mut place = Place::file(self.file).line(line.number).field(name);
        place.column = cell.map(|c| c.column);
        if let Some(booked) = self.cell(line, "stanchion") {
            place.station = Some(format!("stanchion {}", booked.text));
        }
        self.faults.push(Fault::new(kind, place, what, mend));
    }

    fn stanchion(&mut self, line: &Line, earlier: &[Measured]) -> Option<usize> {
        let Some(cell) = self.cell(line, "stanchion") else {
            let text = (
                "the row names no stanchion".to_owned(),
                "write its name, such as 12P".to_owned(),
            );
            self.fault(line, "stanchion", Kind::Missing, text);
            return None;
        };
        let Some(mark) = self.find(&cell.text) else {
            let text = self.unknown(&cell.text);
            self.fault(line, "stanchion", Kind::Unknown, text);
            return None;
        };
        if let Some(first) = earlier.iter().find(|m| m.mark == mark) {
            let text = (
                format!(
                    "stanchion {} stands in two rows, first in line {}",
                    self.marks[mark].name, first.line
                ),
                "keep the row that is right".to_owned(),
            );
            self.fault(line, "stanchion", Kind::Conflict, text);
            return None;
        }
        Some(mark)
    }

    fn length(&mut self, line: &Line, name: &'static str) -> Option<f64> {
        let cell = self.cell(line, name)?;
        match parse_cell(&cell.text, self.job.survey.unit) {
            Ok(mm) => Some(mm),
            Err(e) => {
                self.fault(line, name, e.kind, (e.what, e.mend));
                None
            }
        }
    }

    fn length_needed(&mut self, line: &Line, name: &'static str) -> Option<f64> {
        if self.cell(line, name).is_none() {
            let text = (
                format!("`{name}` is empty"),
                "measure it, or take the row out: stanchions may be left out".to_owned(),
            );
            self.fault(line, name, Kind::Missing, text);
            return None;
        }
        self.length(line, name)
    }

    fn limit(&mut self, line: &Line) -> Option<f64> {
        let mm = self.length(line, "limit")?;
        if (0.0..=MOST_LIMIT).contains(&mm) {
            return Some(mm);
        }
        let told = |mm: f64, round| told_unrounded(mm, self.job.show, round);
        let text = (
            format!("`limit` is {}", told(mm, Round::Nearest)),
            format!(
                "it must be from {} to {}",
                told(0.0, Round::Up),
                told(MOST_LIMIT, Round::Down)
            ),
        );
        self.fault(line, "limit", Kind::Range, text);
        None
    }

    fn fixed(&mut self, line: &Line) -> bool {
        let Some(cell) = self.cell(line, "fixed") else {
            return false;
        };
        match cell.text.to_lowercase().as_str() {
            "yes" | "y" | "x" => true,
            "no" | "n" => false,
            other => {
                let text = (
                    format!("`{other}` does not say whether the stanchion is fixed"),
                    "write yes, or leave the cell empty".to_owned(),
                );
                self.fault(line, "fixed", Kind::Syntax, text);
                false
            }
        }
    }
}
