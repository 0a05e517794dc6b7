//! Every broken input under `fixtures/broken` against what it must say.

use std::collections::BTreeMap;
use std::fs;
use std::path::PathBuf;

use serde::Deserialize;

use super::{Survey, read};
use crate::fault::Faults;
use crate::job::parse;
use crate::tolerance::Tolerance;

#[derive(Deserialize)]
struct Expected {
    kind: String,
    file: String,
    line: Option<usize>,
    field: String,
    what: String,
    #[serde(default)]
    mend: String,
    #[serde(default = "one")]
    count: usize,
}

fn one() -> usize {
    1
}

fn folder(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("fixtures")
        .join(name)
}

fn text(name: &str, file: &str) -> String {
    fs::read_to_string(folder(name).join(file)).unwrap()
}

/// Job and survey of a fixture, as the command would read them; files are
/// named without folder.
fn load(name: &str) -> Result<Survey, Faults> {
    let job = parse(&text(name, "job.toml"), "job.toml", "")?;
    let texts: Vec<_> = job
        .survey
        .files
        .iter()
        .map(|f| (f.clone(), text(name, &f.path)))
        .collect();
    read(&texts, &job.survey, &Tolerance::default())
}

const FILES: [&str; 4] = ["job.toml", "port.csv", "stern.csv", "starboard.csv"];

#[test]
fn the_good_fixture_is_good() {
    let survey = load("good").unwrap();
    assert_eq!(survey.chains.len(), 1);
    assert_eq!(survey.chains[0].points.len(), 27);
}

#[test]
fn broken_inputs_say_what_is_wrong_and_where() {
    let table: BTreeMap<String, Expected> =
        toml::from_str(&text("broken", "expected.toml")).unwrap();
    assert!(table.len() >= 50);
    let mut wrong = Vec::new();
    for (name, want) in &table {
        let faults = match load(&format!("broken/{name}")) {
            Ok(_) => {
                wrong.push(format!("{name}: no fault"));
                continue;
            }
            Err(faults) => faults.0,
        };
        let hit = faults.iter().any(|f| {
            format!("{:?}", f.kind).to_lowercase() == want.kind
                && f.place.file == want.file
                && f.place.line == want.line
                && f.place.field.as_deref().unwrap_or("") == want.field
                && f.what.contains(&want.what)
                && f.mend.contains(&want.mend)
                && !f.mend.is_empty()
        });
        if !hit || faults.len() != want.count {
            wrong.push(format!("{name}: {}", Faults(faults)));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_broken_input_is_listed_and_differs_in_one_file() {
    let table: BTreeMap<String, Expected> =
        toml::from_str(&text("broken", "expected.toml")).unwrap();
    for entry in fs::read_dir(folder("broken")).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        if name == "expected.toml" {
            continue;
        }
        let want = &table[&name];
        let changed: Vec<_> = FILES
            .iter()
            .filter(|f| text("good", f) != text(&format!("broken/{name}"), f))
            .collect();
        assert_eq!(changed, [&want.file], "{name}");
    }
}
