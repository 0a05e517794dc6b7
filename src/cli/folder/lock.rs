//! A lock on a folder that runs hold one after another, also runs that cannot
//! see each other's processes; the system frees it when its owner dies.

use std::fs::{self, File, TryLockError};
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::{Duration, Instant};

/// How long another run may hold it: it writes some hundred small files under
/// it, seconds on the slowest drive.
const PATIENCE: Duration = Duration::from_secs(60);
/// How often it is tried.
const STEP: Duration = Duration::from_millis(20);

/// A held lock; dropped, it is free and its file is gone.
#[derive(Debug)]
pub(super) struct Lock {
    file: File,
    path: PathBuf,
    /// False on a file system that knows no locks.
    pub held: bool,
}

impl Lock {
    /// Takes the lock whose file has a path.
    ///
    /// # Errors
    /// Where the file cannot be made or is somebody's, or another run holds
    /// the lock for a minute.
    pub(super) fn take(path: &Path) -> io::Result<Self> {
        let begun = Instant::now();
        // A link is another's: what it leads to is not opened.
        if path.symlink_metadata().is_ok_and(|m| !m.is_file()) {
            let what = format!("{} is not a lock of this tool", path.display());
            return Err(io::Error::other(what));
        }
        loop {
            // One that another user's run left can be locked, if only read.
            let file = File::options()
                .write(true)
                .create(true)
                .truncate(false)
                .open(path)
                .or_else(|e| match e.kind() {
                    // One that is not there is the first error's matter.
                    ErrorKind::PermissionDenied => File::open(path).map_err(|_| e),
                    _ => Err(e),
                })?;
            let held = match file.try_lock() {
                Ok(()) => true,
                Err(TryLockError::WouldBlock) if begun.elapsed() < PATIENCE => {
                    sleep(STEP);
                    continue;
                }
                Err(TryLockError::WouldBlock) => {
                    return Err(io::Error::new(
                        ErrorKind::TimedOut,
                        "another run is writing there and does not end",
                    ));
                }
                Err(TryLockError::Error(_)) => false,
            };
            // The last owner may have removed what was opened.
            let mine = same(&file, path)?;
            if !mine && begun.elapsed() >= PATIENCE {
                let what = format!("{} does not stay the file that was opened", path.display());
                return Err(io::Error::new(ErrorKind::TimedOut, what));
            }
            if !mine {
                sleep(STEP);
            }
            if mine {
                if file.metadata()?.len() > 0 {
                    let what = format!("{} is not a lock of this tool", path.display());
                    return Err(io::Error::other(what));
                }
                let path = path.to_path_buf();
                return Ok(Self { file, path, held });
            }
        }
    }
}

impl Drop for Lock {
    fn drop(&mut self) {
        // The folder it lies in may have been moved: then it is not there. An
        // empty file that cannot be removed harms nothing.
        if same(&self.file, &self.path).unwrap_or(false) {
            let _ = fs::remove_file(&self.path);
        }
    }
}

/// True where the path leads to the open file.
#[cfg(unix)]
fn same(file: &File, path: &Path) -> io::Result<bool> {
    use std::os::unix::fs::MetadataExt;
    let opened = file.metadata()?;
    match fs::symlink_metadata(path) {
        Ok(named) => Ok((named.dev(), named.ino()) == (opened.dev(), opened.ino())),
        Err(e) if e.kind() == ErrorKind::NotFound => Ok(false),
        Err(e) => Err(e),
    }
}

/// An open file cannot be removed there, nor another take its name.
#[cfg(not(unix))]
fn same(_: &File, path: &Path) -> io::Result<bool> {
    path.try_exists()
}
