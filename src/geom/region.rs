//! Ground with an outer profile and holes, such as an offcut of plate.

use super::outline::Outline;
use super::parallel::{cross, crosses_itself};
use super::vector::{Placement, Vec2};

/// Ground bounded by an outer profile, less holes; arcs kept as arcs.
#[derive(Debug, Clone, PartialEq)]
pub struct Region {
    /// The outer profile, counter-clockwise.
    pub outer: Outline,
    /// Holes, clockwise, inside it and apart from each other.
    pub holes: Vec<Outline>,
}

/// Why profiles bound no ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoRegion {
    /// The outer profile (`None`) or a hole is no profile: fewer than two
    /// corners, a figure that is not finite, or no area.
    NoProfile(Option<usize>),
    /// The outer profile (`None`) or a hole crosses or touches itself.
    CrossesItself(Option<usize>),
    /// A hole touches, crosses or lies outside the outer profile.
    HoleOutside(usize),
    /// Two holes touch, cross or lie in each other.
    HolesMeet(usize, usize),
}

/// Arcs are taken as chords this near, mm, where a point is looked for in a
/// profile: profiles that do not meet are told apart by any point of them.
const CHORD: f64 = 0.01;
/// Least area of a profile, mm2: below it, it is a slip of the pen.
const LEAST_AREA: f64 = 1e-3;

impl Region {
    /// Ground from profiles that run either way round.
    ///
    /// # Errors
    /// The first reason in the order of [`NoRegion`].
    pub fn new(outer: Outline, holes: Vec<Outline>) -> Result<Self, NoRegion> {
        let all = || std::iter::once((None, &outer)).chain(named(&holes));
        for (which, profile) in all() {
            if profile.vertices.len() < 2 || !profile.is_finite() {
                return Err(NoRegion::NoProfile(which));
            }
        }
        for (which, profile) in all() {
            // Before the area: the two halves of a bow bound none between them.
            if crosses_itself(profile) {
                return Err(NoRegion::CrossesItself(which));
            }
            if profile.area().abs() < LEAST_AREA {
                return Err(NoRegion::NoProfile(which));
            }
        }
        let inside = |hole: &Outline, of: &Outline| of.contains(hole.vertices[0].at, CHORD);
        for (i, hole) in holes.iter().enumerate() {
            if cross(&outer, hole) || !inside(hole, &outer) {
                return Err(NoRegion::HoleOutside(i));
            }
        }
        for (i, a) in holes.iter().enumerate() {
            for (k, b) in holes.iter().enumerate().skip(i + 1) {
                if cross(a, b) || inside(a, b) || inside(b, a) {
                    return Err(NoRegion::HolesMeet(i, k));
                }
            }
        }
        let turned = |profile: Outline, left: bool| {
            if (profile.area() > 0.0) == left {
                profile
            } else {
                profile.reversed()
            }
        };
        Ok(Self {
            outer: turned(outer, true),
            holes: holes.into_iter().map(|h| turned(h, false)).collect(),
        })
    }

    /// Area less holes, mm2.
    #[must_use]
    pub fn area(&self) -> f64 {
        self.profiles().map(Outline::area).sum()
    }

    /// Corners of the box that holds it, mm.
    #[must_use]
    pub fn bounds(&self) -> (Vec2, Vec2) {
        self.outer.bounds()
    }

    /// The outer profile, then the holes.
    pub fn profiles(&self) -> impl Iterator<Item = &Outline> {
        std::iter::once(&self.outer).chain(&self.holes)
    }

    /// The ground placed elsewhere.
    #[must_use]
    pub fn placed(&self, placement: Placement) -> Self {
        Self {
            outer: self.outer.placed(placement),
            holes: self.holes.iter().map(|h| h.placed(placement)).collect(),
        }
    }
}

fn named(holes: &[Outline]) -> impl Iterator<Item = (Option<usize>, &Outline)> {
    holes.iter().enumerate().map(|(i, h)| (Some(i), h))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::vec2;
    use std::f64::consts::PI;

    fn square(lo: f64, hi: f64) -> Outline {
        Outline::polygon(&[vec2(lo, lo), vec2(hi, lo), vec2(hi, hi), vec2(lo, hi)])
    }

    #[test]
    fn a_plate_with_holes_has_its_area_whichever_way_they_run() {
        let holes = [
            Outline::circle(vec2(30.0, 30.0), 10.0),
            square(60.0, 80.0).reversed(),
        ];
        let exact = 10_000.0 - 100.0 * PI - 400.0;
        for outer in [square(0.0, 100.0), square(0.0, 100.0).reversed()] {
            let r = Region::new(outer, holes.to_vec()).unwrap();
            assert!((r.area() - exact).abs() < 1e-9);
            assert!(r.outer.area() > 0.0 && r.holes.iter().all(|h| h.area() < 0.0));
            let there = r.placed(Placement {
                turn: 0.3,
                shift: vec2(-5.0, 900.0),
            });
            assert!((there.area() - exact).abs() < 1e-8);
        }
    }

    #[test]
    fn what_bounds_no_ground_is_told() {
        let bow = Outline::polygon(&[
            vec2(0.0, 0.0),
            vec2(90.0, 100.0),
            vec2(100.0, 0.0),
            vec2(0.0, 90.0),
        ]);
        let hole = |x: f64, y: f64, r: f64| Outline::circle(vec2(x, y), r);
        let plate = square(0.0, 100.0);
        let nan = Outline::polygon(&[vec2(0.0, 0.0), vec2(f64::NAN, 1.0), vec2(5.0, 5.0)]);
        for (outer, holes, why) in [
            (bow, vec![], NoRegion::CrossesItself(None)),
            (nan, vec![], NoRegion::NoProfile(None)),
            (
                plate.clone(),
                vec![Outline::default()],
                NoRegion::NoProfile(Some(0)),
            ),
            (
                plate.clone(),
                vec![hole(95.0, 50.0, 10.0)],
                NoRegion::HoleOutside(0),
            ),
            (
                plate.clone(),
                vec![hole(195.0, 50.0, 10.0)],
                NoRegion::HoleOutside(0),
            ),
            (
                plate.clone(),
                vec![hole(30.0, 50.0, 10.0), hole(45.0, 50.0, 10.0)],
                NoRegion::HolesMeet(0, 1),
            ),
            (
                plate,
                vec![hole(50.0, 50.0, 30.0), hole(50.0, 50.0, 10.0)],
                NoRegion::HolesMeet(0, 1),
            ),
        ] {
            assert_eq!(Region::new(outer, holes), Err(why));
        }
    }
}
