//! The bend schedule, and folding back from it alone.

use std::f64::consts::PI;

use proptest::prelude::*;

use super::super::bends::{gap, longest_step, schedule};
use super::super::refold::{RefoldError, refold, refold_gap};
use super::super::shapes::{Deck, Shape, cone, cut_cylinder, deck, plane, ribbon};
use super::super::{BendLine, FOLDS_BACK_MM, Flat, Options};
use super::{flat, places};
use crate::geom::patch::Patch;
use crate::geom::{Vec2, trig, vec2};

/// Rounds to six significant figures.
fn six(x: f64) -> f64 {
    format!("{x:.5e}").parse().expect("a number just written")
}

fn four_places(x: f64) -> f64 {
    (x * 1e4).round() / 1e4
}

/// The schedule as a table prints it: mm to 0.0001, curvature in 1/m and
/// twist in degrees a metre to six figures.
fn printed(f: &Flat) -> Vec<BendLine> {
    let round = |p: Vec2| vec2(four_places(p.x), four_places(p.y));
    f.bends
        .iter()
        .map(|b| BendLine {
            along: four_places(b.line.along),
            curvature: six(b.line.curvature * 1e3) * 1e-3,
            twist: six((b.line.twist * 1e3).to_degrees()).to_radians() * 1e-3,
            turn: six((b.line.turn * 1e3).to_degrees()).to_radians() * 1e-3,
            stretch: six(b.line.stretch * 1e3) * 1e-3,
            shift: vec2(six(b.line.shift.x), six(b.line.shift.y)),
            ..b.line.laid(round)
        })
        .collect()
}

/// Gap of a strip refolded from the printed schedule, mm.
fn gap_of(shape: &Shape) -> f64 {
    let f = flat(shape, &Options::default());
    let places = places(shape, 80, 4);
    let points: Vec<Vec2> = places.iter().map(|&(t, w)| f.map.at(t, w)).collect();
    refold_gap(&printed(&f), &points, &places, shape).expect("a usable schedule")
}

fn plate(radius: f64, slope: f64, slope_rate: f64, sheer: f64) -> Shape {
    deck(Deck {
        length: 3500.0,
        width: 180.0,
        radius,
        slope,
        slope_rate,
        sheer,
    })
}

#[test]
fn developable_strips_fold_back_to_a_hundredth() {
    for shape in [
        plane(3600.0, 180.0),
        cone(2500.0, 2330.0, 17.0, 1.4),
        cone(400.0, 300.0, 400.0, 2.0 * PI),
        cut_cylinder(1000.0, -1500.0, 2.0),
    ] {
        let gap = gap_of(&shape);
        assert!(gap < 0.005, "{gap} mm");
    }
}

#[test]
fn deck_plates_fold_back_from_the_printed_table() {
    // 180 mm wide, 3.5 m long; slope from 0.02 to 0.10 over 5 m is 1.6e-5 per
    // mm, a twist of 0.92 degrees a metre.
    for radius in [2500.0, 5000.0, 12_000.0, 30_000.0] {
        for (rate, sheer) in [(0.0, 2e-5), (1.6e-5, 2e-5), (-1.6e-5, -3e-5)] {
            let gap = gap_of(&plate(radius, 0.06, rate, sheer));
            assert!(gap < 0.005, "radius {radius}: {gap} mm");
        }
    }
}

#[test]
fn twist_without_the_edge_correction_would_show() {
    // The outboard edge of a ribbon turns by tau^2 w / 2 more in space than on
    // the plate: 0.03 mm here, if refolding did not know.
    let gap = gap_of(&ribbon(3600.0, 180.0, 1.75e-5));
    assert!(gap < 0.003, "{gap} mm");
}

