//! `estimate.json`: every figure, with units in the key names; written down in
//! `docs/estimate.md`.

use serde::Serialize;

use super::{CAUTIONS, Estimate, Figures, Varied};
use crate::fault::Fault;
use crate::job::Job;
use crate::report::json_text;

/// Name and version of the schema. A key taken away or changed in meaning
/// raises the number; a key added does not.
pub const SCHEMA: &str = "planksheer-estimate/1";

#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    job: Head<'a>,
    effort: &'static str,
    variations_effort: &'static str,
    ranked_by: &'static str,
    cost_counts: Vec<&'static str>,
    choices: Vec<Choice<'a>>,
    variations: Vec<Variation<'a>>,
    notes: &'a [String],
    warnings: &'a [String],
    cautions: [&'static str; 4],
}

#[derive(Serialize)]
struct Head<'a> {
    name: &'a str,
    date: &'a str,
    note: &'a str,
    currency: &'a str,
}

#[derive(Serialize)]
struct Choice<'a> {
    rank: Option<usize>,
    name: &'a str,
    also: &'a [String],
    supplier: &'a str,
    alloys: &'a [String],
    process: &'a str,
    kerf_mm: f64,
    gap_mm: f64,
    cannot_be_made: Option<&'a str>,
    figures: Option<Numbers<'a>>,
}

#[derive(Serialize)]
struct Variation<'a> {
    of: Varied,
    value_mm: f64,
    as_it_stands: bool,
    cannot_be_made: Option<&'a str>,
    figures: Option<Numbers<'a>>,
}

#[derive(Serialize)]
struct Bought<'a> {
    stock: &'a str,
    thickness_mm: f64,
    count: usize,
}

#[derive(Serialize)]
struct Numbers<'a> {
    bought: Vec<Bought<'a>>,
    effort: &'static str,
    sheets: usize,
    sheets_at_least: usize,
    mass_at_least_kg: f64,
    plate_at_least: Option<f64>,
    parts: usize,
    sheet_area_mm2: f64,
    used_area_mm2: f64,
    r#yield: f64,
    used_length_area_mm2: f64,
    yield_by_used_length: f64,
    largest_offcut_mm2: f64,
    mass_bought_kg: f64,
    mass_used_kg: f64,
    mass_wasted_kg: f64,
    butts: usize,
    mitres: usize,
    weld_length_mm: f64,
    pierces: usize,
    cut_length_mm: f64,
    cut_time_s: Option<f64>,
    holes_to_drill: usize,
    drill_time_s: f64,
    holes_too_small: usize,
    mark_strokes: usize,
    mark_length_mm: f64,
    mark_time_s: Option<f64>,
    plate: Option<f64>,
    scrap_value: f64,
    welding: Option<f64>,
    cutting: Option<f64>,
    cost: Option<f64>,
    over_best: Option<f64>,
}

fn numbers<'a>(f: &'a Figures, estimate: &Estimate) -> Numbers<'a> {
    Numbers {
        bought: f
            .bought
            .iter()
            .map(|b| Bought {
                stock: &b.stock,
                thickness_mm: b.thickness,
                count: b.count,
            })
            .collect(),
        effort: f.effort.name(),
        sheets: f.sheets,
        sheets_at_least: f.least.sheets,
        mass_at_least_kg: f.least.mass,
        plate_at_least: f.least.cost,
        parts: f.parts,
        sheet_area_mm2: f.sheet_area,
        used_area_mm2: f.used_area,
        r#yield: f.yield_ratio(),
        used_length_area_mm2: f.used_length_area,
        yield_by_used_length: f.yield_by_used_length(),
        largest_offcut_mm2: f.largest_offcut,
        mass_bought_kg: f.mass_bought,
        mass_used_kg: f.mass_used,
        mass_wasted_kg: f.mass_wasted(),
        butts: f.welds.butts,
        mitres: f.welds.mitres,
        weld_length_mm: f.welds.length,
        pierces: f.cut.pierces,
        cut_length_mm: f.cut.cut_length,
        cut_time_s: f.cut.time_s,
        holes_to_drill: f.cut.drilled,
        drill_time_s: f.cut.drill_time_s,
        holes_too_small: f.cut.small_holes,
        mark_strokes: f.cut.mark_strokes,
        mark_length_mm: f.cut.mark_length,
        mark_time_s: f.cut.mark_time_s,
        plate: f.plate,
        scrap_value: f.scrap,
        welding: f.welding,
        cutting: f.cutting,
        cost: f.cost(estimate.counted),
        over_best: estimate.over_best(f),
    }
}

/// `estimate.json`.
///
/// # Errors
/// The text could not be written.
pub fn estimate_json(estimate: &Estimate, job: &Job) -> Result<String, Fault> {
    let why = |outcome: &'_ Result<Figures, String>| outcome.is_err();
    let counted = estimate.counted;
    let mut counts = Vec::new();
    if counted.plate {
        counts.extend(["plate", "scrap_value"]);
        counts.extend(counted.welding.then_some("welding"));
        counts.extend(counted.cutting.then_some("cutting"));
    }
    let document = Document {
        schema: SCHEMA,
        job: Head {
            name: &job.name,
            date: &job.date,
            note: &job.note,
            currency: &job.prices.currency,
        },
        effort: estimate.efforts.choices.name(),
        variations_effort: estimate.efforts.variations.name(),
        ranked_by: if counted.plate { "cost" } else { "mass-bought" },
        cost_counts: counts,
        choices: estimate
            .choices
            .iter()
            .enumerate()
            .map(|(i, t)| Choice {
                rank: (!why(&t.outcome)).then_some(i + 1),
                name: &t.name,
                also: &t.also,
                supplier: &t.supplier,
                alloys: &t.alloys,
                process: &t.process,
                kerf_mm: t.kerf,
                gap_mm: t.gap,
                cannot_be_made: t.outcome.as_ref().err().map(String::as_str),
                figures: t.outcome.as_ref().ok().map(|f| numbers(f, estimate)),
            })
            .collect(),
        variations: estimate
            .variations
            .iter()
            .map(|v| Variation {
                of: v.of,
                value_mm: v.value,
                as_it_stands: v.own,
                cannot_be_made: v.outcome.as_ref().err().map(String::as_str),
                figures: v.outcome.as_ref().ok().map(|f| numbers(f, estimate)),
            })
            .collect(),
        notes: &estimate.notes,
        warnings: &estimate.warnings,
        cautions: CAUTIONS,
    };
    json_text("estimate.json", &document)
}
