//! Where a page has room for what is put beside the drawing: a raster of what
//! is drawn, asked for the place of a box that covers the least of it.

use kurbo::{BezPath, ParamCurve, Point, Rect, Size};

/// Side of a cell, mm; larger where a page would have more than [`MOST`] along.
const CELL: f64 = 2.0;
const MOST: f64 = 400.0;
/// Steps between places that are tried, in cells.
const STEP: usize = 2;
/// What a cell counts that nothing may cover; others count 1.
pub(super) const BARRED: u64 = 1_000_000;

/// The raster of a page.
pub(super) struct Room {
    area: Rect,
    cell: f64,
    wide: usize,
    tall: usize,
    /// What covering a cell costs.
    taken: Vec<u64>,
}

impl Room {
    /// An empty one over an area.
    pub(super) fn new(area: Rect) -> Self {
        let cell = CELL.max(area.width().max(area.height()) / MOST);
        let (wide, tall) = (count(area.width() / cell), count(area.height() / cell));
        Self {
            area,
            cell,
            wide,
            tall,
            taken: vec![0; wide * tall],
        }
    }

    /// Takes the cells that a path runs through, each at a cost.
    pub(super) fn take_path(&mut self, path: &BezPath, cost: u64) {
        for s in path.segments() {
            let length = s.start().distance(s.end());
            // A curve of a pattern is never much longer than its chord.
            let steps = count(2.0 * length / self.cell).max(8);
            for k in 0..=steps {
                self.take_point(s.eval(k as f64 / steps as f64), cost);
            }
        }
    }

    /// Takes a box, each cell at a cost.
    pub(super) fn take_box(&mut self, r: Rect, cost: u64) {
        let (x0, x1, y0, y1) = self.cells(r);
        for y in y0..y1 {
            for cell in &mut self.taken[y * self.wide + x0..y * self.wide + x1] {
                *cell = cost.max(*cell);
            }
        }
    }

    fn take_point(&mut self, p: Point, cost: u64) {
        let (x, y) = (
            count((p.x - self.area.x0) / self.cell),
            count((p.y - self.area.y0) / self.cell),
        );
        if x < self.wide && y < self.tall {
            let cell = &mut self.taken[y * self.wide + x];
            *cell = cost.max(*cell);
        }
    }

    /// Columns and rows of the cells that a box touches.
    fn cells(&self, r: Rect) -> (usize, usize, usize, usize) {
        let low = |v: f64, most: usize| count(v / self.cell).min(most);
        let high = |v: f64, most: usize| count((v / self.cell).ceil()).min(most);
        (
            low(r.x0 - self.area.x0, self.wide),
            high(r.x1 - self.area.x0, self.wide),
            low(r.y0 - self.area.y0, self.tall),
            high(r.y1 - self.area.y0, self.tall),
        )
    }

    /// Lower left corner of the place within `within` where a box of a size
    /// covers the least, the lowest and then the leftmost of equals; and what the
    /// cells cost that it covers. `None` where it fits nowhere, or nowhere without
    /// covering what is barred.
    pub(super) fn place(&self, size: Size, within: Rect) -> Option<(Point, u64)> {
        self.least(size, within, |_| 0.0)
    }

    /// The place that is nearest to another, of those within `far` of it where a
    /// box of a size covers nothing: its lower left corner.
    pub(super) fn near(&self, centre: Point, far: f64, size: Size, within: Rect) -> Option<Point> {
        let half = size.to_vec2() / 2.0;
        let about = Rect::from_center_size(centre, size).inflate(far, far);
        let off = |corner: Point| (corner + half).distance(centre);
        let (at, covers) = self.least(size, within.intersect(about), off)?;
        (covers == 0).then_some(at)
    }

