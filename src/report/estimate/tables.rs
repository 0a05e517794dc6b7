//! The estimate's rows: what each choice comes to, and each variation of the
//! best.

use super::choices::{Estimate, Tried, Variation, Varied};
use super::figures::Figures;
use crate::fault::Fault;
use crate::job::Job;
use crate::length::{INCH, Show};
use crate::quantity::Quantity::{Area, Long, Mass, Money, Plain, Share, Time};
use crate::quantity::thickness;
use crate::report::table::{Cell, Table};
use crate::stock::same_thickness;

/// A choice that can be made.
pub(super) type Made<'a> = (&'a Tried, &'a Figures);

/// Choices that can be made, best first.
pub(super) fn made(estimate: &Estimate) -> impl Iterator<Item = Made<'_>> {
    let all = estimate.choices.iter();
    all.filter_map(|t| Some((t, t.outcome.as_ref().ok()?)))
}

/// A sum of money, or the words that it is not priced.
fn priced(value: Option<f64>) -> Cell {
    value.map_or_else(|| "not priced".into(), Cell::Figure)
}

/// What a choice costs; a dash where it is priced but others are not, so that
/// the sums cannot be compared.
fn cost(estimate: &Estimate, f: &Figures) -> Cell {
    match f.cost(estimate.counted) {
        None if f.total.cost.is_some() => Cell::Nothing,
        cost => priced(cost),
    }
}

/// What every choice that can be made comes to.
pub(super) fn choices_table<'a>(estimate: &'a Estimate, job: &'a Job) -> Table<'a, Made<'a>> {
    Table::of(job, made(estimate))
        .text("choice", |(t, _)| t.title())
        .count("sheets", |(_, f)| f.total.sheets)
        .count("at least", |(_, f)| f.least.sheets)
        .under("by area")
        .column("yield", Share, |(_, f)| f.total.yield_ratio())
        .column("bought", Mass, |(_, f)| f.total.mass_bought)
        .column("wasted", Mass, |(_, f)| f.total.mass_wasted())
        .count("butts", |(_, f)| f.welds.butts)
        .count("mitres", |(_, f)| f.welds.mitres)
        .column("weld", Long, |(_, f)| f.welds.length)
        .column("cut", Long, |(_, f)| f.cut.cut_length)
        .count("pierces", |(_, f)| f.cut.pierces)
        .column("cut time", Time, |(_, f)| f.cut.time_s)
        .count("holes", |(_, f)| f.cut.drilled)
        .under("to drill")
        .column("marking", Long, |(_, f)| f.cut.mark_length)
        .best(|(t, _)| estimate.is_best(t))
}

/// What every choice that can be made costs.
pub(super) fn cost_table<'a>(estimate: &'a Estimate, job: &'a Job) -> Table<'a, Made<'a>> {
    Table::of(job, made(estimate))
        .text("choice", |(t, _)| t.title())
        .column("plate", Money, |(_, f)| priced(f.total.cost))
        .column("at least", Money, |(_, f)| priced(f.least.cost))
        .column("less scrap", Money, |(_, f)| f.total.scrap_value)
        .column("welding", Money, |(_, f)| priced(f.welds.cost))
        .column("machine time", Money, |(_, f)| priced(f.cutting))
        .column("cost", Money, |(_, f)| cost(estimate, f))
        .column("over the best", Money, |(_, f)| estimate.over_best(f))
        .best(|(t, _)| estimate.is_best(t))
}

/// Variations of one figure; `None` where there are none.
pub(super) fn vary_table<'a>(
    estimate: &'a Estimate,
    of: Varied,
    job: &'a Job,
) -> Option<Table<'a, &'a Variation>> {
    let own: Vec<&Variation> = estimate.variations.iter().filter(|v| v.of == of).collect();
    if own.is_empty() {
        return None;
    }
    let figures = |v: &'a Variation| v.outcome.as_ref().ok();
    let table = Table::of(job, own)
        .text(of.name(), |v| {
            let star = if v.own { " *" } else { "" };
            of.figure(v.value, job.show) + star
        })
        .count("sheets", |v| figures(v).map(|f| f.total.sheets))
        .count("at least", |v| figures(v).map(|f| f.least.sheets))
        .under("by area")
        .column("yield", Share, |v| {
            figures(v).map(|f| f.total.yield_ratio())
        })
        .column("by used length", Share, |v| {
            figures(v).map(|f| f.total.yield_by_used_length())
        })
        .column("offcut", Area, |v| figures(v).map(|f| f.largest_offcut))
        .column("bought", Mass, |v| figures(v).map(|f| f.total.mass_bought))
        .count("butts", |v| figures(v).map(|f| f.welds.butts))
        .column("cost", Money, |v| figures(v).map(|f| cost(estimate, f)))
        .refused(|v| v.outcome.as_ref().err().cloned())
        .best(|v| v.own);
    Some(table)
}

