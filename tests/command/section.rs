//! The section check through the command: the plates' outboard corners
//! against the planking's inner face, on straight boats whose section is the
//! same all along.

use std::fmt::Write;

use super::placed::demo;
use super::shapes::exact_job;
use super::shop::{Shop, command};

/// A straight port edge with timber around the plates; planking 25 mm, bedding
/// 3.175 mm, plates 12.7 mm. Slope in figures, lean in degrees, set-back in mm.
fn shop(slope: f64, lean: f64, setback: f64, show: &str) -> Shop {
    shop_along(|_| slope, lean, setback, show)
}

/// The same with a slope that changes along x.
fn shop_along(slope: impl Fn(f64) -> f64, lean: f64, setback: f64, show: &str) -> Shop {
    let job = exact_job("", &format!("lean_deg = {lean}"), "slope = \"level\"", "")
        .replace(
            "name = \"closed form\"",
            &format!("name = \"closed form\"\nshow = \"{show}\""),
        )
        .replace("\nplanking = \"0 mm\"", "\nplanking = \"25 mm\"")
        .replace(
            "weld_setback = \"0 mm\"",
            &format!("weld_setback = \"{setback} mm\""),
        )
        .replace("bedding = \"0 mm\"", "bedding = \"3.175 mm\"");
    let mut csv = String::from("x,y,z,side,slope\n");
    for i in 0..31 {
        let x = 3000.0 - 100.0 * f64::from(i);
        writeln!(csv, "{x},2000,600,port,{:.12}", slope(x)).expect("text");
    }
    Shop::new(&[("job.toml", &job), ("edge.csv", &csv)])
}

/// A port edge that is an arc of a circle, level, without slope or lean.
fn shop_on_a_circle(radius: f64, setback: f64) -> Shop {
    let straight = shop(0.0, 0.0, setback, "mm");
    let job = std::fs::read_to_string(straight.path().join("job.toml")).expect("there");
    let mut csv = String::from("x,y,z,side,slope\n");
    let half = (800.0 / radius).min(1.0);
    for i in 0..41 {
        let a = half * (1.0 - 0.05 * f64::from(i));
        let (x, y) = (radius * libm::sin(a), 1000.0 + radius * libm::cos(a));
        writeln!(csv, "{x:.9},{y:.9},600,port,0").expect("text");
    }
    Shop::new(&[("job.toml", &job), ("edge.csv", &csv)])
}

/// What the build says of the plates in the section.
fn said(shop: &Shop, code: i32) -> Vec<String> {
    let mut all = all_said(shop, code);
    all.retain(|l| !l.contains("stanchion"));
    all
}

/// What the build says of the section: its warnings, or why it is refused.
fn all_said(shop: &Shop, code: i32) -> Vec<String> {
    let done = command()
        .arg("build")
        .arg(shop.path().join("job.toml"))
        .arg("--out")
        .arg(shop.path().join("out"))
        .arg("--quick")
        .assert()
        .code(code);
    let all = [&done.get_output().stdout[..], &done.get_output().stderr[..]].concat();
    let text = String::from_utf8(all).expect("text");
    let of = |l: &&str| l.contains("the planking") || l.contains("mend:");
    text.lines().filter(of).map(str::to_owned).collect()
}

/// How deep a corner of the section lies in the planking, and the set-back
/// that it wants more. Inboard and up from the surveyed edge, with a = 25 mm of
/// planking and the set-back b: the planking's inner face goes from (a, s a)
/// on the board to (a - H tan lean, H), H = 800 mm.
fn depth(corner: (f64, f64), slope: f64, lean: f64, moves: f64) -> (f64, f64) {
    let a = 25.0;
    let low = (a, slope * a);
    let high = (a - 800.0 * libm::tan(lean.to_radians()), 800.0);
    let (x, z) = (high.0 - low.0, high.1 - low.1);
    let l = (x * x + z * z).sqrt();
    // The normal that points inboard: the line turned to the right.
    let (nx, nz) = (z / l, -x / l);
    let deep = -((corner.0 - low.0) * nx + (corner.1 - low.1) * nz);
    (deep, deep / (nx + moves * nz))
}

