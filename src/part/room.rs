//! Where there is room on a part: the outline in bins along x, obstacles in a
//! grid, and boxes asked against them.

use crate::geom::outline::polygon_contains;
use crate::geom::{Outline, Vec2, vec2};

/// Width of a bin, mm: about the length of a short word, so that a question
/// touches a few bins with a few obstacles each.
const BIN: f64 = 40.0;
/// Side of a cell of the grid, mm: less than a word, so that a box that is in
/// the way of many finds one at once, and a box between two rows of ticks
/// asks neither.
const CELL: f64 = 10.0;
/// Most cells; a larger part has larger ones.
const MOST_CELLS: f64 = 250_000.0;
/// How far a turned box reaches beyond its own when it is grown, in what it is
/// grown by: its corners, 1.42.
const CORNER: f64 = 1.5;
/// Chord error, mm, of the outline as an obstacle: small against the
/// clearances kept.
const FLATTEN: f64 = 0.05;

/// A turned box: a line of text, a block of lines.
#[derive(Debug, Clone, Copy)]
pub(super) struct Block {
    /// Middle, mm.
    pub(super) centre: Vec2,
    /// Unit direction of reading.
    pub(super) along: Vec2,
    /// Half length and half height, mm.
    pub(super) half: Vec2,
}

impl Block {
    /// A place in the part of a place in the box from its lower left corner.
    pub(super) fn place(&self, p: Vec2) -> Vec2 {
        let q = p - self.half;
        self.centre + self.along * q.x + self.along.left() * q.y
    }

    /// True where all of it lies inside a convex area.
    pub(super) fn lies_in(&self, corners: &[Vec2]) -> bool {
        let size = self.half * 2.0;
        let own = [vec2(0.0, 0.0), vec2(size.x, 0.0), size, vec2(0.0, size.y)];
        own.iter()
            .all(|&c| polygon_contains(corners, self.place(c)))
    }

    fn local(&self, p: Vec2) -> Vec2 {
        let v = p - self.centre;
        vec2(v.dot(self.along), self.along.cross(v))
    }

    /// Least and greatest x.
    fn span(&self, grow: f64) -> (f64, f64) {
        let r = self.along.x.abs() * self.half.x + self.along.y.abs() * self.half.y + grow;
        (self.centre.x - r, self.centre.x + r)
    }

    /// Lower left and upper right.
    fn bounds(&self) -> (Vec2, Vec2) {
        let (x, y) = (self.along.x.abs(), self.along.y.abs());
        let r = vec2(
            x * self.half.x + y * self.half.y,
            y * self.half.x + x * self.half.y,
        );
        (self.centre - r, self.centre + r)
    }

    /// True where the box, grown by `clear`, holds some of the line a-b.
    fn meets_line(&self, a: Vec2, b: Vec2, clear: f64) -> bool {
        let (p, q) = (self.local(a), self.local(b));
        let h = self.half + vec2(clear, clear);
        let (mut from, mut to) = (0.0_f64, 1.0_f64);
        for (s, d, h) in [(p.x, q.x - p.x, h.x), (p.y, q.y - p.y, h.y)] {
            if d == 0.0 {
                if s.abs() > h {
                    return false;
                }
            } else {
                let (u, v) = ((-h - s) / d, (h - s) / d);
                from = from.max(u.min(v));
                to = to.min(u.max(v));
            }
        }
        from <= to
    }

    fn meets_disc(&self, centre: Vec2, radius: f64) -> bool {
        let p = self.local(centre);
        let outside = vec2(
            (p.x.abs() - self.half.x).max(0.0),
            (p.y.abs() - self.half.y).max(0.0),
        );
        outside.length() < radius
    }

    /// Separating-axis test of two boxes with a gap between.
    fn meets_block(&self, o: &Self, clear: f64) -> bool {
        let d = o.centre - self.centre;
        let axes = [self.along, self.along.left(), o.along, o.along.left()];
        axes.into_iter().all(|axis| {
            let reach = |b: &Self| {
                b.half.x * b.along.dot(axis).abs() + b.half.y * b.along.left().dot(axis).abs()
            };
            d.dot(axis).abs() < reach(self) + reach(o) + clear
        })
    }
}

/// Items filed by the bins along x that they touch.
#[derive(Debug)]
struct Bins<T> {
    origin: f64,
    bins: Vec<Vec<T>>,
}

