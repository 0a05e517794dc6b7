//! Reading a job and its survey files.

use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use crate::fault::{Fault, Faults, Kind, Place};
use crate::job::{self, Job, SurveyFile, TableForm};
use crate::pipeline::drawing_text;

/// How to mend a path of the command line that leads nowhere.
pub(super) const GIVEN: &str =
    "check the name and the folder: it is looked for from where the command is run";
/// How to mend one that a job names.
const NAMED: &str = "check the name and the folder; paths in a job are relative to the job file";

/// A job with the text of its survey files.
#[derive(Debug)]
pub(super) struct Input {
    pub job: Job,
    pub tables: Vec<(SurveyFile, String)>,
    /// Every file that was read.
    pub paths: Vec<PathBuf>,
}

/// Reads a job file and everything it names.
pub(super) fn read(path: &Path) -> Result<Input, Faults> {
    let file = path.display().to_string();
    let text = read_text(path, &file, "the job file", GIVEN)?;
    let folder = path.parent().unwrap_or_else(|| Path::new(""));
    let mut job = job::parse(&text, &file, &folder.display().to_string())?;
    let mut tables = Vec::new();
    let mut faults = Vec::new();
    let mut remnants = Vec::new();
    for drawing in job.sheets.iter().filter_map(|s| s.remnant.as_ref()) {
        let path = Path::new(&drawing.path);
        match read_bytes(path, &drawing.path, "the drawing of the remnant", NAMED) {
            Ok(bytes) => remnants.push((drawing.path.clone(), drawing_text(bytes))),
            Err(f) => faults.push(f),
        }
    }
    if faults.is_empty()
        && let Err(e) = job.take_remnants(&remnants)
    {
        faults.extend(e.0);
    }
    for survey in &job.survey.files {
        let path = Path::new(&survey.path);
        let text = match survey.form {
            TableForm::Dxf => {
                read_bytes(path, &survey.path, "the drawing", NAMED).map(drawing_text)
            }
            _ => read_text(path, &survey.path, "the survey file", NAMED),
        };
        match text {
            Ok(text) => tables.push((survey.clone(), text)),
            Err(f) => faults.push(f),
        }
    }
    let drawn = job.sheets.iter().filter_map(|s| s.remnant.as_ref());
    let surveyed = job.survey.files.iter().map(|f| &f.path);
    let named = drawn.map(|r| &r.path).chain(surveyed).map(PathBuf::from);
    let paths = std::iter::once(path.to_path_buf()).chain(named).collect();
    if faults.is_empty() {
        Ok(Input { job, tables, paths })
    } else {
        Err(Faults(faults))
    }
}

fn read_bytes(path: &Path, name: &str, what: &str, mend: &str) -> Result<Vec<u8>, Fault> {
    let fault = |why: String, mend: &str| Fault::new(Kind::File, Place::file(name), why, mend);
    // A device or a pipe may never end.
    if std::fs::metadata(path).is_ok_and(|m| !m.is_file() && !m.is_dir()) {
        return Err(fault(
            format!("{what} is no ordinary file"),
            "save it as a file and name that",
        ));
    }
    std::fs::read(path).map_err(|e| {
        fault(
            format!("{what} cannot be read: {e}"),
            match e.kind() {
                ErrorKind::NotFound => mend,
                _ => "check that it is a file that may be read",
            },
        )
    })
}

/// A text file; a line may end as on any machine, in the text it ends in a
/// line feed.
pub(super) fn read_text(path: &Path, name: &str, what: &str, mend: &str) -> Result<String, Fault> {
    let bytes = read_bytes(path, name, what, mend)?;
    let text = String::from_utf8(bytes).map_err(|e| {
        let good = e.utf8_error().valid_up_to();
        let line = e.as_bytes()[..good].iter().filter(|&&b| b == b'\n').count() + 1;
        Fault::new(
            Kind::Syntax,
            Place::file(name).line(line),
            format!("{what} is not UTF-8 text"),
            "save it again as plain text in UTF-8",
        )
    })?;
    Ok(if text.contains('\r') {
        text.replace("\r\n", "\n").replace('\r', "\n")
    } else {
        text
    })
}
