//! Whole boats through the command: symmetry, moving, resampling, threads,
//! the starter job, and the files that go with the command.

use std::fmt::Write;

use planksheer::geom::trig::{cos, sin};

use super::shapes::exact_job;
use super::shop::{Built, Shop, command, edges};

/// A closed-form edge: plan an ellipse's quarter and more, sheer a parabola,
/// slope and lean turning along it. Rows for one side, bow to stern.
fn side(count: u32, port: bool, turn: f64, shift: (f64, f64)) -> String {
    let mut csv = String::from("x,y,z,side,slope,lean_deg,bulwark_height\n");
    for i in 0..count {
        let f = f64::from(i) / f64::from(count - 1);
        let a = 0.35 + 1.3 * f;
        let (x, y) = (5200.0 * cos(a), 1900.0 * sin(a));
        let z = 700.0 + 260.0 * (1.0 - f) * (1.0 - f);
        let (slope, lean) = (0.03 + 0.05 * f, 7.0 - 5.0 * f);
        let height = 820.0 - 60.0 * f;
        let y = if port { y } else { -y };
        let (x, y) = (
            x * cos(turn) - y * sin(turn) + shift.0,
            x * sin(turn) + y * cos(turn) + shift.1,
        );
        let name = if port { "port" } else { "starboard" };
        writeln!(
            csv,
            "{x:.9},{y:.9},{z:.9},{name},{slope:.12},{lean:.12},{height:.9}"
        )
        .expect("text");
    }
    csv
}

const JOINTS: &str =
    "weld_gap = \"2 mm\"\nshrinkage = \"1 mm\"\nlongest_piece = \"2.5 m\"\nstagger = \"200 mm\"";

fn two_sided(count: u32) -> Built {
    both_sides(
        "",
        &side(count, true, 0.0, (0.0, 0.0)),
        &side(count, false, 0.0, (0.0, 0.0)),
    )
}

fn both_sides(fairing: &str, port: &str, starboard: &str) -> Built {
    let job = exact_job("", "", "slope_deg = 1.5", JOINTS).replace(
        "[[survey.file]]\npath = \"edge.csv\"\nform = \"points\"",
        "[[survey.file]]\npath = \"edge.csv\"\nform = \"points\"\nside = \"port\"\n[[survey.file]]\npath = \"other.csv\"\nform = \"points\"\nside = \"starboard\"",
    );
    Shop::new(&[
        ("job.toml", &format!("{job}\n{fairing}\n")),
        ("edge.csv", port),
        ("other.csv", starboard),
    ])
    .build(&[])
}

/// Length, width and area of the parts of a kind, with the lengths of their
/// long edges: what makes two parts the same, or each other's mirror image.
fn measures(built: &Built, names: &[String]) -> Vec<[f64; 5]> {
    names
        .iter()
        .map(|n| {
            let profile = built.profile(n);
            let long = edges(&profile);
            let (lo, hi) = profile.bounds();
            [
                hi.x - lo.x,
                hi.y - lo.y,
                profile.area(),
                long[0].length,
                long[1].length,
            ]
        })
        .collect()
}

fn same(a: &[[f64; 5]], b: &[[f64; 5]], within: f64) {
    assert_eq!(a.len(), b.len());
    for (p, q) in a.iter().zip(b) {
        for (k, (x, y)) in p.iter().zip(q).enumerate() {
            // Areas differ by a length times the edge: per 2.5 m of it.
            let slack = if k == 2 { within * 5000.0 } else { within };
            assert!((x - y).abs() <= slack, "{p:?} against {q:?}");
        }
    }
}

#[test]
fn a_symmetric_survey_gives_mirrored_sides() {
    let built = two_sided(41);
    for kind in ["base-plate", "top-plate"] {
        let names = built.names(kind);
        assert!(
            names.len() >= 4 && names.len().is_multiple_of(2),
            "{names:?}"
        );
        let (port, starboard) = names.split_at(names.len() / 2);
        let mut mirrored = measures(&built, starboard);
        mirrored.reverse();
        same(&measures(&built, port), &mirrored, 0.02);
        // Mirror images, not copies: holes of one lie where the other's do
        // when turned over. Their profiles' hollow lies on opposite sides of
        // the outboard edge, so the outlines agree only when mirrored.
        let (a, b) = (
            built.profile(&port[0]),
            built.profile(&starboard[starboard.len() - 1]),
        );
        let (_, hi) = b.bounds();
        let flat_a = a.flatten(0.01);
        let worst = |flip: bool| {
            flat_a
                .iter()
                .map(|p| {
                    let q = if flip {
                        planksheer::geom::vec2(p.x, hi.y - p.y)
                    } else {
                        *p
                    };
                    b.flatten(0.01)
                        .iter()
                        .map(|r| r.distance(q))
                        .fold(f64::INFINITY, f64::min)
                })
                .fold(0.0, f64::max)
        };
        assert!(
            worst(true) < worst(false) / 5.0,
            "{} {}",
            worst(true),
            worst(false)
        );
    }
}

