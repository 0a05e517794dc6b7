//! Several parts that lie on one page together, as they were laid there.

use std::collections::BTreeSet;

use super::cover::{Cover, Field, Lines};
use crate::geom::vec2;
use crate::geom::vector::bounds;

/// The one page of parts that were laid on it together: nothing is turned, and all
/// of it lies in the middle. `None` where nothing is drawn.
pub(super) fn as_laid(lines: &Lines, mut field: Field) -> Option<Cover> {
    if lines.chords.is_empty() {
        return None;
    }
    let (lo, hi) = bounds(lines.chords.iter().flatten().copied());
    if field.roll {
        field.length = hi.y - lo.y;
    }
    Some(Cover {
        turn: 0.0,
        origin: lo.lerp(hi, 0.5) - vec2(field.width, field.length) * 0.5,
        field,
        cells: BTreeSet::from([(0, 0)]),
    })
}
