//! What a job places by hand: kept to its limits, and refused where it cannot be.

use std::fs;
use std::path::Path;

use super::shapes::exact_job;
use super::shop::{Shop, command};

/// The demo hull with one text of its job in place of another.
pub(crate) fn demo(text: &str, with: &str) -> Shop {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-hull");
    let read = |name: &str| fs::read_to_string(folder.join(name)).expect("a file of the demo");
    let job = read("job.toml");
    assert!(job.contains(text), "{text}");
    let mut files = vec![("job.toml".to_owned(), job.replacen(text, with, 1))];
    for entry in fs::read_dir(&folder).expect("the demo") {
        let name = entry.expect("an entry").file_name().into_string();
        let name = name.expect("a plain name");
        if name.ends_with(".csv") {
            let text = read(&name);
            files.push((name, text));
        }
    }
    let files: Vec<(&str, &str)> = (files.iter())
        .map(|(n, t)| (n.as_str(), t.as_str()))
        .collect();
    Shop::new(&files)
}

fn refused(shop: &Shop) -> String {
    let done = command()
        .arg("build")
        .arg(shop.path().join("job.toml"))
        .arg("--out")
        .arg(shop.path().join("out"))
        .arg("--quick")
        .assert()
        .code(1);
    String::from_utf8(done.get_output().stderr.clone()).expect("text")
}

fn butts(places: &str) -> Shop {
    demo("[joints]", &format!("[joints]\nbase_butts = [{places}]"))
}

#[test]
fn one_butt_by_hand_leaves_the_rules_to_the_rest() {
    let built = butts("{ side = \"port\", station = \"9 m\" }").build(&[]);
    let parts = built.summary["parts"].as_array().expect("parts");
    let long = parts
        .iter()
        .filter_map(|p| p["length_mm"].as_f64())
        .fold(0.0, f64::max);
    // The job's longest_piece is 2.9 m.
    assert!(long > 1000.0 && long < 2901.0, "{long}");
}

#[test]
fn what_stands_nowhere_or_over_another_is_refused() {
    for (shop, told) in [
        (
            butts("{ side = \"port\", station = \"11 m\" }"),
            "joints.base_butts[1]",
        ),
        (
            butts(
                "{ side = \"port\", station = \"9 m\" }, { side = \"port\", station = \"9.01 m\" }",
            ),
            "shorter than 50 mm",
        ),
        (
            demo("station = \"9.6 m\"", "station = \"11 m\""),
            "no bulwark stands where doubler `fore shroud P` is placed",
        ),
        (
            demo("station = \"9.6 m\"", "station = \"8.5 m\""),
            "lies over doubler",
        ),
    ] {
        let said = refused(&shop);
        assert!(said.contains(told) && said.contains("mend:"), "{said}");
    }
}

/// Line and column of a text that stands once in another.
fn place_in(job: &str, text: &str) -> String {
    assert_eq!(job.matches(text).count(), 1, "{text}");
    let before = &job[..job.find(text).expect("it stands there")];
    let column = before.rsplit('\n').next().map_or(0, |l| l.chars().count());
    format!("{}:{}", before.matches('\n').count() + 1, column + 1)
}

/// Whichever stage finds it, a fault of what the job says is told with the
/// file, line and column of the value, and its key.
#[test]
fn a_fault_of_a_later_stage_lies_at_its_value_in_the_job() {
    let at = |side: &str, m: &str| format!("{{ side = \"{side}\", station = \"{m} m\" }}");
    let (on, off) = (at("port", "9"), at("port", "77"));
    let run = format!("[[run]]\nname = \"r\"\nfrom = {on}\nto = {off}\n[[gap]]");
    let both = |key: &str| format!("[joints]\n{key} = [{on}, {off}]");
    let by_hand = format!("at = [{off}]");
    // What is changed, into what, the value at fault, its key.
    let beyond_the_edge = [
        (
            "station = \"9.6 m\"",
            "station = \"77 m\"",
            &*off,
            "doubler[1].at",
        ),
        (
            "station = \"5.8 m\"",
            "station = \"77 m\"",
            &off,
            "keep_clear[1].at",
        ),
        (
            "station = \"11.3 m\"",
            "station = \"77 m\"",
            &off,
            "gap[1].from",
        ),
        ("[[gap]]", &run, &off, "run[1].to"),
        (
            "[joints]",
            &both("base_butts"),
            &off,
            "joints.base_butts[2]",
        ),
        ("[joints]", &both("top_butts"), &off, "joints.top_butts[2]"),
        ("spacing = \"600 mm\"", &by_hand, &off, "stanchions.at[1]"),
    ];
    let later = [
        (
            "width = \"180 mm\"",
            "width = \"2 m\"",
            "\"2 m\"",
            "base.width",
        ),
        (
            "lift_length = \"6 m\"",
            "lift_length = \"0.5 m\"",
            "\"0.5 m\"",
            "joints.lift_length",
        ),
        (
            "length = \"350 mm\"",
            "length = \"7 m\"",
            "[[doubler]]\nname = \"main shroud P\"",
            "doubler[2]",
        ),
    ];
    for (k, (text, with, value, key)) in beyond_the_edge.into_iter().chain(later).enumerate() {
        let shop = demo(text, with);
        let job = fs::read_to_string(shop.path().join("job.toml")).expect("the job");
        let want = format!("job.toml:{}: {key}", place_in(&job, value));
        let said = refused(&shop);
        assert!(said.contains(&want), "{want}: {said}");
        // What lies beyond the edge is known once that is faired.
        if k < beyond_the_edge.len() {
            let done = command()
                .arg("fair")
                .arg(shop.path().join("job.toml"))
                .assert()
                .success();
            let told = String::from_utf8_lossy(&done.get_output().stderr).into_owned();
            assert!(
                told.contains(&want) && told.contains("mend:"),
                "{want}: {told}"
            );
            assert!(!done.get_output().stdout.is_empty());
        }
    }
}

