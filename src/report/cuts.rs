//! How the sheets are cut, and what is left of them: text and table.

use super::facts::{remnant_name, sheet_name};
use super::input::{Input, SheetCut};
use super::prose::{across, paragraph};
use super::table::{Cell, Table};
use crate::cut::{Figures, Plan, Rules};
use crate::fault::Fault;
use crate::geom::Vec2;
use crate::job::{Job, Paths, SmallHoles};
use crate::length;
use crate::quantity;
use crate::quantity::Quantity::{Area, Fine, Long, Plain, Speed, Time};
use crate::stock::same_thickness;

/// What the paths show, as the job says it.
pub(super) fn paths_word(paths: Paths) -> &'static str {
    match paths {
        Paths::Net => "net",
        Paths::Compensated => "compensated",
    }
}

/// The sections of `yield.txt` on cutting, drilling and marking.
pub(super) fn cutting_text(input: &Input<'_>) -> String {
    format!(
        "\nORDER AND TIME OF CUTTING\n{}\nDRILLING AND MARKING\n{}",
        cut_text(input),
        bench_text(input)
    )
}

/// Figures by sheet, and of all.
fn by_sheet(input: &Input<'_>) -> Vec<(String, Figures)> {
    let each = input.cuts.iter().enumerate();
    let mut rows: Vec<_> = each
        .map(|(i, cut)| (sheet_name(i + 1), cut.plan.figures))
        .collect();
    rows.push(("in all".to_owned(), SheetCut::total(input.cuts)));
    rows
}

fn cut_text(input: &Input<'_>) -> String {
    let rows = by_sheet(input);
    let table = Table::of(input.job, &rows)
        .text("sheet", |(name, _)| name)
        .count("pierces", |(_, f)| f.pierces)
        .column("cut", Long, |(_, f)| f.cut_length)
        .column("kerf loss", Area, |(_, f)| f.kerf_loss)
        .column("travel", Long, |(_, f)| f.travel)
        .column("as listed", Long, |(_, f)| f.travel_as_listed)
        .column("time", Time, |(_, f)| f.time_s)
        .count("holes", |(_, f)| f.small_holes)
        .under("too small")
        .count("tabs", |(_, f)| f.tabs);
    format!(
        "{}  Profiles {}, as the sheet files hold them.\n{}",
        table.to_text(),
        paths_word(input.job.cutting.paths),
        process_text(input)
    )
}

/// The process's figures in every thickness of the sheets.
fn process_text(input: &Input<'_>) -> String {
    let job = input.job;
    let told = |v: Option<f64>| v.map_or_else(|| "not known".into(), Cell::Figure);
    let rules: Vec<(f64, Rules)> = thicknesses(input)
        .into_iter()
        .map(|t| (t, Rules::of(&job.cutting, t)))
        .collect();
    let known = |r: &Rules| r.speed.or(r.pierce_s).or(r.travel).is_some();
    if !rules.iter().any(|(_, r)| known(r)) {
        return paragraph(&format!(
            "Nothing is known of the process `{}`: for times, give speed_mm_min, pierce_s, \
             travel_mm_min and marking_mm_min under [cutting].",
            job.cutting.process
        ));
    }
    let table = Table::of(job, &rules)
        .column("in plate of", Fine, |(t, _)| *t)
        .column("cut at", Speed, |(_, r)| told(r.speed))
        .column("pierce", Plain("s", 2), |(_, r)| told(r.pierce_s))
        .column("travel at", Speed, |(_, r)| told(r.travel))
        .column("mark at", Speed, |(_, r)| told(r.marking))
        .column("holes too", Fine, |(_, r)| {
            told(Some(r.smallest_hole).filter(|d| *d > 0.0))
        })
        .under("small under");
    table.to_text()
        + &paragraph(
            "What the job does not give is from memory: time a sheet of your own. The table's \
             operator decides.",
        )
}

/// Thicknesses of the sheets that are cut, mm, each once, in their order.
fn thicknesses(input: &Input<'_>) -> Vec<f64> {
    let mut out: Vec<f64> = Vec::new();
    for group in input.nests {
        for sheet in &group.nest.sheets {
            if let Some(stock) = group.job.sheets.get(sheet.stock)
                && !out.iter().any(|&t| same_thickness(t, stock.thickness))
            {
                out.push(stock.thickness);
            }
        }
    }
    out
}

fn bench_text(input: &Input<'_>) -> String {
    let cutting = &input.job.cutting;
    let rows = by_sheet(input);
    let table = Table::of(input.job, &rows)
        .text("sheet", |(name, _)| name)
        .count("holes", |(_, f)| f.drilled)
        .under("to drill")
        .column("time", Time, |(_, f)| f.drill_time_s)
        .count("strokes", |(_, f)| f.mark_strokes)
        .under("to mark")
        .column("marking", Long, |(_, f)| f.mark_length)
        .column("time", Time, |(_, f)| f.mark_time_s);
    let drilled = if cutting.small_holes == SmallHoles::Drill {
        format!(
            "Holes are drilled after cutting, {} s each. ",
            length::trimmed(cutting.drill_s, 1)
        )
    } else {
        String::new()
    };
    table.to_text()
        + &paragraph(&format!(
            "{drilled}Marks are lines, letters and the crosses of holes to drill, with the way \
             between them; neither time is in the time of cutting."
        ))
}

