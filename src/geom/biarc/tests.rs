use super::*;
use proptest::prelude::*;
use std::f64::consts::PI;

/// Distance of a point from a chain by brute force over all pieces.
fn nearest(chain: &[Vertex], p: Vec2) -> f64 {
    Segment::along(chain)
        .map(|s| s.distance(p))
        .fold(f64::INFINITY, f64::min)
}

fn point_on(v: &[Vertex], f: f64) -> Vec2 {
    Segment::new(v[0].at, v[1].at, v[0].bulge).at(f)
}

/// Unit tangents at both ends of a piece: the chord turned by half the sweep.
fn tangents(v: &[Vertex]) -> (Vec2, Vec2) {
    let half = 2.0 * trig::atan(v[0].bulge);
    let chord = (v[1].at - v[0].at).unit();
    (chord.turned(-half), chord.turned(half))
}

/// Measured both ways without the fit's own samples; tangent breaks at most
/// `kink` rad; sweeps below 170 degrees.
fn check(curve: Curve, range: (f64, f64), tolerance: f64, kink: f64) -> Vec<Vertex> {
    let chain = fit(curve, range, tolerance).expect("fits");
    let m = 6007;
    let dense: Vec<(f64, Vec2)> = (0..=m)
        .map(|k| {
            let t = range.0 + (range.1 - range.0) * f64::from(k) / f64::from(m);
            (t, curve(t).0)
        })
        .collect();
    for (_, p) in dense.iter().step_by(3) {
        let d = nearest(&chain, *p);
        assert!(
            d <= tolerance * 1.0001 + 1e-9,
            "curve leaves the chain by {d}"
        );
    }
    for v in chain.windows(2) {
        assert!(v[0].bulge.abs() <= MAX_BULGE + 1e-12);
        for f in 1..8 {
            let q = point_on(v, f64::from(f) / 8.0);
            let near = dense
                .iter()
                .min_by(|a, b| a.1.distance(q).total_cmp(&b.1.distance(q)))
                .expect("samples");
            // One step along the tangent to the foot of q, then square to it.
            let (p, speed) = curve(near.0);
            let (p, speed) = curve(near.0 + (q - p).dot(speed) / speed.dot(speed));
            let d = (q - p).cross(speed.unit()).abs();
            assert!(
                d <= tolerance * 1.001 + 1e-7,
                "chain leaves the curve by {d}"
            );
        }
    }
    for w in chain.windows(3) {
        let (out, into) = (tangents(&w[..2]).1, tangents(&w[1..]).0);
        let turn = trig::atan2(out.cross(into), out.dot(into)).abs();
        assert!(turn <= kink, "tangent breaks by {turn}");
    }
    chain
}

#[test]
fn a_circle_is_one_or_two_arcs_of_its_radius() {
    for (degrees, arcs) in [(3.0, 1), (40.0, 1), (165.0, 1), (180.0, 2), (318.9, 2)] {
        for sign in [1.0, -1.0] {
            for radius in [76.0, 5000.0, 400_000.0] {
                let circle = |t: f64| {
                    let a = 0.3 + sign * t / radius;
                    let (s, c) = (trig::sin(a), trig::cos(a));
                    (vec2(c, s) * radius, vec2(-s, c) * sign)
                };
                let chain = check(&circle, (0.0, degrees / 180.0 * PI * radius), 0.005, 1e-8);
                assert_eq!(chain.len(), arcs + 1, "{degrees} degrees of {radius} mm");
                for s in Segment::along(&chain) {
                    let circle = s.circle.expect("an arc");
                    assert!((circle.radius - radius).abs() < 1e-8 * radius);
                    assert!(s.sweep() * sign > 0.0);
                }
            }
        }
    }
}

#[test]
fn a_straight_edge_is_one_line() {
    let line = |t: f64| (vec2(3.0 * t, 4.0 * t), vec2(3.0, 4.0));
    let chain = check(&line, (0.0, 700.0), 0.005, 1e-12);
    assert_eq!(chain.len(), 2);
    assert!(chain[0].bulge.abs() < 1e-15);
    // Straight within the tolerance only: sagitta 0.02 mm.
    let (r, l) = (2.25e7, 1897.0);
    let hair = |t: f64| (vec2(t, t * t / (2.0 * r)), vec2(1.0, t / r));
    assert_eq!(fit(&hair, (0.0, l), 0.05).map(|c| c.len()), Ok(2));
}

