//! Box stanchions: where they stand, how long they are, and where they meet
//! the plates.

use super::chain::Chain;
use super::divide::{Spans, divide, places, within};
use super::model::{Feature, Stanchion};
use super::seat::{On, Plane};
use super::strip::Guide;
use crate::fault::{Fault, Kind};
use crate::geom::steps::evenly;
use crate::geom::{Vec3, trig, vec3};
use crate::job::{Side, Stand};
use crate::stock::box_tube_area;

/// Where a stanchion is to stand.
#[derive(Debug, Clone)]
pub(super) struct Spot {
    /// Index of the chain.
    pub chain: usize,
    /// Index of the chain's length.
    pub length: usize,
    /// t on the base line, mm.
    pub t: f64,
    /// Side; `None` where it stands on the centreline at the stern.
    pub side: Option<Side>,
    /// Number in its row, from forward.
    pub number: usize,
    /// Place for people.
    pub place: String,
}

impl Spot {
    /// `12P`, `12S`; `1C` on the centreline.
    pub(super) fn name(&self) -> String {
        let letter = match self.side {
            Some(Side::Port) => 'P',
            Some(Side::Starboard) => 'S',
            None => 'C',
        };
        format!("{}{letter}", self.number)
    }
}

/// A stanchion with its footprints on both plates.
#[derive(Debug, Clone)]
pub(super) struct Post {
    pub stanchion: Stanchion,
    /// Index of the smooth length it stands on.
    pub length: usize,
    /// Outboard corners of the tube's cuts: foot, head.
    pub outboard: [[Vec3; 2]; 2],
    /// The tube in the middle of its width: foot outboard, foot inboard, head
    /// inboard, head outboard.
    pub middle: [Vec3; 4],
    pub base_print: Feature,
    pub top_print: Feature,
}

/// Even places for stanchions on a free length, no further apart than
/// `spacing`, off the barred spans: distances from its beginning. The second
/// value lists spans over which the limit could not be kept.
pub(super) fn space(
    length: f64,
    clearance: f64,
    spacing: f64,
    barred: &Spans,
) -> (Vec<f64>, Vec<(f64, f64)>) {
    let room = length - 2.0 * clearance;
    if room < 0.0 {
        return (vec![], vec![]);
    }
    let count = (room / spacing - 1e-9).ceil().max(1.0);
    let even: Vec<f64> = evenly(clearance, room, count).collect();
    if even.iter().all(|&x| !barred.covers(x)) {
        return (even, vec![]);
    }
    let free = barred.free(clearance, length - clearance);
    let (Some(first), Some(last)) = (free.first(), free.last()) else {
        return (vec![], vec![(0.0, length)]);
    };
    let (from, to) = (first.0, last.1);
    let shifted = barred.within(from, to, false);
    let p = places(to - from, &shifted);
    let reach = |i: usize| within(&p, i, spacing).max(i + 1);
    let chosen = divide(&p, &reach).unwrap_or_default();
    let mut at = vec![0];
    at.extend(chosen);
    at.push(p.len() - 1);
    let out: Vec<f64> = at.iter().map(|&i| from + p[i]).collect();
    let wide = out
        .windows(2)
        .filter(|w| w[1] - w[0] > spacing + 1e-6)
        .map(|w| (w[0], w[1]))
        .collect();
    (out, wide)
}

/// Where a straight line meets a plate's face: (t, w, distance along the line).
fn meet(guide: &Guide, above: f64, from: Vec3, axis: Vec3, guess: f64) -> Option<(f64, f64, f64)> {
    let (mut t, mut w) = (guess, 0.5);
    // Newton on (t, w); the distance follows. Quadratic near the root; the
    // face is nearly flat over a stanchion, so a handful of steps is enough.
    for _ in 0..25 {
        let jet = guide.face(t, w, above);
        let rest = jet.point - from;
        // Solve along * dt + across * dw - axis * ds = -(rest - axis * s).
        let det = jet.along.dot(jet.across.cross(axis));
        if det.abs() < 1e-12 {
            return None;
        }
        let step_t = -rest.dot(jet.across.cross(axis)) / det;
        let step_w = -jet.along.dot(rest.cross(axis)) / det;
        t += step_t;
        w += step_w;
        if !(t.is_finite() && w.is_finite()) {
            return None;
        }
        if step_t.abs() < 1e-9 && step_w.abs() < 1e-11 {
            let s = (guide.face(t, w, above).point - from).dot(axis) / axis.dot(axis);
            return Some((t, w, s));
        }
    }
    None
}

