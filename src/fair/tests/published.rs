//! Published offsets and sheers, fitted within their tolerance.

use super::*;
use crate::geom::Vec3;

const INCH: f64 = 25.4;

fn all_within(edge: &FairEdge, base: f64) {
    for chain in &edge.chains {
        for p in &chain.points {
            assert!(p.base_out.abs() <= base && p.base_up.abs() <= base, "{p:?}");
        }
    }
}

#[test]
fn canoe_of_1889() {
    // 16 x 29 racing canoe, deck edge, forward ten stations at 12 in (Stephens,
    // Canoe and Boat Building, 1889, Plate XXX), inches; loft tolerance 1/16 in
    // (common practice, no source), since the table is in eighths.
    let heights = [
        15.5, 14.25, 13.5, 12.625, 11.875, 11.25, 10.875, 10.5, 10.25, 10.125,
    ];
    let half_breadths = [
        0.125, 3.375, 6.25, 8.5, 10.375, 11.875, 13.125, 14.0, 14.375, 14.5,
    ];
    let places = (0..10).map(|k| {
        vec3(
            -12.0 * INCH * k as f64,
            half_breadths[k] * INCH,
            heights[k] * INCH,
        )
    });
    let edge = fair(&survey(places), &job(INCH / 16.0, INCH / 8.0)).expect("fair");
    all_within(&edge, INCH / 16.0);
    assert!(edge.findings.is_empty(), "{:?}", edge.findings);
}

#[test]
fn standard_sheer_of_the_load_line_convention() {
    // International Convention on Load Lines 1966, standard sheer, mm: k = L/3 + 10;
    // 25k 11.1k 2.8k 0 5.6k 22.2k 50k at AP, L/6, L/3, amidships, ... FP. For L 24 m:
    // 450 199.8 50.4 0 100.8 399.6 900.
    let sheer = [450.0, 199.8, 50.4, 0.0, 100.8, 399.6, 900.0];
    let place = |k: usize| vec3(4000.0 * k as f64, 2500.0, 1000.0 + sheer[k]);
    for (base, within) in [(0.0, 1e-6), (2.0, 2.0)] {
        let places = (0..7).rev().map(place);
        let edge = fair(&survey(places), &job(base, 5.0)).expect("fair");
        all_within(&edge, within);
        assert!(edge.findings.is_empty(), "{:?}", edge.findings);
    }
}

#[test]
fn fair_curves_give_no_findings() {
    // An ellipse-like round stern, ten to one in curvature, and a parabola
    // sheer: exact, rounded to 1/16 in, and with both tops.
    for (n, step) in [(40, 0.0), (60, 0.0), (60, INCH / 16.0), (90, INCH / 16.0)] {
        let places = hull(n).into_iter().map(|p| {
            if step > 0.0 {
                vec3(rounded(p.x, step), rounded(p.y, step), rounded(p.z, step))
            } else {
                p
            }
        });
        let edge = fair(&survey(places), &job(0.5 * step, 2.0)).expect("fair");
        let texts: Vec<&String> = edge.findings.iter().map(|f| &f.text).collect();
        assert!(edge.findings.is_empty(), "{n} {step}: {texts:?}");
    }
}

#[test]
fn a_dent_a_bump_and_a_reverse_are_found_where_they_are() {
    let kinds = |places: Vec<Vec3>, base: f64| -> Vec<(FindingKind, View, f64)> {
        let edge = fair(&survey(places), &job(base, base)).expect("fair");
        let base = edge.findings.iter().filter(|f| f.text.starts_with("base"));
        base.map(|f| (f.kind, f.view, f.at.x)).collect()
    };
    let sheer = |x: f64| 1000.0 + 600.0 * (x / 8000.0) * (x / 8000.0);
    // A reverse in the sheer forward.
    let reversed = |x: f64| {
        if x > 3000.0 {
            0.02e-3 * (x - 3000.0) * (x - 3000.0)
        } else {
            0.0
        }
    };
    let places = steps(8000.0, -8000.0, 32)
        .map(|x| vec3(x, 2000.0, sheer(x) - 2.0 * reversed(x)))
        .collect();
    let found = kinds(places, 0.5);
    assert!(
        found.iter().any(|(k, v, x)| *k == FindingKind::Inflection
            && *v == View::Profile
            && (2000.0..4500.0).contains(x)),
        "{found:?}"
    );
    // A flat of a metre amidships in plan: half of an even bend left out.
    let breadth = |x: f64| 2500.0 - x * x / 40_000.0;
    let flat = |x: f64| {
        let q: f64 = x / 1000.0;
        if q.abs() < 1.0 {
            -12.0 * (1.0 - q * q) * (1.0 - q * q)
        } else {
            0.0
        }
    };
    let places = steps(8000.0, -8000.0, 48)
        .map(|x| vec3(x, breadth(x) + flat(x), 1000.0))
        .collect();
    let found = kinds(places, 0.2);
    assert!(
        found
            .iter()
            .any(|(k, v, x)| *k == FindingKind::Flat && *v == View::Plan && x.abs() < 1500.0),
        "{found:?}"
    );
    // One frame stands out by 12 mm: a hard spot there.
    let places = steps(8000.0, -8000.0, 32)
        .map(|x| {
            vec3(
                x,
                breadth(x) + if x.abs() < 1.0 { 12.0 } else { 0.0 },
                1000.0,
            )
        })
        .collect();
    let found = kinds(places, 0.8);
    assert!(
        found.iter().any(
            |(k, v, x)| matches!(k, FindingKind::HardSpot | FindingKind::Inflection)
                && *v == View::Plan
                && x.abs() < 900.0
        ),
        "{found:?}"
    );
}
