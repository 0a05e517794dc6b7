//! A table: rows, and columns that each have a name, a quantity and a figure
//! or a text of every row. One table is rendered for a terminal, for a page
//! and for a spreadsheet.

use std::borrow::Cow;

use super::prose::{escaped, paragraph};
use crate::fault::{Fault, Kind, Place};
use crate::geom::Vec3;
use crate::job::Job;
use crate::length::{self, Show};
use crate::quantity::Quantity;

/// What stands where a column meets a row.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Cell {
    /// Nothing: a dash for people, empty in a spreadsheet.
    Nothing,
    /// Words.
    Words(String),
    /// A figure of the column's quantity, in its own unit.
    Figure(f64),
}

impl From<&str> for Cell {
    fn from(words: &str) -> Self {
        Self::Words(words.to_owned())
    }
}

impl From<&String> for Cell {
    fn from(words: &String) -> Self {
        Self::Words(words.clone())
    }
}

impl From<String> for Cell {
    fn from(words: String) -> Self {
        Self::Words(words)
    }
}

impl From<f64> for Cell {
    fn from(figure: f64) -> Self {
        Self::Figure(figure)
    }
}

impl From<usize> for Cell {
    fn from(count: usize) -> Self {
        Self::Figure(count as f64)
    }
}

impl<T: Into<Self>> From<Option<T>> for Cell {
    fn from(cell: Option<T>) -> Self {
        cell.map_or(Self::Nothing, T::into)
    }
}

struct Column {
    name: String,
    /// What stands under the name where people read it, in place of the unit.
    under: Option<&'static str>,
    quantity: Quantity,
    cells: Vec<Cell>,
}

/// Rows and columns.
pub(super) struct Table<'a, R> {
    shown: Show,
    currency: &'a str,
    rows: Vec<R>,
    columns: Vec<Column>,
    /// Of rows that have no figures, why; by row.
    refused: Vec<Option<String>>,
    /// Rows that a page marks.
    best: Vec<bool>,
}

impl<'a, R: Copy> Table<'a, R> {
    /// Rows of a table in the job's units.
    pub(super) fn of(job: &'a Job, rows: impl IntoIterator<Item = R>) -> Self {
        Self {
            shown: job.show,
            currency: &job.prices.currency,
            ..Self::for_machines(rows)
        }
    }

    /// Rows of a table whose columns are in units of their own.
    pub(super) fn for_machines(rows: impl IntoIterator<Item = R>) -> Self {
        Self {
            shown: Show::Mm,
            currency: "",
            rows: rows.into_iter().collect(),
            columns: Vec::new(),
            refused: Vec::new(),
            best: Vec::new(),
        }
    }

    /// Adds a column.
    pub(super) fn column<C: Into<Cell>>(
        mut self,
        name: impl Into<String>,
        quantity: Quantity,
        cell: impl Fn(R) -> C,
    ) -> Self {
        self.columns.push(Column {
            name: name.into(),
            under: None,
            quantity,
            cells: self.rows.iter().map(|r| cell(*r).into()).collect(),
        });
        self
    }

    /// Adds a column of words.
    pub(super) fn text<C: Into<Cell>>(
        self,
        name: impl Into<String>,
        cell: impl Fn(R) -> C,
    ) -> Self {
        self.column(name, Quantity::Text, cell)
    }

    /// Adds a column of counts.
    pub(super) fn count<C: Into<Cell>>(
        self,
        name: impl Into<String>,
        cell: impl Fn(R) -> C,
    ) -> Self {
        self.column(name, Quantity::Count, cell)
    }

    /// Adds the three columns of a place or a direction, named after `what`.
    pub(super) fn place(
        mut self,
        what: &str,
        quantity: Quantity,
        at: impl Fn(R) -> Option<Vec3>,
    ) -> Self {
        for (k, axis) in ["x", "y", "z"].into_iter().enumerate() {
            let of = |p: Vec3| [p.x, p.y, p.z][k];
            self = self.column(format!("{what}{axis}"), quantity, |r| at(r).map(of));
        }
        self
    }

    /// What stands under the last column's name where people read it.
    pub(super) fn under(mut self, words: &'static str) -> Self {
        if let Some(last) = self.columns.last_mut() {
            last.under = Some(words);
        }
        self
    }

    /// Rows that have no figures, and why.
    pub(super) fn refused(mut self, why: impl Fn(R) -> Option<String>) -> Self {
        self.refused = self.rows.iter().map(|r| why(*r)).collect();
        self
    }

    /// Rows that a page marks.
    pub(super) fn best(mut self, is: impl Fn(R) -> bool) -> Self {
        self.best = self.rows.iter().map(|r| is(*r)).collect();
        self
    }

    fn why(&self, row: usize) -> Option<&str> {
        self.refused.get(row)?.as_deref()
    }

