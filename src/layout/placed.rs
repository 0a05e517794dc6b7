//! What the job places along the edge, found on it.

use super::chain::{Chain, chains};
use super::locate::locate;
use super::run::{Obstacle, Segment, kept, obstacles, segments};
use crate::fair::FairEdge;
use crate::fault::{Fault, Faults};
use crate::job::{Job, Position, Spacing};

/// Places of the job on their chains: index and t.
#[derive(Debug)]
pub(super) struct Placed {
    /// Doublers and lengths to keep clear.
    pub obstacles: Vec<Obstacle>,
    /// Butts fixed by hand: base, top.
    pub hand: [Vec<(usize, f64)>; 2],
    /// Stanchions fixed by hand.
    pub stands: Option<Vec<(usize, f64)>>,
}

/// Refuses what the job places where no bulwark can stand: all that is known
/// of it once the edge is faired.
///
/// # Errors
/// Every place beyond the edge; where there is none, every one where no
/// bulwark stands, and every doubler over another.
pub fn check_places(edge: &FairEdge, job: &Job) -> Result<(), Faults> {
    placed(&chains(edge, job)?, job).map(|_| ())
}

/// The places of the job, and the segments of bulwark in order.
///
/// # Errors
/// As [`check_places`].
pub(super) fn placed(chains: &[Chain<'_>], job: &Job) -> Result<(Placed, Vec<Segment>), Faults> {
    let mut faults = Vec::new();
    let obstacles = kept(obstacles(chains, job), &mut faults);
    let mut located = |list: &[Position], what: &str, field: &str| {
        let one = |(i, p)| locate(chains, p, (what, &format!("{field}[{}]", i + 1)), job);
        kept(list.iter().enumerate().map(one), &mut faults)
    };
    let hand = [
        located(&job.joints.base_butts, "a butt", "joints.base_butts"),
        located(&job.joints.top_butts, "a butt", "joints.top_butts"),
    ];
    let stands = match &job.stanchions.spacing {
        Spacing::Even(_) => None,
        Spacing::At(list) => Some(located(list, "a stanchion", "stanchions.at")),
    };
    let segments = segments(chains, job, &mut faults);
    let placed = Placed {
        obstacles,
        hand,
        stands,
    };
    if faults.is_empty() {
        faults = not_on_a_run(chains, &segments, &placed, job);
    }
    if faults.is_empty() {
        return Ok((placed, segments));
    }
    faults.sort_by_key(|f| (f.place.line, f.place.column));
    Err(Faults(faults))
}

/// What the job places where no bulwark stands, and doublers over each other.
fn not_on_a_run(
    chains: &[Chain<'_>],
    segments: &[Segment],
    placed: &Placed,
    job: &Job,
) -> Vec<Fault> {
    let mut out = Vec::new();
    let mut fault = |field: String, chain: usize, t: f64, what: String, mend: &str| {
        out.push(chains[chain].fault(field, t, what, mend));
    };
    let none = |what: &str| format!("no bulwark stands where {what} is placed");
    let move_it = "place it on a run, clear of gaps and ends";
    let lists = [
        (Some(&placed.hand[0]), "joints.base_butts", "butt"),
        (Some(&placed.hand[1]), "joints.top_butts", "butt"),
        (placed.stands.as_ref(), "stanchions.at", "stanchion"),
    ];
    for (list, field, what) in lists {
        for (i, &(chain, t)) in list.into_iter().flatten().enumerate() {
            let on = |s: &Segment| s.chain == chain && s.from <= t && t <= s.to;
            if !segments.iter().any(on) {
                let what = none(&format!("this {what}"));
                fault(format!("{field}[{}]", i + 1), chain, t, what, move_it);
            }
        }
    }
    let doublers: Vec<(usize, &Obstacle)> = (placed.obstacles.iter())
        .filter_map(|o| Some((o.doubler?, o)))
        .collect();
    for (k, &(i, o)) in doublers.iter().enumerate() {
        let name = format!("doubler `{}`", job.doublers[i].name);
        let middle = 0.5 * (o.from + o.to);
        let field = format!("doubler[{}]", i + 1);
        let on = |s: &Segment| s.chain == o.chain && s.from < o.to && o.from < s.to;
        let over =
            |p: &&(usize, &Obstacle)| p.1.chain == o.chain && p.1.from < o.to && o.from < p.1.to;
        if !segments.iter().any(on) {
            fault(field, o.chain, middle, none(&name), move_it);
        } else if let Some((other, _)) = doublers[..k].iter().find(over) {
            let what = format!("{name} lies over doubler `{}`", job.doublers[*other].name);
            let mend = "move one along, shorten one, or make them one";
            fault(field, o.chain, middle, what, mend);
        }
    }
    out
}
