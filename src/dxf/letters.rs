//! The letters of a drawing: its bytes as text, and text as every reader shows it.

use std::borrow::Cow;

/// Windows-1252 from 0x80 to 0x9F (WHATWG Encoding Standard, index
/// windows-1252); the rest of it is Latin-1.
const UPPER: [char; 32] = [
    '\u{20AC}', '\u{81}', '\u{201A}', '\u{192}', '\u{201E}', '\u{2026}', '\u{2020}', '\u{2021}',
    '\u{2C6}', '\u{2030}', '\u{160}', '\u{2039}', '\u{152}', '\u{8D}', '\u{17D}', '\u{8F}',
    '\u{90}', '\u{2018}', '\u{2019}', '\u{201C}', '\u{201D}', '\u{2022}', '\u{2013}', '\u{2014}',
    '\u{2DC}', '\u{2122}', '\u{161}', '\u{203A}', '\u{153}', '\u{9D}', '\u{17E}', '\u{178}',
];

/// The text of a drawing's bytes. Drawings before R2007 are in a code page of
/// the machine that wrote them: what is no UTF-8 is read as Windows-1252.
/// Figures and codes are ASCII in every page, so that at worst a letter of a
/// name comes out wrong.
#[must_use]
pub fn drawing_text(bytes: Vec<u8>) -> String {
    String::from_utf8(bytes).unwrap_or_else(|e| {
        let letter = |&b: &u8| match b {
            0x80..=0x9F => UPPER[usize::from(b - 0x80)],
            _ => char::from(b),
        };
        e.as_bytes().iter().map(letter).collect()
    })
}

/// A text whose letters beyond ASCII may be written `\U+00E9`.
pub(super) fn unescaped(text: &str) -> Cow<'_, str> {
    let mut parts = text.split("\\U+");
    let mut out = Cow::Borrowed(parts.next().unwrap_or_default());
    for part in parts {
        let code = part
            .get(..4)
            .and_then(|hex| u32::from_str_radix(hex, 16).ok());
        match (code.and_then(char::from_u32), part.get(4..)) {
            (Some(c), Some(rest)) => {
                out.to_mut().push(c);
                out += rest;
            }
            _ => {
                out += "\\U+";
                out += part;
            }
        }
    }
    out
}

/// Text that every reader of old formats can show: ASCII, no control
/// characters. A letter outside it is written by the plain ones nearest to it,
/// `a` for `å`, `oe` for `œ`; one that has none becomes a question mark.
#[must_use]
pub fn ascii(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        let fraction = matches!(c, '\u{bc}'..='\u{be}' | '\u{2150}'..='\u{215e}');
        match c {
            ' '..='~' => out.push(c),
            '\u{d7}' => out.push('x'),
            '\u{b0}' => out.push_str(" deg"),
            '\u{2212}' => out.push('-'),
            '\u{2033}' => out.push('"'),
            c if c.is_control() => out.push(' '),
            c => {
                // 4 1/2, not 41/2.
                if fraction && out.ends_with(|d: char| d.is_ascii_digit()) {
                    out.push(' ');
                }
                let plain = deunicode::deunicode_char(c).unwrap_or("?");
                let plain = if fraction { plain.trim() } else { plain };
                out.extend(plain.chars().filter(|p| (' '..='~').contains(p)));
            }
        }
    }
    out
}

/// Words that stay on a line: a figure with the word before it and its unit.
fn together(text: &str, most: usize) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let figure = |w: &str| w.starts_with(|c: char| c.is_ascii_digit());
        let bare = |w: &str| figure(w) && w.ends_with(|c: char| c.is_ascii_digit() || c == '"');
        let unit = word.len() <= 3 && word.starts_with(|c: char| c.is_ascii_alphabetic());
        let joins = |before: &str| {
            let last = before.rsplit(' ').next().unwrap_or_default();
            let open = !last.ends_with([',', ':', ';', '.']);
            let of = (open && (figure(word) || word == "x")) || (bare(last) && unit);
            of && before.len() + 1 + word.len() <= most
        };
        match out.last_mut() {
            Some(before) if joins(before) => {
                before.push(' ');
                before.push_str(word);
            }
            _ => out.push(word.to_owned()),
        }
    }
    out
}

/// An ASCII text broken at spaces into lines of at most `most` letters, figures kept
/// with their words; a longer word is broken where it must be.
#[must_use]
pub fn wrapped(text: &str, most: usize) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in &together(text, most) {
        let mut word = word.as_str();
        if !line.is_empty() && line.len() + 1 + word.len() > most {
            lines.push(std::mem::take(&mut line));
        }
        while word.len() > most {
            let (head, tail) = word.split_at(most);
            lines.push(head.to_owned());
            word = tail;
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, plain: &str) {
        assert_eq!(ascii(text), plain);
    }

    #[test]
    fn text_comes_out_as_ascii() {
        check("5 \u{d7} 12\u{b0}\n", "5 x 12 deg ");
        check("Bjørn Ås, Straße æéöł", "Bjorn As, Strasse aeeol");
        check(
            "4\u{bd} \u{215e} 2\u{2032} 3\u{2033} \u{2013} \u{2212}1",
            "4 1/2 7/8 2' 3\" - -1",
        );
        check("\u{e000}", "?");
    }

    #[test]
    fn long_texts_are_broken_at_spaces() {
        assert_eq!(wrapped("aa bb cc", 5), ["aa bb", "cc"]);
        assert_eq!(wrapped("abcdefg h", 3), ["abc", "def", "g h"]);
        assert!(wrapped("", 5).is_empty());
    }

    #[test]
    fn a_line_does_not_break_before_a_figure_or_its_unit() {
        let text = "waterjet: kerf 1.0 mm, gap 6.0 mm, margin 10.0 mm; B8 x 1, T10 x 12";
        for most in 16..70 {
            let lines = wrapped(text, most);
            assert_eq!(lines.join(" "), text);
            for line in &lines {
                assert!(line.len() <= most, "{line}");
                for cut in ["mm", "x", "1", "6", "12"] {
                    assert!(!line.starts_with(cut), "{most}: {line}");
                }
                assert!(!line.ends_with("margin") && !line.ends_with(" x"), "{line}");
            }
        }
        assert_eq!(wrapped("a 123456789 b", 4), ["a", "1234", "5678", "9 b"]);
    }
}
