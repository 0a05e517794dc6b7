//! Every file of the output, as bytes by its name below the folder.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;

use super::cap::cap_files;
use super::cutting::{OnSheets, left_of_sheets, sheet_plans};
use super::flat_job::densities;
use super::floor::floor_pages;
use super::model::{Files, Flattened, Shaped, bytes};
use super::picture::edge_picture;
use super::truth;
use crate::drawing::{Drawing, SheetView, edge_drawing, remnant_drawing, sheet_drawing};
use crate::dxf::ascii;
use crate::fault::{Fault, Faults};
use crate::geom::Vec3;
use crate::job::{Job, Output as Formats};
use crate::layout::Member;
use crate::part::Part;
use crate::report::cuts::small_holes_warning;
use crate::report::edge::faired_edge;
use crate::report::facts::{Basis, Facts, Group, facts, remnant_name};
use crate::report::fairness::{doubted_notice, line_warnings, rulings, survey_warnings};
use crate::report::lists::{MemberRow, lists, members};
use crate::report::summary::summary_json;
use crate::report::yields::yield_text;
use crate::report::{Input, SheetCut};
use crate::survey::Survey;
use crate::write::dxf::dxf;
use crate::write::pdf::pdf;
use crate::write::svg::{part_svg, picture_svg, sheet_svg};

/// The output, with what a short account of it needs.
#[derive(Debug)]
pub struct Output {
    /// Every file.
    pub files: Files,
    /// Areas, masses, yields.
    pub facts: Facts,
    /// What the job's verdicts settled.
    pub notes: Vec<String>,
    /// Warnings of all stages.
    pub warnings: Vec<String>,
    /// Largest refold gap, mm, with the part's name.
    pub worst_gap: Option<(f64, String)>,
}

/// Writes everything.
///
/// # Errors
/// What could not be written, such as a number that is not finite.
pub fn files(job: &Job, shaped: &Shaped, groups: &[Group]) -> Result<Output, Faults> {
    let flat = &shaped.parts[..];
    let parts: Vec<Part> = flat.iter().map(|f| f.part.clone()).collect();
    let gaps: Vec<f64> = flat.iter().map(|f| f.refold_gap).collect();
    let densities = densities(job)?;
    let basis = Basis {
        job,
        parts: &parts,
        nests: groups,
        densities: &densities,
    };
    let ((expected, left), planned) = rayon::join(
        || {
            rayon::join(
                || shaped.layout.expected_fit(&shaped.edge),
                || left_of_sheets(job, groups),
            )
        },
        || {
            let facts = facts(&basis)?;
            let plans = sheet_plans(job, &OnSheets::of(&parts, groups, &facts))?;
            Ok::<_, Fault>((facts, plans))
        },
    );
    let (facts, plans) = planned?;
    let cuts: Vec<SheetCut> = (plans.into_iter().zip(left))
        .map(|(plan, remnants)| SheetCut { plan, remnants })
        .collect();
    let notes = rulings(&shaped.survey);
    let mut warnings = survey_warnings(&shaped.survey, &shaped.edge, job.show);
    let mut later = shaped.layout.warnings.clone();
    later.extend(without_room(flat));
    warnings.extend(line_warnings(&shaped.survey, &shaped.edge, later));
    warnings.extend(plain_letters(job, &shaped.survey));
    if groups.iter().any(|g| g.stopped) {
        warnings.push(STOPPED.to_owned());
    }
    let cut = facts.sheets.iter().zip(&cuts);
    let cut: Vec<_> = cut.map(|(s, c)| (s.stock.thickness, &c.plan)).collect();
    warnings.extend(small_holes_warning(job, &cut));
    warnings.extend(cuts.iter().flat_map(|c| c.plan.warnings.clone()));
    let (cap, no_cap) = cap_files(job, shaped)?;
    warnings.extend(no_cap);
    let on_sheets = OnSheets::of(&parts, groups, &facts);
    let views = sheet_views(job, &on_sheets, &facts, &cuts);
    let (floor, drawings) = rayon::join(
        || floor_pages(job, shaped, &views),
        || drawings(job, shaped, &facts, &cuts, &views),
    );
    let floor = floor?;
    warnings.extend(floor.told());
    let input = Input {
        job,
        survey: &shaped.survey,
        edge: &shaped.edge,
        layout: &shaped.layout,
        expected: &expected,
        parts: &parts,
        refold_gaps: &gaps,
        nests: groups,
        cuts: &cuts,
        butts: shaped.butts.as_ref(),
        notes: &notes,
        warnings: &warnings,
    };
    let (words, floor) = rayon::join(|| words(&input, &facts, shaped), || pdf(&floor.packet));
    let mut files = words?;
    files.extend(drawings?);
    files.extend(cap);
    files.extend(
        flat.iter()
            .map(|f| (format!("parts/{}.dxf", f.part.name), f.dxf.clone())),
    );
    let mut files = bytes(files);
    files.insert("floor-sheets.pdf".to_owned(), floor?);
    let worst_gap = flat
        .iter()
        .map(|f| (f.refold_gap, f.part.name.clone()))
        .max_by(|a, b| a.0.total_cmp(&b.0));
    Ok(Output {
        files,
        facts,
        notes,
        warnings,
        worst_gap,
    })
}