/// Sheets by count and name; of several thicknesses, each with its own.
pub(super) fn sheets(f: &Figures, shown: Show) -> String {
    let first = f.bought.first().map_or(0.0, |b| b.thickness);
    let several = f.bought.iter().any(|b| !same_thickness(b.thickness, first));
    let told = f.bought.iter().map(|b| {
        let thick = if several {
            format!(" ({})", thickness(b.thickness, shown))
        } else {
            String::new()
        };
        format!("{} of {}{thick}", b.count, b.stock)
    });
    told.collect::<Vec<_>>().join(", ")
}

/// Adds every figure, and why a row has none.
fn with_figures<'a, R: Copy>(
    table: Table<'a, R>,
    estimate: &Estimate,
    job: &'a Job,
    outcome: impl Fn(R) -> &'a Result<Figures, String>,
) -> Table<'a, R> {
    let of = |r: R| outcome(r).as_ref().ok();
    table
        .text("effort", |r| of(r).map(|f| f.effort.name()))
        .count("sheets", |r| of(r).map(|f| f.total.sheets))
        .count("sheets_at_least", |r| of(r).map(|f| f.least.sheets))
        .count("parts", |r| of(r).map(|f| f.total.parts))
        .column("yield", Share, |r| of(r).map(|f| f.total.yield_ratio()))
        .column("yield_by_used_length", Share, |r| {
            of(r).map(|f| f.total.yield_by_used_length())
        })
        .column("largest_offcut", Area, |r| of(r).map(|f| f.largest_offcut))
        .column("bought", Mass, |r| of(r).map(|f| f.total.mass_bought))
        .column("used", Mass, |r| of(r).map(|f| f.total.mass_used))
        .column("wasted", Mass, |r| of(r).map(|f| f.total.mass_wasted()))
        .count("butts", |r| of(r).map(|f| f.welds.butts))
        .count("mitres", |r| of(r).map(|f| f.welds.mitres))
        .column("weld", Long, |r| of(r).map(|f| f.welds.length))
        .column("cut", Long, |r| of(r).map(|f| f.cut.cut_length))
        .count("pierces", |r| of(r).map(|f| f.cut.pierces))
        .column("cut_time", Time, |r| of(r).and_then(|f| f.cut.time_s))
        .count("holes_to_drill", |r| of(r).map(|f| f.cut.drilled))
        .column("drill_time", Time, |r| of(r).map(|f| f.cut.drill_time_s))
        .count("holes_too_small", |r| of(r).map(|f| f.cut.small_holes))
        .count("mark_strokes", |r| of(r).map(|f| f.cut.mark_strokes))
        .column("mark", Long, |r| of(r).map(|f| f.cut.mark_length))
        .column("mark_time", Time, |r| of(r).and_then(|f| f.cut.mark_time_s))
        .column("plate", Money, |r| of(r).and_then(|f| f.total.cost))
        .column("plate_at_least", Money, |r| {
            of(r).and_then(|f| f.least.cost)
        })
        .column("scrap_value", Money, |r| of(r).map(|f| f.total.scrap_value))
        .column("welding", Money, |r| of(r).and_then(|f| f.welds.cost))
        .column("cutting", Money, |r| of(r).and_then(|f| f.cutting))
        .column("cost", Money, |r| {
            of(r).and_then(|f| f.cost(estimate.counted))
        })
        .text("currency", |r| of(r).map(|_| &job.prices.currency))
        .refused(|r| outcome(r).as_ref().err().cloned())
}

/// `estimate.csv`: a row a choice, best first.
///
/// # Errors
/// The table could not be written.
pub fn estimate_csv(estimate: &Estimate, job: &Job) -> Result<(String, String), Fault> {
    let table = Table::of(job, estimate.choices.iter().enumerate())
        .count("rank", |(i, t)| t.outcome.as_ref().ok().map(|_| i + 1))
        .text("choice", |(_, t)| &t.name)
        .text("also", |(_, t)| t.also.join("; "))
        .text("supplier", |(_, t)| &t.supplier)
        .text("alloy", |(_, t)| t.alloys.join(" and "))
        .text("process", |(_, t)| &t.process)
        .text("stock", |(_, t)| {
            let made = t.outcome.as_ref().ok();
            made.map(|f| sheets(f, job.show))
        });
    with_figures(table, estimate, job, |(_, t)| &t.outcome).to_csv("estimate.csv")
}

/// `variations.csv`: the best choice with one figure changed, a row each.
///
/// # Errors
/// The table could not be written.
pub fn variations_csv(estimate: &Estimate, job: &Job) -> Result<(String, String), Fault> {
    let (unit, per) = match job.show {
        Show::Mm => ("mm", 1.0),
        Show::FeetInches => ("in", INCH),
    };
    let table = Table::of(job, &estimate.variations)
        .text("varied", |v| v.of.name())
        .column("value", Plain(unit, 3), |v| v.value / per)
        .text("as_it_stands", |v| if v.own { "yes" } else { "no" });
    with_figures(table, estimate, job, |v| &v.outcome).to_csv("variations.csv")
}
