//! How much is taken from outside: one place for the longest texts, the
//! largest files and the most of everything, and one rule for the characters
//! that no text may hold.
//!
//! Each limit lies far above any boat, and low enough that what is refused is
//! refused at once. `docs/job-file.md` lists them.

use std::borrow::Cow;

/// Most letters of a name, a code, a cell of a table: more cannot be marked on
/// a part, and no column of a report is wider.
pub const NAME_LETTERS: usize = 80;

/// Most letters of a note, and of a path.
pub const NOTE_LETTERS: usize = 2000;

/// Largest job file, bytes. A job of a hundred doublers has 20,000.
pub const JOB_BYTES: u64 = 1 << 20;

/// Largest table or drawing, bytes: 100,000 rows of the widest form have 20
/// million.
pub const FILE_BYTES: u64 = 32 << 20;

/// Longest line of any file, bytes. A row of full cells has 10,000.
pub const LINE_BYTES: usize = 1 << 18;

/// Most rows of a table, and most points of a drawing: both sides of a 100 m
/// boat every 2 mm.
pub const ROWS: usize = 100_000;

/// Most cells of a row: twice as many as a form has columns.
pub const COLUMNS: usize = 32;

/// Most pairs of a code and a value in a drawing: 100,000 points of ten each.
pub const PAIRS: usize = 1_000_000;

/// Most vertices of a remnant's profiles.
pub const REMNANT_VERTICES: usize = 5000;

/// Most items of a list in a job.
pub const ITEMS: usize = 1000;

/// Most doublers: each is a small part to be nested at many places. Up to here a
/// nest at quick effort takes time as their number; 100 take three times those of 50.
pub const DOUBLERS: usize = 50;

/// Most kinds of sheet, and most choices of an estimate: each is nested.
pub const SHEETS: usize = 50;

/// Most messages of one file.
pub const MESSAGES: usize = 100;

/// Most messages of one cause in a file: of more the first is told, and how many
/// there are.
pub const ALIKE: usize = 10;

/// Names among which the one nearest to a wrong one is sought.
pub const NEAREST_OF: usize = 2000;

/// Most letters of a text that a message quotes.
const QUOTED: usize = 1000;

/// Characters that cannot be seen but act on what stands about them, or that no
/// XML holds, first and last of each kind, after the Unicode Character Database.
/// The joiners U+200C and U+200D are letters of some scripts, and stay.
const UNSEEN: [(char, char, &str); 17] = [
    ('\0', '\u{1F}', CONTROL),
    ('\u{7F}', '\u{9F}', CONTROL),
    ('\u{AD}', '\u{AD}', "a soft hyphen"),
    ('\u{61C}', '\u{61C}', DIRECTION),
    ('\u{180E}', '\u{180E}', NO_WIDTH),
    ('\u{200B}', '\u{200B}', NO_WIDTH),
    ('\u{200E}', '\u{200F}', DIRECTION),
    ('\u{2028}', '\u{2028}', "a line separator"),
    ('\u{2029}', '\u{2029}', "a paragraph separator"),
    ('\u{202A}', '\u{202E}', DIRECTION),
    ('\u{2060}', '\u{2064}', NO_WIDTH),
    ('\u{2065}', '\u{2065}', "an unassigned character"),
    ('\u{2066}', '\u{2069}', DIRECTION),
    ('\u{206A}', '\u{206F}', "a deprecated format character"),
    ('\u{FEFF}', '\u{FEFF}', NO_WIDTH),
    ('\u{FFF9}', '\u{FFFB}', "an annotation mark"),
    ('\u{FFFE}', '\u{FFFF}', "no character"),
];
const CONTROL: &str = "a control character";
const DIRECTION: &str = "a bidirectional control";
const NO_WIDTH: &str = "a character without width";

/// What a character is that no text from outside may hold, in words.
fn unseen_kind(c: char) -> Option<&'static str> {
    let kind = |&(first, last, kind): &(char, char, _)| (first..=last).contains(&c).then_some(kind);
    UNSEEN.iter().find_map(kind)
}

/// True for a character that cannot be seen but acts on what stands about it.
/// The rule for every text from outside.
#[must_use]
pub fn unseen(c: char) -> bool {
    unseen_kind(c).is_some()
}

