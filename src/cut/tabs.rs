//! Where the tabs of a small part go: on straight stretches, spread evenly.

use super::walk::Walk;
use crate::job::Tabs;

/// A stretch counts as straight where it rises by less than this over the
/// width of a tab, mm: a file takes the rest off in a stroke.
const STRAIGHT: f64 = 0.05;
/// Places looked at along a profile, for each tab.
const PLACES: usize = 40;

/// Lengths along the path of the tabs' middles, in order; fewer than wanted
/// where there is no room. `open` is the length of path that a tab leaves
/// uncut; `off` its least distance from a corner, and the radius up to which
/// an arc is one, mm.
pub(super) fn places(walk: &Walk, tabs: &Tabs, open: f64, off: (f64, f64)) -> Vec<f64> {
    let (off, tight) = off;
    let corners = walk.corners(tight);
    let fits = |s: f64| {
        let straight = walk
            .starts
            .iter()
            .zip(&walk.segments)
            .find(|(from, p)| s >= **from && s <= **from + p.length)
            .is_some_and(|(_, p)| p.rise(open) < STRAIGHT);
        straight
            && corners.iter().all(|&c| {
                let d = (s - c).rem_euclid(walk.length);
                d.min(walk.length - d) >= 0.5 * open + off
            })
    };
    let count = tabs.count.max(1) * PLACES;
    let all: Vec<f64> = (0..count)
        .map(|k| walk.length * (k as f64 + 0.5) / count as f64)
        .filter(|&s| fits(s))
        .collect();
    let mut out: Vec<f64> = Vec::new();
    for k in 0..tabs.count {
        let wanted = walk.length * (k as f64 + 0.5) / tabs.count as f64;
        // Between two tabs there is a cut worth its pierce.
        let apart = |s: f64| {
            out.iter().all(|&o| {
                let d = (s - o).rem_euclid(walk.length);
                d.min(walk.length - d) >= 4.0 * open
            })
        };
        let best = all
            .iter()
            .filter(|&&s| apart(s))
            .min_by(|a, b| (*a - wanted).abs().total_cmp(&(*b - wanted).abs()));
        if let Some(&s) = best {
            out.push(s);
        }
    }
    out.sort_by(f64::total_cmp);
    out
}
