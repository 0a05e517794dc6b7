//! An output folder. Its place is tested before the work begins. It is
//! written beside its place and swapped in whole, so that a failed or killed
//! run leaves the earlier one as it was; a manifest names what was written,
//! and nothing else is ever removed.

mod lock;
mod manifest;
mod remains;
mod staging;
mod swap;
#[cfg(test)]
mod tests;

use std::env;
use std::fs;
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

use super::shell::note;
use crate::fault::{Fault, Kind, Place};
use crate::pipeline::Files;
use lock::Lock;
use manifest::{Manifest, Survey, survey};
use remains::{retire, sweep, tell_kept, told};
use staging::{KEPT, Leftover, NEW, Yard};

/// How often a swap is tried while another program changes the place.
const TRIES: usize = 3;

/// The place of an output, found fit for it.
#[derive(Debug)]
pub struct Out {
    /// As the person named it.
    shown: String,
    dir: PathBuf,
    verb: &'static str,
    inputs: Vec<PathBuf>,
    replace: bool,
    /// Folders above it that were made for it, the upper ones first.
    made: Vec<PathBuf>,
    /// It cannot be moved: a mount point, say.
    in_place: bool,
    exchange: swap::Exchange,
}

/// The place while no other run may change it.
struct Held {
    yard: Yard,
    /// It cannot be moved: a mount point, say.
    in_place: bool,
    /// The folder above, where it is locked.
    above: Option<Yard>,
    /// The place itself, where it is locked.
    within: Option<Yard>,
    locks: Vec<Lock>,
}

impl Out {
    /// Tests the place of an output of a verb, before any work is done, and
    /// makes the folders above it. What killed runs left there is put right.
    ///
    /// # Errors
    /// [`Kind::File`] where the place cannot be written, or holds what must
    /// not be replaced: one of `inputs`, what is no earlier output of the
    /// verb, or, without `replace`, a person's own files.
    pub fn open(
        dir: &Path,
        verb: &'static str,
        inputs: &[PathBuf],
        replace: bool,
    ) -> Result<Self, Fault> {
        let mut out = Self {
            shown: dir.display().to_string(),
            dir: dir.to_path_buf(),
            verb,
            inputs: inputs.to_vec(),
            replace,
            made: Vec::new(),
            in_place: false,
            exchange: swap::exchange,
        };
        out.resolve().map_err(|e| out.unusable(&e))?;
        let held = out.hold()?;
        out.settle(&held)?;
        out.refusal(&held)?;
        out.in_place = held.in_place;
        Ok(out)
    }

    /// Writes the files (path with `/` below the folder) and the
    /// manifest of them, and puts all in its place.
    ///
    /// # Errors
    /// [`Kind::File`] where they cannot be written, or the place has come to
    /// hold what must not be replaced: what stood there stays as it was, and
    /// the new output is left beside it where it can be.
    pub fn write(mut self, files: &Files) -> Result<(), Fault> {
        let plan = Manifest::of(self.verb, files);
        self.place(files, &plan).map_err(|mut fault| {
            // Where it cannot be left either, the first reason is the one to tell.
            if let Ok(left) = self.leave(files, &plan) {
                fault.mend = format!(
                    "the finished output was left in {}; for the next: {}",
                    left.display(),
                    fault.mend
                );
            }
            fault
        })
    }

    fn place(&mut self, files: &Files, plan: &Manifest) -> Result<(), Fault> {
        // Another run that failed may have taken away an empty folder above.
        self.make_parents().map_err(|e| self.unusable(&e))?;
        let held = self.hold()?;
        self.settle(&held)?;
        self.refusal(&held)?;
        let staged = held.yard.staging().and_then(|at| {
            if !held.in_place && self.dir.is_dir() {
                like(&at, &self.dir)?;
            }
            staging::fill(&at, files, plan).map(|()| at)
        });
        let at = staged.map_err(|e| self.unwritten(&e))?;
        let placed = if held.in_place {
            // What has come in part is gone on with by the next run.
            let fill = |found| self.fill_in(&held.yard, &at, plan, &found);
            self.refusal(&held).map(fill)
        } else {
            self.swap(&held, &at).map(Ok)
        };
        match placed {
            Ok(done) => done.map_err(|e| self.unwritten(&e)),
            Err(refused) => {
                // The reason matters, not whether its remains could be removed.
                let _ = staging::clear(&at, plan, false);
                Err(refused)
            }
        }
    }

    /// Swaps a finished folder in.
    fn swap(&self, held: &Held, at: &Path) -> Result<(), Fault> {
        let mut tries = 0;
        loop {
            // The last look before the step itself.
            self.refusal(held)?;
            tries += 1;
            match swap::swap(at, &self.dir, &held.yard, self.exchange) {
                Ok(before) => {
                    // The earlier one goes when the new one is on the drive.
                    staging::sync(&held.yard.at).map_err(|e| self.unwritten(&e))?;
                    if let Some(before) = before {
                        retire(&held.yard, &before);
                    }
                    return Ok(());
                }
                Err(e) if tries == TRIES => return Err(self.unwritten(&e)),
                Err(_) => {}
            }
        }
    }

