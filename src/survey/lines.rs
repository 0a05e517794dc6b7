//! The lines of a table: comments, blank lines, cells and where they stand.
//!
//! A small splitter of our own: every fault needs the line and column of its
//! cell, comments and blank lines count, and an inch mark inside a cell is
//! not a quote.

use crate::fault::{Fault, Kind, Place};

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

impl Line {
    /// The fault of a header that is parted by something else than commas:
    /// one cell of three words or more.
    pub(crate) fn not_commas(&self, file: &str) -> Option<Fault> {
        const MARKS: [(char, &str); 4] = [
            (';', "semicolons"),
            ('\t', "tabs"),
            ('|', "upright strokes"),
            (' ', "spaces"),
        ];
        let [cell] = &self.cells[..] else {
            return None;
        };
        let (_, by) = MARKS.into_iter().find(|(mark, _)| {
            let words = cell.text.split(*mark).filter(|w| !w.trim().is_empty());
            words.count() > 2
        })?;
        Some(Fault::new(
            Kind::Syntax,
            Place::file(file).line(self.number).column(cell.column),
            format!("the cells are parted by {by}"),
            "save the table as comma-separated, with points for decimals",
        ))
    }
}

/// A line that cannot be split: its number and the column of its open quote.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct OpenQuote {
    pub(crate) line: usize,
    pub(crate) column: usize,
}

/// Every line that is neither blank nor a comment. A line of empty cells, as
/// spreadsheets leave them, is blank.
pub(crate) fn lines(text: &str) -> (Vec<Line>, Vec<OpenQuote>) {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let (mut good, mut bad) = (Vec::new(), Vec::new());
    for (i, line) in text.lines().enumerate() {
        if line.trim_start().starts_with('#') {
            continue;
        }
        match split(line) {
            Ok(cells) if cells.iter().all(|c| c.text.is_empty()) => {}
            Ok(cells) => good.push(Line {
                number: i + 1,
                cells,
            }),
            Err(column) => bad.push(OpenQuote {
                line: i + 1,
                column,
            }),
        }
    }
    (good, bad)
}

/// Cells of a line, parted by commas. A cell that begins with a double quote
/// runs to the next lone one, and may hold commas; two stand for one.
fn split(line: &str) -> Result<Vec<Cell>, usize> {
    let letters: Vec<char> = line.chars().collect();
    let mut cells = Vec::new();
    let mut at = 0;
    loop {
        while letters.get(at).is_some_and(|&c| c == ' ' || c == '\t') {
            at += 1;
        }
        let column = at + 1;
        let text = match letters.get(at) {
            Some('"') => quoted(&letters, &mut at).ok_or(column)?,
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

    #[test]
    fn open_quotes_are_refused() {
        assert_eq!(split("a,\"b"), Err(3));
        assert_eq!(split("\"a\"b,c"), Err(1));
        assert_eq!(split("\""), Err(1));
    }

    #[test]
    fn comments_and_blank_lines_keep_the_count() {
        let (good, bad) = lines("\u{feff}# head\n\na,b\r\n  # note\n,,\n1,2\n\"x\n");
        let numbers: Vec<_> = good.iter().map(|l| l.number).collect();
        assert_eq!(numbers, [3, 6]);
        assert_eq!(good[0].cells[1].text, "b");
        assert_eq!(bad, [OpenQuote { line: 7, column: 1 }]);
    }
}
