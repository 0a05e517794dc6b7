//! Reading a job and its survey files.

use std::io::{ErrorKind, Read};
use std::path::{Path, PathBuf};

use crate::fault::{Fault, Faults, Kind, Place};
use crate::job::{self, Job, SurveyFile, TableForm};
use crate::limits::{FILE_BYTES, JOB_BYTES, LINE_BYTES};
use crate::pipeline::drawing_text;

/// How to mend a path of the command line that leads nowhere.
pub(super) const GIVEN: &str =
    "check the name and the folder: it is looked for from where the command is run";
/// How to mend one that a job names.
const NAMED: &str = "check the name and the folder; paths in a job are relative to the job file";

/// A job with the text of its survey files. All that comes of it names files
/// as the job does, from the job's folder: the same job gives the same bytes
/// wherever the command is run from.
#[derive(Debug)]
pub(super) struct Input {
    pub job: Job,
    pub tables: Vec<(SurveyFile, String)>,
    /// Every file that was read.
    pub paths: Vec<PathBuf>,
    /// Name in the job of each, in their order.
    names: Vec<String>,
}

impl Input {
    /// Another file, beside those of the job: the name it goes by.
    pub(super) fn add(&mut self, path: &Path) -> String {
        let typed = path.display().to_string();
        let short = path.file_name().map(|n| n.to_string_lossy().into_owned());
        let name = short.filter(|n| !self.names.contains(n)).unwrap_or(typed);
        self.paths.push(path.to_path_buf());
        self.names.push(name.clone());
        name
    }

    /// Problems with the path of their file as a shell finds it.
    pub(super) fn located(&self, faults: Faults) -> Faults {
        located(faults, &self.names, &self.paths)
    }
}

fn located(mut faults: Faults, names: &[String], paths: &[PathBuf]) -> Faults {
    for place in faults.0.iter_mut().map(|f| &mut f.place) {
        let known = names.iter().zip(paths).find(|(n, _)| **n == place.file);
        if let Some((_, path)) = known {
            place.file = path.display().to_string();
        }
    }
    faults
}

/// As [`read`], of a job that is to be cut: with a sheet for every plate.
pub(super) fn read_to_cut(path: &Path) -> Result<Input, Faults> {
    let input = read(path)?;
    match job::stock_faults(&input.job) {
        none if none.is_empty() => Ok(input),
        faults => Err(input.located(Faults(faults))),
    }
}

/// Reads a job file and everything it names. Files that are not there are told
/// before what else is wrong with the job.
pub(super) fn read(path: &Path) -> Result<Input, Faults> {
    let typed = path.display().to_string();
    let bytes = read_bytes(path, &typed, "the job file", GIVEN, JOB_BYTES)?;
    let text = text_of(bytes, &typed, "the job file")?;
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let folder = path.parent().unwrap_or_else(|| Path::new(""));
    let (mut names, mut paths) = (vec![name.to_string()], vec![path.to_path_buf()]);
    let (job, wrong) = job::read(&text, &name, "");
    let Some(mut job) = job else {
        return Err(located(wrong, &names, &paths));
    };
    let mut tables = Vec::new();
    let mut faults = Vec::new();
    let mut remnants = Vec::new();
    let drawings = job.sheets.iter().filter_map(|s| s.remnant.as_ref());
    for drawing in drawings.filter(|d| !d.path.is_empty()) {
        let path = folder.join(&drawing.path);
        let what = "the drawing of the remnant";
        match read_bytes(&path, &drawing.path, what, NAMED, FILE_BYTES) {
            Ok(bytes) => remnants.push((drawing.path.clone(), drawing_text(bytes))),
            Err(f) => faults.push(asked_for(f, &drawing.place, &path)),
        }
        names.push(drawing.path.clone());
        paths.push(path);
    }
    if faults.is_empty() && wrong.0.is_empty() {
        let taken = job.take_remnants(&remnants);
        faults.extend(taken.err().unwrap_or_default().0);
    }
    let surveys = job.survey.files.iter();
    for survey in surveys.filter(|f| !f.path.is_empty()) {
        let path = folder.join(&survey.path);
        let text = match survey.form {
            TableForm::Dxf => {
                read_bytes(&path, &survey.path, "the drawing", NAMED, FILE_BYTES).map(drawing_text)
            }
            _ => read_text(&path, &survey.path, "the survey file", NAMED),
        };
        match text {
            Ok(text) => tables.push((survey.clone(), text)),
            Err(f) => faults.push(asked_for(f, &survey.place, &path)),
        }
        names.push(survey.path.clone());
        paths.push(path);
    }
    if !wrong.0.is_empty() {
        // How they are read may be what is wrong.
        faults.retain(|f| f.kind == Kind::File);
        faults.extend(wrong.0);
    }
    if !faults.is_empty() {
        return Err(located(Faults(faults), &names, &paths));
    }
    Ok(Input {
        job,
        tables,
        paths,
        names,
    })
}

