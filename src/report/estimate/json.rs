//! `estimate.json`: every figure, with units in the key names; written down in
//! `docs/estimate.md`.

use serde_json::{Value, json};

use super::choices::{CAUTIONS, Estimate, Tried, Variation};
use super::figures::{Bought, Figures};
use crate::fault::Fault;
use crate::job::Job;
use crate::report::json::json_text;

/// Name and version of the schema. A key taken away or changed in meaning
/// raises the number; a key added does not.
pub const SCHEMA: &str = "planksheer-estimate/1";

fn figures(f: &Figures, estimate: &Estimate) -> Value {
    let bought =
        |b: &Bought| json!({ "stock": b.stock, "thickness_mm": b.thickness, "count": b.count });
    json!({
        "bought": f.bought.iter().map(bought).collect::<Vec<_>>(),
        "effort": f.effort.name(),
        "sheets": f.total.sheets,
        "sheets_at_least": f.least.sheets,
        "mass_at_least_kg": f.least.mass,
        "plate_at_least": f.least.cost,
        "parts": f.total.parts,
        "sheet_area_mm2": f.total.sheet_area,
        "used_area_mm2": f.total.used_area,
        "yield": f.total.yield_ratio(),
        "used_length_area_mm2": f.total.used_length_area,
        "yield_by_used_length": f.total.yield_by_used_length(),
        "largest_offcut_mm2": f.largest_offcut,
        "mass_bought_kg": f.total.mass_bought,
        "mass_used_kg": f.total.mass_used,
        "mass_wasted_kg": f.total.mass_wasted(),
        "butts": f.welds.butts,
        "mitres": f.welds.mitres,
        "weld_length_mm": f.welds.length,
        "pierces": f.cut.pierces,
        "cut_length_mm": f.cut.cut_length,
        "cut_time_s": f.cut.time_s,
        "holes_to_drill": f.cut.drilled,
        "drill_time_s": f.cut.drill_time_s,
        "holes_too_small": f.cut.small_holes,
        "mark_strokes": f.cut.mark_strokes,
        "mark_length_mm": f.cut.mark_length,
        "mark_time_s": f.cut.mark_time_s,
        "plate": f.total.cost,
        "scrap_value": f.total.scrap_value,
        "welding": f.welds.cost,
        "cutting": f.cutting,
        "cost": f.cost(estimate.counted),
        "over_best": estimate.over_best(f),
    })
}

fn choice((i, t): (usize, &Tried), estimate: &Estimate) -> Value {
    let made = t.outcome.as_ref().ok();
    json!({
        "rank": made.map(|_| i + 1),
        "name": t.name,
        "also": t.also,
        "supplier": t.supplier,
        "alloys": t.alloys,
        "process": t.process,
        "kerf_mm": t.kerf,
        "gap_mm": t.gap,
        "cannot_be_made": t.outcome.as_ref().err(),
        "figures": made.map(|f| figures(f, estimate)),
    })
}

fn variation(v: &Variation, estimate: &Estimate) -> Value {
    json!({
        "of": v.of,
        "value_mm": v.value,
        "as_it_stands": v.own,
        "cannot_be_made": v.outcome.as_ref().err(),
        "figures": v.outcome.as_ref().ok().map(|f| figures(f, estimate)),
    })
}

/// `estimate.json`.
///
/// # Errors
/// The text could not be made ([`crate::fault::Kind::File`]).
pub fn estimate_json(estimate: &Estimate, job: &Job) -> Result<String, Fault> {
    let counted = estimate.counted;
    let mut counts = Vec::new();
    if counted.plate {
        counts.extend(["plate", "scrap_value"]);
        counts.extend(counted.welding.then_some("welding"));
        counts.extend(counted.cutting.then_some("cutting"));
    }
    let choices = estimate.choices.iter().enumerate();
    let variations = estimate.variations.iter();
    let document = json!({
        "schema": SCHEMA,
        "job": {
            "name": job.name,
            "date": job.date,
            "note": job.note,
            "currency": job.prices.currency,
        },
        "effort": estimate.efforts.choices.name(),
        "variations_effort": estimate.efforts.variations.name(),
        "ranked_by": if counted.plate { "cost" } else { "mass-bought" },
        "cost_counts": counts,
        "choices": choices.map(|t| choice(t, estimate)).collect::<Vec<_>>(),
        "variations": variations.map(|v| variation(v, estimate)).collect::<Vec<_>>(),
        "notes": estimate.notes,
        "warnings": estimate.warnings,
        "cautions": CAUTIONS,
    });
    json_text("estimate.json", &document)
}
