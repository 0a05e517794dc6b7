//! The first sheets of a packet: what is in it, how it is measured and put
//! together, and of every pattern a map of its pages and the chords by which
//! it is checked.

use kurbo::{Affine, BezPath, Point, Rect, Size};

use super::chords::{Chords, chords};
use super::face::words_width;
use super::flow::{Flowed, Group, Piece, column_width, flow, text, wrapped};
use super::ink::shape_path;
use super::laid::FINE;
use super::marks::{SMALL, bars, upwards};
use super::model::{Block, Ink, Page, Pen, Role};
use super::print::Print;
use super::tile::{Pattern, Tiles, moved, reading_order};
use crate::drawing::{Layer, Shape};
use crate::geom::{Vec2, vec2};
use crate::length::{Show, told, trimmed};

/// Heights of letters, mm.
const TITLE: f64 = 5.5;
const HEAD: f64 = 3.6;
const TEXT: f64 = 2.6;
/// Highest map of a pattern, mm.
const MAP: f64 = 62.0;
/// Second lines of a step stand so far in, mm.
const HANG: f64 = 5.0;

/// What the first sheets tell.
pub(super) struct Front<'a> {
    /// Job and date.
    pub(super) heading: &'a str,
    /// Said of a survey with doubtful figures.
    pub(super) notice: Option<&'a str>,
    pub(super) print: &'a Print,
    pub(super) show: Show,
    pub(super) other_face: bool,
    pub(super) patterns: &'a [(&'a Pattern, Tiles)],
}

