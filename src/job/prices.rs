//! Prices, and choices of stock with theirs, in the job's currency.

use std::collections::BTreeMap;

use super::bulwark::Joints;
use super::cutting::{Cutting, PARTS_APART, changed};
use super::key_kind::*;
use super::key_kind::{Absent::*, Quantity::*};
use super::lists::each_once;
use super::stated::{Stated, table};
use super::table::Table;
use crate::fault::{Kind, Refused};
use crate::limits::SHEETS;
use crate::stock::{self, nearest};

table! {
    /// Prices in the job's currency.
    #[derive(Debug, Clone, PartialEq, Default)]
    pub struct Prices {
        currency: String = Text, Else("required with any price"), "as printed";
        /// By alloy.
        per_kg: BTreeMap<String, f64> = Prices("alloy"), Else("none"), "of plate per kg, where a sheet has no price", by_alloy;
        scrap_per_kg: f64 = Price("per kg"), Is("0"), "what scrap brings; no more than the plate costs";
        cutting_per_hour: Option<f64> = Price("per hour"), Else("not priced"), "the cutting machine with its crew, for [estimates](estimate.md)";
        weld: Option<WeldPrice> = Table(WeldPrice::KEYS), Else("not priced"), "what welded butts cost";
    }

    /// What the welding of butts costs, in the job's currency. No figure is built
    /// in: filler, time and wages are the shop's own.
    #[derive(Debug, Clone, Copy, PartialEq)]
    pub struct WeldPrice {
        filler_per_kg: f64 = Price("per kg"), Required, "filler wire; 0 leaves it out", one_of_five;
        filler_kg_per_m: f64 = Number(NONE_OR_MORE, "kg/m"), Required, "filler laid in a metre of weld, all passes; 0 leaves it out", one_of_five;
        labour_per_hour: f64 = Price("per hour"), Required, "labour; 0 leaves it out", one_of_five;
        minutes_per_m: f64 = Number(NONE_OR_MORE, "min/m"), Required, "time for a metre of weld, all passes; 0 leaves it out", one_of_five;
        prep_minutes_per_butt: f64 = Number(NONE_OR_MORE, "min"), Required, "time to prepare and dress one butt; 0 leaves it out", one_of_five;
    }
}

#[rustfmt::skip] // A key a line.
pub(super) const ESTIMATE: &[Key] = &[
    key("choice", Tables(CHOICE, SHEETS), Else("each size on offer, and all together"), "choices of stock, supplier and process"),
];

const OF_JOB: Absent = Else("the job's");
const fn of_cutting(key: &str) -> Key {
    named(Cutting::KEYS, key)
}

const OF_PROCESS: Absent = Else("by the process named, or the job's");

#[rustfmt::skip] // A key a line or two.
const CHOICE: &[Key] = &[
    key("name", Text, Required, "its name in reports"),
    key("supplier", Text, Else("none"), "who offers it, in reports"),
    key("sheets", Texts, Else("all on offer"), "names of the sheets to use; of an alloy and thickness of which it names none, all are used"),
    key("alloy", Alloy, OF_JOB, "of every plate part; sheets of it must be listed"),
    named(Joints::KEYS, "longest_piece").or(OF_JOB),
    key("process", Process, OF_JOB, "another one than the job's brings its own kerf, gap, speeds and smallest hole"),
    of_cutting("kerf").or(OF_PROCESS),
    of_cutting("gap").or(Told(|| format!("kerf + {PARTS_APART} mm with another process, or the job's"))),
    of_cutting("speed_mm_min").or(OF_PROCESS),
    of_cutting("pierce_s").or(OF_PROCESS),
    of_cutting("travel_mm_min").or(OF_PROCESS),
    of_cutting("marking_mm_min").or(OF_PROCESS),
    of_cutting("drill_s").or(OF_JOB),
    named(Prices::KEYS, "cutting_per_hour").or(OF_JOB),
    key("per_kg", Prices("alloy"), OF_JOB, "the supplier's price of plate per kg; stands in place of the sheets' own prices"),
    key("per_sheet", Prices("name of a sheet"), Else("none"), "the supplier's price of a sheet"),
    named(Prices::KEYS, "scrap_per_kg").or(OF_JOB),
];

impl WeldPrice {
    /// Cost of one welded butt of a length, mm, in the job's currency: filler
    /// and labour by the metre, and the labour of its preparation.
    #[must_use]
    pub fn butt(&self, length: f64) -> f64 {
        let metres = length / 1000.0;
        let minutes = metres * self.minutes_per_m + self.prep_minutes_per_butt;
        metres * self.filler_kg_per_m * self.filler_per_kg + minutes / 60.0 * self.labour_per_hour
    }
}