/// Warns once of holes that are cut smaller than the process cuts well; in
/// every thickness, with its own limit.
#[must_use]
pub fn small_holes_warning(job: &Job, plans: &[(f64, &Plan)]) -> Option<String> {
    let count: usize = plans.iter().map(|(_, p)| p.figures.small_holes).sum();
    if count == 0 {
        return None;
    }
    let mut limits: Vec<(f64, String)> = Vec::new();
    for (thickness, plan) in plans {
        if plan.figures.small_holes > 0
            && !limits.iter().any(|(t, _)| same_thickness(*t, *thickness))
        {
            let least = Rules::of(&job.cutting, *thickness).smallest_hole;
            let told = format!(
                "{} in plate of {}",
                quantity::thickness(least, job.show),
                quantity::thickness(*thickness, job.show)
            );
            limits.push((*thickness, told));
        }
    }
    let limits: Vec<String> = limits.into_iter().map(|(_, told)| told).collect();
    let (holes, are) = if count == 1 {
        ("hole", "is")
    } else {
        ("holes", "are")
    };
    Some(format!(
        "{count} {holes} {are} cut by {} below its smallest hole of {}: set cutting.small_holes = \
         \"drill\", or cutting.smallest_hole to what the table cuts well",
        job.cutting.process,
        limits.join(" and ")
    ))
}

/// The section of `yield.txt` on what is worth keeping; empty where nothing is.
pub(super) fn remnants_text(input: &Input<'_>) -> String {
    let show = input.job.show;
    let mut rows = Vec::new();
    for (i, cut) in input.cuts.iter().enumerate() {
        let name = |k| remnant_name(&sheet_name(i + 1), k);
        rows.extend((cut.remnants.iter().enumerate()).map(|(k, r)| (name(k), r)));
    }
    if rows.is_empty() {
        return String::new();
    }
    let table = Table::of(input.job, &rows)
        .text("remnant", |(name, _)| name)
        .text("box", |(_, region)| {
            let (lo, hi) = region.bounds();
            across(hi - lo, show)
        })
        .column("area", Area, |(_, region)| region.area());
    format!(
        "\nOFFCUTS TO KEEP\n{}  Drawn in remnants/, to be named in a later job: [[sheet]] remnant = \"FILE.dxf\".\n",
        table.to_text()
    )
}

/// A cut, or a hole to drill.
struct Step<'a> {
    sheet: String,
    order: usize,
    part: &'a str,
    profile: String,
    at: Vec2,
    /// Length of the cut, mm, and its lead.
    cut: Option<(f64, &'static str)>,
    /// Diameter of the hole, mm.
    drill: Option<f64>,
}

/// `cutting-order.csv`: every cut in order, then the holes to drill; places
/// on the sheet from its lower left corner.
///
/// # Errors
/// The table could not be written.
pub(super) fn cutting_order(input: &Input<'_>) -> Result<(String, String), Fault> {
    let sheets = (input.nests.iter()).flat_map(|g| g.nest.sheets.iter().map(move |s| (g, s)));
    let mut rows: Vec<Step<'_>> = Vec::new();
    for (i, ((group, nested), cut)) in sheets.zip(input.cuts).enumerate() {
        let part = |placed: usize| {
            let index = nested.placed.get(placed).map(|p| p.part);
            let own = index.and_then(|k| input.parts.get(*group.parts.get(k)?));
            own.map_or("", |p| p.name.as_str())
        };
        let before = rows.len();
        let mut step = |placed, profile, at, cut, drill| {
            let order = rows.len() - before + 1;
            rows.push(Step {
                sheet: sheet_name(i + 1),
                order,
                part: part(placed),
                profile,
                at,
                cut,
                drill,
            });
        };
        for s in &cut.plan.steps {
            let whole = match s.hole {
                Some(h) => format!("hole {}", h + 1),
                None => "outer".to_owned(),
            };
            for (k, c) in s.cuts.iter().enumerate() {
                let profile = match s.cuts.len() {
                    1 => whole.clone(),
                    all => format!("{whole}, cut {} of {all}", k + 1),
                };
                let lead = if c.lead_in.is_empty() {
                    "none"
                } else {
                    "lead-in"
                };
                step(
                    s.placed,
                    profile,
                    c.pierce(),
                    Some((c.length(), lead)),
                    None,
                );
            }
        }
        for d in &cut.plan.drills {
            let profile = format!("drill hole {}", d.hole + 1);
            step(d.placed, profile, d.centre, None, Some(d.diameter));
        }
    }
    Table::of(input.job, &rows)
        .text("sheet", |s| &s.sheet)
        .count("order", |s| s.order)
        .text("part", |s| s.part)
        .text("profile", |s| &s.profile)
        .column("pierce_x", Fine, |s| s.at.x)
        .column("pierce_y", Fine, |s| s.at.y)
        .column("cut_length", Fine, |s| s.cut.map(|c| c.0))
        .text("lead", |s| s.cut.map(|c| c.1))
        .column("drill_diameter", Fine, |s| s.drill)
        .to_csv("cutting-order.csv")
}
