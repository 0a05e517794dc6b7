//! Whole tables against the sound fixture's boat.

use std::fmt::Write;
use std::fs;
use std::path::PathBuf;

use super::super::*;
use super::Dice;
use crate::fair::FairEdge;
use crate::fair::fair;
use crate::fault::Faults;
use crate::job::Job;
use crate::layout::layout;
use crate::limits::MESSAGES;

fn fixtures() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("fixtures")
}

struct Boat {
    job: Job,
    edge: FairEdge,
    marks: Vec<Mark>,
}

impl Boat {
    fn new(more: &str) -> Self {
        let text = |file: &str| fs::read_to_string(fixtures().join("good").join(file)).unwrap();
        let job = crate::job::parse(&(text("job.toml") + more), "job.toml", "").unwrap();
        let files = job.survey.files.iter();
        let tables: Vec<_> = files.map(|f| (f.clone(), text(&f.path))).collect();
        let survey = crate::survey::read(&tables, &job.survey, &job.tolerance).unwrap();
        let edge = fair(&survey, &job).unwrap();
        let marks = marks(&edge, &layout(&edge, &job).unwrap());
        Self { job, edge, marks }
    }

    fn check(&self, text: &str) -> Result<Checked, Faults> {
        let rows = read(text, "tacked.csv", &self.job, &self.marks)?;
        check(&self.job, &self.edge, &self.marks, &rows, "tacked.csv")
    }

    /// A table of out and up by these rules.
    fn offsets(&self, off: impl Fn(usize) -> (f64, f64)) -> String {
        let mut text = "stanchion, out, up\n".to_owned();
        for (i, mark) in self.marks.iter().enumerate() {
            let (out, up) = off(i);
            writeln!(text, "{}, {out:.4}, {up:.4}", mark.name).unwrap();
        }
        text
    }
}

/// The nearest name is told of as many wrong ones as are shown, and of no more.
#[test]
fn the_nearest_name_is_sought_of_so_many() {
    let names: Vec<String> = (0..=MESSAGES).map(|i| format!("{i}X")).collect();
    let boat = Boat::new(&format!("[check]\nfixed = {names:?}\n"));
    let faults = boat.check("stanchion, out, up\n1P, 0, 0\n").unwrap_err();
    let sought = faults.0.iter().filter(|f| f.mend.contains("the nearest"));
    assert_eq!((sought.count(), faults.0.len()), (MESSAGES, MESSAGES + 1));
    assert!(!faults.0[MESSAGES].mend.contains("the nearest"));
}

/// A point square to the edge off the planned line comes back as that offset, in the
/// boat's coordinates and, where the edge runs fore-and-aft, as a half-breadth.
#[test]
fn places_come_back_as_offsets() {
    let boat = Boat::new("");
    let mut points = "stanchion, x, y, z\n".to_owned();
    let mut halves = "stanchion, half_breadth, height\n".to_owned();
    for (i, m) in boat.marks.iter().enumerate() {
        let line = &boat.edge.chains[m.chain].lengths[m.length].top;
        let left = crate::fair::frame(line, m.u).tangent.left();
        let out = 4.0 + (i % 3) as f64;
        let p = m.at.plan() - left * out;
        writeln!(points, "{}, {}, {}, {}", m.name, p.x, p.y, m.at.z - 2.5).unwrap();
        if left.x.abs() < 0.6 {
            writeln!(halves, "{}, {}, {}", m.name, m.at.y.abs(), m.at.z + 1.0).unwrap();
        }
    }
    let checked = boat.check(&points).unwrap();
    assert_eq!(checked.stanchions.len(), boat.marks.len());
    for (i, s) in checked.stanchions.iter().enumerate() {
        assert!(
            (s.out - (4.0 + (i % 3) as f64)).abs() < 1e-3,
            "{}: {}",
            s.name,
            s.out
        );
        assert!((s.up + 2.5).abs() < 0.05, "{}: {}", s.name, s.up);
    }
    let checked = boat.check(&halves).unwrap();
    assert!(!checked.missing.is_empty() && checked.stanchions.len() > 20);
    for s in &checked.stanchions {
        assert!(s.out.abs() < 1e-3 && (s.up - 1.0).abs() < 1e-3, "{s:?}");
    }
}

