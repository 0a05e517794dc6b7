//! The room of a sheet: where parts may lie.

use std::f64::consts::FRAC_PI_2;
use std::sync::Arc;

use geo::buffer::{Buffer, BufferStyle, LineJoin};
use geo::{Area, BooleanOps, MultiPolygon, Polygon};

use super::chain::{Piece, pieces};
use super::shape::outside;
use crate::geom::{Outline, Vec2, vec2};
use crate::job::Sheet;

/// Clearances may be short by this much, mm: a tenth of what the check lets
/// pass, and over the rounding of the grown outlines. With 0, parts that fit
/// exactly are lost to the last bit.
pub(super) const SLACK: f64 = 1e-4;
/// Curved edges of a remnant are replaced by chords and tangents this close,
/// mm, always on the plate's side.
const CURVE: f64 = 0.01;
/// Walls of less than this are rounding, mm2.
const CRUMB: f64 = 1e-3;

/// Where parts may lie on a sheet: the true outlines in a box, the grown ones
/// off the walls.
#[derive(Debug, Clone)]
pub(super) struct Room {
    pub lo: Vec2,
    pub hi: Vec2,
    /// What of the box is no plate or is under a clamp.
    pub walls: Arc<[Piece]>,
    /// Area of the walls, mm2.
    walled: f64,
}

impl Room {
    /// The room of a sheet. Parts keep `margin` from its edges, holes and
    /// clamps, mm; their outlines are grown by half of `gap`.
    pub(super) fn new(sheet: &Sheet, gap: f64, margin: f64) -> Self {
        let walls = walls(sheet, gap, margin);
        let parts = walls.iter().flat_map(|polygon| {
            let rings: Vec<Vec<Vec2>> = std::iter::once(polygon.exterior())
                .chain(polygon.interiors())
                .map(|line| {
                    let mut points: Vec<Vec2> = line.coords().map(|c| vec2(c.x, c.y)).collect();
                    points.pop();
                    points
                })
                .collect();
            pieces(&rings)
        });
        let lo = vec2(margin, margin);
        let hi = vec2(sheet.length - margin, sheet.width - margin);
        // Walls reach further than the box of true outlines.
        let boxed = geo::Rect::new((lo.x, lo.y), (hi.x, hi.y)).to_polygon();
        let walled = walls.intersection(&boxed).unsigned_area();
        Self {
            lo,
            hi,
            walls: parts.collect(),
            walled,
        }
    }

    /// Area, mm2.
    pub(super) fn area(&self) -> f64 {
        (self.hi.x - self.lo.x) * (self.hi.y - self.lo.y) - self.walled
    }
}

/// What grown outlines must not touch, inside the sheet's box. Where the
/// margin is less than half the gap, they keep half the gap from it: more
/// than they must.
fn walls(sheet: &Sheet, gap: f64, margin: f64) -> MultiPolygon {
    if sheet.shape.is_none() && sheet.clamps.is_empty() {
        return MultiPolygon::new(Vec::new());
    }
    let rectangle =
        |lo: Vec2, hi: Vec2| -> Polygon { geo::Rect::new((lo.x, lo.y), (hi.x, hi.y)).to_polygon() };
    let size = vec2(sheet.length, sheet.width);
    // Reversed, the ground is what is outside: arcs err into the plate.
    let ring = |profile: &Outline| -> geo::LineString {
        let points = outside(&profile.reversed(), CURVE);
        points.iter().map(|p| (p.x, p.y)).collect()
    };
    let mut ground: MultiPolygon = match &sheet.shape {
        None => rectangle(vec2(0.0, 0.0), size).into(),
        Some(region) => {
            let holes = region.holes.iter().map(ring).collect();
            Polygon::new(ring(&region.outer), holes).into()
        }
    };
    for zone in &sheet.clamps {
        ground = ground.difference(&rectangle(zone.lo, zone.hi));
    }
    let off = margin - 0.5 * gap;
    if off > 0.0 {
        let style = BufferStyle::new(-off).line_join(LineJoin::Miter(FRAC_PI_2));
        ground = ground.buffer_with_style(style);
    }
    // Edges along the box are the box's: nothing grown reaches further.
    let reach = off.max(0.0) + 0.5 * SLACK;
    let lo = vec2(reach, reach);
    let hi = size - lo;
    if hi.x <= lo.x || hi.y <= lo.y {
        return MultiPolygon::new(Vec::new());
    }
    let walls = MultiPolygon::from(rectangle(lo, hi)).difference(&ground);
    walls
        .into_iter()
        .filter(|w| w.unsigned_area() > CRUMB)
        .collect()
}
