//! The text of a DXF drawing, pair by pair: a code on one line, its value on
//! the next. What every reader of drawings begins with.

mod letters;

use crate::limits::PAIRS;

pub use letters::{ascii, drawing_text, wrapped};

/// A code with its value.
#[derive(Debug, Clone, Copy)]
pub struct Pair<'a> {
    /// The code.
    pub code: i32,
    /// The value, trimmed.
    pub value: &'a str,
    /// Line of the code, counted from 1; the value's is the next.
    pub line: usize,
}

/// A place where the text is no drawing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Broken {
    /// Line, counted from 1, where it is known.
    pub line: Option<usize>,
    /// One sentence.
    pub what: String,
    /// One sentence.
    pub mend: &'static str,
}

const AGAIN: &str = "the file is damaged or cut short: write it again from the drawing";

/// A [`Broken`] at a line.
///
/// # Errors
/// Always.
pub fn broken<T>(line: usize, what: impl Into<String>) -> Result<T, Broken> {
    Err(Broken {
        line: Some(line),
        what: what.into(),
        mend: AGAIN,
    })
}

/// Splits a text into its pairs, up to the end of the drawing.
///
/// # Errors
/// A binary file, a code that is no number, a code without a value.
pub fn pairs(text: &str) -> Result<Vec<Pair<'_>>, Broken> {
    if text.starts_with("AutoCAD Binary DXF") {
        return Err(Broken {
            line: None,
            what: "this is a binary drawing".to_owned(),
            mend: "save it as DXF in text (ASCII) form",
        });
    }
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut out = Vec::new();
    let mut lines = text.lines().enumerate();
    while let Some((i, code)) = lines.next() {
        let Ok(number) = code.trim().parse::<i32>() else {
            if code.trim().is_empty() && lines.all(|(_, l)| l.trim().is_empty()) {
                break;
            }
            return broken(
                i + 1,
                format!(
                    "`{}` stands where the code of a pair belongs",
                    shortened(code)
                ),
            );
        };
        let Some((_, value)) = lines.next() else {
            return broken(i + 1, "the last code has no value");
        };
        if out.len() == PAIRS {
            return Err(Broken {
                line: Some(i + 1),
                what: format!("the drawing has more than {PAIRS} codes with their values"),
                mend: "write the layer that is needed as a drawing of its own",
            });
        }
        let pair = Pair {
            code: number,
            value: value.trim(),
            line: i + 1,
        };
        out.push(pair);
        if pair.code == 0 && pair.value == "EOF" {
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

/// A text whose letters beyond ASCII may be written `\U+00E9`.
#[must_use]
pub fn unescaped(text: &str) -> String {
    let mut parts = text.split("\\U+");
    let mut out = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let code = part
            .get(..4)
            .and_then(|hex| u32::from_str_radix(hex, 16).ok());
        match (code.and_then(char::from_u32), part.get(4..)) {
            (Some(c), Some(rest)) => {
                out.push(c);
                out.push_str(rest);
            }
            _ => {
                out.push_str("\\U+");
                out.push_str(part);
            }
        }
    }
    out
}
