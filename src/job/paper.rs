//! The shop's paper: named sizes, rolls, or any width and length.

use super::key_kind::{
    Absent::*,
    Key,
    Quantity::{Text, Texts},
    key, length as mm,
};
use super::table::Table;
use crate::fault::Kind;
use crate::length::{INCH, Show, parse, told};
use crate::stock::nearest;

/// Paper, as it goes through the printer: the width across the feed.
#[derive(Debug, Clone, PartialEq)]
pub struct Paper {
    /// As people say it, such as `A4` or `36 in roll`.
    pub name: String,
    /// Across the feed, mm.
    pub width: f64,
    /// Along the feed, mm; of a roll the longest page.
    pub length: f64,
    /// It is cut off a roll where a page ends.
    pub roll: bool,
    /// What the printer leaves free along each edge, mm.
    pub margin: f64,
    /// What neighbouring pages both show, mm.
    pub overlap: f64,
}

/// Why there is no such paper, and which key says so.
#[derive(Debug, Clone, PartialEq)]
pub struct NoPaper {
    /// `size`, `margin` or `overlap`.
    pub key: &'static str,
    /// Kind of fault.
    pub kind: Kind,
    /// One sentence.
    pub what: String,
    /// One sentence.
    pub mend: String,
}

/// Sheets, width by length, mm. A: ISO 216. Letter, Legal, Tabloid: ANSI/ASME
/// Y14.1 A and B, and common practice for Legal; ARCH: common practice. All
/// from memory.
const SHEETS: [(&str, f64, f64); 11] = [
    ("A4", 210.0, 297.0),
    ("A3", 297.0, 420.0),
    ("A2", 420.0, 594.0),
    ("A1", 594.0, 841.0),
    ("A0", 841.0, 1189.0),
    ("Letter", 8.5 * INCH, 11.0 * INCH),
    ("Legal", 8.5 * INCH, 14.0 * INCH),
    ("Tabloid", 11.0 * INCH, 17.0 * INCH),
    ("ARCH C", 18.0 * INCH, 24.0 * INCH),
    ("ARCH D", 24.0 * INCH, 36.0 * INCH),
    ("ARCH E", 36.0 * INCH, 48.0 * INCH),
];
/// Rolls as they are sold: common practice, no source.
const ROLLS: [&str; 7] = [
    "24 in roll",
    "30 in roll",
    "36 in roll",
    "42 in roll",
    "610 mm roll",
    "914 mm roll",
    "1067 mm roll",
];
/// Longest page, mm: 14,400 points, which a PDF's page cannot exceed without a
/// unit of its own (ISO 32000-1, annex C), that common programs ignore.
const LONGEST: f64 = 5080.0;
/// Narrowest roll, mm: narrower there is no room for crosses and a name.
const NARROWEST: f64 = 50.0;
/// Least printable side, mm: room for crosses, a name and part of a pattern.
const LEAST_PRINTABLE: f64 = 40.0;
/// Least overlap, mm: a cross of two arms stands in it.
const LEAST_OVERLAP: f64 = 6.0;

impl NoPaper {
    fn size(kind: Kind, what: String, mend: impl Into<String>) -> Self {
        let mend = mend.into();
        Self {
            key: "size",
            kind,
            what,
            mend,
        }
    }
}

impl Paper {
    /// Paper by its size in words: a name, a roll (`36 in roll`), or width and
    /// length (`300 x 450 mm`), with margins and overlap, mm. `show` is how
    /// faults tell lengths.
    ///
    /// # Errors
    /// An unknown name, with the nearest known one; a roll narrower than 50 mm
    /// or a page longer than 5,080 mm; margins that leave nothing to print on;
    /// an overlap that leaves no page.
    pub fn of(size: &str, margin: f64, overlap: f64, show: Show) -> Result<Self, NoPaper> {
        let (name, width, length, roll) = sized(size)?;
        let paper = Self {
            name,
            width,
            length,
            roll,
            margin,
            overlap,
        };
        paper.checked(show)
    }

    /// What a desk printer takes where lengths are told so: A4 or Letter.
    #[must_use]
    pub fn usual(show: Show) -> Self {
        Self::sheet(match show {
            Show::Mm => SHEETS[0],
            Show::FeetInches => SHEETS[5],
        })
    }

    fn sheet((name, width, length): (&str, f64, f64)) -> Self {
        Self {
            name: name.to_owned(),
            width,
            length,
            roll: false,
            margin: 10.0,
            overlap: 10.0,
        }
    }

    /// What floor sheets are printed on where lengths are told so: A3, or ANSI
    /// B, 11 x 17 in.
    #[must_use]
    pub fn floor(show: Show) -> Self {
        Self::sheet(match show {
            Show::Mm => SHEETS[1],
            Show::FeetInches => SHEETS[7],
        })
    }

