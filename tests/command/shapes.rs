//! Shapes whose flat plates are known in closed form, through the whole
//! command: surveys of 21 points and more, tolerance 0, outlines to 0.005 mm.

use std::fmt::Write;

use planksheer::geom::{Vec2, vec2};

use super::shop::{Built, Edge, Shop, circle_through, edges};

/// A job without timber around the plates, so that the plates' outboard edges
/// lie on the surveyed edge itself; `more` is added at the end, `survey` to
/// the survey's keys, `joints` to the joints'.
pub(crate) fn exact_job(survey: &str, bulwark: &str, top: &str, joints: &str) -> String {
    format!(
        r#"
name = "closed form"
[survey]
unit = "mm"
accuracy = "0 mm"
line = "covering-board-edge"
stern = "open"
{survey}
[[survey.file]]
path = "edge.csv"
form = "points"
[bulwark]
height = "800 mm"
{bulwark}
[base]
width = "180 mm"
thickness = "12.7 mm"
alloy = "5086-H116"
bedding = "0 mm"
[top]
width = "130 mm"
thickness = "12.7 mm"
alloy = "5086-H116"
{top}
[section]
planking = "0 mm"
planking_inset = "0 mm"
weld_setback = "0 mm"
inwale = "20 mm"
cap_width = "200 mm"
cap_thickness = "44 mm"
overhang_outboard = "10 mm"
overhang_inboard = "10 mm"
[stanchions]
side = "4 in"
wall = "1/4 in"
alloy = "6061-T6"
spacing = "900 mm"
end_clearance = "300 mm"
[joints]
closing_allowance = "0 mm"
{joints}
[[sheet]]
name = "test sheet"
length = "12 m"
width = "12 m"
thickness = "12.7 mm"
alloy = "5086-H116"
[cutting]
process = "waterjet"
kerf = "1 mm"
gap = "6 mm"
edge_margin = "10 mm"
[output]
outline_tolerance = "0.005 mm"
"#
    )
}

fn near(got: f64, want: f64, within: f64, what: &str) {
    assert!(
        (got - want).abs() <= within,
        "{what}: {got} against {want}, off by {:e}",
        got - want
    );
}

/// Developable: no stretch, and it folds back to where it came from.
fn check_exact(built: &Built, name: &str) {
    let stretch = built.number(name, "stretch_max").abs();
    assert!(stretch < 1e-7, "{name} stretches by {stretch:e}");
    let gap = built.number(name, "refold_gap_mm");
    assert!(gap <= 0.02, "{name} refolds to {gap} mm");
    let area = built.profile(name).area();
    near(
        area,
        built.number(name, "area_mm2"),
        area * 1e-7,
        "area against the summary",
    );
}

/// The two long edges' circles: (radius, sweep) of the longer, the shorter.
fn ring(built: &Built, name: &str) -> [(f64, f64); 2] {
    let all = edges(&built.profile(name));
    let turn = |e: &Edge| {
        let (_, r) = circle_through(&e.points);
        (r, e.length / r)
    };
    [turn(&all[0]), turn(&all[1])]
}

