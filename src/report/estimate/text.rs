//! The estimate as a person reads it in a terminal.

use super::choices::{CAUTIONS, Estimate, Tried, Varied};
use super::figures::Figures;
use super::tables::{choices_table, cost_table, made, sheets, vary_table};
use crate::job::Job;
use crate::length::Show;
use crate::quantity::thickness;
use crate::report::prose::{LINE, heading, items, paragraph, sheets_and_least, warnings, wrapped};

/// `estimate.txt`.
#[must_use]
pub fn estimate_text(estimate: &Estimate, job: &Job) -> String {
    let told = made(estimate).map(|(t, f)| format!("{}: {}", t.title(), bought(f, t, job.show)));
    let mut out = format!(
        "ESTIMATE\n{}{}\n{}\nCHOICES, BEST FIRST\n{}\nCOST\n{}",
        heading(job),
        wrapped(&estimate.efforts.told(), LINE, ""),
        warnings(&estimate.warnings),
        choices_table(estimate, job).to_text(),
        cost_table(estimate, job).to_text()
    );
    out.push_str(&items("WHAT IS BOUGHT", told));
    out.push_str(&items("CANNOT BE MADE", estimate.cannot()));
    out.push_str(&variations(estimate, job));
    out.push_str(&items("NOTES", &estimate.notes));
    out + &items("CAUTIONS", CAUTIONS)
}

/// Alloys, process and supplier of a choice, in one line.
fn about(t: &Tried, show: Show) -> String {
    let mut out = format!(
        "{}; {}, kerf {}, gap {}",
        t.alloys.join(" and "),
        t.process,
        thickness(t.kerf, show),
        thickness(t.gap, show)
    );
    if !t.supplier.is_empty() {
        out.push_str(&format!("; {}", t.supplier));
    }
    out
}

/// How many sheets at which effort beside the bound, which they are, then what
/// else is to be said.
pub(super) fn bought(f: &Figures, t: &Tried, show: Show) -> String {
    format!(
        "{}, nested at {} effort: {}; {}",
        sheets_and_least(f.total.sheets, f.least.sheets),
        f.effort.name(),
        sheets(f, show),
        about(t, show)
    )
}

fn variations(estimate: &Estimate, job: &Job) -> String {
    let tables: Vec<String> = (Varied::ALL.into_iter())
        .filter_map(|of| Some(vary_table(estimate, of, job)?.to_text()))
        .collect();
    let (Some((best, _)), false) = (estimate.best(), tables.is_empty()) else {
        return String::new();
    };
    format!(
        "\nTHE BEST CHOICE, {}, CHANGED (NESTED AT {} EFFORT)\n{}{}",
        best.title(),
        estimate.efforts.variations.name().to_uppercase(),
        tables.join("\n"),
        paragraph(&format!("* {}", estimate.efforts.own_row()))
    )
}
