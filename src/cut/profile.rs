//! Profiles moved half a kerf into the waste, and what the cut leaves.

use super::walk::Walk;
use crate::geom::parallel::offset;
use crate::geom::{Outline, Vec2};

/// A profile as it is cut.
#[derive(Debug, Clone, PartialEq)]
pub enum Compensated {
    /// The way of the cut's middle.
    Path {
        /// The way, running as the net profile does.
        path: Outline,
        /// Where the cut cannot follow the net profile and more than half a
        /// kerf of metal stays: a notch narrower than the kerf.
        left: Option<Vec2>,
    },
    /// The cut is wider than the profile, or does not come out as one loop.
    None,
}

/// A net profile moved half a kerf into the waste: an outer profile
/// (counter-clockwise) outward, a hole (clockwise) inward. Arcs stay arcs;
/// corners that open are rounded about the net corner, which keeps it sharp.
#[must_use]
pub fn compensated(net: &Outline, kerf: f64) -> Compensated {
    let by = if net.area() > 0.0 {
        kerf / 2.0
    } else {
        -kerf / 2.0
    };
    let Some(loops) = offset(net, by) else {
        return Compensated::None;
    };
    let [path] = &loops[..] else {
        return Compensated::None;
    };
    let way = Walk::new(path);
    // A corner of 60 degrees or more inside the profile stays within a kerf
    // of the cut's middle (half a kerf over the sine of half the corner).
    let reach = kerf * 1.001 + 1e-6;
    let left = probes(net)
        .into_iter()
        .find(|&p| way.distance(p, 4.0 * reach) > reach);
    Compensated::Path {
        path: path.clone(),
        left,
    }
}

/// Corners and middles of a profile.
fn probes(net: &Outline) -> Vec<Vec2> {
    let walk = Walk::new(net);
    walk.segments
        .iter()
        .flat_map(|p| [p.segment.a, p.segment.at(0.5)])
        .collect()
}
