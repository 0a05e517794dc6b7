//! Developable strips against their flats, and the twisted ribbon against
//! its residual strain.

use std::f64::consts::PI;

use super::super::shapes::{self, Shape, cone, cut_cylinder, plane, ribbon, saddle};
use super::super::{Options, refold::gap};
use super::{area, flat, lifted, places};
use crate::geom::patch::{Jet, Patch};
use crate::geom::{Vec2, Vec3, trig, vec2, vec3};

/// Largest distance of the flat strip from a known flat, mm, and the
/// largest stretch.
fn miss(shape: &Shape, known: impl Fn(f64, f64) -> Vec2) -> (f64, f64) {
    let f = flat(shape, &Options::default());
    let places = places(shape, 60, 6);
    let ours: Vec<Vec2> = places.iter().map(|&(t, w)| f.map.at(t, w)).collect();
    let theirs: Vec<Vec2> = places.iter().map(|&(t, w)| known(t, w)).collect();
    let gap = gap(&lifted(&ours), &lifted(&theirs)).expect("as many points");
    (gap, f.stretch.largest)
}

#[test]
fn a_plane_is_its_own_flat() {
    let square = |t: f64, w: f64| vec2(t, 180.0 * w);
    let (gap, stretch) = miss(&plane(10_000.0, 180.0), square);
    assert!(gap < 1e-9 && stretch < 1e-11, "{gap} mm, {stretch}");
    let mitred = plane(3600.0, 180.0).with_ends(|w| (180.0 * w, 3600.0 + 100.0 * w));
    let (gap, stretch) = miss(&mitred, square);
    assert!(gap < 1e-9 && stretch < 1e-11, "{gap} mm, {stretch}");
}

#[test]
fn a_cone_frustum_has_the_published_sector() {
    // Frustum d 5, D 8, height 4: flat radii 7.120 and 11.392, angle 126.404
    // degrees, area 87.2358 (geometry texts; slant 4.272, angle 360 R / slant
    // radius).
    let shape = cone(4.0, 2.5, 4.0, 2.0 * PI);
    let f = flat(&shape, &Options::default());
    let slant = (16.0_f64 + 2.25).sqrt();
    for (w, radius) in [(0.0, 11.392), (1.0, 7.120)] {
        // Three points fix the circle.
        let p: Vec<Vec2> = [0.0, PI, 2.0 * PI]
            .iter()
            .map(|&t| f.map.at(t, w))
            .collect();
        let (a, b, c) = (
            p[0].distance(p[1]),
            p[1].distance(p[2]),
            p[2].distance(p[0]),
        );
        let twice = (p[1] - p[0]).cross(p[2] - p[0]).abs();
        assert!((a * b * c / (2.0 * twice) - radius).abs() < 5e-4);
    }
    let (first, last) = (f.map.jet(0.0, 0.5)[1], f.map.jet(2.0 * PI, 0.5)[1]);
    let angle = trig::atan2(first.cross(last), first.dot(last)).to_degrees();
    assert!((angle - 126.404).abs() < 5e-4, "{angle}");
    assert!((area(&f, 0.0, 2.0 * PI) - 87.2358).abs() < 5e-5);
    assert!(f.stretch.largest < 1e-9, "{}", f.stretch.largest);
    let sector = |t: f64, w: f64| {
        let radius = slant / 1.5 * (4.0 - 1.5 * w);
        vec2(radius, 0.0).turned(t * 1.5 / slant)
    };
    assert!(miss(&shape, sector).0 < 1e-9);
}

#[test]
fn ten_metres_of_cone_come_out_right_to_a_micrometre() {
    // As a round stern: radius 3 m, 10 m along the edge, slope 0.1.
    let (outer, inner) = (3000.0_f64, 2820.0_f64);
    let rise = 18.0_f64;
    let slant = trig::hypot(outer - inner, rise);
    let shape = cone(outer, inner, rise, 10.0 / 3.0);
    let sine = (outer - inner) / slant;
    let sector = |t: f64, w: f64| vec2((outer + w * (inner - outer)) / sine, 0.0).turned(t * sine);
    let (gap, stretch) = miss(&shape, sector);
    assert!(gap < 1e-4, "{gap} mm");
    assert!(stretch < 1e-9, "{stretch}");
}

#[test]
fn a_cylinder_cut_at_45_degrees_has_a_cosine_edge() {
    // Radius 100: edge y = 100 cos(x / 100), width 628.319; 86.60 at 30
    // degrees, 50 at 60 (geometry texts).
    let shape = cut_cylinder(100.0, -200.0, 2.0 * PI);
    let known = |t: f64, w: f64| vec2(100.0 * t, -200.0 + w * (200.0 + 100.0 * trig::cos(t)));
    let (gap, stretch) = miss(&shape, known);
    assert!(gap < 1e-6, "{gap} mm");
    assert!(stretch < 1e-9, "{stretch}");
    let f = flat(&shape, &Options::default());
    let base = f.map.at(0.0, 0.0);
    let along = (f.map.at(2.0 * PI, 0.0) - base).unit();
    assert!((f.map.at(2.0 * PI, 0.0).distance(base) - 628.319).abs() < 5e-4);
    for (degrees, y) in [
        (0.0_f64, 100.0),
        (30.0, 86.60),
        (60.0, 50.0),
        (180.0, -100.0),
    ] {
        let p = f.map.at(degrees.to_radians(), 1.0) - base;
        assert!((along.cross(p) - 200.0 - y).abs() < 5e-3);
    }
}