/// The base plate's upper outboard corner: lift h = bedding and plate along
/// the board's normal, (-s, 1) / sqrt(1 + s^2).
fn base_upper(slope: f64, lean: f64, setback: f64) -> (f64, f64) {
    let (h, k) = (3.175 + 12.7, (1.0 + slope * slope).sqrt());
    let x = 25.0 + setback;
    depth((x - h * slope / k, slope * x + h / k), slope, lean, slope)
}

/// A base plate that slopes by 1 in 4 with a set-back of 1/8 in: h s / k =
/// 3.85 mm, 0.68 mm more than the set-back.
#[test]
fn a_sloping_base_plate_is_told_how_far_its_corner_lies_in_the_planking() {
    let (deep, more) = base_upper(0.25, 0.0, 3.175);
    assert!((deep - 0.675).abs() < 5e-4 && (more - deep).abs() < 1e-12);
    let told = said(&shop(0.25, 0.0, 3.175, "mm"), 0);
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(
        told[0].contains("the base plate's upper outboard corner lies up to 0.68 mm inside the planking, deepest at port, station "),
        "{told:?}"
    );
    assert!(
        told[0]
            .ends_with("bevel the edge by that much, or make section.weld_setback 0.68 mm larger"),
        "{told:?}"
    );
    // In the job's units, to a thousandth of an inch.
    let told = said(&shop(0.25, 0.0, 3.175, "feet-inches"), 0);
    assert!(told[0].contains("up to 0.027 in inside"), "{told:?}");
    // What it says mends it.
    assert_eq!(
        said(&shop(0.25, 0.0, 3.175 + 0.68, "mm"), 0),
        Vec::<String>::new()
    );
}

/// The slope rises to 1 in 4 at one place: that place is named, between those looked at.
#[test]
fn the_deepest_place_is_named() {
    let slope = |x: f64| 0.25 - ((x - 1237.0) / 6000.0) * ((x - 1237.0) / 6000.0);
    let told = said(&shop_along(slope, 0.0, 3.175, "mm"), 0);
    assert!(told[0].contains("up to 0.68 mm inside"), "{told:?}");
    let station = told[0].split("station ").nth(1).expect("a station");
    let at: f64 = station
        .split(' ')
        .next()
        .expect("a figure")
        .parse()
        .expect("a number");
    assert!((at - 1237.0).abs() < 3.0, "{told:?}");
}

/// A bevel clears 2 mm: on either side of that it is told, and refused.
#[test]
fn beyond_a_bevel_the_section_is_refused_with_the_figures() {
    let (just, _) = base_upper(0.3, 0.0, 2.58);
    assert!(just > 1.97 && just < 2.0, "{just}");
    assert_eq!(said(&shop(0.3, 0.0, 2.58, "mm"), 0).len(), 1);
    let (over, more) = base_upper(0.3, 0.0, 2.54);
    assert!(over > 2.02 && over < 2.05, "{over}");
    let told = said(&shop(0.3, 0.0, 2.54, "mm"), 1);
    let figure = format!("would lie {over:.2} mm inside the planking");
    assert!(
        told[0].contains(&figure) && told[0].contains("section.weld_setback"),
        "{told:?}"
    );
    let up = (more * 100.0).ceil() / 100.0;
    assert!(
        told.iter()
            .any(|l| l.contains(&format!("set-back {up:.2} mm larger"))),
        "{told:?}"
    );
}

