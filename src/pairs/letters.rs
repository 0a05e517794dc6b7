//! The bytes of a drawing as text.

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
