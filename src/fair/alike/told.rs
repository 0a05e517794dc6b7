//! What one line for both sides leaves of every measured point.

use std::collections::BTreeMap;

use super::super::base::{BaseLine, corners};
use super::super::curve::foot;
use super::super::edge::{FairChain, FairEdge, FindingKind, PointFit};
use super::super::fits::{fits, left_beyond};
use super::super::line::{Ends, Line};
use super::super::slope::straight_between;
use super::super::top::{Stated, Top, raised};
use super::mean::feet;
use crate::job::Job;
use crate::survey::{Chain, Survey};

/// Tells an edge that was faired through the averaged survey by the points that were
/// measured: moves, points left beyond their tolerance, points to measure again.
pub(in super::super) fn tell(edge: &mut FairEdge, even: &Survey, survey: &Survey, job: &Job) {
    let both = edge.chains.iter().zip(&survey.chains);
    let fits: Vec<Vec<Vec<PointFit>>> = (both.enumerate())
        .map(|(i, (f, c))| moves(i, f, c, job))
        .collect();
    edge.findings.retain(|f| f.kind != FindingKind::Tolerance);
    let lengths = || {
        let chains = edge.chains.iter().zip(&fits).enumerate();
        chains.flat_map(|(c, (chain, fits))| {
            let both = chain.lengths.iter().zip(fits);
            both.map(move |(length, fits)| (c, length.range(), fits))
        })
    };
    let all: Vec<_> = lengths().collect();
    let mut found = Vec::new();
    for (k, (here, fellow)) in all.iter().zip(all.iter().rev()).enumerate() {
        let (chain, range, fits) = here;
        // A corner is told with the length that it begins.
        let next = all.get(k + 1).is_some_and(|n| n.0 == *chain);
        let told = &fits[..fits.len() - usize::from(next)];
        let about = range.0 + fellow.1.1;
        let points = &survey.chains[*chain].points;
        let others: [Vec<(f64, f64)>; 4] = std::array::from_fn(|k| {
            let turned = fellow.2.iter().rev();
            turned.map(|f| (about - f.t, four(f)[k])).collect()
        });
        let unlike = |fit: &PointFit, k: usize| {
            let other = straight_between(&others[k], fit.t);
            other.map(|o| (four(fit)[k] - o).abs())
        };
        found.extend(left_beyond(*chain, points, told, unlike, job));
    }
    edge.findings.extend(found);
    for (chain, fits) in edge.chains.iter_mut().zip(fits) {
        chain.points.clear();
        for length in fits {
            // A knuckle is told once, with the length it begins.
            if length.first().is_some_and(|f| f.length > 0) {
                chain.points.pop();
            }
            chain.points.extend(length);
        }
    }
    again(edge, even, survey);
}

/// Points to measure again, as they were measured.
fn again(edge: &mut FairEdge, even: &Survey, survey: &Survey) {
    let mut booked = BTreeMap::new();
    for (c, chain) in survey.chains.iter().enumerate() {
        for (i, p) in chain.points.iter().enumerate() {
            booked.entry((&p.file, p.line)).or_insert((c, i, p.side));
        }
    }
    for row in &mut edge.again {
        let p = &even.chains[row.chain].points[row.index];
        if let Some(&(chain, index, side)) = booked.get(&(&p.file, p.line)) {
            (row.chain, row.index, row.side) = (chain, index, side);
            let fit = edge.chains[chain].points.get(index);
            row.t = fit.map_or(row.t, |f| f.t);
        }
    }
}

fn four(fit: &PointFit) -> [f64; 4] {
    [fit.base_out, fit.base_up, fit.top_out, fit.top_up]
}

/// The measured points of every length of a chain against its lines.
fn moves(index: usize, fair: &FairChain, chain: &Chain, job: &Job) -> Vec<Vec<PointFit>> {
    let points = &chain.points;
    let corners = corners(chain);
    let pieces = corners.windows(2).zip(&fair.lengths).map(|(w, length)| {
        let places = points[w[0]..=w[1]].iter().map(|p| p.at);
        BaseLine {
            first: w[0],
            ends: Ends::default(),
            line: Line {
                feet: feet(&length.base, places),
                curve: length.base.clone(),
            },
            uncertainty: None,
        }
    });
    let pieces: Vec<BaseLine> = pieces.collect();
    let stated = Stated::of(points, &pieces, job);
    let each = pieces.iter().zip(&fair.lengths).enumerate();
    each.map(|(k, (piece, length))| {
        let raw = raised(points, piece, &length.slope, &stated, job);
        let over = piece.line.feet.iter().map(|t| length.top_of.at(*t)[0]);
        let at = raw.iter().zip(over);
        let top = Top {
            line: Line {
                feet: at.map(|(p, u)| foot(&length.top, p.plan(), u)).collect(),
                curve: length.top.clone(),
            },
            raw,
            over: length.top_of.clone(),
            uncertainty: None,
        };
        let mut fits = fits(points, piece, &top, (index, k));
        let (a, b) = length.range();
        fits.iter_mut().for_each(|f| f.t = f.t.clamp(a, b));
        fits
    })
    .collect()
}