/// Under a planking that leans out a level top plate's lower corner comes
/// nearer to it: t sin lean - b cos lean inside.
#[test]
fn a_leaning_planking_is_met_by_the_top_plates_lower_corner() {
    let (lean, setback) = (15.0_f64, 2.0);
    let rad = lean.to_radians();
    let x = 25.0 + setback - 800.0 * libm::tan(rad);
    let (deep, more) = depth((x, 800.0 - 12.7), 0.0, lean, 0.0);
    let closed = 12.7 * libm::sin(rad) - setback * libm::cos(rad);
    assert!((deep - closed).abs() < 1e-9);
    let told = said(&shop(0.0, lean, setback, "mm"), 0);
    assert_eq!(told.len(), 1, "{told:?}");
    let figure = format!("the top plate's lower outboard corner lies up to {deep:.2} mm inside");
    let up = (more * 100.0).ceil() / 100.0;
    assert!(
        told[0].contains(&figure) && told[0].ends_with(&format!("{up:.2} mm larger")),
        "{told:?}"
    );
    // Slope and lean together, and a planking that leans in.
    for (slope, lean, setback) in [(0.35, 3.0, 2.6), (0.1, -6.0, 1.5)] {
        let (deep, more) = base_upper(slope, lean, setback);
        assert!(deep > 0.1 && deep < 2.0, "{deep}");
        let told = said(&shop(slope, lean, setback, "mm"), 0);
        let figure =
            format!("the base plate's upper outboard corner lies up to {deep:.2} mm inside");
        let up = (more * 100.0).ceil() / 100.0;
        let it = told.iter().find(|l| l.contains(&figure));
        assert!(
            it.is_some_and(|l| l.ends_with(&format!("{up:.2} mm larger"))),
            "{told:?}"
        );
    }
}

/// A plate that clears the planking is not spoken of, nor one without planking.
#[test]
fn a_section_that_holds_is_not_spoken_of() {
    assert!(base_upper(0.19, 0.0, 3.175).0 < 0.0);
    assert_eq!(said(&shop(0.19, 0.0, 3.175, "mm"), 0), Vec::<String>::new());
}

/// Along a circle both plates follow the planking and a tube's face does not:
/// with the plates' outboard edges on a radius r, its corners stand on
/// sqrt(r^2 + (side / 2)^2).
#[test]
fn a_tubes_corners_on_a_bend_are_held_against_the_planking() {
    let deep = |radius: f64, setback: f64| {
        let r = radius - 25.0 - setback;
        (r * r + 50.8 * 50.8_f64).sqrt() - (radius - 25.0)
    };
    let (radius, setback) = (2000.0, 0.5);
    let d = deep(radius, setback);
    assert!((d - 0.153).abs() < 1e-3, "{d}");
    let told = all_said(&shop_on_a_circle(radius, setback), 0);
    assert_eq!(told.len(), 2, "{told:?}");
    for (line, end) in told.iter().zip(["foot", "head"]) {
        let what = format!("the {end} of stanchion ");
        let figure =
            format!(" lies up to {d:.2} mm inside the planking, deepest at port, station ");
        assert!(line.contains(&what) && line.contains(&figure), "{line}");
        assert!(line.contains("ease the planking behind it"), "{line}");
        assert!(
            line.ends_with("make section.weld_setback 0.16 mm larger"),
            "{line}"
        );
    }
    assert_eq!(
        all_said(&shop_on_a_circle(radius, setback + 0.16), 0),
        Vec::<String>::new()
    );
    // Beyond 2 mm it is refused, as a plate is.
    let d = deep(600.0, 0.1);
    assert!(d > 2.1 && d < 2.2, "{d}");
    let told = all_said(&shop_on_a_circle(600.0, 0.1), 1);
    let what = format!(" would lie {d:.2} mm inside the planking");
    assert!(
        told.iter()
            .any(|l| l.contains("of stanchion ") && l.contains(&what)),
        "{told:?}"
    );
}

/// A foot on a sloping base plate stands on its upper corner: as deep as that,
/// and so told.
#[test]
fn a_foot_is_as_deep_as_the_plates_corner_that_it_stands_on() {
    let told = all_said(&shop(0.25, 0.0, 3.175, "mm"), 0);
    let foot = told.iter().find(|l| l.contains("the foot of stanchion"));
    assert!(
        foot.is_some_and(|l| l.contains("up to 0.68 mm inside")),
        "{told:?}"
    );
    assert_eq!(told.len(), 2, "{told:?}");
}

/// The demo is a job to begin from: its section holds.
#[test]
fn the_demo_clears_the_planking() {
    let told = all_said(&demo("[section]", "[section]"), 0);
    assert_eq!(told, Vec::<String>::new());
}
