//! Screw flight: two separate facts.

use std::f64::consts::PI;

use super::super::Options;
use super::super::shapes::helicoid;
use super::{area, flat};
use crate::geom::banded::Banded;
use crate::geom::trig;

const D_INNER: f64 = 100.0;
const D_OUTER: f64 = 300.0;
const PITCH: f64 = 300.0;

/// Blank that keeps the lengths of both edges: flat radii and angle in
/// radians (screw-conveyor design notes: r = b Li / (Lo - Li)).
fn edge_length_blank() -> (f64, f64, f64) {
    let b = (D_OUTER - D_INNER) / 2.0;
    let inner = trig::hypot(PI * D_INNER, PITCH);
    let outer = trig::hypot(PI * D_OUTER, PITCH);
    let r = b * inner / (outer - inner);
    (r, r + b, inner / r)
}

/// Length of the helix at radius u, per radian.
fn speed(u: f64) -> f64 {
    trig::hypot(u, PITCH / (2.0 * PI))
}

/// Energy of a round blank, Poisson's ratio 0, one turn without end effects:
/// flat radius r(u) on even steps of u, and the turn k of the flat for a turn
/// of the screw.
fn energy(r: &[f64], k: f64) -> f64 {
    let h = (D_OUTER - D_INNER) / 2.0 / (r.len() - 1) as f64;
    let mut sum = 0.0;
    for (i, pair) in r.windows(2).enumerate() {
        let g = speed(D_INNER / 2.0 + h * (i as f64 + 0.5));
        let round = 0.5 * (pair[0] + pair[1]) * k / g - 1.0;
        let across = (pair[1] - pair[0]) / h - 1.0;
        sum += 0.5 * (round * round + across * across) * g * h * 2.0 * PI;
    }
    sum
}

/// The best r(u) for a given k: the energy is quadratic in it.
fn best_radii(k: f64, n: usize) -> Vec<f64> {
    let h = (D_OUTER - D_INNER) / 2.0 / n as f64;
    let mut m = Banded::zeros(n + 1, 1);
    let mut rhs = vec![0.0; n + 1];
    for i in 0..n {
        let g = speed(D_INNER / 2.0 + h * (i as f64 + 0.5));
        let (round, across) = (0.5 * k / g, 1.0 / h);
        let weight = g * h;
        for (a, sa) in [(i, -1.0), (i + 1, 1.0)] {
            rhs[a] += weight * (round + sa * across);
            m.add(a, a, weight * (round * round + across * across));
        }
        m.add(i + 1, i, weight * (round * round - across * across));
    }
    m.factor().expect("positive definite").solve(&mut rhs);
    rhs
}

/// Radii, angle in degrees and area of the least-energy blank by a search in
/// one variable: independent of the spline, the strip and its solver.
fn least_by_search() -> (f64, f64, f64, f64) {
    let n = 2000;
    let cost = |k: f64| energy(&best_radii(k, n), k);
    let (mut lo, mut hi) = (0.85, 0.92);
    for _ in 0..60 {
        let (a, b) = (lo + (hi - lo) / 3.0, hi - (hi - lo) / 3.0);
        if cost(a) < cost(b) {
            hi = b;
        } else {
            lo = a;
        }
    }
    let r = best_radii(lo, n);
    let area = PI * lo * (r[n] * r[n] - r[0] * r[0]);
    (r[0], r[n], 360.0 * lo, area)
}

#[test]
fn the_edge_length_blank_has_the_published_figures() {
    // d 100, D 300, p 300 mm: r 78.314, R 178.314, 317.809 degrees, 71173 mm2
    // against the true 70110 (screw-conveyor design notes).
    let (r, big, angle) = edge_length_blank();
    assert!((r - 78.314).abs() < 5e-4 && (big - 178.314).abs() < 5e-4);
    assert!((angle.to_degrees() - 317.809).abs() < 5e-4);
    assert!((0.5 * angle * (big * big - r * r) - 71_173.0).abs() < 0.5);
    let n = 20_000;
    let h = 100.0 / f64::from(n);
    let truth: f64 = (0..n)
        .map(|i| 2.0 * PI * speed(50.0 + h * (f64::from(i) + 0.5)) * h)
        .sum();
    assert!((truth - 70_110.0).abs() < 0.5);
}

#[test]
fn the_least_stretch_blank_is_another_and_costs_far_less() {
    // Our own figures: radii near 75.99 and 175.98 mm, 318.9 degrees, 70106 mm2
    // (Poisson's ratio 0), found twice here.
    let (r, big, degrees, a) = least_by_search();
    assert!((r - 75.993).abs() < 2e-3 && (big - 175.975).abs() < 2e-3);
    assert!((degrees - 318.892).abs() < 2e-3, "{degrees}");
    assert!((a - 70_106.4).abs() < 0.2, "{a}");
    let options = Options {
        poisson: 0.0,
        nodes_across: 7,
        ..Options::default()
    };
    let f = flat(&helicoid(150.0, 50.0, PITCH, 2.0 * PI), &options);
    // Half way, where the free ends are not felt.
    let step = 0.05;
    for (w, known) in [(0.0, big), (1.0, r)] {
        let (p, q) = (f.map.jet(PI - step, w), f.map.jet(PI + step, w));
        let turn = trig::atan2(p[1].cross(q[1]), p[1].dot(q[1]));
        let radius = p[0].distance(q[0]) / (2.0 * trig::sin(0.5 * turn));
        assert!((radius - known).abs() < 2e-3, "{radius} {known}");
        assert!((turn / (2.0 * step) * 360.0 - degrees).abs() < 2e-3);
    }
    let whole = area(&f, 0.0, 2.0 * PI);
    // A real flight's free ends relax: 70106.8 with them, 70106.4 without.
    assert!((whole - 70_106.8).abs() < 0.2, "{whole}");
    // The blank that keeps its edges needs six times the energy.
    let (r, _, angle) = edge_length_blank();
    let straight: Vec<f64> = (0..=2000).map(|i| r + 0.05 * f64::from(i)).collect();
    let kept = energy(&straight, angle / (2.0 * PI));
    let best = energy(&best_radii(degrees / 360.0, 2000), degrees / 360.0);
    assert!(kept > 6.0 * best, "{kept} {best}");
    // Free ends relax a little more still.
    assert!(f.stretch.energy_mm2 < best);
    assert!(f.stretch.energy_mm2 > 0.8 * best);
}

#[test]
fn poissons_ratio_hardly_moves_the_edges() {
    // With free edges the residual stress does not depend on Poisson's ratio,
    // and an edge's own strain is its stress over the modulus.
    let shape = helicoid(150.0, 50.0, PITCH, 2.0 * PI);
    let at = |poisson: f64| {
        let options = Options {
            poisson,
            nodes_across: 7,
            ..Options::default()
        };
        flat(&shape, &options).map.jet(PI, 1.0)[1].length()
    };
    assert!((at(0.0) / at(0.33) - 1.0).abs() < 2e-5);
}
