//! Room for words on a drawing: none lies on another, and as few lines as may
//! be pass under them.

use kurbo::{BezPath, ParamCurve, ParamCurveArclen, Point, Rect, Vec2};

use crate::drawing::floor::{Stand, Tag};
use crate::geom::trig;
use crate::page::model::Ink;

/// Size of the cells that know of lines, mm.
const CELL: f64 = 0.5;
/// Air about words, mm.
const AIR: f64 = 0.5;
/// From a place to the words beside it, mm.
const GAP: f64 = 0.8;
/// Words further from their place than this have a line that leads to it, mm.
const LED: f64 = 2.2;
/// Steps of distance and of direction in which room is looked for.
const STEP: f64 = 0.8;
const TURN_DEG: f64 = 15.0;
/// What it costs, in mm of distance: half a turn away from where words should
/// stand, and lines under all of them.
const AWAY: f64 = 8.0;
const OVER_LINES: f64 = 60.0;
/// Words are looked for as far as this from their place, mm: further off none
/// would find them.
const FAR: f64 = 80.0;
/// How far away words that may be left out are looked for, mm, and the most
/// that their place may cost.
const NEAR: (f64, f64) = (4.0, 8.0);

/// Words where they found room.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Placed {
    pub(super) words: Ink,
    /// From their place to them, where they stand off.
    pub(super) leader: Option<[Point; 2]>,
}

/// A room that fills up.
#[derive(Debug)]
pub(super) struct Room {
    edge: Rect,
    columns: usize,
    lines: Vec<bool>,
    /// Cells that words or the air about them touch.
    taken: Vec<bool>,
    boxes: Vec<Rect>,
    leaders: Vec<[Point; 2]>,
}

impl Room {
    pub(super) fn new(edge: Rect) -> Self {
        let columns = cells(edge.width()) + 1;
        Self {
            edge,
            columns,
            lines: vec![false; columns * (cells(edge.height()) + 1)],
            taken: vec![false; columns * (cells(edge.height()) + 1)],
            boxes: Vec::new(),
            leaders: Vec::new(),
        }
    }

    /// Knows of a line.
    pub(super) fn line(&mut self, path: &BezPath) {
        for segment in path.segments() {
            let n = (segment.arclen(0.1) / CELL).ceil().max(1.0);
            let mut k = 0.0;
            while k <= n {
                if let Some(cell) = self.cell(segment.eval(k / n)) {
                    self.lines[cell] = true;
                }
                k += 1.0;
            }
        }
    }

    fn cell(&self, p: Point) -> Option<usize> {
        if !self.edge.contains(p) {
            return None;
        }
        let (x, y) = (cells(p.x - self.edge.x0), cells(p.y - self.edge.y0));
        Some(y * self.columns + x)
    }

    /// Share of a box that lines pass.
    fn crossed(&self, r: Rect) -> f64 {
        let (mut on, mut all) = (0.0, 0.0);
        let mut y = r.y0 + 0.5 * CELL;
        while y < r.y1 {
            let mut x = r.x0 + 0.5 * CELL;
            while x < r.x1 {
                all += 1.0;
                let cell = self.cell(Point::new(x, y));
                on += if cell.is_some_and(|c| self.lines[c]) {
                    1.0
                } else {
                    0.0
                };
                x += CELL;
            }
            y += CELL;
        }
        on / f64::max(all, 1.0)
    }

    /// Cells that a box touches.
    fn touched(&self, r: Rect) -> impl Iterator<Item = usize> + use<> {
        let r = r.intersect(self.edge);
        let at = |x: f64, y: f64| (cells(x - self.edge.x0), cells(y - self.edge.y0));
        let ((left, low), (right, high)) = (at(r.x0, r.y0), at(r.x1, r.y1));
        let columns = self.columns;
        (low..=high).flat_map(move |y| (left..=right).map(move |x| y * columns + x))
    }

    fn free(&self, r: Rect) -> bool {
        let inside = self.edge.contains(Point::new(r.x0, r.y0))
            && self.edge.contains(Point::new(r.x1, r.y1));
        inside
            && !self.touched(r).any(|c| self.taken[c])
            && !self.leaders.iter().any(|l| meets(*l, r))
    }

