//! Several parts that lie on one page together, as they were laid there.

use std::collections::BTreeSet;

use super::cover::{Cover, Field, Lines};
use crate::geom::{Vec2, vec2};

/// The one page of parts that were laid on it together: nothing is turned, and all
/// of it lies in the middle. `None` where nothing is drawn.
pub(super) fn as_laid(lines: &Lines, mut field: Field) -> Option<Cover> {
    let mut ends = lines.chords.iter().flatten().copied();
    let first = ends.next()?;
    let (lo, hi) = ends.fold((first, first), |(lo, hi): (Vec2, Vec2), p| {
        let least = vec2(lo.x.min(p.x), lo.y.min(p.y));
        (least, vec2(hi.x.max(p.x), hi.y.max(p.y)))
    });
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