/// Deck edge a circular arc in plan, level, with an even slope square to it:
/// the covering board is a cone. With slope s, k = sqrt(1 + s^2) and the
/// mid-thickness h above the board along its normal, the plate's outboard
/// edge runs at the plan radius q = R + h s / k. A cone unrolls to a sector:
/// the slant from the apex, q k, becomes the radius, and the arc's length
/// stays, so the plan angle a becomes a / k (any geometry text).
#[test]
fn a_cone_unrolls_to_its_ring_sector() {
    for (radius, slope, points) in [
        (6000.0_f64, 0.10_f64, 41),
        (5200.0, 0.35, 31),
        (7000.0, -0.08, 25),
    ] {
        let angle: f64 = 1.4;
        let mut csv = String::from("x,y,z,side,slope\n");
        for i in 0..points {
            let f = f64::from(i) / f64::from(points - 1) - 0.5;
            let a = std::f64::consts::FRAC_PI_2 + angle * f;
            let (x, y) = (radius * libm::cos(a), radius * libm::sin(a));
            writeln!(csv, "{x:.9},{y:.9},700,port,{slope}").expect("text");
        }
        let job = exact_job("", "lean_deg = 0", "slope = \"deck\"", "");
        let built = Shop::new(&[("job.toml", &job), ("edge.csv", &csv)]).build(&[]);
        for (name, h, width) in [("B1", 6.35, 180.0), ("T1", -6.35, 130.0)] {
            check_exact(&built, name);
            let k = (1.0 + slope * slope).sqrt();
            let outer = radius * k + h * slope;
            let inner = outer - width;
            let sweep = angle / k;
            let [(r1, s1), (r2, s2)] = ring(&built, name);
            near(r1, outer, 0.02, "outer radius");
            near(r2, inner, 0.02, "inner radius");
            near(r1 * s1, outer * sweep, 0.02, "outer edge length");
            near(r2 * s2, inner * sweep, 0.02, "inner edge length");
            near(s1.to_degrees(), sweep.to_degrees(), 0.001, "angle, degrees");
            // 0.02 mm on each long edge of 8.4 m at the most.
            let area = (outer * outer - inner * inner) * sweep / 2.0;
            near(
                built.profile(name).area(),
                area,
                2.0 * 8400.0 * 0.02,
                "area, mm2",
            );
        }
    }
}

/// Straight in plan, a circular arc in profile, level athwart: a cylinder of
/// radius R about an athwartship axis. Mid-thickness lies t/2 nearer the axis
/// for a hollow sheer with the plate on top, and t/2 further for a humped one:
/// length (R -+ t/2) times the angle (the neutral surface of a bent plate).
#[test]
fn a_sheer_of_circular_arc_unrolls_to_its_neutral_length() {
    let radius = 14_000.0;
    let half: f64 = 0.3;
    for hollow in [true, false] {
        let mut csv = String::from("x,y,z,side,slope\n");
        for i in 0..31 {
            let a = half * (1.0 - 2.0 * f64::from(i) / 30.0);
            let rise = radius * (1.0 - libm::cos(a));
            let z = if hollow { 500.0 + rise } else { 1500.0 - rise };
            writeln!(csv, "{:.9},2000,{z:.9},port,0", radius * libm::sin(a)).expect("text");
        }
        let job = exact_job("", "", "slope = \"level\"", "");
        let built = Shop::new(&[("job.toml", &job), ("edge.csv", &csv)]).build(&[]);
        let towards = if hollow { -1.0 } else { 1.0 };
        for (name, h, width) in [("B1", 6.35, 180.0), ("T1", -6.35, 130.0)] {
            check_exact(&built, name);
            let length = (radius + towards * h) * 2.0 * half;
            let all = edges(&built.profile(name));
            near(all[0].length, length, 0.02, "length");
            near(all[1].length, length, 0.02, "length of the other edge");
            near(built.number(name, "width_mm"), width, 0.02, "width");
            near(
                built.number(name, "length_mm"),
                length,
                0.02,
                "overall length",
            );
        }
    }
}

/// A straight edge whose slope turns evenly: a twisted ribbon. To leading
/// order the lengthwise strain left after flattening is
/// tau^2/2 (v^2 - w^2/12), v from the middle: largest at the edges,
/// tau^2 w^2 / 12, tau the twist per length and w the width.
#[test]
fn a_twisted_ribbon_stretches_by_its_closed_form() {
    for rate in [2.0e-5, 6.0e-5] {
        let mut csv = String::from("x,y,z,side,slope\n");
        for i in 0..41 {
            let x = 4000.0 - 200.0 * f64::from(i);
            let slope = libm::tan(rate * x);
            writeln!(csv, "{x},2000,600,port,{slope:.12}").expect("text");
        }
        let job = exact_job("", "", "slope = \"level\"", "");
        let built = Shop::new(&[("job.toml", &job), ("edge.csv", &csv)]).build(&[]);
        let want = rate * rate * 180.0 * 180.0 / 12.0;
        let got = built.number("B1", "stretch_max");
        near(got / want, 1.0, 0.03, "stretch over its closed form");
        check_exact(&built, "T1");
    }
}

