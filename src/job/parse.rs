//! From the text of a job file to a [`Job`].

use toml::de::DeTable;

use super::bulwark::*;
use super::check::cross_check;
use super::cutting::{Remnants, cutting};
use super::keys::JOB;
use super::lists::each_once;
use super::model::Job;
use super::output::Output;
use super::paper::{floor_paper, paper};
use super::prices::{Choice, choices, prices};
use super::sheet::sheets;
use super::stated::{Held, Stated};
use super::surveyed::survey;
use super::syntax;
use super::table::Table;
use super::text::Reader;
use crate::fault::Faults;
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
    let mut reader = Reader::new(file, text, folder);
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
    let job = job(&table, file);
    cross_check(&job, &reader);
    (Some(job), reader.into_faults())
}

fn job(root: &Table<'_, '_>, file: &str) -> Job {
    let reader = root.reader;
    let show = root.chosen("show");
    reader.show.set(show);
    // First of all, since it says how the places of the others count.
    let mut survey = survey(&root.table("survey"));
    let fairing = fairing(&root.table("fairing"), &mut survey);
    let on_base = root.table("base");
    let base = Plate::of(&on_base);
    *reader.base_plate.borrow_mut() = (base.thickness, base.alloy.clone());
    let on_top = root.table("top");
    let sheets = sheets(root);
    *reader.sheets.borrow_mut() = (sheets.iter())
        .map(|s| (s.name.clone(), s.alloy.clone()))
        .collect();
    let cutting = cutting(&root.table("cutting"));
    let estimate = choices(&root.table("estimate"), &cutting);
    let priced = sheets.iter().any(|s| s.price.is_some()) || estimate.iter().any(Choice::priced);
    let (written, printed) = (root.table("output"), root.table("paper"));
    let usual = Tolerance::default();
    Job {
        file: file.to_owned(),
        places: reader.places.clone(),
        name: root.text("name").unwrap_or_default(),
        date: root.date("date").unwrap_or_default(),
        note: root.text("note").unwrap_or_default(),
        show,
        survey,
        fairing,
        check: Check::of(&root.table("check")),
        bulwark: Bulwark::of(&root.table("bulwark")),
        base,
        bedding: on_base.figure("bedding"),
        base_fasteners: Held::held(&on_base, "fasteners"),
        top: Plate::of(&on_top),
        top_slope: top_slope(&on_top),
        top_fasteners: Held::held(&on_top, "fasteners"),
        section: Section::of(&root.table("section")),
        cap: Cap::of(&root.table("cap")),
        stanchions: Stanchions::of(&root.table("stanchions")),
        joints: Joints::of(&root.table("joints")),
        doublers: each_once(&root.tables("doubler"), Doubler::of, |d| &d.name),
        keep_clear: each_once(&root.tables("keep_clear"), KeepClear::of, |k| &k.name),
        runs: stretches(root, "run"),
        gaps: stretches(root, "gap"),
        cutting,
        remnants: Remnants::of(&root.table("remnants")),
        prices: prices(&root.table("prices"), priced),
        sheets,
        estimate,
        output: Output::of(&written),
        paper: paper(&printed),
        floor_paper: floor_paper(&printed),
        floor_sections: printed.texts("sections").unwrap_or_default(),
        tolerance: Tolerance {
            outline_mm: written
                .maybe("outline_tolerance")
                .unwrap_or(usual.outline_mm),
            ..usual
        },
    }
}