/// Strips far tighter than a deck's: up to 10 degrees of twist a metre, and
/// turns of half a metre within the plate.
fn tight() -> impl Strategy<Value = Deck> {
    (
        600.0..3600.0_f64,
        80.0..200.0_f64,
        // Curvature of the edge in plan, 1/m.
        0.03..2.0_f64,
        -0.3..0.3_f64,
        -10.0..10.0_f64,
        -4e-5..4e-5_f64,
    )
        .prop_map(|(length, width, turn, slope, degrees, sheer)| Deck {
            length: length.min(2500.0 / turn),
            width,
            radius: 1000.0 / turn,
            slope,
            slope_rate: degrees.to_radians() * 1e-3,
            sheer,
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn whatever_is_accepted_folds_back_to_two_hundredths(d in tight(), skew in -60.0..60.0_f64) {
        let half = 0.5 * d.length - 80.0;
        let shape = deck(d).with_ends(move |w| (-half + skew * w, half - 0.5 * skew * w));
        prop_assume!(flat(&shape, &Options::default()).bends_gap <= FOLDS_BACK_MM);
        let gap = gap_of(&shape);
        prop_assert!(gap < 0.02, "{gap} mm");
    }
}

#[test]
fn a_tight_strip_needs_every_column() {
    let shape = deck(Deck {
        length: 3500.0,
        width: 180.0,
        radius: 2000.0,
        slope: 0.06,
        slope_rate: 10.0_f64.to_radians() * 1e-3,
        sheer: 2e-5,
    });
    let f = flat(&shape, &Options::default());
    let places = places(&shape, 40, 4);
    let points: Vec<Vec2> = places.iter().map(|&(t, w)| f.map.at(t, w)).collect();
    let gap = |change: &dyn Fn(BendLine) -> BendLine| {
        let rows: Vec<BendLine> = printed(&f).into_iter().map(change).collect();
        refold_gap(&rows, &points, &places, &shape).expect("usable")
    };
    let exact = gap(&|r| r);
    assert!(exact < 0.004, "{exact}");
    let straight = |r: BendLine| {
        let chord = |k: u32| r.outboard().lerp(r.inboard(), f64::from(k) / 4.0);
        BendLine {
            places: [0, 1, 2, 3, 4].map(chord),
            ..r
        }
    };
    let zero = Vec2::default();
    let lacks = |name: &str, change: &dyn Fn(BendLine) -> BendLine, least: f64| {
        assert!(gap(change) > least, "{name}: {}", gap(change));
    };
    lacks("turn", &|r| BendLine { turn: 0.0, ..r }, 1.0);
    lacks("stretch", &|r| BendLine { stretch: 0.0, ..r }, 0.05);
    lacks("places", &straight, 0.005);
    lacks("shift", &|r| BendLine { shift: zero, ..r }, 0.012);
}

#[test]
fn rows_come_closer_where_folding_needs_it() {
    // The ends' free edges of a quick twist are not followed by rows 50 mm
    // apart.
    let strip = |width: f64, degrees: f64| {
        deck(Deck {
            length: 1250.0,
            width,
            radius: 500.0,
            slope: 0.06,
            slope_rate: degrees.to_radians() * 1e-3,
            sheer: 4e-5,
        })
    };
    let step = |f: &Flat| longest_step(&f.bends);
    let easy = flat(&strip(120.0, 1.0), &Options::default());
    assert!(step(&easy) > 45.0, "{}", step(&easy));
    let shape = strip(300.0, 20.0);
    let quick = flat(&shape, &Options::default());
    let coarse = schedule(&shape, &quick.map, 50.0).expect("rows");
    let gaps = (gap(&shape, &quick.map, &coarse), quick.bends_gap);
    assert!(step(&quick) < 26.0, "{}, {gaps:?}", step(&quick));
    assert!(gaps.0 > 0.01 && gaps.1 < 0.7 * gaps.0, "{gaps:?}");
}

#[test]
fn oblique_ends_lie_between_rows() {
    for skew in [180.0, -180.0] {
        let shape = plate(8000.0, 0.06, 1e-5, 2e-5)
            .with_ends(move |w| (-1500.0 + skew * w, 1500.0 + 0.5 * skew * w));
        let f = flat(&shape, &Options::default());
        let (first, last) = shape.range();
        assert!((f.bends[0].t - first).abs() < 1e-6);
        assert!((f.bends[f.bends.len() - 1].t - last).abs() < 1e-6);
        assert!(f.bends.windows(2).all(|p| {
            let step = p[1].line.along - p[0].line.along;
            step > 0.0 && step <= 50.0 + 1e-9
        }));
        // The edge's own ends are rows, the first at distance 0.
        assert!(
            f.bends
                .iter()
                .any(|b| b.line.along.abs() < 1e-9 && (b.t + 1500.0).abs() < 1e-6)
        );
        assert!(f.bends.iter().any(|b| (b.t - 1500.0).abs() < 1e-6));
        assert!(gap_of(&shape) < 0.005);
    }
}

/// A row a twentieth of a millimetre from the next would make a bend of its
/// last printed digit.
#[test]
fn a_hair_of_an_oblique_end_has_no_row_of_its_own() {
    for skew in [0.05, -0.05] {
        let shape = plate(33_000.0, 0.0, 0.0, 0.0)
            .with_ends(move |w| (-220.0 + skew * w, 220.0 - 0.5 * skew * w));
        let gap = gap_of(&shape);
        assert!(gap < 0.002, "{gap} mm");
    }
}

#[test]
fn the_schedule_carries_the_known_curvature_and_twist() {
    // Cone of slope angle a, edge circle of radius R: normal curvature
    // sin(a) / R (Meusnier), no geodesic torsion. It rises inboard, so it is
    // humped seen from above: below zero.
    let shape = cone(2500.0, 2330.0, 170.0, 1.0);
    let known = -trig::sin(PI / 4.0) / 2500.0;
    for b in &flat(&shape, &Options::default()).bends {
        assert!(
            (b.line.curvature / known - 1.0).abs() < 1e-7,
            "{}",
            b.line.curvature
        );
        assert!(b.line.twist.abs() < 1e-11, "{}", b.line.twist);
    }
    // Ribbon: at its edge the normal leans, B turns at tau / (1 + tau^2 v^2).
    let rate = 2e-4;
    for b in &flat(&ribbon(2000.0, 180.0, rate), &Options::default()).bends {
        let known = rate / (1.0 + rate * rate * 8100.0);
        assert!(
            (b.line.twist / known - 1.0).abs() < 1e-7,
            "{}",
            b.line.twist
        );
        assert!(b.line.curvature.abs() < 1e-11, "{}", b.line.curvature);
    }
}

#[test]
fn a_part_drawn_from_below_folds_to_the_same_plate() {
    let shape = plate(5000.0, 0.06, 1.6e-5, 2e-5);
    let f = flat(&shape, &Options::default());
    let flip = |p: Vec2| vec2(p.x, -p.y);
    let rows: Vec<BendLine> = f.bends.iter().map(|b| b.line.laid(flip)).collect();
    let places = places(&shape, 40, 4);
    let points: Vec<Vec2> = places.iter().map(|&(t, w)| flip(f.map.at(t, w))).collect();
    let gap = refold_gap(&rows, &points, &places, &shape).expect("a usable schedule");
    assert!(gap < 0.005, "{gap} mm");
}

#[test]
fn a_wrong_schedule_shows_as_a_gap() {
    let shape = plate(5000.0, 0.06, 1.6e-5, 2e-5);
    let f = flat(&shape, &Options::default());
    let places = places(&shape, 40, 4);
    let points: Vec<Vec2> = places.iter().map(|&(t, w)| f.map.at(t, w)).collect();
    for (bend, twist) in [(-1.0, 1.0), (1.0, -1.0), (1.05, 1.0)] {
        let rows: Vec<BendLine> = f
            .bends
            .iter()
            .map(|b| BendLine {
                curvature: b.line.curvature * bend,
                twist: b.line.twist * twist,
                ..b.line
            })
            .collect();
        let gap = refold_gap(&rows, &points, &places, &shape).expect("usable");
        assert!(gap > 0.1, "{bend} {twist}: {gap} mm");
    }
}

#[test]
fn unusable_schedules_are_refused() {
    let f = flat(&plane(900.0, 180.0), &Options::default());
    let rows: Vec<BendLine> = f.bends.iter().map(|b| b.line).collect();
    assert_eq!(refold(&rows[..1], &[]), Err(RefoldError::Row { row: 1 }));
    let mut bad = rows.clone();
    bad[3].curvature = f64::NAN;
    assert_eq!(refold(&bad, &[]), Err(RefoldError::Row { row: 3 }));
    let mut bad = rows.clone();
    bad[4].along = bad[3].along;
    assert_eq!(refold(&bad, &[]), Err(RefoldError::Row { row: 4 }));
    let mut bad = rows.clone();
    bad[2].places[4] = bad[2].places[0];
    assert_eq!(refold(&bad, &[]), Err(RefoldError::Row { row: 2 }));
    let far = vec2(1e4, 0.0);
    assert!(matches!(
        refold(&rows, &[far]),
        Err(RefoldError::Outside { .. })
    ));
}