    /// The same paper, where a floor sheet finds room on it.
    ///
    /// # Errors
    /// A roll, or a sheet smaller than both A3 and 11 x 17 in.
    pub fn for_floor(self, show: Show) -> Result<Self, NoPaper> {
        let (short, long) = (self.width.min(self.length), self.width.max(self.length));
        let (least_short, least_long) = (11.0 * INCH, 420.0);
        if !self.roll && short >= least_short - 0.5 && long >= least_long - 0.5 {
            return Ok(self);
        }
        let what = match self.roll {
            true => format!(
                "floor sheets are not printed on a roll, such as \"{}\"",
                self.name
            ),
            false => format!("\"{}\" is too small for floor sheets", self.name),
        };
        let (short, long) = (told(least_short, show), told(least_long, show));
        let mend =
            format!("give a sheet of at least {short} by {long}, such as \"A3\" or \"Tabloid\"");
        Err(NoPaper::size(Kind::Range, what, mend))
    }

    fn checked(self, show: Show) -> Result<Self, NoPaper> {
        let told = |mm: f64| told(mm, show);
        let range = |key, what: String, mend: String| {
            let kind = Kind::Range;
            Err(NoPaper {
                key,
                kind,
                what,
                mend,
            })
        };
        let (w, l) = (self.width, self.length);
        if self.roll && w < NARROWEST {
            let what = format!("the roll is {} wide", told(w));
            let mend = format!("a roll is at least {} wide", told(NARROWEST));
            return range("size", what, mend);
        }
        if w.max(l) > LONGEST {
            let what = format!("the paper is {} by {}", told(w), told(l));
            let mend = format!("a page is at most {} long and wide", told(LONGEST));
            return range("size", what, mend);
        }
        if self.margin.is_nan() || self.margin < 0.0 {
            let what = format!("a margin is {}", told(self.margin));
            return range("margin", what, "a margin is not below 0".to_owned());
        }
        let least = w.min(l) - 2.0 * self.margin;
        if least < LEAST_PRINTABLE {
            let [margin, wide, long] = [self.margin, w, l].map(told);
            let left = told(least.max(0.0));
            let what = format!(
                "with a margin of {margin} paper of {wide} by {long} leaves {left} to print on"
            );
            let room = told(LEAST_PRINTABLE);
            let mend = format!("leave at least {room} between the margins, or take larger paper");
            return range("margin", what, mend);
        }
        let most = least / 2.0;
        if !(self.overlap >= LEAST_OVERLAP && self.overlap <= most) {
            let what = format!("the overlap is {}", told(self.overlap));
            let (least, most) = (told(LEAST_OVERLAP), told(most));
            let mend = format!("make it from {least} to half of what is printable across, {most}");
            return range("overlap", what, mend);
        }
        Ok(self)
    }

    /// Every named size and roll.
    pub fn names() -> impl Iterator<Item = &'static str> {
        SHEETS.iter().map(|s| s.0).chain(ROLLS)
    }
}

/// Name, width, length and whether it is a roll, of a size in words.
fn sized(text: &str) -> Result<(String, f64, f64, bool), NoPaper> {
    let plain = |t: &str| {
        let kept = t.chars().filter(|c| !c.is_whitespace() && *c != '-');
        kept.collect::<String>().to_lowercase()
    };
    let given = plain(text);
    if let Some((name, w, l)) = SHEETS.iter().find(|s| plain(s.0) == given) {
        return Ok(((*name).to_owned(), *w, *l, false));
    }
    let lower = text.trim().to_lowercase();
    if let Some(width) = lower.strip_suffix("roll") {
        let width = width.trim().trim_end_matches('-').trim();
        let mm = length(width)?;
        return Ok((format!("{width} roll"), mm, LONGEST, true));
    }
    let cut = lower.split_once(['x', '\u{d7}']);
    if let Some((w, l)) = cut.map(|(w, l)| (w.trim(), l.trim())) {
        let long = length(l)?;
        // `300 x 450 mm`: one unit for both.
        let unit = l.trim_start_matches(|c: char| !c.is_alphabetic() && c != '\'' && c != '"');
        let wide = length(w).or_else(|e| length(&format!("{w} {unit}")).map_err(|_| e))?;
        return Ok((format!("{w} x {l}"), wide, long, false));
    }
    // A width alone is that of a roll.
    let near = match parse(text) {
        Ok(mm) if mm > 0.0 => format!("{} roll", text.trim()),
        _ => nearest(text, Paper::names()).unwrap_or_default().to_owned(),
    };
    let all: Vec<&str> = Paper::names().collect();
    let what = format!("there is no paper \"{}\"", text.trim());
    let mend = format!(
        "did you mean \"{near}\"? It may be {}, another roll, or a width and length such as \"300 x 450 mm\"",
        all.join(", ")
    );
    Err(NoPaper::size(Kind::Unknown, what, mend))
}

/// A length above nought of a size.
fn length(text: &str) -> Result<f64, NoPaper> {
    match parse(text) {
        Ok(mm) if mm > 0.0 => Ok(mm),
        Ok(_) => Err(NoPaper::size(
            Kind::Range,
            format!("`{text}` is no side of a paper"),
            "give a length above nought",
        )),
        Err(e) => Err(NoPaper::size(e.kind, e.what, e.mend)),
    }
}

