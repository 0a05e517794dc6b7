//! The nest-yield report as a person reads it.

use super::Input;
use super::cautions::usual;
use super::cuts::{cutting_text, remnants_text};
use super::facts::{Facts, Least, SheetFacts, Sums};
use super::table::{Table, wrapped};
use crate::job::Sheet;
use crate::length::{self, Show};
use crate::quantity;

/// Letters in a line of running text.
const LINE: usize = 92;
/// What stands where there is no price.
const NO_PRICE: &str = "no price given";

/// `yield.txt`.
#[must_use]
pub fn yield_text(input: &Input<'_>, facts: &Facts) -> String {
    let job = input.job;
    let mut out = format!("NEST YIELD\n{}\n", job.heading());
    if !job.note.is_empty() {
        out.push_str(&format!("{}\n", wrapped(&job.note, LINE, "")));
    }
    out.push_str(&format!(
        "{}: kerf {}, gap {}, edge margin {}\n",
        job.cutting.process,
        quantity::thickness(job.cutting.kerf, job.show),
        quantity::thickness(job.cutting.gap, job.show),
        quantity::thickness(job.cutting.edge_margin, job.show),
    ));
    out.push_str(&format!("\nYIELD\n{}", yield_table(facts, job.show)));
    out.push_str(
        "  Net area: outlines less holes. Used length: to the furthest part and the edge\n  \
         margin beyond it.\n",
    );
    out.push_str(&format!(
        "  Nested at {} effort: {}. By area: the parts' net area over what\n  \
         lies inside the margins of the largest sheets on offer.\n",
        facts.effort.name(),
        sheets_and_least(facts.total.sheets, &facts.least)
    ));
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
        out.push_str(&butts.text(&job.prices.currency, job.show));
    }
    if !facts.alone.is_empty() {
        out.push_str("\nTHE SAME PARTS ON ONE SIZE OF SHEET ALONE\n");
        out.push_str(&alone_table(input, facts));
    }
    for (heading, said) in [("NOTES", input.notes), ("WARNINGS", input.warnings)] {
        if !said.is_empty() {
            out.push_str(&format!("\n{heading}\n"));
        }
        for sentence in said {
            out.push_str(&format!("  - {}\n", wrapped(sentence, LINE - 4, "    ")));
        }
    }
    out.push_str("\nCAUTIONS\n");
    for c in usual(input.sides, job.show) {
        let text = format!("{}. {} [{}]", c.subject, c.text, c.source);
        out.push_str(&format!("  - {}\n", wrapped(&text, LINE - 4, "    ")));
    }
    out
}

/// Sheets beside the bound by area, in words.
pub(super) fn sheets_and_least(sheets: usize, least: &Least) -> String {
    let s = if sheets == 1 { "" } else { "s" };
    format!("{sheets} sheet{s}, {} at least by area", least.sheets)
}

fn percent(ratio: f64) -> String {
    format!("{} %", length::number(ratio * 100.0, 1))
}

fn area(mm2: f64, show: Show) -> String {
    length::number(quantity::area_in(mm2, show), 3)
}

fn mass(kg: f64, show: Show) -> String {
    length::number(quantity::mass_in(kg, show), 1)
}

fn money(value: Option<f64>) -> String {
    value.map_or_else(|| "-".to_owned(), |v| length::number(v, 2))
}

fn stock_name(stock: &Sheet, show: Show) -> String {
    format!(
        "{}, {}, {}",
        stock.name,
        quantity::thickness(stock.thickness, show),
        stock.alloy
    )
}

fn yield_table(facts: &Facts, show: Show) -> String {
    let unit = quantity::area_unit(show);
    let mut table = Table::new(&[
        ("sheet", ""),
        ("stock", ""),
        ("parts", ""),
        ("net area", unit),
        ("sheet area", unit),
        ("yield", ""),
        ("used length", ""),
        ("yield by", "used length"),
    ]);
    let row = |name: &str, stock: String, used: String, s: &Sums| {
        vec![
            name.to_owned(),
            stock,
            s.parts.to_string(),
            area(s.used_area, show),
            area(s.sheet_area, show),
            percent(s.yield_ratio()),
            used,
            percent(s.yield_by_used_length()),
        ]
    };
    for sheet in &facts.sheets {
        let used = length::show(sheet.used_length, show);
        table.row(row(
            &sheet.name,
            stock_name(&sheet.stock, show),
            used,
            &sheet.sums,
        ));
    }
    let count = format!("sheets: {}", facts.total.sheets);
    table.row(row("in all", count, String::new(), &facts.total));
    table.text()
}

