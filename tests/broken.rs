//! Every broken input of `fixtures/broken.toml` against what must be said of
//! it: by the library for its kind, by the command word for word.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use planksheer::fault::Faults;
use planksheer::job;
use planksheer::pipeline::drawing_text;
use planksheer::survey::{Survey, read};
use serde::Deserialize;

/// Files of a job by their names.
pub(crate) type Files = BTreeMap<String, String>;

/// A sound job spoilt in one place, and what must be said of it.
#[derive(Debug, Deserialize)]
pub(crate) struct Case {
    /// Folder of the sound job.
    #[serde(default = "good")]
    from: String,
    #[serde(flatten)]
    change: Change,
    and: Option<Change>,
    /// Kinds of the faults in their order.
    kind: String,
    /// All that the command says.
    pub(crate) says: String,
}

fn good() -> String {
    "good".to_owned()
}

/// One change of one file: `find` and `put`, or `add`, or `whole`.
#[derive(Debug, Default, Deserialize)]
struct Change {
    file: String,
    find: Option<String>,
    put: Option<String>,
    add: Option<String>,
    whole: Option<String>,
}

impl Change {
    fn make(&self, files: &mut Files) -> Result<(), String> {
        let name = &self.file;
        let text = files.get_mut(name).ok_or(format!("no file {name}"))?;
        let spoilt = match (&self.find, &self.put, &self.add, &self.whole) {
            (Some(find), Some(put), None, None) => match text.matches(find.as_str()).count() {
                1 => text.replace(find, put),
                n => return Err(format!("{find:?} stands {n} times in {name}")),
            },
            (None, None, Some(add), None) => format!("{text}{add}"),
            (None, None, None, Some(whole)) => whole.clone(),
            _ => return Err("not one of `find` with `put`, `add`, `whole`".to_owned()),
        };
        if spoilt == *text {
            return Err(format!("{name} is as it was"));
        }
        *text = spoilt;
        Ok(())
    }
}

impl Case {
    /// The spoilt job; an error where a change cannot be made.
    pub(crate) fn files(&self) -> Result<Files, String> {
        let mut files = folder(&self.from);
        for change in std::iter::once(&self.change).chain(&self.and) {
            change.make(&mut files)?;
        }
        Ok(files)
    }
}

pub(crate) fn fixtures() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures")
}

/// The files of a folder of the fixtures.
pub(crate) fn folder(name: &str) -> Files {
    let entries = fs::read_dir(fixtures().join(name)).expect("a folder of the fixtures");
    entries
        .map(|entry| {
            let path = entry.expect("an entry").path();
            let name = path.file_name().expect("a name").to_string_lossy();
            let text = fs::read_to_string(&path).expect("text");
            (name.into_owned(), text)
        })
        .collect()
}

/// Every case by its name.
pub(crate) fn cases() -> BTreeMap<String, Case> {
    let text = fs::read_to_string(fixtures().join("broken.toml")).expect("the cases");
    toml::from_str(&text).expect("a table of cases")
}

/// The spoilt files of one case.
pub(crate) fn files(name: &str) -> Files {
    cases()[name].files().expect("a change that can be made")
}

/// The library's reading of a job and all that it names.
fn load(files: &Files) -> Result<Survey, Faults> {
    let drawing = |path: &str| (path.to_owned(), drawing_text(files[path].clone().into()));
    let mut job = job::parse(&files["job.toml"], "job.toml", "")?;
    let remnants = job.sheets.iter().filter_map(|s| s.remnant.as_ref());
    let remnants: Vec<_> = remnants.map(|r| drawing(&r.path)).collect();
    job.take_remnants(&remnants)?;
    let tables = job.survey.files.iter();
    let tables: Vec<_> = tables.map(|f| (f.clone(), drawing(&f.path).1)).collect();
    read(&tables, &job.survey, &job.tolerance)
}

#[test]
fn what_the_cases_spoil_is_sound() {
    let mut points = BTreeMap::new();
    for case in cases().into_values() {
        let survey = load(&folder(&case.from)).unwrap_or_else(|f| panic!("{}: {f}", case.from));
        let count: usize = survey.chains.iter().map(|c| c.points.len()).sum();
        points.insert(case.from, count);
    }
    let want = [
        ("good", 27),
        ("instrument", 9),
        ("list", 9),
        // Five of 9 and 13 are measured by both.
        ("passes", 17),
        ("polyline", 9),
        ("remnant", 27),
    ];
    assert_eq!(points, want.map(|(f, n)| (f.to_owned(), n)).into());
}

#[test]
fn broken_inputs_are_of_their_kind() {
    let cases = cases();
    assert!(cases.len() >= 160, "only {} cases", cases.len());
    let mut wrong = Vec::new();
    for (name, case) in &cases {
        let kinds = match case.files().map(|files| load(&files)) {
            Err(unmade) => unmade,
            Ok(Ok(_)) => "no fault".to_owned(),
            Ok(Err(faults)) => {
                let kinds = faults.0.iter().map(|f| format!("{:?}", f.kind));
                kinds.collect::<Vec<_>>().join(", ").to_lowercase()
            }
        };
        if kinds != case.kind {
            wrong.push(format!("{name}: {kinds}, not {}", case.kind));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A case that spoils nothing, or not what it means to, is no case.
#[test]
fn a_change_that_cannot_be_made_is_told() {
    let change = |find: &str, put: &str| Change {
        file: "stern.csv".to_owned(),
        find: Some(find.to_owned()),
        put: Some(put.to_owned()),
        ..Change::default()
    };
    let told = |c: &Change| c.make(&mut folder("good")).expect_err("no change");
    let port = told(&change("port, \n", "left, \n"));
    assert_eq!(port, r#""port, \n" stands 4 times in stern.csv"#);
    assert!(told(&change("lefft", "left")).contains("stands 0 times"));
    assert!(told(&change("knuckle", "knuckle")).contains("as it was"));
    let both = Change {
        whole: Some(String::new()),
        ..change("knuckle", "corner")
    };
    assert!(told(&both).contains("not one of"));
    let nowhere = Change {
        file: "bow.csv".to_owned(),
        ..change("knuckle", "corner")
    };
    assert_eq!(told(&nowhere), "no file bow.csv");
    assert_eq!(
        change("knuckle", "corner").make(&mut folder("good")),
        Ok(())
    );
}
