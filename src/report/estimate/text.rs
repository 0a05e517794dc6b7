//! The estimate as a person reads it in a terminal.

use super::{CAUTIONS, Estimate, Figures, Varied};
use crate::job::Job;
use crate::length::{Show, number};
use crate::quantity;
use crate::report::cuts::time;
use crate::report::table::{Table, wrapped};
use crate::report::yields::sheets_and_least;
use crate::stock::same_thickness;

/// Letters in a line of running text.
const LINE: usize = 92;
/// What stands where a line has no price.
pub(super) const NO_PRICE: &str = "not priced";

/// `estimate.txt`.
#[must_use]
pub fn estimate_text(estimate: &Estimate, job: &Job) -> String {
    let mut out = format!("ESTIMATE\n{}\n", job.heading());
    if !job.note.is_empty() {
        out.push_str(&format!("{}\n", wrapped(&job.note, LINE, "")));
    }
    out.push_str(&format!(
        "{}\n",
        wrapped(&estimate.efforts.told(), LINE, "")
    ));
    for w in &estimate.warnings {
        out.push_str(&format!(
            "{}\n",
            wrapped(&format!("warning: {w}"), LINE, "  ")
        ));
    }
    out.push_str("\nCHOICES, BEST FIRST\n");
    out.push_str(&table(&heads(job.show), estimate, |f| cells(f, job.show)));
    out.push_str("\nCOST\n");
    out.push_str(&table(&cost_heads(job), estimate, |f| {
        cost_cells(estimate, f)
    }));
    out.push_str("\nWHAT IS BOUGHT\n");
    for t in &estimate.choices {
        if let Ok(f) = &t.outcome {
            let line = format!("{}: {}", t.title(), bought(f, t, job.show));
            out.push_str(&format!("  - {}\n", wrapped(&line, LINE - 4, "    ")));
        }
    }
    if estimate.choices.iter().any(|t| t.outcome.is_err()) {
        out.push_str("\nCANNOT BE MADE\n");
        for t in &estimate.choices {
            if let Err(why) = &t.outcome {
                let line = format!("{}: {why}", t.name);
                out.push_str(&format!("  - {}\n", wrapped(&line, LINE - 4, "    ")));
            }
        }
    }
    out.push_str(&variations(estimate, job));
    out.push_str("\nNOTES\n");
    for note in &estimate.notes {
        out.push_str(&format!("  - {}\n", wrapped(note, LINE - 4, "    ")));
    }
    out.push_str("\nCAUTIONS\n");
    for note in CAUTIONS {
        out.push_str(&format!("  - {}\n", wrapped(note, LINE - 4, "    ")));
    }
    out
}

fn table(
    head: &[(&str, &str)],
    estimate: &Estimate,
    cells: impl Fn(&Figures) -> Vec<String>,
) -> String {
    let mut table = Table::new(head);
    for t in &estimate.choices {
        if let Ok(f) = &t.outcome {
            let mut row = vec![t.title()];
            row.extend(cells(f));
            table.row(row);
        }
    }
    table.text()
}

/// Headings and units of what a choice comes to.
pub(super) fn heads(show: Show) -> Vec<(&'static str, &'static str)> {
    let unit = long_unit(show);
    let mass = quantity::mass_unit(show);
    vec![
        ("choice", ""),
        ("sheets", ""),
        ("at least", "by area"),
        ("yield", "%"),
        ("bought", mass),
        ("wasted", mass),
        ("butts", ""),
        ("mitres", ""),
        ("weld", unit),
        ("cut", unit),
        ("pierces", ""),
        ("cut time", ""),
        ("holes", "to drill"),
        ("marking", unit),
    ]
}

/// What stands under [`heads`], without the choice's name.
pub(super) fn cells(f: &Figures, show: Show) -> Vec<String> {
    vec![
        f.sheets.to_string(),
        f.least.sheets.to_string(),
        number(f.yield_ratio() * 100.0, 1),
        number(quantity::mass_in(f.mass_bought, show), 1),
        number(quantity::mass_in(f.mass_wasted(), show), 1),
        f.welds.butts.to_string(),
        f.welds.mitres.to_string(),
        number(long(f.welds.length, show), 2),
        number(long(f.cut.cut_length, show), 1),
        f.cut.pierces.to_string(),
        time(f.cut.time_s),
        f.cut.drilled.to_string(),
        number(long(f.cut.mark_length, show), 1),
    ]
}

/// Headings and unit of the cost.
pub(super) fn cost_heads(job: &Job) -> Vec<(&'static str, &str)> {
    let mut heads = vec![("choice", "")];
    let lines = [
        "plate",
        "at least",
        "less scrap",
        "welding",
        "machine time",
        "cost",
        "over the best",
    ];
    heads.extend(lines.map(|h| (h, job.prices.currency.as_str())));
    heads
}

/// What stands under [`cost_heads`], without the choice's name.
pub(super) fn cost_cells(estimate: &Estimate, f: &Figures) -> Vec<String> {
    vec![
        money(f.plate),
        money(f.least.cost),
        number(f.scrap, 2),
        money(f.welding),
        money(f.cutting),
        cost(estimate, f),
        estimate
            .over_best(f)
            .map_or_else(|| "-".to_owned(), |v| number(v, 2)),
    ]
}