    /// Moves a finished folder's files into the place; what is not of an
    /// earlier output goes aside.
    fn fill_in(&self, yard: &Yard, at: &Path, plan: &Manifest, found: &Survey) -> io::Result<()> {
        if found.others() > 0 {
            let kept = yard.aside(KEPT)?;
            swap::move_aside(&self.dir, found.strange.iter().chain(&found.changed), &kept)?;
            tell_kept(&kept);
        }
        swap::fill_in(at, &self.dir, plan, &found.whole)
    }

    /// Writes what has no place beside it.
    fn leave(&self, files: &Files, plan: &Manifest) -> io::Result<PathBuf> {
        let (beside, within) = (Yard::beside(&self.dir), Yard::within(&self.dir));
        // Beside a mount point it would not be on the same drive.
        let (first, second) = if self.in_place {
            (within, beside)
        } else {
            (beside, within)
        };
        let at = first.aside(NEW).or_else(|_| second.aside(NEW))?;
        staging::fill(&at, files, plan)?;
        Ok(at)
    }

    /// The folder without links, and the folders above it.
    fn resolve(&mut self) -> io::Result<()> {
        match fs::canonicalize(&self.dir) {
            Ok(whole) => {
                self.dir = whole;
                return Ok(());
            }
            Err(e) if e.kind() == ErrorKind::NotFound => {}
            Err(e) => return Err(e),
        }
        if self.dir.is_symlink() {
            return Err(io::Error::other("it is a link that leads nowhere"));
        }
        let Some(name) = self.dir.file_name().map(PathBuf::from) else {
            return Err(io::Error::other("it names no folder"));
        };
        self.make_parents()?;
        let above = match self.dir.parent() {
            Some(p) if !p.as_os_str().is_empty() => fs::canonicalize(p)?,
            _ => env::current_dir()?,
        };
        self.dir = above.join(name);
        Ok(())
    }

    fn make_parents(&mut self) -> io::Result<()> {
        let above = self.dir.ancestors().skip(1);
        let missing = above.take_while(|p| !p.as_os_str().is_empty() && !p.exists());
        let missing: Vec<PathBuf> = missing.map(Path::to_path_buf).collect();
        for folder in missing.into_iter().rev() {
            swap::make(&folder)?;
            self.made.push(folder);
        }
        Ok(())
    }

    /// Locks the place and finds how an output can come into it, by trying.
    fn hold(&self) -> Result<Held, Fault> {
        let there = self.dir.exists();
        if there && !self.dir.is_dir() {
            return Err(self.unusable(&ErrorKind::NotADirectory.into()));
        }
        self.try_hold(there).map_err(|e| self.unusable(&e))
    }

    fn try_hold(&self, there: bool) -> io::Result<Held> {
        let (beside, within) = (Yard::beside(&self.dir), Yard::within(&self.dir));
        let mut locks = Vec::new();
        // A swapped folder would not be seen by a shell that stands in it.
        let stood_in = env::current_dir().is_ok_and(|at| at.starts_with(&self.dir));
        let moved = if there && (stood_in || self.dir.parent().is_none()) {
            Err(ErrorKind::ResourceBusy.into())
        } else {
            Lock::take(&beside.lock()).and_then(|lock| {
                locks.push(lock);
                staging::probe(&beside, there.then_some(&self.dir))
            })
        };
        let in_place = match moved {
            Ok(()) => false,
            // A mount point, or a place below what cannot be written.
            Err(e) if there && unmoved(&e) => true,
            Err(e) => return Err(e),
        };
        let above = (!locks.is_empty()).then(|| beside.clone());
        // One run may be filling as a mount point what another can move.
        let filled = in_place || there && within.lock().exists();
        if filled {
            locks.push(Lock::take(&within.lock())?);
        }
        if in_place {
            staging::probe(&within, None)?;
        }
        Ok(Held {
            above,
            within: filled.then(|| within.clone()),
            yard: if in_place { within } else { beside },
            in_place,
            locks,
        })
    }

    /// Puts right what killed runs left. Nobody's leftovers are touched where
    /// the system cannot tell that their owner is gone.
    fn settle(&self, held: &Held) -> Result<(), Fault> {
        if !held.locks.iter().all(|l| l.held) {
            return Ok(());
        }
        let unusable = |e: io::Error| self.unusable(&e);
        if let Some(within) = &held.within {
            for left in within.leftovers().map_err(unusable)? {
                if left.finished {
                    let found = self.refusal(held)?;
                    if self
                        .fill_in(&held.yard, &left.path, &left.manifest, &found)
                        .is_ok()
                    {
                        note(
                            "a killed run had filled the output folder in part; its output was completed",
                        );
                        continue;
                    }
                }
                sweep(&left);
            }
        }
        let Some(beside) = &held.above else {
            return Ok(());
        };
        let mut leftovers = beside.leftovers().map_err(unusable)?;
        if !self.dir.exists()
            && let Some(at) = leftovers.iter().position(Leftover::whole)
        {
            let left = leftovers.remove(at);
            fs::rename(&left.path, &self.dir)
                .and_then(|()| staging::sync(&beside.at))
                .map_err(unusable)?;
            note(&format!(
                "a run was killed before its output stood in its place; {} was restored",
                self.shown
            ));
        }
        for left in leftovers {
            if !sweep(&left) && left.finished {
                retire(beside, &left.path);
            }
        }
        Ok(())
    }

