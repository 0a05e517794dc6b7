//! The text of a drawing, pair by pair: a code on one line, its value on the
//! next.

use crate::fault::{Fault, Kind, Place};
use crate::limits::PAIRS;

/// How a damaged drawing is mended.
pub(super) const AGAIN: &str = "the file is damaged or cut short: write it again from the drawing";

/// A code with its value.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pair<'a> {
    pub(super) code: i32,
    /// Trimmed.
    pub(super) value: &'a str,
    /// Line of the code, counted from 1; the value's is the next.
    pub(super) line: usize,
}

/// Splits a text into its pairs, up to the end of the drawing.
///
/// # Errors
/// A binary file, a code that is no number, a code without a value, too many.
pub(super) fn pairs<'a>(file: &str, text: &'a str) -> Result<Vec<Pair<'a>>, Fault> {
    let fault = |line: Option<usize>, what: String, mend: &str| {
        let mut place = Place::file(file);
        place.line = line;
        Err(Fault::new(Kind::Syntax, place, what, mend))
    };
    if text.starts_with("AutoCAD Binary DXF") {
        let what = "this is a binary drawing".to_owned();
        return fault(None, what, "save it as DXF in text (ASCII) form");
    }
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut out = Vec::new();
    let mut lines = text.lines().enumerate();
    while let Some((i, code)) = lines.next() {
        let line = i + 1;
        let Ok(number) = code.trim().parse::<i32>() else {
            if code.trim().is_empty() && lines.all(|(_, l)| l.trim().is_empty()) {
                break;
            }
            let code = shortened(code);
            let what = format!("`{code}` stands where the code of a pair belongs");
            return fault(Some(line), what, AGAIN);
        };
        let Some((_, value)) = lines.next() else {
            return fault(Some(line), "the last code has no value".to_owned(), AGAIN);
        };
        if out.len() == PAIRS {
            let what = format!("the drawing has more than {PAIRS} codes with their values");
            let mend = "write the layer that is needed as a drawing of its own";
            return fault(Some(line), what, mend);
        }
        let value = value.trim();
        out.push(Pair {
            code: number,
            value,
            line,
        });
        if number == 0 && value == "EOF" {
            break;
        }
    }
    Ok(out)
}

/// A piece of a text for a message.
#[must_use]
pub fn shortened(text: &str) -> String {
    const MOST: usize = 24;
    let text = text.trim();
    if text.chars().count() <= MOST {
        return text.to_owned();
    }
    text.chars().take(MOST).chain("...".chars()).collect()
}
