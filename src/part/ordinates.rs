//! Ordinates of both edges from the straight base line y = 0: what a shop
//! without a table lofts on the plate.

use crate::geom::outline::{Arc, arc_of};
use crate::geom::{Outline, Vec2};

use super::detailed::Ordinate;

/// Points within this of the left or right extreme, mm, belong to it.
const EXTREME: f64 = 1e-6;
/// Most ordinates of one part: a spacing far too small is widened.
const MOST: f64 = 2000.0;

/// A piece of the outline that runs one way along x.
struct Piece {
    a: Vec2,
    b: Vec2,
    /// Arc, and whether the piece lies above its centre.
    arc: Option<(Arc, bool)>,
}

impl Piece {
    fn y_at(&self, x: f64) -> f64 {
        if let Some((arc, above)) = self.arc {
            let dx = x - arc.centre.x;
            let dy = (arc.radius * arc.radius - dx * dx).max(0.0).sqrt();
            return arc.centre.y + if above { dy } else { -dy };
        }
        self.a.y + (self.b.y - self.a.y) * ((x - self.a.x) / (self.b.x - self.a.x))
    }
}

/// Ordinates every `spacing` mm from x = 0, and at the right extreme, exact
/// on the outline's lines and arcs. Where a square line meets the outline
/// more than twice, no ordinate is given.
pub(super) fn along(outline: &Outline, spacing: f64) -> Vec<Ordinate> {
    let (lo, hi) = outline.bounds();
    let length = hi.x - lo.x;
    if !(length.is_finite() && length > 0.0 && spacing > 0.0) {
        return Vec::new();
    }
    let spacing = spacing.max(length / MOST);
    let pieces = pieces(outline);
    let mut out = Vec::new();
    out.extend(extreme(&pieces, lo.x));
    let mut k = 1.0;
    // An ordinate closer to the end than a hundredth of the spacing says nothing.
    while k * spacing < length - 0.01 * spacing {
        out.extend(section(&pieces, lo.x + k * spacing));
        k += 1.0;
    }
    out.extend(extreme(&pieces, hi.x));
    out
}

/// Pieces that run one way along x: arcs are parted where they are upright.
fn pieces(outline: &Outline) -> Vec<Piece> {
    let mut out = Vec::new();
    for (a, b, bulge) in outline.pieces() {
        let Some(arc) = arc_of(a, b, bulge) else {
            out.push(Piece { a, b, arc: None });
            continue;
        };
        let mut cuts: Vec<f64> = [0.0, std::f64::consts::PI]
            .into_iter()
            .filter_map(|upright| {
                let turn = std::f64::consts::TAU;
                let f = if arc.sweep > 0.0 {
                    (upright - arc.start).rem_euclid(turn)
                } else {
                    -(arc.start - upright).rem_euclid(turn)
                } / arc.sweep;
                (f > 0.0 && f < 1.0).then_some(f)
            })
            .collect();
        cuts.sort_by(f64::total_cmp);
        cuts.push(1.0);
        let (mut f, mut from) = (0.0, a);
        for g in cuts {
            let to = if g < 1.0 { arc.point(g) } else { b };
            let above = arc.point(0.5 * (f + g)).y > arc.centre.y;
            out.push(Piece {
                a: from,
                b: to,
                arc: Some((arc, above)),
            });
            (f, from) = (g, to);
        }
    }
    out
}

fn section(pieces: &[Piece], x: f64) -> Option<Ordinate> {
    let ys: Vec<f64> = pieces
        .iter()
        .filter(|p| (p.a.x <= x) != (p.b.x <= x))
        .map(|p| p.y_at(x))
        .collect();
    match ys[..] {
        [a, b] => Some(Ordinate {
            x,
            lower: a.min(b),
            upper: a.max(b),
        }),
        _ => None,
    }
}

/// What the outline has at its left or right extreme: a corner, a straight
/// end or the crown of an arc.
fn extreme(pieces: &[Piece], x: f64) -> Option<Ordinate> {
    let ys = pieces
        .iter()
        .filter(|p| (p.a.x - x).abs() <= EXTREME)
        .map(|p| p.a.y);
    let (lower, upper) = ys.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), y| {
        (a.min(y), b.max(y))
    });
    (lower <= upper).then_some(Ordinate { x, lower, upper })
}
