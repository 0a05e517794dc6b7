//! A folder that a run fills on its own before it comes into its place, and
//! what a killed run leaves of it.

use std::ffi::{OsStr, OsString};
use std::fs::{self, File};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};

use super::manifest::{self, Manifest, Survey, survey};
use crate::pipeline::Files;

/// Marks a staging folder that is not whole yet: the manifest to be.
const PLAN: &str = "manifest.planned";
/// What temporary folders of a run are named.
const STAGING: &str = "staging-";
/// What an earlier output is named while the new one comes into its place
/// without an exchange.
const OLD: &str = "old-";
/// The lock's name.
const LOCK: &str = "lock";
/// What a folder of a person's files is named, before a number.
pub(super) const KEPT: &str = "kept-";
/// What an output is named that could not come into its place.
pub(super) const NEW: &str = "new-";

/// Where a run has its lock and its temporary folders.
#[derive(Debug, Clone)]
pub(super) struct Yard {
    /// The folder that holds them.
    pub at: PathBuf,
    /// How their names begin.
    hidden: OsString,
    /// How the names of what is left for the person begin.
    shown: OsString,
}

/// A folder that a killed run left.
#[derive(Debug)]
pub(super) struct Leftover {
    pub path: PathBuf,
    pub manifest: Manifest,
    /// All its files were written.
    pub finished: bool,
    /// It stood in the place.
    pub old: bool,
}

impl Yard {
    /// The folder above.
    pub(super) fn beside(dir: &Path) -> Self {
        let name = dir.file_name().unwrap_or_default();
        let with = |head: &str, tail: &str| {
            let mut out = OsString::from(head);
            out.push(name);
            out.push(tail);
            out
        };
        Self {
            at: dir.parent().unwrap_or(dir).to_path_buf(),
            hidden: with(".", "."),
            shown: with("", "-"),
        }
    }

    /// The place itself.
    pub(super) fn within(dir: &Path) -> Self {
        Self {
            at: dir.to_path_buf(),
            hidden: OsString::from(".output."),
            shown: OsString::new(),
        }
    }

    /// The lock's file.
    pub(super) fn lock(&self) -> PathBuf {
        self.at.join(joined(&self.hidden, LOCK))
    }

    /// A new empty folder to stage in.
    pub(super) fn staging(&self) -> io::Result<PathBuf> {
        self.folder(STAGING)
    }

    /// A new empty folder that an earlier output may be moved onto.
    pub(super) fn old(&self) -> io::Result<PathBuf> {
        self.folder(OLD)
    }

    fn folder(&self, what: &str) -> io::Result<PathBuf> {
        let mut builder = tempfile::Builder::new();
        let prefix = joined(&self.hidden, what);
        builder.prefix(&prefix);
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            // As any new folder: what the user's mask leaves of it.
            builder.permissions(fs::Permissions::from_mode(0o777));
        }
        Ok(builder.tempdir_in(&self.at)?.keep())
    }

    /// A new empty folder that a person finds, such as `out-kept-1`.
    pub(super) fn aside(&self, what: &str) -> io::Result<PathBuf> {
        for n in 1_u32.. {
            let path = self.at.join(joined(&self.shown, &format!("{what}{n}")));
            match fs::create_dir(&path) {
                Err(e) if e.kind() == ErrorKind::AlreadyExists => {}
                made => return made.map(|()| path),
            }
        }
        Err(io::Error::from(ErrorKind::AlreadyExists))
    }

    /// True of a name that is a run's own and no part of an output.
    pub(super) fn own(&self, name: &str) -> bool {
        after(OsStr::new(name), &self.hidden)
            .is_some_and(|tail| tail == LOCK || tail.starts_with(STAGING))
    }

    /// True of a name that a run gives to what it leaves for the person.
    pub(super) fn left(&self, name: &str) -> bool {
        [KEPT, NEW].iter().any(|what| {
            after(OsStr::new(name), &joined(&self.shown, what))
                .is_some_and(|n| !n.is_empty() && n.bytes().all(|b| b.is_ascii_digit()))
        })
    }

    /// What killed runs left, known by the manifest in it. A folder that is
    /// named alike and empty is removed, one that holds something else is
    /// another's.
    pub(super) fn leftovers(&self) -> io::Result<Vec<Leftover>> {
        let mut out = Vec::new();
        for entry in fs::read_dir(&self.at)? {
            let entry = entry?;
            let file = entry.file_name();
            let Some(tail) = after(&file, &self.hidden) else {
                continue;
            };
            let old = tail.starts_with(OLD);
            if !(old || tail.starts_with(STAGING)) || !entry.file_type()?.is_dir() {
                continue;
            }
            let path = entry.path();
            let whole = Manifest::read(&path.join(manifest::NAME))?;
            let finished = whole.is_some();
            let found = match whole {
                None => Manifest::read(&path.join(PLAN))?,
                whole => whole,
            };
            match found {
                Some(manifest) => out.push(Leftover {
                    path,
                    manifest,
                    finished,
                    old,
                }),
                None => drop(unmarked(&path)),
            }
        }
        out.sort_by(|a, b| (a.old, &a.path).cmp(&(b.old, &b.path)));
        Ok(out)
    }
}

impl Leftover {
    /// True where all of an output is there.
    pub(super) fn whole(&self) -> bool {
        let found = survey(&self.path, std::slice::from_ref(&self.manifest), |_| false);
        // A person may have removed files from what stood in the place.
        let all = |found: Survey| self.old || found.whole.len() == self.manifest.files.len();
        self.finished && found.is_ok_and(all)
    }
}

