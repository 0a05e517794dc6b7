//! Butts chosen with the nest: the same bulwark cut into shorter or straighter
//! pieces, each cutting nested in short, and the cheapest taken.

use std::sync::atomic::{AtomicBool, Ordering};

use rayon::prelude::*;

use super::flat_job::{FlatJob, Made};
use super::steps::Steps;
use crate::fair::FairEdge;
use crate::fault::{Fault, Faults};
use crate::job::{ButtChoice, Effort, Job, Sheet};
use crate::report::butts::{ButtTrial, ButtTrials};
use crate::report::estimate::Counted;

/// Greatest lengths of a piece tried, over that of the longest sheet or the
/// job's own limit: below two fifths, butts come closer than stanchions.
const LENGTHS: [f64; 5] = [1.0, 0.8, 0.65, 0.5, 0.4];
/// Greatest widths of a flat piece tried, over that of the wider plate, beside
/// none: arcs that rise by half their width stack closely (measured: arcs of
/// 1.75 m at 88 % of a sheet where arcs of 3 m stack at 65 to 75 %).
const WIDTHS: [f64; 4] = [3.0, 2.2, 1.7, 1.4];

/// The job laid out with its butts' limits chosen, and what was tried for it;
/// as it is where its butts are not to be chosen with the nest. `progress`
/// hears the fraction done, from any thread; where `stop` comes to be true the
/// best of those tried is taken.
///
/// # Errors
/// Where not one cutting can be made: why the fewest pieces cannot.
pub(super) fn chosen(
    job: &Job,
    edge: &FairEdge,
    progress: &(dyn Fn(f64) + Sync),
    stop: &AtomicBool,
) -> Result<(FlatJob, Option<ButtTrials>), Faults> {
    if job.joints.butts == ButtChoice::Few {
        return Ok((FlatJob::of(job.clone(), edge)?, None));
    }
    let mut reasons = Faults(Vec::new());
    let mut flat_jobs: Vec<FlatJob> = Vec::new();
    for (i, flat) in FlatJob::each(cuttings(job), edge).into_iter().enumerate() {
        match flat {
            // One that is laid out like one before it tells nothing new.
            Ok(flat) if flat_jobs.iter().any(|before| before.alike(&flat)) => {}
            Ok(flat) => flat_jobs.push(flat),
            Err(faults) if i == 0 => reasons = faults,
            Err(_) => {}
        }
    }
    let steps = Steps::new(flat_jobs.len(), progress);
    // The fewest pieces first, then the others, until told to stop.
    let try_one = |flat: &FlatJob| {
        let made = flat.made(Effort::Quick);
        steps.step();
        made
    };
    let (fewest, others) = flat_jobs.split_at(flat_jobs.len().min(1));
    let unless_stopped = |c| (!stop.load(Ordering::Relaxed)).then(|| try_one(c));
    let mut tried: Vec<Option<Result<Made, Fault>>> =
        fewest.iter().map(|c| Some(try_one(c))).collect();
    tried.par_extend(others.par_iter().map(unless_stopped));
    let mut trials: Vec<ButtTrial> = Vec::new();
    let mut made: Vec<FlatJob> = Vec::new();
    for (flat, outcome) in flat_jobs.into_iter().zip(tried) {
        match outcome {
            Some(Ok(m)) => {
                trials.push(ButtTrial {
                    longest: flat.job.joints.longest_piece,
                    widest: flat.job.joints.widest_piece,
                    cost: None,
                    figures: m.figures,
                });
                made.push(flat);
            }
            Some(Err(fault)) => reasons.0.push(fault),
            None => {}
        }
    }
    let counted = Counted {
        plate: true,
        welding: true,
        cutting: trials.iter().all(|t| t.figures.cutting.is_some()),
    };
    for t in &mut trials {
        t.cost = t.figures.cost(counted);
    }
    let Some(best) = cheapest(&trials) else {
        reasons.0.truncate(1);
        return Err(reasons);
    };
    Ok((made.swap_remove(best), Some(ButtTrials { trials, best })))
}

/// A cutting with more butts must cost less by this share to be taken: less
/// is scrap by the gram, and tack by the minute.
const GAIN: f64 = 1e-3;

/// Index of the least cost, those of fewer butts first.
fn cheapest(trials: &[ButtTrial]) -> Option<usize> {
    let cost = |i: usize| trials[i].cost.unwrap_or(f64::INFINITY);
    let mut order: Vec<usize> = (0..trials.len()).collect();
    order.sort_by_key(|&i| trials[i].figures.welds.butts);
    order.into_iter().reduce(|best, i| {
        if cost(i) < cost(best) * (1.0 - GAIN) {
            i
        } else {
            best
        }
    })
}

/// The job with every pair of limits; the first as it is.
fn cuttings(job: &Job) -> Vec<Job> {
    let longest = job.joints.longest_piece.unwrap_or_else(|| {
        let long = |s: &Sheet| s.length.max(s.width) - 2.0 * job.cutting.edge_margin;
        let plain = job
            .sheets
            .iter()
            .filter(|s| job.uses(s) && s.shape.is_none());
        plain.map(long).fold(0.0, f64::max)
    });
    let plate = job.base.width.max(job.top.width);
    let own = job.joints.widest_piece;
    let tried = WIDTHS.map(|w| w * plate).into_iter();
    let tried = tried.filter(|&w| w < own.unwrap_or(f64::INFINITY));
    let widths: Vec<Option<f64>> = std::iter::once(own).chain(tried.map(Some)).collect();
    let mut out = Vec::new();
    for (k, share) in LENGTHS.iter().enumerate() {
        for &width in &widths {
            let mut with = job.clone();
            if k > 0 {
                with.joints.longest_piece = Some(longest * share);
            }
            with.joints.widest_piece = width;
            out.push(with);
        }
    }
    out
}
