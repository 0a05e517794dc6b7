//! The lines of a table: comments, blank lines, cells and where they stand.
//!
//! A small splitter of our own: every fault needs the line and column of its
//! cell, comments and blank lines count, and an inch mark inside a cell is
//! not a quote.

use crate::fault::{Fault, Kind, Place, keep_first};
use crate::limits::{COLUMNS, NAME_LETTERS, ROWS, sound};

/// A cell of a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Cell {
    /// Its text, trimmed, quotes taken off.
    pub(crate) text: String,
    /// Column of its first character in the line, counted from 1.
    pub(crate) column: usize,
}

/// A line with cells.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Line {
    /// Counted from 1, comments and blank lines included.
    pub(crate) number: usize,
    /// Its cells.
    pub(crate) cells: Vec<Cell>,
}

/// The fault of a header that is parted by something else than commas: one
/// cell of three words or more.
fn not_commas(cells: &[Cell], file: &str, number: usize) -> Option<Fault> {
    const MARKS: [(char, &str); 4] = [
        (';', "semicolons"),
        ('\t', "tabs"),
        ('|', "upright strokes"),
        (' ', "spaces"),
    ];
    let [cell] = cells else {
        return None;
    };
    let (_, by) = MARKS.into_iter().find(|(mark, _)| {
        let words = cell.text.split(*mark).filter(|w| !w.trim().is_empty());
        words.count() > 2
    })?;
    Some(Fault::new(
        Kind::Syntax,
        Place::file(file).line(number).column(cell.column),
        format!("the cells are parted by {by}"),
        "save the table as comma-separated, with points for decimals",
    ))
}

/// A fault of a line that cannot be read; its file and line are still to be said.
fn unread(column: usize, what: impl Into<String>, mend: &str) -> Fault {
    Fault::new(Kind::Syntax, Place::default().column(column), what, mend)
}

/// The header and the rows of a table: every line that is neither blank nor a
/// comment. A line of empty cells, as spreadsheets leave them, is blank.
/// Faults: no line at all, a header alone, cells not parted by commas, lines that cannot be split, cells that are too long
/// or hold what cannot be seen, a table that is too large. `None` where there
/// is no header to read by; `example` is one for the mend.
pub(crate) fn table(
    text: &str,
    file: &str,
    example: &str,
    faults: &mut Vec<Fault>,
) -> Option<(Line, Vec<Line>)> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let from = faults.len();
    let place = |line| Place::file(file).line(line);
    let (mut header, mut rows) = (None, Vec::new());
    for (i, line) in text.lines().enumerate() {
        if line.trim_start().starts_with('#') {
            continue;
        }
        let number = i + 1;
        let cells = split(line);
        if header.is_none()
            && let Ok(cells) = &cells
            && let Some(fault) = not_commas(cells, file, number)
        {
            faults.push(fault);
            return None;
        }
        match cells.and_then(checked) {
            Ok(cells) if cells.iter().all(|c| c.text.is_empty()) => {}
            Ok(cells) if header.is_none() => header = Some(Line { number, cells }),
            Ok(_) if rows.len() == ROWS => {
                let what = format!("the table has more than {ROWS} rows");
                let mend = "thin the points out, or give a table for each part of the edge";
                faults.push(Fault::new(Kind::Range, place(number), what, mend));
                return None;
            }
            Ok(cells) => rows.push(Line { number, cells }),
            Err(mut fault) => {
                fault.place.file = file.to_owned();
                fault.place.line = Some(number);
                faults.push(fault);
                keep_first(faults, from);
                header.as_ref()?;
            }
        }
    }
    if header.is_none() {
        let what = "the file has no header and no rows";
        let mend = format!("begin the table with a line of column names{example}");
        faults.push(Fault::new(Kind::Missing, Place::file(file), what, mend));
    }
    let header = header?;
    if rows.is_empty() && faults.len() == from {
        let what = "the table has a header and no rows";
        let mend = "add a row for each place that was measured";
        faults.push(Fault::new(Kind::Survey, place(header.number), what, mend));
    }
    Some((header, rows))
}

/// Cells that hold to the limits. A tab is a space, as in a job.
fn checked(mut cells: Vec<Cell>) -> Result<Vec<Cell>, Fault> {
    for cell in &mut cells {
        let plain = cell.text.replace('\t', " ");
        if let Err(e) = sound(&plain, NAME_LETTERS) {
            let column = cell.column + e.letter - 1;
            return Err(unread(column, format!("the cell {}", e.what), e.mend));
        }
        cell.text = plain;
    }
    Ok(cells)
}