/// Level and with no slope a plate's flat shape is its plan: here an
/// elliptical edge, whose parallel curve is known point by point.
#[test]
fn a_level_edge_without_slope_gives_the_plan_itself() {
    let (a, b) = (5000.0, 2400.0);
    let at = |t: f64| (a * libm::cos(t), b * libm::sin(t));
    let mut csv = String::from("x,y,z,side,slope\n");
    for i in 0..61 {
        let t = 0.5 + 1.6 * f64::from(i) / 60.0;
        let (x, y) = at(t);
        writeln!(csv, "{x:.9},{y:.9},650,port,0").expect("text");
    }
    let job = exact_job("", "", "slope = \"level\"", "");
    let built = Shop::new(&[("job.toml", &job), ("edge.csv", &csv)]).build(&[]);
    for (name, width) in [("B1", 180.0), ("T1", 130.0)] {
        check_exact(&built, name);
        let plan = |t: f64, v: f64| {
            let (nx, ny) = (b * libm::cos(t), a * libm::sin(t));
            let l = (nx * nx + ny * ny).sqrt();
            let (x, y) = at(t);
            vec2(x - v * nx / l, y - v * ny / l)
        };
        let all = edges(&built.profile(name));
        // Arc lengths by Simpson's rule on the ellipse and its parallel curve.
        for (edge, v) in [(&all[0], 0.0), (&all[1], width)] {
            let n = 2000;
            let points: Vec<_> = (0..=n)
                .map(|i| plan(0.5 + 1.6 * f64::from(i) / f64::from(n), v))
                .collect();
            let length: f64 = points.windows(2).map(|w| w[0].distance(w[1])).sum();
            near(edge.length, length, 0.02, "edge length");
            let chord = points[0].distance(points[points.len() - 1]);
            let ends = edge.points[0].distance(edge.points[edge.points.len() - 1]);
            near(ends, chord, 0.02, "end to end");
            // The belly: greatest distance from the chord.
            near(
                belly(&edge.points),
                belly(&points),
                0.02,
                "depth of the curve",
            );
        }
    }
}

fn belly(points: &[Vec2]) -> f64 {
    let (a, b) = (points[0], points[points.len() - 1]);
    let along = (b - a).unit();
    points
        .iter()
        .map(|&p| along.cross(p - a).abs())
        .fold(0.0, f64::max)
}

/// Lengths + gaps - shrinkage = run, for pieces between butts.
#[test]
fn pieces_with_their_gaps_less_shrinkage_make_up_the_run() {
    let mut csv = String::from("x,y,z,side,slope\n");
    for i in 0..41 {
        let x = 5000.0 - 250.0 * f64::from(i);
        let y = 2500.0 * (1.0 - x * x / 1.0e8);
        let z = 600.0 + x * x / 9.0e4;
        writeln!(csv, "{x:.9},{y:.9},{z:.9},port,0.04").expect("text");
    }
    let joints = "weld_gap = \"3 mm\"\nshrinkage = \"1.2 mm\"\nlongest_piece = \"2.6 m\"\nlift_length = \"6 m\"\nlift_gap = \"5 mm\"";
    let job = exact_job("", "", "slope = \"level\"", joints);
    let built = Shop::new(&[("job.toml", &job), ("edge.csv", &csv)]).build(&[]);
    for kind in ["base-plate", "top-plate"] {
        let names = built.names(kind);
        assert!(names.len() >= 4, "the run is cut: {names:?}");
        let flat: f64 = names
            .iter()
            .map(|n| edges(&built.profile(n))[0].length)
            .sum();
        let joints = built.summary["joints"].as_array().expect("joints");
        let of = |form: &str| {
            joints
                .iter()
                .filter(|j| j["plate"] == kind && j["form"] == form)
                .count()
        };
        assert!(of("lift") >= 1);
        assert_eq!(of("butt") + of("lift"), names.len() - 1);
        let made_up = flat + of("butt") as f64 * (3.0 - 1.2) + of("lift") as f64 * 5.0;
        let run: f64 = built.summary["runs"]
            .as_array()
            .expect("runs")
            .iter()
            .filter(|r| r["plate"] == kind)
            .map(|r| r["edge_length_mm"].as_f64().expect("a length"))
            .sum();
        near(made_up, run, 0.05, "pieces and gaps against the run");
    }
}
