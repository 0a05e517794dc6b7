//! Which pages a drawing needs: fields of one size on a lattice, laid over
//! the turned drawing so that the fewest hold all of its ink.
//!
//! Every whole degree of half a turn is tried (the other half is the same
//! lattice upside down), and for each many shifts across. For a shift across
//! the best shift along is found exactly: the count of pages changes only
//! where an end of a stretch of ink meets the edge of a field. A shift whose
//! columns, each covered freely, already take more pages than the best is
//! given up, and so is a turn whose box takes more. Of equally few pages the
//! fewest joints across holes are taken.

use std::collections::BTreeSet;

use crate::geom::{Vec2, vec2};

/// What is covered: ink as chords, and holes, in the drawing's mm.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Lines {
    /// Chords of every line.
    pub chords: Vec<[Vec2; 2]>,
    /// How many of them, the first, are the outline's.
    pub outline: usize,
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
    /// Row, upwards from 0, and column of every page.
    pub cells: BTreeSet<(usize, usize)>,
}

/// Shifts across that are tried from either end of the drawing.
const SHIFTS: usize = 16;
/// Shifts along that are tried only to keep joints off holes.
const ASIDE: usize = 8;
/// A drawing narrower than so many overlaps is slim: it may go from page to
/// page across the corner that they share.
const SLIM: f64 = 3.0;
/// Joints stay this far off a hole where they can, mm.
const OFF_HOLE: f64 = 1.5;
/// Stretches of ink nearer than this are one, mm; and what rounding may do.
const NEAR: f64 = 1e-6;

/// How good a cover is: the least is the best.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Score {
    pages: usize,
    /// Pages that must be added, or be told, for all to hang together.
    apart: usize,
    joints_on_holes: usize,
    /// Of a roll, mm.
    paper: f64,
}

impl Score {
    const WORST: Self = Self {
        pages: usize::MAX,
        apart: 0,
        joints_on_holes: 0,
        paper: 0.0,
    };

    fn beats(&self, o: &Self) -> bool {
        let counts = |s: &Self| (s.pages, s.apart, s.joints_on_holes);
        counts(self)
            .cmp(&counts(o))
            .then(self.paper.total_cmp(&(o.paper - NEAR)))
            .is_lt()
    }

    /// True where so many pages cannot be better.
    fn enough(&self, pages: usize, field: &Field) -> bool {
        let perfect = !field.roll && self.apart == 0 && self.joints_on_holes == 0;
        pages > self.pages || pages == self.pages && perfect
    }
}

/// The fewest pages found for a drawing; `None` where it has no ink.
#[must_use]
pub fn cover(lines: &Lines, field: Field) -> Option<Cover> {
    if lines.chords.is_empty() {
        return None;
    }
    let mut best: Option<(Score, Cover)> = None;
    // The long way of a part lies along x: up the page first. What reads along x
    // stands on its head at none of these.
    let turned = |degrees: i32| Turned::new(lines, field, f64::from(degrees).to_radians());
    let mut turns: Vec<Turned> = [90].into_iter().chain(-89..90).map(turned).collect();
    let widths = turns.iter().map(|t| t.hi.x - t.lo.x);
    let slim = widths.fold(f64::INFINITY, f64::min) <= SLIM * field.overlap;
    turns.sort_by_key(|t| t.at_least(slim));
    let mut columns = Vec::new();
    for turned in turns {
        let most = best.as_ref().map_or(Score::WORST, |(s, _)| *s);
        if most.enough(turned.at_least(slim), &field) {
            break;
        }
        turned.search(&mut best, &mut columns);
    }
    best.map(|(_, cover)| cover.settled(lines))
}

/// The drawing at one turn.
struct Turned {
    chords: Vec<[Vec2; 2]>,
    outline: usize,
    holes: Vec<(Vec2, f64)>,
    lo: Vec2,
    hi: Vec2,
    field: Field,
    turn: f64,
}

/// Stretches of ink in a column, from the bottom, none touching another.
type Runs = Vec<(f64, f64)>;

