//! Slope of the covering board from whatever the rows or the job give.

use super::*;
use crate::geom::Vec2;
use crate::geom::Vec3;
use crate::job::{Construction, RoundUp};
use crate::survey::Point;
use crate::survey::SlopeGiven;
use crate::survey::Survey;

/// Gives every point a slope.
fn with(mut s: Survey, slope: impl Fn(&Point) -> Option<SlopeGiven>) -> Survey {
    for p in s.chains.iter_mut().flat_map(|c| &mut c.points) {
        p.slope = slope(p);
    }
    s
}

/// A curved side in plan lying in the plane deck z = a x + b y + c; port.
fn on_plane(a: f64, b: f64, n: u32) -> Vec<Vec3> {
    steps(9000.0, 0.0, n)
        .map(|x| {
            let y = 2400.0 - x * x / 40_000.0;
            vec3(x, y, 1000.0 + a * x + b * y)
        })
        .collect()
}

#[test]
fn athwart_slope_on_a_plane_deck_turns_to_its_gradient() {
    // On z = a x + b y the slope square to an edge is n . (a, b), the slope
    // athwart rising inboard is -b to port and b to starboard.
    let (a, b) = (0.03, -0.05);
    let port = with(survey(on_plane(a, b, 24)), |_| {
        Some(SlopeGiven::Athwart(-b))
    });
    let mut starboard = on_plane(a, -b, 24);
    starboard.reverse();
    for p in &mut starboard {
        p.y = -p.y;
        p.z = 1000.0 + a * p.x - b * p.y;
    }
    let starboard = with(survey(starboard), |_| Some(SlopeGiven::Athwart(-b)));
    for (s, gradient) in [
        (port, Vec2 { x: a, y: b }),
        (starboard, Vec2 { x: a, y: -b }),
    ] {
        let edge = fair(&s, &job(0.0, 0.0)).expect("fair");
        let l = only(&edge);
        for t in steps(l.range().0, l.range().1, 100) {
            let exact = l.inboard(t).dot(gradient);
            assert!((l.slope_at(t) - exact).abs() < 1e-6, "{t}");
        }
    }
}

/// The sides run straight aft to a square transom whose corners are knuckles:
/// what a corner's row gives athwart is square to the side there, as it is in
/// every row before it.
#[test]
fn a_slope_athwart_holds_at_a_corner_of_the_transom() {
    let port = steps(4000.0, 0.0, 8).map(|x| vec3(x, 900.0, 1400.0));
    let starboard = steps(0.0, 4000.0, 8).map(|x| vec3(x, -900.0, 1400.0));
    let mut s = survey(port.chain(starboard));
    for p in &mut s.chains[0].points {
        p.knuckle = p.at.x == 0.0;
        p.slope = Some(SlopeGiven::Athwart(0.02 + 1e-5 * p.at.x));
    }
    let edge = fair(&s, &job(0.0, 0.0)).expect("fair");
    let lengths = &edge.chains[0].lengths;
    assert_eq!(lengths.len(), 3);
    let (start, end) = lengths[0].range();
    for (t, slope) in [(start, 0.06), (0.5 * (start + end), 0.04), (end, 0.02)] {
        assert!((lengths[0].slope_at(t) - slope).abs() < 1e-9, "{t}");
    }
    assert!((lengths[2].slope_at(lengths[2].range().0) - 0.02).abs() < 1e-9);
    // An inboard point straight inboard of the corner lies along the transom.
    for p in &mut s.chains[0].points {
        let inboard = vec3(p.at.x, p.at.y - 150.0_f64.copysign(p.at.y), 1403.0);
        p.slope = Some(SlopeGiven::Inboard(inboard));
    }
    let edge = fair(&s, &job(0.0, 0.0)).expect("fair");
    let side = &edge.chains[0].lengths[0];
    assert!((side.slope_at(side.range().1) - 0.02).abs() < 1e-9);
    // Where neither length can tell it, it is told once.
    let middle = vec3(0.0, 0.0, 1400.0);
    let mut s = survey([
        vec3(400.0, 900.0, 1400.0),
        vec3(0.0, 900.0, 1400.0),
        middle,
        vec3(0.0, -900.0, 1400.0),
        vec3(400.0, -900.0, 1400.0),
    ]);
    for p in &mut s.chains[0].points {
        p.knuckle = p.at.x == 0.0;
        p.slope = (p.at == middle).then_some(SlopeGiven::Athwart(0.02));
    }
    let faults = fair(&s, &job(0.0, 0.0)).expect_err("refused");
    assert_eq!(faults.0.len(), 1, "{faults}");
    assert!(faults.0[0].what.contains("turned 90 degrees"), "{faults}");
}

