//! Data goes one way: reads the `use` lines of every stage and fails on an
//! import that the table in DEVELOPERS.md does not allow.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// Modules any stage may import.
const BASE: [&str; 9] = [
    "geom",
    "limits",
    "length",
    "quantity",
    "tolerance",
    "fault",
    "pairs",
    "stock",
    "job",
];

/// What each folder or file under src may import beside the base modules;
/// `only` lists replace the base.
const MAY: [(&str, &[&str], &[&str]); 21] = [
    // (module, further modules, or only these)
    ("geom", &[], &[]),
    ("limits", &[], &[]),
    ("fault", &[], &["limits"]),
    ("tolerance", &[], &[]),
    ("length", &[], &["fault", "geom"]),
    ("quantity", &[], &["length"]),
    ("pairs", &[], &["limits"]),
    (
        "stock",
        &[],
        &["fault", "geom", "length", "limits", "pairs", "tolerance"],
    ),
    (
        "job",
        &[],
        &["fault", "geom", "length", "limits", "stock", "tolerance"],
    ),
    ("survey", &[], &[]),
    ("fair", &["survey"], &[]),
    ("layout", &["fair", "survey"], &[]),
    ("tacked", &["fair", "layout", "survey"], &[]),
    ("develop", &["layout"], &[]),
    ("part", &["develop", "layout"], &[]),
    ("nest", &["part"], &[]),
    ("cut", &["part", "nest"], &[]),
    ("drawing", &["part", "nest", "cut", "layout"], &[]),
    ("write", &["drawing"], &[]),
    (
        "report",
        &["part", "nest", "cut", "layout", "fair", "survey", "tacked"],
        &[],
    ),
    ("cli", &["pipeline"], &[]),
];

/// Stages whose `only` list stands in place of the base.
const CLOSED: [&str; 9] = [
    "geom",
    "limits",
    "fault",
    "tolerance",
    "length",
    "quantity",
    "pairs",
    "stock",
    "job",
];

fn sources(at: &Path, out: &mut Vec<PathBuf>) {
    let mut entries: Vec<_> = fs::read_dir(at)
        .expect("a source folder")
        .map(|e| e.expect("an entry").path())
        .collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            sources(&path, out);
        } else if path.extension().is_some_and(|e| e == "rs") {
            out.push(path);
        }
    }
}

/// Files that hold tests only.
fn of_tests(inside: &Path) -> bool {
    inside.iter().any(|part| {
        let part = part.to_string_lossy();
        part == "tests" || part.trim_end_matches(".rs").ends_with("tests")
    })
}

/// Modules of this crate named after `crate::` anywhere in code (comments
/// and doc links left out).
fn named(text: &str) -> BTreeSet<String> {
    let mut out = BTreeSet::new();
    for line in text.lines() {
        let code = line.split("//").next().unwrap_or_default();
        for (at, _) in code.match_indices("crate::") {
            let rest = &code[at + "crate::".len()..];
            let name: String = rest
                .chars()
                .take_while(|c| c.is_ascii_alphanumeric() || *c == '_')
                .collect();
            if !name.is_empty() {
                out.insert(name);
            }
        }
    }
    out
}

#[test]
fn stages_import_only_what_lies_before_them() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&src, &mut files);
    assert!(files.len() > 30, "the sources were not found");
    let mut wrong = Vec::new();
    for path in files {
        let inside = path.strip_prefix(&src).expect("below src");
        let first = inside.iter().next().expect("a name").to_string_lossy();
        let module = first.trim_end_matches(".rs").to_owned();
        let Some((_, more, only)) = MAY.iter().find(|m| m.0 == module) else {
            assert!(
                ["lib", "main", "pipeline", "sample"].contains(&module.as_str()),
                "src/{module} has no line in the table of imports"
            );
            continue;
        };
        let base: &[&str] = if CLOSED.contains(&module.as_str()) {
            only
        } else {
            &BASE
        };
        if of_tests(inside) {
            continue;
        }
        let text = fs::read_to_string(&path).expect("source text");
        let text = text.split("#[cfg(test)]").next().unwrap_or_default();
        for name in named(text) {
            let allowed =
                name == module || base.contains(&name.as_str()) || more.contains(&name.as_str());
            if !allowed {
                wrong.push(format!("{} imports crate::{name}", inside.display()));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn the_reader_of_imports_sees_what_is_there() {
    let text = "use crate::nest::Nest; // crate::cli\nlet x = crate::fair::f();";
    let got: Vec<String> = named(text).into_iter().collect();
    assert_eq!(got, ["fair", "nest"]);
}
