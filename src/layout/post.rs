//! Box stanchions: where they stand, how long they are, and where they meet
//! the plates.

use super::divide::{Spans, divide, places, within};
use super::strip::Guide;
use super::way::Guides;
use super::{Feature, Stanchion};
use crate::fault::{Fault, Kind, Place};
use crate::geom::{Vec3, trig, vec3};
use crate::job::{Job, Side, Stand};

/// A stanchion with its footprints on both plates.
#[derive(Debug, Clone)]
pub(super) struct Post {
    pub stanchion: Stanchion,
    /// Index of the smooth length it stands on.
    pub length: usize,
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
    let mut even = vec![clearance];
    let mut k = 1.0;
    while k <= count {
        even.push(clearance + room * k / count);
        k += 1.0;
    }
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

/// Angles of a plane's normal against a tube's axes: fore-and-aft, athwart.
fn cut_angles(normal: Vec3, axis: Vec3, along: Vec3, athwart: Vec3) -> (f64, f64) {
    let up = normal.dot(axis);
    (
        trig::atan(-normal.dot(along) / up),
        trig::atan(-normal.dot(athwart) / up),
    )
}

/// Where a stanchion is to stand.
pub(super) struct Stance<'a> {
    pub job: &'a Job,
    pub guides: &'a Guides,
    pub chain: usize,
    pub length: usize,
    pub t: f64,
    pub side: Side,
    pub name: String,
    /// Place for people, for errors.
    pub place: String,
    /// Mass per volume of the tube, kg/mm3.
    pub density: f64,
}

/// Stands a stanchion: its outboard face touches both plates' outboard edges
/// in the plane square to the edge (plumb) or to the sheer; its footprints
/// are the true sections of the tube by the plates' faces.
pub(super) fn stand(s: &Stance<'_>) -> Result<Post, Fault> {
    stand_geometry(s).ok_or_else(|| {
        Fault::new(
            Kind::Geometry,
            Place::file(&s.job.file)
                .field("stanchions")
                .station(s.place.clone()),
            "no stanchion can stand here: its tube does not meet both plates",
            "check height and lean at this place, or move the stanchion",
        )
    })
}

fn stand_geometry(s: &Stance<'_>) -> Option<Post> {
    let (base, top) = (&*s.guides.base, &*s.guides.top);
    let above = s.job.base.thickness / 2.0;
    let below = -s.job.top.thickness / 2.0;
    let foot_jet = base.face(s.t, 0.0, above);
    let foot = foot_jet.point;
    let plan = base.tangent(s.t);
    let square = match s.job.stanchions.stand {
        Stand::Plumb => vec3(plan.x, plan.y, 0.0),
        Stand::SquareToSheer => foot_jet.along.unit(),
    };
    let u = head_on_top(top, below, foot, square, s.guides.u(s.t))?;
    let head = top.face(u, 0.0, below).point;
    let axis = (head - foot).unit();
    // Inboard, square to the tube: square x axis turned so that it points inboard.
    let athwart = axis.cross(square).unit();
    let half = s.job.stanchions.side / 2.0;
    let depth = s.job.stanchions.side;
    let mut low = f64::INFINITY;
    let mut high = f64::NEG_INFINITY;
    let (mut base_corners, mut top_corners) = (Vec::new(), Vec::new());
    for (a, b) in [(-half, 0.0), (half, 0.0), (half, depth), (-half, depth)] {
        let corner = foot + square * a + athwart * b;
        let (t, w, at) = meet(base, above, corner, axis, s.t)?;
        base_corners.push((t, w));
        low = low.min(at);
        let (t, w, at) = meet(top, below, corner, axis, u)?;
        top_corners.push((t, w));
        high = high.max(at);
    }
    let (foot_along, foot_athwart) = cut_angles(base.normal(s.t, 0.3), axis, square, athwart);
    let (head_along, head_athwart) = cut_angles(top.normal(u, 0.3), axis, square, athwart);
    let wall = s.job.stanchions.wall;
    let section = 4.0 * wall * (s.job.stanchions.side - wall);
    let inboard = plan.left();
    let lean = -trig::atan2(axis.plan().dot(inboard), axis.z);
    Some(Post {
        stanchion: Stanchion {
            name: s.name.clone(),
            chain: s.chain,
            t: s.t,
            side: s.side,
            place: s.place.clone(),
            foot,
            head,
            length: high - low,
            foot_along,
            foot_athwart,
            head_along,
            head_athwart,
            lean,
            mass_kg: section * (high - low) * s.density,
        },
        length: s.length,
        base_print: Feature::Footprint {
            corners: base_corners,
            name: s.name.clone(),
        },
        top_print: Feature::Footprint {
            corners: top_corners,
            name: s.name.clone(),
        },
    })
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
