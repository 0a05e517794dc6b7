//! The one face of all pages, DejaVu Sans Condensed: its letters and how wide
//! they are.

use std::sync::LazyLock;

use skrifa::charmap::Charmap;
use skrifa::instance::{LocationRef, Size};
use skrifa::metrics::GlyphMetrics;
use skrifa::{FontRef, MetadataProvider};

use crate::drawing::ascii;

/// Height of its capitals over the size of the type: 1493 of 2048 units, by
/// the outline of its H.
pub const CAPITAL: f64 = 1493.0 / 2048.0;

/// What of the face is asked for each letter.
struct Face {
    glyphs: Charmap<'static>,
    /// In sizes of the type.
    metrics: GlyphMetrics<'static>,
}

static FACE: LazyLock<Option<Face>> = LazyLock::new(|| {
    let font = FontRef::new(dejavu::sans_condensed::regular()).ok()?;
    Some(Face {
        glyphs: font.charmap(),
        metrics: font.glyph_metrics(Size::new(1.0), LocationRef::default()),
    })
});

/// A letter of a line of text.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Letter {
    /// The letter.
    pub letter: char,
    /// Its glyph's number in the face.
    pub glyph: u32,
    /// How far the next one stands from it, in sizes of the type.
    pub advance: f32,
}

/// The first letter of scripts that run from the right, or whose letters
/// change with their neighbours; from there on plain letters stand in.
const PLAIN_FROM: char = '\u{590}';

/// The letters of a text as a page shows it: Latin, Greek, Cyrillic and
/// Armenian ones as they are, others by plain letters.
#[must_use]
pub fn letters(text: &str) -> Vec<Letter> {
    let mut out = Vec::with_capacity(text.len());
    for c in text.chars() {
        match letter(c).filter(|_| c < PLAIN_FROM) {
            Some(l) => out.push(l),
            None => out.extend(ascii(&c.to_string()).chars().filter_map(letter)),
        }
    }
    out
}

fn letter(letter: char) -> Option<Letter> {
    let face = FACE.as_ref()?;
    let glyph = face.glyphs.map(letter).filter(|g| g.to_u32() > 0)?;
    Some(Letter {
        letter,
        glyph: glyph.to_u32(),
        advance: face.metrics.advance_width(glyph)?,
    })
}

/// Length of a line of text whose capitals are `height` mm high, mm.
#[must_use]
pub fn words_width(text: &str, height: f64) -> f64 {
    let sizes: f64 = letters(text).iter().map(|l| f64::from(l.advance)).sum();
    sizes * height / CAPITAL
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_face_has_the_height_of_capitals_that_is_told() {
        let font = FontRef::new(dejavu::sans_condensed::regular()).unwrap();
        let glyph = font.charmap().map('H').unwrap();
        let metrics = font.glyph_metrics(Size::unscaled(), LocationRef::default());
        let edge = metrics.bounds(glyph).unwrap();
        assert_eq!((edge.y_min, edge.y_max), (0.0, 1493.0));
    }

    #[test]
    fn letters_that_the_face_has_stay_and_others_are_plain() {
        let shown = |text: &str| letters(text).iter().map(|l| l.letter).collect::<String>();
        assert_eq!(shown("Fishing ø Ω Ж"), "Fishing ø Ω Ж");
        assert_eq!(shown("船"), ascii("船"));
        assert!(shown("\u{5d0}b\t\u{7}").is_ascii());
    }

    #[test]
    fn a_text_is_as_wide_as_its_letters() {
        let wide = words_width("WWW", 3.0);
        assert!((wide - 3.0 * words_width("W", 3.0)).abs() < 1e-6);
        assert!(wide > words_width("iii", 3.0));
        // W of this face: 2025/2048 of a size (the condensed face has 0.9 of it).
        assert!((words_width("W", CAPITAL) - 0.89).abs() < 0.01);
    }
}
