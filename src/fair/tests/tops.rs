//! The top line over the measured edge.

use super::*;
use crate::geom::bspline::Spline;

#[test]
fn a_leaning_top_over_a_circle_is_a_circle() {
    // Radius 6000 at the edge; planking 30 and inset 45 inboard, less lean 8
    // degrees outboard over the height.
    let (radius, lean) = (6000.0_f64, 8.0_f64.to_radians());
    let places =
        steps(-0.9, 0.9, 24).map(|a| vec3(radius * trig::cos(a), radius * trig::sin(a), 900.0));
    let mut j = job(0.0, 0.0);
    j.section.planking = 30.0;
    j.section.planking_inset = 45.0;
    j.section.weld_setback = 2.0;
    j.bulwark.lean = lean;
    for (line, inboard) in [
        (SurveyedLine::CoveringBoardEdge, 77.0),
        (SurveyedLine::OutsideOfPlanking, 32.0),
    ] {
        j.survey.line = line;
        let edge = fair(&survey(places.clone()), &j).expect("fair");
        let l = only(&edge);
        let exact = radius - inboard + 800.0 * trig::tan(lean);
        for t in steps(l.range().0, l.range().1, 300) {
            let p = l.top_point(t);
            assert!((p.plan().length() - exact).abs() < 0.003);
            assert!((p.z - 1700.0).abs() < 1e-6);
            let f = l.frame(t);
            assert!((p.plan() - f.at.plan()).dot(f.tangent).abs() < 1e-3);
            let (bend, _) = curvature(&l.top, l.top_of.at(t)[0]);
            assert!((bend * exact - 1.0).abs() < 1e-3);
        }
    }
}

/// Far from the origin a place is rounded by more than the parameter of its
/// line near nought: 200 m away all is as at 2 m.
#[test]
fn a_top_line_is_found_as_far_away_as_a_ship_is_long() {
    for from in steps(200_000.0, 200_007.0, 40) {
        let places = steps(0.0, 9000.0, 30)
            .map(|x| vec3(from - x, 50.0 + x * (0.24 - 1e-5 * x), 900.0 + 3e-5 * x * x));
        fair(&survey(places), &job(1.0, 4.0)).unwrap_or_else(|f| panic!("{from}: {f}"));
    }
}

#[test]
fn the_height_is_between_the_faces_named() {
    let mut j = job(0.0, 0.0);
    // Nought for nought.
    assert!((whole_height(&j, 800.0, 0.1, 0.05) - 800.0).abs() < 1e-12);
    j.bulwark.height_from = HeightFrom::BasePlate;
    j.section.planking = 40.0;
    // 3 bedding + 12.7 plate square to a face of slope 0.1 and grade 0.05, and the
    // board 40 mm inboard 4 mm up.
    let v = (1.0_f64 + 0.01 + 0.0025).sqrt();
    assert!((whole_height(&j, 800.0, 0.1, 0.05) - (804.0 + 15.7 * v)).abs() < 1e-12);
    j.bulwark.height_from = HeightFrom::CoveringBoard;
    j.bulwark.height_to = HeightTo::UnderTopPlate;
    let level = (1.0_f64 + 0.0025).sqrt();
    assert!((whole_height(&j, 800.0, 0.1, 0.05) - (800.0 + 12.7 * level)).abs() < 1e-12);
    j.bulwark.height_to = HeightTo::Cap;
    j.top_slope = TopSlope::Deck;
    assert!((whole_height(&j, 800.0, 0.1, 0.05) - (800.0 - 44.5 * v)).abs() < 1e-12);
    j.top_slope = TopSlope::Angle(trig::atan(0.1));
    assert!((whole_height(&j, 800.0, -0.2, 0.05) - (800.0 - 44.5 * v)).abs() < 1e-12);
}

#[test]
fn heights_and_leans_by_row_are_straight_between() {
    let places = steps(10_000.0, 0.0, 20).map(|x| vec3(x, 2000.0, 900.0));
    let mut s = survey(places);
    s.chains[0].points[0].height = Some(900.0);
    s.chains[0].points[20].height = Some(700.0);
    s.chains[0].points[10].lean = Some(0.1);
    let edge = fair(&s, &job(0.0, 0.0)).expect("fair");
    let l = only(&edge);
    for t in steps(0.0, 10_000.0, 100) {
        let p = l.top_point(t);
        let height = 900.0 - 0.02 * t;
        assert!((p.z - 900.0 - height).abs() < 1e-6);
        assert!((p.y - 2000.0 - height * trig::tan(0.1)).abs() < 1e-6);
    }
}

#[test]
fn the_top_is_faired_to_the_eye_within_its_own_tolerance() {
    // A wavy edge, 4 mm in 1.5 m: the base keeps it, the top does not.
    let places = steps(12_000.0, 0.0, 48).map(|x| {
        let wave = 4.0 * trig::sin(x * std::f64::consts::TAU / 1500.0);
        vec3(x, 2000.0 - x * x / 60_000.0, 900.0 + 5e-6 * x * x + wave)
    });
    let edge = fair(&survey(places), &job(0.5, 6.0)).expect("fair");
    let mut most = [0.0_f64; 2];
    for p in &edge.chains[0].points {
        assert!(p.base_out.abs() <= 0.5 && p.base_up.abs() <= 0.5);
        assert!(p.top_out.abs() <= 6.0 && p.top_up.abs() <= 6.0);
        most = [most[0].max(p.base_up.abs()), most[1].max(p.top_up.abs())];
    }
    assert!(most[1] > 2.0, "{most:?}");
    let l = only(&edge);
    let worst = |curve: &Spline<3>| {
        let (a, b) = curve.basis.range();
        steps(a + 1000.0, b - 1000.0, 300)
            .fold(0.0_f64, |m, u| m.max((curvature(curve, u).1 - 1e-5).abs()))
    };
    assert!(
        worst(&l.top) < 0.1 * worst(&l.base),
        "{} {}",
        worst(&l.top),
        worst(&l.base)
    );
}

#[test]
fn the_ends_run_on_without_turning_wild() {
    for tolerance in [0.0, 0.8] {
        let edge = fair(&survey(hull(60)), &job(tolerance, 2.0)).expect("fair");
        let l = only(&edge);
        let (a, b) = l.range();
        for (end, on) in [(a, -200.0), (b, 200.0)] {
            let f = l.frame(end);
            let (bend, _) = curvature(&l.base, end);
            let straight = f.at.plan() + f.tangent * on;
            let expected = straight + f.tangent.left() * (0.5 * bend * on * on);
            let off = l.base_point(end + on).plan().distance(expected);
            assert!(off < 1.0, "{off}");
            let f = l.frame(end + on);
            let p = l.top_point(end + on);
            assert!((p.plan() - f.at.plan()).dot(f.tangent).abs() < 0.01);
            assert!((p.z - f.at.z - 800.0).abs() < 5.0);
        }
    }
}