    /// A column's name for people, and what stands under it.
    fn head<'s>(&'s self, column: &'s Column) -> [&'s str; 2] {
        let unit = match column.quantity {
            Quantity::Money => self.currency,
            other => other.head(self.shown),
        };
        [&column.name, column.under.unwrap_or(unit)]
    }

    /// A row as people read it.
    fn read(&self, row: usize) -> Vec<String> {
        let cell = |c: &Column| match &c.cells[row] {
            Cell::Nothing => "-".to_owned(),
            Cell::Words(words) => words.clone(),
            Cell::Figure(v) => c.quantity.read(*v, self.shown),
        };
        self.columns.iter().map(cell).collect()
    }

    /// For a terminal: the first column to the left, the others to the right,
    /// with names, what stands under them, and a rule; two letters set in.
    pub(super) fn to_text(&self) -> String {
        let heads = |k: usize| -> Vec<String> {
            let head = |c| self.head(c)[k].to_owned();
            self.columns.iter().map(head).collect()
        };
        let mut lines = vec![heads(0), heads(1)];
        let mut reasons = String::new();
        for row in 0..self.rows.len() {
            let mut cells = self.read(row);
            if let Some(why) = self.why(row) {
                cells.truncate(1);
                reasons.push_str(&paragraph(&format!("{}: {why}", cells.join(""))));
                cells.push("cannot".to_owned());
            }
            lines.push(cells);
        }
        let letters = |line: &[String], c: usize| line.get(c).map_or(0, |t| t.chars().count());
        let widths: Vec<usize> = (0..self.columns.len())
            .map(|c| lines.iter().map(|l| letters(l, c)).max().unwrap_or(0))
            .collect();
        let set = |line: &[String]| {
            let mut out = String::new();
            for (c, (text, &width)) in line.iter().zip(&widths).enumerate() {
                // The widths of a format end at 65,535, and a list of names may not.
                let room = " ".repeat(width - letters(line, c));
                let (before, after) = if c == 0 { ("", &*room) } else { (&*room, "") };
                out.push_str(&format!("  {before}{text}{after}"));
            }
            out.trim_end().to_owned() + "\n"
        };
        if lines[1].iter().all(String::is_empty) {
            lines.remove(1);
        }
        let wide = widths.iter().sum::<usize>() + 2 * widths.len().saturating_sub(1);
        let mut out: Vec<String> = lines.iter().map(|l| set(l)).collect();
        let heads = lines.len() - self.rows.len();
        out.insert(heads, format!("  {}\n", "-".repeat(wide)));
        out.concat() + &reasons
    }

    /// For a page.
    pub(super) fn to_html(&self, caption: &str) -> String {
        let mut out = String::new();
        if !caption.is_empty() {
            out.push_str(&format!("<p class=\"caption\">{}</p>\n", escaped(caption)));
        }
        out.push_str("<div class=\"wide\"><table>\n<thead><tr>");
        for [name, under] in self.columns.iter().map(|c| self.head(c)) {
            out.push_str(&format!("<th scope=\"col\">{}", escaped(name)));
            if !under.is_empty() {
                out.push_str(&format!(" <span>{}</span>", escaped(under)));
            }
            out.push_str("</th>");
        }
        out.push_str("</tr></thead>\n<tbody>\n");
        for row in 0..self.rows.len() {
            let cells = self.read(row);
            let best = self.best.get(row).is_some_and(|b| *b);
            let class = if best { " class=\"best\"" } else { "" };
            let (first, rest) = cells.split_at(cells.len().min(1));
            out.push_str(&format!(
                "<tr{class}><th scope=\"row\">{}</th>",
                escaped(&first.concat())
            ));
            if let Some(why) = self.why(row) {
                out.push_str(&format!(
                    "<td class=\"why\" colspan=\"{}\">cannot be made: {}</td>",
                    rest.len(),
                    escaped(why)
                ));
            } else {
                for cell in rest {
                    out.push_str(&format!("<td>{}</td>", escaped(cell)));
                }
            }
            out.push_str("</tr>\n");
        }
        out + "</tbody>\n</table></div>\n"
    }

    /// For a spreadsheet, with the file's name: figures are plain numbers, and the heading has their
    /// unit; what begins as a formula is guarded; the last column says why a row
    /// has no figures, where any may have none.
    ///
    /// # Errors
    /// The text could not be made ([`Kind::File`]).
    pub(super) fn to_csv(&self, file: &str) -> Result<(String, String), Fault> {
        let broken = |e: String| {
            Fault::new(
                Kind::File,
                Place::file(file),
                format!("the table could not be written: {e}"),
                "report this table",
            )
        };
        let mut writer = csv::Writer::from_writer(Vec::new());
        let mut put =
            |line: Vec<String>| writer.write_record(line).map_err(|e| broken(e.to_string()));
        let mut heads: Vec<String> = Vec::new();
        for c in &self.columns {
            match c.quantity.suffix(self.shown) {
                "" => heads.push(c.name.clone()),
                unit => heads.push(format!("{}_{unit}", c.name)),
            }
            if self.taped(c) {
                heads.push(format!("{}_ft_in", c.name));
            }
        }
        if !self.refused.is_empty() {
            heads.push("cannot_be_made".to_owned());
        }
        put(heads)?;
        for row in 0..self.rows.len() {
            let mut line = Vec::new();
            for c in &self.columns {
                let (figure, words) = match &c.cells[row] {
                    Cell::Nothing => (String::new(), String::new()),
                    Cell::Words(words) => (guarded(words).into_owned(), String::new()),
                    Cell::Figure(v) => (
                        c.quantity.figure(*v, self.shown),
                        length::show(*v, self.shown),
                    ),
                };
                line.push(figure);
                if self.taped(c) {
                    line.push(words);
                }
            }
            if !self.refused.is_empty() {
                line.push(guarded(self.why(row).unwrap_or_default()).into_owned());
            }
            put(line)?;
        }
        let bytes = writer.into_inner().map_err(|e| broken(e.to_string()))?;
        let text = String::from_utf8(bytes).map_err(|e| broken(e.to_string()))?;
        Ok((file.to_owned(), text))
    }

    /// True for a column that has words for the tape beside its figures.
    fn taped(&self, c: &Column) -> bool {
        c.quantity == Quantity::Tape && self.shown == Show::FeetInches
    }
}

