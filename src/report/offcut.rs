//! The largest rectangle left over on a sheet.
//!
//! The sheet is laid out in square cells; a cell is free where all of it lies
//! at least the gap away from every part. The largest rectangle of free cells
//! is found row by row from the heights of the free columns (the well-known
//! largest rectangle under a histogram, linear in the cells). What it finds is
//! always clear; a larger one may be missed by less than two cells a side.

use crate::geom::{Outline, Vec2, vec2};

/// Smallest side of a cell, mm. Finer finds nothing that a shop would keep.
const CELL: f64 = 5.0;
/// Most cells along the longer side; bounds the work on a very large sheet.
const MOST: f64 = 1000.0;
/// Chord error of flattened arcs, mm, added to the gap; a tenth of a cell.
const FLATTEN: f64 = 0.5;

/// A rectangle on a sheet, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rect {
    /// Lower left corner.
    pub at: Vec2,
    /// Along the sheet.
    pub length: f64,
    /// Across the sheet.
    pub width: f64,
}

/// Free cells of a sheet.
struct Cells {
    columns: usize,
    rows: usize,
    /// Size of a cell, mm.
    step: Vec2,
    taken: Vec<bool>,
}

/// Largest rectangle by area that lies on the sheet and keeps `gap` mm from
/// every outline; `None` where nothing is left.
#[must_use]
pub fn largest_offcut(length: f64, width: f64, outlines: &[Outline], gap: f64) -> Option<Rect> {
    if !(length > 0.0 && width > 0.0 && length.is_finite() && width.is_finite()) {
        return None;
    }
    let cell = CELL.max(length.max(width) / MOST);
    let columns = count(length / cell)?;
    let rows = count(width / cell)?;
    let mut cells = Cells {
        columns,
        rows,
        step: vec2(length / columns as f64, width / rows as f64),
        taken: vec![false; columns * rows],
    };
    for outline in outlines {
        let points = outline.flatten(FLATTEN);
        cells.take_edges(&points, gap + FLATTEN);
        cells.take_inside(&points);
    }
    cells.largest()
}

/// Whole cells, rounded down, between 1 and [`MOST`].
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to 1..=1000"
)]
fn count(cells: f64) -> Option<usize> {
    cells
        .is_finite()
        .then(|| cells.floor().clamp(1.0, MOST) as usize)
}

impl Cells {
    fn middle(&self, column: usize, row: usize) -> Vec2 {
        vec2(
            (column as f64 + 0.5) * self.step.x,
            (row as f64 + 0.5) * self.step.y,
        )
    }

    /// Indices of cells whose middles lie between two coordinates.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to the count of cells"
    )]
    fn span(from: f64, to: f64, step: f64, count: usize) -> std::ops::Range<usize> {
        let first = (from / step - 0.5).ceil().clamp(0.0, count as f64) as usize;
        let last = (to / step - 0.5).floor().clamp(-1.0, count as f64 - 1.0) + 1.0;
        first..(last as usize).max(first)
    }

    /// Takes cells of which any point may be nearer than `gap` to an edge.
    fn take_edges(&mut self, points: &[Vec2], gap: f64) {
        let reach = gap + self.step.length() / 2.0;
        for (i, &a) in points.iter().enumerate() {
            let b = points[(i + 1) % points.len()];
            let columns = Self::span(
                a.x.min(b.x) - reach,
                a.x.max(b.x) + reach,
                self.step.x,
                self.columns,
            );
            let rows = Self::span(
                a.y.min(b.y) - reach,
                a.y.max(b.y) + reach,
                self.step.y,
                self.rows,
            );
            for row in rows {
                for column in columns.clone() {
                    if distance(self.middle(column, row), a, b) < reach {
                        self.taken[row * self.columns + column] = true;
                    }
                }
            }
        }
    }

    /// Takes cells whose middles lie inside the polygon (even-odd).
    fn take_inside(&mut self, points: &[Vec2]) {
        for row in 0..self.rows {
            let y = self.middle(0, row).y;
            let mut crossings: Vec<f64> = Vec::new();
            for (i, &a) in points.iter().enumerate() {
                let b = points[(i + 1) % points.len()];
                if (a.y > y) != (b.y > y) {
                    crossings.push(a.x + (y - a.y) * (b.x - a.x) / (b.y - a.y));
                }
            }
            crossings.sort_by(f64::total_cmp);
            for pair in crossings.chunks_exact(2) {
                for column in Self::span(pair[0], pair[1], self.step.x, self.columns) {
                    self.taken[row * self.columns + column] = true;
                }
            }
        }
    }

    /// Largest rectangle of free cells.
    fn largest(&self) -> Option<Rect> {
        let mut heights = vec![0_usize; self.columns + 1];
        // Cells: first column, lower row, columns, rows.
        let mut best: Option<[usize; 4]> = None;
        let area = |b: &[usize; 4]| (b[2] * b[3]) as f64 * self.step.x * self.step.y;
        for row in 0..self.rows {
            // The last height stays zero: it closes what is still open.
            let taken = &self.taken[row * self.columns..(row + 1) * self.columns];
            for (height, &taken) in heights.iter_mut().zip(taken) {
                *height = if taken { 0 } else { *height + 1 };
            }
            // (first column, height), heights rising.
            let mut open: Vec<(usize, usize)> = Vec::new();
            for (column, &height) in heights.iter().enumerate() {
                let mut first = column;
                while let Some(&(from, top)) = open.last() {
                    if top <= height {
                        break;
                    }
                    let found = [from, row + 1 - top, column - from, top];
                    if best.as_ref().is_none_or(|b| area(&found) > area(b)) {
                        best = Some(found);
                    }
                    first = from;
                    open.pop();
                }
                if height > 0 && open.last().is_none_or(|&(_, top)| top < height) {
                    open.push((first, height));
                }
            }
        }
        best.map(|[column, row, columns, rows]| Rect {
            at: vec2(column as f64 * self.step.x, row as f64 * self.step.y),
            length: columns as f64 * self.step.x,
            width: rows as f64 * self.step.y,
        })
    }
}