impl Turned {
    fn new(lines: &Lines, field: Field, turn: f64) -> Self {
        let (along, left) = (vec2(1.0, 0.0).turned(turn), vec2(0.0, 1.0).turned(turn));
        let at = |p: Vec2| along * p.x + left * p.y;
        let chords: Vec<[Vec2; 2]> = lines.chords.iter().map(|c| c.map(at)).collect();
        let start = (
            vec2(f64::INFINITY, f64::INFINITY),
            vec2(f64::NEG_INFINITY, f64::NEG_INFINITY),
        );
        let (lo, hi) = chords.iter().flatten().fold(start, |(lo, hi), p| {
            (
                vec2(lo.x.min(p.x), lo.y.min(p.y)),
                vec2(hi.x.max(p.x), hi.y.max(p.y)),
            )
        });
        Self {
            outline: lines.outline.min(chords.len()),
            chords,
            holes: lines.holes.iter().map(|&(c, r)| (at(c), r)).collect(),
            lo,
            hi,
            field,
            turn,
        }
    }

    /// From one field to the next, mm.
    fn pitch(&self) -> Vec2 {
        pitch(&self.field)
    }

    /// Pages that the drawing takes at least: one line through all of it goes
    /// from page to page by their sides, as its other edge is further off than
    /// the corner that four pages share. Not so where it is `slim`.
    fn at_least(&self, slim: bool) -> usize {
        let (pitch, span) = (self.pitch(), self.hi - self.lo);
        let along = |span: f64, side: f64, pitch: f64| {
            count(((span - side) / pitch - NEAR).max(0.0).ceil()) + 1
        };
        let columns = along(span.x, self.field.width, pitch.x);
        let rows = along(span.y, self.field.length, pitch.y);
        if slim {
            columns.max(rows)
        } else {
            columns + rows - 1
        }
    }

    /// Tries every shift; `columns` is room to work in.
    fn search(&self, best: &mut Option<(Score, Cover)>, columns: &mut Vec<Runs>) {
        for (x0, split) in self.shifts_across() {
            let most = best.as_ref().map_or(Score::WORST, |(s, _)| *s);
            self.columns((x0, split), &self.chords[..self.outline], columns);
            if most.enough(self.least(columns), &self.field) {
                continue;
            }
            self.columns((x0, split), &self.chords, columns);
            if most.enough(self.least(columns), &self.field) {
                continue;
            }
            for y0 in self.shifts_along(columns) {
                let most = best.as_ref().map_or(Score::WORST, |(s, _)| *s);
                let pages = self.count(columns, y0, most.pages);
                if most.enough(pages, &self.field) {
                    continue;
                }
                let cells = self.cells(columns, y0);
                let score = self.score(&cells, x0, y0);
                if score.beats(&most) {
                    *best = Some((score, self.cover(&cells, x0, y0)));
                }
            }
        }
    }

    /// Left edges of the first column that are tried, mm, each with where the ink
    /// that two columns show is parted, over their overlap. They count from the
    /// drawing's left end, and from its right end as from the left of the drawing
    /// upside down.
    fn shifts_across(&self) -> Vec<(f64, f64)> {
        let (pitch, width) = (self.pitch().x, self.field.width);
        let span = self.hi.x - self.lo.x;
        if span <= width {
            return vec![(self.lo.x - 0.5 * (width - span), 0.5)];
        }
        // The last column ends where the drawing does.
        let columns = ((span - width) / pitch - NEAR).ceil();
        let end = self.hi.x - width - columns * pitch;
        let mut out = Vec::new();
        for k in 0..SHIFTS {
            let part = pitch * k as f64 / SHIFTS as f64;
            let left = self.lo.x - part;
            let right = end + part;
            let right = if right > self.lo.x {
                right - pitch
            } else {
                right
            };
            out.extend([(left, 0.5), (left, 0.0), (right, 1.0)]);
        }
        out
    }

    /// Ink of every column where the first field's left edge is at `x0`, and the
    /// ink that two columns show is parted at a fraction of their overlap.
    fn columns(&self, (x0, split): (f64, f64), chords: &[[Vec2; 2]], out: &mut Vec<Runs>) {
        let (pitch, field) = (self.pitch().x, &self.field);
        let count = count(((self.hi.x - x0 - field.width) / pitch - NEAR).ceil()) + 1;
        let first = x0 + split * field.overlap;
        let bound = |k: usize| match k {
            0 => f64::NEG_INFINITY,
            k if k == count => f64::INFINITY,
            k => first + k as f64 * pitch,
        };
        let of = |x: f64| self::count((x - first) / pitch).min(count - 1);
        out.resize_with(count, Runs::new);
        out.iter_mut().for_each(Runs::clear);
        for &[a, b] in chords {
            let (a, b) = if a.x <= b.x { (a, b) } else { (b, a) };
            for (k, runs) in out.iter_mut().enumerate().take(of(b.x) + 1).skip(of(a.x)) {
                let at = |x: f64, p: Vec2| {
                    if b.x - a.x < NEAR {
                        p.y
                    } else {
                        a.y + (b.y - a.y) * ((x - a.x) / (b.x - a.x))
                    }
                };
                let from = if a.x < bound(k) { at(bound(k), a) } else { a.y };
                let to = if b.x > bound(k + 1) {
                    at(bound(k + 1), b)
                } else {
                    b.y
                };
                runs.push((from.min(to), from.max(to)));
            }
        }
        out.iter_mut().for_each(merge);
    }

