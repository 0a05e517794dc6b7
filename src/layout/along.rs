//! What lies along each chain for one who draws the whole boat: the plates'
//! guides, and stations, gates and lengths to keep clear at their places.

use super::chain::chains;
use super::guides::Guides;
use super::run::{Obstacle, obstacles, stretch};
use crate::fair::FairEdge;
use crate::fault::Faults;
use crate::job::{Job, Side};

/// A chain as it is drawn.
#[derive(Debug, Clone)]
pub struct Along {
    /// Smooth lengths in order.
    pub lengths: Vec<Guides>,
    /// What is marked along it, by t.
    pub marks: Vec<EdgeMark>,
}

/// A place or a length of the edge with a name.
#[derive(Debug, Clone, PartialEq)]
pub struct EdgeMark {
    /// What it is.
    pub kind: EdgeMarkKind,
    /// Name as the job or the survey has it.
    pub name: String,
    /// Side of its middle.
    pub side: Side,
    /// First t, mm.
    pub from: f64,
    /// Last t, mm; a station's is its first.
    pub to: f64,
}

/// What is marked along the edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EdgeMarkKind {
    /// A surveyed station.
    Station,
    /// A gap of the bulwark.
    Gate,
    /// A length that no joint or fastener enters, as at a freeing port.
    KeptClear,
}

/// Every chain of the edge.
///
/// # Errors
/// As [`super::layout`] has them: a gate or a length off the edge.
pub fn along(edge: &FairEdge, job: &Job) -> Result<Vec<Along>, Faults> {
    let chains = chains(edge, job)?;
    let mut out: Vec<Along> = (chains.iter())
        .map(|chain| Along {
            lengths: chain.guides.clone(),
            marks: (chain.fair.points.iter())
                .map(|p| EdgeMark {
                    kind: EdgeMarkKind::Station,
                    name: chain.marked(&p.name),
                    side: chain.side(p.t),
                    from: p.t,
                    to: p.t,
                })
                .collect(),
        })
        .collect();
    let mut put = |kind, name: &str, chain: usize, from: f64, to: f64| {
        out[chain].marks.push(EdgeMark {
            kind,
            name: name.to_owned(),
            side: chains[chain].side(0.5 * (from + to)),
            from,
            to,
        });
    };
    for (i, gap) in job.gaps.iter().enumerate() {
        let field = format!("gap[{}]", i + 1);
        let (chain, from, to) = stretch(&chains, &gap.from, &gap.to, &field, job)?;
        put(EdgeMarkKind::Gate, &gap.name, chain, from, to);
    }
    let clear: Vec<Obstacle> = obstacles(&chains, job)
        .into_iter()
        .collect::<Result<_, _>>()?;
    let clear = clear.into_iter();
    for (o, named) in clear.filter(|o| o.doubler.is_none()).zip(&job.keep_clear) {
        put(EdgeMarkKind::KeptClear, &named.name, o.chain, o.from, o.to);
    }
    Ok(out)
}
