//! What a page bears beside the drawing, so that it can be measured, told from
//! others and joined to them: bars, crosses, trim lines, names.

use kurbo::{Affine, Circle, Point, Rect, Shape as _, Size};

use super::cover::Cover;
use super::face::words_width;
use super::laid::{FINE, LINE};
use super::model::{Ink, Pen};
use crate::geom::{Vec2, vec2};

/// Lengths of bars, mm, with their names, the best first.
const BARS: [[(f64, &str); 2]; 3] = [
    [(100.0, "100 mm"), (101.6, "4 in")],
    [(50.0, "50 mm"), (50.8, "2 in")],
    [(20.0, "20 mm"), (25.4, "1 in")],
];
/// Height of the small letters, mm.
pub(super) const SMALL: f64 = 2.5;
/// Half a tick at a bar's end, mm.
const TICK: f64 = 1.5;
/// From one bar to the next, mm.
const APART: f64 = 7.5;
/// Air at the ends of a block of bars, mm.
const AIR: f64 = 1.0;
/// Longest arm of a cross, mm, and the radius of the circle in it.
const ARM: f64 = 4.0;
const RING: f64 = 2.0;
/// Steps in which a place for a cross is sought along a joint, mm.
const STEP: f64 = 2.0;
/// A dash of a trim line and its gap, mm.
const DASH: [f64; 2] = [3.0, 2.0];

/// Pairs of bars across the feed that are no wider than `room`, the longest
/// first: lower left at the origin, and the size of their box.
pub(super) fn bars(room: f64) -> impl Iterator<Item = (Vec<Ink>, Size)> {
    let fits = move |pair: &&[(f64, &str); 2]| pair.iter().all(|b| b.0 + 2.0 * AIR <= room);
    BARS.iter().filter(fits).map(pair)
}

fn pair(pair: &[(f64, &str); 2]) -> (Vec<Ink>, Size) {
    let mut ink = Vec::new();
    let mut widest: f64 = 0.0;
    for (k, (length, name)) in pair.iter().enumerate() {
        widest = widest.max(*length);
        ink.extend(bar(vec2(AIR, TICK + APART * k as f64), *length, name));
    }
    let tall = TICK + APART * pair.len() as f64;
    (ink, Size::new(widest + 2.0 * AIR, tall))
}

/// A bar with its name over its middle.
pub(super) fn bar(at: Vec2, length: f64, name: &str) -> Vec<Ink> {
    let pen = Pen::black(LINE);
    let end = at + vec2(length, 0.0);
    let tick = |p: Vec2| Ink::line((p.x, p.y - TICK), (p.x, p.y + TICK), pen.clone());
    let middle = at.x + 0.5 * (length - words_width(name, SMALL));
    vec![
        Ink::line((at.x, at.y), (end.x, end.y), pen.clone()),
        tick(at),
        tick(end),
        Ink::words((middle, at.y + 1.6), SMALL, name),
    ]
}

/// Ink of a box of a height turned to run up the page, its lower left corner
/// back at the origin.
pub(super) fn upwards(ink: &[Ink], tall: f64) -> Vec<Ink> {
    let turn = Affine::new([0.0, 1.0, -1.0, 0.0, tall, 0.0]);
    let turned = |i: &Ink| {
        let mut out = i.mapped(turn);
        if let Ink::Words { angle, .. } = &mut out {
            *angle += std::f64::consts::FRAC_PI_2;
        }
        out
    };
    ink.iter().map(turned).collect()
}

/// A side of a page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    Left,
    Right,
    Bottom,
    Top,
}

impl Side {
    pub(super) const ALL: [Self; 4] = [Self::Left, Self::Right, Self::Bottom, Self::Top];

    /// The neighbour of a page on this side.
    pub(super) fn next(self, (row, column): (usize, usize)) -> Option<(usize, usize)> {
        match self {
            Self::Left => Some((row, column.checked_sub(1)?)),
            Self::Right => Some((row, column + 1)),
            Self::Bottom => Some((row.checked_sub(1)?, column)),
            Self::Top => Some((row + 1, column)),
        }
    }
}

/// Where a page is joined to its neighbour, in the turned drawing's mm.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Joint {
    pub(super) side: Side,
    /// Row and column of the neighbour.
    pub(super) other: (usize, usize),
    /// Ends of the trim line.
    pub(super) trim: [Vec2; 2],
    /// Centres of both crosses.
    pub(super) crosses: [Vec2; 2],
}

