//! Data goes one way: parses every source, and fails on an import that the
//! table in DEVELOPERS.md does not allow, and on a ring of files that import
//! each other.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path as FilePath;

use syn::ext::IdentExt;
use syn::parse::{ParseStream, Parser};
use syn::visit::{self, Visit};
use syn::{Attribute, Ident, Item, Token, UseTree, braced, bracketed, parenthesized, token};

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
const CLOSED: [&str; 9] = BASE;

/// Modules that may import anything.
const FREE: [&str; 4] = ["lib", "main", "pipeline", "sample"];

/// Rings that are still to be broken. One that is broken, or has become
/// another, must leave this list.
const KNOWN_RINGS: [&str; 9] = [
    "fair/accuracy fair/alike/even fair/alike/mod fair/alike/told fair/doubt/mod fair/edge \
     fair/findings fair/mod fair/slope fair/surety fair/top",
    "fair/arc fair/bends fair/line",
    "fair/smooth fair/smooth/spread",
    "job job/check job/choice job/choices job/cutting job/model job/parse job/parts \
     job/sheets job/surveyed job/syntax job/table job/takeoff job/text job/verdict",
    "nest/bound nest/check/mod nest/measure nest/mod nest/packer/clearing/mod \
     nest/packer/clearing/seek nest/packer/clearing/shorten nest/packer/clearing/tents \
     nest/packer/fill nest/packer/mod nest/packer/room nest/packer/search nest/packer/shape \
     nest/packer/sheets nest/packer/strip nest/remnant",
    "part/boundary part/check part/frame part/input part/lettering part/lines part/mod \
     part/ordinates part/way",
    "pipeline/butts pipeline/cutting pipeline/estimate pipeline/estimate/vary \
     pipeline/fairness pipeline/files pipeline/mod pipeline/tacked",
    "report/butts report/cautions report/cuts report/estimate/figures report/estimate/json \
     report/estimate/mod report/estimate/page report/estimate/rows report/estimate/text \
     report/facts report/fairness report/fairness/doubted report/fairness/json \
     report/lists/bends report/lists/mod report/mod report/summary report/summary/cutting \
     report/summary/surety report/surety report/yields",
    "tacked/mod tacked/place tacked/read",
];

/// A module by its names from the crate's root.
type Module = Vec<String>;

/// A source file and the paths of this crate that its code names.
#[derive(Debug, Default)]
struct Source {
    file: String,
    module: Module,
    named: BTreeSet<Module>,
}

/// Module of a file below src.
fn module_of(file: &str) -> Module {
    let mut names: Module = file
        .trim_end_matches(".rs")
        .split('/')
        .map(str::to_owned)
        .collect();
    if names.last().is_some_and(|n| n == "mod" || n == "lib") {
        names.pop();
    }
    names
}

/// Paths named in a file outside its tests.
fn source(file: &str, text: &str) -> Source {
    let tree = syn::parse_file(text).unwrap_or_else(|e| panic!("{file}: {e}"));
    let mut reader = Reader {
        at: module_of(file),
        ..Reader::default()
    };
    reader.visit_file(&tree);
    let named = reader.resolved();
    Source {
        file: file.to_owned(),
        module: module_of(file),
        named,
    }
}

#[derive(Default)]
struct Reader {
    /// The module that is being read: the file's, or one inside it.
    at: Module,
    /// Paths as written, with the module they are written in.
    written: Vec<(Module, Module)>,
    /// What a name stands for once it is imported.
    imported: BTreeMap<String, Module>,
    /// Modules declared in the file.
    declared: BTreeSet<Module>,
}

impl Reader {
    fn note(&mut self, path: Module) {
        self.written.push((self.at.clone(), path));
    }

    fn tree(&mut self, before: &Module, tree: &UseTree) {
        let with = |name: &Ident| {
            let mut path = before.clone();
            path.push(name.unraw().to_string());
            path
        };
        match tree {
            UseTree::Path(p) => self.tree(&with(&p.ident), &p.tree),
            UseTree::Group(g) => g.items.iter().for_each(|t| self.tree(before, t)),
            UseTree::Glob(_) => self.note(before.clone()),
            UseTree::Name(n) if n.ident == "self" => self.import(before.clone(), None),
            UseTree::Name(n) => self.import(with(&n.ident), None),
            UseTree::Rename(r) => self.import(with(&r.ident), Some(&r.rename)),
        }
    }

    fn import(&mut self, path: Module, name: Option<&Ident>) {
        let name = name.map(ToString::to_string);
        if let (Some(name), Some(whole)) =
            (name.or(path.last().cloned()), self.rooted(&self.at, &path))
        {
            self.imported.insert(name, whole);
        }
        self.note(path);
    }

    /// A path from the crate's root, where it begins with `crate`, `super`,
    /// `self` or a module declared here.
    fn rooted(&self, at: &Module, path: &Module) -> Option<Module> {
        let (mut whole, mut rest) = match path.first()?.as_str() {
            "crate" => (Module::new(), &path[1..]),
            "self" | "super" => (at.clone(), &path[..]),
            name => {
                let mut child = at.clone();
                child.push(name.to_owned());
                if !self.declared.contains(&child) {
                    return None;
                }
                (at.clone(), &path[..])
            }
        };
        while let Some(name @ ("super" | "self")) = rest.first().map(String::as_str) {
            if name == "super" {
                whole.pop();
            }
            rest = &rest[1..];
        }
        whole.extend_from_slice(rest);
        Some(whole)
    }

