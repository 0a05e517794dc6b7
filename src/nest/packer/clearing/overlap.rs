//! How deep parts lie in one another.

use super::tents::Tent;
use crate::geom::Vec2;
use crate::nest::packer::chain::Piece;
use crate::nest::packer::room::SLACK;
use crate::nest::packer::shape::Turned;

/// Depths summed below this are none, mm.
pub(super) const NONE: f64 = 1e-9;

/// True where two boxes do not overlap.
fn apart(lo: Vec2, hi: Vec2, low: Vec2, high: Vec2) -> bool {
    hi.x <= low.x + SLACK
        || high.x <= lo.x + SLACK
        || hi.y <= low.y + SLACK
        || high.y <= lo.y + SLACK
}

/// Depth of overlap of two parts, mm, summed over their pieces.
pub(super) fn depth(a: &Turned, at: Vec2, b: &Turned, to: Vec2, work: &mut u64) -> f64 {
    if apart(
        a.grown.0 + at,
        a.grown.1 + at,
        b.grown.0 + to,
        b.grown.1 + to,
    ) {
        return 0.0;
    }
    pieces_depth((&a.pieces, at), (&b.pieces, to), work)
}

/// Depth of overlap of two sets of pieces, mm, summed.
pub(super) fn pieces_depth(
    (a, at): (&[Piece], Vec2),
    (b, to): (&[Piece], Vec2),
    work: &mut u64,
) -> f64 {
    let mut sum = 0.0;
    for p in a {
        for q in b {
            if apart(p.lo + at, p.hi + at, q.lo + to, q.hi + to) {
                continue;
            }
            let tent = Tent::between(
                (p, at.x),
                (q, to),
                (f64::NEG_INFINITY, f64::INFINITY),
                1.0,
                work,
            );
            let d = tent.map_or(0.0, |t| t.depth(at.y));
            if d > NONE {
                sum += d;
            }
        }
    }
    sum
}
