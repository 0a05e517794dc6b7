//! The picture of the faired edge.

use crate::drawing::EdgePicture;
use crate::fair::{EdgePlace, FairEdge};
use crate::survey::Survey;

/// What the picture of the faired edge shows.
pub(super) fn edge_picture(places: &[EdgePlace], edge: &FairEdge, survey: &Survey) -> EdgePicture {
    let of_chain = |c| places.iter().filter(|p| p.chain == c).copied().collect();
    let chains = edge.chains.iter().zip(&survey.chains);
    let measured = chains.map(|(fair, measured)| {
        let at = fair
            .points
            .iter()
            .map(|p| (p.t, measured.points[p.index].at));
        at.collect()
    });
    EdgePicture {
        lines: (0..edge.chains.len()).map(of_chain).collect(),
        points: measured.collect(),
    }
}
