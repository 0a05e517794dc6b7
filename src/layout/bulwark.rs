//! How much bulwark stands on each side of the boat, and across it.

use super::chain::Chain;
use super::model::BulwarkLength;
use super::number::rank;
use super::post::Post;
use super::run::Bay;
use crate::job::{Job, Side};

/// What stands in the three rows: port, across, starboard.
#[derive(Debug, Default)]
pub(super) struct Tally([Sum; 3]);

#[derive(Debug, Default)]
struct Sum {
    length: f64,
    /// Of the stanchions between the plates, mm.
    heights: f64,
    stanchions: f64,
}

impl Tally {
    /// Counts a bay with its stanchions: to the centreline where a smooth
    /// length goes round the stern.
    pub(super) fn count(&mut self, chain: &Chain<'_>, bay: &Bay, posts: &[Post]) {
        let guide = &chain.guides[bay.length].base;
        let [from, to] = [0, 1].map(|end| bay.base[end].at(0.0));
        let across = chain.goes_across(bay.length);
        let own = posts.iter().filter(|p| p.length == bay.length);
        if across {
            self.0[rank(None)].length += guide.edge_length(from, to);
        } else {
            for (side, from, to) in chain.by_side(from, to) {
                self.0[rank(Some(side))].length += guide.edge_length(from, to);
            }
        }
        for stanchion in own.map(|p| &p.stanchion) {
            // One on the centreline of a round stern stands on neither side.
            if across || stanchion.side.is_some() {
                let row = if across { None } else { stanchion.side };
                let sum = &mut self.0[rank(row)];
                sum.heights += stanchion.head.z - stanchion.foot.z;
                sum.stanchions += 1.0;
            }
        }
    }

    /// Port, across, starboard: those that there are.
    pub(super) fn told(&self, job: &Job) -> Vec<BulwarkLength> {
        let plates = job.base.thickness + job.top.thickness + job.bedding;
        [Some(Side::Port), None, Some(Side::Starboard)]
            .into_iter()
            .map(|side| (side, &self.0[rank(side)]))
            .filter(|(_, sum)| sum.length > 0.0)
            .map(|(side, sum)| BulwarkLength {
                side,
                length: sum.length,
                height: if sum.stanchions > 0.0 {
                    sum.heights / sum.stanchions + plates
                } else {
                    job.bulwark.height
                },
            })
            .collect()
    }
}