    /// Pages that the columns take at least: each covered freely.
    fn least(&self, columns: &[Runs]) -> usize {
        let free = |runs: &Runs| {
            let (mut pages, mut end) = (0, f64::NEG_INFINITY);
            let pitch = self.pitch().y;
            for &(a, b) in runs {
                if b <= end {
                    continue;
                }
                let from = a.max(end);
                // A run that goes on is shown in both; a new one begins at its edge.
                let (first, length) = if a < end {
                    (from, b - from)
                } else {
                    (from + self.field.length, b - from - self.field.length)
                };
                let more = count((length / pitch - NEAR).ceil());
                pages += more + usize::from(a >= end);
                end = first + more as f64 * pitch;
            }
            pages
        };
        columns.iter().map(free).sum()
    }

    /// Lower edges of the first row that are tried, mm: where an end of a
    /// stretch meets the edge of a field, and between those.
    fn shifts_along(&self, columns: &[Runs]) -> Vec<f64> {
        let pitch = self.pitch().y;
        let base = self.lo.y;
        let within = |y: f64| base - (base - y).rem_euclid(pitch);
        let mut ends: Vec<f64> = columns
            .iter()
            .flatten()
            .flat_map(|&(a, b)| [within(a), within(b - self.field.length)])
            .collect();
        ends.sort_by(f64::total_cmp);
        ends.dedup_by(|a, b| (*a - *b).abs() < NEAR);
        let between: Vec<f64> = ends.windows(2).map(|w| 0.5 * (w[0] + w[1])).collect();
        let aside = (0..ASIDE).map(|k| base - pitch * k as f64 / ASIDE as f64);
        ends.into_iter().chain(between).chain(aside).collect()
    }

    /// Pages that the columns take with the first row's lower edge at `y0`;
    /// more than `most` are not counted on.
    fn count(&self, columns: &[Runs], y0: f64, most: usize) -> usize {
        let mut pages = 0;
        for runs in columns {
            self.rows(runs, y0, |_| pages += 1);
            if pages > most {
                break;
            }
        }
        pages
    }

    /// Row, from below the drawing's foot, and column of every page.
    fn cells(&self, columns: &[Runs], y0: f64) -> BTreeSet<(usize, usize)> {
        let mut out = BTreeSet::new();
        for (column, runs) in columns.iter().enumerate() {
            self.rows(runs, y0, |row| {
                out.insert((row, column));
            });
        }
        out
    }

    /// Rows that show a column's ink, upwards: each the highest that shows the
    /// lowest place not yet shown.
    fn rows(&self, runs: &Runs, y0: f64, mut take: impl FnMut(usize)) {
        let (pitch, length) = (self.pitch().y, self.field.length);
        let mut end = f64::NEG_INFINITY;
        for &(a, b) in runs {
            let mut from = a.max(end);
            while b > end + NEAR || from > end {
                let row = count((from - y0) / pitch + NEAR);
                take(row);
                end = y0 + row as f64 * pitch + length;
                from = end;
            }
        }
    }

