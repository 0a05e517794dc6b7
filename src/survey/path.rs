//! Loose points in order along the edge.
//!
//! The shortest tree over points of a line that is sampled more closely than
//! it bends back on itself is the line; noise and outliers make short twigs.
//! So: the tree, its longest way from end to end, the twigs put in where they
//! lengthen the way least, then exchanges as for a travelling salesman (2-opt
//! and or-opt: Croes 1958; Or 1976) among near places. Near n log n for the
//! tree, linear for the rest.
//!
//! The order depends on the places alone: points are first sorted by them, so
//! a shuffled list gives the same edge. It fails where the edge comes nearer
//! to itself than its points are apart; the checks that follow (doubling
//! back, crossing) then name the rows.

use super::places::place_order;
use super::spanning::spanning_tree;
use crate::geom::Vec3;

/// Places along the way that a point may be exchanged with. Noise reaches over
/// one or two neighbours; twelve is ample, and more only costs.
const REACH: usize = 12;

/// Sweeps of exchanges at most. Each shortens the way, so they end by
/// themselves; two or three do.
const SWEEPS: usize = 30;

/// An exchange must save this much, mm: rounding must not turn it round and
/// round.
const SAVES: f64 = 1e-6;

/// Indices of points in order along the line, from either end.
pub(super) fn order(points: &[Vec3]) -> Vec<usize> {
    let mut by_place: Vec<usize> = (0..points.len()).collect();
    by_place.sort_by(|&a, &b| place_order(points[a], points[b]).then(a.cmp(&b)));
    let sorted: Vec<Vec3> = by_place.iter().map(|&i| points[i]).collect();
    let mut way = with_twigs(&sorted);
    for _ in 0..SWEEPS {
        if !shorten(&sorted, &mut way) {
            break;
        }
    }
    way.into_iter().map(|i| by_place[i]).collect()
}

/// The tree's longest way, twigs put in.
fn with_twigs(points: &[Vec3]) -> Vec<usize> {
    let n = points.len();
    if n < 3 {
        return (0..n).collect();
    }
    let mut near: Vec<Vec<usize>> = vec![Vec::new(); n];
    for (a, b) in spanning_tree(points) {
        near[a].push(b);
        near[b].push(a);
    }
    let (end, _) = furthest(points, &near, 0);
    let (other, parent) = furthest(points, &near, end);
    let mut trunk = vec![other];
    while let Some(&last) = trunk.last()
        && last != end
    {
        trunk.push(parent[last]);
    }
    if trunk.len() == n {
        return trunk;
    }
    // Where on the trunk each twig's point hangs.
    let mut hangs: Vec<Option<usize>> = vec![None; n];
    let mut stack: Vec<usize> = trunk.clone();
    for (at, &p) in trunk.iter().enumerate() {
        hangs[p] = Some(at);
    }
    let mut twigs = Vec::new();
    while let Some(p) = stack.pop() {
        for &q in &near[p] {
            if hangs[q].is_none() {
                hangs[q] = hangs[p];
                twigs.push(q);
                stack.push(q);
            }
        }
    }
    // Gap 0 lies before the trunk's first point, gap i after its point i - 1.
    let mut gaps: Vec<Vec<(f64, usize)>> = vec![Vec::new(); trunk.len() + 1];
    for q in twigs {
        let at = hangs[q].unwrap_or_default();
        let (gap, along) = cheapest(points, &trunk, at, points[q]);
        gaps[gap].push((along, q));
    }
    let mut way = Vec::with_capacity(n);
    for (gap, list) in gaps.iter_mut().enumerate() {
        list.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        way.extend(list.iter().map(|&(_, q)| q));
        way.extend(trunk.get(gap));
    }
    way
}

/// The point furthest from one along the tree, and every point's parent on
/// the way to it.
fn furthest(points: &[Vec3], near: &[Vec<usize>], from: usize) -> (usize, Vec<usize>) {
    let mut parent = vec![from; points.len()];
    let mut best = (0.0, from);
    let mut stack = vec![(from, 0.0)];
    while let Some((p, length)) = stack.pop() {
        if length > best.0 {
            best = (length, p);
        }
        for &q in &near[p] {
            if q != parent[p] {
                parent[q] = p;
                stack.push((q, length + points[p].distance(points[q])));
            }
        }
    }
    (best.1, parent)
}

/// The gap near a place of the trunk where a point lengthens it least, and
/// how far along that gap it lies.
fn cheapest(points: &[Vec3], trunk: &[usize], at: usize, p: Vec3) -> (usize, f64) {
    let spot = |i: usize| points[trunk[i]];
    let mut best = (f64::INFINITY, 0, 0.0);
    for gap in at.saturating_sub(REACH)..=(at + REACH).min(trunk.len()) {
        let (cost, along) = if gap == 0 {
            (spot(0).distance(p), -spot(0).distance(p))
        } else if gap == trunk.len() {
            let d = spot(gap - 1).distance(p);
            (d, d)
        } else {
            let (a, b) = (spot(gap - 1), spot(gap));
            let cost = a.distance(p) + p.distance(b) - a.distance(b);
            (cost, (p - a).dot(b - a))
        };
        if cost < best.0 {
            best = (cost, gap, along);
        }
    }
    (best.1, best.2)
}

/// One sweep of exchanges; true if any made the way shorter.
fn shorten(points: &[Vec3], way: &mut [usize]) -> bool {
    let mut any = false;
    for i in 0..way.len() {
        any |= turn_round(points, way, i);
        any |= carry(points, way, i);
    }
    any
}

/// Length of the step from place `i` of the way to the next; nought beyond
/// its ends.
fn step(points: &[Vec3], way: &[usize], i: Option<usize>, j: usize) -> f64 {
    match (i.and_then(|i| way.get(i)), way.get(j)) {
        (Some(&a), Some(&b)) => points[a].distance(points[b]),
        _ => 0.0,
    }
}

/// Turns a stretch that begins at `i` end for end where that is shorter.
fn turn_round(points: &[Vec3], way: &mut [usize], i: usize) -> bool {
    let before = i.checked_sub(1);
    for j in i + 1..(i + REACH).min(way.len()) {
        let now = step(points, way, before, i) + step(points, way, Some(j), j + 1);
        let then = step(points, way, before, j) + step(points, way, Some(i), j + 1);
        if then < now - SAVES {
            way[i..=j].reverse();
            return true;
        }
    }
    false
}

/// Carries the point at `i` to another near place where that is shorter.
fn carry(points: &[Vec3], way: &mut [usize], i: usize) -> bool {
    let before = i.checked_sub(1);
    let out = step(points, way, before, i) + step(points, way, Some(i), i + 1)
        - match before {
            Some(b) => step(points, way, Some(b), i + 1),
            None => 0.0,
        };
    for j in i.saturating_sub(REACH)..(i + REACH).min(way.len()) {
        if j + 1 == i || j == i {
            continue;
        }
        // Between j and j + 1; at the end, after j.
        let into = step(points, way, Some(j), i) + step(points, way, Some(i), j + 1)
            - step(points, way, Some(j), j + 1);
        let into = if j + 1 == way.len() {
            step(points, way, Some(j), i)
        } else {
            into
        };
        if into < out - SAVES {
            if j > i {
                way[i..=j].rotate_left(1);
            } else {
                way[j + 1..=i].rotate_right(1);
            }
            return true;
        }
    }
    false
}
