//! Single-stroke letters for the marker: tables ignore text, so the part's
//! name and the fitter's words are drawn as lines.
//!
//! The letters are our own: drawn on a grid four units wide and six high,
//! corners cut so that no stroke turns back on itself. Zero carries a slash
//! and one a foot, so that neither is read as a letter. Lower case is drawn
//! as capitals; a character without a design is a crossed box, which a
//! person sees at once.

use super::vector::{Vec2, vec2};

/// Grid units in the height of a capital.
const GRID: f64 = 6.0;
/// Grid units between letters.
const GAP: f64 = 2.0;
/// Width of a space, grid units.
const SPACE: f64 = 2.0;
/// What stands for a character without a design.
const UNKNOWN: &str = "00 06 46 40 00;00 46";

/// Strokes of a character: points `xy` on the grid, strokes parted by `;`.
/// `None` for a space.
fn design(c: char) -> Option<&'static str> {
    Some(match c.to_ascii_uppercase() {
        ' ' => return None,
        'A' => "00 04 26 44 40;02 42",
        'B' => "03 33 44 45 36 06 00 30 41 42 33",
        'C' => "45 36 16 05 01 10 30 41",
        'D' => "00 06 26 44 42 20 00",
        'E' => "46 06 00 40;03 33",
        'F' => "46 06 00;03 33",
        'G' => "45 36 16 05 01 10 30 41 43 23",
        'H' => "00 06;40 46;03 43",
        'I' => "00 20;06 26;10 16",
        'J' => "46 41 30 10 01",
        'K' => "00 06;46 03 40",
        'L' => "06 00 40",
        'M' => "00 06 23 46 40",
        'N' => "00 06 40 46",
        'O' => "10 01 05 16 36 45 41 30 10",
        'P' => "00 06 36 45 44 33 03",
        'Q' => "10 01 05 16 36 45 41 30 10;22 40",
        'R' => "00 06 36 45 44 33 03;23 40",
        'S' => "45 36 16 05 04 13 33 42 41 30 10 01",
        'T' => "06 46;26 20",
        'U' => "06 01 10 30 41 46",
        'V' => "06 20 46",
        'W' => "06 10 24 30 46",
        'X' => "00 46;06 40",
        'Y' => "06 23 46;23 20",
        'Z' => "06 46 00 40",
        '0' => "10 01 05 16 36 45 41 30 10;12 34",
        '1' => "05 16 10;00 20",
        '2' => "05 16 36 45 44 00 40",
        '3' => "05 16 36 45 44 33 42 41 30 10 01;13 33",
        '4' => "30 36 02 42",
        '5' => "46 06 04 34 43 41 30 10 01",
        '6' => "45 36 16 05 01 10 30 41 42 33 03",
        '7' => "06 46 20",
        '8' => "13 04 05 16 36 45 44 33 13 02 01 10 30 41 42 33",
        '9' => "01 10 30 41 45 36 16 05 04 13 43",
        '-' => "03 33",
        '.' => "00 01 11 10 00",
        ',' => "11 00",
        '/' => "00 46",
        '+' => "03 43;21 25",
        '\'' => "06 04",
        '"' => "06 04;16 14",
        ':' => "01 02;04 05",
        '(' => "16 04 02 10",
        ')' => "06 14 12 00",
        '#' => "10 16;30 36;02 42;04 44",
        '=' => "02 42;04 44",
        '_' => "00 40",
        '?' => "05 16 36 45 44 23 22;21 20",
        _ => UNKNOWN,
    })
}

fn points(stroke: &str) -> impl Iterator<Item = Vec2> + '_ {
    stroke.split(' ').map(|p| {
        let mut digits = p.bytes().map(|b| f64::from(b.saturating_sub(b'0')));
        let x = digits.next().unwrap_or(0.0);
        vec2(x, digits.next().unwrap_or(0.0))
    })
}

/// Width of a character in grid units.
fn advance(c: char) -> f64 {
    design(c).map_or(SPACE, |d| {
        d.split(';')
            .flat_map(points)
            .fold(0.0, |w: f64, p| w.max(p.x))
    })
}

/// Width of a line of letters one unit high.
#[must_use]
pub fn width(text: &str) -> f64 {
    let mut w = -GAP;
    for c in text.chars() {
        w += advance(c) + GAP;
    }
    w.max(0.0) / GRID
}

/// Strokes of a line of letters one unit high, its lower left corner at the
/// origin, reading along x.
#[must_use]
pub fn strokes(text: &str) -> Vec<Vec<Vec2>> {
    let mut out = Vec::new();
    let mut x = 0.0;
    for c in text.chars() {
        if let Some(d) = design(c) {
            for stroke in d.split(';') {
                let at = |p: Vec2| (p + vec2(x, 0.0)) * (1.0 / GRID);
                out.push(points(stroke).map(at).collect());
            }
        }
        x += advance(c) + GAP;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    const DRAWN: &str = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-.,/+'\":()#=_?";

    #[test]
    fn every_letter_fills_its_box_and_no_two_are_alike() {
        let mut seen = Vec::new();
        for c in DRAWN.chars() {
            let s = strokes(&c.to_string());
            let all: Vec<Vec2> = s.iter().flatten().copied().collect();
            let w = width(&c.to_string());
            assert!(s.iter().all(|k| k.len() >= 2), "{c}");
            assert!(
                all.iter()
                    .all(|p| (0.0..=w).contains(&p.x) && (0.0..=1.0).contains(&p.y)),
                "{c}"
            );
            if c.is_ascii_alphanumeric() {
                let top = all.iter().fold(0.0, |m: f64, p| m.max(p.y));
                let low = all.iter().fold(1.0, |m: f64, p| m.min(p.y));
                assert!(top > 0.999 && low < 0.001, "{c} is not a full capital");
            }
            assert!(!seen.contains(&s), "{c} is drawn like another letter");
            seen.push(s);
        }
    }

    #[test]
    fn widths_add_up_and_letters_follow_each_other() {
        // Two H of 4 units and a gap of 2, six units high.
        assert!((width("HH") - 10.0 / 6.0).abs() < 1e-12);
        // A space is 2 units with a gap on both sides.
        assert!((width("H H") - 14.0 / 6.0).abs() < 1e-12);
        assert!(width("").abs() < 1e-12);
        let s = strokes("HH");
        assert_eq!(s.len(), 6);
        assert!(
            (s[3][0].x - 1.0).abs() < 1e-12,
            "second H starts at 6 units"
        );
        assert!(strokes(" ").is_empty());
        assert_eq!(strokes("b"), strokes("B"));
    }

    #[test]
    fn an_unknown_character_is_a_box_that_is_seen() {
        let s = strokes("\u{e9}");
        assert_eq!(s.len(), 2);
        assert_eq!(s[0].len(), 5);
        assert_eq!(s[0][0], s[0][4]);
    }
}
