//! Several parts that lie on one page together, as they were laid there.

use std::collections::BTreeSet;

use super::cover::{Cover, Field, Lines};
use super::tile::Pattern;
use crate::drawing::{Layer, Shape};
use crate::geom::{Outline, Vec2, vec2};

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

/// The edge of every part of a pattern, with the part's name where there are several.
pub(super) fn edges(pattern: &Pattern) -> Vec<(Option<&str>, &Outline)> {
    let edge = |layer: Layer| matches!(layer, Layer::Cut | Layer::Sheet);
    let profiles = pattern.drawing.items.iter().filter(|i| edge(i.layer));
    let outlines = profiles.filter_map(|i| match &i.shape {
        Shape::Profile(outline) => Some(outline),
        _ => None,
    });
    let name = |k: usize| pattern.shares.get(k).map(|(name, _)| name.as_str());
    outlines.enumerate().map(|(k, o)| (name(k), o)).collect()
}
