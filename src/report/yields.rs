//! The nest-yield report as a person reads it.

use super::cautions::{Caution, usual};
use super::cuts::{cutting_text, remnants_text};
use super::facts::{Facts, SheetFacts, Sums};
use super::input::Input;
use super::prose::{across, heading, items, paragraph, sheets_and_least};
use super::table::{Cell, Table};
use crate::job::Sheet;
use crate::length::{Show, number};
use crate::quantity::Quantity::{Area, Length, Mass, Money, Share};
use crate::quantity::{mass, thickness};

/// What stands where there is no price.
const NO_PRICE: &str = "no price given";

/// `yield.txt`.
#[must_use]
pub fn yield_text(input: &Input<'_>, facts: &Facts) -> String {
    let (job, cutting) = (input.job, &input.job.cutting);
    let fine = |mm| thickness(mm, job.show);
    let mut out = format!(
        "NEST YIELD\n{}{}: kerf {}, gap {}, edge margin {}\n\nYIELD\n{}",
        heading(job),
        cutting.process,
        fine(cutting.kerf),
        fine(cutting.gap),
        fine(cutting.edge_margin),
        yield_table(input, facts)
    );
    out.push_str(&paragraph(
        "Net area: outlines less holes. Used length: to the furthest part and the edge margin \
         beyond it.",
    ));
    out.push_str(&paragraph(&format!(
        "Nested at {} effort: {}. By area: the parts' net area over what lies inside the margins \
         of the largest sheets on offer.",
        facts.effort.name(),
        sheets_and_least(facts.total.sheets, facts.least.sheets)
    )));
    out.push_str(&format!("\nMASS AND COST\n{}", cost_table(input, facts)));
    out.push_str(&cost_note(input, facts));
    out.push_str(&format!(
        "\nLARGEST OFFCUT AND HEAVIEST PART\n{}",
        offcut_table(input, facts)
    ));
    if !input.cuts.is_empty() {
        out.push_str(&cutting_text(input));
        out.push_str(&remnants_text(input));
    }
    if let Some(butts) = input.butts {
        out.push_str("\nBUTTS CHOSEN WITH THE NEST (each cutting nested at quick effort)\n");
        out.push_str(&butts.text(job));
    }
    if !facts.alone.is_empty() {
        out.push_str("\nTHE SAME PARTS ON ONE SIZE OF SHEET ALONE\n");
        out.push_str(&alone_table(input, facts));
    }
    out.push_str(&items("NOTES", input.notes));
    out.push_str(&items("WARNINGS", input.warnings));
    let cautions = usual(&input.layout.bulwarks, job.show);
    out + &items("CAUTIONS", cautions.iter().map(Caution::sentence))
}

fn stock_name(stock: &Sheet, shown: Show) -> String {
    let thick = thickness(stock.thickness, shown);
    format!("{}, {thick}, {}", stock.name, stock.alloy)
}

/// Every sheet's name and sums, and those of all.
fn by_sheet(facts: &Facts) -> impl Iterator<Item = (Option<&SheetFacts>, &Sums)> {
    let each = facts.sheets.iter().map(|s| (Some(s), &s.sums));
    each.chain([(None, &facts.total)])
}

fn sheet_or_all(sheet: Option<&SheetFacts>) -> &str {
    sheet.map_or("in all", |s| &s.name)
}

fn yield_table(input: &Input<'_>, facts: &Facts) -> String {
    Table::of(input.job, by_sheet(facts))
        .text("sheet", |(sheet, _)| sheet_or_all(sheet))
        .text("stock", |(sheet, sums)| match sheet {
            Some(s) => stock_name(&s.stock, input.job.show),
            None => format!("sheets: {}", sums.sheets),
        })
        .count("parts", |(_, s)| s.parts)
        .column("net area", Area, |(_, s)| s.used_area)
        .column("sheet area", Area, |(_, s)| s.sheet_area)
        .column("yield", Share, |(_, s)| s.yield_ratio())
        .column("used length", Length, |(sheet, _)| {
            sheet.map_or(Cell::from(""), |s| s.used_length.into())
        })
        .column("by used length", Share, |(_, s)| s.yield_by_used_length())
        .to_text()
}