    /// The same where of places that cover as much the one with the least of
    /// `then` is taken.
    fn least(&self, size: Size, within: Rect, then: impl Fn(Point) -> f64) -> Option<(Point, u64)> {
        let (x0, x1, y0, y1) = self.cells(within.intersect(self.area));
        let (w, h) = (
            count((size.width / self.cell).ceil()) + 1,
            count((size.height / self.cell).ceil()) + 1,
        );
        if size.width > within.width() || size.height > within.height() {
            return None;
        }
        let sums = self.sums();
        let row = self.wide + 1;
        let mut best: Option<(u64, f64, Point)> = None;
        let last = |lo: usize, hi: usize, n: usize| hi.saturating_sub(n).max(lo);
        for y in (y0..=last(y0, y1, h)).step_by(STEP) {
            for x in (x0..=last(x0, x1, w)).step_by(STEP) {
                let (r, t) = ((x + w).min(self.wide), (y + h).min(self.tall));
                let covers =
                    sums[t * row + r] + sums[y * row + x] - sums[y * row + r] - sums[t * row + x];
                if covers < BARRED && best.is_none_or(|(least, ..)| covers <= least) {
                    let at = Point::new(
                        (self.area.x0 + x as f64 * self.cell).min(within.x1 - size.width),
                        (self.area.y0 + y as f64 * self.cell).min(within.y1 - size.height),
                    );
                    let at = Point::new(at.x.max(within.x0), at.y.max(within.y0));
                    let off = then(at);
                    if best.is_none_or(|(least, o, _)| covers < least || off < o) {
                        best = Some((covers, off, at));
                        if covers == 0 && off <= 0.0 {
                            return Some((at, 0));
                        }
                    }
                }
            }
        }
        best.map(|(covers, _, at)| (at, covers))
    }

    /// Costs of the cells below and left of every corner.
    fn sums(&self) -> Vec<u64> {
        let row = self.wide + 1;
        let mut out = vec![0; row * (self.tall + 1)];
        for y in 0..self.tall {
            let mut line = 0;
            for x in 0..self.wide {
                line += self.taken[y * self.wide + x];
                out[(y + 1) * row + x + 1] = out[y * row + x + 1] + line;
            }
        }
        out
    }
}

/// A whole number of cells, nought where it is below.
fn count(v: f64) -> usize {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "not below nought, and of a page's cells"
    )]
    let n = v.max(0.0) as usize;
    n
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_box_is_put_where_nothing_is_drawn() {
        let area = Rect::new(10.0, 10.0, 200.0, 287.0);
        let mut room = Room::new(area);
        let mut line = BezPath::new();
        line.move_to((10.0, 60.0));
        line.line_to((200.0, 60.0));
        room.take_path(&line, 1);
        room.take_box(Rect::new(10.0, 10.0, 200.0, 30.0), 1);
        let size = Size::new(100.0, 28.0);
        let (at, covers) = room.place(size, area).unwrap();
        let put = Rect::from_origin_size(at, size);
        assert_eq!(covers, 0);
        assert!(put.y0 >= 30.0 && put.y1 <= 60.0, "{put}");
        // Higher than the space between: above the line.
        let (at, _) = room.place(Size::new(100.0, 50.0), area).unwrap();
        assert!(at.y >= 60.0);
        // Nearest to a place: just above the line, as what is below is too low.
        let tall = Size::new(20.0, 35.0);
        let at = room
            .near(Point::new(100.0, 60.0), 30.0, tall, area)
            .unwrap();
        assert!(
            at.y >= 60.0 && at.y < 66.0 && (at.x - 90.0).abs() <= 4.0,
            "{at}"
        );
        assert!(
            room.near(Point::new(100.0, 60.0), 10.0, tall, area)
                .is_none()
        );
        // Nowhere free: the least covered, and nothing that is barred.
        let (at, covers) = room.place(Size::new(190.0, 270.0), area).unwrap();
        assert!(covers > 0 && at.y >= 10.0 && at.y + 270.0 <= 287.0);
        assert!(room.place(Size::new(191.0, 10.0), area).is_none());
        room.take_path(&line, BARRED);
        assert!(room.place(Size::new(190.0, 270.0), area).is_none());
        assert!(room.place(Size::new(100.0, 50.0), area).is_some());
    }
}
