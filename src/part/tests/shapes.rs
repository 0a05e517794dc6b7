use super::*;
use proptest::prelude::*;
use std::f64::consts::PI;

/// Straight in plan with a circular-arc sheer: a cylinder, whose flat is a
/// rectangle of the arc's length.
#[test]
fn a_rectangle_stays_a_rectangle_of_four_lines() {
    for turn in [0.0, 0.4, 2.0, -1.1] {
        let flat = Ring {
            turn,
            shift: vec2(-700.0, 90.0),
            ..Ring::new(0.0, 180.0)
        };
        let part = detail(&input(&flat, &|_| (120.0, 3520.0), &[]), &FINE).expect("a part");
        assert_eq!(part.outline.vertices.len(), 4);
        let (lo, hi) = part.outline.bounds();
        assert!(lo.length() < 1e-9 && hi.distance(vec2(3400.0, 180.0)) < 1e-9);
        assert!((part.outline.area() - 3400.0 * 180.0).abs() < 1e-6);
        assert!((part.net_edge_length - 3400.0).abs() < 1e-9);
        // Not mirrored, t runs forward: the outboard edge is the lower one.
        assert!(part.frame.apply(flat.jet(120.0, 0.0)[0]).length() < 1e-9);
    }
}

/// The flat of a cone is a ring sector: closed-form radii, angle and area
/// (area = angle / 2 x difference of the squared radii).
#[test]
fn a_ring_sector_has_four_pieces_with_its_radii() {
    for (hollow, face) in [
        (1.0, Face::Upper),
        (-1.0, Face::Upper),
        (1.0, Face::Lower),
        (-1.0, Face::Lower),
    ] {
        for turn in [0.0, 1.0, 3.0] {
            let (radius, width, length) = (4000.0, 180.0, 2800.0);
            let flat = Ring {
                turn,
                ..Ring::new(hollow / radius, width)
            };
            let ends = |_: f64| (0.0, length);
            let mut given = input(&flat, &ends, &[]);
            given.marked = face;
            let part = detail(&given, &FINE).expect("a part");
            assert_eq!(part.outline.vertices.len(), 4);
            let other = radius - hollow * width;
            let mut radii: Vec<f64> = part
                .outline
                .segments()
                .filter_map(|s| s.circle)
                .map(|a| a.radius)
                .collect();
            radii.sort_by(f64::total_cmp);
            let (least, most) = (radius.min(other), radius.max(other));
            assert_eq!(radii.len(), 2);
            assert!((radii[0] - least).abs() < 1e-6 && (radii[1] - most).abs() < 1e-6);
            let angle = length / radius;
            let area = angle / 2.0 * (most * most - least * least);
            assert!((part.outline.area() - area).abs() < 1e-4);
            // Lowest box: along the chord of the hollow side.
            let (_, hi) = part.outline.bounds();
            assert!((hi.x - 2.0 * most * trig::sin(angle / 2.0)).abs() < 1e-6);
            assert!((hi.y - (most - least * trig::cos(angle / 2.0))).abs() < 1e-6);
            assert_eq!(part.frame.mirrored, face == Face::Lower);
            // Forward is to the right.
            let [a, b] = [0.0, length].map(|t| part.frame.apply(flat.jet(t, 0.5)[0]));
            assert!(b.x > a.x);
        }
    }
}

/// A 318.9 degree flat keeps true arcs, each below 170 degrees.
#[test]
fn a_screw_flight_blank_is_cut_with_two_arcs_a_side() {
    let (inner, outer) = (76.0, 176.0);
    let angle = 318.9 / 180.0 * PI;
    let flat = Ring::new(1.0 / outer, outer - inner);
    let ends = |_: f64| (0.0, outer * angle);
    let part = detail(&input(&flat, &ends, &[]), &FINE).expect("a part");
    assert_eq!(part.outline.vertices.len(), 6);
    let area = angle / 2.0 * (outer * outer - inner * inner);
    assert!((part.outline.area() - area).abs() < 1e-4 * area);
}

/// Oblique ends: a parallelogram and a trapezium of closed-form area.
#[test]
fn oblique_ends_keep_their_corners() {
    let flat = Ring::new(0.0, 200.0);
    let ends = |w: f64| (50.0 * w, 1000.0 - 120.0 * w);
    let part = detail(&input(&flat, &ends, &[]), &FINE).expect("a part");
    assert_eq!(part.outline.vertices.len(), 4);
    assert!((part.outline.area() - (1000.0 + 830.0) / 2.0 * 200.0).abs() < 1e-6);
    for (t, w) in [(0.0, 0.0), (1000.0, 0.0), (880.0, 1.0), (50.0, 1.0)] {
        let corner = part.frame.apply(flat.jet(t, w)[0]);
        let near = part
            .outline
            .vertices
            .iter()
            .map(|v| v.at.distance(corner))
            .fold(f64::INFINITY, f64::min);
        assert!(near < 1e-9);
    }
}

