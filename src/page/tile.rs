//! The pages of one pattern.

use kurbo::{Affine, Point, Rect, Size};

use super::cover::{Cover, Lines, cover};
use super::face::words_width;
use super::laid::{Laid, paths};
use super::marks::{
    Joint, SMALL, Side, bars, cross, joint_name, joints, room_of, trim_line, upwards,
};
use super::model::{Block, Ink, Page, Role};
use super::print::{BEYOND, Print, SAFE};
use super::room::Room;
use super::shared::as_laid;
use crate::drawing::{Drawing, Layer, Shape};
use crate::geom::{Outline, Vec2, vec2};

/// A part to be printed.
#[derive(Debug, Clone)]
pub struct Pattern {
    /// Its name.
    pub name: String,
    /// What it is, in a few words a line: kind and face, material, place.
    pub about: Vec<String>,
    /// What is printed of it.
    pub drawing: Drawing,
    /// Of several parts laid on one page: their names, in the order of their
    /// edges in the drawing, and where there is room for each; else empty.
    pub shares: Vec<(String, Vec2)>,
}

impl Pattern {
    /// The edge of every part, with the part's name where there are several.
    pub(super) fn edges(&self) -> impl Iterator<Item = (Option<&str>, &Outline)> {
        let edge = |layer: Layer| matches!(layer, Layer::Cut | Layer::Sheet);
        let on_edge = self.drawing.items.iter().filter(move |i| edge(i.layer));
        let outlines = on_edge.filter_map(|i| match &i.shape {
            Shape::Profile(outline) => Some(outline),
            _ => None,
        });
        let name = |k: usize| self.shares.get(k).map(|(name, _)| name.as_str());
        outlines.enumerate().map(move |(k, o)| (name(k), o))
    }
}

/// A pattern on its pages.
pub(super) struct Tiles {
    pub(super) cover: Cover,
    /// In reading order: rows from the top, each from the left.
    pub(super) pages: Vec<Page>,
}

/// Air round what is put on a page, mm.
const AIR: f64 = 1.5;
/// Height of the page's own name, mm.
const NAME: f64 = 6.0;
/// How much of a joint the neighbour's name keeps to, about its middle, where
/// it finds room there.
const MIDDLE: f64 = 0.5;

/// Lays a pattern on pages; `None` where nothing is drawn.
pub(super) fn tiles(pattern: &Pattern, print: &Print, heading: &str) -> Option<Tiles> {
    let flat = Laid::new(&pattern.drawing, 0.0).lines();
    let cover = if pattern.shares.is_empty() {
        cover(&flat, print.field())?
    } else {
        as_laid(&flat, print.field())?
    };
    let laid = Laid::new(&pattern.drawing, cover.turn);
    let lines = laid.lines();
    let on = Tile {
        pattern,
        print,
        heading,
        cover: &cover,
        laid: &laid,
        lines: &lines,
    };
    let pages = reading_order(&cover)
        .into_iter()
        .map(|c| on.page(c))
        .collect();
    Some(Tiles { cover, pages })
}

/// Pages from the top row, each row from the left.
pub(super) fn reading_order(cover: &Cover) -> Vec<(usize, usize)> {
    let mut cells: Vec<_> = cover.cells.iter().copied().collect();
    cells.sort_by_key(|&(row, column)| (std::cmp::Reverse(row), column));
    cells
}

/// Name of a page: part, row from the top, column from the left.
pub(super) fn page_name(name: &str, cover: &Cover, (row, column): (usize, usize)) -> String {
    format!("{name} {}-{}", cover.rows() - row, column + 1)
}

/// What the pages of a pattern have in common.
struct Tile<'a> {
    pattern: &'a Pattern,
    print: &'a Print,
    heading: &'a str,
    cover: &'a Cover,
    laid: &'a Laid,
    lines: &'a Lines,
}

