//! Tables of aligned columns, for reading, and cells of tables for
//! spreadsheets.

use std::borrow::Cow;

/// Columns of text: the first to the left, the others to the right, with a
/// line of headings, a line of units and a rule.
pub(super) struct Table {
    head: Vec<(String, String)>,
    rows: Vec<Vec<String>>,
}

impl Table {
    /// Headings with their units; an empty unit where there is none.
    pub(super) fn new(head: &[(&str, &str)]) -> Self {
        Self {
            head: head
                .iter()
                .map(|(h, u)| ((*h).to_owned(), (*u).to_owned()))
                .collect(),
            rows: Vec::new(),
        }
    }

    /// Adds a row.
    pub(super) fn row(&mut self, cells: Vec<String>) {
        self.rows.push(cells);
    }

    /// The table's text, every line indented by two spaces.
    pub(super) fn text(&self) -> String {
        let heads: Vec<String> = self.head.iter().map(|h| h.0.clone()).collect();
        let units: Vec<String> = self.head.iter().map(|h| h.1.clone()).collect();
        let lines = || [&heads, &units].into_iter().chain(&self.rows);
        let widths: Vec<usize> = (0..heads.len())
            .map(|c| {
                let cell = |r: &Vec<String>| r.get(c).map_or(0, |t| t.chars().count());
                lines().map(cell).max().unwrap_or(0)
            })
            .collect();
        let line = |cells: &[String]| {
            let mut out = String::from(" ");
            for (c, &w) in widths.iter().enumerate() {
                let text = cells.get(c).map_or("", String::as_str);
                // The widths of a format end at 65,535, and a list of names may not.
                let room = " ".repeat(w.saturating_sub(text.chars().count()));
                if c == 0 {
                    out.push_str(&format!(" {text}{room}"));
                } else {
                    out.push_str(&format!("  {room}{text}"));
                }
            }
            out.trim_end().to_owned() + "\n"
        };
        let wide = widths.iter().sum::<usize>() + 2 * widths.len().saturating_sub(1);
        let mut out = line(&heads);
        if units.iter().any(|u| !u.is_empty()) {
            out.push_str(&line(&units));
        }
        out.push_str(&format!("  {}\n", "-".repeat(wide)));
        for row in &self.rows {
            out.push_str(&line(row));
        }
        out
    }
}

/// A text broken at spaces into lines of at most `most` letters, each line
/// after the first indented.
pub(super) fn wrapped(text: &str, most: usize, indent: &str) -> String {
    let mut out = String::new();
    let mut length = 0;
    for word in text.split_whitespace() {
        let count = word.chars().count();
        if length > 0 && length + 1 + count > most {
            out.push('\n');
            out.push_str(indent);
            length = indent.chars().count();
        } else if length > 0 {
            out.push(' ');
            length += 1;
        }
        out.push_str(word);
        length += count;
    }
    out
}

/// A cell of a CSV table that no spreadsheet takes for a formula: a text that
/// begins as one has an apostrophe before it (OWASP, "CSV Injection":
/// beginnings `= + - @`, tab, carriage return and line feed, and the wide
/// forms of the first four). A figure of our own stays one, its minus too.
pub(super) fn guarded(cell: &str) -> Cow<'_, str> {
    let begins = cell.starts_with([
        '=', '+', '-', '@', '\t', '\r', '\n', '\u{FF1D}', '\u{FF0B}', '\u{FF0D}', '\u{FF20}',
    ]);
    if begins && !is_figure(cell) {
        Cow::Owned(format!("'{cell}"))
    } else {
        Cow::Borrowed(cell)
    }
}

/// True for a figure as we write it, `-12.5`, `-2.5e-9` or `-1 ft 2 3/8 in`, and for the
/// dash that stands for none.
fn is_figure(cell: &str) -> bool {
    let figure = |word: &str| {
        word.bytes()
            .all(|b| b.is_ascii_digit() || matches!(b, b'.' | b'/'))
    };
    let word = |w: &str| matches!(w, "ft" | "in" | "mm") || figure(w);
    let plain =
        |rest: &str| rest.starts_with(|c: char| c.is_ascii_digit()) && rest.parse::<f64>().is_ok();
    cell.strip_prefix('-')
        .is_some_and(|rest| plain(rest) || rest.split(' ').all(word))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_is_no_formula_and_a_figure_stays_one() {
        for text in [
            "=1+1",
            "+1",
            "@SUM(A1)",
            "-2+3",
            "-cmd|' /C calc'!A0",
            "-4-11-1",
            "\tx",
            "\u{FF1D}1",
        ] {
            assert_eq!(guarded(text), format!("'{text}"));
        }
        for text in [
            "",
            "-",
            "-0.25",
            "-1 ft 2 3/8 in",
            "-3/16 in",
            "12P",
            "a=b",
            "'x",
        ] {
            assert_eq!(guarded(text), text);
        }
    }

    #[test]
    fn a_column_may_be_wider_than_a_format_allows() {
        let mut t = Table::new(&[("sheet", ""), ("parts", "")]);
        t.row(vec!["1".into(), "B1 ".repeat(30_000)]);
        t.row(vec!["2".into(), "B2".into()]);
        assert!(t.text().lines().all(|l| l.len() < 100_000));
    }

    #[test]
    fn columns_line_up_under_their_headings_and_units() {
        let mut t = Table::new(&[("sheet", ""), ("area", "m2")]);
        t.row(vec!["sheet-1".into(), "12.50".into()]);
        assert_eq!(
            t.text(),
            "  sheet     area\n              m2\n  --------------\n  sheet-1  12.50\n"
        );
    }

    #[test]
    fn long_text_is_wrapped() {
        assert_eq!(wrapped("aa bb cc dd", 5, "  "), "aa bb\n  cc\n  dd");
    }
}
