//! Patterns as a packet of pages, and the test page.

use kurbo::Point;
use rayon::prelude::*;

use super::front::Front;
use super::marks::{SMALL, bar, upwards};
use super::model::{Block, Packet, Page, Role};
use super::print::Print;
use super::tile::{Pattern, Tiles, moved, paragraph, tiles};
use crate::drawing::Shows;
use crate::geom::vec2;
use crate::length::{INCH, Show, trimmed};

/// What a packet is of.
#[derive(Debug, Clone)]
pub struct Patterns<'a> {
    /// Name of the work.
    pub job: &'a str,
    /// The job's date; may be empty.
    pub date: &'a str,
    /// Said of a survey with doubtful figures.
    pub notice: Option<&'a str>,
    /// How lengths are told.
    pub show: Show,
    /// What is shown of the parts.
    pub shows: Shows,
    /// In order.
    pub patterns: &'a [Pattern],
}

/// First sheets, then the pages of every pattern that has ink.
#[must_use]
pub fn packet(of: &Patterns<'_>, print: &Print) -> Packet {
    let heading = match of.date {
        "" => of.job.to_owned(),
        date => format!("{}, {date}", of.job),
    };
    let made: Vec<Option<Tiles>> = (of.patterns.par_iter())
        .map(|p| tiles(p, print, &heading))
        .collect();
    let laid: Vec<(&Pattern, Tiles)> = (of.patterns.iter().zip(made))
        .filter_map(|(p, t)| Some((p, t?)))
        .collect();
    let front = Front {
        heading: &heading,
        notice: of.notice,
        print,
        show: of.show,
        shows: of.shows,
        patterns: &laid,
    };
    let mut pages = front.pages();
    for (pattern, tiles) in laid {
        for (k, mut page) in tiles.pages.into_iter().enumerate() {
            if k == 0 {
                page.bookmarks.push((0, pattern.name.clone()));
            }
            page.bookmarks.push((1, page.label.clone()));
            pages.push(page);
        }
    }
    let what = match of.patterns {
        [one] if one.shares.is_empty() => format!("pattern of {}", one.name),
        _ => "patterns".to_owned(),
    };
    let face = match of.shows {
        Shows::OtherFace => ", other face",
        _ => "",
    };
    Packet {
        title: format!("{}: {what} at full size{face}", of.job),
        date: of.date.to_owned(),
        pages,
    }
}

/// Longest test page off a roll, mm.
const TEST_ROLL: f64 = 1000.0;
/// What the bars across a test page take of its foot, and those up it of its
/// left, mm.
const FOOT: f64 = 20.0;
const LEFT: f64 = 17.0;

/// A page of bars as long as the paper allows, across and along the feed.
/// Nothing of it is corrected.
#[must_use]
pub fn test_page(job: &str, date: &str, show: Show, print: &Print) -> Packet {
    let plain = Print {
        paper: print.paper.clone(),
        scale: (1.0, 1.0),
    };
    let whole = plain.printable();
    let height = match plain.paper.roll {
        true => TEST_ROLL.min(whole.height),
        false => whole.height,
    };
    let mut ink = Vec::new();
    let mut up = Vec::new();
    for (k, unit) in [Unit::Mm, Unit::Inch].into_iter().enumerate() {
        let off = 2.5 + 8.0 * k as f64;
        let (length, name) = unit.longest(whole.width - 1.0);
        ink.extend(bar(vec2(0.5, off), length, &name));
        // Those up the page begin above those across it.
        let (length, name) = unit.longest(height - FOOT - 1.0);
        let across = bar(vec2(0.0, 0.0), length, &name);
        up.extend(moved(&upwards(&across, 0.0), Point::new(off + 4.0, FOOT)));
    }
    let lines = words(job, date, show, whole.width - LEFT - 1.0);
    let (text, size) = paragraph(&lines);
    let at = Point::new(LEFT, height - size.height - 2.0);
    let blocks = vec![
        Block::new(Role::Words, moved(&text, at)),
        Block::new(Role::Furniture, [ink, up].concat()),
    ];
    let mut page: Page = plain.page(height, "test".to_owned(), blocks);
    page.bookmarks.push((0, "Test page".to_owned()));
    Packet {
        title: format!("{job}: test page"),
        date: date.to_owned(),
        pages: vec![page],
    }
}

/// What a test page says.
fn words(job: &str, date: &str, show: Show, width: f64) -> Vec<(f64, String)> {
    let example = match show {
        Show::Mm => "A bar of 180 mm that measures 180.7 mm gives 1.0039.",
        Show::FeetInches => "A bar of 7 in that measures 7 1/32 in gives 1.0045.",
    };
    let text = [
        "Print at 100 %, without fitting to the page.".to_owned(),
        "Measure the bars with a steel rule: those across the page first, then those up it."
            .to_owned(),
        "Divide what each measures by what it says, and give both to planksheer pattern:"
            .to_owned(),
        "--print-scale ACROSS,ALONG".to_owned(),
        example.to_owned(),
    ];
    let title = super::flow::wrapped("Test page", 5.0, width).into_iter();
    let mut out: Vec<(f64, String)> = title.map(|l| (5.0, l)).collect();
    let heading = match date {
        "" => job.to_owned(),
        date => format!("{job}, {date}"),
    };
    for line in [heading].into_iter().chain(text) {
        let lines = super::flow::wrapped(&line, SMALL, width);
        out.extend(lines.into_iter().map(|l| (SMALL, l)));
    }
    out
}

/// Units of the bars of a test page.
#[derive(Debug, Clone, Copy)]
enum Unit {
    Mm,
    Inch,
}

impl Unit {
    /// The longest whole bar within a length, mm, and its name: in tens of
    /// millimetres, or in inches.
    fn longest(self, room: f64) -> (f64, String) {
        match self {
            Self::Mm => {
                let mm = (room / 10.0).floor() * 10.0;
                (mm, format!("{} mm", trimmed(mm, 0)))
            }
            Self::Inch => {
                let inches = (room / INCH).floor();
                (inches * INCH, format!("{} in", trimmed(inches, 0)))
            }
        }
    }
}

#[cfg(test)]
#[path = "tests/packet.rs"]
mod tests;
