//! Bad input through the command: a clear error with its place on standard
//! error, exit 1, earlier output untouched, and never a panic.

use std::fs;
use std::path::{Path, PathBuf};

use planksheer::cli::folder::Out;

use super::shapes::exact_job;
use super::shop::{Shop, command};
use crate::broken::{cases, fixtures, folder};

/// A file of an earlier output.
const EARLIER: &str = "{\n  \"schema\": \"planksheer-summary/1\"\n}";

/// A folder that is an earlier output.
fn earlier(at: &Path) -> PathBuf {
    let out = at.join("out");
    let files = [("summary.json", EARLIER), ("parts/B1.dxf", "earlier part")]
        .map(|(name, text)| (name.to_owned(), text.as_bytes().to_vec()));
    Out::open(&out, "build", &[], false)
        .and_then(|place| place.write(&files.into()))
        .expect("written");
    out
}

/// Builds, expects exit 1, and returns what standard error says.
fn refused(job: &Path, out: &Path) -> String {
    let done = command()
        .arg("build")
        .arg(job)
        .arg("--out")
        .arg(out)
        .arg("--quick")
        .assert()
        .code(1);
    let said = String::from_utf8(done.get_output().stderr.clone()).expect("text");
    assert!(!said.contains("panicked"), "{said}");
    assert!(said.contains("mend:"), "no way to mend it: {said}");
    said
}

fn untouched(out: &Path) {
    assert_eq!(
        fs::read_to_string(out.join("summary.json")).expect("there"),
        EARLIER
    );
    assert_eq!(
        fs::read_to_string(out.join("parts/B1.dxf")).expect("there"),
        "earlier part"
    );
    let beside = out.parent().expect("a parent");
    let hidden = fs::read_dir(beside)
        .expect("listed")
        .filter(|e| {
            let name = e.as_ref().expect("an entry").file_name();
            name.to_string_lossy().starts_with(".out")
        })
        .count();
    assert_eq!(hidden, 0, "nothing half made is left");
}

