//! The shortest tree that spans points in space.
//!
//! Prim's method (1957) over an R-tree of the points that are still to be reached: each
//! point of the tree keeps its nearest one of them, and looks for another where that is
//! taken. Near n log n on points along a line.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use rstar::RTree;

use super::places::{Spot, spot, tree};
use crate::geom::Vec3;

/// Edges of the tree, one fewer than points.
pub(super) fn spanning_tree(points: &[Vec3]) -> Vec<(usize, usize)> {
    let mut left = tree(points.iter().copied());
    // Squared lengths as bits, which are in order where none is negative.
    let nearest = |left: &RTree<Spot>, from: usize| {
        let to = left.nearest_neighbor(spot(points[from], from).geom())?.data;
        let d = points[to] - points[from];
        Some(Reverse((d.dot(d).to_bits(), from, to)))
    };
    let mut queue = BinaryHeap::new();
    let mut edges = Vec::new();
    if let Some(&first) = points.first() {
        left.remove(&spot(first, 0));
        queue.extend(nearest(&left, 0));
    }
    while let Some(Reverse((_, from, to))) = queue.pop() {
        if left.remove(&spot(points[to], to)).is_some() {
            edges.push((from, to));
            queue.extend(nearest(&left, to));
        }
        queue.extend(nearest(&left, from));
    }
    edges
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::geom::vec3;

    /// Total length of Prim's tree, by hand.
    fn prim(points: &[Vec3]) -> f64 {
        let mut away: Vec<f64> = points.iter().map(|p| p.distance(points[0])).collect();
        let mut out: Vec<usize> = (1..points.len()).collect();
        let mut sum = 0.0;
        while let Some((k, &i)) = out
            .iter()
            .enumerate()
            .min_by(|a, b| away[*a.1].total_cmp(&away[*b.1]))
        {
            out.remove(k);
            sum += away[i];
            for &j in &out {
                away[j] = away[j].min(points[i].distance(points[j]));
            }
        }
        sum
    }

    proptest! {
        #[test]
        fn it_is_as_short_as_prims(points in proptest::collection::vec(proptest::array::uniform3(-50i32..50), 1..80)) {
            let points: Vec<Vec3> = points.iter().map(|p| vec3(p[0].into(), p[1].into(), p[2].into())).collect();
            let edges = spanning_tree(&points);
            prop_assert_eq!(edges.len() + 1, points.len());
            let length: f64 = edges.iter().map(|&(a, b)| points[a].distance(points[b])).sum();
            prop_assert!((length - prim(&points)).abs() < 1e-9 * (1.0 + length));
        }
    }
}
