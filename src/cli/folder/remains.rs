//! What is left of an earlier output, of a killed run, or of a person in
//! them: removed or kept, and told.

use std::fs;
use std::io;
use std::path::Path;

use super::manifest::{self, Manifest, Survey};
use super::staging::{self, KEPT, Leftover, Yard};
use crate::cli::shell::note;
use crate::limits::quoted;
use crate::pipeline::Files;

/// How many names of a person's files are told.
pub(super) const TOLD: usize = 8;

/// Removes what a killed run left, where nothing else is in it.
pub(super) fn sweep(left: &Leftover) -> bool {
    // What cannot be removed harms nothing.
    let swept = staging::clear(&left.path, &left.manifest, !left.finished).unwrap_or(false);
    if swept {
        note(&format!(
            "what a killed run had left in {} was removed",
            left.path.display()
        ));
    }
    swept
}

/// Removes an output that stood in the place; what is not of it is kept.
pub(super) fn retire(yard: &Yard, before: &Path) {
    let keep = || -> io::Result<()> {
        let earlier = Manifest::read(&before.join(manifest::NAME))?;
        let ours = earlier.is_some();
        let earlier = earlier.unwrap_or_else(|| Manifest::of("", &Files::new()));
        if staging::clear(before, &earlier, false)? {
            return Ok(());
        }
        let kept = yard.aside(KEPT)?;
        fs::rename(before, &kept)?;
        tell_kept(&kept);
        if ours {
            fs::remove_file(kept.join(manifest::NAME))?;
        }
        fs::remove_file(Yard::within(&kept).lock())
    };
    // The new output stands; what cannot be removed now is left to the next run.
    let _ = keep();
}

pub(super) fn tell_kept(kept: &Path) {
    note(&format!(
        "files that this command did not write, or that were changed since, were moved into {}",
        kept.display()
    ));
}

/// What a person did in an output.
pub(super) fn told(found: &Survey) -> String {
    let list = |names: &[String]| {
        let mut out: Vec<String> = names
            .iter()
            .take(TOLD)
            .map(|n| quoted(n).into_owned())
            .collect();
        if names.len() > TOLD {
            out.push(format!("{} more", names.len() - TOLD));
        }
        out.join(", ")
    };
    let mut out = Vec::new();
    if !found.strange.is_empty() {
        let names = list(&found.strange);
        out.push(format!(
            "this command did not write what lies in it: {names}"
        ));
    }
    if !found.changed.is_empty() {
        let names = list(&found.changed);
        out.push(format!("what it wrote was changed since: {names}"));
    }
    out.join("; ")
}