    fn resolved(&self) -> BTreeSet<Module> {
        let whole = |(at, path): &(Module, Module)| {
            self.rooted(at, path).or_else(|| {
                let mut whole = self.imported.get(path.first()?)?.clone();
                whole.extend_from_slice(&path[1..]);
                Some(whole)
            })
        };
        self.written.iter().filter_map(whole).collect()
    }

    /// Paths in a macro's tokens, which are no syntax yet.
    fn tokens(&mut self, input: ParseStream<'_>) -> syn::Result<()> {
        while !input.is_empty() {
            let inner;
            if input.peek(token::Paren) {
                parenthesized!(inner in input);
                self.tokens(&inner)?;
            } else if input.peek(token::Bracket) {
                bracketed!(inner in input);
                self.tokens(&inner)?;
            } else if input.peek(token::Brace) {
                braced!(inner in input);
                self.tokens(&inner)?;
            } else if input.peek(Ident::peek_any) {
                let mut path = vec![input.call(Ident::parse_any)?.to_string()];
                while input.peek(Token![::]) && input.peek3(Ident::peek_any) {
                    input.parse::<Token![::]>()?;
                    path.push(input.call(Ident::parse_any)?.to_string());
                }
                if path.len() > 1 {
                    self.note(path);
                }
            } else {
                input.step(|c| Ok(((), c.token_tree().map_or(*c, |(_, rest)| rest))))?;
            }
        }
        Ok(())
    }
}

impl<'a> Visit<'a> for Reader {
    fn visit_item(&mut self, item: &'a Item) {
        if !for_tests(attributes(item)) {
            visit::visit_item(self, item);
        }
    }

    fn visit_item_mod(&mut self, item: &'a syn::ItemMod) {
        let mut inside = self.at.clone();
        inside.push(item.ident.to_string());
        self.declared.insert(inside.clone());
        let outside = std::mem::replace(&mut self.at, inside);
        visit::visit_item_mod(self, item);
        self.at = outside;
    }

    fn visit_item_use(&mut self, item: &'a syn::ItemUse) {
        self.tree(&Module::new(), &item.tree);
    }

    fn visit_impl_item_fn(&mut self, item: &'a syn::ImplItemFn) {
        if !for_tests(&item.attrs) {
            visit::visit_impl_item_fn(self, item);
        }
    }

    fn visit_path(&mut self, path: &'a syn::Path) {
        // One name alone is a variable, or was imported before.
        if path.segments.len() > 1 && path.leading_colon.is_none() {
            let names = path.segments.iter().map(|s| s.ident.unraw().to_string());
            self.note(names.collect());
        }
        visit::visit_path(self, path);
    }

    /// Who may see an item is no import.
    fn visit_visibility(&mut self, _: &'a syn::Visibility) {}

    fn visit_macro(&mut self, mac: &'a syn::Macro) {
        let read = |input: ParseStream<'_>| self.tokens(input);
        read.parse2(mac.tokens.clone())
            .expect("any tokens are read");
    }
}

fn for_tests(attributes: &[Attribute]) -> bool {
    attributes.iter().any(|a| {
        a.path().is_ident("cfg") && a.parse_args::<Ident>().is_ok_and(|name| name == "test")
    })
}

fn attributes(item: &Item) -> &[Attribute] {
    match item {
        Item::Const(i) => &i.attrs,
        Item::Enum(i) => &i.attrs,
        Item::Fn(i) => &i.attrs,
        Item::Impl(i) => &i.attrs,
        Item::Macro(i) => &i.attrs,
        Item::Mod(i) => &i.attrs,
        Item::Static(i) => &i.attrs,
        Item::Struct(i) => &i.attrs,
        Item::Trait(i) => &i.attrs,
        Item::Type(i) => &i.attrs,
        Item::Use(i) => &i.attrs,
        _ => &[],
    }
}

/// Every source file below src, but those of tests only.
fn sources() -> Vec<Source> {
    fn walk(top: &FilePath, at: &FilePath, out: &mut Vec<Source>) {
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
    let top = FilePath::new(env!("CARGO_MANIFEST_DIR")).join("src");
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
        let base: &[&str] = if CLOSED.contains(&stage) { only } else { &BASE };
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

/// Rings that are not known, and known ones that are gone.
fn told_rings(sources: &[Source], known: &[&str]) -> Vec<String> {
    let imports = imports(sources);
    let known: BTreeSet<BTreeSet<String>> = known
        .iter()
        .map(|ring| ring.split_whitespace().map(|f| format!("{f}.rs")).collect())
        .collect();
    let found = rings(sources);
    let mut told: Vec<String> = known
        .difference(&found)
        .map(|ring| format!("no longer a ring as it was, take it out of the list: {ring:?}"))
        .collect();
    for ring in found.difference(&known) {
        told.push(format!("a ring of {} files: {ring:?}", ring.len()));
        for from in ring {
            for (to, names) in imports[from.as_str()]
                .iter()
                .filter(|(to, _)| ring.contains(**to))
            {
                told.push(format!("    {from} imports of {to}: {names:?}"));
            }
        }
    }
    told
}

#[test]
fn no_files_import_each_other_in_a_ring() {
    let told = told_rings(&sources(), &KNOWN_RINGS);
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
    // What is known must be there.
    let sources = [
        source(face.0, face.1),
        source("fair/arc.rs", "use super::L;"),
    ];
    assert!(told_rings(&sources, &["fair/arc fair/mod"]).is_empty());
    assert_eq!(
        told_rings(&sources, &["fair/arc fair/mod", "fair/line fair/mod"]).len(),
        1
    );
    assert!(told_rings(&sources, &[]).len() > 1);
}