    fn take(&mut self, r: Rect) {
        for cell in self.touched(r.inflate(AIR, AIR)) {
            self.taken[cell] = true;
        }
        self.boxes.push(r);
    }

    /// What a box costs as the place of words that belong to `at`, from what its
    /// distance costs and what lines under all of it do; `None` where it is not
    /// free or costs no less than the bound.
    fn cost(
        &self,
        at: Point,
        r: Rect,
        (cost, bound): (f64, f64),
        (lines, clear): (f64, bool),
    ) -> Option<f64> {
        if cost >= bound || !self.free(r) {
            return None;
        }
        let barred =
            clear && leader(at, r).is_some_and(|l| self.boxes.iter().any(|b| meets(l, *b)));
        let cost = cost + lines * self.crossed(r);
        (!barred && cost < bound).then_some(cost)
    }

    /// Puts words that have their place; nothing else comes there.
    pub(super) fn fixed(&mut self, tag: &Tag, at: Point) -> Ink {
        let words = Ink::words(at, tag.height, tag.text.clone());
        self.take(words.bounds());
        words
    }

    /// Finds room for words by a place; `None` where they are left out. Where
    /// all ways to their place are barred, the line that leads there passes
    /// under other words.
    pub(super) fn find(&mut self, tag: &Tag, at: Point) -> Option<Placed> {
        let may = matches!(tag.stand, Stand::MayBy(_));
        let found = self.seek(tag, at, true);
        found.or_else(|| self.seek(tag, at, false).filter(|_| !may))
    }

    fn seek(&mut self, tag: &Tag, at: Point, clear: bool) -> Option<Placed> {
        let (toward, most) = match tag.stand {
            Stand::On | Stand::Over | Stand::At | Stand::Cell(..) => (None, f64::INFINITY),
            Stand::By(way) => (Some(way), f64::INFINITY),
            Stand::MayBy(way) => (Some(way), NEAR.1),
        };
        let far = if most.is_finite() { NEAR.0 } else { FAR };
        let lines = if tag.stand == Stand::Over {
            0.0
        } else {
            OVER_LINES
        };
        let size = Ink::words((0.0, 0.0), tag.height, tag.text.clone()).bounds();
        let half = size.size().to_vec2() / 2.0;
        let mut best: Option<(f64, Point)> = None;
        let consider = |best: &mut Option<(f64, Point)>, cost: f64, centre: Point| {
            let r = size - size.center().to_vec2() + centre.to_vec2();
            let bound = best.map_or(most, |b| b.0);
            if let Some(cost) = self.cost(at, r, (cost, bound), (lines, clear)) {
                *best = Some((cost, centre));
            }
        };
        if toward.is_none() {
            consider(&mut best, 0.0, at);
        }
        let first = toward.map_or(Vec2::new(0.0, 1.0), |w| Vec2::new(w.x, w.y));
        let mut r = 0.0;
        while r <= far && best.is_none_or(|b| b.0 > r) {
            let mut turn = 0.0;
            while turn <= 180.0 {
                for sign in [1.0, -1.0] {
                    let a = f64::to_radians(sign * turn);
                    let (c, s) = (trig::cos(a), trig::sin(a));
                    let way = Vec2::new(c * first.x - s * first.y, s * first.x + c * first.y);
                    // Words on their place go off it evenly, others as far as
                    // their box reaches back.
                    let (away, reach) = if toward.is_some() {
                        let reach = (half.x / way.x.abs()).min(half.y / way.y.abs());
                        (AWAY * turn / 180.0, reach + GAP)
                    } else {
                        (0.0, 0.0)
                    };
                    consider(&mut best, r + away, at + way * (reach + r));
                }
                turn += TURN_DEG;
            }
            r += STEP;
        }
        let (_, centre) = best?;
        let corner = centre - size.center().to_vec2();
        let words = Ink::words(corner.to_vec2().to_point(), tag.height, tag.text.clone());
        let edge = words.bounds();
        let leader = leader(at, edge);
        self.take(edge);
        self.leaders.extend(leader.filter(|_| clear));
        Some(Placed { words, leader })
    }
}

