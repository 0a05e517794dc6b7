//! Pages over a drawing: fields of one size on a lattice.

use std::collections::BTreeSet;

use crate::geom::{Vec2, vec2};

/// What is covered: ink as chords, and holes, in the drawing's mm.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Lines {
    /// Chords of every line but the holes'.
    pub chords: Vec<[Vec2; 2]>,
    /// Centres and radii of holes, mm.
    pub holes: Vec<(Vec2, f64)>,
}

/// What a page shows of a drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Field {
    /// Width, mm.
    pub width: f64,
    /// Length, mm; of a roll the longest.
    pub length: f64,
    /// What neighbours both show, mm.
    pub overlap: f64,
    /// A shorter page saves paper.
    pub roll: bool,
}

/// Row, upwards from 0, and column of every page.
pub type Cells = BTreeSet<(usize, usize)>;

/// Pages over a drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Cover {
    /// Turn of the drawing, rad.
    pub turn: f64,
    /// Lower left corner of the field in row 0 and column 0, in the turned
    /// drawing's mm.
    pub origin: Vec2,
    /// Size of a field, mm.
    pub field: Field,
    /// Every page.
    pub cells: Cells,
}

/// Joints stay this far off a hole where they can, mm.
const OFF_HOLE: f64 = 1.5;

/// How good a cover is: the least is the best.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Score {
    pages: usize,
    pub(super) joints_on_holes: usize,
    /// Of a roll, whole mm.
    paper: usize,
}

impl Score {
    /// True where so many pages of a field cannot be better.
    pub(super) fn enough(&self, pages: usize, field: &Field) -> bool {
        let perfect = !field.roll && self.joints_on_holes == 0;
        pages > self.pages || pages == self.pages && perfect
    }
}

impl Field {
    /// From one to the next, mm.
    #[must_use]
    pub fn pitch(&self) -> Vec2 {
        vec2(self.width - self.overlap, self.length - self.overlap)
    }
}

impl Cover {
    /// Number of rows.
    #[must_use]
    pub fn rows(&self) -> usize {
        self.cells.iter().map(|c| c.0 + 1).max().unwrap_or(0)
    }

    /// Number of columns.
    #[must_use]
    pub fn columns(&self) -> usize {
        self.cells.iter().map(|c| c.1 + 1).max().unwrap_or(0)
    }

    /// Lower left corner of the field of a page, in the turned drawing's mm.
    #[must_use]
    pub fn corner(&self, cell: (usize, usize)) -> Vec2 {
        let pitch = self.field.pitch();
        self.origin + vec2(cell.1 as f64 * pitch.x, cell.0 as f64 * pitch.y)
    }

    /// How good it is, from holes of the turned drawing.
    pub(super) fn score(&self, holes: &[(Vec2, f64)]) -> Score {
        let joints = |&(centre, radius): &(Vec2, f64)| {
            let near = radius + OFF_HOLE;
            let of = |cell: &(usize, usize)| self.joints_near(centre, near, *cell);
            self.cells.iter().map(of).sum::<usize>()
        };
        let paper = self.cells.len() as f64 * self.field.length;
        Score {
            pages: self.cells.len(),
            joints_on_holes: holes.iter().map(joints).sum(),
            paper: if self.field.roll { count(paper) } else { 0 },
        }
    }

    /// How many of the joints right of a page and above it are nearer to a place
    /// than this, mm.
    fn joints_near(&self, at: Vec2, near: f64, (row, column): (usize, usize)) -> usize {
        let Field {
            width,
            length,
            overlap,
            ..
        } = self.field;
        let d = at - self.corner((row, column));
        let within = |v: f64, side: f64| v + near > 0.0 && v - near < side;
        let right = (d.x - width + 0.5 * overlap).abs() < near && within(d.y, length);
        let above = (d.y - length + 0.5 * overlap).abs() < near && within(d.x, width);
        usize::from(right && self.cells.contains(&(row, column + 1)))
            + usize::from(above && self.cells.contains(&(row + 1, column)))
    }
}

/// Adds the pages between groups that no joint holds together.
pub(super) fn hung(mut cells: Cells) -> Cells {
    loop {
        let groups = groups(&cells);
        let Some((first, others)) = groups.split_first() else {
            return cells;
        };
        let apart = |a: (usize, usize), b: (usize, usize)| a.0.abs_diff(b.0) + a.1.abs_diff(b.1);
        let pairs = first
            .iter()
            .flat_map(|a| others.iter().flatten().map(move |b| (*a, *b)));
        let Some((mut a, b)) = pairs.min_by_key(|(a, b)| apart(*a, *b)) else {
            return cells;
        };
        while apart(a, b) > 1 {
            if a.0 == b.0 {
                a.1 = if a.1 < b.1 { a.1 + 1 } else { a.1 - 1 };
            } else {
                a.0 = if a.0 < b.0 { a.0 + 1 } else { a.0 - 1 };
            }
            cells.insert(a);
        }
    }
}

/// Pages that hang together by an edge.
pub(super) fn groups(cells: &Cells) -> Vec<Vec<(usize, usize)>> {
    let mut left = cells.clone();
    let mut out = Vec::new();
    while let Some(first) = left.pop_first() {
        let mut group = vec![first];
        let mut k = 0;
        while let Some(&(r, c)) = group.get(k) {
            k += 1;
            let near = [
                (r + 1, c),
                (r, c + 1),
                (r.wrapping_sub(1), c),
                (r, c.wrapping_sub(1)),
            ];
            group.extend(near.into_iter().filter(|n| left.remove(n)));
        }
        out.push(group);
    }
    out
}

/// A whole number that was worked out; nought where it is below.
pub(super) fn count(v: f64) -> usize {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "whole, not below nought, and of pages or of a roll's mm"
    )]
    let n = v.max(0.0) as usize;
    n
}