impl Tile<'_> {
    fn page(&self, cell: (usize, usize)) -> Page {
        let (lo, field) = (self.cover.corner(cell), self.cover.field);
        let hi = lo + vec2(field.width, field.length);
        let height = self.print.height(field.length);
        let area = Rect::new(0.0, 0.0, self.print.printable().width, height);
        let shift = vec2(SAFE, SAFE) - lo;
        // Fields were laid over chords; arcs reach beyond them by a little.
        let wider = vec2(BEYOND, BEYOND);
        let drawn = self.laid.shown((lo - wider, hi + wider), shift);
        let mut room = Room::new(area);
        paths(&drawn).for_each(|p| room.take_path(p));
        for words in drawn.iter().filter(|i| matches!(i, Ink::Words { .. })) {
            room.take_box(words.bounds().inflate(AIR, AIR));
        }
        let joints = joints(self.cover, cell, &self.lines.chords);
        let mut furniture = self.joined(&joints, shift, &mut room);
        let inner = within(area, &joints, field.overlap);
        furniture.extend(self.bars(inner, &mut room));
        let title = self.title(cell, inner, &mut room);
        let name = page_name(&self.pattern.name, self.cover, cell);
        let alt = format!("{}, at full size", self.told(cell));
        let mut blocks = vec![
            Block::new(Role::Words, title),
            Block::new(Role::Figure(alt), drawn),
        ];
        if !furniture.is_empty() {
            blocks.push(Block::new(Role::Furniture, furniture));
        }
        self.print.page(height, name, blocks)
    }

    /// Where a page lies among the others, in words.
    fn told(&self, (row, column): (usize, usize)) -> String {
        let (rows, columns) = (self.cover.rows(), self.cover.columns());
        format!(
            "{}, row {} of {rows}, column {} of {columns}",
            self.pattern.name,
            rows - row,
            column + 1
        )
    }

    /// Crosses, trim lines and the neighbours' names.
    fn joined(&self, joints: &[Joint], shift: Vec2, room: &mut Room) -> Vec<Ink> {
        let overlap = self.cover.field.overlap;
        let on_page = |p: Vec2| Point::new(p.x + shift.x, p.y + shift.y);
        let mut out = Vec::new();
        for joint in joints {
            for centre in joint.crosses {
                out.extend(cross(on_page(centre), overlap));
            }
            out.push(trim_line(on_page(joint.trim[0]), on_page(joint.trim[1])));
        }
        for ink in &out {
            room.take_box(ink.bounds());
        }
        for joint in joints {
            let line = joint.trim.map(on_page);
            let name = page_name(&self.pattern.name, self.cover, joint.other);
            let ink = named(joint.side, line, overlap, &name, room);
            room.take_box(ink.bounds());
            out.push(ink);
        }
        out
    }

    /// Bars across and along the feed, where they cover least.
    fn bars(&self, inner: Rect, room: &mut Room) -> Vec<Ink> {
        let mut out = Vec::new();
        let across = bars(inner.width());
        let along = bars(inner.height()).map(|(ink, size)| {
            let turned = Size::new(size.height, size.width);
            (upwards(&ink, size.height), turned)
        });
        for (ink, size) in [across, along].into_iter().flatten() {
            if let Some((at, _)) = room.place(size, inner) {
                let ink: Vec<Ink> = moved(&ink, at);
                if let Some(taken) = room_of(&ink, AIR) {
                    room.take_box(taken);
                }
                out.extend(ink);
            }
        }
        out
    }

    /// The page's name and what it belongs to: as many lines as find room.
    fn title(&self, cell: (usize, usize), inner: Rect, room: &mut Room) -> Vec<Ink> {
        let mut lines = vec![
            (NAME, page_name(&self.pattern.name, self.cover, cell)),
            (SMALL, self.told(cell)),
        ];
        let about = self.pattern.about.iter().map(|l| (SMALL, l.clone()));
        lines.extend(about);
        lines.push((SMALL, self.heading.to_owned()));
        let mut best: Option<(usize, Vec<Ink>)> = None;
        for count in (1..=lines.len()).rev() {
            let (ink, size) = paragraph(&lines[..count]);
            let Some((at, covers)) = room.place(size, inner) else {
                continue;
            };
            if best.as_ref().is_none_or(|(least, _)| covers < *least) {
                best = Some((covers, moved(&ink, at)));
            }
            if covers == 0 {
                break;
            }
        }
        best.map(|(_, ink)| ink).unwrap_or_default()
    }
}

/// What of a page is no joint's.
fn within(area: Rect, joints: &[Joint], overlap: f64) -> Rect {
    let mut inner = area.inset(-1.0);
    for joint in joints {
        match joint.side {
            Side::Left => inner.x0 = overlap + 1.0,
            Side::Right => inner.x1 = area.x1 - overlap - 1.0,
            Side::Bottom => inner.y0 = overlap + 1.0,
            Side::Top => inner.y1 = area.y1 - overlap - 1.0,
        }
    }
    inner
}

/// The name of a neighbour where it covers least, near the joint's middle if
/// there is room.
fn named(side: Side, line: [Point; 2], overlap: f64, name: &str, room: &Room) -> Ink {
    let length = line[0].distance(line[1]);
    let sample = joint_name(side, line, 0.5 * length, overlap, name).bounds();
    let size = Size::new(sample.width(), sample.height());
    let upright = matches!(side, Side::Left | Side::Right);
    let strip = |share: f64| {
        let off = 0.5 * (1.0 - share) * length;
        if upright {
            Rect::new(sample.x0, line[0].y + off, sample.x1, line[1].y - off)
        } else {
            Rect::new(line[0].x + off, sample.y0, line[1].x - off, sample.y1)
        }
    };
    let mut best: Option<(usize, f64)> = None;
    for share in [MIDDLE, 0.9] {
        // A hair larger than the words, which it must hold.
        let within = strip(share).inflate(1e-6, 1e-6);
        let Some((at, covers)) = room.place(size, within) else {
            continue;
        };
        let centre = if upright {
            at.y + 0.5 * size.height - line[0].y
        } else {
            at.x + 0.5 * size.width - line[0].x
        };
        if best.is_none_or(|(least, _)| covers < least) {
            best = Some((covers, centre));
        }
        if covers == 0 {
            break;
        }
    }
    let centre = best.map_or(0.5 * length, |(_, c)| c);
    joint_name(side, line, centre, overlap, name)
}

/// Lines of text one under the other, lower left at the origin, and the box.
pub(super) fn paragraph(lines: &[(f64, String)]) -> (Vec<Ink>, Size) {
    let mut y = 0.0;
    let mut wide: f64 = 0.0;
    let mut out = Vec::new();
    for (height, text) in lines.iter().rev() {
        y += 0.35 * height;
        out.push(Ink::words((0.0, y), *height, text.clone()));
        y += 1.25 * height;
        wide = wide.max(words_width(text, *height));
    }
    out.reverse();
    (out, Size::new(wide, y))
}

/// Ink moved by a place.
pub(super) fn moved(ink: &[Ink], by: Point) -> Vec<Ink> {
    let map = Affine::translate(by.to_vec2());
    ink.iter().map(|i| i.mapped(map)).collect()
}