/// A text that is not taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unsound {
    /// The letter that it is refused for, counted from 1.
    pub letter: usize,
    /// What is wrong, to follow the name of the text.
    pub what: String,
    /// How to mend it.
    pub mend: &'static str,
}

impl Unsound {
    /// A text with such a character as its letter of this number; `None` of one
    /// that can be seen.
    #[must_use]
    pub fn unseen(c: char, letter: usize) -> Option<Self> {
        let kind = unseen_kind(c)?;
        let code = u32::from(c);
        Some(Self {
            letter,
            what: format!(
                "holds U+{code:04X}, {kind}, as letter {letter}, which cannot be written into files"
            ),
            mend: "take it out",
        })
    }
}

/// Holds a text from outside to `most` letters, each of which can be seen.
///
/// # Errors
/// The first letter that cannot, or the first one over.
pub fn sound(text: &str, most: usize) -> Result<(), Unsound> {
    for (i, c) in text.chars().enumerate() {
        if let Some(unsound) = Unsound::unseen(c, i + 1) {
            return Err(unsound);
        }
        if i == most {
            return Err(Unsound {
                letter: i + 1,
                what: format!("has {} letters, and may have {most}", text.chars().count()),
                mend: "shorten it",
            });
        }
    }
    Ok(())
}

/// A text as a message quotes it: what cannot be seen by its number, and no
/// longer than can be read.
#[must_use]
pub fn quoted(text: &str) -> Cow<'_, str> {
    let short = text.len() <= QUOTED || text.chars().nth(QUOTED).is_none();
    if short && !text.chars().any(unseen) {
        return Cow::Borrowed(text);
    }
    let mut out = String::new();
    for (i, c) in text.chars().enumerate() {
        if i == QUOTED {
            out.push_str("...");
            break;
        }
        match c {
            '\n' | '\r' | '\t' => out.push(' '),
            c if unseen(c) => out.push_str(&format!("<U+{:04X}>", u32::from(c))),
            c => out.push(c),
        }
    }
    Cow::Owned(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_any_script_are_sound() {
        for text in [
            "",
            "chain plate",
            "skårrør 3'-2\"",
            "船首",
            "می\u{200C}خواهم",
            "a-b_c;d",
        ] {
            assert_eq!(sound(text, NAME_LETTERS), Ok(()), "{text}");
            assert_eq!(quoted(text), text);
        }
    }

    #[test]
    fn what_cannot_be_seen_is_told_by_its_number_and_place() {
        for c in [
            '\0', '\u{7}', '\u{1B}', '\u{7F}', '\u{85}', '\u{9B}', '\u{200F}', '\u{2028}',
            '\u{202E}', '\u{2066}', '\u{FEFF}', '\u{FFFF}',
        ] {
            let text = format!("ab{c}c");
            let e = sound(&text, NAME_LETTERS).expect_err("refused");
            let code = format!("U+{:04X}", u32::from(c));
            assert!(e.letter == 3 && e.what.contains(&code), "{e:?}");
            assert_eq!(quoted(&text), format!("ab<{code}>c"));
        }
    }

    #[test]
    fn what_cannot_be_seen_is_told_for_what_it_is() {
        for (c, kind) in [
            ('\u{1B}', "U+001B, a control character,"),
            ('\u{9B}', "U+009B, a control character,"),
            ('\u{202E}', "U+202E, a bidirectional control,"),
            ('\u{2028}', "U+2028, a line separator,"),
            ('\u{200B}', "U+200B, a character without width,"),
        ] {
            let e = sound(&c.to_string(), 1).expect_err("refused");
            assert!(e.what.contains(kind), "{e:?}");
        }
        // Every control, as the standard library has them, and nothing twice.
        assert!(
            (0..0x300)
                .filter_map(char::from_u32)
                .all(|c| unseen(c) || !c.is_control())
        );
        assert!(
            UNSEEN
                .windows(2)
                .all(|w| w[0].0 <= w[0].1 && w[0].1 < w[1].0)
        );
    }

    #[test]
    fn a_text_is_as_long_as_its_letters() {
        assert_eq!(sound(&"é".repeat(80), 80), Ok(()));
        let e = sound(&"é".repeat(81), 80).expect_err("refused");
        assert!(e.letter == 81 && e.what.contains("81 letters"), "{e:?}");
        assert_eq!(quoted(&"é".repeat(2000)).chars().count(), 1003);
    }
}