fn cost_table(input: &Input<'_>, facts: &Facts) -> String {
    Table::of(input.job, by_sheet(facts))
        .text("sheet", |(sheet, _)| sheet_or_all(sheet))
        .column("bought", Mass, |(_, s)| s.mass_bought)
        .column("used", Mass, |(_, s)| s.mass_used)
        .column("wasted", Mass, |(_, s)| s.mass_wasted())
        .column("cost", Money, |(_, s)| s.cost)
        .column("scrap value", Money, |(_, s)| s.scrap_value)
        .column("net cost", Money, |(_, s)| s.net_cost())
        .to_text()
}

fn cost_note(input: &Input<'_>, facts: &Facts) -> String {
    let (prices, shown) = (&input.job.prices, input.job.show);
    let mut out = paragraph(&format!(
        "Scrap at {} {} per {} of what is wasted.",
        number(prices.scrap_per_kg * Mass.unit(shown), 2),
        prices.currency,
        Mass.head(shown)
    ));
    let unpriced = facts.sheets.iter().filter(|s| s.sums.cost.is_none());
    let without: Vec<&str> = unpriced.map(|s| s.name.as_str()).collect();
    if !without.is_empty() {
        out.push_str(&paragraph(&format!(
            "{NO_PRICE} for {}",
            without.join(", ")
        )));
    }
    out
}

fn offcut_table(input: &Input<'_>, facts: &Facts) -> String {
    let shown = input.job.show;
    Table::of(input.job, &facts.sheets)
        .text("sheet", |s| &s.name)
        .text("largest rectangle left", |s| {
            s.offcut
                .map_or("none".to_owned(), |r| across(r.size, shown))
        })
        .text("heaviest part", |s| {
            let found = s.heaviest;
            let found = found.and_then(|i| Some((input.parts.get(i)?, facts.parts.get(i)?)));
            found.map_or(String::new(), |(p, f)| {
                format!("{}, {}", p.name, mass(f.mass, shown))
            })
        })
        .to_text()
}

fn alone_table(input: &Input<'_>, facts: &Facts) -> String {
    let shown = input.job.show;
    let mut out = Table::of(input.job, &facts.alone)
        .text("sheet", |a| stock_name(&a.stock, shown))
        .count("sheets", |a| a.sums.as_ref().map(|s| s.sheets))
        .count("at least", |a| a.sums.as_ref().map(|_| a.least.sheets))
        .under("by area")
        .text("effort", |a| a.sums.as_ref().map(|_| a.effort.name()))
        .column("yield", Share, |a| a.sums.as_ref().map(Sums::yield_ratio))
        .column("by used length", Share, |a| {
            a.sums.as_ref().map(Sums::yield_by_used_length)
        })
        .column("bought", Mass, |a| a.sums.as_ref().map(|s| s.mass_bought))
        .column("cost", Money, |a| {
            a.sums
                .as_ref()
                .map(|s| s.cost.map_or(NO_PRICE.into(), Cell::from))
        })
        .column("net cost", Money, |a| {
            a.sums.as_ref().and_then(Sums::net_cost)
        })
        .to_text();
    for tried in facts.alone.iter().filter(|a| a.sums.is_none()) {
        let name = stock_name(&tried.stock, shown);
        out.push_str(&paragraph(&format!("{name}: does not hold the parts.")));
    }
    if let Some(tried) = facts.alone.iter().find(|a| a.effort != facts.effort) {
        out.push_str(&paragraph(&format!(
            "Nested at {} effort, the sheets above at {}: compare these with each other, and not \
             with those; a longer search may need fewer sheets.",
            tried.effort.name(),
            facts.effort.name()
        )));
    }
    out
}
