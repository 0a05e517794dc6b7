//! The starter job at both ends of every range that it accepts.

use planksheer::job::{self, STARTER, STARTER_EDGE};
use planksheer::length;
use planksheer::pipeline::lay;

/// What is said of the starter with another value in a line; `None` where it
/// can be laid out.
fn said(number: usize, value: &str) -> Option<String> {
    let change = |(k, line): (usize, &str)| match line.split_once(" = ") {
        Some((key, _)) if k == number => format!("{key} = \"{value}\"\n"),
        _ => format!("{line}\n"),
    };
    let text: String = STARTER.lines().enumerate().map(change).collect();
    let text = text.replace("show = \"feet-inches\"", "show = \"mm\"");
    let done = job::parse(&text, "job.toml", "").and_then(|job| {
        let tables = [(job.survey.files[0].clone(), STARTER_EDGE.to_owned())];
        lay(&job, &tables)
    });
    done.err().map(|faults| faults.to_string())
}

/// The least and the greatest that a line accepts, as a refusal prints them.
fn range(number: usize) -> Vec<String> {
    let mut out = Vec::new();
    for value in ["-900 m", "900 m"] {
        let told = said(number, value).unwrap_or_default();
        let (_, limits) = told.split_once("mend: it must be ").unwrap_or_default();
        let limits = limits.lines().next().unwrap_or_default();
        let limits = (limits.split(" to "))
            .flat_map(|l| l.split(" and at most "))
            .map(|l| {
                l.trim_start_matches("from ")
                    .trim_end_matches(" or more")
                    .to_owned()
            });
        out.extend(limits.filter(|l| length::parse(l).is_ok()));
    }
    out.sort();
    out.dedup();
    out
}

/// Ends of ranges at which another key of the starter is in the way, and what
/// the refusal must name: the other key, or how far to go.
const OTHERS: [(&str, &str, &str); 27] = [
    ("base.width", "20 mm", "make base.width 101.6 mm or more"),
    ("top.width", "20 mm", "make top.width 101.6 mm or more"),
    ("base.thickness", "100 mm", "add a [[sheet]]"),
    ("top.thickness", "100 mm", "add a [[sheet]]"),
    (
        "base.fasteners.diameter",
        "100 mm",
        "base.fasteners.spacing",
    ),
    ("top.fasteners.diameter", "100 mm", "top.fasteners.spacing"),
    ("base.fasteners.outboard_row", "0 mm", "keep 1.5 diameters"),
    ("base.fasteners.inboard_row", "0 mm", "keep 1.5 diameters"),
    ("top.fasteners.outboard_row", "0 mm", "keep 1.5 diameters"),
    ("top.fasteners.inboard_row", "0 mm", "keep 1.5 diameters"),
    ("base.fasteners.outboard_row", "2000 mm", "between the rows"),
    ("base.fasteners.inboard_row", "2000 mm", "between the rows"),
    ("top.fasteners.outboard_row", "2000 mm", "between the rows"),
    ("top.fasteners.inboard_row", "2000 mm", "between the rows"),
    ("top.width", "2000 mm", "section.cap_width"),
    ("section.planking", "500 mm", "section.cap_width"),
    ("section.weld_setback", "50 mm", "section.cap_width"),
    ("section.inwale", "500 mm", "section.cap_width"),
    ("section.overhang_outboard", "500 mm", "section.cap_width"),
    ("section.overhang_inboard", "500 mm", "section.cap_width"),
    (
        "stanchions.side",
        "500 mm",
        "make base.width 500 mm or more",
    ),
    ("stanchions.wall", "100 mm", "below half the side"),
    ("doubler.length", "10000 mm", "an end of the bulwark"),
    ("doubler.width", "2000 mm", "no wider than the plate"),
    ("keep_clear.length", "10000 mm", "the lengths to keep clear"),
    ("cutting.kerf", "30 mm", "cutting.gap"),
    ("cutting.gap", "0 mm", "the kerf"),
];

/// The least and the greatest that a refusal of a key prints are taken, and the
/// job can be laid out; where it cannot, the refusal names what else is in the
/// way, or how far to go.
#[test]
fn the_starter_builds_at_the_ends_of_its_ranges_or_names_the_other_key() {
    let mut table = "";
    let mut wrong = Vec::new();
    let mut tried = 0;
    for (number, line) in STARTER.lines().enumerate() {
        if line.starts_with('[') {
            let mut parts = line.split(['[', ']']);
            table = parts.find(|p| !p.is_empty()).unwrap_or_default();
        }
        let Some((key, value)) = line.split_once(" = \"") else {
            continue;
        };
        if length::parse(value.split('"').next().unwrap_or_default()).is_err() {
            continue;
        }
        let key = format!("{table}.{key}");
        for end in range(number) {
            tried += 1;
            let other = OTHERS.iter().find(|o| o.0 == key && o.1 == end);
            match (said(number, &end), other) {
                (None, None) => {}
                (Some(told), Some((.., names))) if told.contains(names) => {}
                (told, _) => wrong.push(format!("{key} = {end}: {told:?}")),
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(tried > 60, "{tried}");
}