impl Front<'_> {
    /// The sheets.
    pub(super) fn pages(&self) -> Vec<Page> {
        let whole = self.print.printable();
        let width = column_width(whole.width);
        let mut groups = self.opening(width);
        for (pattern, tiles) in self.patterns {
            groups.push(self.pattern(pattern, tiles, width, whole.height));
        }
        let height = self.height(&groups, whole);
        let pages = flow(groups, Size::new(whole.width, height));
        let label = |k: usize| format!("front {}", k + 1);
        let page = |(k, on): (usize, Flowed)| {
            let mut page = self.print.page(height, label(k), on.blocks);
            if k == 0 {
                page.bookmarks.push((0, "First sheet".to_owned()));
            }
            page
        };
        pages.into_iter().enumerate().map(page).collect()
    }

    /// Height of the printable box: of a roll no more than is filled.
    fn height(&self, groups: &[Group], whole: Size) -> f64 {
        if !self.print.paper.roll {
            return whole.height;
        }
        let mut height = self.print.height(0.0);
        while height < whole.height {
            let size = Size::new(whole.width, height);
            if flow(groups.to_vec(), size).len() == 1 {
                break;
            }
            height *= 1.1;
        }
        height.min(whole.height)
    }

    /// Title, bars, and how it is done.
    fn opening(&self, width: f64) -> Vec<Group> {
        let title = match self.other_face {
            false => "Patterns at full size",
            true => "Patterns at full size, other face",
        };
        let lines = wrapped(title, TITLE, width).into_iter();
        let mut first: Group = lines
            .map(|l| Piece::line(Role::Heading(1), TITLE, l))
            .collect();
        first.extend(text(TEXT, self.heading, width, 0.0));
        first.extend(text(TEXT, &self.paper(), width, 0.0));
        if let Some(words) = self.notice {
            first.extend(text(TEXT, words, width, 0.0));
        }
        let mut out = vec![first];
        if self.patterns.len() > 1 {
            out.push(vec![heading("In this packet")]);
            out.push(self.contents(width));
        }
        out.push(steps("Measure", &self.measure(), width));
        out.push(measured_bars(width));
        out.push(steps("Put together", &self.assemble(), width));
        out
    }

    fn paper(&self) -> String {
        let (paper, of) = (&self.print.paper, |mm: f64| told(mm, self.show));
        let size = match paper.roll {
            true => format!("{} wide", of(paper.width)),
            false => format!("{} by {}", of(paper.width), of(paper.length)),
        };
        let (a, b) = self.print.scale;
        let scale = match a == 1.0 && b == 1.0 {
            true => "Not corrected for a printer.".to_owned(),
            false => format!(
                "Corrected for a printer that gives {} across the feed and {} along it.",
                trimmed(a, 5),
                trimmed(b, 5)
            ),
        };
        format!(
            "Paper {}: {size}, margins {}, overlap {}. {scale}",
            paper.name,
            of(paper.margin),
            of(paper.overlap)
        )
    }

    fn measure(&self) -> Vec<String> {
        let within = match self.show {
            Show::Mm => "0.2 mm",
            Show::FeetInches => "1/128 in",
        };
        [
            "Print at 100 %, without fitting to the page, in one run and on dry paper."
                .to_owned(),
            format!(
                "Measure the bars here and on each page with a steel rule, across and up the page: \
                 off by more than {within}, the page is not at full size."
            ),
            "If it is off: print the test page, measure its long bars, and give what each measures \
             over what it says, across and along the feed, as --print-scale."
                .to_owned(),
        ]
        .to_vec()
    }

    fn assemble(&self) -> Vec<String> {
        let face = match self.other_face {
            true => "These are mirrored: they lie on the face that is not marked on the cut parts.",
            false => "The pattern lies as the part is marked: the face that it names is up.",
        };
        [
            "Lay the pages out as the map shows. A page is named by its part, its row from the top \
             and its column from the left; beyond each trim line stands the page that joins there.",
            "At a joint cut one page along its dashed trim line and lay it over the other, so that \
             both crosses fall on crosses. Tape it flat, from the middle of the part outwards.",
            "Check the whole against the chords listed here. Paper grows and shrinks with damp: \
             check, and mark from it, on the same day.",
            "Cut to the middle of the line: it is the net edge of the part.",
            face,
        ]
        .map(str::to_owned)
        .to_vec()
    }

    /// A row a pattern.
    fn contents(&self, width: f64) -> Group {
        let name_width = (self.patterns.iter())
            .map(|(p, _)| words_width(&p.name, TEXT))
            .fold(words_width("part", TEXT), f64::max);
        let columns = [0.0, name_width + 5.0, name_width + 22.0];
        let mut rows = vec![["part", "pages", "what"].map(str::to_owned)];
        for (pattern, tiles) in self.patterns {
            let what = [
                &pattern.about[..1],
                &pattern.about[pattern.about.len().min(2)..],
            ];
            rows.push([
                pattern.name.clone(),
                tiles.pages.len().to_string(),
                what.concat().join(", "),
            ]);
        }
        let piece = |(row, cells): (usize, [String; 3])| {
            let mut blocks = Vec::new();
            for (x, words) in columns.into_iter().zip(cells) {
                let line = wrapped(&words, TEXT, (width - x).max(10.0));
                let shown = line.into_iter().next().unwrap_or_default();
                let ink = vec![Ink::words((x, -1.35 * TEXT), TEXT, shown)];
                let head = row == 0;
                blocks.push(Block::new(Role::Cell { row, head }, ink));
            }
            Piece {
                blocks,
                height: 1.8 * TEXT,
            }
        };
        rows.into_iter().enumerate().map(piece).collect()
    }

    /// Map and chords of a pattern.
    fn pattern(&self, pattern: &Pattern, tiles: &Tiles, width: f64, high: f64) -> Group {
        let mut out = vec![Piece::space(HEAD)];
        let (pages, cover) = (tiles.pages.len(), &tiles.cover);
        out.push(heading(&pattern.name));
        out.extend(text(TEXT, &pattern.about.join("; "), width, 0.0));
        let count = match pages {
            1 => "One page.".to_owned(),
            n => format!(
                "{n} pages in {} rows and {} columns.",
                cover.rows(),
                cover.columns()
            ),
        };
        out.extend(text(TEXT, &count, width, 0.0));
        let found = (pattern.drawing.items.iter())
            .filter(|i| i.layer == Layer::Cut)
            .find_map(|i| match &i.shape {
                Shape::Profile(outline) => chords(outline),
                _ => None,
            });
        out.push(Piece::space(1.0));
        out.push(map(pattern, tiles, found.as_ref(), width, high));
        if let Some(found) = &found {
            out.extend(text(TEXT, &self.checked(found), width, 0.0));
        }
        out
    }

    /// The chords in words.
    fn checked(&self, found: &Chords) -> String {
        let of = |a: Vec2, b: Vec2| {
            let mm = (a.distance(b) * 10.0).round() / 10.0;
            told(mm, self.show)
        };
        let [from, to] = found.longest;
        let longest = of(from, to);
        match found.corners {
            Some([a, b, c, d]) => format!(
                "Check before cutting: corner A to C {}, corner B to D {}, longest chord {longest}.",
                of(a, c),
                of(b, d)
            ),
            None => format!("Check before cutting: longest chord {longest}."),
        }
    }
}

fn heading(words: &str) -> Piece {
    Piece::line(Role::Heading(2), HEAD, words.to_owned())
}

/// A heading with numbered steps.
fn steps(head: &str, all: &[String], width: f64) -> Group {
    let mut out = vec![Piece::space(1.5), heading(head)];
    for (k, step) in all.iter().enumerate() {
        out.extend(text(TEXT, &format!("{}. {step}", k + 1), width, HANG));
    }
    out
}

