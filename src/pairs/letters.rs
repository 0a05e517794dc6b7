//! The letters of a drawing: its bytes as text, and text as every reader shows it.

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
}
