//! Where stanchions stand along the edge, and their numbers: from forward on
//! each side, so that 1P stands opposite 1S.

use super::chain::{Chain, is_athwart};
use super::divide::Spans;
use super::post::{Post, Spot, space};
use super::run::{Bay, Obstacle, Segment, on_chain};
use crate::job::{Side, Spacing};
use crate::length::show;

/// The spots on a bay, not yet numbered, and warnings of lengths over which
/// the limit of the spacing cannot be kept.
pub(super) fn spots(
    chain: &Chain<'_>,
    segment: &Segment,
    bay: &Bay,
    obstacles: &[Obstacle],
    by_hand: Option<&[(usize, f64)]>,
) -> (Vec<Spot>, Vec<String>) {
    let (at, warnings) = match (&chain.job.stanchions.spacing, by_hand) {
        (Spacing::Even(limit), _) => even(chain, segment, bay, obstacles, *limit),
        (Spacing::At(_), stands) => {
            let here = |p: &&(usize, f64)| p.0 == chain.index && p.1 >= bay.from && p.1 <= bay.to;
            let at = stands.into_iter().flatten().filter(here).map(|p| p.1);
            (at.collect(), vec![])
        }
    };
    let spots = at.into_iter().map(|t| {
        let side = row(chain, t);
        Spot {
            chain: chain.index,
            length: bay.length,
            t,
            side,
            number: 0,
            place: match side {
                Some(_) => chain.name(t),
                None => "on the centreline".to_owned(),
            },
        }
    });
    let mut spots: Vec<Spot> = spots.collect();
    spots.sort_by(|a, b| a.t.total_cmp(&b.t));
    (spots, warnings)
}

/// The side that a stanchion stands on; `None` where the edge runs athwart
/// and the centreline passes through its tube.
fn row(chain: &Chain<'_>, t: f64) -> Option<Side> {
    let athwart = is_athwart(chain.tangent(t));
    let through = chain.point(t).y.abs() < chain.job.stanchions.side / 2.0;
    (!(athwart && through)).then(|| chain.side(t))
}

fn even(
    chain: &Chain<'_>,
    segment: &Segment,
    bay: &Bay,
    obstacles: &[Obstacle],
    limit: f64,
) -> (Vec<f64>, Vec<String>) {
    let job = chain.job;
    let s = &job.stanchions;
    let clear = s.side / 2.0 + job.joints.clear_of_stanchion;
    let barred = on_chain(obstacles, chain).map(|o| (o.from - clear, o.to + clear));
    let local = Spans::union(barred.collect()).within(bay.from, bay.to, segment.flip);
    let (at, wide) = space(bay.to - bay.from, s.end_clearance, limit, &local);
    let (from, to) = (bay.from, bay.to);
    let place = |x: f64| if segment.flip { to - x } else { from + x };
    let warnings = wide.into_iter().map(|(a, b)| {
        format!(
            "stanchions stand {} apart at {}, over the limit of {}: a doubler or a length to keep clear is in the way",
            show(b - a, job.show),
            chain.name(place(0.5 * (a + b))),
            show(limit, job.show),
        )
    });
    (at.into_iter().map(place).collect(), warnings.collect())
}

/// Numbers the spots of the whole boat: each side from forward, straight on
/// over gates. Port is passed from forward along a chain, starboard from aft.
pub(super) fn number<'a>(spots: impl Iterator<Item = &'a mut Spot>) {
    let mut rows: [Vec<&mut Spot>; 3] = [vec![], vec![], vec![]];
    for spot in spots {
        rows[rank(spot.side)].push(spot);
    }
    for row in &mut rows {
        row.sort_by(|a, b| {
            let along = a.t.total_cmp(&b.t);
            let from_forward = match a.side {
                Some(Side::Starboard) => along.reverse(),
                _ => along,
            };
            a.chain.cmp(&b.chain).then(from_forward)
        });
        for (k, spot) in row.iter_mut().enumerate() {
            spot.number = k + 1;
        }
    }
}

/// Order of the rows in lists: port, centreline, starboard.
pub(super) fn rank(side: Option<Side>) -> usize {
    match side {
        Some(Side::Port) => 0,
        None => 1,
        Some(Side::Starboard) => 2,
    }
}

/// Stanchions fixed by hand may stand in a doubler or too close together:
/// the shipwright is told, and decides.
pub(super) fn crowded(chain: &Chain<'_>, posts: &[Post], obstacles: &[Obstacle]) -> Vec<String> {
    let job = chain.job;
    let side = job.stanchions.side;
    let mut out = Vec::new();
    for pair in posts.windows(2) {
        let apart = (pair[1].stanchion.t - pair[0].stanchion.t).abs() - side;
        if apart < side {
            out.push(format!(
                "stanchions {} and {} at {} stand {} apart, less than a stanchion's side: there may be no room to weld between them",
                pair[0].stanchion.name,
                pair[1].stanchion.name,
                pair[1].stanchion.place,
                show(apart.max(0.0), job.show),
            ));
        }
    }
    for post in posts {
        let (a, b) = (post.stanchion.t - side / 2.0, post.stanchion.t + side / 2.0);
        for o in on_chain(obstacles, chain) {
            if o.from < b && o.to > a {
                out.push(format!(
                    "stanchion {} at {} stands in a doubler or a length to keep clear",
                    post.stanchion.name, post.stanchion.place
                ));
            }
        }
    }
    out
}
