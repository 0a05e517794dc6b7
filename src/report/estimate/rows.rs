//! The estimate as tables for a spreadsheet, in the units that the job shows.

use super::text::{long, long_unit, sheets};
use super::{Estimate, Figures};
use crate::fault::Fault;
use crate::job::Job;
use crate::length::{Show, number};
use crate::quantity;
use crate::report::csv_text;

/// Headings of the figures.
fn figure_heads(show: Show) -> Vec<String> {
    let (mass, unit) = (quantity::mass_unit(show), long_unit(show));
    let area = quantity::area_unit(show);
    [
        "effort".to_owned(),
        "sheets".to_owned(),
        "sheets_at_least".to_owned(),
        "parts".to_owned(),
        "yield_percent".to_owned(),
        "yield_by_used_length_percent".to_owned(),
        format!("largest_offcut_{area}"),
        format!("bought_{mass}"),
        format!("used_{mass}"),
        format!("wasted_{mass}"),
        "butts".to_owned(),
        "mitres".to_owned(),
        format!("weld_{unit}"),
        format!("cut_{unit}"),
        "pierces".to_owned(),
        "cut_time_min".to_owned(),
        "holes_to_drill".to_owned(),
        "drill_time_min".to_owned(),
        "holes_too_small".to_owned(),
        "mark_strokes".to_owned(),
        format!("mark_{unit}"),
        "mark_time_min".to_owned(),
        "plate".to_owned(),
        "plate_at_least".to_owned(),
        "scrap_value".to_owned(),
        "welding".to_owned(),
        "cutting".to_owned(),
        "cost".to_owned(),
        "currency".to_owned(),
    ]
    .to_vec()
}

/// An amount, empty where there is none.
fn amount(value: Option<f64>) -> String {
    value.map_or_else(String::new, |v| number(v, 2))
}

fn minutes(seconds: Option<f64>) -> String {
    amount(seconds.map(|s| s / 60.0))
}

fn figure_cells(f: &Figures, estimate: &Estimate, job: &Job) -> Vec<String> {
    let show = job.show;
    let mass = |kg: f64| number(quantity::mass_in(kg, show), 2);
    vec![
        f.effort.name().to_owned(),
        f.sheets.to_string(),
        f.least.sheets.to_string(),
        f.parts.to_string(),
        number(f.yield_ratio() * 100.0, 2),
        number(f.yield_by_used_length() * 100.0, 2),
        number(quantity::area_in(f.largest_offcut, show), 3),
        mass(f.mass_bought),
        mass(f.mass_used),
        mass(f.mass_wasted()),
        f.welds.butts.to_string(),
        f.welds.mitres.to_string(),
        number(long(f.welds.length, show), 3),
        number(long(f.cut.cut_length, show), 2),
        f.cut.pierces.to_string(),
        minutes(f.cut.time_s),
        f.cut.drilled.to_string(),
        minutes(Some(f.cut.drill_time_s)),
        f.cut.small_holes.to_string(),
        f.cut.mark_strokes.to_string(),
        number(long(f.cut.mark_length, show), 2),
        minutes(f.cut.mark_time_s),
        amount(f.plate),
        amount(f.least.cost),
        number(f.scrap, 2),
        amount(f.welding),
        amount(f.cutting),
        amount(f.cost(estimate.counted)),
        job.prices.currency.clone(),
    ]
}

/// Figures, or as many empty cells with the reason in a last one.
fn outcome(outcome: &Result<Figures, String>, estimate: &Estimate, job: &Job) -> Vec<String> {
    match outcome {
        Ok(f) => {
            let mut cells = figure_cells(f, estimate, job);
            cells.push(String::new());
            cells
        }
        Err(why) => {
            let mut cells = vec![String::new(); figure_heads(job.show).len()];
            cells.push(why.clone());
            cells
        }
    }
}

/// `estimate.csv`: a row a choice, best first.
///
/// # Errors
/// The table could not be written.
pub fn estimate_csv(estimate: &Estimate, job: &Job) -> Result<String, Fault> {
    let mut header: Vec<String> = [
        "rank", "choice", "also", "supplier", "alloy", "process", "stock",
    ]
    .map(str::to_owned)
    .to_vec();
    header.extend(figure_heads(job.show));
    header.push("cannot_be_made".to_owned());
    let mut rows = Vec::new();
    for (i, t) in estimate.choices.iter().enumerate() {
        let made = t.outcome.as_ref().ok();
        let mut row = vec![
            made.map_or_else(String::new, |_| (i + 1).to_string()),
            t.name.clone(),
            t.also.join("; "),
            t.supplier.clone(),
            t.alloys.join(" and "),
            t.process.clone(),
            made.map_or_else(String::new, |f| sheets(f, job.show)),
        ];
        row.extend(outcome(&t.outcome, estimate, job));
        rows.push(row);
    }
    csv_text("estimate.csv", &header, &rows)
}

/// `variations.csv`: the best choice with one figure changed, a row each.
///
/// # Errors
/// The table could not be written.
pub fn variations_csv(estimate: &Estimate, job: &Job) -> Result<String, Fault> {
    let unit = match job.show {
        Show::Mm => ("mm", 1.0),
        Show::FeetInches => ("in", quantity::MM_PER_IN),
    };
    let mut header = vec![
        "varied".to_owned(),
        format!("value_{}", unit.0),
        "as_it_stands".to_owned(),
    ];
    header.extend(figure_heads(job.show));
    header.push("cannot_be_made".to_owned());
    let rows: Vec<Vec<String>> = estimate
        .variations
        .iter()
        .map(|v| {
            let mut row = vec![
                v.of.name().to_owned(),
                number(v.value / unit.1, 3),
                if v.own { "yes" } else { "no" }.to_owned(),
            ];
            row.extend(outcome(&v.outcome, estimate, job));
            row
        })
        .collect();
    csv_text("variations.csv", &header, &rows)
}
