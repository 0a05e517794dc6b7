//! Spoilt input to every reader: no panic, and every refusal has its place and
//! its mend. The same cases every time; more of them with
//! `MUTATIONS=20000 cargo test --release --test all mutated`.

use std::fs;

use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};

use planksheer::fault::Faults;
use planksheer::job::{self, Job, SurveyFile};
use planksheer::length::Unit;
use planksheer::limits::{MESSAGES, unseen};
use planksheer::pipeline::{drawing_text, faired, lay};
use planksheer::stock::read_remnant;
use planksheer::tacked::{Mark, marks, read};

use crate::broken::{files, fixtures, folder};

/// Cases of each reader where `MUTATIONS` gives no number.
const CASES: u32 = 150;

/// What is put in, or in place of a figure.
const BITS: [&str; 32] = [
    "",
    " ",
    ",",
    "\"",
    "'",
    "#",
    "=",
    "[",
    "]]",
    "{",
    "\n",
    "\r",
    "\t",
    "\0",
    "-",
    "0",
    "-0",
    "0.0001",
    "9e999",
    "1e-320",
    "nan",
    "inf",
    "18446744073709551616",
    "99999999999999999999999",
    "1/0",
    "5-11-7",
    "5 ft 13 in",
    "é",
    "\u{202E}",
    "\u{2028}",
    "\u{FEFF}",
    "船",
];

/// One change: of which kind, where as a share of the text, and by what.
type Change = (u8, u16, u16);

/// The bytes of a text after some changes.
fn spoilt(text: &str, changes: &[Change]) -> Vec<u8> {
    let mut bytes = text.as_bytes().to_vec();
    for &(kind, place, by) in changes {
        let at = usize::from(place) * bytes.len() / 65_536;
        let mut lines: Vec<Vec<u8>> = bytes.split(|&b| b == b'\n').map(<[u8]>::to_vec).collect();
        let line = usize::from(place) * lines.len() / 65_536;
        let other = usize::from(by) * lines.len() / 65_536;
        let bit = BITS[usize::from(by) % BITS.len()].as_bytes();
        let long = if by % 7 == 0 { 3000 } else { 1 };
        match kind % 9 {
            0 if !bytes.is_empty() => bytes[at] ^= 1 << (by % 8),
            1 => drop(bytes.splice(at..at, bit.repeat(long))),
            2 => bytes.truncate(at),
            3 => {
                lines.remove(line);
                bytes = lines.join(&b'\n');
            }
            4 => {
                let again = lines[line].clone();
                lines.splice(other..other, std::iter::repeat_n(again, long));
                bytes = lines.join(&b'\n');
            }
            5 => {
                lines.swap(line, other);
                bytes = lines.join(&b'\n');
            }
            6 => {
                let end = (at + usize::from(by % 40)).min(bytes.len());
                bytes.drain(at..end);
            }
            // The figure at or after the place.
            _ => {
                let figure = |b: &u8| b.is_ascii_digit() || matches!(b, b'.' | b'-');
                let from = bytes[at..].iter().position(figure).map_or(at, |n| at + n);
                let end = bytes[from..].iter().position(|b| !figure(b));
                let end = end.map_or(bytes.len(), |n| from + n);
                bytes.splice(from..end, bit.iter().copied());
            }
        }
    }
    bytes
}

/// Tries a reader on spoilt forms of some texts. What comes out is refused in
/// a way that helps, or taken.
fn check(texts: &[String], reader: impl Fn(Vec<u8>) -> Result<(), Faults>) {
    let config = Config {
        cases: super::number("MUTATIONS").unwrap_or(CASES),
        failure_persistence: None,
        ..Config::default()
    };
    let rng = TestRng::deterministic_rng(RngAlgorithm::ChaCha);
    let changes = prop::collection::vec(any::<Change>(), 1..5);
    let refused = std::cell::Cell::new(0);
    TestRunner::new_with_rng(config, rng)
        .run(&(0..texts.len(), changes), |(which, changes)| {
            let bytes = spoilt(&texts[which], &changes);
            if let Err(faults) = reader(bytes) {
                refused.set(refused.get() + 1);
                helps(&faults)?;
            }
            Ok(())
        })
        .unwrap_or_else(|e| panic!("{e}"));
    assert!(refused.get() > 0, "nothing was spoilt");
}

fn helps(faults: &Faults) -> Result<(), TestCaseError> {
    prop_assert!(!faults.0.is_empty(), "refused without a word");
    for f in &faults.0 {
        let p = &f.place;
        prop_assert!(!p.file.is_empty(), "no file: {f}");
        prop_assert!(!f.what.is_empty() && !f.mend.is_empty(), "no mend: {f}");
    }
    let text = faults.to_string();
    prop_assert!(
        !text.chars().any(|c| c != '\n' && unseen(c)),
        "a message acts on the terminal: {text:?}"
    );
    let told = text.matches("\n    mend: ").count();
    prop_assert!(told <= 4 * MESSAGES, "{told} messages");
    Ok(())
}

