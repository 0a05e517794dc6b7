//! Standard output, and `planksheer completions`.

use std::io::{self, Write};
use std::path::Path;

use clap::CommandFactory;

use super::args::Cli;
use crate::fault::{Fault, Faults, Kind, Place};
use crate::limits::quoted;
use crate::pipeline::Files;

/// Prints a completion script.
pub(super) fn completions(shell: clap_complete::Shell) -> Result<(), Faults> {
    let mut text = Vec::new();
    clap_complete::generate(shell, &mut Cli::command(), "planksheer", &mut text);
    print(&text)
}

/// Writes to standard output; a reader that closed its end early is content.
pub(super) fn print(text: &[u8]) -> Result<(), Faults> {
    let mut out = io::stdout().lock();
    heard(out.write_all(text).and_then(|()| out.flush()))
}

/// Writes what a verb says at its end. Where that fails the fault tells that
/// what the verb `made` in a folder, such as `output`, is whole all the same.
pub(super) fn conclude(text: &[u8], made: &str, dir: Option<&Path>) -> Result<(), Faults> {
    print(text).map_err(|mut faults| {
        if let (Some(dir), Some(fault)) = (dir, faults.0.first_mut()) {
            let dir = dir.display().to_string();
            fault.what = format!(
                "the {made} in {dir} is whole; its summary on standard output {}",
                fault.what
            );
            fault.mend = format!("read what is in {dir}, or {}", fault.mend);
            fault.place = Place::file(dir);
        }
        faults
    })
}

/// The same of one of the files that a verb made.
pub(super) fn conclude_with(files: &Files, name: &str, dir: Option<&Path>) -> Result<(), Faults> {
    conclude(files.get(name).map_or(&[], Vec::as_slice), "output", dir)
}

/// A count with its word.
pub(super) fn counted(count: usize, word: &str) -> String {
    let s = if count == 1 { "" } else { "s" };
    format!("{count} {word}{s}")
}

/// What came of writing to standard output.
pub(super) fn heard(written: io::Result<()>) -> Result<(), Faults> {
    match written {
        Err(e) if e.kind() != io::ErrorKind::BrokenPipe => Err(fault(&e).into()),
        _ => Ok(()),
    }
}

/// Writes a line to standard error; where nobody can be told, the work goes on.
pub(super) fn tell(text: &str) {
    let _ = writeln!(io::stderr(), "{text}");
}

/// Writes a note to standard error, in one line whatever its names hold.
pub(super) fn note(text: &str) {
    tell(&format!("note: {}", quoted(text)));
}

fn fault(e: &io::Error) -> Fault {
    let what = format!("cannot be written: {e}");
    let mend = "send the output to a place with room";
    Fault::new(Kind::File, Place::file("standard output"), what, mend)
}
