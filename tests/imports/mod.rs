//! Data goes one way: parses every source, and fails on an import that the
//! table in DEVELOPERS.md does not allow, and on a ring of files that import
//! each other.

mod source;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use source::{Source, source};

/// Modules any stage may import.
const BASE: [&str; 9] = [
    "geom",
    "limits",
    "length",
    "quantity",
    "tolerance",
    "fault",
    "dxf",
    "stock",
    "job",
];

/// What each folder or file under src may import beside the base modules;
/// `only` lists replace the base.
const MAY: [(&str, &[&str], &[&str]); 22] = [
    // (module, further modules, or only these)
    ("geom", &[], &[]),
    ("limits", &[], &[]),
    ("fault", &[], &["limits"]),
    ("tolerance", &[], &[]),
    ("length", &[], &["fault", "geom"]),
    ("quantity", &[], &["length"]),
    ("dxf", &[], &["fault", "geom", "length", "limits"]),
    (
        "stock",
        &[],
        &["dxf", "fault", "geom", "length", "limits", "tolerance"],
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
    ("drawing", &["part", "nest", "cut", "layout", "fair"], &[]),
    ("page", &["drawing"], &[]),
    ("write", &["drawing", "page"], &[]),
    (
        "report",
        &["part", "nest", "cut", "layout", "fair", "survey", "tacked"],
        &[],
    ),
    ("cli", &["pipeline"], &[]),
];

/// Modules that may import anything.
const FREE: [&str; 4] = ["lib", "main", "pipeline", "sample"];

/// Every source file below src, but those of tests only.
fn sources() -> Vec<Source> {
    fn walk(top: &Path, at: &Path, out: &mut Vec<Source>) {
        for entry in fs::read_dir(at).expect("a source folder") {
            let path = entry.expect("an entry").path();
            let name = path.file_stem().expect("a name").to_string_lossy();
            if name == "tests" {
                continue;
            }
            if path.is_dir() {
                walk(top, &path, out);
            } else if path.extension().is_some_and(|e| e == "rs") {
                let inside = path.strip_prefix(top).expect("below src");
                let file = inside.to_string_lossy().replace('\\', "/");
                out.push(source(&file, &fs::read_to_string(&path).expect("text")));
            }
        }
    }
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut out = Vec::new();
    walk(&top, &top, &mut out);
    out.sort_by(|a, b| a.file.cmp(&b.file));
    assert!(out.len() > 100, "the sources were not found");
    out
}

/// Imports that the table does not allow.
fn not_allowed(sources: &[Source]) -> Vec<String> {
    let mut wrong = Vec::new();
    for source in sources {
        let stage = source.file.split(['/', '.']).next().unwrap_or_default();
        if FREE.contains(&stage) {
            continue;
        }
        let Some((_, more, only)) = MAY.iter().find(|m| m.0 == stage) else {
            wrong.push(format!("src/{stage} has no line in the table of imports"));
            continue;
        };
        let base: &[&str] = if BASE.contains(&stage) { only } else { &BASE };
        let names: BTreeSet<&str> = source
            .named
            .iter()
            .filter_map(|n| n.first())
            .map(String::as_str)
            .collect();
        for name in names {
            if name != stage && !base.contains(&name) && !more.contains(&name) {
                wrong.push(format!("{} imports crate::{name}", source.file));
            }
        }
    }
    wrong
}

/// What each file imports from which other: `names[from][to]`.
fn imports(sources: &[Source]) -> BTreeMap<&str, BTreeMap<&str, BTreeSet<String>>> {
    let files: BTreeMap<&[String], &str> = sources
        .iter()
        .map(|s| (s.module.as_slice(), s.file.as_str()))
        .collect();
    let mut out: BTreeMap<&str, BTreeMap<&str, BTreeSet<String>>> = BTreeMap::new();
    for source in sources {
        let of = out.entry(&source.file).or_default();
        for path in &source.named {
            let owner = (1..=path.len())
                .rev()
                .find_map(|n| Some((n, *files.get(&path[..n])?)));
            if let Some((n, file)) = owner.filter(|(_, f)| *f != source.file) {
                of.entry(file).or_default().insert(path[n..].join("::"));
            }
        }
    }
    out
}

/// Files that import each other, directly or by way of others.
fn rings(sources: &[Source]) -> BTreeSet<BTreeSet<String>> {
    let imports = imports(sources);
    let reached = |from: &str| {
        let mut seen: BTreeSet<&str> = BTreeSet::new();
        let mut open: Vec<&str> = imports[from].keys().copied().collect();
        while let Some(file) = open.pop() {
            if seen.insert(file) {
                open.extend(imports[file].keys());
            }
        }
        seen
    };
    let reached: BTreeMap<&str, BTreeSet<&str>> =
        imports.keys().map(|f| (*f, reached(f))).collect();
    let ring = |file: &&str| -> BTreeSet<String> {
        let back = reached[file].iter().filter(|f| reached[*f].contains(file));
        back.map(|f| (*f).to_owned()).collect()
    };
    imports.keys().map(ring).filter(|r| !r.is_empty()).collect()
}

#[test]
fn stages_import_only_what_lies_before_them() {
    let wrong = not_allowed(&sources());
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// Every ring, file by file, with what each takes of the others.
fn told_rings(sources: &[Source]) -> Vec<String> {
    let imports = imports(sources);
    let mut told = Vec::new();
    for ring in rings(sources) {
        told.push(format!("a ring of {} files: {ring:?}", ring.len()));
        for from in &ring {
            for (to, names) in &imports[from.as_str()] {
                if ring.contains(*to) {
                    told.push(format!("    {from} imports of {to}: {names:?}"));
                }
            }
        }
    }
    told
}

#[test]
fn no_files_import_each_other_in_a_ring() {
    let told = told_rings(&sources());
    assert!(told.is_empty(), "{}", told.join("\n"));
}

#[test]
fn an_import_is_found_wherever_it_stands() {
    let text = "
        use crate::{geom::Vec2, nest::Nest as Laid};
        #[cfg(test)]
        use crate::sample::job;
        /// As [`crate::cli`] does.
        pub(in crate::survey) fn f(x: &crate::part::Part) -> f64 {
            // crate::write
            crate::cut::g(format!(\"crate::layout {}\", crate::report::h(x)))
        }
        #[cfg(test)]
        mod tests {
            use crate::pipeline::shape;
        }
        fn g() -> f64 {
            use crate::drawing as d;
            d::sheet::h()
        }
    ";
    let of = |file: &str| not_allowed(&[source(file, text)]);
    let told = |file: &str, names: &[&str]| -> Vec<String> {
        names
            .iter()
            .map(|n| format!("{file} imports crate::{n}"))
            .collect()
    };
    let survey = "survey/rows.rs";
    assert_eq!(
        of(survey),
        told(survey, &["cut", "drawing", "nest", "part", "report"])
    );
    assert_eq!(of("cut/mod.rs"), told("cut/mod.rs", &["drawing", "report"]));
    let limits = told(
        "limits.rs",
        &["cut", "drawing", "geom", "nest", "part", "report"],
    );
    assert_eq!(of("limits.rs"), limits);
    assert_eq!(of("pipeline/mod.rs"), told("", &[]));
    assert_eq!(
        of("book/mod.rs"),
        ["src/book has no line in the table of imports"]
    );
}

#[test]
fn a_ring_is_found_and_its_break_too() {
    let ring = |texts: &[(&str, &str)]| -> Vec<Vec<String>> {
        let sources: Vec<Source> = texts
            .iter()
            .map(|(file, text)| source(file, text))
            .collect();
        rings(&sources)
            .into_iter()
            .map(|r| r.into_iter().collect())
            .collect()
    };
    let face = (
        "fair/mod.rs",
        "mod arc; mod line; pub use arc::A; pub use self::line::L;",
    );
    let line = ("fair/line.rs", "pub struct L;");
    // A child that reaches back into the face of its folder, however it says so.
    for reach in [
        "use super::L;",
        "use super::*;",
        "use crate::fair::{L, other};",
        "fn f() { let _: super::L = todo!(); }",
        "mod inner { use super::super::L; }",
        "fn f() { println!(\"{}\", super::L::new()); }",
    ] {
        let found = ring(&[face, line, ("fair/arc.rs", reach)]);
        assert_eq!(found, [["fair/arc.rs", "fair/mod.rs"]], "{reach}");
    }
    // By way of a third file; and none once the last one looks elsewhere.
    let third = |back: &'static str| {
        ring(&[
            ("fair/mod.rs", "mod arc; mod bend; mod line;"),
            ("fair/arc.rs", "use super::bend; fn f() { bend::g(); }"),
            ("fair/bend.rs", "use crate::fair::line::L;"),
            ("fair/line.rs", back),
        ])
    };
    let whole = ["fair/arc.rs", "fair/bend.rs", "fair/line.rs"];
    assert_eq!(third("fn f() -> f64 { super::arc::WIDE }"), [whole]);
    assert!(third("#[cfg(test)] mod tests { use super::super::arc::WIDE; }").is_empty());
    assert!(ring(&[face, line, ("fair/arc.rs", "use super::line::L;")]).is_empty());
    // Each import of a ring is told.
    let sources = [
        source(face.0, face.1),
        source("fair/arc.rs", "use super::L;"),
    ];
    assert_eq!(told_rings(&sources).len(), 3);
}