/// On a ring sector laid on its hollow chord the edges are circles round
/// (chord / 2, -rise): y = sqrt(r^2 - (x - c)^2) - d.
#[test]
fn ordinates_lie_on_the_circles() {
    let (radius, width, length) = (5000.0, 150.0, 3000.0);
    let flat = Ring::new(-1.0 / radius, width);
    // Inboard lies outside: radii 5000 and 5150.
    let options = Options {
        ordinate_spacing: 100.0,
        ..FINE
    };
    let ends = |_: f64| (0.0, length);
    let part = detail(&input(&flat, &ends, &[]), &options).expect("a part");
    let half = length / radius / 2.0;
    let (least, most) = (radius, radius + width);
    let (middle, drop) = (most * trig::sin(half), least * trig::cos(half));
    let edge = |r: f64, x: f64| (r * r - (x - middle) * (x - middle)).sqrt() - drop;
    // Between the corners of the hollow side both edges are arcs.
    let (from, to) = (
        middle - least * trig::sin(half),
        middle + least * trig::sin(half),
    );
    let mut seen = 0;
    for o in part.ordinates.iter().filter(|o| o.x > from && o.x < to) {
        assert!((o.lower - edge(least, o.x)).abs() < 1e-6);
        assert!((o.upper - edge(most, o.x)).abs() < 1e-6);
        seen += 1;
    }
    assert!(seen >= 29, "{seen}");
    assert!(part.ordinates[0].x.abs() < 1e-9);
    let last = part.ordinates[part.ordinates.len() - 1];
    assert!((last.x - 2.0 * middle).abs() < 1e-6);
    // The extreme corner lies on the end, where both edges meet.
    assert!((last.lower - last.upper).abs() < 1e-9);
    assert!((last.upper - edge(most, last.x)).abs() < 1e-6);
}

/// The outline that a shop lofts: the places of both edges, joined.
fn lofted<'a>(rows: impl Iterator<Item = &'a Ordinate> + Clone) -> Outline {
    let lower = rows.clone().map(|o| vec2(o.x, o.lower));
    let mut upper: Vec<Vec2> = rows.map(|o| vec2(o.x, o.upper)).collect();
    upper.reverse();
    let mut all: Vec<Vec2> = lower.chain(upper).collect();
    all.dedup();
    Outline::polygon(&all)
}

#[test]
fn the_ordinates_alone_make_the_outline_with_its_slanted_ends() {
    let options = Options {
        ordinate_spacing: 100.0,
        ..FINE
    };
    // Ends that slant by 90 mm over the width, either way.
    for (first, last) in [(90.0, 90.0), (-90.0, 90.0), (90.0, -90.0)] {
        let flat = Ring::new(-1.0 / 5000.0, 150.0);
        let ends = |w: f64| (w * first, 2950.0 + w * last);
        let part = detail(&input(&flat, &ends, &[]), &options).expect("a part");
        let rows = &part.ordinates;
        let corners: usize = rows.iter().flat_map(|o| o.corners).map(usize::from).sum();
        // The corner at either end is on both edges.
        assert_eq!(corners, 6, "{rows:?}");
        // An arc of 5 m stands 0.25 mm off its chord of 100 mm at most.
        let whole = part.outline.area();
        let off = (lofted(rows.iter()).area() - whole).abs();
        assert!(off < 2.0 * 0.25 * 3000.0, "{off} mm2");
        let uncornered = rows.iter().enumerate().filter(|(k, o)| {
            let end = *k == 0 || *k + 1 == rows.len();
            end || o.corners == [false; 2]
        });
        let short = lofted(uncornered.map(|(_, o)| o).collect::<Vec<_>>().into_iter());
        assert!((short.area() - whole).abs() > 2000.0, "{}", short.area());
    }
    // An end that is square but for 0.003 mm has both its corners on one row.
    for by in [0.003, -0.003] {
        let ends = |w: f64| (0.0, 2950.0 + w * by);
        let part = detail(&input(&Ring::new(0.0, 150.0), &ends, &[]), &options).expect("a part");
        for row in [
            &part.ordinates[0],
            &part.ordinates[part.ordinates.len() - 1],
        ] {
            assert!((row.upper - row.lower - 150.0).abs() < 0.01, "{row:?}");
            assert_eq!(row.corners, [true; 2], "{row:?}");
        }
    }
}

#[test]
fn the_fit_allowance_is_not_net_length() {
    let flat = Ring::new(0.0, 180.0);
    let ends = |_: f64| (0.0, 1050.0);
    let mut given = input(&flat, &ends, &[]);
    given.allowance = Some((50.0, true));
    let part = detail(&given, &FINE).expect("a part");
    assert!((part.net_edge_length - 1000.0).abs() < 1e-9);
    assert!((part.allowance - 50.0).abs() < 1e-12);
}