/// A choice of stock, supplier and process. What it does not give is the job's.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Choice {
    /// Name in reports.
    pub name: String,
    /// Who offers it; may be empty.
    pub supplier: String,
    /// Names of the sheets to use; of an alloy and thickness of which none is
    /// named, all on offer are used.
    pub sheets: Vec<String>,
    /// Alloy of every plate part, in place of the job's.
    pub alloy: Option<String>,
    /// Greatest length of a piece along its edge, mm.
    pub longest_piece: Option<f64>,
    /// How it is cut, whole, where it is cut otherwise than the job says.
    pub cutting: Option<Cutting>,
    /// The cutting machine with its crew, per hour.
    pub cutting_per_hour: Option<f64>,
    /// Price of plate per kg by alloy.
    pub per_kg: BTreeMap<String, f64>,
    /// Price of a sheet by its name.
    pub per_sheet: BTreeMap<String, f64>,
    /// What scrap brings per kg.
    pub scrap_per_kg: Option<f64>,
}

impl Choice {
    /// True where it has a price of its own.
    pub(super) fn priced(&self) -> bool {
        !self.per_kg.is_empty()
            || !self.per_sheet.is_empty()
            || self.scrap_per_kg.is_some()
            || self.cutting_per_hour.is_some()
    }
}

/// The prices; a currency is needed where anything is priced, `elsewhere` too.
pub(super) fn prices(t: &Table<'_, '_>, elsewhere: bool) -> Prices {
    let prices = Prices::of(t);
    let keys = ["per_kg", "scrap_per_kg", "weld", "cutting_per_hour"];
    let priced = elsewhere || keys.iter().any(|key| t.gives(key));
    if priced && prices.currency.is_empty() {
        t.missing(
            "currency",
            "prices need their currency: add currency = \"USD\" or another",
        );
    }
    prices
}

/// Prices by alloy; those of the sheets could be priced.
fn by_alloy(t: &Table<'_, '_>, key: &str) -> BTreeMap<String, f64> {
    let sheets = t.reader.sheets.borrow();
    let find = |name: &str| stock::alloy(name).map(|a| a.name.to_owned());
    let prices = t.prices(key, sheets.iter().map(|s| s.1.as_str()), find);
    prices.unwrap_or_default()
}

/// One of the figures that a weld costs by: each is the shop's own.
fn one_of_five(t: &Table<'_, '_>, name: &str) -> f64 {
    match t.key(name).filter(|_| !t.gives(name)) {
        None => t.figure(name),
        Some(key) => {
            let all = "a weld is priced by all five figures of [prices.weld], or not at all";
            t.missing(name, format!("{}; {all}", key.lacking()));
            0.0
        }
    }
}

/// Choices of stock; sheets and cutting are the job's.
pub(super) fn choices(t: &Table<'_, '_>, job: &Cutting) -> Vec<Choice> {
    let read = |t: &Table<'_, '_>| {
        let sheets = t.reader.sheets.borrow();
        let find = |name: &str| sheet_named(t, name);
        let names = sheets.iter().map(|s| s.0.as_str());
        Choice {
            name: t.text("name").unwrap_or_default(),
            supplier: t.text("supplier").unwrap_or_default(),
            sheets: sheets_named(t),
            alloy: t.alloy("alloy"),
            longest_piece: t.maybe("longest_piece"),
            cutting: changed(t, job),
            cutting_per_hour: t.maybe("cutting_per_hour"),
            per_kg: by_alloy(t, "per_kg"),
            per_sheet: t.prices("per_sheet", names, find).unwrap_or_default(),
            scrap_per_kg: t.maybe("scrap_per_kg"),
        }
    };
    each_once(&t.tables("choice"), read, |c| &c.name)
}

fn sheet_named(t: &Table<'_, '_>, name: &str) -> Result<String, Refused> {
    let sheets = t.reader.sheets.borrow();
    let names = || sheets.iter().map(|s| s.0.as_str());
    if names().any(|n| n == name) {
        return Ok(name.to_owned());
    }
    let what = format!("no [[sheet]] is named `{name}`");
    let mend = match nearest(name, names()) {
        None => "list it as a [[sheet]]".to_owned(),
        Some(n) => format!("did you mean `{n}`? name a [[sheet]] of the job"),
    };
    Err(Refused::new(Kind::Unknown, what, mend))
}

/// Names of the sheets to use.
fn sheets_named(t: &Table<'_, '_>) -> Vec<String> {
    let names = t.texts("sheets");
    if names.as_ref().is_some_and(Vec::is_empty) {
        let what = "`sheets` names no sheet";
        let mend = "name one or more, or take the key out for all on offer";
        t.fault(Kind::Missing, "sheets", what, mend);
    }
    let names = names.unwrap_or_default();
    for name in &names {
        t.taken("sheets", sheet_named(t, name));
    }
    names
}

#[cfg(test)]
mod tests {
    use super::*;

    // By hand: 0.18 m of weld, 0.5 kg/m at 20 per kg: 1.80; (0.18 x 30 + 10)
    // min at 60 per hour: 15.40.
    #[test]
    fn a_butt_costs_its_filler_and_its_minutes() {
        let price = WeldPrice {
            filler_per_kg: 20.0,
            filler_kg_per_m: 0.5,
            labour_per_hour: 60.0,
            minutes_per_m: 30.0,
            prep_minutes_per_butt: 10.0,
        };
        assert!((price.butt(180.0) - 17.2).abs() < 1e-12);
        assert!((price.butt(0.0) - 10.0).abs() < 1e-12);
    }
}