/// The faired edge, the reports and the lists.
fn words(
    input: &Input<'_>,
    facts: &Facts,
    shaped: &Shaped,
) -> Result<BTreeMap<String, String>, Fault> {
    let edge = shaped.edge.places();
    let picture = edge_picture(&edge, &shaped.edge, &shaped.survey);
    let mut files = reports(input, facts)?;
    files.extend([faired_edge(&edge)?]);
    files.insert(
        "faired-edge.svg".to_owned(),
        picture_svg(&edge_drawing(&picture, input.job))?,
    );
    files.insert("lists/bends.csv".to_owned(), shaped.bends.clone());
    let (name, members) = member_list(&shaped.layout.members)?;
    files.insert(format!("lists/{name}"), members);
    Ok(files)
}

/// Drawings of sheets and of what is left of them, and the parts' patterns:
/// the largest first, so that none is waited for.
fn drawings(
    job: &Job,
    shaped: &Shaped,
    facts: &Facts,
    cuts: &[SheetCut],
    views: &[SheetView<'_>],
) -> Result<Vec<(String, String)>, Fault> {
    let mut sheets: Vec<Drawing> = views.iter().map(sheet_drawing).collect();
    if let Some(words) = doubted_notice(&shaped.survey, &shaped.edge.doubts) {
        for sheet in &mut sheets {
            sheet.notice(&words);
        }
    }
    let for_table = |d: &Drawing| Ok((format!("sheets/{}.dxf", d.name), dxf(d, &job.output)?));
    let of_sheet = |d: &Drawing| Ok((format!("sheets/{}.svg", d.name), sheet_svg(d)?));
    let of_part = |f: &Flattened| Ok((format!("parts/{}.svg", f.part.name), part_svg(&f.drawing)?));
    let written: Vec<Result<(String, String), Fault>> = (sheets.par_iter().map(for_table))
        .chain(sheets.par_iter().map(of_sheet))
        .chain(shaped.parts.par_iter().map(of_part))
        .with_max_len(1)
        .collect();
    let mut out: Vec<(String, String)> = written.into_iter().collect::<Result<_, _>>()?;
    out.extend(remnant_files(job, facts, cuts)?);
    Ok(out)
}

/// The summary, the yield report and the lists.
fn reports(input: &Input<'_>, facts: &Facts) -> Result<BTreeMap<String, String>, Fault> {
    let lists = lists(input, facts)?.into_iter();
    let mut files: BTreeMap<_, _> = lists
        .map(|(n, text)| (format!("lists/{n}"), text))
        .collect();
    files.insert("summary.json".to_owned(), summary_json(input, facts)?);
    files.insert("yield.txt".to_owned(), yield_text(input, facts));
    Ok(files)
}

/// Drawings of what is worth keeping, with the layers' plain names: a later
/// job reads them.
fn remnant_files(
    job: &Job,
    facts: &Facts,
    cuts: &[SheetCut],
) -> Result<Vec<(String, String)>, Fault> {
    let formats = Formats {
        layers: BTreeMap::new(),
        ..job.output.clone()
    };
    let mut out = Vec::new();
    for (sheet, cut) in facts.sheets.iter().zip(cuts) {
        for (k, region) in cut.remnants.iter().enumerate() {
            let name = remnant_name(&sheet.name, k);
            let told = [&job.name, &sheet.name, &job.date];
            let told: Vec<&str> = (told.iter().map(|t| t.as_str()))
                .filter(|t| !t.is_empty())
                .collect();
            let from = told.join(", ");
            let stock = &sheet.stock;
            let d = remnant_drawing(&name, region, stock.thickness, &stock.alloy, &from);
            out.push((format!("remnants/{name}.dxf"), dxf(&d, &formats)?));
        }
    }
    Ok(out)
}

/// What each sheet's drawing shows, in the order of the sheets.
fn sheet_views<'a>(
    job: &'a Job,
    groups: &'a [OnSheets<'a>],
    facts: &'a Facts,
    cuts: &'a [SheetCut],
) -> Vec<SheetView<'a>> {
    let nested = (groups.iter()).flat_map(|g| g.group.nest.sheets.iter().map(move |n| (g, n)));
    let all = nested.zip(&facts.sheets).enumerate();
    all.map(|(k, ((group, nested), sheet))| SheetView {
        job,
        name: &sheet.name,
        number: (k + 1, facts.sheets.len()),
        stock: &sheet.stock,
        nested,
        parts: &group.parts,
        masses_kg: &group.masses,
        cut: cuts.get(k).map(|c| &c.plan),
    })
    .collect()
}

