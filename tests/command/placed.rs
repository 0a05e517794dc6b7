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