impl<T: Copy> Bins<T> {
    fn new(lo: f64, hi: f64) -> Self {
        let mut bins = Self {
            origin: lo,
            bins: Vec::new(),
        };
        // 4,000 bins are 160 m of plate.
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "clamped to a small positive number"
        )]
        let n = ((hi - lo) / BIN).ceil().clamp(1.0, 4000.0) as usize;
        bins.bins.resize_with(n, Vec::new);
        bins
    }

    fn range(&self, span: (f64, f64)) -> std::ops::RangeInclusive<usize> {
        let last = self.bins.len() - 1;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "clamped to the bins there are"
        )]
        let bin = |x: f64| ((x - self.origin) / BIN).floor().clamp(0.0, last as f64) as usize;
        let first = bin(span.0);
        first..=bin(span.1).max(first)
    }

    fn add(&mut self, span: (f64, f64), item: T) {
        let range = self.range(span);
        for bin in &mut self.bins[range] {
            bin.push(item);
        }
    }

    fn any(&self, span: (f64, f64), test: impl Fn(&T) -> bool) -> bool {
        self.bins[self.range(span)]
            .iter()
            .any(|bin| bin.iter().any(&test))
    }
}

/// The outline, for asking what lies inside it and how far from it.
#[derive(Debug)]
pub(super) struct Profile {
    lines: Bins<(Vec2, Vec2)>,
    pub(super) bounds: (Vec2, Vec2),
}

impl Profile {
    pub(super) fn new(outline: &Outline) -> Self {
        let bounds = outline.bounds();
        let mut lines = Bins::new(bounds.0.x, bounds.1.x);
        let points = outline.flatten(FLATTEN);
        for (i, &a) in points.iter().enumerate() {
            let b = points[(i + 1) % points.len()];
            lines.add((a.x.min(b.x), a.x.max(b.x)), (a, b));
        }
        Self { lines, bounds }
    }

    /// Even-odd test along an upright ray.
    pub(super) fn inside(&self, p: Vec2) -> bool {
        let mut inside = false;
        for bin in &self.lines.bins[self.lines.range((p.x, p.x))] {
            for &(a, b) in bin {
                if (a.x > p.x) != (b.x > p.x) && p.y < a.y + (p.x - a.x) * (b.y - a.y) / (b.x - a.x)
                {
                    inside = !inside;
                }
            }
        }
        inside
    }

    /// True where a box lies inside, `clear` mm from the outline or more.
    pub(super) fn holds(&self, block: &Block, clear: f64) -> bool {
        !self
            .lines
            .any(block.span(clear), |&(a, b)| block.meets_line(a, b, clear))
            && self.inside(block.centre)
    }

    /// True where a disc lies inside.
    pub(super) fn holds_disc(&self, centre: Vec2, radius: f64) -> bool {
        !self
            .lines
            .any((centre.x - radius, centre.x + radius), |&(a, b)| {
                distance_to_line(centre, a, b) < radius
            })
            && self.inside(centre)
    }
}

/// Distance of a point from a straight piece, mm.
pub(super) fn distance_to_line(p: Vec2, a: Vec2, b: Vec2) -> f64 {
    let d = b - a;
    let f = ((p - a).dot(d) / d.dot(d)).clamp(0.0, 1.0);
    // A piece without length gives 0/0, which clamp keeps: take its end.
    if f.is_nan() {
        return p.distance(a);
    }
    p.distance(a + d * f)
}

/// A line as a flat box.
pub(super) fn line_block(a: Vec2, b: Vec2) -> Block {
    let along = if a == b {
        vec2(1.0, 0.0)
    } else {
        (b - a).unit()
    };
    Block {
        centre: a.lerp(b, 0.5),
        along,
        half: vec2(0.5 * a.distance(b), 0.0),
    }
}

/// A thing to keep off, with the distance to keep.
#[derive(Debug, Clone, Copy)]
enum Obstacle {
    Disc(Vec2, f64),
    Line(Vec2, Vec2, f64),
    Block(Block, f64),
    /// What a doubler hides.
    Hidden(Block),
}

impl Obstacle {
    /// Lower left and upper right of the places that it keeps free.
    fn bounds(&self) -> (Vec2, Vec2) {
        let ((lo, hi), clear) = match *self {
            Self::Disc(c, r) => ((c, c), r),
            Self::Line(a, b, clear) => (line_block(a, b).bounds(), clear * CORNER),
            Self::Block(block, clear) => (block.bounds(), clear * CORNER),
            Self::Hidden(block) => (block.bounds(), 0.0),
        };
        let grow = vec2(clear, clear);
        (lo - grow, hi + grow)
    }

