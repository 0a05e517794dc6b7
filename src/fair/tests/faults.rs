//! Surveys that cannot be faired: a fault each, never a panic.

use super::*;
use crate::fault::Kind;
use crate::geom::Vec3;
use crate::job::Job;
use crate::survey::Survey;
use crate::survey::{LEAST_INBOARD, SlopeGiven};
use proptest::prelude::*;

fn kind_of(s: &Survey, j: &Job) -> Kind {
    let faults = fair(s, j).expect_err("a fault");
    for f in &faults.0 {
        assert!(!f.what.is_empty() && !f.mend.is_empty());
    }
    faults.0[0].kind
}

#[test]
fn each_broken_survey_has_its_kind() {
    let j = job(0.8, 2.0);
    let straight = || steps(5000.0, 0.0, 10).map(|x| vec3(x, 2000.0, 900.0));
    let empty = survey([]);
    assert_eq!(kind_of(&empty, &j), Kind::Survey);
    assert_eq!(kind_of(&survey(straight().take(1)), &j), Kind::Survey);
    let same = survey((0..5).map(|_| vec3(1.0, 2.0, 3.0)));
    assert_eq!(kind_of(&same, &j), Kind::Survey);
    let upright = survey((0..5).map(|k| vec3(1.0, 2.0, f64::from(k))));
    assert_eq!(kind_of(&upright, &j), Kind::Survey);
    let endless = survey(straight().chain([vec3(f64::NAN, 0.0, 0.0)]));
    assert_eq!(kind_of(&endless, &j), Kind::Range);
    assert_eq!(
        kind_of(&survey(straight()), &job(f64::INFINITY, 2.0)),
        Kind::Range
    );
    let mut tall = job(0.8, 2.0);
    tall.bulwark.height = f64::NAN;
    assert_eq!(kind_of(&survey(straight()), &tall), Kind::Geometry);
    let back = survey(straight().chain(steps(4750.0, 250.0, 9).map(|x| vec3(x, 2000.5, 900.0))));
    assert_eq!(kind_of(&back, &j), Kind::Survey);
    let mut bare = job(0.8, 2.0);
    bare.survey.slope = None;
    assert_eq!(kind_of(&survey(straight()), &bare), Kind::Missing);
}

#[test]
fn slopes_that_cannot_be_are_told_by_row() {
    let j = job(0.8, 2.0);
    let across = || survey(steps(2000.0, -2000.0, 10).map(|y| vec3(0.0, y, 900.0)));
    let mut s = across();
    s.chains[0].points[3].slope = Some(SlopeGiven::Athwart(0.1));
    s.chains[0].points[6].slope = Some(SlopeGiven::Athwart(0.1));
    let faults = fair(&s, &j).expect_err("a fault");
    let lines: Vec<_> = faults.0.iter().map(|f| (f.kind, f.place.line)).collect();
    assert_eq!(lines, [(Kind::Survey, Some(5)), (Kind::Survey, Some(8))]);
    assert!(
        faults.0[0]
            .place
            .station
            .as_ref()
            .is_some_and(|s| s == "port, point 5")
    );
    for (slope, kind) in [
        (SlopeGiven::RoundUp(50.0), Kind::Missing),
        (SlopeGiven::Square(f64::NAN), Kind::Range),
        (SlopeGiven::Inboard(vec3(-100.0, 0.0, 900.0)), Kind::Survey),
        (
            SlopeGiven::Inboard(vec3(LEAST_INBOARD - 0.1, 0.0, 900.0)),
            Kind::Survey,
        ),
        (
            SlopeGiven::Inboard(vec3(f64::NAN, 0.0, 900.0)),
            Kind::Survey,
        ),
    ] {
        let mut s = across();
        s.chains[0].points[5].slope = Some(slope);
        assert_eq!(kind_of(&s, &j), kind, "{slope:?}");
    }
}

#[test]
fn a_mould_narrower_than_the_boat_is_refused() {
    let mut j = job(0.8, 2.0);
    j.survey.slope = None;
    j.survey.round_up = Some(crate::job::RoundUp {
        height: 100.0,
        half_beam: Some(1500.0),
        construction: crate::job::Construction::Parabola,
    });
    assert_eq!(kind_of(&survey(hull(40)), &j), Kind::Conflict);
}

#[test]
fn a_top_inside_a_tight_bend_is_refused() {
    let mut j = job(0.0, 0.0);
    j.section.planking = 350.0;
    let places =
        steps(-1.5, 1.5, 20).map(|a| vec3(-300.0 * trig::cos(a), -300.0 * trig::sin(a), 900.0));
    let mut places: Vec<Vec3> = places.collect();
    places.reverse();
    let turning_left = survey(places.iter().rev().copied());
    assert_eq!(kind_of(&turning_left, &j), Kind::Geometry);
    // The other way round the boat is outside the bend and nothing folds.
    assert!(fair(&survey(places), &j).is_ok());
}

#[test]
fn a_point_that_cannot_be_kept_is_a_finding() {
    // Two passes that disagree by 3 mm a millimetre apart, tolerance nought.
    let places = steps(5000.0, 0.0, 20)
        .map(|x| vec3(x, 2000.0, 900.0))
        .flat_map(|p| {
            let twice = (p.x - 2500.0).abs() < 1.0;
            [Some(p), twice.then_some(vec3(p.x - 1.0, p.y + 3.0, p.z))]
        })
        .flatten();
    let edge = fair(&survey(places), &job(0.0, 0.0)).expect("fair");
    let told = edge
        .findings
        .iter()
        .filter(|f| f.kind == FindingKind::Tolerance);
    assert!(told.count() >= 2);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn any_points_give_a_line_or_a_fault(
        places in prop::collection::vec((-1e4..1e4_f64, -1e4..1e4_f64, -1e3..1e3_f64), 0..30),
        coarse in any::<bool>(),
        tolerance in prop::sample::select(vec![0.0, 1e-6, 0.8, 50.0, 1e9]),
        corner in 0..30_usize,
    ) {
        let round = |v: f64| if coarse { rounded(v, 5000.0) } else { v };
        let places = places.iter().map(|(x, y, z)| vec3(round(*x), round(*y), round(*z)));
        let mut s = survey(places);
        if let Some(p) = s.chains[0].points.get_mut(corner) {
            p.knuckle = true;
        }
        match fair(&s, &job(tolerance, tolerance)) {
            Ok(edge) => {
                let chain = &edge.chains[0];
                prop_assert_eq!(chain.points.len(), s.chains[0].points.len());
                for p in &chain.points {
                    prop_assert!((p.t + p.base_out + p.base_up + p.top_out + p.top_up).is_finite());
                }
            }
            Err(f) => prop_assert!(!f.0.is_empty()),
        }
    }
}
