//! `planksheer fair` from survey to report.

use std::fmt::Write;
use std::fs;

use serde_json::Value;

use super::shapes::exact_job;
use super::shop::{Shop, command};

/// A side of 41 stations over 12 m, booked in whole millimetres, `more` added to the
/// height by the row; port and starboard.
fn edge(more: impl Fn(f64, u32) -> f64) -> String {
    let mut out = String::from("name,side,x,y,z\n");
    for (letter, side, sign) in [("P", "port", 1.0), ("S", "starboard", -1.0)] {
        for k in 0..=40_u32 {
            let x = 12_000.0 - 300.0 * f64::from(k);
            let q = (x - 5000.0) / 12_000.0;
            let (y, z) = (2200.0 - 1800.0 * q * q, 1200.0 + 900.0 * q * q);
            let z = z + more(sign, k);
            writeln!(out, "{letter}{k},{side},{x:.0},{:.0},{z:.0}", sign * y).expect("text");
        }
    }
    out
}

fn job(more: &str) -> String {
    let job = exact_job("slope = 0.05", "", "", "");
    job.replace("accuracy = \"0 mm\"", "accuracy = \"1 mm\"") + more
}

fn told(survey: &str) -> (String, Value) {
    told_by(&job(""), survey)
}

fn told_by(job: &str, survey: &str) -> (String, Value) {
    let shop = Shop::new(&[("job.toml", job), ("edge.csv", survey)]);
    let run = |more: &[&str]| {
        let out = command()
            .arg("fair")
            .arg(shop.path().join("job.toml"))
            .args(more)
            .output()
            .expect("it runs");
        assert!(
            out.status.success(),
            "{}",
            String::from_utf8_lossy(&out.stderr)
        );
        String::from_utf8(out.stdout).expect("text")
    };
    let json = serde_json::from_str(&run(&["--json"])).expect("JSON");
    (run(&[]), json)
}

#[test]
fn a_fair_survey_has_nothing_to_tell() {
    let (text, json) = told(&edge(|_, _| 0.0));
    assert_eq!(json["findings"].as_array().map(Vec::len), Some(0), "{text}");
    assert_eq!(json["doubts"].as_array().map(Vec::len), Some(0), "{text}");
    assert_eq!(json["points"].as_array().map(Vec::len), Some(82));
    assert!(
        text.contains("alike within 2 mm at all 41 stations compared"),
        "{text}"
    );
}

#[test]
fn a_slip_of_a_foot_a_hump_and_a_higher_side_are_told_where_they_are() {
    let (text, json) = told(&edge(|side, k| match (side > 0.0, k) {
        // A foot too high at P10; a hump of 15 mm about S20; starboard aft 8 mm high.
        (true, 10) => 304.8,
        (false, 19 | 21) => 8.0,
        (false, 20) => 15.0,
        (false, 30..) => 8.0 * f64::from(k - 30).min(4.0) / 4.0,
        _ => 0.0,
    }));
    let doubts = json["doubts"].as_array().expect("doubts");
    assert_eq!(doubts.len(), 1, "{text}");
    assert_eq!(doubts[0]["station"], "P10");
    assert_eq!(doubts[0]["figure"], "z");
    let out = doubts[0]["out_mm"].as_f64().expect("a number");
    assert!((out - 304.8).abs() < 4.0, "{out}");
    let at_hump = |f: &&Value| {
        f["view"] == "profile"
            && f["place"]
                .as_str()
                .is_some_and(|p| p.contains("S20") || p.contains("S19") || p.contains("S21"))
    };
    let hump = json["findings"]
        .as_array()
        .expect("findings")
        .iter()
        .find(at_hump);
    assert!(hump.is_some(), "{text}");
    let aft = json["port_and_starboard"]
        .as_array()
        .expect("rows")
        .iter()
        .find(|r| r["station"] == "P36")
        .expect("compared");
    let higher = aft["base_port_higher_mm"].as_f64().expect("a number");
    assert!((higher + 8.0).abs() < 2.0, "{higher}");
}