    /// True where it is in a box's way; what a doubler hides is not where
    /// letters may go `under`.
    fn meets(&self, block: &Block, under: bool) -> bool {
        match *self {
            Self::Disc(c, r) => block.meets_disc(c, r),
            Self::Line(a, b, clear) => block.meets_line(a, b, clear),
            Self::Block(ref other, clear) => block.meets_block(other, clear),
            Self::Hidden(ref other) => !under && block.meets_block(other, 0.0),
        }
    }
}

/// What stands in the way within the outline, filed by the cells it touches.
#[derive(Debug)]
pub(super) struct Field {
    /// True where letters may go under doublers.
    pub(super) under: bool,
    /// Room kept until it is wanted, and the distance to keep from it.
    pub(super) kept: Option<(Block, f64)>,
    origin: Vec2,
    cell: f64,
    /// Cells along x and y.
    count: [usize; 2],
    /// Row by row: indices into the obstacles.
    cells: Vec<Vec<u32>>,
    obstacles: Vec<Obstacle>,
}

impl Field {
    pub(super) fn new(profile: &Profile) -> Self {
        let (lo, hi) = profile.bounds;
        let size = hi - lo;
        let cell = CELL.max((size.x * size.y / MOST_CELLS).sqrt());
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "clamped to a small positive number"
        )]
        let count = [size.x, size.y].map(|s| (s / cell).ceil().clamp(1.0, MOST_CELLS) as usize);
        Self {
            under: false,
            kept: None,
            origin: lo,
            cell,
            count,
            cells: vec![Vec::new(); count[0] * count[1]],
            obstacles: Vec::new(),
        }
    }

    /// First and last cell along x and along y; what lies beyond the grid
    /// belongs to its border.
    fn range(&self, (lo, hi): (Vec2, Vec2)) -> [[usize; 2]; 2] {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "clamped to the cells there are"
        )]
        let at = |d: f64, n: usize| (d / self.cell).floor().clamp(0.0, (n - 1) as f64) as usize;
        let (lo, hi) = (lo - self.origin, hi - self.origin);
        let [nx, ny] = self.count;
        [[at(lo.x, nx), at(hi.x, nx)], [at(lo.y, ny), at(hi.y, ny)]]
    }

    fn add(&mut self, obstacle: Obstacle) {
        let Ok(index) = u32::try_from(self.obstacles.len()) else {
            return;
        };
        let [x, y] = self.range(obstacle.bounds());
        for row in y[0]..=y[1] {
            let from = row * self.count[0];
            for cell in &mut self.cells[from + x[0]..=from + x[1]] {
                cell.push(index);
            }
        }
        self.obstacles.push(obstacle);
    }

    /// Keep this far from a point.
    pub(super) fn add_disc(&mut self, centre: Vec2, radius: f64) {
        self.add(Obstacle::Disc(centre, radius));
    }

    /// Keep this far from a line.
    pub(super) fn add_line(&mut self, a: Vec2, b: Vec2, clear: f64) {
        self.add(Obstacle::Line(a, b, clear));
    }

    /// Keep this far from a box.
    pub(super) fn add_block(&mut self, block: Block, clear: f64) {
        self.add(Obstacle::Block(block, clear));
    }

    /// Keep out of a box under a doubler.
    pub(super) fn hide(&mut self, block: Block) {
        self.add(Obstacle::Hidden(block));
    }

    /// True where nothing is in the way of a box. What was in the way of the
    /// box before it is asked `first`, and is then what is in the way of this
    /// one; the box's own cells are asked from the middle of it: there most is.
    pub(super) fn free(&self, block: &Block, first: &mut Option<u32>) -> bool {
        if (self.kept).is_some_and(|(kept, clear)| block.meets_block(&kept, clear)) {
            return false;
        }
        let meets = |i: &u32| self.obstacles[*i as usize].meets(block, self.under);
        if first.as_ref().is_some_and(meets) {
            return false;
        }
        let [x, y] = self.range(block.bounds());
        let middle = x[0].midpoint(x[1]);
        let cells = (y[0]..=y[1]).flat_map(|row| {
            let from = row * self.count[0];
            let columns = (middle..=x[1]).chain(x[0]..middle);
            columns.map(move |column| &self.cells[from + column])
        });
        *first = cells.flatten().copied().find(meets);
        first.is_none()
    }
}
