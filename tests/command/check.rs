//! The check of the tacked line through the command, on the demo hull: tables
//! made from its own list of stanchions, exit statuses, and what is said.

use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;

use super::shop::command;

struct Demo {
    top: tempfile::TempDir,
    /// Name, and the upper outboard edge of the top plate at it, mm.
    stanchions: Vec<(String, [f64; 3])>,
}

fn job() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-hull/job.toml")
}

impl Demo {
    /// The head of each stanchion's outboard face lies on the lower face of a level
    /// plate 1/2 in thick.
    fn new() -> Self {
        let top = tempfile::tempdir().expect("a temporary folder");
        let out = top.path().join("out");
        command()
            .arg("build")
            .arg(job())
            .arg("--out")
            .arg(&out)
            .arg("--quick")
            .assert()
            .success();
        let text = fs::read_to_string(out.join("lists/stanchions.csv")).expect("the list");
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let heads = reader.headers().expect("a header").clone();
        let column = |name: &str| heads.iter().position(|h| h == name).expect("a column");
        let at = ["head_x_mm", "head_y_mm", "head_z_mm"].map(column);
        let stanchions = reader
            .records()
            .map(|r| {
                let r = r.expect("a row");
                let [x, y, z] = at.map(|c| r[c].parse::<f64>().expect("a number"));
                (r[column("stanchion")].to_owned(), [x, y, z + 12.7])
            })
            .collect();
        Self { top, stanchions }
    }

    /// A survey of the line with some stanchions off it: outboard and up, mm.
    fn survey(&self, file: &str, off: &[(&str, f64, f64)], up: f64) -> PathBuf {
        let mut text = "# invented\nstanchion,x,y,z\n".to_owned();
        for (i, (name, [x, y, z])) in self.stanchions.iter().enumerate() {
            let planted = off.iter().find(|o| o.0 == name);
            let (out, more) = planted.map_or((0.0, 0.0), |o| (o.1, o.2));
            // A tape's reading, within 1 mm, by a fixed rule.
            let rough = [0.0, 0.9, -0.7, 0.4, -1.0, 0.6][i * 5 % 6];
            let y = y + (out + rough) * y.signum();
            writeln!(text, "{name},{x:.1},{y:.1},{:.1}", z + up + more - rough).expect("text");
        }
        let path = self.top.path().join(file);
        fs::write(&path, text).expect("written");
        path
    }
}

/// Runs the check; what it prints.
fn check(code: i32, args: &[&Path], json: bool) -> (String, String) {
    let mut run = command();
    run.arg("check").arg(job());
    for (flag, path) in ["--tacked", "--welded"].iter().zip(args) {
        run.arg(flag).arg(path);
    }
    if json {
        run.arg("--json");
    }
    let done = run.assert().code(code);
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).expect("text");
    let output = done.get_output();
    (text(&output.stdout), text(&output.stderr))
}

#[test]
fn the_demo_hull_tacked_up() {
    let demo = Demo::new();
    assert!(demo.stanchions.len() > 40);
    let fair = demo.survey("fair.csv", &[], 4.0);
    let (said, _) = check(0, &[&fair], false);
    assert!(
        said.contains("AS TACKED: FAIR") && said.contains("Break the tack"),
        "{said}"
    );

    let off = demo.survey("off.csv", &[("7P", 0.0, -7.0), ("12S", 7.0, 0.0)], 0.0);
    let (said, _) = check(3, &[&off], false);
    assert!(said.contains("AS TACKED: NOT FAIR"), "{said}");
    let (json, _) = check(3, &[&off], true);
    let json: Value = serde_json::from_str(&json).expect("JSON");
    assert_eq!(json["schema"], "planksheer-check/1");
    assert_eq!(json["fair"], false);
    let moves = json["tacked"]["moves"].as_array().expect("moves");
    let named: Vec<&str> = moves
        .iter()
        .map(|m| m["stanchion"].as_str().expect("a name"))
        .collect();
    assert_eq!(named, ["7P", "12S"]);
    let by = |i: usize, key: &str| moves[i][key].as_f64().expect("a number");
    assert!(by(0, "up_mm") > 4.0 && by(1, "out_mm") < -4.0);
    assert!(by(0, "out_mm").abs() < 1e-9 && by(1, "up_mm").abs() < 1e-9);
    assert!(said.contains("stanchion 7P: up "), "{said}");
    assert!(said.contains("stanchion 12S: in "), "{said}");
    // Moved as told, the line is fair.
    let back = [
        ("7P", 0.0, by(0, "up_mm") - 7.0),
        ("12S", 7.0 + by(1, "out_mm"), 0.0),
    ];
    check(0, &[&demo.survey("moved.csv", &back, 0.0)], false);

    // Welded fair from an unfair tacked line: the last survey counts.
    let welded = demo.survey("welded.csv", &[("7P", 0.0, -2.0)], -2.0);
    let (json, _) = check(0, &[&off, &welded], true);
    let json: Value = serde_json::from_str(&json).expect("JSON");
    assert_eq!(
        (&json["fair"], &json["tacked"]["fair"]),
        (&Value::Bool(true), &Value::Bool(false))
    );
    assert_eq!(json["largest_pull"]["stanchion"], "12S");
    let pull = |key: &str| json["largest_pull"][key].as_f64().expect("a number");
    assert!((pull("out_mm") + 7.0).abs() < 0.2 && (pull("up_mm") + 2.0).abs() < 0.5);
    let (said, _) = check(3, &[&fair, &off], false);
    assert!(said.contains("PULL OF THE WELDS"), "{said}");
}

#[test]
fn a_table_that_cannot_be_read_exits_with_1() {
    let top = tempfile::tempdir().expect("a temporary folder");
    let path = top.path().join("tacked.csv");
    let (_, said) = check(1, &[&path], false);
    assert!(
        said.contains("tacked.csv") && said.contains("mend:"),
        "{said}"
    );
    fs::write(&path, "stanchion,out,up\n99P,1,1\n5P,one,1\n").expect("written");
    let (out, said) = check(1, &[&path], false);
    assert!(out.is_empty());
    assert!(
        said.contains("tacked.csv:2:1") && said.contains("tacked.csv:3:4"),
        "{said}"
    );
    assert!(said.contains("2 problems"), "{said}");
    // Usage: a line to check is needed.
    command().arg("check").arg(job()).assert().code(2);
}
