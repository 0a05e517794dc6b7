//! The pages of one pattern.

use kurbo::{Affine, Point, Rect, Size};

use super::chords::{Chords, chords};
use super::cover::Cover;
use super::face::words_width;
use super::fewest::cover;
use super::ink::point;
use super::laid::Laid;
use super::marks::{
    Joint, SMALL, Side, bars, cross, joint_name, joints, room_of, trim_line, upwards,
};
use super::model::{Block, Ink, Page, Role};
use super::print::{BEYOND, Print, SAFE};
use super::room::{BARRED, Room};
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

    /// The chords by which it is checked; of several parts the map has none.
    pub(super) fn chords(&self) -> Option<Chords> {
        let alone = self.shares.is_empty();
        self.edges().filter(|_| alone).find_map(|(_, o)| chords(o))
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
/// Bars and names keep so far from where pages lap, mm.
const AIR_JOINT: f64 = 1.0;
/// Words keep so far from trim lines, mm.
const AIR_TRIM: f64 = 0.3;
/// How far words are moved off a joint at most, mm.
const ASTRAY: f64 = 15.0;
/// Names of corners, as the chords run: A to C and B to D; their height on a page,
/// and how far they stand off at most, mm.
pub(super) const CORNERS: [&str; 4] = ["A", "B", "C", "D"];
const CORNER: f64 = 4.0;
const CORNER_FAR: f64 = 25.0;
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
    let chords = laid.chords(&[Layer::Cut, Layer::Hole, Layer::Mark]);
    let on = Tile {
        pattern,
        print,
        heading,
        cover: &cover,
        laid: &laid,
        chords: &chords,
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
    chords: &'a [[Vec2; 2]],
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
        let mut room = Room::new(area);
        let mut drawn = Vec::new();
        for (layer, ink) in self.laid.shown((lo - wider, hi + wider), shift) {
            if let Ink::Line { path, .. } = &ink {
                let edge = matches!(layer, Layer::Cut | Layer::Hole);
                room.take_path(path, if edge { BARRED } else { 1 });
            }
            drawn.push(ink);
        }
        let joints = joints(self.cover, cell, self.chords);
        let mut furniture = crosses(&joints, shift, field.overlap);
        for ink in &furniture {
            room.take_box(ink.bounds(), 1);
        }
        let own = within(area, &joints, 0.5 * field.overlap);
        drawn.extend(self.words(own, shift, &furniture, &mut room));
        drawn.extend(self.corners(own, shift, &mut room));
        furniture.extend(self.neighbours(own, &joints, shift, &mut room));
        let inner = within(area, &joints, field.overlap).inset(-AIR_JOINT);
        furniture.extend(bars_of(inner, &mut room));
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

    /// The drawing's words that begin and end between the trim lines. One that
    /// does not, or stands where a cross is, is moved by a little if there is room,
    /// on the page that has its middle; else it is left out.
    fn words(&self, own: Rect, shift: Vec2, crosses: &[Ink], room: &mut Room) -> Vec<Ink> {
        let mine = |i: &Ink| own.contains(i.bounds().center());
        let off = own.inset(-AIR_TRIM);
        let stands = |i: &Ink| {
            let edge = i.bounds();
            off.contains_rect(edge) && !crosses.iter().any(|c| c.bounds().overlaps(edge))
        };
        let (mut out, astray): (Vec<Ink>, Vec<Ink>) =
            (self.laid.words(shift).filter(mine)).partition(stands);
        for ink in &out {
            room.take_box(ink.bounds().inflate(AIR, AIR), 1);
        }
        for ink in astray {
            let edge = ink.bounds();
            if let Some(at) = room.near(edge.center(), ASTRAY, edge.size(), off) {
                let ink = ink.mapped(Affine::translate(at - edge.origin()));
                room.take_box(ink.bounds().inflate(AIR, AIR), 1);
                out.push(ink);
            }
        }
        out
    }

    /// Letters of the corners that the page has, as the map has them.
    fn corners(&self, own: Rect, shift: Vec2, room: &mut Room) -> Vec<Ink> {
        let mut out = Vec::new();
        let corners = self.pattern.chords().and_then(|c| c.corners);
        for (letter, corner) in CORNERS.iter().zip(corners.into_iter().flatten()) {
            let p = corner.turned(self.cover.turn) + shift;
            let at = Point::new(p.x, p.y);
            let ink = Ink::words((0.0, 0.0), CORNER, *letter);
            let edge = ink.bounds().inflate(AIR, AIR);
            if !own.inflate(1.0, 1.0).contains(at) {
                continue;
            }
            if let Some(place) = room.near(at, CORNER_FAR, edge.size(), own) {
                let ink = ink.mapped(Affine::translate(place - edge.origin()));
                room.take_box(ink.bounds(), 1);
                out.push(ink);
            }
        }
        out
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

    /// The neighbours' names, at the trim lines.
    fn neighbours(&self, own: Rect, joints: &[Joint], shift: Vec2, room: &mut Room) -> Vec<Ink> {
        let overlap = self.cover.field.overlap;
        let mut out = Vec::new();
        for joint in joints {
            let line = joint.trim.map(|p| point(p + shift));
            let name = page_name(&self.pattern.name, self.cover, joint.other);
            let ink = named(joint.side, line, overlap, &name, own, room);
            room.take_box(ink.bounds(), 1);
            out.push(ink);
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
        // The name alone may be small.
        let small = [(SMALL, lines[0].1.clone())];
        let forms = (1..=lines.len()).rev().map(|count| &lines[..count]);
        clearest(forms.chain([&small[..]]).map(paragraph), inner, room)
    }
}

/// The first form of ink that covers nothing, else the one that covers least, in
/// its place: its lower left is at the origin, and its size is told. None may
/// cover what is barred.
fn clearest(
    forms: impl Iterator<Item = (Vec<Ink>, Size)>,
    inner: Rect,
    room: &mut Room,
) -> Vec<Ink> {
    let mut best: Option<(u64, Vec<Ink>)> = None;
    for (ink, size) in forms {
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
    let ink = best.map(|(_, ink)| ink).unwrap_or_default();
    if let Some(taken) = room_of(&ink, AIR) {
        room.take_box(taken, 1);
    }
    ink
}

/// Crosses and trim lines on the page.
fn crosses(joints: &[Joint], shift: Vec2, overlap: f64) -> Vec<Ink> {
    let mut out = Vec::new();
    for joint in joints {
        for centre in joint.crosses {
            out.extend(cross(point(centre + shift), overlap));
        }
        let [a, b] = joint.trim.map(|p| point(p + shift));
        out.push(trim_line(a, b));
    }
    out
}

/// Bars across and along the feed, the longest that cover nothing.
fn bars_of(inner: Rect, room: &mut Room) -> Vec<Ink> {
    let mut out = clearest(bars(inner.width()), inner, room);
    let along = bars(inner.height()).map(|(ink, size)| {
        let turned = Size::new(size.height, size.width);
        (upwards(&ink, size.height), turned)
    });
    out.extend(clearest(along, inner, room));
    out
}

/// What of a page is further than this from its joints' edges, mm.
fn within(area: Rect, joints: &[Joint], off: f64) -> Rect {
    let mut inner = area;
    for joint in joints {
        match joint.side {
            Side::Left => inner.x0 = area.x0 + off,
            Side::Right => inner.x1 = area.x1 - off,
            Side::Bottom => inner.y0 = area.y0 + off,
            Side::Top => inner.y1 = area.y1 - off,
        }
    }
    inner
}

/// The name of a neighbour where it covers least, near the joint's middle if
/// there is room; before the trim line, on what is the page's own, where an
/// outline runs along beyond it.
fn named(side: Side, line: [Point; 2], overlap: f64, name: &str, own: Rect, room: &Room) -> Ink {
    let length = line[0].distance(line[1]);
    let middle = joint_name(side, line, 0.5 * length, overlap, name);
    let sample = middle.bounds();
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
    let mut best: Option<(u64, f64)> = None;
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
    if let Some((_, centre)) = best {
        return joint_name(side, line, centre, overlap, name);
    }
    let before = room.near(sample.center(), length, size, own);
    let by = before.map_or_else(Default::default, |at| at - sample.origin());
    middle.mapped(Affine::translate(by))
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