/// What keeps a file as a whole from being read lies where the job asks for it.
fn asked_for(mut fault: Fault, asked: &Place, path: &Path) -> Fault {
    if fault.kind == Kind::File && fault.place.line.is_none() {
        fault.what = format!("{}: {}", path.display(), fault.what);
        fault.place = asked.clone();
    }
    fault
}

/// Bytes of a file of at most `most`, in lines that a reader can take.
fn read_bytes(
    path: &Path,
    name: &str,
    what: &str,
    mend: &str,
    most: u64,
) -> Result<Vec<u8>, Fault> {
    let fault = |why: String, mend: &str| Fault::new(Kind::File, Place::file(name), why, mend);
    let unread = |e: std::io::Error| {
        let mend = match e.kind() {
            ErrorKind::NotFound => mend,
            _ => "check that it is a file that may be read",
        };
        fault(format!("{what} cannot be read: {e}"), mend)
    };
    // A device or a pipe may never end.
    let found = std::fs::metadata(path).map_err(unread)?;
    if !found.is_file() && !found.is_dir() {
        let what = format!("{what} is no ordinary file");
        return Err(fault(what, "save it as a file and name that"));
    }
    let large = || {
        let what = format!("{what} is larger than {} MB", most >> 20);
        let mend = "check that it is the right file; give the part of it that is needed";
        fault(what, mend)
    };
    if found.len() > most {
        return Err(large());
    }
    let mut bytes = Vec::new();
    let mut file = std::fs::File::open(path).map_err(unread)?.take(most + 1);
    file.read_to_end(&mut bytes).map_err(unread)?;
    if bytes.len() as u64 > most {
        return Err(large());
    }
    if let Some((line, length)) = long_line(&bytes) {
        let what = format!("the line has {length} bytes, and may have {LINE_BYTES}");
        let mut fault = fault(what, "check that it is the right file; break the line");
        fault.place.line = Some(line);
        return Err(fault);
    }
    Ok(bytes)
}

/// Number and length of the first line that is too long.
fn long_line(bytes: &[u8]) -> Option<(usize, usize)> {
    let mut number = 1;
    let mut rest = bytes;
    while !rest.is_empty() {
        let end = rest.iter().position(|b| matches!(b, b'\n' | b'\r'));
        let length = end.unwrap_or(rest.len());
        if length > LINE_BYTES {
            return Some((number, length));
        }
        let both = rest[length..].starts_with(b"\r\n");
        rest = rest
            .get(length + 1 + usize::from(both)..)
            .unwrap_or_default();
        number += 1;
    }
    None
}

/// A text file; a line may end as on any machine, in the text it ends in a
/// line feed.
pub(super) fn read_text(path: &Path, name: &str, what: &str, mend: &str) -> Result<String, Fault> {
    text_of(read_bytes(path, name, what, mend, FILE_BYTES)?, name, what)
}

fn text_of(bytes: Vec<u8>, name: &str, what: &str) -> Result<String, Fault> {
    let text = String::from_utf8(bytes).map_err(|e| {
        let good = e.utf8_error().valid_up_to();
        let line = e.as_bytes()[..good].iter().filter(|&&b| b == b'\n').count() + 1;
        let what = format!("{what} is not UTF-8 text");
        let mend = "save it again as plain text in UTF-8";
        Fault::new(Kind::Syntax, Place::file(name).line(line), what, mend)
    })?;
    Ok(match text.contains('\r') {
        true => text.replace("\r\n", "\n").replace('\r', "\n"),
        false => text,
    })
}