/// Distance of a point from a line between two others, mm.
fn distance(p: Vec2, a: Vec2, b: Vec2) -> f64 {
    let along = b - a;
    let square = along.dot(along);
    let f = if square > 0.0 {
        ((p - a).dot(along) / square).clamp(0.0, 1.0)
    } else {
        0.0
    };
    p.distance(a + along * f)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn block(x: f64, y: f64, length: f64, width: f64) -> Outline {
        Outline::polygon(&[
            vec2(x, y),
            vec2(x + length, y),
            vec2(x + length, y + width),
            vec2(x, y + width),
        ])
    }

    #[test]
    fn an_empty_sheet_is_all_offcut() {
        let r = largest_offcut(3000.0, 1500.0, &[], 8.0).unwrap();
        assert!((r.length - 3000.0).abs() < 1e-9 && (r.width - 1500.0).abs() < 1e-9);
    }

    #[test]
    fn a_block_in_a_corner_leaves_the_rest_less_the_gap() {
        // 1000 x 1500 taken at the left: 2000 - 8 left, to within two cells.
        let r = largest_offcut(3000.0, 1500.0, &[block(0.0, 0.0, 1000.0, 1500.0)], 8.0).unwrap();
        assert!((r.width - 1500.0).abs() < 1e-9);
        assert!(r.length <= 1992.0 && r.length > 1992.0 - 10.0);
        assert!((r.at.x + r.length - 3000.0).abs() < 1e-9);
    }

    #[test]
    fn the_larger_of_two_spaces_is_found_wherever_the_sheet_is_turned() {
        // A block across leaves 600 and 300: the same rectangle after every
        // mirroring of the sheet.
        for (x, y) in [(0.0, 300.0), (0.0, 600.0)] {
            let r = largest_offcut(2000.0, 1000.0, &[block(x, y, 2000.0, 100.0)], 10.0).unwrap();
            assert!((r.length - 2000.0).abs() < 1e-9);
            assert!(r.width <= 590.0 && r.width > 580.0, "{r:?}");
            let r = largest_offcut(1000.0, 2000.0, &[block(y, x, 100.0, 2000.0)], 10.0).unwrap();
            assert!((r.width - 2000.0).abs() < 1e-9);
            assert!(r.length <= 590.0 && r.length > 580.0, "{r:?}");
        }
    }

    #[test]
    fn what_is_found_keeps_the_gap_from_a_turned_disc_and_block() {
        let parts = [
            Outline::circle(vec2(700.0, 500.0), 220.0),
            block(1300.0, -50.0, 300.0, 500.0).placed(crate::geom::Placement {
                turn: 0.3,
                shift: vec2(0.0, 0.0),
            }),
        ];
        let r = largest_offcut(2000.0, 1000.0, &parts, 12.0).unwrap();
        let corners = [
            r.at,
            r.at + vec2(r.length, 0.0),
            r.at + vec2(r.length, r.width),
            r.at + vec2(0.0, r.width),
        ];
        for part in &parts {
            for p in part.flatten(0.01) {
                for k in 0..4 {
                    assert!(distance(p, corners[k], corners[(k + 1) % 4]) >= 12.0);
                }
                let inside = p.x > r.at.x
                    && p.x < r.at.x + r.length
                    && p.y > r.at.y
                    && p.y < r.at.y + r.width;
                assert!(!inside);
            }
        }
    }

    #[test]
    fn a_full_sheet_leaves_nothing() {
        assert!(largest_offcut(1000.0, 500.0, &[block(0.0, 0.0, 1000.0, 500.0)], 5.0).is_none());
        assert!(largest_offcut(f64::NAN, 500.0, &[], 5.0).is_none());
    }
}
