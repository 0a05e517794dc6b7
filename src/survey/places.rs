//! Points found, and put in order, by their places.

use std::cmp::Ordering;

use rstar::RTree;
use rstar::primitives::GeomWithData;

use crate::geom::Vec3;

/// A place with its index.
pub(super) type Spot = GeomWithData<[f64; 3], usize>;

pub(super) fn spot(p: Vec3, index: usize) -> Spot {
    Spot::new([p.x, p.y, p.z], index)
}

/// A tree of places that finds those near another.
pub(super) fn tree(places: impl Iterator<Item = Vec3>) -> RTree<Spot> {
    let spots = places.enumerate().map(|(i, p)| spot(p, i));
    RTree::bulk_load(spots.collect())
}

/// Indices of the places of a tree within a distance, mm, in no order.
pub(super) fn within(tree: &RTree<Spot>, p: Vec3, mm: f64) -> impl Iterator<Item = usize> {
    let near = tree.locate_within_distance([p.x, p.y, p.z], mm * mm);
    near.map(|spot| spot.data)
}

/// Order of places by x, then y, then z.
pub(super) fn place_order(a: Vec3, b: Vec3) -> Ordering {
    let along = |f: fn(Vec3) -> f64| f(a).total_cmp(&f(b));
    along(|p| p.x).then(along(|p| p.y)).then(along(|p| p.z))
}
