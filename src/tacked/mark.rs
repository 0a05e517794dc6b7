//! Where the planned line passes each stanchion.

use crate::fair::{FairEdge, FairLength, Frame, frame};
use crate::geom::bspline::Spline;
use crate::geom::{Vec2, Vec3};
use crate::job::Side;
use crate::layout::Layout;

/// Steps to a foot on the line. Points within some centimetres of it need five or so; a wild one
/// is stopped here and told as lying far off.
const STEPS: usize = 60;

/// A foot is found to this, mm.
const FOOT_MM: f64 = 1e-7;

/// Where the planned top line passes a stanchion.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Name, such as `12P`.
    pub name: String,
    /// Side; `None` on the centreline at the stern.
    pub side: Option<Side>,
    /// Place for people.
    pub place: String,
    /// Index of its chain.
    pub chain: usize,
    /// Index of its smooth length in the chain.
    pub length: usize,
    /// Parameter of the top line, mm.
    pub u: f64,
    /// Outboard edge of the top plate's upper face, mm.
    pub at: Vec3,
}

/// Marks of all stanchions, along the edge.
#[must_use]
pub fn marks(edge: &FairEdge, layout: &Layout) -> Vec<Mark> {
    let mut out: Vec<Mark> = Vec::new();
    for s in &layout.stanchions {
        let Some(chain) = edge.chains.get(s.chain) else {
            continue;
        };
        // Lengths follow each other; the first that ends beyond t holds it.
        let ends = |l: &FairLength| s.t <= l.base.basis.range().1;
        let last = chain.lengths.len().saturating_sub(1);
        let length = chain.lengths.iter().position(ends).unwrap_or(last);
        let Some(on) = chain.lengths.get(length) else {
            continue;
        };
        let (u, at) = foot(&on.top, s.head.plan(), on.top_of.at(s.t)[0]);
        out.push(Mark {
            name: s.name.clone(),
            side: s.side,
            place: s.place.clone(),
            chain: s.chain,
            length,
            u,
            at: at.at,
        });
    }
    out.sort_by(|a, b| {
        (a.chain, a.length)
            .cmp(&(b.chain, b.length))
            .then(a.u.total_cmp(&b.u))
    });
    out
}

/// The foot of a place on a line, square to it in plan, from a place near it.
pub(super) fn foot(line: &Spline<3>, at: Vec2, near: f64) -> (f64, Frame) {
    let mut u = near;
    let mut here = frame(line, u);
    for _ in 0..STEPS {
        let by = (at - here.at.plan()).dot(here.tangent);
        if !by.is_finite() {
            break;
        }
        u += by;
        here = frame(line, u);
        if by.abs() < FOOT_MM {
            break;
        }
    }
    (u, here)
}
