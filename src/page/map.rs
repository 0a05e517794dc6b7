//! The map of a pattern's pages: the pages as they lie, or on their side where that
//! shows more, the part under them, corners by letter and the longest chord dashed.

use kurbo::{Affine, BezPath, Point, Rect, Shape as _, Size};

use super::chords::Chords;
use super::cover::Cover;
use super::face::words_width;
use super::flow::Piece;
use super::ink::shape_path;
use super::laid::FINE;
use super::marks::SMALL;
use super::model::{Block, Ink, Pen, Role};
use super::tile::{CORNERS, Pattern, Tiles, reading_order};
use crate::drawing::Layer;
use crate::geom::{Vec2, trig, vec2};

/// Highest map, mm.
const HIGHEST: f64 = 62.0;
/// Air at its sides, mm: letters of corners stand in it.
const RIM: f64 = 4.5;
/// Air above and below, mm.
const AIR: f64 = 1.5;
/// The pages lie on their side where the map is larger by more than this.
const LARGER: f64 = 1.4;

/// A page: row and column, and its edge.
type Sheet = ((usize, usize), BezPath);

/// A map in its place, upper left corner at the origin.
pub(super) struct Map<'a> {
    pattern: &'a Pattern,
    cover: &'a Cover,
    sheets: Vec<Sheet>,
    part: Vec<BezPath>,
    /// From the drawing to the turned one, and from there to the map.
    turn: Affine,
    to_map: Affine,
    /// The top of the pages is to the right.
    pub(super) sideways: bool,
    /// What is drawn, on the map.
    edge: Rect,
    scale: f64,
}

impl<'a> Map<'a> {
    /// A map no larger than `room`.
    pub(super) fn new(pattern: &'a Pattern, tiles: &'a Tiles, room: Size) -> Self {
        let cover = &tiles.cover;
        let (c, s) = (trig::cos(cover.turn), trig::sin(cover.turn));
        let turn = Affine::new([c, s, -s, c, 0.0, 0.0]);
        let sheets = sheets(cover);
        let part: Vec<BezPath> = (pattern.drawing.items.iter())
            .filter(|i| matches!(i.layer, Layer::Cut | Layer::Hole | Layer::Sheet))
            .filter_map(|i| Some(turn * shape_path(&i.shape)?))
            .collect();
        let all = sheets.iter().map(|(_, path)| path).chain(&part);
        let bounds = all.map(BezPath::bounding_box).reduce(|a, b| a.union(b));
        let bounds = bounds.unwrap_or_default();
        let wide = (room.width - 2.0 * RIM).max(5.0);
        let high = HIGHEST.min(room.height);
        let fitted = |across: f64, up: f64| (wide / across).min(high / up);
        let upright = fitted(bounds.width(), bounds.height());
        let lying = fitted(bounds.height(), bounds.width());
        let sideways = lying > LARGER * upright;
        let scale = if sideways { lying } else { upright };
        // From the pages' upper left corner, or their lower left one to the map's upper left.
        let laid = if sideways {
            Affine::new([0.0, -1.0, 1.0, 0.0, -bounds.y0, bounds.x0])
        } else {
            Affine::translate((-bounds.x0, -bounds.y1))
        };
        let to_map = Affine::translate((RIM, -AIR)) * Affine::scale(scale) * laid;
        Self {
            pattern,
            cover,
            sheets,
            part,
            edge: to_map.transform_rect_bbox(bounds),
            turn,
            to_map,
            sideways,
            scale,
        }
    }