#[test]
fn an_uneven_survey_gives_mirrored_parts_where_both_sides_are_to_be_alike() {
    // Starboard wider by half a hundredth, and longer by as much.
    let port = side(41, true, 0.0, (0.0, 0.0));
    let starboard: String = side(41, false, 0.0, (0.0, 0.0))
        .lines()
        .map(|line| {
            let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
            for cell in &mut cells[..2] {
                if let Ok(v) = cell.parse::<f64>() {
                    *cell = format!("{:.9}", 1.005 * v);
                }
            }
            cells.join(",") + "\n"
        })
        .collect();
    let unlike = |built: &Built, kind: &str| {
        let names = built.names(kind);
        assert!(names.len() >= 4, "{names:?}");
        let (port, starboard) = names.split_at(names.len() / 2);
        let (port, mut starboard) = (measures(built, port), measures(built, starboard));
        starboard.reverse();
        assert_eq!(port.len(), starboard.len());
        // Lengths and widths, mm; areas are their products.
        let both = port.iter().zip(&starboard);
        both.flat_map(|(a, b)| [0, 1, 3, 4].map(|k| (a[k] - b[k]).abs()))
            .fold(0.0, f64::max)
    };
    let alike = both_sides("[fairing]\nsides = \"alike\"", &port, &starboard);
    let own = both_sides("", &port, &starboard);
    for kind in ["base-plate", "top-plate"] {
        let (one, two) = (unlike(&alike, kind), unlike(&own, kind));
        println!("{kind}: {one} mm alike, {two} mm own");
        // As of an even survey: what flattened sizes are held to.
        assert!(one < 0.02, "{kind}: {one} mm");
        assert!(two > 0.1, "{kind}: {two} mm");
    }
}

fn one_sided(count: u32, turn: f64, shift: (f64, f64)) -> Built {
    let job = exact_job("", "", "slope = \"deck\"", JOINTS);
    Shop::new(&[
        ("job.toml", &job),
        ("edge.csv", &side(count, true, turn, shift)),
    ])
    .build(&[])
}

#[test]
fn a_moved_turned_or_resampled_survey_gives_the_same_parts() {
    let here = one_sided(41, 0.0, (0.0, 0.0));
    let moved = one_sided(41, 0.12, (-3100.0, 1800.0));
    let dense = one_sided(67, 0.0, (0.0, 0.0));
    for kind in ["base-plate", "top-plate"] {
        let names = here.names(kind);
        let want = measures(&here, &names);
        same(&want, &measures(&moved, &moved.names(kind)), 0.02);
        same(&want, &measures(&dense, &dense.names(kind)), 0.02);
    }
}

#[test]
fn one_thread_and_two_write_the_same_bytes() {
    let job = exact_job("", "", "slope = \"level\"", JOINTS);
    let shop = Shop::new(&[
        ("job.toml", &job),
        ("edge.csv", &side(31, true, 0.0, (0.0, 0.0))),
    ]);
    let one = shop.build(&["--threads", "1"]).files();
    let two = shop.build(&["--threads", "2"]).files();
    assert_eq!(one.len(), two.len());
    assert!(one.len() > 20);
    for (a, b) in one.iter().zip(&two) {
        assert!(a == b, "{} differs from {}", a.0, b.0);
    }
}

#[test]
fn the_starter_job_builds_as_it_is_and_is_never_written_over() {
    let top = tempfile::tempdir().expect("a temporary folder");
    let dir = top.path().join("mine");
    command().arg("start").arg(&dir).assert().success();
    command().arg("start").arg(&dir).assert().code(1);
    let done = command()
        .arg("build")
        .arg(dir.join("job.toml"))
        .arg("--out")
        .arg(top.path().join("out"))
        .args(["--quick", "--json"])
        .assert()
        .success();
    let said: serde_json::Value =
        serde_json::from_slice(&done.get_output().stdout).expect("JSON on standard output");
    assert!(said["parts"].as_array().expect("parts").len() > 4);
    assert_eq!(said["warnings"], serde_json::json!([]));
    let built = Built::read(&top.path().join("out"));
    assert_eq!(built.summary, said);
    assert!(built.text("yield.txt").contains("CAUTIONS"));
    // What plasma cuts badly is drilled; cut all the same, it is warned of.
    let small = "below its smallest hole";
    let cutting = &said["cutting"];
    assert_eq!(cutting["holes_too_small"], 0);
    assert!(cutting["holes_to_drill"].as_u64().expect("a count") > 300);
    assert!(!built.text("yield.txt").contains(small));
    let text = std::fs::read_to_string(dir.join("job.toml")).expect("the job");
    let cut = text.replace("small_holes = \"drill\"", "small_holes = \"cut\"");
    std::fs::write(dir.join("cut.toml"), cut).expect("written");
    let done = command()
        .args(["build", "--quick", "--out"])
        .arg(top.path().join("cut"))
        .arg(dir.join("cut.toml"))
        .assert()
        .success();
    let account = String::from_utf8_lossy(&done.get_output().stdout).into_owned();
    let holes = format!(
        "{} holes are cut by plasma {small}",
        cutting["holes_to_drill"]
    );
    assert_eq!(account.matches(&holes).count(), 1, "{account}");
    for part in said["parts"].as_array().expect("parts") {
        let gap = part["refold_gap_mm"].as_f64().expect("a gap");
        assert!(gap <= 0.1, "{part}");
    }
}