/// An option of the command wins over each.
#[rustfmt::skip] // A key a line or two.
pub(super) const PAPER: &[Key] = &[
    key("size", Text, Else("`A4`; `Letter` where `show` is `feet-inches`"),
        "`A4` to `A0`, `Letter`, `Legal`, `Tabloid`, `ARCH C` to `ARCH E`, a roll by its width such as `36 in roll`, or a width across the feed and a length along it such as `300 x 450 mm`"),
    key("margin", mm(0.0, 200.0), Is("10 mm"), "what the printer leaves free along each edge"),
    key("overlap", mm(6.0, 200.0), Is("10 mm"), "what neighbouring pages both show"),
    key("floor_sheets", Text, Else("`A3`; `Tabloid` where `show` is `feet-inches`"),
        "what floor sheets are printed on, the long side across: a size as above but no roll, at least as large as `Tabloid` or `A3`"),
    key("sections", Texts, Else("none"), "stanchions at which floor sheets show a section beside those that the tool chooses, such as `[\"12P\"]`"),
];

/// What floor sheets are printed on.
pub(super) fn floor_paper(t: &Table<'_, '_>) -> Paper {
    let show = t.reader.show.get();
    let usual = Paper::floor(show);
    let Some(size) = t.text("floor_sheets") else {
        return usual;
    };
    let asked = Paper::of(&size, usual.margin, usual.overlap, show);
    asked.and_then(|p| p.for_floor(show)).unwrap_or_else(|e| {
        t.fault(e.kind, "floor_sheets", e.what, e.mend);
        usual
    })
}

/// The shop's paper.
pub(super) fn paper(t: &Table<'_, '_>) -> Paper {
    let show = t.reader.show.get();
    let usual = Paper::usual(show);
    let size = t.text("size");
    let (margin, overlap) = (t.figure("margin"), t.figure("overlap"));
    let asked = size.as_deref().unwrap_or(&usual.name);
    Paper::of(asked, margin, overlap, show).unwrap_or_else(|e| {
        // A figure at fault was told when it was read.
        if !t.faulty(e.key) {
            t.fault(e.kind, e.key, e.what, e.mend);
        }
        usual
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(size: &str) -> Result<Paper, NoPaper> {
        Paper::of(size, 10.0, 10.0, Show::Mm)
    }

    #[test]
    fn every_name_is_a_paper_in_any_writing() {
        for name in Paper::names() {
            let paper = of(name).unwrap();
            assert_eq!(paper.name, name);
            let (low, close) = (name.to_lowercase(), name.replace(' ', ""));
            assert_eq!(of(&low).unwrap(), paper);
            assert!((of(&close).unwrap().width - paper.width).abs() < 1e-9);
        }
        let roll = of("36 in roll").unwrap();
        assert!((roll.width - 914.4).abs() < 1e-9 && roll.roll);
        assert!((roll.length - LONGEST).abs() < 1e-9);
    }

    #[test]
    fn any_width_and_length_may_be_given_with_one_unit_or_two() {
        for text in [
            "300 x 450 mm",
            "300mm x 450mm",
            "300 mm\u{d7}45 cm",
            "30 cm X 450 mm",
        ] {
            let p = of(text).unwrap();
            assert!(
                (p.width - 300.0).abs() < 1e-9 && (p.length - 450.0).abs() < 1e-9,
                "{text}"
            );
        }
        assert!((of("12 x 18 1/2 in").unwrap().width - 304.8).abs() < 1e-9);
    }

    #[test]
    fn what_is_no_paper_is_refused_with_its_key() {
        let key = |size: &str, margin: f64, overlap: f64| {
            let e = Paper::of(size, margin, overlap, Show::Mm).unwrap_err();
            (e.key, e.kind)
        };
        assert_eq!(key("A44", 10.0, 10.0), ("size", Kind::Unknown));
        assert!(of("Leter").unwrap_err().mend.contains("\"Letter\"?"));
        assert_eq!(key("45 mm roll", 1.0, 6.0), ("size", Kind::Range));
        assert_eq!(key("36 roll", 10.0, 10.0), ("size", Kind::Unit));
        assert_eq!(key("0 mm x 1 m", 10.0, 10.0), ("size", Kind::Range));
        assert_eq!(key("1 m x 6 m", 10.0, 10.0), ("size", Kind::Range));
        assert_eq!(key("A4", 105.0, 10.0), ("margin", Kind::Range));
        assert_eq!(key("A4", -1.0, 10.0), ("margin", Kind::Range));
        assert_eq!(key("A4", f64::NAN, 10.0), ("margin", Kind::Range));
        assert_eq!(key("A4", 10.0, 96.0), ("overlap", Kind::Range));
        assert_eq!(key("A4", 10.0, 5.0), ("overlap", Kind::Range));
    }
}
