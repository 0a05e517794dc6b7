//! Parallels of closed profiles, arcs kept as arcs, and crossings, by the
//! `cavalier_contours` crate.
//!
//! The crate's offset is sound only for a profile that does not cross itself
//! (a bowtie gives rubbish): [`offset`] refuses one. Its trigonometry is the
//! platform's, which may differ in the last digit, so what it gives is
//! rounded to a nanometre (`GRID`).

use cavalier_contours::polyline::{
    PlineCreation, PlineSource, PlineSourceMut, PlineVertex, Polyline,
};

use super::outline::Outline;
use super::segment::Vertex;
use super::vector::vec2;

/// Places are rounded to this, mm: a thousandth of what any table moves, and
/// a thousand times the rounding of sums in a sheet's coordinates. Coarser, an
/// arc's ends would leave its circle by more than a clearance test forgives.
const GRID: f64 = 1e-6;
/// Bulges are rounded to this: an arc with a chord of 4 m moves by 2e-9 mm.
const BULGE_GRID: f64 = 1e-12;
/// Points closer than this are one, mm: below it, a piece is rounding.
const SAME: f64 = 1e-5;

fn pline(outline: &Outline) -> Polyline {
    let mut out = Polyline::with_capacity(outline.vertices.len(), true);
    for v in &outline.vertices {
        out.add_vertex(PlineVertex::new(v.at.x, v.at.y, v.bulge));
    }
    // A piece of no length would be taken for a crossing.
    out.remove_repeat_pos(SAME).unwrap_or(out)
}

/// Rounded to a grid; minus nought becomes nought.
fn rounded(v: f64, grid: f64) -> f64 {
    (v / grid).round() * grid + 0.0
}

fn outline(pline: &Polyline) -> Outline {
    let spare = pline.remove_redundant(SAME);
    let vertices = spare
        .as_ref()
        .unwrap_or(pline)
        .iter_vertexes()
        .map(|v| {
            let at = vec2(rounded(v.x, GRID), rounded(v.y, GRID));
            Vertex::new(at, rounded(v.bulge, BULGE_GRID))
        })
        .collect();
    Outline { vertices }
}

/// True where a profile crosses or touches itself.
#[must_use]
pub fn crosses_itself(profile: &Outline) -> bool {
    pline(profile).scan_for_self_intersect()
}

/// True where two profiles cross or touch.
#[must_use]
pub fn cross(a: &Outline, b: &Outline) -> bool {
    let (lo, hi) = a.bounds();
    let (low, high) = b.bounds();
    if lo.x > high.x || low.x > hi.x || lo.y > high.y || low.y > hi.y {
        return false;
    }
    let found = pline(a).find_intersects(&pline(b));
    !found.basic_intersects.is_empty() || !found.overlapping_intersects.is_empty()
}

/// The profile moved outward by `by` mm (inward where negative), seen from
/// the ground it bounds: an outer profile (counter-clockwise) grows, a hole
/// (clockwise) grows too. Round joins at corners that open, arcs exact. No
/// profile where nothing is left; more than one where a neck closes. `None` of a
/// profile that crosses itself, or where a figure is not finite.
#[must_use]
pub fn offset(profile: &Outline, by: f64) -> Option<Vec<Outline>> {
    if !by.is_finite() || !profile.is_finite() || crosses_itself(profile) {
        return None;
    }
    if by == 0.0 {
        return Some(vec![profile.clone()]);
    }
    let line = pline(profile);
    // The crate's offset is to the left of travel, where the ground of a
    // counter-clockwise profile lies.
    let left = if profile.area() >= 0.0 { -by } else { by };
    // A loop turned the other way is what the crate leaves of a corner that
    // folded over.
    let turned = |o: &Outline| o.vertices.len() >= 2 && (o.area() > 0.0) == (profile.area() > 0.0);
    let loops = line.parallel_offset(left);
    Some(loops.iter().map(outline).filter(turned).collect())
}