/// Bars across and up the page, side by side where there is room.
fn measured_bars(width: f64) -> Group {
    let mut ink = Vec::new();
    let mut tall: f64 = 0.0;
    if let Some((across, size)) = bars(width) {
        ink.extend(moved(&across, Point::new(0.0, -size.height)));
        tall = size.height;
    }
    let beside = 115.0;
    if let Some((along, size)) = bars(110.0) {
        let up = upwards(&along, size.height);
        let (x, y) = if beside + size.height <= width {
            (beside, 0.0)
        } else {
            (0.0, -tall - 3.0)
        };
        ink.extend(moved(&up, Point::new(x, y - size.width)));
        tall = tall.max(size.width - y);
    }
    let blocks = vec![Block::new(Role::Furniture, ink)];
    vec![
        Piece::space(2.0),
        Piece {
            blocks,
            height: tall + 2.0,
        },
    ]
}

/// The part as it lies in its drawing, its pages over it, corners by letter
/// and the longest chord dashed.
fn map(pattern: &Pattern, tiles: &Tiles, found: Option<&Chords>, width: f64, high: f64) -> Piece {
    let cover = &tiles.cover;
    let (rows, columns) = (cover.rows(), cover.columns());
    let half = 0.5 * cover.field.overlap;
    // From the turned drawing back to the drawing.
    let (c, s) = (
        crate::geom::trig::cos(cover.turn),
        crate::geom::trig::sin(cover.turn),
    );
    let back = Affine::new([c, -s, s, c, 0.0, 0.0]);
    let boxes: Vec<((usize, usize), BezPath)> = reading_order(cover)
        .into_iter()
        .map(|cell| {
            let lo = cover.corner(cell);
            let hi = lo + vec2(cover.field.width, cover.field.length);
            let trimmed = |at_end: bool| if at_end { 0.0 } else { half };
            let edge = Rect::new(
                lo.x + trimmed(cell.1 == 0),
                lo.y + trimmed(cell.0 == 0),
                hi.x - trimmed(cell.1 + 1 == columns),
                hi.y - trimmed(cell.0 + 1 == rows),
            );
            let mut path = kurbo::Shape::to_path(&edge, 0.1);
            path.apply_affine(back);
            (cell, path)
        })
        .collect();
    let part: Vec<BezPath> = (pattern.drawing.items.iter())
        .filter(|i| matches!(i.layer, Layer::Cut | Layer::Hole))
        .filter_map(|i| shape_path(&i.shape))
        .collect();
    let all = boxes.iter().map(|(_, p)| p).chain(&part);
    let bounds = all
        .map(kurbo::Shape::bounding_box)
        .reduce(|a, b| a.union(b))
        .unwrap_or_default();
    let highest = MAP.min(0.5 * high);
    let scale = ((width - 2.0) / bounds.width()).min(highest / bounds.height());
    let to_map = Affine::scale(scale) * Affine::translate((-bounds.x0 + 1.0 / scale, -bounds.y1));
    let mut ink = Vec::new();
    for (_, path) in &boxes {
        let pen = Pen::grey(FINE, 120);
        ink.push(Ink::Line {
            path: to_map * path.clone(),
            pen,
        });
    }
    for path in part {
        let pen = Pen::black(0.2);
        ink.push(Ink::Line {
            path: to_map * path,
            pen,
        });
    }
    let at = |p: Vec2| to_map * Point::new(p.x, p.y);
    if let Some(found) = found {
        let [a, b] = found.longest;
        let pen = Pen::black(FINE).dashed(&[2.0, 1.2]);
        ink.push(Ink::line(at(a), at(b), pen));
    }
    for ((row, column), path) in &boxes {
        let name = format!("{}-{}", rows - row, column + 1);
        let middle = (to_map * path.clone()).control_box().center();
        let side = scale * cover.field.width.min(cover.field.length);
        let height = SMALL.min(0.85 * side / words_width(&name, 1.0));
        let wide = words_width(&name, height);
        ink.push(Ink::words(
            (middle.x - 0.5 * wide, middle.y - 0.5 * height),
            height,
            name,
        ));
    }
    if let Some(corners) = found.and_then(|f| f.corners) {
        let centre = bounds.center();
        for (letter, corner) in ["A", "B", "C", "D"].iter().zip(corners) {
            ink.push(corner_letter(letter, at(corner), to_map * centre));
        }
    }
    let shows = format!("map of the pages over {}", pattern.name);
    Piece {
        blocks: vec![Block::new(Role::Figure(shows), ink)],
        height: bounds.height() * scale + 3.0,
    }
}

/// A corner's letter, inward of it along the map's length.
fn corner_letter(letter: &str, at: Point, centre: Point) -> Ink {
    let way = if at.x < centre.x { 1.0 } else { -1.0 };
    let wide = words_width(letter, SMALL);
    let x = at.x + way * (0.8 * SMALL + 0.5 * wide) - 0.5 * wide;
    Ink::words((x, at.y - 0.5 * SMALL), SMALL, letter)
}
