//! PDF: pages as a printer takes them, true to scale, no file format before
//! this one.
//!
//! A page's millimetre is 72/25.4 points; no unit of a page's own is written,
//! which some programs ignore. Figures are 32-bit: at the far end of a page of
//! 5 m one is off by 0.0002 mm. The face is embedded, with the letters used.
//! Every file follows PDF/UA-1 (tags, title, language, bookmarks), and PDF/A-2b
//! too where the job has a date: the library checks both, and a file that
//! breaks either is refused. Same pages, same bytes.

mod draw;
mod tags;

use std::num::NonZeroU32;

use krilla::SerializeSettings;
use krilla::configure::{Accessibility, Archival, ConfigurationBuilder};
use krilla::destination::XyzDestination;
use krilla::document::Document;
use krilla::geom::{Point, Size};
use krilla::metadata::{DateTime, Metadata};
use krilla::outline::{Outline, OutlineNode};
use krilla::page::{PageLabel, PageSettings};
use krilla::text::Font;

use self::draw::{Paper, points};
use self::tags::Tags;
use crate::fault::{Fault, Kind, Place};
use crate::length::INCH;
use crate::page::{Ink, Packet, Page};

/// Longest side of a page, mm: 200 in, 14,400 points (ISO 32000-1, annex C).
pub const LONGEST_MM: f64 = 200.0 * INCH;
/// The language of our words.
const LANGUAGE: &str = "en";

/// The file of a packet.
///
/// # Errors
/// A figure that is not finite, a page without extent or longer than
/// [`LONGEST_MM`], or what the standards do not allow ([`Kind::Geometry`]).
pub fn pdf(packet: &Packet) -> Result<Vec<u8>, Fault> {
    let refused = |why: String| {
        Fault::new(
            Kind::Geometry,
            Place::file(&packet.title),
            format!("its pages cannot be written as PDF: {why}"),
            "report this job",
        )
    };
    let date = day(&packet.date);
    let mut standards =
        ConfigurationBuilder::new().with_accessibility_validator(Accessibility::UA1);
    if date.is_some() {
        standards = standards.with_archival_validator(Archival::A2_B);
    }
    let settings = SerializeSettings {
        configuration: standards.finish().map_err(|e| refused(format!("{e:?}")))?,
        ..SerializeSettings::default()
    };
    let font = Font::new(dejavu::sans_condensed::regular().into(), 0)
        .ok_or_else(|| refused("the face cannot be read".to_owned()))?;
    let mut document = Document::new_with(settings);
    let mut tags = Tags::default();
    for page in &packet.pages {
        if !fits(page) {
            let (w, h) = (page.paper.width, page.paper.height);
            let why = format!("page {} of {w} x {h} mm, or a figure on it", page.label);
            return Err(refused(why));
        }
        let size = Size::from_wh(points(page.paper.width), points(page.paper.height));
        let size = size.ok_or_else(|| refused(format!("page {} has no size", page.label)))?;
        let label = PageLabel::new(None, Some(page.label.clone()), None::<NonZeroU32>);
        let mut on = document.start_page_with(PageSettings::new(size).with_page_label(label));
        let mut surface = on.surface();
        let mut paper = Paper::new(&mut surface, &font, page.paper.height);
        for block in &page.blocks {
            paper.block(block, &mut tags);
        }
    }
    document.set_tag_tree(tags.tree(LANGUAGE));
    document.set_outline(outline(&packet.pages));
    let mut about = Metadata::new()
        .title(packet.title.clone())
        .language(LANGUAGE.to_owned())
        .creator(concat!("planksheer ", env!("CARGO_PKG_VERSION")).to_owned());
    if let Some(date) = date {
        about = about.creation_date(date);
    }
    document.set_metadata(about);
    document.finish().map_err(|e| refused(e.to_string()))
}

/// True where a page has an extent and every figure on it is finite.
fn fits(page: &Page) -> bool {
    let side = |mm: f64| mm > 0.0 && mm <= LONGEST_MM;
    side(page.paper.width) && side(page.paper.height) && page.ink().all(Ink::is_finite)
}

/// A date written as year-month-day; a time behind it is left out.
fn day(text: &str) -> Option<DateTime> {
    let day = text.get(..10).unwrap_or_default();
    let mut parts = day.split('-');
    let (year, month, day) = (parts.next()?, parts.next()?, parts.next()?);
    let whole = |t: &str, n: usize| t.len() == n && t.bytes().all(|b| b.is_ascii_digit());
    if !(whole(year, 4) && whole(month, 2) && whole(day, 2)) {
        return None;
    }
    let (month, day) = (month.parse().ok()?, day.parse().ok()?);
    if !(1..=12).contains(&month) || !(1..=31).contains(&day) {
        return None;
    }
    Some(DateTime::new(year.parse().ok()?).month(month).day(day))
}

/// Bookmarks of all pages, as deep as they say.
fn outline(pages: &[Page]) -> Outline {
    let mut open: Vec<(usize, OutlineNode)> = Vec::new();
    let mut out = Outline::new();
    let mut close = |open: &mut Vec<(usize, OutlineNode)>, depth: usize| {
        while open.last().is_some_and(|(d, _)| *d >= depth) {
            let Some((_, node)) = open.pop() else { break };
            match open.last_mut() {
                Some((_, above)) => above.push_child(node),
                None => out.push_child(node),
            }
        }
    };
    for (index, page) in pages.iter().enumerate() {
        for (depth, words) in &page.bookmarks {
            close(&mut open, *depth);
            let top = XyzDestination::new(index, Point::from_xy(0.0, 0.0));
            open.push((*depth, OutlineNode::new(words.clone(), top)));
        }
    }
    close(&mut open, 0);
    out
}

#[cfg(test)]
mod tests;