#[test]
fn turning_is_exact_and_refused_beyond_45_degrees() {
    let (a, b) = (0.04, 0.07);
    for degrees in [0.0_f64, 20.0, 44.9, 135.1, 180.0, 200.0] {
        let angle = degrees.to_radians();
        let t = Vec2 {
            x: trig::cos(angle),
            y: trig::sin(angle),
        };
        let rise = a * t.x + b * t.y;
        let slope = square_from_athwart(b, t, rise).expect("within 45 degrees");
        assert!((slope - t.left().dot(Vec2 { x: a, y: b })).abs() < 1e-15);
    }
    for degrees in [45.1_f64, 90.0, 134.9, 270.0] {
        let angle = degrees.to_radians();
        let t = Vec2 {
            x: trig::cos(angle),
            y: trig::sin(angle),
        };
        assert_eq!(square_from_athwart(0.1, t, 0.0), None);
    }
}

#[test]
fn inboard_points_on_a_cone() {
    // The edge a circle in a cone of slope 0.12; inboard points 180 mm in, the
    // board straight across: exact, and with heights off by up to 1/32 in.
    let (radius, slope, noise) = (6000.0, 0.12, 25.4 / 32.0);
    let mut dice = Dice(3);
    for (error, within) in [(0.0, 1e-7), (noise, 0.6 * noise / 180.0)] {
        let places =
            steps(-0.6, 0.6, 24).map(|a| vec3(radius * trig::cos(a), radius * trig::sin(a), 900.0));
        let mut s = survey(places);
        for p in &mut s.chains[0].points {
            let inward = p.at.plan().unit() * -180.0;
            let z = 900.0 + 180.0 * slope + dice.within(-error, error);
            // Not quite square in: the foot is what counts.
            let along = p.at.plan().unit().left() * 35.0;
            let off = (p.at.plan() + inward + along).length();
            let z = z + (radius - off - 180.0) * slope;
            p.slope = Some(SlopeGiven::Inboard(
                (p.at.plan() + inward + along).at_height(z),
            ));
        }
        let mut j = job(0.0, 0.0);
        j.survey.accuracy = error;
        let edge = fair(&s, &j).expect("fair");
        let l = only(&edge);
        let (a, b) = l.range();
        let places: Vec<f64> = steps(a, b, 50).collect();
        let sum: f64 = places
            .iter()
            .map(|t| (l.slope_at(*t) - slope) * (l.slope_at(*t) - slope))
            .sum();
        assert!((sum / 51.0).sqrt() < within, "{}", (sum / 51.0).sqrt());
    }
}

