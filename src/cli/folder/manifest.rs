//! What an output holds: a name and a SHA-256 a file, in the checksum format
//! that `sha256sum -c` reads.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::fs;
use std::io::{self, ErrorKind};
use std::path::{Component, Path};

use sha2::{Digest, Sha256};

use crate::pipeline::Files;

/// Its name at the top of an output.
pub(super) const NAME: &str = "manifest.sha256";
/// Its first line: this, the verb, [`VERSION`]. A `#` opens a comment.
const HEAD: &str = "# planksheer ";
/// What follows the verb.
const VERSION: &str = ", manifest version 1; checked by: sha256sum -c manifest.sha256";
/// Digits of a SHA-256.
const DIGITS: usize = 64;

/// What a run of a verb writes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Manifest {
    /// The verb that writes it.
    pub verb: String,
    /// Hashes by name; a name has `/` between folders.
    pub files: BTreeMap<String, String>,
}

/// A folder beside the manifests of what may lie in it.
#[derive(Debug, Default, PartialEq, Eq)]
pub(super) struct Survey {
    /// What no manifest names: files, links, and folders (with `/` behind).
    pub strange: Vec<String>,
    /// What a manifest names and has other bytes now.
    pub changed: Vec<String>,
    /// What is as it was written.
    pub whole: BTreeSet<String>,
}

impl Manifest {
    /// Of files that are to be written.
    pub(super) fn of(verb: &str, files: &Files) -> Self {
        let hashed = |(name, bytes): (&String, &Vec<u8>)| (name.clone(), hash(bytes));
        Self {
            verb: verb.to_owned(),
            files: files.iter().map(hashed).collect(),
        }
    }

    /// As it is written.
    pub(super) fn text(&self) -> String {
        let mut out = format!("{HEAD}{}{VERSION}\n", self.verb);
        for (name, hash) in &self.files {
            // Text of a string cannot fail to be written.
            let _ = writeln!(out, "{hash}  {name}");
        }
        out
    }

    /// One read back; none where there is none, or it is not of this tool. A
    /// line that names no file below the folder names nothing.
    pub(super) fn read(path: &Path) -> io::Result<Option<Self>> {
        let bytes = match fs::symlink_metadata(path) {
            Ok(about) if about.is_file() => fs::read(path)?,
            Ok(_) => return Ok(None),
            Err(e) if e.kind() == ErrorKind::NotFound => return Ok(None),
            Err(e) => return Err(e),
        };
        let text = String::from_utf8_lossy(&bytes);
        let mut lines = text.lines();
        let verb = lines
            .next()
            .and_then(|l| l.strip_prefix(HEAD)?.strip_suffix(VERSION));
        Ok(verb.map(|verb| Self {
            verb: verb.to_owned(),
            files: lines.filter_map(entry).collect(),
        }))
    }

    /// The folders of its files, the deeper ones later.
    pub(super) fn folders(&self) -> BTreeSet<&str> {
        self.files.keys().flat_map(|n| above(n)).collect()
    }
}

impl Survey {
    /// How many are not as a run wrote them.
    pub(super) fn others(&self) -> usize {
        self.strange.len() + self.changed.len()
    }
}

/// Folders above a name, the nearest first.
pub(super) fn above(name: &str) -> impl Iterator<Item = &str> {
    std::iter::successors(name.rsplit_once('/').map(|p| p.0), |at| {
        at.rsplit_once('/').map(|p| p.0)
    })
}

fn entry(line: &str) -> Option<(String, String)> {
    let (hash, name) = line.split_once("  ")?;
    let sound = hash.len() == DIGITS && hash.bytes().all(|b| b.is_ascii_hexdigit());
    let below = |c| matches!(c, Component::Normal(_));
    let inside = !name.is_empty() && name != NAME && Path::new(name).components().all(below);
    (sound && inside).then(|| (name.to_owned(), hash.to_owned()))
}

fn hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .fold(String::new(), |mut out, byte| {
            // Text of a string cannot fail to be written.
            let _ = write!(out, "{byte:02x}");
            out
        })
}

/// True where a file holds the bytes that were written under its name.
pub(super) fn holds(path: &Path, hashed: &str) -> io::Result<bool> {
    Ok(fs::symlink_metadata(path)?.is_file() && hash(&fs::read(path)?) == hashed)
}

/// Compares a folder with manifests: a file is whole where any of them names
/// it with its bytes. The manifest at its top, and what `skip` says of the top,
/// is left out.
pub(super) fn survey(
    dir: &Path,
    manifests: &[Manifest],
    skip: impl Fn(&str) -> bool,
) -> io::Result<Survey> {
    let mut out = Survey::default();
    let folders = manifests.iter().flat_map(Manifest::folders).collect();
    walk(dir, "", manifests, &folders, &skip, &mut out)?;
    out.strange.sort();
    out.changed.sort();
    Ok(out)
}

fn walk(
    dir: &Path,
    below: &str,
    manifests: &[Manifest],
    folders: &BTreeSet<&str>,
    skip: &impl Fn(&str) -> bool,
    out: &mut Survey,
) -> io::Result<()> {
    for entry in fs::read_dir(dir)? {
        let entry = entry?;
        let file = entry.file_name();
        let shown = file.to_string_lossy();
        if below.is_empty() && (shown == NAME || skip(&shown)) {
            continue;
        }
        let name = format!("{below}{shown}");
        // A name that is no text is none of ours.
        let ours = file.to_str().is_some();
        if entry.file_type()?.is_dir() {
            if ours && folders.contains(name.as_str()) {
                let inner = format!("{name}/");
                walk(&entry.path(), &inner, manifests, folders, skip, out)?;
            } else {
                out.strange.push(format!("{name}/"));
            }
            continue;
        }
        let mut hashes = manifests
            .iter()
            .filter_map(|m| m.files.get(&name))
            .peekable();
        if !ours || hashes.peek().is_none() {
            out.strange.push(name);
            continue;
        }
        let mut whole = false;
        for hashed in hashes {
            whole |= holds(&entry.path(), hashed)?;
        }
        if whole {
            out.whole.insert(name);
        } else {
            out.changed.push(name);
        }
    }
    Ok(())
}
