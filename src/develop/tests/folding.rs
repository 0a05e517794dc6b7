//! The bend schedule, and folding back from it alone.

use std::f64::consts::PI;

use super::super::refold::{RefoldError, Row, refold, refold_gap};
use super::super::shapes::{Deck, Shape, cone, cut_cylinder, deck, plane, ribbon};
use super::super::{Flat, Options};
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
fn printed(f: &Flat) -> Vec<Row> {
    let round = |p: Vec2| vec2(four_places(p.x), four_places(p.y));
    f.bends
        .iter()
        .map(|b| Row {
            along: four_places(b.along),
            outboard: round(b.outboard),
            inboard: round(b.inboard),
            curvature: six(b.curvature * 1e3) * 1e-3,
            twist: six((b.twist * 1e3).to_degrees()).to_radians() * 1e-3,
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
            let step = p[1].along - p[0].along;
            step > 0.0 && step <= 50.0 + 1e-9
        }));
        // The edge's own ends are rows, the first at distance 0.
        assert!(
            f.bends
                .iter()
                .any(|b| b.along.abs() < 1e-9 && (b.t + 1500.0).abs() < 1e-6)
        );
        assert!(f.bends.iter().any(|b| (b.t - 1500.0).abs() < 1e-6));
        assert!(gap_of(&shape) < 0.005);
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
        assert!((b.curvature / known - 1.0).abs() < 1e-7, "{}", b.curvature);
        assert!(b.twist.abs() < 1e-11, "{}", b.twist);
    }
    // Ribbon: at its edge the normal leans, B turns at tau / (1 + tau^2 v^2).
    let rate = 2e-4;
    for b in &flat(&ribbon(2000.0, 180.0, rate), &Options::default()).bends {
        let known = rate / (1.0 + rate * rate * 8100.0);
        assert!((b.twist / known - 1.0).abs() < 1e-7, "{}", b.twist);
        assert!(b.curvature.abs() < 1e-11, "{}", b.curvature);
    }
}

#[test]
fn a_part_drawn_from_below_folds_to_the_same_plate() {
    let shape = plate(5000.0, 0.06, 1.6e-5, 2e-5);
    let f = flat(&shape, &Options::default());
    let flip = |p: Vec2| vec2(p.x, -p.y);
    let rows: Vec<Row> = f
        .bends
        .iter()
        .map(|b| Row {
            outboard: flip(b.outboard),
            inboard: flip(b.inboard),
            ..Row::from(b)
        })
        .collect();
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
        let rows: Vec<Row> = f
            .bends
            .iter()
            .map(|b| Row {
                curvature: b.curvature * bend,
                twist: b.twist * twist,
                ..Row::from(b)
            })
            .collect();
        let gap = refold_gap(&rows, &points, &places, &shape).expect("usable");
        assert!(gap > 0.1, "{bend} {twist}: {gap} mm");
    }
}

#[test]
fn unusable_schedules_are_refused() {
    let f = flat(&plane(900.0, 180.0), &Options::default());
    let rows: Vec<Row> = f.bends.iter().map(Row::from).collect();
    assert_eq!(refold(&rows[..1], &[]), Err(RefoldError::Row { row: 1 }));
    let mut bad = rows.clone();
    bad[3].curvature = f64::NAN;
    assert_eq!(refold(&bad, &[]), Err(RefoldError::Row { row: 3 }));
    let mut bad = rows.clone();
    bad[4].along = bad[3].along;
    assert_eq!(refold(&bad, &[]), Err(RefoldError::Row { row: 4 }));
    let mut bad = rows.clone();
    bad[2].inboard = bad[2].outboard;
    assert_eq!(refold(&bad, &[]), Err(RefoldError::Row { row: 2 }));
    let far = vec2(1e4, 0.0);
    assert!(matches!(
        refold(&rows, &[far]),
        Err(RefoldError::Outside { .. })
    ));
}
