//! The nest-yield report as a person reads it.

use super::Input;
use super::cautions::usual;
use super::cuts::{cutting_text, remnants_text};
use super::facts::{Facts, SheetFacts, Sums};
use super::table::{Table, wrapped};
use crate::job::Sheet;
use crate::layout::Face;
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
    out.push_str(&flipped_text(input));
    out.push_str(&format!("\nMASS AND COST\n{}", cost_table(input, facts)));
    out.push_str(&cost_note(input, facts));
    out.push_str(&format!(
        "\nCUTTING AND OFFCUTS\n{}",
        cut_table(input, facts)
    ));
    if !input.cuts.is_empty() {
        out.push_str(&format!(
            "\nORDER AND TIME OF CUTTING\n{}",
            cutting_text(input)
        ));
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

/// Parts that lie with their other face up; nothing where none does.
fn flipped_text(input: &Input<'_>) -> String {
    let of = |face: Face| -> Vec<&str> {
        let parts = input.parts.iter().filter(|p| p.flipped && p.face == face);
        parts.map(|p| p.name.as_str()).collect()
    };
    let mut out = String::new();
    for (face, name) in [(Face::Upper, "upper"), (Face::Lower, "lower")] {
        let names = of(face).join(", ");
        if !names.is_empty() {
            let text = format!("Flipped, cut and marked on their {name} face: {names}");
            out.push_str(&format!("  {}\n", wrapped(&text, LINE, "  ")));
        }
    }
    out
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

/// A long length without its unit: metres or feet.
fn long(mm: f64, show: Show) -> String {
    match show {
        Show::Mm => length::number(mm / 1000.0, 2),
        Show::FeetInches => length::number(mm / 304.8, 1),
    }
}

fn long_unit(show: Show) -> &'static str {
    match show {
        Show::Mm => "m",
        Show::FeetInches => "ft",
    }
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

fn cut_table(input: &Input<'_>, facts: &Facts) -> String {
    let show = input.job.show;
    let mut table = Table::new(&[
        ("sheet", ""),
        ("cut length", long_unit(show)),
        ("pierces", ""),
        ("kerf loss", quantity::area_unit(show)),
        ("largest rectangle left", ""),
        ("heaviest part", ""),
    ]);
    let sums = |name: &str, s: &Sums, offcut: String, heaviest: String| {
        vec![
            name.to_owned(),
            long(s.cut_length, show),
            s.pierces.to_string(),
            length::number(quantity::area_in(s.kerf_loss, show), 4),
            offcut,
            heaviest,
        ]
    };
    for sheet in &facts.sheets {
        table.row(sums(
            &sheet.name,
            &sheet.sums,
            offcut_text(sheet, show),
            heaviest_text(input, facts, sheet),
        ));
    }
    table.row(sums("in all", &facts.total, String::new(), String::new()));
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
        ("yield", ""),
        ("yield by used length", ""),
        ("bought", quantity::mass_unit(show)),
        ("cost", currency),
        ("net cost", currency),
    ]);
    for tried in &facts.alone {
        let mut row = vec![stock_name(&tried.stock, show)];
        match &tried.sums {
            Some(s) => row.extend([
                s.sheets.to_string(),
                percent(s.yield_ratio()),
                percent(s.yield_by_used_length()),
                mass(s.mass_bought, show),
                s.cost
                    .map_or_else(|| NO_PRICE.to_owned(), |c| money(Some(c))),
                money(s.net_cost()),
            ]),
            None => row.extend(std::iter::repeat_n("-".to_owned(), 6)),
        }
        table.row(row);
    }
    let mut out = table.text();
    for tried in facts.alone.iter().filter(|a| a.sums.is_none()) {
        let name = stock_name(&tried.stock, show);
        out.push_str(&format!("  {name}: does not hold the parts.\n"));
    }
    out
}
