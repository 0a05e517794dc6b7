//! Exact points, tolerance nought.

use super::*;
use crate::geom::Vec3;

/// A circular arc in plan, the boat on its left (the centre is inboard).
fn arc(radius: f64, angle: f64, n: u32) -> Vec<Vec3> {
    steps(-0.5 * angle, 0.5 * angle, n)
        .map(|a| vec3(radius * trig::cos(a), radius * trig::sin(a), 900.0))
        .collect()
}

#[test]
fn a_circle_from_21_points_is_a_circle_to_its_ends() {
    for (radius, angle) in [(5000.0, 2.0), (8000.0, 1.25), (12_000.0, 0.85)] {
        let edge = fair(&survey(arc(radius, angle, 20)), &job(0.0, 0.0)).expect("fair");
        let l = only(&edge);
        let (a, b) = l.range();
        assert!((b - a - radius * angle).abs() < 0.002, "length {}", b - a);
        for t in steps(a, b, 400) {
            let p = l.base_point(t);
            assert!((p.plan().length() - radius).abs() < 0.002);
            assert!((p.z - 900.0).abs() < 1e-6);
            let [_, d] = l.base.jet::<2>(t);
            assert!((vec3(d[0], d[1], 0.0).length() - 1.0).abs() < 1e-5);
            let (plan, profile) = curvature(&l.base, t);
            assert!((plan * radius - 1.0).abs() < 1e-3, "{t} {}", plan * radius);
            assert!(profile.abs() < 1e-9);
            // Plumb and at once over the edge.
            let top = l.top_point(t);
            assert!(top.distance(vec3(p.x, p.y, p.z + 800.0)) < 1e-5);
        }
        assert!(edge.findings.is_empty(), "{:?}", edge.findings);
    }
}

#[test]
fn a_straight_edge_with_circular_sheer() {
    let radius = 30_000.0_f64;
    let z = |x: f64| 1000.0 + radius - (radius * radius - x * x).sqrt();
    let places = steps(5000.0, -5000.0, 20).map(|x| vec3(x, 2000.0, z(x)));
    let edge = fair(&survey(places), &job(0.0, 0.0)).expect("fair");
    let l = only(&edge);
    assert!((l.range().1 - 10_000.0).abs() < 1e-7);
    for t in steps(0.0, 10_000.0, 300) {
        let p = l.base_point(t);
        assert!((p.y - 2000.0).abs() < 1e-7);
        assert!((p.x - (5000.0 - t)).abs() < 1e-6);
        assert!((p.z - z(p.x)).abs() < 1e-4);
        let (plan, profile) = curvature(&l.base, t);
        assert!(plan.abs() < 1e-12);
        let height = z(p.x) - 1000.0 - radius;
        let exact = radius * radius / -(height * height * height);
        assert!((profile / exact - 1.0).abs() < 1e-4);
    }
    assert!(edge.findings.is_empty());
}

#[test]
fn parabolic_waterline() {
    // Wigley's parabolic waterline y = (B/2)(1 - (2x/L)^2), L 40, B 12, 2x/L 0 to
    // 1 by 0.2: 6 5.76 5.04 3.84 2.16 0 (here in metres).
    let half_breadths = [6.0, 5.76, 5.04, 3.84, 2.16, 0.0];
    let places: Vec<Vec3> = (-5..=5_i32)
        .rev()
        .map(|k| {
            let y = half_breadths[k.unsigned_abs() as usize];
            vec3(4000.0 * f64::from(k), 1000.0 * y, 0.0)
        })
        .collect();
    let edge = fair(&survey(places), &job(0.0, 0.0)).expect("fair");
    let l = only(&edge);
    let (a, b) = l.range();
    for t in steps(a, b, 200) {
        let p = l.base_point(t);
        let q = p.x / 20_000.0;
        assert!((p.y - 6000.0 * (1.0 - q * q)).abs() < 0.1);
    }
    assert!(edge.findings.is_empty(), "{:?}", edge.findings);
}

