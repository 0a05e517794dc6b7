//! `planksheer pattern` from job to pages.

use std::fs;
use std::path::Path;

use super::shop::{Shop, command};
use crate::broken::folder;

/// Runs the verb on the sound job of the fixtures; what it says on standard
/// output or, where it fails, on standard error.
fn run(shop: &Shop, more: &[&str]) -> Result<String, String> {
    let done = command()
        .arg("pattern")
        .arg(shop.path().join("job.toml"))
        .arg("--out")
        .arg(shop.path().join("out"))
        .args(more)
        .output()
        .expect("it runs");
    let text = |bytes| String::from_utf8(bytes).expect("text");
    if done.status.success() {
        Ok(text(done.stdout))
    } else {
        Err(text(done.stderr))
    }
}

fn written(shop: &Shop) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(shop.path().join("out"))
        .expect("an output")
        .map(|e| {
            e.expect("an entry")
                .file_name()
                .into_string()
                .expect("text")
        })
        .collect();
    names.sort();
    names
}

fn is_pdf(path: &Path) -> bool {
    let bytes = fs::read(path).expect("a file");
    bytes.starts_with(b"%PDF-1.7") && bytes.trim_ascii_end().ends_with(b"%%EOF")
}

#[test]
fn a_part_a_kind_all_in_one_and_the_test_page_are_written() {
    let shop = Shop::of(&folder("good"));
    let told = run(&shop, &["--part", "B2"]).expect("it is made");
    assert_eq!(written(&shop), ["B2.pdf", "manifest.sha256"]);
    assert!(told.contains("B2.pdf: "), "{told}");
    assert!(is_pdf(&shop.path().join("out/B2.pdf")));
    run(&shop, &["--kind", "top", "--paper", "A0"]).expect("it is made");
    let names = written(&shop);
    assert!(
        names
            .iter()
            .filter(|n| n.ends_with(".pdf"))
            .all(|n| n.starts_with('T')),
        "{names:?}"
    );
    run(
        &shop,
        &["--one-file", "--part", "B1", "--part", "T1", "--other-face"],
    )
    .expect("it is made");
    assert_eq!(written(&shop), ["manifest.sha256", "patterns.pdf"]);
    run(&shop, &["--test-page", "--paper", "Tabloid"]).expect("it is made");
    assert_eq!(written(&shop), ["manifest.sha256", "test-page.pdf"]);
}

#[test]
fn the_jobs_own_paper_holds_and_an_option_wins() {
    let mut files = folder("good");
    let job = files.get_mut("job.toml").expect("a job");
    job.push_str("\n[paper]\nsize = \"24 in roll\"\nmargin = \"5 mm\"\noverlap = \"12 mm\"\n");
    let shop = Shop::of(&files);
    let told = run(&shop, &["--part", "B1"]).expect("it is made");
    assert!(told.contains("on 24 in roll"), "{told}");
    let told = run(&shop, &["--part", "B1", "--paper", "Legal"]).expect("it is made");
    assert!(told.contains("on Legal"), "{told}");
}

#[test]
fn what_cannot_be_printed_is_refused_and_nothing_is_written() {
    let shop = Shop::of(&folder("good"));
    for (more, says) in [
        (&["--paper", "A44"][..], "there is no paper \"A44\""),
        (&["--paper", "45 mm roll"], "the roll is 45 mm wide"),
        (&["--margin", "104 mm"], "leaves 2 mm to print on"),
        (&["--overlap", "96 mm"], "the overlap is 96 mm"),
        (&["--overlap", "10"], "--overlap"),
        (&["--print-scale", "1.2,1"], "1.2 is not from 0.9 to 1.1"),
        (&["--print-scale", "nan,1"], "is not from 0.9 to 1.1"),
        (&["--print-scale", "1.01"], "`1.01` is no pair of numbers"),
        (&["--paper", "36 in"], "did you mean \"36 in roll\"?"),
        (&["--part", "B22"], "did you mean B2?"),
        (
            &["--part", "B1,B2"],
            "name each on its own: --part B1 --part B2",
        ),
        (&["--part", "B1,B22"], "did you mean B"),
        (&["--part", ""], "leave --part out"),
    ] {
        let told = run(&shop, more).expect_err("refused");
        assert!(told.contains(says), "{more:?}: {told}");
        assert!(told.contains("mend"), "{told}");
        assert!(!shop.path().join("out").exists());
    }
}

