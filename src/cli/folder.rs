//! An output folder written beside its place and swapped in whole: a failed
//! or killed run leaves the earlier one as it was.

use std::collections::BTreeMap;
use std::ffi::OsString;
use std::fs;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use crate::fault::{Fault, Kind, Place};

/// What a command writes at the top of its folder.
#[derive(Debug, Clone, Copy)]
pub(super) struct Kept {
    /// The file that marks a folder as this command's output, where it names a
    /// schema of ours near its beginning.
    mark: &'static str,
    /// Every name beside it.
    names: &'static [&'static str],
}

/// What `build` writes.
pub(super) const BUILD: Kept = Kept {
    mark: "summary.json",
    names: &[
        "faired-edge.csv",
        "faired-edge.svg",
        "lists",
        "parts",
        "remnants",
        "sheets",
        "yield.txt",
    ],
};

/// What `fair` writes.
pub(super) const FAIR: Kept = Kept {
    mark: "fairness.json",
    names: &[
        "faired-edge.csv",
        "fairness.txt",
        "moves.csv",
        "plan-and-profile.svg",
        "sighting.svg",
    ],
};

/// What `estimate` writes.
pub(super) const ESTIMATE: Kept = Kept {
    mark: "estimate.json",
    names: &[
        "estimate.csv",
        "estimate.html",
        "estimate.txt",
        "variations.csv",
    ],
};

/// How the schemas of the marks begin.
const SCHEMA: &str = "\"schema\": \"planksheer";
/// Kinds of files in the folders of an output.
const KINDS: [&str; 3] = ["csv", "dxf", "svg"];
/// The one text among them.
const LEGEND: &str = "stanchions-legend.txt";

/// True where a folder holds a command's mark and it is our own.
fn marked(dir: &Path, kept: &Kept) -> bool {
    let mut head = [0_u8; 64];
    let read = fs::File::open(dir.join(kept.mark)).and_then(|mut f| f.read(&mut head));
    read.is_ok_and(|n| String::from_utf8_lossy(&head[..n]).contains(SCHEMA))
}

/// What lies in an earlier output and was not written by the command.
fn stranger(dir: &Path, kept: &Kept) -> io::Result<Option<PathBuf>> {
    for entry in fs::read_dir(dir)? {
        let entry = entry?;
        let name = entry.file_name();
        let known = name == kept.mark || kept.names.iter().any(|n| name == *n);
        if !known {
            return Ok(Some(entry.path()));
        }
        if !entry.file_type()?.is_dir() {
            continue;
        }
        for inner in fs::read_dir(entry.path())? {
            let path = inner?.path();
            let kind = path.extension().unwrap_or_default();
            let legend = path.file_name().is_some_and(|n| n == LEGEND);
            if !legend && !KINDS.iter().any(|k| kind == *k) {
                return Ok(Some(path));
            }
        }
    }
    Ok(None)
}

/// Refuses a place that must not be replaced, before any work is done: a
/// folder that is no earlier output of the command, or that holds something
/// else, one of `inputs` above all.
pub(super) fn check(dir: &Path, kept: &Kept, inputs: &[PathBuf]) -> Result<(), Fault> {
    let unusable = |e: io::Error| {
        fault(
            dir,
            &format!("the output folder cannot be used: {e}"),
            "name a folder that can be written with --out",
        )
    };
    let whole = match fs::canonicalize(dir) {
        Ok(whole) => whole,
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(()),
        Err(e) => return Err(unusable(e)),
    };
    let within = |path: &&PathBuf| fs::canonicalize(path).is_ok_and(|p| p.starts_with(&whole));
    if let Some(input) = inputs.iter().find(within) {
        return Err(fault(
            dir,
            &format!(
                "the folder is replaced in whole, and {} of this job lies in it",
                input.display()
            ),
            "name another folder with --out, or keep the job's own files elsewhere",
        ));
    }
    let mut entries = fs::read_dir(&whole).map_err(unusable)?;
    if entries.next().is_none() {
        return Ok(());
    }
    if !marked(&whole, kept) {
        return Err(fault(
            dir,
            &format!(
                "the folder is there, is not empty, and holds no {} of this tool: it is not an earlier output of this command",
                kept.mark
            ),
            "name a new or empty folder with --out",
        ));
    }
    match stranger(&whole, kept).map_err(unusable)? {
        None => Ok(()),
        Some(path) => Err(fault(
            dir,
            &format!(
                "the folder is replaced in whole, and this command did not write {}, which lies in it",
                path.display()
            ),
            "move that file out, or name another folder with --out",
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
    // What a link leads to is replaced, not the link.
    let dir = &fs::canonicalize(dir).unwrap_or_else(|_| dir.to_path_buf());
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
        // The new output stands; remains of the old that cannot be removed harm nothing.
        let _ = fs::remove_dir_all(new);
        return Ok(());
    }
    let old = beside(dir, &format!("old-{}", std::process::id()));
    fs::rename(dir, &old)?;
    if let Err(e) = fs::rename(new, dir) {
        fs::rename(&old, dir)?;
        return Err(e);
    }
    let _ = fs::remove_dir_all(old);
    Ok(())
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
        check(&dir, &BUILD, &[]).expect("an output may be replaced");
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
        let refused = |kept| check(top.path(), kept, &[]).expect_err("refused");
        assert_eq!(refused(&BUILD).kind, Kind::File);
        fs::remove_file(top.path().join("thesis.txt")).expect("removed");
        let dir = top.path().join("out");
        write(&dir, &files("1")).expect("written");
        // Another command's, and one with a file of the user's.
        assert!(check(&dir, &FAIR, &[]).is_err());
        fs::write(dir.join("parts/note.txt"), "precious").expect("written");
        let told = check(&dir, &BUILD, &[]).expect_err("refused").what;
        assert!(told.contains("note.txt"), "{told}");
    }

    #[test]
    fn a_folder_that_holds_an_input_is_refused() {
        let top = tempfile::tempdir().expect("a temporary folder");
        let dir = top.path().join("out");
        write(&dir, &files("1")).expect("written");
        let input = dir.join("parts/a.dxf");
        let told = check(&dir, &BUILD, &[input]).expect_err("refused").what;
        assert!(told.contains("a.dxf"), "{told}");
        check(&dir, &BUILD, &[top.path().join("job.toml")]).expect("elsewhere");
    }

    #[cfg(unix)]
    #[test]
    fn what_a_link_leads_to_is_replaced() {
        let top = tempfile::tempdir().expect("a temporary folder");
        let (real, link) = (top.path().join("real"), top.path().join("link"));
        write(&real, &files("1")).expect("written");
        std::os::unix::fs::symlink(&real, &link).expect("linked");
        check(&link, &BUILD, &[]).expect("an output may be replaced");
        write(&link, &files("2")).expect("written");
        assert!(link.is_symlink());
        let text = fs::read_to_string(real.join("summary.json")).expect("there");
        assert_eq!(text, ours("2"));
    }

    #[test]
    fn a_missing_parent_is_an_error_and_leaves_nothing() {
        let top = tempfile::tempdir().expect("a temporary folder");
        let dir = top.path().join("no/out");
        assert!(write(&dir, &files("1")).is_err());
        assert_eq!(fs::read_dir(top.path()).expect("list").count(), 0);
    }
}