#[test]
fn tolerance_nought_keeps_every_point_of_a_hull() {
    let edge = fair(&survey(hull(60)), &job(0.0, 0.0)).expect("fair");
    for p in &edge.chains[0].points {
        for off in [p.base_out, p.base_up, p.top_out, p.top_up] {
            assert!(off.abs() < 1e-6, "{p:?}");
        }
    }
    let l = only(&edge);
    for t in steps(l.range().0, l.range().1, 1000) {
        let [_, d] = l.base.jet::<2>(t);
        assert!((vec3(d[0], d[1], 0.0).length() - 1.0).abs() < 1e-3);
    }
}

#[test]
fn few_points_on_a_sharp_bend_still_run_at_even_speed() {
    let edge = fair(&survey(arc(1500.0, 3.0, 5)), &job(0.0, 0.0)).expect("fair");
    let l = only(&edge);
    let (a, b) = l.range();
    for t in steps(a, b, 500) {
        let [_, d] = l.base.jet::<2>(t);
        assert!((vec3(d[0], d[1], 0.0).length() - 1.0).abs() < 1e-3);
        assert!((l.base_point(t).plan().length() - 1500.0).abs() < 3.0);
    }
}

#[test]
fn a_knuckle_is_kept_and_both_lengths_meet_there() {
    // Two straight sides of a corner with noise in their middles.
    let mut dice = Dice(7);
    let mut places: Vec<Vec3> = steps(6000.0, 0.0, 12)
        .map(|x| vec3(x, 2000.0 + dice.within(-0.7, 0.7), 900.0))
        .collect();
    places.extend(
        steps(2000.0, -2000.0, 8)
            .skip(1)
            .map(|y| vec3(0.0, y, 900.0)),
    );
    let corner = places[12];
    let mut s = survey(places);
    s.chains[0].points[12].knuckle = true;
    let edge = fair(&s, &job(0.8, 2.0)).expect("fair");
    let chain = &edge.chains[0];
    assert_eq!(chain.lengths.len(), 2);
    let (fore, aft) = (&chain.lengths[0], &chain.lengths[1]);
    assert!((fore.range().1 - aft.range().0).abs() < 1e-12);
    assert!(fore.base_point(fore.range().1).distance(corner) < 1e-9);
    assert!(aft.base_point(aft.range().0).distance(corner) < 1e-9);
    assert_eq!(chain.points.len(), s.chains[0].points.len());
    let indices: Vec<usize> = chain.points.iter().map(|p| p.index).collect();
    assert_eq!(indices, (0..chain.points.len()).collect::<Vec<_>>());
    // Both top lines run on past the corner without turning wild.
    for (l, end, on) in [(fore, fore.range().1, 200.0), (aft, aft.range().0, -200.0)] {
        let f = l.frame(end);
        let expected = f.at.plan() + f.tangent * on;
        assert!(l.base_point(end + on).plan().distance(expected) < 2.0);
        assert!(l.top_point(end + on).plan().distance(expected) < 2.0);
        assert!((l.top_point(end + on).z - 1700.0).abs() < 2.0);
    }
}

#[test]
fn adjacent_knuckles_make_a_straight_length() {
    let mut s = survey([
        vec3(4000.0, 1500.0, 900.0),
        vec3(2000.0, 1700.0, 850.0),
        vec3(0.0, 1700.0, 850.0),
        vec3(0.0, -1700.0, 860.0),
        vec3(2000.0, -1700.0, 850.0),
        vec3(4000.0, -1500.0, 900.0),
    ]);
    s.chains[0].points[2].knuckle = true;
    s.chains[0].points[3].knuckle = true;
    let edge = fair(&s, &job(0.8, 2.0)).expect("fair");
    let across = &edge.chains[0].lengths[1];
    let (a, b) = across.range();
    assert!((b - a - 3400.0).abs() < 1e-9);
    assert!(
        across
            .base_point(0.5 * (a + b))
            .distance(vec3(0.0, 0.0, 855.0))
            < 1e-9
    );
}
