//! What the command says: which thing is wrong and how it is written, in the
//! job's units, and the manual.

use std::fs;

use planksheer::length::{INCH, parse};

use super::cutting::{edge, job};
use super::shop::{Built, Shop, command};

/// What standard error says of a job that is refused by these arguments.
fn refused(shop: &Shop, args: &[&str]) -> String {
    let done = command()
        .args(args)
        .current_dir(shop.path())
        .assert()
        .code(1);
    String::from_utf8(done.get_output().stderr.clone()).expect("text")
}

fn feet(text: &str) -> String {
    text.replace("[survey]", "show = \"feet-inches\"\n[survey]")
}

#[test]
fn a_place_beyond_the_boat_is_named_with_the_boats_range() {
    let job = feet(&job("4 m", "2 m", ""))
        + "[[doubler]]\nname = \"chain plate\"\nat = { side = \"port\", station = \"14-6-0\" }\nlength = \"300 mm\"\nwidth = \"80 mm\"\n[[keep_clear]]\nname = \"port\"\nat = { side = \"port\", along = \"14-6-0\" }\nlength = \"1 ft\"\n";
    let shop = Shop::new(&[("job.toml", &job), ("edge.csv", &edge(false))]);
    let said = refused(&shop, &["build", "job.toml", "--out", "out", "--quick"]);
    assert!(
        said.contains("doubler `chain plate` at port, station 14 ft 6 in lies off"),
        "{said}"
    );
    // The edge runs from 0 to 3000 mm.
    assert!(
        said.contains("from station 0 in to station 9 ft 10 1/8 in"),
        "{said}"
    );
}

#[test]
fn a_missing_survey_file_is_told_before_a_verdict_on_it() {
    let verdict =
        "[[survey.verdict]]\nfile = \"edge.csv\"\npoint = \"x 0.000000\"\ndo = \"accept\"\n";
    let job = job("4 m", "2 m", "").replace("edge.csv", "egde.csv") + verdict;
    let shop = Shop::new(&[("job.toml", &job), ("edge.csv", &edge(false))]);
    let said = refused(&shop, &["fair", "job.toml"]);
    assert!(
        said.contains("egde.csv: the survey file cannot be read"),
        "{said}"
    );
    assert!(!said.contains("verdict"), "{said}");
    // The line of the job that asks for it.
    let line = job
        .lines()
        .position(|l| l.contains("egde.csv"))
        .expect("a line")
        + 1;
    assert!(said.contains(&format!("job.toml:{line}:")), "{said}");
}

/// With a job that has faults of its own: the files first, all in one run.
#[test]
fn missing_files_are_told_before_what_else_is_wrong() {
    let verdict = "[[survey.verdict]]\npoint = \"x 0.000000\"\nfigure = \"depth\"\ndo = \"keep\"\n";
    let remnant = "[[sheet]]\nremnant = \"piece.dxf\"\n";
    let job = job("4 m", "2 m", "").replace("edge.csv", "egde.csv") + verdict + remnant;
    let shop = Shop::new(&[("job.toml", &job)]);
    let said = refused(&shop, &["fair", "job.toml"]);
    let at = |words: &str| {
        said.find(words)
            .unwrap_or_else(|| panic!("{words}: {said}"))
    };
    let file = at("egde.csv: the survey file cannot be read");
    let piece = at("piece.dxf: the drawing of the remnant cannot be read");
    assert!(file < at("\"keep\"") && piece < at("\"depth\""), "{said}");
    assert!(said.contains("4 problems"), "{said}");
    // A file that is there, and read amiss for what is wrong in the job, is not told.
    fs::write(shop.path().join("egde.csv"), b"\xFF\xFE").expect("written");
    let said = refused(&shop, &["fair", "job.toml"]);
    assert!(
        !said.contains("egde.csv") && said.contains("3 problems"),
        "{said}"
    );
}

#[test]
fn only_what_writes_says_that_nothing_was_written() {
    let job = job("4 m", "2 m", "")
        .replace("\"180 mm\"", "\"180\"")
        .replace("\"130 mm\"", "\"130\"");
    let edge = edge(false);
    let shop = Shop::new(&[("job.toml", &job), ("edge.csv", &edge), ("tacked.csv", "")]);
    let check = ["check", "job.toml", "--tacked", "tacked.csv"];
    for (args, writes) in [
        (&check[..], false),
        (&["fair", "job.toml"], false),
        (&["build", "job.toml", "--out", "out"], true),
    ] {
        let said = refused(&shop, args);
        assert!(said.contains("2 problems"), "{said}");
        assert_eq!(said.contains("nothing was written"), writes, "{said}");
    }
}

/// Figures out of range, in a table and in the job, of a job in feet.
#[test]
fn a_job_in_feet_hears_its_faults_in_feet() {
    let high = edge(false)
        .replace("side,slope\n", "side,slope,bulwark_height\n")
        .replace(",port,0\n", ",port,0,4000\n");
    let text = feet(&job("4 m", "2 m", ""));
    let shop = Shop::new(&[("job.toml", &text), ("edge.csv", &high)]);
    let said = refused(&shop, &["fair", "job.toml"]);
    assert!(
        said.contains("13 ft 1 1/2 in (4000 mm)") && said.contains("to 9 ft 10 1/16 in (3000 mm)"),
        "{said}"
    );
    let low = text.replace("height = \"800 mm\"", "height = \"1 in\"");
    let shop = Shop::new(&[("job.toml", &low), ("edge.csv", &edge(false))]);
    let said = refused(&shop, &["fair", "job.toml"]);
    assert!(
        said.contains("from 3 15/16 in (100 mm) to 9 ft 10 1/16 in (3000 mm)"),
        "{said}"
    );
}

