//! Directions that the job gives the lines at stem and stern.

use super::line::Ends;
use crate::geom::{Vec2, trig, vec2};
use crate::job::{Job, Side, Stern};
use crate::survey::Chain;

/// Which end of a side an end of a chain is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum At {
    Stem,
    Stern,
}

/// What the lines do at the ends of the points `first` to `last` of a chain:
/// exactly through a knuckle, and in the direction that the job gives at a
/// stem, at an open stern or at a transom's corner.
pub(super) fn of_length(chain: &Chain, first: usize, last: usize, job: &Job) -> Ends {
    let points = &chain.points;
    let end = points.len() - 1;
    let ends = [
        at_end(chain, first, false, job),
        at_end(chain, last, true, job),
    ];
    let toward = |k: usize| {
        let at = ends[k]?;
        let side = points[[first, last][k]].side;
        let angle = match at {
            At::Stem => job.fairing.stem_angle?,
            At::Stern => job.fairing.stern_angle?,
        };
        let aft = run_aft(at, side, angle);
        // Travel runs aft along port and forward along starboard.
        Some(match side {
            Side::Port => aft,
            Side::Starboard => aft * -1.0,
        })
    };
    Ends {
        pinned: [first > 0, last < end],
        toward: [toward(0), toward(1)],
    }
}

/// Direction of a side in plan, going aft. The angle is from the centreline,
/// positive where the sides open going aft from the stem, or close going aft
/// to the stern.
fn run_aft(at: At, side: Side, angle: f64) -> Vec2 {
    let outboard = match side {
        Side::Port => 1.0,
        Side::Starboard => -1.0,
    };
    let out = match at {
        At::Stem => outboard,
        At::Stern => -outboard,
    };
    vec2(-trig::cos(angle), out * trig::sin(angle))
}

fn at_end(chain: &Chain, index: usize, last: bool, job: &Job) -> Option<At> {
    let points = &chain.points;
    let end = points.len() - 1;
    let here = points[index].side;
    if (index == 0 && !last) || (index == end && last) {
        // Port runs aft from the stem, starboard forward to it.
        let stem = (here == Side::Port) != last;
        return Some(if stem { At::Stem } else { At::Stern });
    }
    if job.survey.stern != Stern::Transom {
        return None;
    }
    // A transom's corner is the last point of port or the first of starboard.
    let corner = if last {
        here == Side::Port && points.get(index + 1).is_some_and(|p| p.side != here)
    } else {
        here == Side::Starboard
            && points
                .get(index.wrapping_sub(1))
                .is_some_and(|p| p.side != here)
    };
    corner.then_some(At::Stern)
}