/// A sum of money, or the word that it is not priced.
pub(super) fn money(value: Option<f64>) -> String {
    value.map_or_else(|| NO_PRICE.to_owned(), |v| number(v, 2))
}

/// What a choice costs; `-` where it is priced but others are not, so that
/// the sums cannot be compared.
fn cost(estimate: &Estimate, f: &Figures) -> String {
    match f.cost(estimate.counted) {
        None if f.plate.is_some() => "-".to_owned(),
        cost => money(cost),
    }
}

/// A long length in metres or feet.
pub(super) fn long(mm: f64, show: Show) -> f64 {
    match show {
        Show::Mm => mm / 1000.0,
        Show::FeetInches => mm / 304.8,
    }
}

/// The unit of [`long`].
pub(super) fn long_unit(show: Show) -> &'static str {
    match show {
        Show::Mm => "m",
        Show::FeetInches => "ft",
    }
}

/// Alloys, process and supplier of a choice, in one line.
fn about(t: &super::Tried, show: Show) -> String {
    let mut out = format!(
        "{}; {}, kerf {}, gap {}",
        t.alloys.join(" and "),
        t.process,
        quantity::thickness(t.kerf, show),
        quantity::thickness(t.gap, show)
    );
    if !t.supplier.is_empty() {
        out.push_str(&format!("; {}", t.supplier));
    }
    out
}

/// Sheets by count and name; of several thicknesses, each with its own.
pub(super) fn sheets(f: &Figures, show: Show) -> String {
    let first = f.bought.first().map_or(0.0, |b| b.thickness);
    let several = f.bought.iter().any(|b| !same_thickness(b.thickness, first));
    let told = f.bought.iter().map(|b| {
        let thick = if several {
            format!(" ({})", quantity::thickness(b.thickness, show))
        } else {
            String::new()
        };
        format!("{} of {}{thick}", b.count, b.stock)
    });
    told.collect::<Vec<_>>().join(", ")
}

/// How many sheets at which effort beside the bound, which they are, then what
/// else is to be said.
pub(super) fn bought(f: &Figures, t: &super::Tried, show: Show) -> String {
    format!(
        "{}, nested at {} effort: {}; {}",
        sheets_and_least(f.sheets, &f.least),
        f.effort.name(),
        sheets(f, show),
        about(t, show)
    )
}

/// Headings of a table of variations.
pub(super) fn vary_heads(of: Varied, job: &Job) -> Vec<(&'static str, &str)> {
    vec![
        (of.name(), ""),
        ("sheets", ""),
        ("at least", "by area"),
        ("yield", "%"),
        ("by used length", "%"),
        ("offcut", quantity::area_unit(job.show)),
        ("bought", quantity::mass_unit(job.show)),
        ("butts", ""),
        ("cost", job.prices.currency.as_str()),
    ]
}

/// What stands under [`vary_heads`], without the varied figure.
pub(super) fn vary_cells(estimate: &Estimate, f: &Figures, show: Show) -> Vec<String> {
    vec![
        f.sheets.to_string(),
        f.least.sheets.to_string(),
        number(f.yield_ratio() * 100.0, 1),
        number(f.yield_by_used_length() * 100.0, 1),
        number(quantity::area_in(f.largest_offcut, show), 2),
        number(quantity::mass_in(f.mass_bought, show), 1),
        f.welds.butts.to_string(),
        cost(estimate, f),
    ]
}

fn variations(estimate: &Estimate, job: &Job) -> String {
    let Some((best, _)) = estimate.best() else {
        return String::new();
    };
    let mut out = String::new();
    for of in Varied::ALL {
        let own: Vec<_> = estimate.variations.iter().filter(|v| v.of == of).collect();
        if own.is_empty() {
            continue;
        }
        if out.is_empty() {
            out.push_str(&format!(
                "\nTHE BEST CHOICE, {}, CHANGED (NESTED AT {} EFFORT)\n",
                best.title(),
                estimate.efforts.variations.name().to_uppercase()
            ));
        } else {
            out.push('\n');
        }
        let mut table = Table::new(&vary_heads(of, job));
        let mut reasons = String::new();
        for v in own {
            let figure = of.figure(v.value, job.show);
            let mut row = vec![if v.own {
                format!("{figure} *")
            } else {
                figure.clone()
            }];
            match &v.outcome {
                Ok(f) => row.extend(vary_cells(estimate, f, job.show)),
                Err(why) => {
                    row.push("cannot".to_owned());
                    let line = format!("{figure}: {why}");
                    reasons.push_str(&format!("  {}\n", wrapped(&line, LINE - 2, "  ")));
                }
            }
            table.row(row);
        }
        out.push_str(&table.text());
        out.push_str(&reasons);
    }
    if !out.is_empty() {
        out.push_str(&format!(
            "  {}\n",
            wrapped(&format!("* {}", estimate.efforts.own_row()), LINE - 2, "  ")
        ));
    }
    out
}