/// Joints of a page. Both pages of a joint find the same crosses: they depend
/// on nothing but the joint and the lines near it.
pub(super) fn joints(cover: &Cover, cell: (usize, usize), chords: &[[Vec2; 2]]) -> Vec<Joint> {
    let (lo, field) = (cover.corner(cell), cover.field);
    let hi = lo + vec2(field.width, field.length);
    let half = 0.5 * field.overlap;
    let mut out = Vec::new();
    for side in Side::ALL {
        let Some(other) = side.next(cell).filter(|c| cover.cells.contains(c)) else {
            continue;
        };
        let trim = match side {
            Side::Left => [vec2(lo.x + half, lo.y), vec2(lo.x + half, hi.y)],
            Side::Right => [vec2(hi.x - half, lo.y), vec2(hi.x - half, hi.y)],
            Side::Bottom => [vec2(lo.x, lo.y + half), vec2(hi.x, lo.y + half)],
            Side::Top => [vec2(lo.x, hi.y - half), vec2(hi.x, hi.y - half)],
        };
        let crosses = crosses(trim, field.overlap, chords);
        out.push(Joint {
            side,
            other,
            trim,
            crosses,
        });
    }
    out
}

/// Places for two crosses on a joint, one near each end where no line is near.
fn crosses(trim: [Vec2; 2], overlap: f64, chords: &[[Vec2; 2]]) -> [Vec2; 2] {
    let length = trim[0].distance(trim[1]);
    let along = (trim[1] - trim[0]).unit();
    let wanted = arm(overlap) + 1.0;
    let near: Vec<[Vec2; 2]> = (chords.iter())
        .map(|c| c.map(|p| p - trim[0]))
        .map(|c| c.map(|p| vec2(p.dot(along), along.cross(p))))
        .filter(|c| c[0].y.min(c[1].y) < wanted && c[0].y.max(c[1].y) > -wanted)
        .collect();
    let clear = |s: f64| {
        let p = vec2(s, 0.0);
        near.iter()
            .map(|c| crate::geom::Segment::new(c[0], c[1], 0.0).distance(p))
            .fold(wanted, f64::min)
    };
    // Off the corner, where four pages may meet.
    let start = (overlap + ARM).min(0.25 * length);
    let seek = |at: &dyn Fn(f64) -> f64| {
        let mut best = (0.0, at(start));
        let mut s = start;
        while s <= 0.45 * length {
            let free = clear(at(s));
            if free > best.0 {
                best = (free, at(s));
            }
            if free >= wanted {
                break;
            }
            s += STEP;
        }
        best.1
    };
    let ends = [seek(&|s| s), seek(&|s| length - s)];
    ends.map(|s| trim[0] + along * s)
}

/// Length of a cross's arm in an overlap, mm.
fn arm(overlap: f64) -> f64 {
    ARM.min(0.5 * overlap - 0.5)
}

/// A cross with its ring, on the page.
pub(super) fn cross(at: Point, overlap: f64) -> Vec<Ink> {
    let (pen, arm) = (Pen::black(FINE), arm(overlap));
    let ring = Circle::new(at, RING.min(0.7 * arm)).to_path(1e-4);
    vec![
        Ink::line((at.x - arm, at.y), (at.x + arm, at.y), pen.clone()),
        Ink::line((at.x, at.y - arm), (at.x, at.y + arm), pen.clone()),
        Ink::Line { path: ring, pen },
    ]
}

/// A trim line, on the page.
pub(super) fn trim_line(a: Point, b: Point) -> Ink {
    Ink::line(a, b, Pen::grey(FINE, 90).dashed(&DASH))
}

/// The name of a neighbour along a joint: beyond the trim line, reading along
/// it. `from` and `to` are the trim line's ends on the page, `centre` how far
/// along it the middle of the name lies.
pub(super) fn joint_name(
    side: Side,
    line: [Point; 2],
    centre: f64,
    overlap: f64,
    name: &str,
) -> Ink {
    // Between the trim line and the page's edge.
    let height = SMALL.min(0.5 * overlap - 2.0).max(1.0);
    let off = 0.5 * (0.5 * overlap - height);
    let half = 0.5 * words_width(name, height);
    let [a, _] = line;
    let (at, angle) = match side {
        Side::Bottom => (Point::new(a.x + centre - half, a.y - off - height), 0.0),
        Side::Top => (Point::new(a.x + centre - half, a.y + off), 0.0),
        Side::Left => (Point::new(a.x - off, a.y + centre - half), UP),
        Side::Right => (Point::new(a.x + off + height, a.y + centre - half), UP),
    };
    Ink::Words {
        at,
        height,
        angle,
        text: name.to_owned(),
    }
}

const UP: f64 = std::f64::consts::FRAC_PI_2;

/// The box of ink with some air, mm.
pub(super) fn room_of(ink: &[Ink], air: f64) -> Option<Rect> {
    let boxes = ink.iter().map(Ink::bounds);
    boxes.reduce(|a, b| a.union(b)).map(|r| r.inflate(air, air))
}