/// Every broken input of the fixtures, from its own folder.
#[test]
fn broken_inputs_are_told_word_for_word_and_leave_earlier_output_whole() {
    let top = tempfile::tempdir().expect("a temporary folder");
    let out = earlier(top.path());
    let mut wrong = Vec::new();
    for (name, case) in cases() {
        let shop = Shop::of(&case.files().expect("a change that can be made"));
        let done = command()
            .current_dir(shop.path())
            .args(["build", "job.toml", "--quick", "--out"])
            .arg(&out)
            .assert()
            .code(1);
        let said = String::from_utf8_lossy(&done.get_output().stderr);
        if said.trim_end_matches('\n') != case.says {
            wrong.push(format!("[{name}] says\n{said}"));
        }
        untouched(&out);
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_remnant_without_its_drawing_is_refused() {
    let mut files = folder("remnant");
    files.remove("piece.dxf");
    let shop = Shop::of(&files);
    let out = earlier(shop.path());
    let said = refused(&shop.path().join("job.toml"), &out);
    let said = said.replace('\\', "/");
    assert!(
        said.contains("/piece.dxf: the drawing of the remnant cannot be read"),
        "{said}"
    );
    untouched(&out);
}

/// An arc in plan of a radius, level, on port.
fn arc(radius: f64, turn: f64) -> String {
    let mut csv = String::from("x,y,z,side,slope\n");
    for i in 0..25 {
        let f = f64::from(i) / 24.0 - 0.5;
        let a = std::f64::consts::FRAC_PI_2 + turn * f;
        let (x, y) = (radius * libm::cos(a), radius * libm::sin(a) + 500.0);
        csv.push_str(&format!("{x:.6},{y:.6},700,port,0\n"));
    }
    csv
}

/// One change to a sound job, and what its refusal must say.
#[test]
fn what_cannot_be_built_is_refused_with_its_place() {
    let sound = exact_job("", "", "slope = \"level\"", "");
    let cases: [(&str, String, String, &[&str]); 8] = [
        (
            "inside radius",
            sound.clone(),
            arc(190.0, 2.0),
            &[": base.width", "port", "radius", "12.7 mm"],
        ),
        (
            "athwart slope where the edge has turned",
            sound.clone(),
            arc(3000.0, 2.4).replace("slope", "slope_athwart"),
            &["edge.csv:2", "athwartships", "has turned"],
        ),
        (
            "sheet smaller than a part",
            sound.replace(
                "length = \"12 m\"\nwidth = \"12 m\"",
                "length = \"300 mm\"\nwidth = \"170 mm\"",
            ),
            arc(6000.0, 1.0),
            &["job.toml", "sheet"],
        ),
        (
            "cap too narrow",
            sound.replace("cap_width = \"200 mm\"", "cap_width = \"150 mm\""),
            arc(6000.0, 1.0),
            &["job.toml", "cap", "150"],
        ),
        (
            "no sheet of the plate's thickness",
            sound.replace(
                "length = \"12 m\"\nwidth = \"12 m\"\nthickness = \"12.7 mm\"",
                "length = \"12 m\"\nwidth = \"12 m\"\nthickness = \"10 mm\"",
            ),
            arc(6000.0, 1.0),
            &["job.toml", "sheet"],
        ),
        (
            "one point",
            sound.clone(),
            "x,y,z,side,slope\n100,200,300,port,0\n".to_owned(),
            &["edge.csv"],
        ),
        (
            "no stock left",
            sound.replace(
                "name = \"test sheet\"\nlength = \"12 m\"\nwidth = \"12 m\"",
                "name = \"test sheet\"\nquantity = 1\nlength = \"3 m\"\nwidth = \"0.4 m\"",
            ),
            arc(6000.0, 1.4),
            &["job.toml"],
        ),
        (
            "a doubler off the edge",
            sound.clone()
                + "[[doubler]]\nname = \"x\"\nat = { side = \"port\", station = \"90 m\" }\nlength = \"300 mm\"\nwidth = \"80 mm\"\nthickness = \"12.7 mm\"\nalloy = \"5086-H116\"\n",
            arc(6000.0, 1.0),
            &["job.toml", "doubler[1].at", "off the surveyed edge"],
        ),
    ];
    for (what, job, csv, says) in cases {
        let shop = Shop::new(&[("job.toml", &job), ("edge.csv", &csv)]);
        let out = earlier(shop.path());
        let said = refused(&shop.path().join("job.toml"), &out);
        for word in says {
            assert!(said.contains(word), "{what} does not say `{word}`: {said}");
        }
        untouched(&out);
    }
}

#[test]
fn files_and_folders_that_cannot_be_used_are_named() {
    let job = exact_job("", "", "slope = \"level\"", "");
    let shop = Shop::new(&[("job.toml", &job)]);
    let out = earlier(shop.path());
    // No such job, no such survey, a survey that is not text.
    assert!(refused(&shop.path().join("none.toml"), &out).contains("none.toml"));
    assert!(refused(&shop.path().join("job.toml"), &out).contains("edge.csv"));
    fs::write(shop.path().join("edge.csv"), b"x,y,z\n1,2,\xff\n").expect("written");
    let said = refused(&shop.path().join("job.toml"), &out);
    assert!(
        said.contains("edge.csv:2") && said.contains("UTF-8"),
        "{said}"
    );
    untouched(&out);
    // A file where a folder should be, or above it; a folder of something else.
    fs::write(shop.path().join("edge.csv"), arc(6000.0, 1.0)).expect("written");
    let job = shop.path().join("job.toml");
    assert!(refused(&job, &shop.path().join("edge.csv")).contains("edge.csv"));
    assert!(refused(&job, &shop.path().join("edge.csv/out")).contains("--out"));
    let other = shop.path().join("other");
    fs::create_dir(&other).expect("made");
    fs::write(other.join("letters.txt"), "mine").expect("written");
    // A file of the name that an output holds is not enough.
    for mark in [None, Some("summary.json"), Some("manifest.sha256")] {
        if let Some(name) = mark {
            fs::write(other.join(name), EARLIER).expect("written");
        }
        assert!(refused(&job, &other).contains("not an earlier output"));
        assert_eq!(
            fs::read_to_string(other.join("letters.txt")).expect("there"),
            "mine"
        );
    }
}

#[test]
fn wrong_usage_exits_with_2() {
    command().assert().code(2);
    command().args(["build", "x.toml"]).assert().code(2);
    command()
        .args([
            "build", "x.toml", "--out", "o", "--quick", "--effort", "long",
        ])
        .assert()
        .code(2);
    command().args(["plane", "x.toml"]).assert().code(2);
}

/// A table whose lines end as on old machines reads as any other.
#[test]
fn lines_that_end_in_a_carriage_return_are_lines() {
    let edge = super::cutting::edge(false);
    let job = super::cutting::job("4 m", "2 m", "");
    let of = |edge: &str| {
        let shop = Shop::new(&[("job.toml", &job), ("edge.csv", edge)]);
        shop.build(&[]).text("faired-edge.csv")
    };
    let plain = of(&edge);
    assert_eq!(of(&edge.replace('\n', "\r")), plain);
    assert_eq!(of(&edge.replace('\n', "\r\n")), plain);
}

/// Where a path of the command line leads nowhere, the job is not to blame.
#[test]
fn a_missing_file_is_looked_for_where_it_was_named() {
    let job = fixtures().join("good/job.toml");
    let tacked = command()
        .args(["check", "--tacked", "nowhere.csv"])
        .arg(&job)
        .assert()
        .code(1);
    let said = String::from_utf8(tacked.get_output().stderr.clone()).expect("text");
    assert!(said.contains("from where the command is run"), "{said}");
    let shop = Shop::new(&[("job.toml", &super::cutting::job("4 m", "2 m", ""))]);
    let out = shop.path().join("out");
    let said = refused(&shop.path().join("job.toml"), &out);
    assert!(said.contains("relative to the job file"), "{said}");
}

/// Files below a folder with their bytes.
fn written(at: &Path, out: &mut Vec<(PathBuf, Vec<u8>)>) {
    let mut entries: Vec<PathBuf> = fs::read_dir(at)
        .expect("listed")
        .map(|e| e.expect("an entry").path())
        .collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            written(&path, out);
        } else {
            let bytes = fs::read(&path).expect("read");
            out.push((path, bytes));
        }
    }
}

