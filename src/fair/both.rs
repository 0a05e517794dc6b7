//! Both lines of every chain.

use super::accuracy::settle;
use super::again::again;
use super::alike::{self, Even};
use super::base::{BaseLine, base_lines, smoothest};
use super::doubt::doubtful;
use super::edge::{FairChain, FairEdge, FairLength, Finding};
use super::fits::{fits, look};
use super::slope::{self, Deck};
use super::top::{self, Stated};
use crate::fault::Faults;
use crate::job::{Job, Sides};
use crate::survey::{Chain, Survey};

/// Fairs both lines through a survey.
///
/// # Errors
/// All that hinders the base lines, then all that hinders slopes and top
/// lines: points that are none or double back ([`Kind::Survey`](crate::fault::Kind::Survey),
/// [`Kind::Range`](crate::fault::Kind::Range)), a slope that is missing or cannot be
/// turned square to the edge, a top line that folds ([`Kind::Geometry`](crate::fault::Kind::Geometry));
/// before all, an accuracy that is neither stated nor to be estimated
/// ([`Kind::Missing`](crate::fault::Kind::Missing)).
pub fn fair(survey: &Survey, job: &Job) -> Result<FairEdge, Faults> {
    // Doubts by what the job states: a gross error would pass for a poor accuracy.
    let (doubts, based) = rayon::join(
        || doubtful(survey, job),
        || -> Result<_, Faults> {
            let (job, accuracy) = settle(survey, job)?;
            let lines: Vec<_> = survey.chains.iter().map(|c| base_lines(c, &job)).collect();
            Ok((job, accuracy, lines))
        },
    );
    let (job, accuracy, lines) = based?;
    let job = job.as_ref();
    let mut faults = Faults::default();
    let mut bases = Vec::new();
    for line in lines {
        match line {
            Ok(pieces) => bases.push(pieces),
            Err(f) => faults.0.extend(f.0),
        }
    }
    if !faults.0.is_empty() {
        // A slip may be what hinders the line.
        faults.0.extend(doubts.iter().map(|d| d.fault(job.show)));
        return Err(faults);
    }
    let even = match job.fairing.sides {
        Sides::Own => None,
        Sides::Alike => Some(Even::of(survey, &bases, job)?),
    };
    let (faired, bases) = match &even {
        None => (survey, &bases),
        Some(even) => (&even.survey, &even.bases),
    };
    let deck = Deck::of(faired, bases, job)?;
    let mut edge = FairEdge {
        chains: Vec::new(),
        findings: Vec::new(),
        doubts,
        accuracy,
        fairing: job.fairing,
        again: Vec::new(),
    };
    for (index, (chain, pieces)) in faired.chains.iter().zip(bases).enumerate() {
        match finish(index, chain, pieces, deck.as_ref(), job) {
            Ok((chain, findings)) => {
                edge.chains.push(chain);
                edge.findings.extend(findings);
            }
            Err(f) => faults.0.extend(f.0),
        }
    }
    if !faults.0.is_empty() {
        // What the job lacks is told once, not once a chain.
        faults.0.dedup();
        return Err(faults);
    }
    edge.again = again(&edge.chains, faired);
    if even.is_some() {
        alike::even_tops(&mut edge, job)?;
        alike::tell(&mut edge, faired, survey, job);
    }
    Ok(edge)
}

/// Slope, top line and fits of a chain.
fn finish(
    index: usize,
    chain: &Chain,
    pieces: &[BaseLine],
    deck: Option<&Deck>,
    job: &Job,
) -> Result<(FairChain, Vec<Finding>), Faults> {
    let points = &chain.points;
    let slopes = slope::of_chain(points, pieces, deck, job)?;
    let stated = Stated::of(points, pieces, job);
    let mut faults = Faults::default();
    let mut out = FairChain {
        lengths: Vec::new(),
        ends: [chain.start, chain.end],
        points: Vec::new(),
    };
    let mut found = Vec::new();
    for (k, (piece, slope)) in pieces.iter().zip(slopes).enumerate() {
        let (top, smoothest) = rayon::join(
            || top::over(points, piece, &slope, &stated, job),
            || smoothest(points, piece, job),
        );
        let top = match top {
            Ok(top) => top,
            Err(f) => {
                faults.0.extend(f.0);
                continue;
            }
        };
        let fits = fits(points, piece, &top, (index, k));
        found.extend(look(
            index,
            points,
            piece,
            [&smoothest, &top.line],
            &fits,
            job,
        ));
        // A knuckle is the last point of one length and the first of the
        // next; it is told once, with the length it begins.
        if k > 0 {
            out.points.pop();
        }
        out.points.extend(fits);
        out.lengths.push(FairLength {
            base: piece.line.curve.clone(),
            slope,
            top: top.line.curve,
            top_of: top.over,
            uncertainty: piece.uncertainty.clone(),
            top_uncertainty: top.uncertainty,
        });
    }
    if faults.0.is_empty() {
        Ok((out, found))
    } else {
        Err(faults)
    }
}