/// The order of rows does not matter.
#[test]
fn rows_in_any_order_give_the_same() {
    let boat = Boat::new("\n[check]\nlimit = \"15 mm\"\n");
    let mut dice = Dice(5);
    let noise: Vec<(f64, f64)> = boat
        .marks
        .iter()
        .map(|_| (2.0 * dice.throw(), 2.0 * dice.throw()))
        .collect();
    let at = boat.marks.iter().position(|m| m.name == "9P").unwrap();
    let text = boat.offsets(|i| (noise[i].0 + if i == at { 12.0 } else { 0.0 }, noise[i].1));
    let mut lines: Vec<&str> = text.lines().collect();
    let plain = boat.check(&text).unwrap();
    lines[1..].reverse();
    lines.swap(2, 9);
    assert_eq!(plain, boat.check(&lines.join("\n")).unwrap());
    assert!(!plain.fair());
    let moved: Vec<&str> = plain
        .stanchions
        .iter()
        .filter(|s| s.move_out.abs() + s.move_up.abs() > 0.0)
        .map(|s| s.name.as_str())
        .collect();
    assert_eq!(moved, ["9P"]);
}

/// Limits and fixed ones of the job and of the rows.
#[test]
fn the_job_and_the_rows_say_what_can_move() {
    let boat = Boat::new("\n[check]\nlimit = \"9 mm\"\nfixed = [\"7p\"]\n");
    let text = "stanchion, out, up, limit, fixed\n6P, 0, 0, ,\n7P, 0, 0, ,\n8P, 0, 0, 3,\n9P, 0, 0, , yes\n10P, 0, 0, , no\n";
    let limits: Vec<Option<f64>> = boat
        .check(text)
        .unwrap()
        .stanchions
        .iter()
        .map(|s| s.limit)
        .collect();
    assert_eq!(limits, [Some(9.0), None, Some(3.0), None, Some(9.0)]);
    let boat = Boat::new("\n[check]\nfixed = [\"70P\"]\n");
    let faults = boat.check(text).unwrap_err();
    assert_eq!(faults.0[0].place.field.as_deref(), Some("check.fixed"));
    assert!(faults.0[0].place.line.is_some());
}

/// A whole line that went up by more than a booking error is a line all the same.
#[test]
fn a_line_that_is_all_high_is_no_booking_error() {
    let boat = Boat::new("");
    let checked = boat.check(&boat.offsets(|_| (0.0, 70.0))).unwrap();
    assert!(checked.fair());
}

#[test]
fn pulls_are_welded_less_tacked() {
    let boat = Boat::new("");
    let tacked = boat
        .check(&boat.offsets(|i| (1.0, 0.1 * i as f64)))
        .unwrap();
    let welded = boat
        .check(&boat.offsets(|i| (-1.0, 0.1 * i as f64 + 3.0)))
        .unwrap();
    let pulls = pulls(&tacked, &welded);
    assert_eq!(pulls.len(), boat.marks.len());
    for p in pulls {
        assert!((p.out + 2.0).abs() < 1e-3 && (p.up - 3.0).abs() < 1e-3);
    }
}

/// Every broken table, and all that is said of it.
#[test]
fn broken_tables_are_refused() {
    let boat = Boat::new("");
    let mut names: Vec<PathBuf> = fs::read_dir(fixtures().join("tacked"))
        .unwrap()
        .map(|e| e.unwrap().path())
        .collect();
    names.sort();
    assert!(names.len() >= 15);
    let mut said = String::new();
    for path in names {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let text = fs::read_to_string(&path).unwrap();
        let faults = boat.check(&text).expect_err(&name);
        assert!(
            faults
                .0
                .iter()
                .all(|f| f.place.file == "tacked.csv" && !f.mend.is_empty())
        );
        writeln!(said, "== {name}\n{faults}").unwrap();
    }
    insta::assert_snapshot!("broken_tables", said);
}