/// Whole cells of a length.
fn cells(mm: f64) -> usize {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped; a page is metres at most"
    )]
    let n = (mm / CELL).floor().clamp(0.0, 1e5) as usize;
    n
}

/// The line that leads from a place to a box which stands off it.
fn leader(at: Point, r: Rect) -> Option<[Point; 2]> {
    let to = Point::new(at.x.clamp(r.x0, r.x1), at.y.clamp(r.y0, r.y1));
    (at.distance(to) > LED).then_some([at, to])
}

/// True where a line passes a box.
fn meets([a, b]: [Point; 2], r: Rect) -> bool {
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    let d = b - a;
    for (at, step, lo, hi) in [(a.x, d.x, r.x0, r.x1), (a.y, d.y, r.y0, r.y1)] {
        if step.abs() < 1e-9 {
            if at < lo || at > hi {
                return false;
            }
            continue;
        }
        let (p, q) = ((lo - at) / step, (hi - at) / step);
        from = from.max(p.min(q));
        to = to.min(p.max(q));
    }
    from < to
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::vec2;

    fn overlap(a: &Rect, b: &Rect) -> bool {
        a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1
    }

    fn tag(text: &str, stand: Stand) -> Tag {
        Tag {
            text: text.to_owned(),
            height: 2.6,
            at: vec2(0.0, 0.0),
            stand,
        }
    }

    #[test]
    fn words_at_one_place_stand_about_it_and_are_led_there() {
        let mut room = Room::new(Rect::new(0.0, 0.0, 60.0, 40.0));
        let (at, up) = (Point::new(30.0, 20.0), Stand::By(vec2(0.0, 1.0)));
        let all: Vec<Placed> = (0..12)
            .map(|k| room.find(&tag(&format!("{k}P"), up), at).expect("room"))
            .collect();
        for (k, a) in all.iter().enumerate() {
            let r = a.words.bounds();
            assert!(r.x0 >= 0.0 && r.y0 >= 0.0 && r.x1 <= 60.0 && r.y1 <= 40.0);
            assert_eq!(a.leader, leader(at, r));
            for b in &all[..k] {
                assert!(!overlap(&r, &b.words.bounds()), "{a:?} {b:?}");
                assert!(!a.leader.is_some_and(|l| meets(l, b.words.bounds())));
                assert!(!b.leader.is_some_and(|l| meets(l, r)));
            }
        }
        assert!(all[0].leader.is_none() && all[11].leader.is_some());
        // Where every way there is barred, words are there all the same.
        let on = tag("1C", Stand::On);
        let mut room = Room::new(Rect::new(0.0, 0.0, 60.0, 40.0));
        assert!((0..20).all(|_| room.find(&on, at).is_some()));
    }

    #[test]
    fn words_that_may_be_left_out_are_where_all_is_full() {
        let mut room = Room::new(Rect::new(0.0, 0.0, 40.0, 10.0));
        let up = Stand::MayBy(vec2(0.0, 1.0));
        let at = Point::new(20.0, 3.0);
        assert!(room.find(&tag("P12", up), at).is_some());
        while room.find(&tag("P12", Stand::On), at).is_some() {}
        assert!(room.find(&tag("P13", up), at).is_none());
    }

    #[test]
    fn words_keep_off_lines_where_they_can() {
        let mut room = Room::new(Rect::new(0.0, 0.0, 60.0, 40.0));
        let mut path = BezPath::new();
        path.move_to((0.0, 23.0));
        path.line_to((60.0, 23.0));
        room.line(&path);
        let up = Stand::By(vec2(0.0, 1.0));
        let found = room
            .find(&tag("P12", up), Point::new(30.0, 20.0))
            .expect("room");
        let r = found.words.bounds();
        assert!(r.y0 > 23.0 || r.y1 < 23.0, "{r:?}");
    }
}
