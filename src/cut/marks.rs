//! What is marked on a sheet: lines and letters of the parts, crosses at the
//! centres of holes to drill.

use super::model::{Drill, Input};
use crate::geom::Vec2;

/// Strokes of a sheet's marks.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Marks {
    /// Strokes.
    pub(super) strokes: usize,
    /// Their length, mm.
    pub(super) length: f64,
    /// Way between them as they are listed, from the sheet's lower left corner, mm.
    travel: f64,
    at: Vec2,
}

impl Marks {
    /// Those of the sheet's parts, then of the holes to drill: what stands on
    /// the sheet's layer `MARK`.
    pub(super) fn of(input: &Input<'_>, drills: &[Drill]) -> Self {
        let mut marks = Self::default();
        for placed in &input.nested.placed {
            let part = input.parts.get(placed.part);
            for stroke in part.iter().flat_map(|p| &p.marks).flat_map(|m| &m.strokes) {
                marks.add(stroke.iter().map(|&p| placed.placement.apply(p)));
            }
        }
        for stroke in drills.iter().flat_map(Drill::cross) {
            marks.add(stroke.into_iter());
        }
        marks
    }

    fn add(&mut self, mut stroke: impl Iterator<Item = Vec2>) {
        let Some(first) = stroke.next() else { return };
        self.strokes += 1;
        self.travel += self.at.distance(first);
        self.at = first;
        for p in stroke {
            self.length += self.at.distance(p);
            self.at = p;
        }
    }

    /// Seconds to mark them.
    pub(super) fn time(&self, input: &Input<'_>) -> Option<f64> {
        let r = input.rules;
        Some((self.length / r.marking? + self.travel / r.travel?) * 60.0)
    }
}