/// u of the top line in the plane through `foot` square to `across`.
fn head_on_top(top: &Guide, below: f64, foot: Vec3, square: Vec3, guess: f64) -> Option<f64> {
    let mut u = guess;
    for _ in 0..40 {
        let jet = top.face(u, 0.0, below);
        let step = ((jet.point - foot).dot(square) / jet.along.dot(square)).clamp(-300.0, 300.0);
        if !step.is_finite() {
            return None;
        }
        u -= step;
        if step.abs() < 1e-10 {
            return Some(u);
        }
    }
    None
}

/// Intervals of a tube's side at whose ends its seat is taken: over a tube a
/// plate's face is a cubic at most to a micrometre, and eight see that.
const A_SIDE: u32 = 8;

/// Stands a stanchion: its outboard face touches both plates' outboard edges
/// in the plane square to the edge (plumb) or to the sheer; its footprints
/// are the true sections of the tube by the plates' faces.
pub(super) fn stand(chain: &Chain<'_>, spot: &Spot) -> Result<Post, Fault> {
    let density = chain
        .job
        .alloy(&chain.job.stanchions.alloy)?
        .density_kg_mm3();
    stood(chain, spot, density).ok_or_else(|| {
        Fault::new(
            Kind::Geometry,
            chain.job.place("stanchions").station(spot.place.clone()),
            "no stanchion can stand here: its tube does not meet both plates",
            "check height and lean at this place, or move the stanchion",
        )
    })
}

/// The same; `density` of the tube, kg/mm3.
fn stood(chain: &Chain<'_>, spot: &Spot, density: f64) -> Option<Post> {
    let (job, guides) = (chain.job, &chain.guides[spot.length]);
    let (base, top) = (&*guides.base, &*guides.top);
    let t = spot.t;
    let above = job.base.thickness / 2.0;
    let below = -job.top.thickness / 2.0;
    let foot_jet = base.face(t, 0.0, above);
    let foot = foot_jet.point;
    let plan = base.tangent(t);
    let square = match job.stanchions.stand {
        Stand::Plumb => vec3(plan.x, plan.y, 0.0),
        Stand::SquareToSheer => foot_jet.along.unit(),
    };
    let u = head_on_top(top, below, foot, square, guides.u(t))?;
    let head = top.face(u, 0.0, below).point;
    let axis = (head - foot).unit();
    let tube = Tube {
        foot,
        axis,
        square,
        // Inboard, square to the tube: square x axis turned so that it points inboard.
        athwart: axis.cross(square).unit(),
        side: job.stanchions.side,
        // t runs aft on port, forward on starboard.
        forward: match spot.side {
            Some(Side::Starboard) => 1.0,
            Some(Side::Port) | None => -1.0,
        },
    };
    let (base_corners, foot_cut) = tube.end(base, above, t, false)?;
    let (top_corners, head_cut) = tube.end(top, below, u, true)?;
    let length = tube.long_points(&foot_cut, &head_cut);
    let section = box_tube_area(job.stanchions.side, job.stanchions.wall);
    let lean = -trig::atan2(axis.plan().dot(plan.left()), axis.z);
    let name = spot.name();
    let print = |corners| Feature::Footprint {
        corners,
        name: name.clone(),
    };
    Some(Post {
        base_print: print(base_corners),
        top_print: print(top_corners),
        length: spot.length,
        outboard: [&foot_cut, &head_cut].map(|cut| tube.outboard(cut)),
        middle: [
            tube.at(&foot_cut, 0.0, 0.0),
            tube.at(&foot_cut, 0.0, tube.side),
            tube.at(&head_cut, 0.0, tube.side),
            tube.at(&head_cut, 0.0, 0.0),
        ],
        stanchion: Stanchion {
            name,
            number: spot.number,
            chain: spot.chain,
            t,
            side: spot.side,
            place: spot.place.clone(),
            foot,
            head,
            length,
            foot_cut: foot_cut.end,
            head_cut: head_cut.end,
            lean,
            mass_kg: section * length * density,
        },
    })
}

