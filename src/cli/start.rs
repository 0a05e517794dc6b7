//! `planksheer start`: a commented starter job.

use std::fs::{self, File};
use std::io::Write;
use std::path::Path;

use super::shell;
use crate::fault::{Fault, Faults, Kind, Place};
use crate::job::{STARTER, STARTER_EDGE, STARTER_EDGE_NAME};

/// The files of the starter job.
const FILES: [(&str, &str); 2] = [("job.toml", STARTER), (STARTER_EDGE_NAME, STARTER_EDGE)];

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
    for (name, _) in FILES {
        let path = dir.join(name);
        if path.exists() {
            let e = std::io::Error::from(std::io::ErrorKind::AlreadyExists);
            return Err(io(&path, &e).into());
        }
    }
    for (name, text) in FILES {
        let path = dir.join(name);
        // Never over what came there since.
        File::create_new(&path)
            .and_then(|mut file| file.write_all(text.as_bytes()))
            .map_err(|e| io(&path, &e))?;
    }
    let said = format!(
        "wrote a starter job into {}\nbuild it with: planksheer build {} --out {}\n",
        dir.display(),
        dir.join("job.toml").display(),
        dir.join("out").display()
    );
    shell::conclude(said.as_bytes(), "starter job", Some(dir))
}
