//! Running text of reports: lines that are read with ease, sections of
//! sentences, and what of a text a page may not hold.

use crate::geom::Vec2;
use crate::job::Job;
use crate::length::{Show, show};

/// Letters in a line.
pub(super) const LINE: usize = 92;

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

/// The job's name, date and note.
pub(super) fn heading(job: &Job) -> String {
    let mut out = format!("{}\n", job.heading());
    if !job.note.is_empty() {
        out.push_str(&format!("{}\n", wrapped(&job.note, LINE, "")));
    }
    out
}

/// What is to be known before all else.
pub(super) fn warnings(all: &[String]) -> String {
    let line = |w: &String| wrapped(&format!("warning: {w}"), LINE, "  ") + "\n";
    all.iter().map(line).collect()
}

/// A paragraph set in by two letters.
pub(super) fn paragraph(text: &str) -> String {
    format!("  {}\n", wrapped(text, LINE - 2, "  "))
}

/// A section of sentences under a title; nothing where there are none.
pub(super) fn items<S: AsRef<str>>(title: &str, all: impl IntoIterator<Item = S>) -> String {
    let mut out = String::new();
    for sentence in all {
        let text = wrapped(sentence.as_ref(), LINE - 4, "    ");
        out.push_str(&format!("  - {text}\n"));
    }
    if out.is_empty() {
        return out;
    }
    format!("\n{title}\n{out}")
}

/// The size of a rectangle: `3 ft x 1 ft 6 in`.
pub(super) fn across(size: Vec2, shown: Show) -> String {
    format!("{} x {}", show(size.x, shown), show(size.y, shown))
}

/// Sheets beside the bound by area, in words.
pub(super) fn sheets_and_least(sheets: usize, least: usize) -> String {
    let s = if sheets == 1 { "" } else { "s" };
    format!("{sheets} sheet{s}, {least} at least by area")
}

/// Text for a page: what would be read as markup is escaped.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            // Control characters that a page may not hold.
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_text_is_wrapped() {
        assert_eq!(wrapped("aa bb cc dd", 5, "  "), "aa bb\n  cc\n  dd");
    }
}
