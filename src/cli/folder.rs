//! An output folder written beside its place and swapped in whole: a failed
//! or killed run leaves the earlier one as it was.

use std::collections::BTreeMap;
use std::ffi::OsString;
use std::fs;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use crate::fault::{Fault, Kind, Place};

/// What marks a folder as an output of this tool, of any verb, where it names
/// a schema of ours near its beginning: it may be replaced.
const MARKS: [&str; 3] = ["summary.json", "fairness.json", "estimate.json"];
/// How the schemas of those files begin.
const SCHEMA: &str = "\"schema\": \"planksheer";

/// True where a folder holds a mark that is our own.
fn marked(dir: &Path) -> bool {
    MARKS.iter().any(|m| {
        let mut head = [0_u8; 64];
        let read = fs::File::open(dir.join(m)).and_then(|mut f| f.read(&mut head));
        read.is_ok_and(|n| String::from_utf8_lossy(&head[..n]).contains(SCHEMA))
    })
}

/// Refuses a place that must not be replaced, before any work is done.
pub(super) fn check(dir: &Path) -> Result<(), Fault> {
    match fs::read_dir(dir) {
        Ok(mut entries) => {
            if entries.next().is_some() && !marked(dir) {
                return Err(fault(
                    dir,
                    "the folder is there, is not empty, and holds no summary.json, fairness.json or estimate.json of this tool: it is not an earlier output",
                    "name a new or empty folder with --out",
                ));
            }
            Ok(())
        }
        Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(()),
        Err(e) => Err(fault(
            dir,
            &format!("the output folder cannot be used: {e}"),
            "name a folder that can be written with --out",
        )),
    }
}

/// Writes the files (path with `/` below the folder, text) and swaps the
/// folder in.
///
/// # Errors
/// Where the folder above is not there, cannot be written or has no room
/// ([`Kind::File`]); what stood in the folder's place stays as it was.
pub fn write(dir: &Path, files: &BTreeMap<String, String>) -> Result<(), Fault> {
    let beside = beside(dir, &format!("partial-{}", std::process::id()));
    sweep(dir);
    let done = fill(&beside, files).and_then(|()| swap(&beside, dir));
    if done.is_err() {
        // The error matters, not whether its remains could be removed.
        let _ = fs::remove_dir_all(&beside);
    }
    done.map_err(|e| {
        fault(
            dir,
            &format!("the output cannot be written: {e}"),
            "check that the folder above exists, can be written, and has room",
        )
    })
}

fn fill(at: &Path, files: &BTreeMap<String, String>) -> io::Result<()> {
    fs::create_dir(at)?;
    for (name, text) in files {
        let path = at.join(name);
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder)?;
        }
        fs::write(path, text)?;
    }
    Ok(())
}

/// Puts `new` in the place of `dir`; where the system can exchange two
/// folders in one step there is no moment without a whole one.
fn swap(new: &Path, dir: &Path) -> io::Result<()> {
    if !dir.exists() {
        return fs::rename(new, dir);
    }
    if exchange(new, dir).is_ok() {
        return fs::remove_dir_all(new);
    }
    let old = beside(dir, &format!("old-{}", std::process::id()));
    fs::rename(dir, &old)?;
    if let Err(e) = fs::rename(new, dir) {
        fs::rename(&old, dir)?;
        return Err(e);
    }
    fs::remove_dir_all(old)
}

#[cfg(target_os = "linux")]
fn exchange(a: &Path, b: &Path) -> io::Result<()> {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    Ok(renameat_with(CWD, a, CWD, b, RenameFlags::EXCHANGE)?)
}

#[cfg(not(target_os = "linux"))]
fn exchange(_: &Path, _: &Path) -> io::Result<()> {
    Err(io::Error::from(io::ErrorKind::Unsupported))
}

/// Removes what killed runs left beside the folder: partial folders whose
/// process is gone (known on Linux only; elsewhere they stay).
fn sweep(dir: &Path) {
    let prefix = hidden(dir, "partial-");
    let Some(prefix) = prefix.to_str() else {
        return;
    };
    let Ok(entries) = fs::read_dir(parent(dir)) else {
        return;
    };
    for entry in entries.flatten() {
        let name = entry.file_name();
        let Some(pid) = name.to_str().and_then(|n| n.strip_prefix(prefix)) else {
            continue;
        };
        let gone = Path::new("/proc/self").exists() && !Path::new("/proc").join(pid).exists();
        if pid.bytes().all(|b| b.is_ascii_digit()) && gone {
            // A leftover that cannot be removed harms nothing.
            let _ = fs::remove_dir_all(entry.path());
        }
    }
}

fn parent(dir: &Path) -> PathBuf {
    match dir.parent() {
        Some(p) if !p.as_os_str().is_empty() => p.to_path_buf(),
        _ => PathBuf::from("."),
    }
}

fn hidden(dir: &Path, tail: &str) -> OsString {
    let mut name = OsString::from(".");
    name.push(dir.file_name().unwrap_or_default());
    name.push(".");
    name.push(tail);
    name
}

fn beside(dir: &Path, tail: &str) -> PathBuf {
    parent(dir).join(hidden(dir, tail))
}

fn fault(dir: &Path, what: &str, mend: &str) -> Fault {
    Fault::new(
        Kind::File,
        Place::file(dir.display().to_string()).field("--out"),
        what,
        mend,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A mark of ours with a text.
    fn ours(text: &str) -> String {
        format!("{{\n  {SCHEMA}\", {text}")
    }

    fn files(text: &str) -> BTreeMap<String, String> {
        BTreeMap::from([
            ("summary.json".to_owned(), ours(text)),
            ("parts/a.dxf".to_owned(), "x".to_owned()),
        ])
    }

    #[test]
    fn a_new_output_replaces_the_old_one_in_whole() {
        let top = tempfile::tempdir().expect("a temporary folder");
        let dir = top.path().join("out");
        write(&dir, &files("1")).expect("first");
        fs::write(dir.join("parts/stale.dxf"), "old").expect("stale");
        check(&dir).expect("an output may be replaced");
        write(&dir, &files("2")).expect("second");
        assert_eq!(
            fs::read_to_string(dir.join("summary.json")).expect("there"),
            ours("2")
        );
        assert!(!dir.join("parts/stale.dxf").exists());
        assert_eq!(fs::read_dir(top.path()).expect("list").count(), 1);
    }

    #[test]
    fn a_folder_of_something_else_is_refused() {
        let top = tempfile::tempdir().expect("a temporary folder");
        fs::write(top.path().join("thesis.txt"), "precious").expect("written");
        assert_eq!(check(top.path()).expect_err("refused").kind, Kind::File);
    }

    #[test]
    fn a_missing_parent_is_an_error_and_leaves_nothing() {
        let top = tempfile::tempdir().expect("a temporary folder");
        let dir = top.path().join("no/out");
        assert!(write(&dir, &files("1")).is_err());
        assert_eq!(fs::read_dir(top.path()).expect("list").count(), 0);
    }
}
