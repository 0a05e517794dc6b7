//! How a finished staging folder comes into its place: swapped in whole, or
//! file by file where the place cannot be moved.

use std::collections::BTreeSet;
use std::fs;
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

use super::manifest::{self, Manifest, holds};
use super::staging::{Yard, sync};

/// Exchanges two folders in one step, where the system can.
pub(super) type Exchange = fn(&Path, &Path) -> io::Result<()>;

/// Puts `new` in the place of `dir`; where the system can exchange two
/// folders in one step there is no moment without a whole one. Returns where
/// that is now which stood there.
pub(super) fn swap(
    new: &Path,
    dir: &Path,
    yard: &Yard,
    exchange: Exchange,
) -> io::Result<Option<PathBuf>> {
    if !dir.try_exists()? {
        fs::rename(new, dir)?;
        return Ok(None);
    }
    if exchange(new, dir).is_ok() {
        return Ok(Some(new.to_path_buf()));
    }
    let old = yard.old()?;
    if let Err(e) = fs::rename(dir, &old) {
        fs::remove_dir(&old)?;
        return Err(e);
    }
    if let Err(e) = fs::rename(new, dir) {
        fs::rename(&old, dir)?;
        return Err(e);
    }
    Ok(Some(old))
}

#[cfg(target_os = "linux")]
pub(super) fn exchange(a: &Path, b: &Path) -> io::Result<()> {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    Ok(renameat_with(CWD, a, CWD, b, RenameFlags::EXCHANGE)?)
}

#[cfg(not(target_os = "linux"))]
pub(super) fn exchange(_: &Path, _: &Path) -> io::Result<()> {
    Err(io::Error::from(ErrorKind::Unsupported))
}

/// Moves the files of `new` into `dir`, removes those of `whole` (files that
/// are as an earlier run wrote them) that are not of the plan, and moves the
/// manifest last. What a killed run has begun of it can be gone on with.
///
/// # Errors
/// Where a file is neither in `new` nor in its place, or cannot be moved.
pub(super) fn fill_in(
    new: &Path,
    dir: &Path,
    plan: &Manifest,
    whole: &BTreeSet<String>,
) -> io::Result<()> {
    for folder in plan.folders() {
        make(&dir.join(folder))?;
    }
    for (name, hashed) in &plan.files {
        let to = dir.join(name);
        match fs::rename(new.join(name), &to) {
            Err(e) if e.kind() == ErrorKind::NotFound && holds(&to, hashed)? => {}
            moved => moved?,
        }
    }
    for name in whole.iter().filter(|n| !plan.files.contains_key(*n)) {
        fs::remove_file(dir.join(name))?;
        for folder in manifest::above(name) {
            // Fails on a folder with anything in it.
            let _ = fs::remove_dir(dir.join(folder));
        }
    }
    for folder in plan.folders().into_iter().rev() {
        sync(&dir.join(folder))?;
        match fs::remove_dir(new.join(folder)) {
            Err(e) if e.kind() == ErrorKind::NotFound => {}
            removed => removed?,
        }
    }
    sync(dir)?;
    fs::rename(new.join(manifest::NAME), dir.join(manifest::NAME))?;
    sync(dir)?;
    fs::remove_dir(new)
}

/// Moves files and folders (with `/` behind) of `dir` into `aside`, under the
/// same names.
pub(super) fn move_aside<'a>(
    dir: &Path,
    names: impl Iterator<Item = &'a String>,
    aside: &Path,
) -> io::Result<()> {
    for name in names {
        let name = name.trim_end_matches('/');
        if let Some((folder, _)) = name.rsplit_once('/') {
            fs::create_dir_all(aside.join(folder))?;
        }
        fs::rename(dir.join(name), aside.join(name))?;
    }
    sync(aside)
}

/// Makes a folder that may be there.
pub(super) fn make(folder: &Path) -> io::Result<()> {
    match fs::create_dir(folder) {
        Err(e) if e.kind() == ErrorKind::AlreadyExists && folder.is_dir() => Ok(()),
        made => made,
    }
}