    fn score(&self, cells: &BTreeSet<(usize, usize)>, x0: f64, y0: f64) -> Score {
        let pitch = self.pitch();
        let mut joints_on_holes = 0;
        for &(centre, radius) in &self.holes {
            let near = radius + OFF_HOLE;
            for &(row, column) in cells {
                let corner = vec2(x0 + column as f64 * pitch.x, y0 + row as f64 * pitch.y);
                let far = corner + vec2(self.field.width, self.field.length);
                let (right, top) = (
                    far.x - 0.5 * self.field.overlap,
                    far.y - 0.5 * self.field.overlap,
                );
                let within = |v: f64, lo: f64, hi: f64| v + near > lo && v - near < hi;
                if cells.contains(&(row, column + 1))
                    && (centre.x - right).abs() < near
                    && within(centre.y, corner.y, far.y)
                {
                    joints_on_holes += 1;
                }
                if cells.contains(&(row + 1, column))
                    && (centre.y - top).abs() < near
                    && within(centre.x, corner.x, far.x)
                {
                    joints_on_holes += 1;
                }
            }
        }
        let rows: BTreeSet<usize> = cells.iter().map(|c| c.0).collect();
        let tall = if rows.len() == 1 {
            self.hi.y - self.lo.y
        } else {
            self.field.length
        };
        Score {
            pages: cells.len(),
            apart: groups(cells).len() - 1,
            joints_on_holes,
            paper: if self.field.roll {
                cells.len() as f64 * tall
            } else {
                0.0
            },
        }
    }

    fn cover(&self, cells: &BTreeSet<(usize, usize)>, x0: f64, y0: f64) -> Cover {
        let pitch = self.pitch();
        let row = cells.iter().map(|c| c.0).min().unwrap_or(0);
        let column = cells.iter().map(|c| c.1).min().unwrap_or(0);
        Cover {
            turn: self.turn,
            origin: vec2(x0 + column as f64 * pitch.x, y0 + row as f64 * pitch.y),
            field: self.field,
            cells: cells.iter().map(|c| (c.0 - row, c.1 - column)).collect(),
        }
    }
}

impl Cover {
    /// Pages that hang together by joints, one row or column in the middle of
    /// its paper, a roll cut where a single row ends.
    fn settled(mut self, lines: &Lines) -> Self {
        self.bridge();
        let whole = Turned::new(lines, self.field, self.turn);
        if self.rows() == 1 {
            let tall = whole.hi.y - whole.lo.y;
            if self.field.roll {
                self.field.length = tall;
            }
            self.origin.y = whole.lo.y - 0.5 * (self.field.length - tall);
        }
        if self.columns() == 1 {
            let wide = whole.hi.x - whole.lo.x;
            self.origin.x = whole.lo.x - 0.5 * (self.field.width - wide);
        }
        self
    }

    /// Adds the pages between groups that no joint holds together.
    fn bridge(&mut self) {
        loop {
            let groups = groups(&self.cells);
            let Some((first, others)) = groups.split_first() else {
                return;
            };
            let apart =
                |a: (usize, usize), b: (usize, usize)| a.0.abs_diff(b.0) + a.1.abs_diff(b.1);
            let pairs = first
                .iter()
                .flat_map(|a| others.iter().flatten().map(move |b| (*a, *b)));
            let Some((mut a, b)) = pairs.min_by_key(|(a, b)| apart(*a, *b)) else {
                return;
            };
            while apart(a, b) > 1 {
                if a.0 == b.0 {
                    a.1 = if a.1 < b.1 { a.1 + 1 } else { a.1 - 1 };
                } else {
                    a.0 = if a.0 < b.0 { a.0 + 1 } else { a.0 - 1 };
                }
                self.cells.insert(a);
            }
        }
    }

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

    /// From one field to the next, mm.
    #[must_use]
    pub fn pitch(&self) -> Vec2 {
        pitch(&self.field)
    }

    /// Lower left corner of the field of a page, in the turned drawing's mm.
    #[must_use]
    pub fn corner(&self, cell: (usize, usize)) -> Vec2 {
        let pitch = self.pitch();
        self.origin + vec2(cell.1 as f64 * pitch.x, cell.0 as f64 * pitch.y)
    }
}

fn pitch(field: &Field) -> Vec2 {
    vec2(field.width - field.overlap, field.length - field.overlap)
}

/// A whole number that was worked out; nought where it is below.
fn count(v: f64) -> usize {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "whole, not below nought, and of pages"
    )]
    let n = v.max(0.0) as usize;
    n
}

/// Sorts stretches and makes one of those that touch.
fn merge(runs: &mut Runs) {
    runs.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    runs.dedup_by(|next, last| {
        let touch = next.0 <= last.1 + NEAR;
        if touch {
            last.1 = last.1.max(next.1);
        }
        touch
    });
}

/// Pages that hang together by an edge.
fn groups(cells: &BTreeSet<(usize, usize)>) -> Vec<Vec<(usize, usize)>> {
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

#[cfg(test)]
#[path = "tests/cover.rs"]
mod tests;