#[test]
fn a_deck_with_round_up_gives_its_gradient_right_round_the_stern() {
    // Crown zc(x) = 1500 + 4e-6 x^2, mould 150 mm over 2300 mm.
    for construction in [
        Construction::CircularArc,
        Construction::Parabola,
        Construction::QuarterCircle,
    ] {
        let round_up = RoundUp {
            height: 150.0,
            half_beam: Some(2300.0),
            construction,
        };
        let mould = Mould {
            height: 150.0,
            half_beam: 2300.0,
            construction,
        };
        let places = hull(60).into_iter().map(|p| {
            let (fall, _) = mould.fall(p.y).expect("on the mould");
            vec3(p.x, p.y, 1500.0 + 4e-6 * p.x * p.x - fall)
        });
        let mut j = job(0.0, 0.0);
        j.survey.slope = None;
        j.survey.round_up = Some(round_up);
        let edge = fair(&survey(places), &j).expect("fair");
        let l = only(&edge);
        for t in steps(l.range().0, l.range().1, 500) {
            let p = l.base_point(t);
            let (_, growth) = mould.fall(p.y).expect("on the mould");
            let gradient = Vec2 {
                x: 8e-6 * p.x,
                y: -growth * p.y.signum(),
            };
            let exact = l.inboard(t).dot(gradient);
            assert!(
                (l.slope_at(t) - exact).abs() < 2e-4,
                "{construction:?} {t} {} {exact}",
                l.slope_at(t)
            );
        }
    }
}

#[test]
fn round_up_by_row_is_its_construction_at_the_rows_half_breadth() {
    let places = steps(5000.0, -5000.0, 10).map(|x| vec3(x, 2000.0, 900.0));
    let s = with(survey(places), |_| Some(SlopeGiven::RoundUp(100.0)));
    // Growth at the edge: parabola 2h/w; circular arc w / (R - h); quarter
    // circle h/w sqrt(1 + pi^2/4).
    let quarter = 0.05 * (1.0 + std::f64::consts::PI * std::f64::consts::PI / 4.0).sqrt();
    let cases = [
        (Construction::Parabola, 0.1),
        (Construction::CircularArc, 2000.0 / (20_050.0 - 100.0)),
        (Construction::QuarterCircle, quarter),
    ];
    for (construction, exact) in cases {
        let mut j = job(0.0, 0.0);
        j.survey.round_up = Some(RoundUp {
            height: 60.0,
            half_beam: None,
            construction,
        });
        let edge = fair(&s, &j).expect("fair");
        let l = only(&edge);
        for t in steps(0.0, 10_000.0, 20) {
            assert!((l.slope_at(t) - exact).abs() < 1e-12);
        }
    }
}

#[test]
fn rows_without_a_slope_take_theirs_between_those_with_one() {
    let places = || steps(10_000.0, 0.0, 20).map(|x| vec3(x, 2000.0, 900.0));
    // One value holds all along.
    let s = with(survey(places()), |p| {
        (p.line == 9).then_some(SlopeGiven::Square(0.08))
    });
    let edge = fair(&s, &job(0.5, 1.0)).expect("fair");
    for t in steps(0.0, 10_000.0, 50) {
        assert!((only(&edge).slope_at(t) - 0.08).abs() < 1e-12);
    }
    // Two at the ends: straight between.
    let s = with(survey(places()), |p| match p.line {
        2 => Some(SlopeGiven::Square(0.0)),
        22 => Some(SlopeGiven::Square(0.1)),
        _ => None,
    });
    let edge = fair(&s, &job(0.0, 1.0)).expect("fair");
    for t in steps(0.0, 10_000.0, 50) {
        assert!((only(&edge).slope_at(t) - 1e-5 * t).abs() < 1e-10);
    }
}

#[test]
fn a_twist_given_by_row_is_followed_exactly() {
    let places = steps(10_000.0, 0.0, 20).map(|x| vec3(x, 2000.0, 900.0));
    let s = with(survey(places), |p| {
        Some(SlopeGiven::Square(trig::tan(
            0.3 * (p.at.x - 5000.0) / 10_000.0,
        )))
    });
    let edge = fair(&s, &job(0.0, 0.0)).expect("fair");
    for t in steps(0.0, 10_000.0, 300) {
        let exact = trig::tan(0.3 * (5000.0 - t) / 10_000.0);
        assert!((only(&edge).slope_at(t) - exact).abs() < 1e-8);
    }
}