#[test]
fn the_cap_is_printed_where_it_is_asked_for() {
    let shop = Shop::of(&folder("good"));
    run(&shop, &["--kind", "cap", "--paper", "A0"]).expect("it is made");
    let names = written(&shop);
    let pdfs: Vec<&String> = names.iter().filter(|n| n.ends_with(".pdf")).collect();
    assert!(
        pdfs.len() > 2 && pdfs.iter().all(|n| n.starts_with("CAP-")),
        "{names:?}"
    );
    run(&shop, &["--part", "CAP 1S", "--paper", "A0"]).expect("it is made");
    assert_eq!(written(&shop), ["CAP-1S.pdf", "manifest.sha256"]);
    let told = run(&shop, &["--part", "CAP 99"]).expect_err("refused");
    assert!(told.contains("there is no part `CAP 99`"), "{told}");
}

#[test]
fn a_cap_that_is_not_there_or_cannot_be_made_is_refused() {
    for (more, says) in [
        ("cap_thickness = \"0 mm\"", "the job has no wood cap"),
        (
            "[cap]\nwidest_piece = \"204 mm\"",
            "the cap cannot be made of boards",
        ),
    ] {
        let mut files = folder("good");
        let job = files.get_mut("job.toml").expect("a job");
        *job = job.replace(
            "cap_width = \"8 in\"",
            &format!("cap_width = \"8 in\"\n{more}"),
        );
        let shop = Shop::of(&files);
        let told = run(&shop, &["--kind", "cap"]).expect_err("refused");
        assert!(told.contains(says), "{told}");
        assert!(told.contains("mend"), "{told}");
        assert!(!shop.path().join("out").exists());
    }
}

#[test]
fn footprints_are_of_plates_alone() {
    let shop = Shop::of(&folder("good"));
    run(&shop, &["--footprints", "--part", "B1", "--paper", "A0"]).expect("it is made");
    assert_eq!(written(&shop), ["B1-footprints.pdf", "manifest.sha256"]);
    let told = run(&shop, &["--footprints", "--kind", "doubler"]).expect_err("refused");
    assert!(told.contains("stanchions stand on plates alone"), "{told}");
}

#[test]
fn small_parts_share_a_page_and_large_ones_keep_their_own() {
    let shop = Shop::of(&folder("good"));
    let told = run(&shop, &["--share", "--paper", "36 in roll"]).expect("it is made");
    assert!(written(&shop).contains(&"shared.pdf".to_owned()));
    let pages = |told: &str| -> usize {
        let line = told
            .lines()
            .find(|l| l.contains("pages on"))
            .expect("a sum");
        let figure = line.split_whitespace().next().expect("a figure");
        figure.parse().expect("a number")
    };
    let apart = run(&shop, &["--paper", "36 in roll"]).expect("it is made");
    assert!(pages(&told) < pages(&apart), "{told}{apart}");
    // No page of A4 holds a plate, and the only doubler has none to share with.
    run(
        &shop,
        &["--share", "--part", "B1", "--part", "D1", "--paper", "A4"],
    )
    .expect("it is made");
    assert_eq!(written(&shop), ["B1.pdf", "D1.pdf", "manifest.sha256"]);
}

#[test]
fn the_same_bytes_come_on_any_number_of_threads() {
    let shop = Shop::of(&folder("good"));
    let bytes = |threads: &str| {
        run(
            &shop,
            &[
                "--one-file",
                "--share",
                "--part",
                "B1",
                "--part",
                "T1",
                "--part",
                "CAP 1P",
                "--paper",
                "A0",
                "--threads",
                threads,
            ],
        )
        .expect("it is made");
        fs::read(shop.path().join("out/patterns.pdf")).expect("a file")
    };
    assert_eq!(bytes("1"), bytes("3"));
}