#[test]
fn a_map_that_is_not_a_surface_is_refused() {
    let flat = Ring::new(0.0, f64::NAN);
    assert!(detail(&input(&flat, &|_| (0.0, 1000.0), &[]), &FINE).is_err());
    let flat = Ring::new(0.0, 0.0);
    assert!(detail(&input(&flat, &|_| (0.0, 1000.0), &[]), &FINE).is_err());
    let flat = Ring::new(0.0, 100.0);
    assert!(detail(&input(&flat, &|_| (0.0, f64::INFINITY), &[]), &FINE).is_err());
    assert!(detail(&input(&flat, &|_| (10.0, 10.0), &[]), &FINE).is_err());
}

/// Area of the flat strip by Simpson's rule on its Jacobian.
fn flat_area(flat: &dyn FlatSurface, ends: &dyn Fn(f64) -> (f64, f64)) -> f64 {
    let (n, m) = (400, 8);
    let weight = |k: i32, n: i32| match k {
        k if k == 0 || k == n => 1.0,
        k if k % 2 == 1 => 4.0,
        _ => 2.0,
    };
    let mut sum = 0.0;
    for j in 0..=m {
        let w = f64::from(j) / f64::from(m);
        let (a, b) = ends(w);
        for k in 0..=n {
            let t = a + (b - a) * f64::from(k) / f64::from(n);
            let [_, dt, dw] = flat.jet(t, w);
            let cell = (b - a) / f64::from(9 * n * m);
            sum += weight(k, n) * weight(j, m) * dt.cross(dw) * cell;
        }
    }
    sum
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// Area against quadrature, the outline at the origin; the face, the way
    /// t runs and an oblique end as they come.
    #[test]
    fn waves_keep_their_area(
        rise in -250.0..250.0_f64, length in 900.0..4500.0_f64, width in 90.0..220.0_f64,
        lower: bool, runs_aft: bool, skew in -60.0..60.0_f64,
    ) {
        let flat = Wave { rise, length, width };
        let ends = |w: f64| (skew.max(0.0) * w, length + skew * w);
        let mut given = input(&flat, &ends, &[]);
        given.marked = if lower { Face::Lower } else { Face::Upper };
        given.runs_aft = runs_aft;
        let part = detail(&given, &FINE).expect("a part");
        let area = flat_area(&flat, &ends);
        // 5 micrometres along both edges is the most.
        prop_assert!((part.outline.area() - area).abs() < 0.005 * 2.0 * (length + width));
        let [a, b] = [0.0, length].map(|t| part.frame.apply(flat.jet(t, 0.5)[0]));
        prop_assert_eq!(b.x < a.x, runs_aft);
        // Lengths are kept, handedness only by the upper face.
        let q = part.frame.apply(flat.jet(0.0, 1.0)[0]) - part.frame.apply(flat.jet(0.0, 0.0)[0]);
        prop_assert!((q.length() - width).abs() < 1e-9);
        let along = part.frame.turn(flat.jet(0.0, 0.0)[1]);
        prop_assert_eq!(along.cross(q) < 0.0, lower);
    }
}

/// The same flat wherever it lies gives the same part; seen in a mirror and
/// marked on the other face as well.
#[test]
fn where_the_flat_lies_does_not_matter() {
    let flat = Wave {
        rise: 170.0,
        length: 3000.0,
        width: 180.0,
    };
    let features = fit_out(3000.0, 180.0, 5);
    let ends = |w: f64| (0.0, 3000.0 + 30.0 * w);
    let here = detail(&input(&flat, &ends, &features), &FINE).expect("a part");
    for (turn, mirrored) in [(0.0, true), (0.7, false), (2.5, true), (-1.3, false)] {
        let moved = Moved {
            flat: &flat,
            mirrored,
            turn,
            shift: vec2(900.0, -4000.0),
        };
        let mut given = input(&moved, &ends, &features);
        given.marked = if mirrored { Face::Lower } else { Face::Upper };
        let there = detail(&given, &FINE).expect("a part");
        assert!((here.outline.area() - there.outline.area()).abs() < 0.01);
        let (a, b) = (here.outline.bounds().1, there.outline.bounds().1);
        assert!(a.distance(b) < 0.02);
        for (a, b) in here.holes.iter().zip(&there.holes) {
            assert!(a.centre.distance(b.centre) < 0.02);
        }
        for (a, b) in here.ordinates.iter().zip(&there.ordinates) {
            assert!((a.lower - b.lower).abs() < 0.02 && (a.upper - b.upper).abs() < 0.02);
        }
        assert_eq!(here.marks.len(), there.marks.len());
    }
    let again = detail(&input(&flat, &ends, &features), &FINE).expect("a part");
    assert_eq!(format!("{here:?}"), format!("{again:?}"));
}
