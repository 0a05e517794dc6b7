//! Two staggered rows of fastener holes along a piece of plate.

use super::divide::Spans;
use super::model::{Feature, Member, MemberKind};
use crate::geom::patch::Patch;
use crate::geom::steps::evenly;
use crate::job::Job;
use crate::length::show;

/// Spacing over the limit by no more than this share is the curve's doing:
/// rows are spaced by the guiding line's length.
const OVER: f64 = 0.01;

/// Places of the holes along the piece: outboard row, inboard row.
pub(super) type Rows = [Vec<f64>; 2];

/// A hole is put no nearer than this share of the spacing to another of its
/// row: nearer, it weakens the plank more than it holds.
const LEAST: f64 = 0.25;

/// Places holes from `from` to `to` (centres), no further apart in a row than
/// `spacing` where the barred spans leave room, each row's spans its own. The
/// inboard row stands midway between the outboard holes; where its own bars
/// take such a hole away, what is left too wide is filled.
pub(super) fn stagger(from: f64, to: f64, spacing: f64, barred: &[Spans; 2]) -> Rows {
    if to < from {
        return [vec![], vec![]];
    }
    let mut outboard = Vec::new();
    for (a, b) in barred[0].free(from, to) {
        outboard.extend(even(a, b, spacing));
    }
    let mut inboard: Vec<f64> = outboard.windows(2).map(|w| 0.5 * (w[0] + w[1])).collect();
    inboard.retain(|&x| !barred[1].covers(x));
    let free = barred[1].free(from, to);
    let mut stops = vec![from];
    stops.extend(&inboard);
    stops.push(to);
    for pair in stops.windows(2) {
        fill(pair[0], pair[1], spacing, &free, &mut inboard);
    }
    inboard.sort_by(f64::total_cmp);
    if inboard.is_empty()
        && let Some((a, b)) = free.first()
    {
        inboard.push(0.5 * (a + b));
    }
    [outboard, inboard]
}

/// Adds holes between two places until none are further apart than the
/// spacing, or the free spans have no place left that is not too near another.
fn fill(from: f64, to: f64, spacing: f64, free: &[(f64, f64)], out: &mut Vec<f64>) {
    let room = to - from;
    if room <= spacing * (1.0 + 1e-9) {
        return;
    }
    let ideal = from + room / (room / spacing - 1e-9).ceil();
    let apart = LEAST * spacing;
    let (lo, hi) = (from + apart, to - apart);
    let near = free
        .iter()
        .filter(|s| s.0.max(lo) <= s.1.min(hi))
        .map(|s| ideal.clamp(s.0.max(lo), s.1.min(hi)))
        .min_by(|a, b| (a - ideal).abs().total_cmp(&(b - ideal).abs()));
    if let Some(at) = near {
        out.push(at);
        fill(from, at, spacing, free, out);
        fill(at, to, spacing, free, out);
    }
}

/// Evenly spaced places on [a, b], both ends included; one in the middle
/// where two would crowd (closer than a third of the spacing).
fn even(a: f64, b: f64, spacing: f64) -> Vec<f64> {
    let room = b - a;
    if room < spacing / 3.0 {
        return vec![0.5 * (a + b)];
    }
    let count = (room / spacing - 1e-9).ceil().max(1.0);
    evenly(a, room, count).collect()
}

/// Tells where holes of a row stand further apart than the job's spacing: a
/// doubler, a length to keep clear or a wide stanchion is in the way. One
/// sentence a plate.
pub(super) fn wide_rows(members: &[Member], job: &Job) -> Vec<String> {
    let plates = [
        (MemberKind::BasePlate, "base", &job.base_fasteners),
        (MemberKind::TopPlate, "top", &job.top_fasteners),
    ];
    let mut out = Vec::new();
    for (kind, name, fasteners) in plates {
        let Some(fasteners) = fasteners else { continue };
        let limit = fasteners.spacing * (1.0 + OVER);
        let mut places = 0;
        let mut widest: Option<(f64, &Member)> = None;
        for member in members.iter().filter(|m| m.kind == kind) {
            for apart in gaps(member).into_iter().filter(|&g| g > limit) {
                places += 1;
                if widest.is_none_or(|w| apart > w.0) {
                    widest = Some((apart, member));
                }
            }
        }
        let Some((apart, member)) = widest else {
            continue;
        };
        out.push(format!(
            "{name} plate: fastener holes of a row stand further apart than the limit of {} at {places} {}, the widest {} apart in part {} ({}): something to be kept clear is in the way",
            show(fasteners.spacing, job.show),
            if places == 1 { "place" } else { "places" },
            show(apart, job.show),
            member.name,
            member.place,
        ));
    }
    out
}

/// Distances between neighbouring holes of a row, mm.
fn gaps(member: &Member) -> Vec<f64> {
    let mut holes: Vec<(f64, f64)> = member
        .features
        .iter()
        .filter_map(|f| match f {
            Feature::Hole { t, w, .. } => Some((*w, *t)),
            _ => None,
        })
        .collect();
    holes.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    holes
        .windows(2)
        .filter(|pair| pair[0].0.total_cmp(&pair[1].0).is_eq())
        .map(|pair| {
            let [a, b] = [pair[0], pair[1]].map(|(w, t)| member.strip.jet(t, w).point);
            a.distance(b)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_stagger_and_keep_their_spacing() {
        let [out, inb] = stagger(50.0, 1050.0, 250.0, &Default::default());
        assert_eq!(out, vec![50.0, 300.0, 550.0, 800.0, 1050.0]);
        assert_eq!(inb, vec![175.0, 425.0, 675.0, 925.0]);
    }

    #[test]
    fn barred_spans_stay_free_of_holes() {
        let bar = Spans::union(vec![(400.0, 620.0)]);
        let [out, inb] = stagger(0.0, 1000.0, 200.0, &[bar.clone(), Spans::default()]);
        assert!(out.iter().all(|&x| !bar.covers(x)));
        assert!(out.contains(&400.0) && out.contains(&620.0));
        assert!(inb.windows(2).all(|w| w[1] - w[0] <= 200.0 + 1e-9));
        assert!(inb.contains(&510.0));
    }

    #[test]
    fn a_bar_across_the_inboard_row_leaves_no_more_than_the_spacing() {
        // A stanchion 155 wide stands where the inboard hole would: 250 apart
        // is to be had on both sides of it.
        for at in [480.0, 550.0, 640.0] {
            let bar = Spans::union(vec![(at, at + 155.0)]);
            let both = [bar.clone(), bar.clone()];
            for row in stagger(0.0, 1200.0, 250.0, &both) {
                assert!(row.iter().all(|&x| !bar.covers(x)), "{row:?}");
                assert!(
                    row.windows(2).all(|w| w[1] - w[0] <= 250.0 + 1e-9),
                    "{row:?}"
                );
                assert!(
                    row.windows(2).all(|w| w[1] - w[0] >= 0.25 * 250.0),
                    "{row:?}"
                );
            }
        }
    }
}
