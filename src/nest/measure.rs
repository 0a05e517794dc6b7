//! Figures of a nested sheet for the report.

use super::model::{NestJob, NestPart, NestedSheet};
use crate::geom::{Vec2, vec2};

/// Cells along the longer side of a sheet when the largest offcut is looked
/// for. The rectangle found is free; the largest there is may be longer and
/// wider by up to three cells (12 mm on a sheet of 3658 mm).
const CELLS: f64 = 900.0;

/// A free rectangle of a sheet, sides along the sheet's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Offcut {
    /// Lower left corner, mm from the sheet's.
    pub corner: Vec2,
    /// Length along x and width along y, mm.
    pub size: Vec2,
}

/// Net area of the parts on a sheet, mm2. Parts that the job does not have
/// count for nothing.
#[must_use]
pub fn net_area(job: &NestJob, sheet: &NestedSheet) -> f64 {
    sheet
        .placed
        .iter()
        .filter_map(|p| job.parts.get(p.part))
        .map(NestPart::net_area)
        .sum()
}

/// Length of a sheet in use, mm: from its left edge to the furthest part and
/// an edge margin, no more than the sheet; 0 for a bare sheet.
#[must_use]
pub fn used_length(job: &NestJob, sheet: &NestedSheet) -> f64 {
    let far = sheet
        .placed
        .iter()
        .filter_map(|p| {
            Some(
                job.parts
                    .get(p.part)?
                    .outline
                    .placed(p.placement)
                    .bounds()
                    .1
                    .x,
            )
        })
        .fold(f64::NEG_INFINITY, f64::max);
    let length = job.sheets.get(sheet.stock).map_or(0.0, |s| s.length);
    if far.is_finite() {
        (far + job.edge_margin).clamp(0.0, length)
    } else {
        0.0
    }
}

/// The largest rectangle along the sheet's sides that keeps the gap from
/// every part and may reach the sheet's edge, by area, to the accuracy that
/// the grid gives (three cells of 1/900 of the longer side); `None` where
/// there is none of a cell.
#[must_use]
pub fn largest_offcut(job: &NestJob, sheet: &NestedSheet) -> Option<Offcut> {
    let stock = job.sheets.get(sheet.stock)?;
    let cell = stock.length.max(stock.width) / CELLS;
    let (columns, rows) = (whole(stock.length / cell), whole(stock.width / cell));
    if columns == 0 || rows == 0 {
        return None;
    }
    // Whole cells from edge to edge, a little longer than square.
    let cell = vec2(stock.length / columns as f64, stock.width / rows as f64);
    let mut grid = Grid {
        cell,
        columns,
        rows,
        taken: vec![false; columns * rows],
    };
    let fine = 0.1 * cell.x.min(cell.y);
    for p in &sheet.placed {
        let outline = job.parts.get(p.part)?.outline.placed(p.placement);
        grid.take(&[outline.flatten(fine)], job.gap);
    }
    if let Some(region) = &stock.shape {
        // What is no plate: the box, less the ground.
        let corners = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)];
        let frame = corners.map(|(x, y)| vec2(x * stock.length, y * stock.width));
        let mut rings = vec![frame.to_vec()];
        rings.extend(region.profiles().map(|p| p.flatten(fine)));
        grid.take(&rings, 0.0);
    }
    grid.largest()
}

/// A count of whole cells, a last cell cut short by rounding counted in.
pub(super) fn whole(cells: f64) -> usize {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to 0..=100,000"
    )]
    let n = (cells + 1e-9).floor().clamp(0.0, 100_000.0) as usize;
    n
}

struct Grid {
    /// Sides of a cell, mm.
    cell: Vec2,
    columns: usize,
    rows: usize,
    taken: Vec<bool>,
}

impl Grid {
    /// Takes every cell with a point inside the polygons (even-odd) or within
    /// `gap` of their edges.
    fn take(&mut self, polygons: &[Vec<Vec2>], gap: f64) {
        // Whole edges are covered by squares around points half a cell apart;
        // the flattening's error (a tenth of a cell) is in the reach too.
        let cell = self.cell.x.min(self.cell.y);
        let reach = gap + 0.4 * cell;
        let sides = || {
            polygons
                .iter()
                .flat_map(|p| p.iter().zip(p.iter().cycle().skip(1)))
        };
        for (&a, &b) in sides() {
            let steps = whole(a.distance(b) / (0.5 * cell)) + 1;
            for k in 0..=steps {
                self.take_square(a.lerp(b, k as f64 / steps as f64), reach);
            }
        }
        // Cells whose middle line passes inside.
        for row in 0..self.rows {
            let y = (row as f64 + 0.5) * self.cell.y;
            let mut cuts: Vec<f64> = sides()
                .filter(|(a, b)| (a.y > y) != (b.y > y))
                .map(|(a, b)| a.x + (y - a.y) * (b.x - a.x) / (b.y - a.y))
                .collect();
            cuts.sort_by(f64::total_cmp);
            for pair in cuts.chunks_exact(2) {
                let middle = vec2(0.5 * (pair[0] + pair[1]), y);
                self.take_box(middle, vec2(0.5 * (pair[1] - pair[0]), 0.0));
            }
        }
    }

    fn take_square(&mut self, at: Vec2, reach: f64) {
        self.take_box(at, vec2(reach, reach));
    }

    fn take_box(&mut self, at: Vec2, half: Vec2) {
        let (lo, hi) = (at - half, at + half);
        if hi.x < 0.0 || hi.y < 0.0 {
            return;
        }
        let (lo, hi) = (
            vec2(lo.x / self.cell.x, lo.y / self.cell.y),
            vec2(hi.x / self.cell.x, hi.y / self.cell.y),
        );
        let (c0, c1) = (whole(lo.x), whole(hi.x).min(self.columns - 1));
        let (r0, r1) = (whole(lo.y), whole(hi.y).min(self.rows - 1));
        for row in self
            .taken
            .chunks_exact_mut(self.columns)
            .take(r1 + 1)
            .skip(r0)
        {
            if c0 <= c1 {
                row[c0..=c1].fill(true);
            }
        }
    }

    /// The largest free rectangle by cells: heights of free cells row by row, and a
    /// stack of rising heights along each row.
    fn largest(&self) -> Option<Offcut> {
        let mut heights = vec![0usize; self.columns];
        let mut best: Option<(usize, [usize; 4])> = None;
        for row in 0..self.rows {
            for (c, h) in heights.iter_mut().enumerate() {
                *h = if self.taken[row * self.columns + c] {
                    0
                } else {
                    *h + 1
                };
            }
            let mut stack: Vec<(usize, usize)> = Vec::new();
            for c in 0..=self.columns {
                let now = heights.get(c).copied().unwrap_or(0);
                let mut from = c;
                while let Some(&(start, h)) = stack.last().filter(|s| s.1 >= now) {
                    stack.pop();
                    from = start;
                    let area = h * (c - start);
                    if area > best.map_or(0, |b| b.0) {
                        best = Some((area, [start, row + 1 - h, c - start, h]));
                    }
                }
                stack.push((from, now));
            }
        }
        let [x, y, w, h] = best?.1;
        Some(Offcut {
            corner: vec2(x as f64 * self.cell.x, y as f64 * self.cell.y),
            size: vec2(w as f64 * self.cell.x, h as f64 * self.cell.y),
        })
    }
}
