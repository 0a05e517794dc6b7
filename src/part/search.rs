//! Lengths along a strip, and the search for room from a favoured place
//! outwards.

use crate::geom::{Vec2, vec2};

use super::room::Block;
use super::sheet::{EDGE_CLEAR, Rib, Sheet};

/// Places across the width, favoured first.
pub(super) const ROWS: [f64; 7] = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8];
/// Places along the strip tried on either side of the favoured one, at most.
const PLACES: f64 = 150.0;
/// Step between places tried, mm, where the strip is not too long for it.
const STEP: f64 = 6.0;
/// Rows about the favoured one that are tried first, and how far along, mm:
/// a word keeps to its line while there is room on it.
const FIRST_ROWS: usize = 3;
const FIRST_REACH: f64 = 500.0;
/// Gap before and after a word that need not lie just there, mm, as long as
/// there is room for it.
const AIR: f64 = 15.0;

/// Where to look for room.
#[derive(Debug, Clone, Copy)]
pub(super) struct Search<'a> {
    /// Favoured place along the middle of the strip, mm.
    pub(super) run: f64,
    /// First and last distance from it, mm.
    pub(super) reach: (f64, f64),
    /// Places across, as fractions of the width.
    pub(super) rows: &'a [f64],
    /// Letters read square to the strip.
    pub(super) upright: bool,
    /// Corners of an area that holds the box; none: anywhere.
    pub(super) within: &'a [Vec2],
}

impl Search<'_> {
    /// The same, of letters that read square to the strip.
    pub(super) fn upright(self) -> Self {
        Self {
            upright: true,
            ..self
        }
    }
}

impl Sheet<'_> {
    /// Length of the strip's middle, mm.
    pub(super) fn length(&self) -> f64 {
        self.ribs.last().map_or(0.0, |r| r.run)
    }

    /// Length at a fraction from the after end to the forward one.
    pub(super) fn favoured(&self, fraction: f64) -> f64 {
        let f = if self.input.runs_aft {
            1.0 - fraction
        } else {
            fraction
        };
        self.length() * f
    }

    /// Length at t.
    pub(super) fn at_t(&self, t: f64) -> f64 {
        let [a, b] = self.about(|r| r.t < t);
        a.run + (b.run - a.run) * ((t - a.t) / (b.t - a.t))
    }

    /// The ribs on either side of a place that some of the first lie before.
    fn about(&self, before: impl Fn(&Rib) -> bool) -> [&Rib; 2] {
        let k = self.ribs.partition_point(before);
        let k = k.clamp(1, self.ribs.len() - 1);
        [&self.ribs[k - 1], &self.ribs[k]]
    }

    /// The line across at a length, outboard and inboard, and the direction of
    /// growing t.
    fn across(&self, run: f64) -> ([Vec2; 2], Vec2) {
        let [a, b] = self.about(|r| r.run < run);
        let f = (run - a.run) / (b.run - a.run).max(1e-9);
        let ends = [a.outboard.lerp(b.outboard, f), a.inboard.lerp(b.inboard, f)];
        (ends, a.along.lerp(b.along, f).unit())
    }

    /// The first of some boxes, each with where to look, that finds room.
    pub(super) fn first<'s, T>(
        &self,
        tries: impl IntoIterator<Item = (T, Vec2, Search<'s>)>,
    ) -> Option<(T, Block)> {
        tries
            .into_iter()
            .find_map(|(what, size, search)| Some((what, self.find(size, search)?)))
    }

    /// First free box of a size: near the favoured place on the favoured
    /// rows, else on any row from the favoured place outwards.
    fn find(&self, size: Vec2, search: Search) -> Option<Block> {
        let (from, to) = search.reach;
        let near = Search {
            reach: (from, to.min(from + FIRST_REACH)),
            rows: &search.rows[..search.rows.len().min(FIRST_ROWS)],
            ..search
        };
        // What is not bound to its place stands alone if it can.
        let air = if from == 0.0 && to > 0.0 { AIR } else { 0.0 };
        if air > 0.0 {
            let longer = size + vec2(2.0 * air, 0.0);
            if let Some(block) = self.find_on(longer, near) {
                let half = size * 0.5;
                return Some(Block { half, ..block });
            }
        }
        // Where the reach is no longer, the favoured rows are asked once.
        let whole = near.reach == search.reach;
        let rest = if whole { near.rows.len() } else { 0 };
        self.find_on(size, near).or_else(|| {
            let rows = &search.rows[rest..];
            self.find_on(size, Search { rows, ..search })
        })
    }

    fn find_on(&self, size: Vec2, search: Search) -> Option<Block> {
        let (from, to) = search.reach;
        let step = STEP.max(2.0 * (to - from) / PLACES);
        // Of each row, on either side, what was in the way of the last box.
        let mut in_the_way = [vec![None; search.rows.len()], vec![None; search.rows.len()]];
        let mut off = from;
        while off <= to && off.is_finite() {
            for (side, in_the_way) in [1.0, -1.0].into_iter().zip(&mut in_the_way) {
                let run = search.run + side * off;
                if !(0.0..=self.length()).contains(&run) {
                    continue;
                }
                let ([outboard, inboard], along) = self.across(run);
                let along = readable(if search.upright { along.left() } else { along });
                for (&w, first) in search.rows.iter().zip(in_the_way) {
                    let block = Block {
                        centre: outboard.lerp(inboard, w),
                        along,
                        half: size * 0.5,
                    };
                    let held = search.within.is_empty() || block.lies_in(search.within);
                    if held
                        && self.field.free(&block, first)
                        && self.profile.holds(&block, EDGE_CLEAR)
                    {
                        return Some(block);
                    }
                }
            }
            off += step;
        }
        None
    }

    /// All along the strip from a place outwards.
    pub(super) fn everywhere<'s>(&self, run: f64, rows: &'s [f64]) -> Search<'s> {
        Search {
            run,
            reach: (0.0, self.length()),
            rows,
            upright: false,
            within: &[],
        }
    }
}

/// The direction or its opposite, whichever reads from left to right; an
/// upright line reads from below.
fn readable(d: Vec2) -> Vec2 {
    if d.x > 1e-9 || (d.x >= -1e-9 && d.y > 0.0) {
        d
    } else {
        -d
    }
}