    /// What lies in the place; refuses what must not be replaced.
    fn refusal(&self, held: &Held) -> Result<Survey, Fault> {
        if !self.dir.exists() {
            return Ok(Survey::default());
        }
        let within =
            |path: &&PathBuf| fs::canonicalize(path).is_ok_and(|p| p.starts_with(&self.dir));
        if let Some(input) = self.inputs.iter().find(within) {
            return Err(self.fault(
                format!(
                    "the folder is replaced in whole, and {} of this job lies in it",
                    input.display()
                ),
                "name another folder with --out, or keep the job's own files elsewhere",
            ));
        }
        let (manifests, found) = self.compare(held).map_err(|e| self.unusable(&e))?;
        if let Some(other) = manifests.iter().find(|m| m.verb != self.verb) {
            return Err(self.fault(
                format!(
                    "the folder is not an earlier output of this command, but of `planksheer {}`",
                    other.verb
                ),
                "name a new or empty folder with --out",
            ));
        }
        if manifests.is_empty() && found.others() > 0 {
            return Err(self.fault(
                format!(
                    "the folder is there, is not empty, and holds no {} of this tool: it is not an earlier output of this command",
                    manifest::NAME
                ),
                "name a new or empty folder with --out, or move this one away",
            ));
        }
        if found.others() > 0 && !self.replace {
            return Err(self.fault(
                format!("the folder is replaced in whole, and {}", told(&found)),
                "move those files out, name another folder with --out, or add --replace, which moves them into a folder beside it",
            ));
        }
        Ok(found)
    }

    fn compare(&self, held: &Held) -> io::Result<(Vec<Manifest>, Survey)> {
        let yard = Yard::within(&self.dir);
        // What a killed run had begun to fill in is ours as well.
        let leftovers = match &held.within {
            Some(locked) => locked.leftovers()?,
            None => Vec::new(),
        };
        let begun = leftovers.into_iter().filter(|l| l.finished);
        let earlier = Manifest::read(&self.dir.join(manifest::NAME))?;
        let manifests: Vec<_> = earlier
            .into_iter()
            .chain(begun.map(|l| l.manifest))
            .collect();
        let skip = |name: &str| {
            // A new file system holds a lost+found.
            let left = held.in_place && (yard.left(name) || name == "lost+found");
            left || yard.own(name)
        };
        let found = survey(&self.dir, &manifests, skip)?;
        Ok((manifests, found))
    }

    fn unusable(&self, e: &io::Error) -> Fault {
        self.fault(
            format!("the output folder cannot be used: {e}"),
            "name a folder that can be written with --out",
        )
    }

    fn unwritten(&self, e: &io::Error) -> Fault {
        self.fault(
            format!("the output cannot be written: {e}"),
            "check that the folder can be written and the drive has room",
        )
    }

    fn fault(&self, what: String, mend: &str) -> Fault {
        let place = Place::file(self.shown.clone()).field("--out");
        Fault::new(Kind::File, place, what, mend)
    }
}

impl Drop for Out {
    fn drop(&mut self) {
        for folder in self.made.iter().rev() {
            // Fails where an output, or anything else, is in it.
            let _ = fs::remove_dir(folder);
        }
    }
}

/// True of what says that a folder cannot be moved, or nothing be written
/// beside it.
fn unmoved(e: &io::Error) -> bool {
    matches!(
        e.kind(),
        ErrorKind::PermissionDenied
            | ErrorKind::ReadOnlyFilesystem
            | ErrorKind::ResourceBusy
            | ErrorKind::CrossesDevices
    )
}

/// Gives a new folder the mode and group of an earlier one, before anything is
/// made in it: what is made inherits the group.
#[cfg(unix)]
fn like(new: &Path, earlier: &Path) -> io::Result<()> {
    use std::os::unix::fs::{MetadataExt, chown};
    let about = fs::metadata(earlier)?;
    // What the system does not let this user give stays the user's own.
    if chown(new, Some(about.uid()), Some(about.gid())).is_err() {
        let _ = chown(new, None, Some(about.gid()));
    }
    fs::set_permissions(new, about.permissions())
}

#[cfg(not(unix))]
fn like(_: &Path, _: &Path) -> io::Result<()> {
    Ok(())
}