/// A cylinder about the y axis, its outboard edge at the arc length t of a
/// curve whose curvature jumps in slope at t = 0: knots must carry that.
fn kinked_cylinder() -> Shape {
    // Heading a t + b |t|^3: its second derivative has a corner at 0.
    let heading = |t: f64| 1e-4 * t + 2e-10 * t * t * t.abs();
    Shape::new(-900.0, 900.0, move |t, w| {
        // Place by Simpson's rule, fine enough for rounding to rule.
        let n = 200;
        let h = t / f64::from(n);
        let (mut x, mut z) = (0.0, 0.0);
        for k in 0..=n {
            let a = heading(h * f64::from(k));
            let weight = match k {
                0 | 200 => 1.0,
                _ if k % 2 == 1 => 4.0,
                _ => 2.0,
            } * h
                / 3.0;
            x += weight * trig::cos(a);
            z += weight * trig::sin(a);
        }
        let a = heading(t);
        Jet {
            point: vec3(x, 200.0 * w, z),
            along: vec3(trig::cos(a), 0.0, trig::sin(a)),
            across: vec3(0.0, 200.0, 0.0),
        }
    })
    .with_knots(vec![0.0])
}

#[test]
fn a_cylinder_of_uneven_curvature_rolls_out_straight() {
    let (gap, stretch) = miss(&kinked_cylinder(), |t, w| vec2(t, 200.0 * w));
    assert!(gap < 1e-6 && stretch < 1e-9, "{gap} mm, {stretch}");
}

#[test]
fn a_twisted_ribbon_keeps_the_known_strain() {
    // Residual lengthwise strain tau^2/2 (v^2 - w^2/12), v from the mid line:
    // the length of a helix at v is 1 + tau^2 v^2 / 2, less its mean.
    let (width, rate) = (180.0, 3e-5);
    let shape = ribbon(3600.0, width, rate);
    let f = flat(&shape, &Options::default());
    for k in 0..=8 {
        let w = f64::from(k) / 8.0;
        let v = (w - 0.5) * width;
        let known = 0.5 * rate * rate * (v * v - width * width / 12.0);
        let along = shape.jet(10.0, w).along.length() / f.map.jet(10.0, w)[1].length() - 1.0;
        assert!(
            (along - known).abs() < 1e-3 * 1.2e-6,
            "{v}: {along} {known}"
        );
    }
    // The edge carries the most: tau^2 w^2 / 12; its stress is uniaxial, E e.
    let edge = rate * rate * width * width / 12.0;
    assert!(
        (f.stretch.signed / edge - 1.0).abs() < 0.02,
        "{}",
        f.stretch.signed
    );
    let stress = 71_016.0 * f.stretch.signed;
    assert!((f.stretch.stress_mpa / stress - 1.0).abs() < 0.02);
}

#[test]
fn a_saddle_must_stretch() {
    // Gaussian curvature is not zero (helicoid: -c^2 / (c^2 + u^2)^2; saddle
    // z = x y / R: about -1 / R^2), so no flat exists.
    let f = flat(&saddle(3600.0, 180.0, 20_000.0), &Options::default());
    let order = 180.0 * 180.0 / (12.0 * 20_000.0 * 20_000.0);
    assert!(f.stretch.largest > 0.9 * order && f.stretch.largest < 1.2 * order);
}

#[test]
fn the_flat_is_seen_on_the_upper_face() {
    for shape in [plane(900.0, 180.0), cone(800.0, 600.0, 30.0, 1.0)] {
        let f = flat(&shape, &Options::default());
        for (t, w) in places(&shape, 10, 4) {
            let [_, along, across] = f.map.jet(t, w);
            assert!(along.cross(across) > 0.0);
        }
    }
}

#[test]
fn more_than_a_turn_of_cone_still_rolls_out() {
    let shape = cone(400.0, 300.0, 400.0, 9.0 * PI);
    let sine = 100.0 / trig::hypot(100.0, 400.0);
    let sector = |t: f64, w: f64| vec2((400.0 - 100.0 * w) / sine, 0.0).turned(t * sine);
    let (gap, stretch) = miss(&shape, sector);
    assert!(gap < 1e-5 && stretch < 1e-9, "{gap} mm, {stretch}");
    let flat_ring = cone(400.0, 300.0, 0.0, 1.9 * PI);
    let ring = |t: f64, w: f64| vec2(400.0 - 100.0 * w, 0.0).turned(t);
    let (gap, stretch) = miss(&flat_ring, ring);
    assert!(gap < 1e-5 && stretch < 1e-9, "{gap} mm, {stretch}");
}

#[test]
fn stretch_settles_as_the_map_is_refined() {
    // Each halving of the spans must bring the energy of a doubly curved band
    // at least 8 times closer to the limit (the quintic promises far more).
    let shape = shapes::torus(700.0, 400.0, 0.5, 1.0, 1.5);
    let energy = |turn: f64| {
        let options = Options {
            span_turn: turn,
            span_mm: 1e6,
            poisson: 0.0,
            ..Options::default()
        };
        flat(&shape, &options).stretch.energy_mm2
    };
    let limit = energy(0.02);
    let (a, b, c) = (
        (energy(0.4) - limit).abs(),
        (energy(0.2) - limit).abs(),
        (energy(0.1) - limit).abs(),
    );
    assert!(b < a / 8.0 && c < b / 8.0, "{a:e} {b:e} {c:e}");
}

#[test]
fn the_figures_do_not_depend_on_where_the_strip_stands() {
    let far = vec3(2e4, -3e4, 5e3);
    let turned = |v: Vec3| vec3(-v.y, v.x, v.z);
    let shape = cone(3000.0, 2820.0, 18.0, 1.0).moved(turned, far);
    let f = flat(&shape, &Options::default());
    assert!(f.stretch.largest < 1e-9, "{}", f.stretch.largest);
}