#[test]
fn both_sides_to_one_line_leave_each_by_half_of_what_they_differ_by() {
    let alike = job("\n[fairing]\nsides = \"alike\"\n");
    let survey = edge(|side, _| if side < 0.0 { 8.0 } else { 0.0 });
    let (text, json) = told_by(&alike, &survey);
    let rows = |of: &str| json[of].as_array().expect("rows").clone();
    let points = rows("points");
    assert_eq!(points.len(), 82);
    for p in points {
        let up = p["base_up_mm"].as_f64().expect("a number");
        let half = if p["side"] == "port" { 4.0 } else { -4.0 };
        // Heights are booked in whole millimetres, and faired within 1 mm.
        assert!((up - half).abs() < 1.0, "{p}");
    }
    for r in rows("port_and_starboard") {
        let higher = r["base_port_higher_mm"].as_f64().expect("a number");
        assert!(higher.abs() < 1e-6, "{r}");
    }
    let found = rows("findings");
    let left = found.iter().filter(|f| f["kind"] == "tolerance");
    let unlike = |f: &Value| {
        let by = f["sides_differ_mm"].as_f64();
        by.is_some_and(|by| (by - 8.0).abs() < 0.01)
    };
    assert!(left.clone().count() >= 82, "{text}");
    for f in left.filter(|f| f["view"] == "profile") {
        assert!(unlike(f), "{f}");
    }
    // Long sentences are broken over lines.
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        words.contains("; port and starboard differ by 8.00 mm there"),
        "{text}"
    );
}

#[test]
fn one_side_alone_cannot_be_faired_to_one_line_of_both() {
    let port: String = edge(|_, _| 0.0)
        .lines()
        .filter(|l| !l.starts_with('S'))
        .fold(String::new(), |all, l| all + l + "\n");
    let alike = job("\n[fairing]\nsides = \"alike\"\n");
    let shop = Shop::new(&[("job.toml", &alike), ("edge.csv", &port)]);
    let out = command()
        .arg("fair")
        .arg(shop.path().join("job.toml"))
        .output()
        .expect("it runs");
    assert_eq!(out.status.code(), Some(1));
    let said = String::from_utf8_lossy(&out.stderr);
    assert!(
        said.contains("fairing.sides") && said.contains("starboard was not measured"),
        "{said}"
    );
}

#[test]
fn pictures_and_tables_are_written_and_a_folder_of_another_kind_is_left_alone() {
    let job = exact_job("slope = 0.05", "", "", "");
    let shop = Shop::new(&[("job.toml", &job), ("edge.csv", &edge(|_, _| 0.0))]);
    let out = shop.path().join("told");
    let run = || {
        command()
            .arg("fair")
            .arg(shop.path().join("job.toml"))
            .arg("--out")
            .arg(&out)
            .output()
            .expect("it runs")
            .status
            .code()
    };
    assert_eq!(run(), Some(0));
    for name in [
        "fairness.txt",
        "fairness.json",
        "moves.csv",
        "faired-edge.csv",
        "plan-and-profile.svg",
        "sighting.svg",
    ] {
        assert!(out.join(name).is_file(), "{name}");
    }
    let before = fs::read(out.join("sighting.svg")).expect("there");
    assert_eq!(run(), Some(0));
    assert_eq!(fs::read(out.join("sighting.svg")).expect("there"), before);
    fs::remove_file(out.join("manifest.sha256")).expect("removed");
    assert_eq!(run(), Some(1));
}

#[test]
fn a_job_without_sheets_is_faired_and_printed_and_not_cut() {
    let job = job("[paper]\nsize = \"36 in roll\"\n");
    let (from, to) = (job.find("[[sheet]]"), job.find("[cutting]"));
    let (from, to) = (from.expect("sheets"), to.expect("cutting"));
    let bare = job[..from].to_owned() + &job[to..];
    let shop = Shop::new(&[("job.toml", &bare), ("edge.csv", &edge(|_, _| 0.0))]);
    let run = |verb: &str| {
        let out = shop.path().join(verb);
        let mut command = command();
        command.arg(verb).arg(shop.path().join("job.toml"));
        command.arg("--out").arg(out).assert()
    };
    run("fair").success();
    // Pieces as long as their run, the closing one as any.
    run("pattern").success();
    assert!(shop.path().join("pattern/B1.pdf").is_file());
    assert!(!shop.path().join("pattern/B3.pdf").exists());
    for verb in ["build", "estimate"] {
        let refused = run(verb).failure();
        let told = String::from_utf8_lossy(&refused.get_output().stderr).into_owned();
        let what = "base.thickness: no [[sheet]] of 5086-H116, 12.7 mm thick, is listed";
        assert!(told.contains(what), "{told}");
        assert!(!shop.path().join(verb).exists());
    }
}