fn text_of(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// A survey file of a job: the job with it alone spoilt.
fn survey(job: &Job, index: usize, others: &[String], text: String) -> Result<(), Faults> {
    let mut texts = others.to_vec();
    texts[index] = text;
    let tables: Vec<_> = job.survey.files.iter().cloned().zip(texts).collect();
    faired(job, &tables).map(drop)
}

fn job_text(name: &str) -> String {
    folder(name).remove("job.toml").expect("a job")
}

/// The job of a folder of the fixtures.
fn job_of(name: &str) -> Job {
    job::parse(&job_text(name), "job.toml", "").expect("a sound job")
}

fn good_tables(job: &Job) -> Vec<String> {
    let mut files = folder("good");
    let mut text = |f: &SurveyFile| files.remove(&f.path).expect("a table");
    job.survey.files.iter().map(&mut text).collect()
}

#[test]
fn a_job() {
    let texts = [
        job_text("good"),
        job::STARTER.to_owned(),
        files("weld-half-priced").remove("job.toml").expect("a job"),
        files("datum-swapped").remove("job.toml").expect("a job"),
    ];
    check(&texts, |bytes| {
        job::parse(&text_of(&bytes), "job.toml", "").map(drop)
    });
}

#[test]
fn a_table() {
    let job = job_of("good");
    let good = good_tables(&job);
    for index in [0, 2] {
        check(&good[index..=index], |bytes| {
            survey(&job, index, &good, text_of(&bytes))
        });
    }
}

#[test]
fn a_list_of_coded_points() {
    let job = job_of("list");
    let mut list = "x,y,z,code,name,inboard_x,inboard_y,inboard_z\n".to_owned();
    for i in 0..24 {
        let (x, y) = (4000 - 150 * i, 900 + 40 * i - i * i);
        let code = ["edge", "inboard"][usize::from(i % 5 == 4)];
        let y = if i % 5 == 4 { y - 150 } else { y };
        list.push_str(&format!("{x}.5,{y},{},{code},p{i},,,\n", 1400 - i));
    }
    assert!(survey(&job, 0, &[String::new()], list.clone()).is_ok());
    check(&[list], |bytes| {
        survey(&job, 0, &[String::new()], text_of(&bytes))
    });
}

#[test]
fn a_drawing() {
    let job = job_of("polyline");
    let drawings = fixtures().join("drawings");
    let texts = ["R12", "R2000", "R2018"].map(|r| {
        let bytes = fs::read(drawings.join(format!("edge-{r}.dxf")));
        drawing_text(bytes.expect("a fixture"))
    });
    check(&texts, |bytes| {
        survey(&job, 0, &[String::new()], drawing_text(bytes))
    });
}

#[test]
fn a_remnant() {
    let open = files("remnant-open-profile").remove("piece.dxf");
    let open = open.expect("a drawing");
    let closed = folder("remnant").remove("piece.dxf").expect("a drawing");
    let hole = "0\nCIRCLE\n8\nHOLE\n10\n200\n20\n200\n40\n50\n0\nTEXT\n8\n0\n1\nALLOY 5086-H116\n0\nTEXT\n8\n0\n1\nTHICKNESS 12.7 mm\n";
    let end = closed.rfind("0\nENDSEC").expect("an end");
    let whole = format!("{}{hole}{}", &closed[..end], &closed[end..]);
    assert!(read_remnant("piece.dxf", &whole, None).is_ok());
    check(&[whole, open], |bytes| {
        read_remnant("piece.dxf", &drawing_text(bytes), Some(Unit::Mm))
            .map(drop)
            .map_err(Faults::from)
    });
}

#[test]
fn a_tacked_line() {
    let job = job_of("good");
    let tables: Vec<_> = job
        .survey
        .files
        .iter()
        .cloned()
        .zip(good_tables(&job))
        .collect();
    let (faired, layout) = lay(&job, &tables).expect("laid out");
    let marks: Vec<Mark> = marks(&faired.edge, &layout);
    let mut text = "stanchion, out, up, limit, fixed\n".to_owned();
    for (i, mark) in marks.iter().enumerate() {
        let fixed = if i % 4 == 0 { "yes" } else { "" };
        text.push_str(&format!("{}, {}, -0.5, , {fixed}\n", mark.name, i % 3));
    }
    assert!(read(&text, "tacked.csv", &job, &marks).is_ok());
    check(&[text], |bytes| {
        let rows = read(&text_of(&bytes), "tacked.csv", &job, &marks)?;
        planksheer::tacked::check(&job, &faired.edge, &marks, &rows, "tacked.csv").map(drop)
    });
}
