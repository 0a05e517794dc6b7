//! Slips of the pen and of the eye that explain a figure.

use crate::length::{FOOT, INCH, Unit, booked, parse_cell};

/// A slip that explains a figure.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Slip {
    /// What the figure was before it, mm.
    pub(super) meant: f64,
    /// In words.
    pub(super) words: String,
}

/// A figure in doubt.
#[derive(Debug, Clone, Copy)]
pub(super) struct Figure {
    /// As booked, mm.
    pub(super) booked: f64,
    /// What its neighbours say, mm.
    pub(super) likely: f64,
    /// Furthest from that which agrees with the neighbours, mm.
    pub(super) within: f64,
    /// Ends of what it can be, mm.
    pub(super) range: [f64; 2],
    /// Booked in the rows before and after, mm.
    pub(super) near: [Option<f64>; 2],
}

/// How far two figures may differ and be the same, mm: rounding of metres to five decimals.
const SAME: f64 = 0.02;

/// The plainest slip whose figure agrees with the neighbours. The plainer kinds come
/// first; among one kind the nearest.
pub(super) fn explain(figure: &Figure, unit: Unit) -> Option<Slip> {
    let text = booked(figure.booked, unit);
    let kinds: [&dyn Fn() -> Vec<Slip>; 6] = [
        &|| whole(figure, unit),
        &|| signs(figure),
        &|| swaps(&text, unit),
        &|| fields(&text, unit),
        &|| digits(&text, unit),
        &|| points(&text, unit),
    ];
    let [least, most] = [
        figure.range[0].min(figure.range[1]),
        figure.range[0].max(figure.range[1]),
    ];
    let fits = |s: &Slip| {
        s.meant >= least
            && s.meant <= most
            && (s.meant - figure.likely).abs() <= figure.within
            && (s.meant - figure.booked).abs() > figure.within
    };
    let nearest = |slips: Vec<Slip>| {
        let off = |s: &Slip| (s.meant - figure.likely).abs();
        let mut fit: Vec<Slip> = slips.into_iter().filter(fits).collect();
        fit.sort_by(|a, b| off(a).total_cmp(&off(b)));
        fit.into_iter().next()
    };
    let found = kinds.iter().find_map(|k| nearest(k()));
    found.or_else(|| repeated(figure))
}

/// A foot or some inches misread, or a round metric amount.
fn whole(figure: &Figure, unit: Unit) -> Vec<Slip> {
    let mut amounts: Vec<(f64, String)> = vec![(FOOT, "a foot".to_owned())];
    for inches in 1..12 {
        let name = if inches == 1 {
            "an inch".to_owned()
        } else {
            format!("{inches} inches")
        };
        amounts.push((f64::from(inches) * INCH, name));
    }
    if matches!(unit, Unit::Mm | Unit::M) {
        amounts.clear();
        for (mm, name) in [(10.0, "10 mm"), (100.0, "100 mm"), (1000.0, "a metre")] {
            amounts.push((mm, name.to_owned()));
        }
        amounts.push((INCH, "an inch".to_owned()));
        amounts.push((FOOT, "a foot".to_owned()));
    }
    let mut out = Vec::new();
    for (mm, name) in amounts {
        for (sign, word) in [(1.0, "too little"), (-1.0, "too much")] {
            out.push(Slip {
                meant: figure.booked + sign * mm,
                words: format!("{name} {word}"),
            });
        }
    }
    out
}

fn signs(figure: &Figure) -> Vec<Slip> {
    vec![Slip {
        meant: -figure.booked,
        words: "the sign is wrong".to_owned(),
    }]
}

/// A figure's text after a change, read again.
fn read(letters: &[char], unit: Unit, words: String) -> Option<Slip> {
    let text: String = letters.iter().collect();
    let meant = parse_cell(&text, unit).ok()?;
    Some(Slip { meant, words })
}

/// Two neighbouring digits swapped, across a dash or point as well.
fn swaps(text: &str, unit: Unit) -> Vec<Slip> {
    let letters: Vec<char> = text.chars().collect();
    let digits: Vec<usize> = places(&letters);
    let mut out = Vec::new();
    for w in digits.windows(2) {
        if w[1] - w[0] > 2 || letters[w[0]] == letters[w[1]] {
            continue;
        }
        let mut changed = letters.clone();
        changed.swap(w[0], w[1]);
        let words = format!("the digits {} and {} swapped", letters[w[0]], letters[w[1]]);
        out.extend(read(&changed, unit, words));
    }
    out
}

fn places(letters: &[char]) -> Vec<usize> {
    let digit = |(i, c): (usize, &char)| c.is_ascii_digit().then_some(i);
    letters.iter().enumerate().filter_map(digit).collect()
}

/// One digit misread: in feet-inches-eighths mostly a wrong eighth.
fn digits(text: &str, unit: Unit) -> Vec<Slip> {
    let letters: Vec<char> = text.chars().collect();
    let mut out = Vec::new();
    for i in places(&letters) {
        for digit in '0'..='9' {
            if digit == letters[i] {
                continue;
            }
            let mut changed = letters.clone();
            changed[i] = digit;
            let words = format!("a {} misread for a {digit}", letters[i]);
            out.extend(read(&changed, unit, words));
        }
    }
    out
}

/// Feet, inches and eighths in each other's place.
fn fields(text: &str, unit: Unit) -> Vec<Slip> {
    if unit != Unit::FeetInchesEighths {
        return Vec::new();
    }
    let parts: Vec<&str> = text.trim_end_matches('+').split('-').collect();
    let [feet, inches, eighths] = parts[..] else {
        return Vec::new();
    };
    let teens = |i: &str| match i {
        "0" => Some("10"),
        "1" => Some("11"),
        "10" => Some("0"),
        "11" => Some("1"),
        _ => None,
    };
    let mut ways = vec![
        (inches, feet, eighths, "feet and inches swapped"),
        (feet, eighths, inches, "inches and eighths swapped"),
        ("0", feet, inches, "inches booked as feet"),
        (inches, eighths, "0", "feet booked as inches"),
    ];
    if let Some(other) = teens(inches) {
        ways.push((feet, other, eighths, "a 1 of the inches lost or doubled"));
    }
    let mut out = Vec::new();
    for (f, i, e, words) in ways {
        let text: Vec<char> = format!("{f}-{i}-{e}").chars().collect();
        out.extend(read(&text, unit, words.to_owned()));
    }
    out
}

/// The decimal point a place out.
fn points(text: &str, unit: Unit) -> Vec<Slip> {
    if matches!(unit, Unit::FeetInches | Unit::FeetInchesEighths) {
        return Vec::new();
    }
    let Ok(mm) = parse_cell(text, unit) else {
        return Vec::new();
    };
    [10.0, 0.1, 100.0, 0.01]
        .map(|f| Slip {
            meant: mm * f,
            words: "the decimal point in the wrong place".to_owned(),
        })
        .to_vec()
}

/// The figure of the row before or after booked again.
fn repeated(figure: &Figure) -> Option<Slip> {
    let words = [
        "the figure of the row before",
        "the figure of the row after",
    ];
    let near = figure.near.iter().zip(words);
    near.filter(|(n, _)| n.is_some_and(|n| (n - figure.booked).abs() <= SAME))
        .map(|(_, words)| Slip {
            meant: figure.likely,
            words: format!("{words} booked here"),
        })
        .next()
}
