//! `planksheer start`: a commented starter job.

use std::fs;
use std::path::Path;

use crate::fault::{Fault, Faults, Kind, Place};
use crate::job::starter;

/// Writes the starter job into a folder; never over a file that is there.
pub(super) fn run(dir: &Path) -> Result<(), Faults> {
    let io = |path: &Path, e: &std::io::Error| {
        Fault::new(
            Kind::File,
            Place::file(path.display().to_string()),
            format!("the starter job cannot be written: {e}"),
            "name a new folder, or one without a job in it, that can be written",
        )
    };
    fs::create_dir_all(dir).map_err(|e| io(dir, &e))?;
    for (name, _) in starter::FILES {
        let path = dir.join(name);
        if path.exists() {
            let e = std::io::Error::from(std::io::ErrorKind::AlreadyExists);
            return Err(io(&path, &e).into());
        }
    }
    for (name, text) in starter::FILES {
        let path = dir.join(name);
        fs::write(&path, text).map_err(|e| io(&path, &e))?;
    }
    say(dir);
    Ok(())
}

#[expect(clippy::print_stdout, reason = "the verb's answer")]
fn say(dir: &Path) {
    let job = dir.join("job.toml");
    println!("wrote a starter job into {}", dir.display());
    println!(
        "build it with: planksheer build {} --out {}",
        job.display(),
        dir.join("out").display()
    );
}