#[test]
fn completions_and_the_manual_name_every_verb() {
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let done = command().args(["completions", shell]).assert().success();
        let text = String::from_utf8_lossy(&done.get_output().stdout).into_owned();
        assert!(text.contains("build") && text.contains("start"), "{shell}");
    }
    let done = command().arg("manual").assert().success();
    let text = String::from_utf8_lossy(&done.get_output().stdout).into_owned();
    for word in [".TH", "build", "start", "completions", "manual"] {
        assert!(text.contains(word), "the manual lacks {word}");
    }
}

/// A boat of which one side was measured, from points of its edge.
fn mirrored(stern: &str, csv: &str) -> Built {
    let job = exact_job(
        "stem = \"mitre\"\nstem_half_siding = \"50 mm\"",
        "",
        "slope = \"level\"",
        JOINTS,
    )
    .replace(
        "stern = \"open\"",
        &format!("stern = \"{stern}\"\nmirrored = true"),
    )
    .replace("form = \"points\"", "form = \"offsets\"\nside = \"port\"");
    Shop::new(&[("job.toml", &job), ("edge.csv", csv)]).build(&[])
}

/// Half a boat with a transom, 2 x 1556 mm wide.
fn transom_boat() -> Built {
    let mut csv = String::from("station,half_breadth,height,slope,name\n");
    for i in 0..=20 {
        let f = f64::from(i) / 20.0;
        let x = 8000.0 - 8000.0 * f;
        let y = 60.0 + 1700.0 * (1.0 - (1.0 - f) * (1.0 - f)) * (1.0 - 0.12 * f);
        writeln!(csv, "{x},{y:.6},800,0.02,{i}").expect("text");
    }
    mirrored("transom", &csv)
}

#[test]
fn a_transom_and_a_mitred_stem_make_corners_that_meet() {
    let mitres = transom_boat().summary["joints"]
        .as_array()
        .expect("joints")
        .iter()
        .filter(|j| j["form"] == "mitre")
        .count();
    assert_eq!(mitres, 4, "two corners in each of the two plates");
}

/// What the cautions say of the bulwark beginning with a word.
fn freeing(built: &Built, of: &str) -> String {
    let cautions = built.summary["cautions"].as_array().expect("cautions");
    let texts = cautions.iter().filter_map(|c| c["text"].as_str());
    let told: Vec<&str> = texts.filter_map(|t| t.strip_prefix(of)).collect();
    assert_eq!(told.len(), 1, "{of} {cautions:?}");
    told[0].to_owned()
}

/// The figure that stands before some words, mm.
fn before(text: &str, words: &str) -> f64 {
    let (said, _) = text.split_once(words).expect(words);
    let figure = said.rsplit(' ').next().expect("a figure");
    figure.parse().unwrap_or_else(|e| panic!("{figure}: {e}"))
}

/// A side's freeing ports go by its own bulwark; what stands across the boat
/// is told apart.
#[test]
fn a_mirrored_boat_asks_for_the_same_freeing_ports_on_both_sides() {
    let built = transom_boat();
    let port = freeing(&built, "port: ");
    assert_eq!(port, freeing(&built, "starboard: "));
    // The measured edge, point to point, and on to the stem's plane, 10 mm
    // further in; the width between its corners.
    let length = before(&port, " mm long");
    assert!((length - 8228.0).abs() < 10.0, "{port}");
    let across = freeing(&built, "across the boat: ");
    let width = before(&across, " mm long");
    assert!((width - 3112.0).abs() < 10.0, "{across}");
    for words in ["counted on neither side", "defer to the authority"] {
        assert!(across.contains(words), "{across}");
    }
    let all: f64 = built.summary["runs"]
        .as_array()
        .expect("runs")
        .iter()
        .filter(|r| r["plate"] == "base-plate")
        .map(|r| r["edge_length_mm"].as_f64().expect("a length"))
        .sum();
    assert!((2.0 * length + width - all).abs() < 2.0, "{all}");
}

#[test]
fn a_round_stern_is_counted_to_the_centreline_on_each_side() {
    let mut csv = String::from("station,half_breadth,height,slope\n");
    for i in 0..=40 {
        let a = 0.35 + (std::f64::consts::PI - 0.35) * f64::from(i) / 40.0;
        let (x, y) = (5200.0 * cos(a), 1900.0 * sin(a));
        writeln!(csv, "{x:.6},{:.6},800,0.02", y.max(0.0)).expect("text");
    }
    let built = mirrored("round", &csv);
    let port = freeing(&built, "port: ");
    assert_eq!(port, freeing(&built, "starboard: "));
    assert!(!built.text("yield.txt").contains("across the boat"));
}