/// Said where the search was ended by hand.
const STOPPED: &str = "nesting was stopped before its effort was spent: the best nest found is \
                       written, and the whole search may find a better one";

/// Said where drawings hold names in other letters than the job and its tables.
fn plain_letters(job: &Job, survey: &Survey) -> Option<String> {
    const TOLD: usize = 3;
    let ours = [&job.name, &job.date, &job.note, &job.cutting.process];
    let points = survey.chains.iter().flat_map(|c| &c.points);
    let texts = (ours.into_iter())
        .chain(job.sheets.iter().map(|s| &s.name))
        .chain(job.doublers.iter().map(|d| &d.name))
        .chain(points.map(|p| &p.name));
    let mut seen = BTreeSet::new();
    let changed: Vec<String> = texts
        .filter(|t| seen.insert(*t))
        .filter_map(|t| Some((t, ascii(t))).filter(|(t, plain)| *t != plain))
        .map(|(t, plain)| format!("`{t}` is written `{plain}`"))
        .collect();
    let more = match changed.len().saturating_sub(TOLD) {
        0 => String::new(),
        n => format!(", and {n} more so"),
    };
    let told = changed.iter().take(TOLD).cloned().collect::<Vec<_>>();
    (!changed.is_empty()).then(|| {
        format!(
            "drawings hold plain letters alone, which every reader shows: {}{more}",
            told.join(", ")
        )
    })
}

/// Texts of a part, and parts, that a warning names before it counts the rest.
const NAMED: (usize, usize) = (3, 12);

/// One sentence for all texts that found no room on their parts.
fn without_room(flat: &[Flattened]) -> Option<String> {
    let short: Vec<&Part> = (flat.iter().map(|f| &f.part))
        .filter(|p| !p.left_out.is_empty())
        .collect();
    let count = |parts: &[&Part]| parts.iter().map(|p| p.left_out.len()).sum::<usize>();
    let told = |part: &&Part| {
        let named = part.left_out.len().min(NAMED.0);
        let mut texts: Vec<String> = part.left_out[..named]
            .iter()
            .map(|t| format!("`{t}`"))
            .collect();
        if part.left_out.len() > named {
            texts.push(format!("{} more", part.left_out.len() - named));
        }
        format!("on {} {}", part.name, texts.join(", "))
    };
    let (named, rest) = short.split_at(short.len().min(NAMED.1));
    let mut lines: Vec<String> = named.iter().map(told).collect();
    if !rest.is_empty() {
        let (texts, parts) = (count(rest), rest.len());
        lines.push(format!("and {texts} on {parts} more parts"));
    }
    let all = count(&short);
    let texts = if all == 1 { "text" } else { "texts" };
    (all > 0).then(|| format!("no room for {all} {texts}: {}", lines.join("; ")))
}

/// Furthest apart that places along a member's edges are listed, mm.
const MEMBER_STEP: f64 = 25.0;

fn member_list(all: &[Member]) -> Result<(String, String), Fault> {
    let mut rows = Vec::new();
    for member in all {
        let part = member.name.as_str();
        for (side, places) in truth::boundary(member, MEMBER_STEP) {
            let row = |&at: &Vec3| MemberRow {
                part,
                curve: side.to_owned(),
                at,
                bore: None,
            };
            rows.extend(places.iter().map(row));
        }
        for (k, bore) in truth::bores(member).iter().enumerate() {
            rows.push(MemberRow {
                part,
                curve: format!("hole {}", k + 1),
                at: bore.centre,
                bore: Some((bore.axis, bore.diameter)),
            });
        }
    }
    members(&rows)
}