/// A tube between the plates.
struct Tube {
    /// Middle of the outboard face at the foot.
    foot: Vec3,
    /// Up the tube.
    axis: Vec3,
    /// Along the outboard face, along the chain.
    square: Vec3,
    /// Inboard.
    athwart: Vec3,
    side: f64,
    /// One where the chain runs forward here, else minus one.
    forward: f64,
}

impl Tube {
    /// Corners along the chain and inboard, mm.
    fn corners(&self) -> [(f64, f64); 4] {
        let (half, depth) = (self.side / 2.0, self.side);
        [(-half, 0.0), (half, 0.0), (half, depth), (-half, depth)]
    }

    /// One end on a plate's face: where the corners meet it, and the cut.
    fn end(
        &self,
        guide: &Guide,
        above: f64,
        near: f64,
        head: bool,
    ) -> Option<(Vec<(f64, f64)>, Plane)> {
        let corners = self.corners();
        let (mut print, mut seat) = (Vec::new(), Vec::new());
        for (k, from) in corners.iter().enumerate() {
            let to = corners[(k + 1) % corners.len()];
            for i in 0..A_SIDE {
                let f = f64::from(i) / f64::from(A_SIDE);
                let (along, inboard) = (from.0 + f * (to.0 - from.0), from.1 + f * (to.1 - from.1));
                let at = self.foot + self.square * along + self.athwart * inboard;
                let (t, w, up) = meet(guide, above, at, self.axis, near)?;
                if i == 0 {
                    print.push((t, w));
                }
                seat.push(On {
                    forward: self.forward * along,
                    inboard,
                    up,
                });
            }
        }
        Some((print, Plane::on(&seat, head)?))
    }

    /// The corners of its outboard face at a cut.
    fn outboard(&self, cut: &Plane) -> [Vec3; 2] {
        [-0.5, 0.5].map(|part| self.at(cut, part * self.side, 0.0))
    }

    /// Where a cut passes a line along the tube, which is told by its place
    /// along the chain and inboard, mm.
    fn at(&self, cut: &Plane, along: f64, inboard: f64) -> Vec3 {
        let up = cut.up(self.forward * along, inboard);
        self.foot + self.square * along + self.athwart * inboard + self.axis * up
    }

    /// Length from long point to long point, mm.
    fn long_points(&self, foot: &Plane, head: &Plane) -> f64 {
        let corners = self.corners();
        let up =
            |cut: &Plane| corners.map(|(along, inboard)| cut.up(self.forward * along, inboard));
        let low = up(foot).into_iter().fold(f64::INFINITY, f64::min);
        let high = up(head).into_iter().fold(f64::NEG_INFINITY, f64::max);
        high - low
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_open_length_is_spaced_evenly_from_clearance_to_clearance() {
        let (at, wide) = space(3000.0, 150.0, 600.0, &Spans::default());
        assert_eq!(at, vec![150.0, 690.0, 1230.0, 1770.0, 2310.0, 2850.0]);
        assert!(wide.is_empty());
    }

    #[test]
    fn a_barred_span_wider_than_the_limit_is_reported() {
        let barred = Spans::union(vec![(900.0, 1800.0)]);
        let (at, wide) = space(3000.0, 150.0, 600.0, &barred);
        assert!(at.iter().all(|&x| !barred.covers(x)));
        assert_eq!(wide, vec![(900.0, 1800.0)]);
    }
}