/// The good fixture with a figure that is doubted, so that files are named.
fn doubted(at: &Path) {
    fs::create_dir_all(at).expect("made");
    for (name, text) in folder("good") {
        let text = text.replace("6500, 1518.3", "6500, 1558.3");
        fs::write(at.join(name), text).expect("written");
    }
}

/// The same job gives the same bytes from wherever it is named.
#[test]
fn no_output_holds_the_path_as_it_was_typed() {
    let top = tempfile::tempdir().expect("a temporary folder");
    let at = top.path().join("yard");
    doubted(&at);
    let mut outputs = Vec::new();
    let spellings = [
        (at.clone(), PathBuf::from("job.toml")),
        (at.clone(), PathBuf::from("./job.toml")),
        (top.path().to_path_buf(), at.join("job.toml")),
        (
            top.path().to_path_buf(),
            PathBuf::from("yard/../yard/job.toml"),
        ),
    ];
    for (from, job) in spellings {
        let out = top.path().join("out");
        let run = |args: &[&str]| {
            let mut it = command();
            it.current_dir(&from).args(args).arg(&job);
            it
        };
        run(&["build", "--quick"])
            .arg("--out")
            .arg(&out)
            .assert()
            .success();
        let mut files = Vec::new();
        written(&out, &mut files);
        let told = run(&["fair", "--json"]).assert().success();
        let text = told.get_output().stdout.clone();
        assert!(
            String::from_utf8_lossy(&text).contains("\"port.csv\""),
            "no file is named"
        );
        files.push((PathBuf::from("fair"), text));
        outputs.push(files);
    }
    assert!(outputs[0].len() > 10);
    for other in &outputs[1..] {
        assert!(outputs[0] == *other, "a spelling shows in an output");
    }
}

/// Where a problem lies is told as a shell finds the file.
#[test]
fn a_fault_names_its_file_from_where_the_command_is_run() {
    let top = tempfile::tempdir().expect("a temporary folder");
    doubted(&top.path().join("yard"));
    fs::write(top.path().join("yard/stern.csv"), "x,y,z,side\n1,2\n").expect("written");
    let done = command()
        .current_dir(top.path())
        .args(["fair", "yard/job.toml"])
        .assert()
        .code(1);
    let said = String::from_utf8(done.get_output().stderr.clone()).expect("text");
    assert!(said.contains("yard/stern.csv:2"), "{said}");
}

/// A name as long as a format's greatest width, in the job and in a table.
#[test]
fn names_without_end_are_refused() {
    let job = super::cutting::job("4 m", "2 m", "");
    let long = "n".repeat(65_536);
    let first = job.lines().find(|l| l.starts_with("name")).expect("a name");
    let named = job.replacen(first, &format!("name = \"{long}\""), 1);
    let shop = Shop::new(&[("job.toml", &named), ("edge.csv", "x,y,z,side\n")]);
    let said = refused(&shop.path().join("job.toml"), &shop.path().join("out"));
    assert!(said.contains("name: `name` has 65536 letters"), "{said}");
    let edge = format!("x,y,z,side,name\n1,2,3,port,{long}\n");
    let shop = Shop::new(&[("job.toml", &job), ("edge.csv", &edge)]);
    let said = refused(&shop.path().join("job.toml"), &shop.path().join("out"));
    assert!(said.contains("edge.csv:2:92: the cell has 65536"), "{said}");
}

/// A point named like a formula is text to a spreadsheet; figures stay figures.
#[test]
fn a_name_is_no_formula_in_a_table() {
    let edge = super::cutting::edge(false);
    let named: String = edge
        .lines()
        .enumerate()
        .map(|(i, l)| {
            let last = if i == 0 { "name" } else { "=1+1" };
            format!("{l},{last}\n")
        })
        .collect();
    let job = super::cutting::job("4 m", "2 m", "");
    let built = Shop::new(&[("job.toml", &job), ("edge.csv", &named)]).build(&[]);
    let mut found = 0;
    for (name, bytes) in built.files() {
        let text = String::from_utf8_lossy(&bytes);
        if name.ends_with(".csv") {
            for cell in text.lines().flat_map(|l| l.split(',')) {
                assert!(!cell.starts_with('='), "{name}: {cell}");
                found += usize::from(cell == "'=1+1");
            }
        }
    }
    assert!(found > 0, "the name is in no table");
}