    /// The map with the part's chords.
    pub(super) fn piece(&self, found: Option<&Chords>) -> Piece {
        let mut ink = Vec::new();
        let mut line = |path: &BezPath, pen: Pen| {
            let path = self.to_map * path.clone();
            ink.push(Ink::Line { path, pen });
        };
        for (_, path) in &self.sheets {
            line(path, Pen::grey(FINE, 120));
        }
        for path in &self.part {
            line(path, Pen::black(0.2));
        }
        if let Some(found) = found {
            let [a, b] = found.longest.map(|p| self.at(p));
            ink.push(Ink::line(a, b, Pen::black(FINE).dashed(&[2.0, 1.2])));
        }
        let corners = found.and_then(|f| f.corners).into_iter().flatten();
        for (letter, corner) in CORNERS.iter().zip(corners) {
            ink.extend(self.corner(letter, self.at(corner)));
        }
        for (name, at) in &self.pattern.shares {
            ink.extend(self.named(name.clone(), self.at(*at), f64::INFINITY));
        }
        if self.pattern.shares.is_empty() {
            ink.extend(self.sheets.iter().flat_map(|sheet| self.name(sheet)));
        }
        let shows = format!("map of the pages over {}", self.pattern.name);
        Piece {
            blocks: vec![Block::new(Role::Figure(shows), ink)],
            height: self.edge.height() + 2.0 * AIR,
        }
    }

    fn at(&self, p: Vec2) -> Point {
        self.to_map * (self.turn * Point::new(p.x, p.y))
    }

    /// A page's row and column in its middle.
    fn name(&self, ((row, column), path): &Sheet) -> [Ink; 2] {
        let name = format!("{}-{}", self.cover.rows() - row, column + 1);
        let middle = (self.to_map * path.clone()).control_box().center();
        let field = &self.cover.field;
        let across = if self.sideways {
            field.length
        } else {
            field.width
        };
        self.named(name, middle, self.scale * across)
    }

    /// A name about a place, on white, no wider than most of `side` mm.
    fn named(&self, name: String, middle: Point, side: f64) -> [Ink; 2] {
        let height = SMALL.min(0.8 * side / words_width(&name, 1.0));
        let wide = words_width(&name, height);
        let at = Point::new(middle.x - 0.5 * wide, middle.y - 0.5 * height);
        let clear = Rect::from_origin_size(at, Size::new(wide, height)).inflate(0.4, 0.4);
        [
            Ink::Area {
                path: clear.to_path(0.1),
                grey: 255,
            },
            Ink::words(at, height, name),
        ]
    }

    /// A corner's letter, beside the map at its height, and a line from it to
    /// the corner. Those below hang a little lower and those above stand a
    /// little higher: on a narrow map they would meet.
    fn corner(&self, letter: &str, at: Point) -> [Ink; 2] {
        let wide = words_width(letter, SMALL);
        let (x, side) = if at.x < self.edge.center().x {
            (self.edge.x0 - 1.2 - wide, self.edge.x0 - 0.8)
        } else {
            (self.edge.x1 + 1.2, self.edge.x1 + 0.8)
        };
        let up = if at.y < self.edge.center().y {
            -0.95
        } else {
            -0.05
        };
        let low = self.edge.y0 - AIR + 0.4 * SMALL;
        let high = self.edge.y1 - SMALL;
        let y = (at.y + up * SMALL).clamp(low, high.max(low));
        [
            Ink::line((side, y + 0.5 * SMALL), at, Pen::grey(FINE, 120)),
            Ink::words((x, y), SMALL, letter),
        ]
    }
}

/// The pages, from one trim line to the next, in the turned drawing's mm.
fn sheets(cover: &Cover) -> Vec<Sheet> {
    let half = 0.5 * cover.field.overlap;
    let (rows, columns) = (cover.rows(), cover.columns());
    let sheet = |cell: (usize, usize)| {
        let lo = cover.corner(cell);
        let hi = lo + vec2(cover.field.width, cover.field.length);
        let trimmed = |at_end: bool| if at_end { 0.0 } else { half };
        let edge = Rect::new(
            lo.x + trimmed(cell.1 == 0),
            lo.y + trimmed(cell.0 == 0),
            hi.x - trimmed(cell.1 + 1 == columns),
            hi.y - trimmed(cell.0 + 1 == rows),
        );
        (cell, edge.to_path(0.1))
    };
    reading_order(cover).into_iter().map(sheet).collect()
}
