//! What of this crate a source file names, by its syntax.

use std::collections::{BTreeMap, BTreeSet};

use syn::ext::IdentExt;
use syn::parse::{ParseStream, Parser};
use syn::visit::{self, Visit};
use syn::{Attribute, Ident, Item, Token, UseTree, braced, bracketed, parenthesized, token};

/// A module by its names from the crate's root.
pub(super) type Module = Vec<String>;

/// A source file and the paths of this crate that its code names.
#[derive(Debug, Default)]
pub(super) struct Source {
    /// Its path below src.
    pub(super) file: String,
    pub(super) module: Module,
    pub(super) named: BTreeSet<Module>,
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
pub(super) fn source(file: &str, text: &str) -> Source {
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