/// Words that no spreadsheet takes for a formula: what begins as one has an
/// apostrophe before it (OWASP, "CSV Injection": beginnings `= + - @`, tab,
/// carriage return and line feed, and the wide forms of the first four). A
/// figure stays one, its minus too: a station may be booked as `-0.25`.
fn guarded(words: &str) -> Cow<'_, str> {
    let begins = words.starts_with([
        '=', '+', '-', '@', '\t', '\r', '\n', '\u{FF1D}', '\u{FF0B}', '\u{FF0D}', '\u{FF20}',
    ]);
    if begins && !is_figure(words) {
        Cow::Owned(format!("'{words}"))
    } else {
        Cow::Borrowed(words)
    }
}

/// True for a figure as we write it, `-12.5`, `-2.5e-9` or `-1 ft 2 3/8 in`, and for the
/// dash that stands for none.
fn is_figure(words: &str) -> bool {
    let figure = |word: &str| {
        word.bytes()
            .all(|b| b.is_ascii_digit() || matches!(b, b'.' | b'/'))
    };
    let word = |w: &str| matches!(w, "ft" | "in" | "mm") || figure(w);
    let plain =
        |rest: &str| rest.starts_with(|c: char| c.is_ascii_digit()) && rest.parse::<f64>().is_ok();
    words
        .strip_prefix('-')
        .is_some_and(|rest| plain(rest) || rest.split(' ').all(word))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;

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
        let names = ["B1 ".repeat(30_000), "B2".to_owned()];
        let t = Table::for_machines(&names)
            .count("sheet", |_| 1)
            .text("parts", |n| n);
        assert!(t.to_text().lines().all(|l| l.len() < 100_000));
    }

    /// One table, three ways and in both units.
    #[test]
    fn a_table_reads_alike_in_a_terminal_on_a_page_and_in_a_spreadsheet() {
        let mut job = sample::job();
        let rows = [
            ("sheet-1", 914.4, Some(5.0), Ok(12.5e6)),
            ("=2", 25.4, None, Err("too <small>")),
        ];
        let table = |job: &_| {
            let t = Table::of(job, &rows)
                .text("sheet", |r| r.0)
                .column("reach", Quantity::Tape, |r| r.1)
                .column("area", Quantity::Area, |r| r.3.ok())
                .column("cost", Quantity::Money, |r| r.2)
                .refused(|r| r.3.err().map(str::to_owned))
                .best(|r| r.2.is_some());
            (
                t.to_text(),
                t.to_html("Sheets"),
                t.to_csv("t.csv").unwrap().1,
            )
        };
        let (text, page, csv) = table(&job);
        assert_eq!(
            text,
            "  sheet       reach    area  cost\n                         m2   USD\n  -------------------------------\n  \
             sheet-1  914.4 mm  12.500  5.00\n  =2         cannot\n  =2: too <small>\n"
        );
        assert_eq!(
            csv,
            "sheet,reach_mm,area_m2,cost,cannot_be_made\nsheet-1,914.4,12.5000,5.00,\n'=2,25.4,,,too <small>\n"
        );
        assert!(page.contains("<th scope=\"col\">area <span>m2</span></th>"));
        assert!(
            page.contains("<tr class=\"best\"><th scope=\"row\">sheet-1</th><td>914.4 mm</td>")
        );
        assert!(
            page.contains("<td class=\"why\" colspan=\"3\">cannot be made: too &lt;small&gt;</td>")
        );
        job.show = Show::FeetInches;
        let (text, _, csv) = table(&job);
        assert!(
            text.contains("  sheet-1    3 ft  134.549  5.00\n"),
            "{text}"
        );
        assert_eq!(
            csv.lines().nth(1),
            Some("sheet-1,36.000,3 ft,134.5489,5.00,")
        );
        assert!(csv.starts_with("sheet,reach_in,reach_ft_in,area_ft2,cost,"));
    }
}
