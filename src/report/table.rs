//! Tables of aligned columns, for reading.

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
                if c == 0 {
                    out.push_str(&format!(" {text:<w$}"));
                } else {
                    out.push_str(&format!("  {text:>w$}"));
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

#[cfg(test)]
mod tests {
    use super::*;

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