/// Cells of a line, parted by commas. A cell that begins with a double quote
/// runs to the next lone one, and may hold commas; two stand for one.
fn split(line: &str) -> Result<Vec<Cell>, Fault> {
    let letters: Vec<char> = line.chars().collect();
    let mut cells = Vec::new();
    let mut at = 0;
    loop {
        while letters.get(at).is_some_and(|&c| c == ' ' || c == '\t') {
            at += 1;
        }
        let column = at + 1;
        if cells.len() == COLUMNS {
            let what = format!("the line has more than {COLUMNS} cells");
            return Err(unread(column, what, "keep the columns of the form"));
        }
        let text = match letters.get(at) {
            Some('"') => quoted(&letters, &mut at).ok_or_else(|| {
                unread(
                    column,
                    "a quoted cell does not end where it should",
                    "close the quote before the comma, and write a quote within quotes twice",
                )
            })?,
            _ => {
                let end = letters[at..]
                    .iter()
                    .position(|&c| c == ',')
                    .map_or(letters.len(), |n| at + n);
                let text: String = letters[at..end].iter().collect();
                at = end;
                text
            }
        };
        cells.push(Cell {
            text: text.trim().to_owned(),
            column,
        });
        if at >= letters.len() {
            return Ok(cells);
        }
        at += 1;
    }
}

/// A quoted cell from its opening quote; `at` is left on the comma or end.
fn quoted(letters: &[char], at: &mut usize) -> Option<String> {
    let mut text = String::new();
    let mut i = *at + 1;
    loop {
        match (letters.get(i)?, letters.get(i + 1)) {
            ('"', Some('"')) => {
                text.push('"');
                i += 2;
            }
            ('"', _) => break,
            (&c, _) => {
                text.push(c);
                i += 1;
            }
        }
    }
    i += 1;
    while letters.get(i).is_some_and(|c| c.is_whitespace()) {
        i += 1;
    }
    *at = i;
    matches!(letters.get(i), None | Some(',')).then_some(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(line: &str, expected: &[(&str, usize)]) {
        let got = split(line).unwrap();
        let got: Vec<_> = got.iter().map(|c| (c.text.as_str(), c.column)).collect();
        assert_eq!(got, expected, "{line}");
    }

    #[test]
    fn cells_know_their_columns() {
        check("a,b,c", &[("a", 1), ("b", 3), ("c", 5)]);
        check("  a , b ,", &[("a", 3), ("b", 7), ("", 10)]);
        check("", &[("", 1)]);
        // An inch mark within a cell is no quote.
        check("5' 3-1/2\",x", &[("5' 3-1/2\"", 1), ("x", 11)]);
        check("\"a, \"\"b\"\"\" , c", &[("a, \"b\"", 1), ("c", 14)]);
        // Columns count characters, not bytes.
        check("é,b", &[("é", 1), ("b", 3)]);
    }

    fn column(line: &str) -> usize {
        let fault = split(line).and_then(checked).unwrap_err();
        fault.place.column.unwrap()
    }

    #[test]
    fn open_quotes_are_refused() {
        assert_eq!(column("a,\"b"), 3);
        assert_eq!(column("\"a\"b,c"), 1);
        assert_eq!(column("\""), 1);
    }

    #[test]
    fn cells_hold_to_the_limits() {
        assert_eq!(column(&format!("1,{}", "x".repeat(81))), 83);
        assert_eq!(column("1, ab\u{202E}c"), 6);
        assert_eq!(column(&",".repeat(40)), 33);
    }

    #[test]
    fn comments_and_blank_lines_keep_the_count() {
        let mut faults = Vec::new();
        let text = "\u{feff}# head\n\na,b\r\n  # note\n,,\n1,x\ty\n\"x\n";
        let (header, rows) = table(text, "t.csv", "", &mut faults).expect("a table");
        let numbers: Vec<_> = rows.iter().map(|l| l.number).collect();
        assert_eq!((header.number, &numbers[..]), (3, &[6][..]));
        assert_eq!(
            (&*header.cells[1].text, &*rows[0].cells[1].text),
            ("b", "x y")
        );
        assert_eq!(
            (faults[0].place.line, faults[0].place.column),
            (Some(7), Some(1))
        );
    }

    /// A header that cannot be read is the only fault: no row stands in for it.
    #[test]
    fn a_table_is_read_by_its_header_or_not_at_all() {
        for text in ["", "# none\n", "\"x,y\n1,2\n"] {
            let mut faults = Vec::new();
            assert_eq!(table(text, "t.csv", "", &mut faults), None);
            assert_eq!(faults.len(), 1, "{text}");
        }
        let mut faults = Vec::new();
        let rows = "a\n".to_owned() + &"1\n".repeat(ROWS + 1);
        assert_eq!(table(&rows, "t.csv", "", &mut faults), None);
        assert_eq!(faults[0].place.line, Some(ROWS + 2));
    }
}