/// Straight, a quarter circle of 300 mm, straight: found piece by piece.
#[test]
fn a_slot_corner_keeps_its_lines_and_its_radius() {
    let quarter = 150.0 * PI;
    let corner = |t: f64| {
        if t < 400.0 {
            (vec2(t, 0.0), vec2(1.0, 0.0))
        } else if t < 400.0 + quarter {
            let a = (t - 400.0) / 300.0;
            let (s, c) = (trig::sin(a), trig::cos(a));
            (vec2(400.0 + 300.0 * s, 300.0 - 300.0 * c), vec2(c, s))
        } else {
            (vec2(700.0, t - 100.0 - quarter), vec2(0.0, 1.0))
        }
    };
    let chain = check(&corner, (0.0, 900.0 + quarter), 0.02, 2e-3);
    let long_lines = chain
        .windows(2)
        .filter(|v| v[0].bulge == 0.0 && v[0].at.distance(v[1].at) > 350.0)
        .count();
    assert_eq!(long_lines, 2);
    let round = |s: Segment| s.circle.is_some_and(|c| (c.radius - 300.0).abs() < 0.05);
    let exact = Segment::along(&chain).any(round);
    assert!(exact);
}

/// Curvature growing along the length (Euler's spiral), integrated.
fn clothoid(t: f64, rate: f64) -> (Vec2, Vec2) {
    let n = 64;
    let h = t / f64::from(n);
    let dir = |s: f64| vec2(trig::cos(0.5 * rate * s * s), trig::sin(0.5 * rate * s * s));
    let mut p = vec2(0.0, 0.0);
    for k in 0..n {
        let a = h * f64::from(k);
        p += (dir(a) + dir(a + h / 2.0) * 4.0 + dir(a + h)) * (h / 6.0);
    }
    (p, dir(t))
}

#[test]
fn few_arcs_on_a_deck_edge() {
    // 3.6 m whose radius falls from straight to 1.5 m.
    let rate = 1.0 / (1500.0 * 3600.0);
    let chain = check(&|t| clothoid(t, rate), (0.0, 3600.0), 0.05, 1e-6);
    assert!(chain.len() <= 27, "{} arcs", chain.len() - 1);
    let fine = check(&|t| clothoid(t, rate), (0.0, 3600.0), 0.005, 1e-6);
    // A biarc's error goes as the cube of its length: 10^(1/3) = 2.2 times.
    assert!(fine.len() <= chain.len() * 5 / 2, "{} arcs", fine.len() - 1);
}

#[test]
fn a_sine_is_followed_through_its_inflections() {
    let sine = |t: f64| {
        let a = t / 200.0;
        (vec2(t, 60.0 * trig::sin(a)), vec2(1.0, 0.3 * trig::cos(a)))
    };
    let forth = check(&sine, (-300.0, 1500.0), 0.02, 1e-3);
    let back = check(&sine, (1500.0, -300.0), 0.02, 1e-3);
    assert!(forth.len().abs_diff(back.len()) <= 2);
    assert!(forth[0].at.distance(back[back.len() - 1].at) < 1e-12);
}

#[test]
fn a_curve_without_direction_or_number_is_refused() {
    let stuck = |_: f64| (vec2(1.0, 1.0), vec2(0.0, 0.0));
    assert!(matches!(
        fit(&stuck, (0.0, 1.0), 0.05),
        Err(FitFault::NoTangent(_))
    ));
    let broken = |t: f64| (vec2(t, f64::NAN), vec2(1.0, 0.0));
    assert!(matches!(
        fit(&broken, (0.0, 1.0), 0.05),
        Err(FitFault::NoTangent(_))
    ));
    let jump = |t: f64| (vec2(t, if t < 50.0 { 0.0 } else { 9.0 }), vec2(1.0, 0.0));
    assert!(matches!(
        fit(&jump, (0.0, 100.0), 0.05),
        Err(FitFault::Jump(_))
    ));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    /// Random smooth curves, and the same turned, shifted and mirrored:
    /// within tolerance, tangent, and about as many arcs.
    #[test]
    fn smooth_curves_are_followed(
        a in proptest::array::uniform4(-1.0..1.0_f64),
        turn in 0.0..TAU, shift in -5000.0..5000.0_f64,
        exponent in 0..3_u32,
    ) {
        let tolerance = [0.05, 0.02, 0.005][exponent as usize % 3];
        let plain = |t: f64| {
            let x = t / 500.0;
            let mut y = vec2(0.0, 0.0);
            for (k, &c) in a.iter().enumerate() {
                let f = (k + 1) as f64 * 0.7;
                y += vec2(c * 90.0 / f * trig::sin(f * x), c * 0.18 * trig::cos(f * x));
            }
            (vec2(t, y.x), vec2(1.0, y.y))
        };
        let moved = |t: f64| {
            let (p, d) = plain(t);
            (
                vec2(p.x, -p.y).turned(turn) + vec2(shift, -0.3 * shift),
                vec2(d.x, -d.y).turned(turn),
            )
        };
        let one = check(&plain, (0.0, 2600.0), tolerance, 2e-3);
        let two = check(&moved, (0.0, 2600.0), tolerance, 2e-3);
        prop_assert!(one.len().abs_diff(two.len()) <= 4);
    }
}
