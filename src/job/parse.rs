//! From the text of a job file to a [`Job`].

use toml::de::DeTable;

use super::check::cross_check;
use super::cutting::{cutting, output, remnants};
use super::keys::JOB;
use super::model::Job;
use super::paper::Paper;
use super::parts::*;
use super::prices::{choices, prices};
use super::sheets::sheets;
use super::shop::Choice;
use super::syntax;
use super::table::Table;
use super::takeoff::{fairing, survey};
use super::text::Reader;
use crate::fault::Faults;
use crate::length::Show;
use crate::tolerance::Tolerance;

/// The job in the text of a job file. `file` is its name as the user gave it,
/// `folder` the folder against which its survey paths are resolved.
///
/// # Errors
/// Every fault of the file in one pass, each with line, column and the key's
/// full name: syntax, unknown keys with the nearest known one, missing keys,
/// lengths without unit, figures out of range, contradictions, a section that
/// does not hold together, and plates that no listed sheet can give.
pub fn parse(text: &str, file: &str, folder: &str) -> Result<Job, Faults> {
    match read(text, file, folder) {
        (Some(job), faults) if faults.0.is_empty() => Ok(job),
        (_, faults) => Err(faults),
    }
}

/// The same; a job that has faults with what could be read of it, such as the files
/// that it names. `None` of a text that does not follow the format.
#[must_use]
pub fn read(text: &str, file: &str, folder: &str) -> (Option<Job>, Faults) {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut reader = Reader::new(file, text);
    let (root, errors) = DeTable::parse_recoverable(text);
    let errors: Vec<(usize, &str)> = errors
        .iter()
        .map(|e| (e.span().map_or(0, |s| s.start), e.message()))
        .collect();
    for fault in syntax::faults(text, &reader, &errors) {
        reader.push(fault);
    }
    if !reader.clean() {
        return (None, reader.into_faults());
    }
    reader.index(root.get_ref());
    let table = Table::new(&reader, String::new(), JOB, Some(root.get_ref()));
    let job = job(&table, file, folder);
    cross_check(&job, &reader);
    (Some(job), reader.into_faults())
}

fn job(root: &Table<'_, '_>, file: &str, folder: &str) -> Job {
    let show = root.chosen("show");
    root.reader.set_show(show);
    // First of all, since it says how the places of the others count.
    let mut survey = survey(&root.table("survey"), show, folder);
    let fairing = fairing(&root.table("fairing"), &mut survey);
    let (base, bedding, base_fasteners) = base(&root.table("base"));
    let (top, top_slope, top_fasteners) = top(&root.table("top"));
    let sheets = sheets(&root.tables("sheet"), &base, folder);
    let cutting = cutting(&root.table("cutting"));
    let estimate = choices(&root.table("estimate"), &sheets, &cutting);
    let priced = sheets.iter().any(|s| s.price.is_some()) || estimate.iter().any(Choice::priced);
    let (output, outline_mm) = output(&root.table("output"), show);
    Job {
        file: file.to_owned(),
        places: root.reader.places.clone(),
        name: root.text("name").unwrap_or_default(),
        date: root.date("date").unwrap_or_default(),
        note: root.text("note").unwrap_or_default(),
        show,
        survey,
        fairing,
        check: tacked(&root.table("check")),
        bulwark: bulwark(&root.table("bulwark")),
        bedding,
        top,
        top_slope,
        section: section(&root.table("section")),
        stanchions: stanchions(&root.table("stanchions")),
        base_fasteners,
        top_fasteners,
        joints: joints(&root.table("joints")),
        doublers: doublers(&root.tables("doubler"), &base),
        keep_clear: keep_clear(&root.tables("keep_clear")),
        runs: stretches(&root.tables("run"), "run"),
        gaps: stretches(&root.tables("gap"), "gap"),
        base,
        cutting,
        remnants: remnants(&root.table("remnants")),
        prices: prices(&root.table("prices"), &sheets, priced),
        sheets,
        estimate,
        output,
        paper: paper(&root.table("paper"), show),
        floor_paper: floor_paper(&root.table("paper"), show),
        tolerance: Tolerance {
            outline_mm,
            ..Tolerance::default()
        },
    }
}

/// What floor sheets are printed on.
fn floor_paper(t: &Table<'_, '_>, show: Show) -> Paper {
    let usual = Paper::floor(show);
    let Some(size) = t.text("floor_sheets") else {
        return usual;
    };
    let asked = Paper::of(&size, usual.margin, usual.overlap, show);
    asked.and_then(|p| p.for_floor(show)).unwrap_or_else(|e| {
        t.fault(e.kind, "floor_sheets", e.what, e.mend);
        usual
    })
}

/// The shop's paper.
fn paper(t: &Table<'_, '_>, show: Show) -> Paper {
    let usual = Paper::usual(show);
    let size = t.text("size");
    let (margin, overlap) = (t.figure("margin"), t.figure("overlap"));
    let asked = size.as_deref().unwrap_or(&usual.name);
    Paper::of(asked, margin, overlap, show).unwrap_or_else(|e| {
        // A figure at fault was told when it was read.
        if !t.faulty(e.key) {
            t.fault(e.kind, e.key, e.what, e.mend);
        }
        usual
    })
}
