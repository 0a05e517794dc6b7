//! Lengths by which a pattern is checked before anything is cut to it.

use crate::geom::outline::hull;
use crate::geom::{Outline, Segment, Vec2, trig};

/// A corner turns by more than this, rad: some 30 degrees.
const SHARP: f64 = 0.5;
/// Arcs are taken as chords this close, mm: below what a tape tells.
const CHORD: f64 = 0.005;

/// Straight lengths across an outline.
#[derive(Debug, Clone, PartialEq)]
pub struct Chords {
    /// The four corners, counter-clockwise from the lower left: where there
    /// are any, the diagonals run from the first to the third and from the
    /// second to the fourth.
    pub corners: Option<[Vec2; 4]>,
    /// Ends of the longest.
    pub longest: [Vec2; 2],
}

/// Lengths across an outline; `None` of one without extent.
pub fn chords(outline: &Outline) -> Option<Chords> {
    Some(Chords {
        corners: corners(outline),
        longest: longest(outline)?,
    })
}

/// Of the sharp corners those that lie furthest out to the four corners of
/// its box.
fn corners(outline: &Outline) -> Option<[Vec2; 4]> {
    let segments: Vec<Segment> = outline.segments().filter(|s| s.a != s.b).collect();
    let n = segments.len();
    let turn = |k: usize| {
        let (before, after) = (
            segments[(k + n - 1) % n].direction(1.0),
            segments[k].direction(0.0),
        );
        trig::atan2(before.cross(after), before.dot(after)).abs()
    };
    let sharp: Vec<Vec2> = (0..n)
        .filter(|&k| turn(k) > SHARP)
        .map(|k| segments[k].a)
        .collect();
    let (lo, hi) = outline.bounds();
    let size = hi - lo;
    let furthest = |x: f64, y: f64| {
        let out = |p: &Vec2| x * (p.x - lo.x) / size.x + y * (p.y - lo.y) / size.y;
        sharp
            .iter()
            .copied()
            .max_by(|a, b| out(a).total_cmp(&out(b)))
    };
    let four = [
        furthest(-1.0, -1.0)?,
        furthest(1.0, -1.0)?,
        furthest(1.0, 1.0)?,
        furthest(-1.0, 1.0)?,
    ];
    let apart = |a: usize, b: usize| four[a] != four[b];
    let all = (0..4).all(|a| (0..a).all(|b| apart(a, b)));
    all.then_some(four)
}

fn longest(outline: &Outline) -> Option<[Vec2; 2]> {
    let around = hull(outline.flatten(CHORD));
    let pairs =
        (around.iter().enumerate()).flat_map(|(k, &a)| around[..k].iter().map(move |&b| [b, a]));
    pairs.max_by(|p, q| p[0].distance(p[1]).total_cmp(&q[0].distance(q[1])))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::vec2;
    use crate::sample;

    #[test]
    fn a_rectangle_has_its_diagonals_and_a_disc_none() {
        let square = Outline::rectangle(vec2(0.0, 0.0), vec2(400.0, 300.0));
        let found = chords(&square).unwrap();
        let c = found.corners.unwrap();
        assert_eq!(c[0], vec2(0.0, 0.0));
        assert!((c[0].distance(c[2]) - 500.0).abs() < 1e-12);
        assert!((c[1].distance(c[3]) - 500.0).abs() < 1e-12);
        let disc = chords(&Outline::circle(vec2(5.0, 5.0), 50.0)).unwrap();
        assert!(disc.corners.is_none());
        let [a, b] = disc.longest;
        assert!((a.distance(b) - 100.0).abs() < 0.02);
        assert!(chords(&Outline::default()).is_none());
    }

    #[test]
    fn a_curved_strip_has_four_corners() {
        let part = sample::ring_sector("B1");
        let found = chords(&part.outline).unwrap();
        let corners = found.corners.unwrap();
        for v in &part.outline.vertices {
            assert!(corners.contains(&v.at));
        }
    }
}
