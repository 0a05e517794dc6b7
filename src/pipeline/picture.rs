//! The picture of the faired edge.

use crate::drawing::EdgePicture;
use crate::fair::{EdgePlace, FairChain, FairEdge};
use crate::geom::Vec3;
use crate::survey::{Point, Survey};

/// What the picture of the faired edge shows.
pub(super) fn edge_picture(places: &[EdgePlace], edge: &FairEdge, survey: &Survey) -> EdgePicture {
    let of_chain = |c| places.iter().filter(|p| p.chain == c).copied().collect();
    let points = edge
        .chains
        .iter()
        .zip(&survey.chains)
        .map(|(fair, measured)| measured_points(fair, &measured.points))
        .collect();
    EdgePicture {
        lines: (0..edge.chains.len()).map(of_chain).collect(),
        points,
    }
}

fn measured_points(fair: &FairChain, points: &[Point]) -> Vec<(f64, Vec3)> {
    fair.points
        .iter()
        .map(|p| (p.t, points[p.index].at))
        .collect()
}
