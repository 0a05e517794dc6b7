//! What the report of a fairing is made from.

use crate::fair::compare::Unlike;
use crate::fair::{FairEdge, PointFit};
use crate::job::Job;
use crate::survey::Survey;

/// All that the report is made from.
#[derive(Debug, Clone, Copy)]
pub struct Fairness<'a> {
    /// The job.
    pub job: &'a Job,
    /// Measured points.
    pub survey: &'a Survey,
    /// Faired lines.
    pub edge: &'a FairEdge,
    /// Port against starboard.
    pub unlike: &'a [Unlike],
}

/// Between which measured points a place of a chain lies.
pub(super) fn between(edge: &FairEdge, chain: usize, t: f64) -> String {
    let rows = edge.chains.get(chain).map_or(&[][..], |c| &c.points);
    let after = rows.partition_point(|r| r.t <= t);
    let name = |r: &PointFit| format!("{} ({})", r.name, r.side.name());
    match (
        after.checked_sub(1).and_then(|k| rows.get(k)),
        rows.get(after),
    ) {
        (Some(a), Some(b)) => {
            let near = 0.1 * (b.t - a.t);
            if t - a.t < near {
                format!("at {}", name(a))
            } else if b.t - t < near {
                format!("at {}", name(b))
            } else {
                format!("between {} and {}", name(a), name(b))
            }
        }
        (Some(r), None) | (None, Some(r)) => format!("at {}", name(r)),
        (None, None) => String::new(),
    }
}
