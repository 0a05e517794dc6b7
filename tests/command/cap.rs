//! The wood cap in lengths, from job to drawings.

use std::f64::consts::PI;
use std::fmt::Write;

use planksheer::geom::Outline;

use super::shapes::exact_job;
use super::shop::{Built, Shop, circle_through, edges};
use crate::broken::folder;

const WIDTH: f64 = 200.0;
/// Eight thicknesses.
const SCARF: f64 = 8.0 * 44.0;
const LONGEST: f64 = 3000.0;

/// Profiles of the cap's lengths, by their numbers on a side.
fn lengths(built: &Built, side: &str) -> Vec<Outline> {
    let names: Vec<String> = built.files().into_iter().map(|(name, _)| name).collect();
    let file = |k: usize| format!("cap/CAP-{k}{side}.dxf");
    (1..)
        .map(file)
        .take_while(|f| names.contains(f))
        .map(|f| built.outline(&f))
        .collect()
}

/// A bulwark along points at one height, its lengths no longer than [`LONGEST`].
fn built(points: &[(f64, f64)]) -> Built {
    let mut csv = String::from("x,y,z,side,slope\n");
    for (x, y) in points {
        writeln!(csv, "{x:.9},{y:.9},650,port,0").expect("text");
    }
    let mut job = exact_job("", "", "slope = \"level\"", "");
    writeln!(job, "[cap]\nlongest_piece = \"{LONGEST} mm\"").expect("text");
    Shop::new(&[("job.toml", &job), ("edge.csv", &csv)]).build(&[])
}

fn near(got: f64, want: f64, within: f64) {
    assert!((got - want).abs() < within, "{got}, not {want}");
}

#[test]
fn a_straight_cap_is_rectangles_that_lap_by_their_scarfs() {
    let points: Vec<(f64, f64)> = (0..=20)
        .map(|k| (8000.0 - 400.0 * f64::from(k), 2000.0))
        .collect();
    let all = lengths(&built(&points), "P");
    // Two of 3 m less a scarf do not reach.
    assert_eq!(all.len(), 3);
    let mut sum = 0.0;
    for outline in &all {
        let (lo, hi) = outline.bounds();
        let (long, wide) = (hi.x - lo.x, hi.y - lo.y);
        near(wide, WIDTH, 1e-3);
        near(outline.area(), long * WIDTH, 1.0);
        near(long, (8000.0 + 2.0 * SCARF) / 3.0, 20.0);
        sum += long;
    }
    near(sum, 8000.0 + 2.0 * SCARF, 0.01);
}

#[test]
fn on_a_circle_the_cap_is_sectors_of_a_ring() {
    const RADIUS: f64 = 5000.0;
    let angle = PI / 3.0;
    let at = |k: u32| {
        let a = PI / 3.0 + angle * f64::from(k) / 40.0;
        (RADIUS * libm::cos(a), RADIUS * libm::sin(a))
    };
    let points: Vec<(f64, f64)> = (0..=40).map(at).collect();
    let all = lengths(&built(&points), "P");
    // Overhang 10 mm, and half of the 30 mm that it has to spare.
    let [outboard, inboard] = [25.0, 25.0 - WIDTH].map(|out| RADIUS + out);
    let middle = 0.5 * (outboard + inboard);
    let mut sum = 0.0;
    for outline in &all {
        let sides = edges(outline);
        for (side, radius) in sides.iter().zip([outboard, inboard]) {
            near(circle_through(&side.points).1, radius, 0.5);
        }
        assert!(sides[0].length <= LONGEST + 0.01);
        near(sides[0].length / sides[1].length, outboard / inboard, 1e-5);
        sum += sides[0].length / outboard;
    }
    let laps = (all.len() - 1) as f64 * SCARF / middle;
    near(sum - laps, angle, 1e-5);
    assert_eq!(all.len(), 2, "the fewest that reach");
}

#[test]
fn boards_are_as_long_and_as_wide_as_the_job_has_them() {
    let mut files = folder("good");
    let (longest, widest) = (2000.0, 300.0);
    let job = files.get_mut("job.toml").expect("a job");
    write!(
        job,
        "\n[cap]\nlongest_piece = \"{longest} mm\"\nwidest_piece = \"{widest} mm\"\nscarf = 6\n"
    )
    .expect("text");
    let built = Shop::of(&files).build(&[]);
    let all = [lengths(&built, "P"), lengths(&built, "S")].concat();
    assert!(all.len() > 6);
    for outline in &all {
        let (lo, hi) = outline.bounds();
        assert!(hi.y - lo.y <= widest, "{}", hi.y - lo.y);
        assert!(edges(outline)[0].length <= longest + 1.0);
    }
}

#[test]
fn a_cap_that_no_board_makes_is_told_and_the_rest_is_built() {
    let mut files = folder("good");
    let job = files.get_mut("job.toml").expect("a job");
    job.push_str("\n[cap]\nwidest_piece = \"204 mm\"\n");
    let built = Shop::of(&files).build(&[]);
    let warnings = built.summary["warnings"].to_string();
    assert!(warnings.contains("the wood cap is not drawn"), "{warnings}");
    assert!(warnings.contains("and 204 mm wide"), "{warnings}");
    assert!(lengths(&built, "P").is_empty());
}