/// Removes a folder that a run was killed in before its mark was written: an
/// empty one, or one that holds the empty mark alone. Fails on any other.
fn unmarked(path: &Path) -> io::Result<()> {
    let mark = path.join(PLAN);
    let alone = fs::read_dir(path)?.count() == 1;
    if alone && fs::symlink_metadata(&mark).is_ok_and(|m| m.is_file() && m.len() == 0) {
        fs::remove_file(mark)?;
    }
    fs::remove_dir(path)
}

fn joined(head: &OsStr, tail: &str) -> OsString {
    let mut out = head.to_owned();
    out.push(tail);
    out
}

/// What follows a head in a name.
fn after<'a>(name: &'a OsStr, head: &OsStr) -> Option<&'a str> {
    let tail = name
        .as_encoded_bytes()
        .strip_prefix(head.as_encoded_bytes())?;
    std::str::from_utf8(tail).ok()
}

/// Writes into an empty folder what is planned, all of it on the drive, and
/// makes sure of each file; what a failed try wrote is removed, and the folder.
///
/// # Errors
/// Where something cannot be written, or is not there as it was written.
pub(super) fn fill(at: &Path, files: &Files, plan: &Manifest) -> io::Result<()> {
    let done = try_fill(at, files, plan);
    if done.is_err() {
        // The error matters, not whether its remains could be removed.
        let _ = clear(at, plan, true);
    }
    done
}

fn try_fill(at: &Path, files: &Files, plan: &Manifest) -> io::Result<()> {
    put(&at.join(PLAN), plan.text().as_bytes())?;
    for folder in plan.folders() {
        fs::create_dir(at.join(folder))?;
    }
    for (name, bytes) in files {
        put(&at.join(name), bytes)?;
    }
    for folder in plan.folders() {
        sync(&at.join(folder))?;
    }
    let found = survey(at, std::slice::from_ref(plan), |n| n == PLAN)?;
    let lost = files.len() - found.whole.len();
    if lost > 0 || !found.strange.is_empty() {
        return Err(io::Error::other(format!(
            "something else changes {}: of {} files written {lost} are not there as written, {} are not of this run",
            at.display(),
            files.len(),
            found.strange.len()
        )));
    }
    fs::rename(at.join(PLAN), at.join(manifest::NAME))?;
    sync(at)
}

/// Tries what a run will do in a yard: makes a folder with a file on the
/// drive, and has the place, where it is there, refuse to be moved onto that
/// for no other reason than that it holds something.
pub(super) fn probe(yard: &Yard, place: Option<&Path>) -> io::Result<()> {
    let at = yard.staging()?;
    let nothing = Manifest::of("", &Files::new());
    let moved = put(&at.join(PLAN), nothing.text().as_bytes()).and_then(|()| match place {
        None => Ok(()),
        Some(place) => match fs::rename(place, &at) {
            Err(e)
                if matches!(
                    e.kind(),
                    ErrorKind::DirectoryNotEmpty | ErrorKind::AlreadyExists
                ) =>
            {
                Ok(())
            }
            Err(e) => Err(e),
            // No system should: back with it.
            Ok(()) => fs::rename(&at, place),
        },
    });
    let cleared = clear(&at, &nothing, true);
    moved.and(cleared.map(drop))
}

/// Writes a new file, all of it on the drive.
fn put(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = File::create_new(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

/// Puts the names in a folder on the drive.
#[cfg(unix)]
pub(super) fn sync(folder: &Path) -> io::Result<()> {
    match File::open(folder)?.sync_all() {
        // Some file systems have nothing to do there and say so.
        Err(e) if matches!(e.kind(), ErrorKind::InvalidInput | ErrorKind::Unsupported) => Ok(()),
        done => done,
    }
}

/// A folder is no file there.
#[cfg(not(unix))]
pub(super) fn sync(_: &Path) -> io::Result<()> {
    Ok(())
}

/// Removes from a folder what its manifest says was written, and the folder
/// itself where nothing else is in it; false where something is. `torn`: a
/// file may be half written, its name is enough.
pub(super) fn clear(dir: &Path, manifest: &Manifest, torn: bool) -> io::Result<bool> {
    let lock = Yard::within(dir).lock();
    let own = |n: &str| (torn && n == PLAN) || Some(OsStr::new(n)) == lock.file_name();
    let found = survey(dir, std::slice::from_ref(manifest), own)?;
    let changed = found.changed.iter().filter(|_| torn);
    for name in found.whole.iter().chain(changed) {
        gone(fs::remove_file(dir.join(name)))?;
    }
    for folder in manifest.folders().into_iter().rev() {
        // Fails where something else is in it.
        let _ = fs::remove_dir(dir.join(folder));
    }
    if !found.strange.is_empty() || !(torn || found.changed.is_empty()) {
        return Ok(false);
    }
    // The mark goes last, so that a folder half cleared is known.
    let mark = dir.join(if torn { PLAN } else { manifest::NAME });
    for path in [lock, mark] {
        gone(fs::remove_file(path))?;
    }
    fs::remove_dir(dir)?;
    Ok(true)
}

/// What is not there need not be removed.
fn gone(removed: io::Result<()>) -> io::Result<()> {
    match removed {
        Err(e) if e.kind() == ErrorKind::NotFound => Ok(()),
        done => done,
    }
}