/// All places beyond the edge are told at once.
#[test]
fn every_place_beyond_the_edge_is_told_in_one_pass() {
    let shop = demo("station = \"9.6 m\"", "station = \"77 m\"");
    let path = shop.path().join("job.toml");
    let job = fs::read_to_string(&path).expect("the job");
    let job = job.replacen("station = \"5.8 m\"", "station = \"78 m\"", 1);
    let job = job.replacen("station = \"10.6 m\"", "station = \"79 m\"", 1);
    fs::write(&path, job).expect("written");
    let said = refused(&shop);
    for key in ["doubler[1].at", "keep_clear[1].at", "gap[1].to"] {
        assert!(said.contains(key), "{key}: {said}");
    }
    assert!(said.contains("3 problems"), "{said}");
}

/// A doubler's place is the job's own, whatever became of the line under it.
#[test]
fn a_doubler_is_marked_with_the_place_that_the_job_gives() {
    let shop = demo("station = \"9.6 m\"", "along = \"3.5 m\"");
    let parts = shop.build(&[]).text("lists/parts.csv");
    let place = "\"fore shroud P, port, 3500 mm along\"";
    assert!(parts.contains(place), "{parts}");
    assert!(
        parts.contains("\"main shroud P, port, sta 8400 mm\""),
        "{parts}"
    );
}

/// A job with both sides of a boat whose edge ends a hair to port of the
/// centreline at the bow on both of them, as measuring leaves it.
fn meeting_at_the_bow(more: &str) -> Shop {
    let job = exact_job("", "", "", "")
        .replace("stern = \"open\"", "slope = 0.0\nstern = \"transom\"")
        .replace("accuracy = \"0 mm\"", "accuracy = \"1 mm\"")
        + more;
    let mut csv = String::from("x,y,z,side\n");
    for (side, sign, bow) in [("port", 1.0, 0.9), ("starboard", -1.0, 0.4)] {
        for i in 0..17 {
            let turn = (f64::from(i) / 12.0).min(1.0) * std::f64::consts::FRAC_PI_2;
            let y = if i == 0 {
                bow
            } else {
                sign * 900.0 * libm::sin(turn)
            };
            let x = 4000.0 - 250.0 * f64::from(i);
            csv.push_str(&format!("{x},{y:.3},600,{side}\n"));
        }
    }
    Shop::new(&[("job.toml", &job), ("edge.csv", &csv)])
}

#[test]
fn a_side_is_surveyed_though_its_end_lies_over_the_centreline() {
    let doubler = |at: &str| {
        let at = format!("{{ side = \"starboard\", {at} }}");
        format!("[[doubler]]\nname = \"d\"\nat = {at}\nlength = \"200 mm\"\nwidth = \"60 mm\"\n")
    };
    let said = refused(&meeting_at_the_bow(&doubler("station = \"99 m\"")));
    assert!(
        said.contains("the edge of that side runs from station 0 mm to station "),
        "{said}"
    );
    // A place along it is found.
    let said = refused(&meeting_at_the_bow(&doubler("along = \"99 m\"")));
    assert!(said.contains("the edge of that side is "), "{said}");
}

/// The edge of a side that ends at the corner of a transom reaches no mitre on
/// the centreline.
#[test]
fn a_mitred_stern_that_the_edge_does_not_reach_is_told_as_that() {
    let job = exact_job("slope = 0.0", "", "", "").replace("\"open\"", "\"mitre\"");
    let mut csv = String::from("x,y,z,side\n");
    for (side, y) in [("port", 2000), ("starboard", -2000)] {
        for i in 0..13 {
            csv.push_str(&format!("{},{y},600,{side}\n", 3000 - 250 * i));
        }
    }
    let said = refused(&Shop::new(&[("job.toml", &job), ("edge.csv", &csv)]));
    for told in [
        "survey.stern",
        "the edge ends 2000 mm off the centreline",
        "survey.stern = \"transom\"",
    ] {
        assert!(said.contains(told), "{told}: {said}");
    }
}

#[test]
fn an_output_that_holds_the_job_is_not_replaced() {
    let shop = demo("[joints]", "[joints]");
    shop.build(&[]);
    let out = shop.path().join("out");
    for name in ["job.toml", "port.csv", "starboard.csv"] {
        fs::copy(shop.path().join(name), out.join(name)).expect("copied");
    }
    let done = command()
        .arg("build")
        .arg(out.join("job.toml"))
        .arg("--out")
        .arg(&out)
        .arg("--quick")
        .assert()
        .code(1);
    let said = String::from_utf8(done.get_output().stderr.clone()).expect("text");
    assert!(said.contains("lies in it"), "{said}");
    assert!(out.join("job.toml").exists());
}