fn cost_table(input: &Input<'_>, facts: &Facts) -> String {
    let show = input.job.show;
    let unit = quantity::mass_unit(show);
    let currency = input.job.prices.currency.as_str();
    let mut table = Table::new(&[
        ("sheet", ""),
        ("bought", unit),
        ("used", unit),
        ("wasted", unit),
        ("cost", currency),
        ("scrap value", currency),
        ("net cost", currency),
    ]);
    let mut row = |name: &str, s: &Sums| {
        table.row(vec![
            name.to_owned(),
            mass(s.mass_bought, show),
            mass(s.mass_used, show),
            mass(s.mass_wasted(), show),
            money(s.cost),
            money(Some(s.scrap_value)),
            money(s.net_cost()),
        ]);
    };
    for sheet in &facts.sheets {
        row(&sheet.name, &sheet.sums);
    }
    row("in all", &facts.total);
    table.text()
}

fn cost_note(input: &Input<'_>, facts: &Facts) -> String {
    let without: Vec<&str> = facts
        .sheets
        .iter()
        .filter(|s| s.sums.cost.is_none())
        .map(|s| s.name.as_str())
        .collect();
    let prices = &input.job.prices;
    let show = input.job.show;
    let mut out = format!(
        "  Scrap at {} {} per {} of what is wasted.\n",
        length::number(prices.scrap_per_kg / quantity::mass_in(1.0, show), 2),
        prices.currency,
        quantity::mass_unit(show)
    );
    if !without.is_empty() {
        let text = format!("{NO_PRICE} for {}", without.join(", "));
        out.push_str(&format!("  {}\n", wrapped(&text, LINE, "  ")));
    }
    out
}

fn offcut_table(input: &Input<'_>, facts: &Facts) -> String {
    let mut table = Table::new(&[
        ("sheet", ""),
        ("largest rectangle left", ""),
        ("heaviest part", ""),
    ]);
    for sheet in &facts.sheets {
        table.row(vec![
            sheet.name.clone(),
            offcut_text(sheet, input.job.show),
            heaviest_text(input, facts, sheet),
        ]);
    }
    table.text()
}

fn offcut_text(sheet: &SheetFacts, show: Show) -> String {
    sheet.offcut.map_or_else(
        || "none".to_owned(),
        |r| {
            format!(
                "{} x {}",
                length::show(r.size.x, show),
                length::show(r.size.y, show)
            )
        },
    )
}

fn heaviest_text(input: &Input<'_>, facts: &Facts, sheet: &SheetFacts) -> String {
    let found = sheet
        .heaviest
        .and_then(|i| Some((input.parts.get(i)?, facts.parts.get(i)?)));
    found.map_or_else(String::new, |(p, f)| {
        format!("{}, {}", p.name, quantity::mass(f.mass, input.job.show))
    })
}

fn alone_table(input: &Input<'_>, facts: &Facts) -> String {
    let show = input.job.show;
    let currency = input.job.prices.currency.as_str();
    let mut table = Table::new(&[
        ("sheet", ""),
        ("sheets", ""),
        ("at least", "by area"),
        ("effort", ""),
        ("yield", ""),
        ("yield by", "used length"),
        ("bought", quantity::mass_unit(show)),
        ("cost", currency),
        ("net cost", currency),
    ]);
    for tried in &facts.alone {
        let mut row = vec![stock_name(&tried.stock, show)];
        match &tried.sums {
            Some(s) => row.extend([
                s.sheets.to_string(),
                tried.least.sheets.to_string(),
                tried.effort.name().to_owned(),
                percent(s.yield_ratio()),
                percent(s.yield_by_used_length()),
                mass(s.mass_bought, show),
                s.cost
                    .map_or_else(|| NO_PRICE.to_owned(), |c| money(Some(c))),
                money(s.net_cost()),
            ]),
            None => row.extend(std::iter::repeat_n("-".to_owned(), 8)),
        }
        table.row(row);
    }
    let mut out = table.text();
    for tried in facts.alone.iter().filter(|a| a.sums.is_none()) {
        let name = stock_name(&tried.stock, show);
        out.push_str(&format!("  {name}: does not hold the parts.\n"));
    }
    if let Some(tried) = facts.alone.iter().find(|a| a.effort != facts.effort) {
        let text = format!(
            "Nested at {} effort, the sheets above at {}: compare these with each other, and not \
             with those; a longer search may need fewer sheets.",
            tried.effort.name(),
            facts.effort.name()
        );
        out.push_str(&format!("  {}\n", wrapped(&text, LINE, "  ")));
    }
    out
}