/// Every list for people: under a unit of feet-inch jobs stand plain numbers, which
/// a spreadsheet adds up, and the words for a tape beside one say the same.
fn lists_add_up(built: &Built) {
    let mut taped = 0;
    for name in [
        "bend-checks",
        "cutting-order",
        "expected-fit",
        "fasteners",
        "fit",
        "joints",
        "measure-again",
        "ordinates",
        "parts",
        "stanchions",
    ] {
        let text = built.text(&format!("lists/{name}.csv"));
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let heads = reader.headers().expect("headings").clone();
        for row in reader.records() {
            let row = row.expect("a row");
            let mut before = f64::NAN;
            for (head, cell) in heads.iter().zip(&row) {
                assert!(!head.ends_with("_mm"), "{name}: {head}");
                if head.ends_with("_ft_in") {
                    let off = parse(cell).expect("a length") - before * INCH;
                    assert!(off.abs() < INCH / 32.0 + 0.02, "{name}: {cell}");
                    taped += 1;
                } else if ["in", "ft2", "lb", "deg", "percent"]
                    .iter()
                    .any(|unit| head.ends_with(&format!("_{unit}")))
                    && !cell.is_empty()
                {
                    before = cell.parse().expect(head);
                }
            }
        }
    }
    assert!(taped > 30, "{taped}");
}

#[test]
fn what_a_built_job_says_is_plain_and_in_its_units() {
    let verdict = "[[survey.verdict]]\npoint = \"1500\"\nfigure = \"Z\"\ndo = \"accept\"\n";
    let text = feet(&job("4 m", "2 m", "")).replace("closed form", "Bj\u{f8}rn \u{c5}s") + verdict;
    let r12 = text.replace("[output]\n", "[output]\ndxf = \"R12\"\n");
    let built = Shop::new(&[("job.toml", &r12), ("edge.csv", &edge(false))]).build(&[]);
    assert!(built.text("parts/B1.dxf").is_ascii());
    assert!(built.text("sheets/sheet-1.dxf").contains("Bjorn As"));
    let warnings = built.summary["warnings"].to_string();
    assert!(
        warnings.contains("`Bj\u{f8}rn \u{c5}s` is written `Bjorn As`"),
        "{warnings}"
    );
    // What the job accepted is settled: a note, no warning.
    let notes = built.summary["notes"].to_string();
    assert!(
        notes.contains("accept") && !warnings.contains("accept"),
        "{notes} {warnings}"
    );
    assert!(built.text("yield.txt").contains("\nNOTES\n"));
    let ordinates = built.text("lists/ordinates.csv");
    let second = ordinates.lines().nth(2).expect("a second ordinate");
    assert!(second.starts_with("B1,12.000,1 ft,"), "{ordinates}");
    lists_add_up(&built);
    let order = built.text("lists/cutting-order.csv");
    assert!(
        order.contains("pierce_x_in,pierce_y_in,cut_length_in"),
        "{order}"
    );
    // Nothing is said where nothing was changed.
    let plain = text.replace("Bj\u{f8}rn \u{c5}s", "Bjorn As");
    let built = Shop::new(&[("job.toml", &plain), ("edge.csv", &edge(false))]).build(&[]);
    let warnings = built.summary["warnings"].to_string();
    assert!(!warnings.contains("plain letters"), "{warnings}");
}

#[test]
fn every_verb_has_a_manual_page_with_examples_and_files() {
    let page = |args: &[&str]| {
        let done = command().arg("manual").args(args).assert().success();
        String::from_utf8(done.get_output().stdout.clone()).expect("text")
    };
    let build = page(&["build"]);
    for word in [
        ".TH planksheer\\-build 1",
        "planksheer build",
        ".SH EXAMPLES",
        ".SH FILES",
        "\\-\\-effort",
        "planksheer\\-fair(1)",
    ] {
        let plain = word.replace("\\-", "-");
        assert!(
            build.contains(word) || build.contains(&plain),
            "no {word}:\n{build}"
        );
    }
    assert!(!build.contains("tacked"), "{build}");
    // Every option with its values, as it is typed.
    let plain = build.replace('\\', "");
    for typed in [
        " --out DIR [",
        "[--effort quick|normal|long]",
        "[--threads N]",
        "[--quick]",
    ] {
        assert!(plain.contains(typed), "no {typed}:\n{plain}");
    }
    let top = tempfile::tempdir().expect("a temporary folder");
    let dir = top.path().join("man1");
    command()
        .args(["manual", "--out"])
        .arg(&dir)
        .assert()
        .success();
    assert_eq!(fs::read_dir(&dir).expect("listed").count(), 9);
    assert_eq!(
        fs::read_to_string(dir.join("planksheer-build.1")).expect("there"),
        build
    );
    let shop = Shop::new(&[]);
    assert!(refused(&shop, &["manual", "plane"]).contains("the verbs are build, estimate"));
}

/// What was typed in place of a number, and what is told to be written.
#[test]
fn numbers_that_are_no_toml_are_told_as_numbers() {
    for (typed, told) in [
        ("5 deg", "write lean_deg = 5, without a unit"),
        ("5°", "write lean_deg = 5, without a unit"),
        (".5", "write lean_deg = 0.5, without a unit"),
        ("05", "write lean_deg = 5, without a unit"),
        ("5\nlean_deg = 6", "duplicate key"),
    ] {
        let with = format!("[bulwark]\nlean_deg = {typed}");
        let text = job("4 m", "2 m", "").replacen("[bulwark]", &with, 1);
        let shop = Shop::new(&[("job.toml", &text)]);
        let said = refused(&shop, &["build", "job.toml", "--out", "out"]);
        assert!(said.contains(told), "{typed}: {said}");
    }
}
