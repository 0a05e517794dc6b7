//! Prices, and choices of stock with theirs.

use std::collections::BTreeMap;

use super::cutting::changed;
use super::lists::each_once;
use super::shop::*;
use super::table::Table;
use crate::fault::Kind;
use crate::stock::{self, NotHeld, nearest};

/// Prices; `elsewhere`: a sheet or a choice of stock has one too.
pub(super) fn prices(t: &Table<'_, '_>, sheets: &[Sheet], elsewhere: bool) -> Prices {
    let prices = Prices {
        currency: t.text("currency").unwrap_or_default(),
        per_kg: by_alloy(t, sheets),
        scrap_per_kg: t.figure("scrap_per_kg"),
        weld: weld(&t.table("weld")),
        cutting_per_hour: t.maybe("cutting_per_hour"),
    };
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

/// Prices by alloy; `sheets` are those that could be priced.
fn by_alloy(t: &Table<'_, '_>, sheets: &[Sheet]) -> BTreeMap<String, f64> {
    let alloys = sheets.iter().map(|s| s.alloy.as_str());
    let find = |name: &str| stock::alloy(name).map(|a| a.name.to_owned());
    t.prices("per_kg", alloys, find).unwrap_or_default()
}

/// What a weld costs: each of its figures is the shop's own.
fn weld(t: &Table<'_, '_>) -> Option<WeldPrice> {
    let figure = |name| match t.key(name).filter(|_| !t.gives(name)) {
        None => t.figure(name),
        Some(key) => {
            let all = "a weld is priced by all five figures of [prices.weld], or not at all";
            t.missing(name, format!("{}; {all}", key.lacking()));
            0.0
        }
    };
    t.present().then(|| WeldPrice {
        filler_per_kg: figure("filler_per_kg"),
        filler_kg_per_m: figure("filler_kg_per_m"),
        labour_per_hour: figure("labour_per_hour"),
        minutes_per_m: figure("minutes_per_m"),
        prep_minutes_per_butt: figure("prep_minutes_per_butt"),
    })
}

/// Choices of stock; sheets and cutting are the job's.
pub(super) fn choices(t: &Table<'_, '_>, sheets: &[Sheet], job: &Cutting) -> Vec<Choice> {
    let find = |name: &str| sheet_named(name, sheets);
    let names = || sheets.iter().map(|s| s.name.as_str());
    let read = |t: &Table<'_, '_>| Choice {
        name: t.text("name").unwrap_or_default(),
        supplier: t.text("supplier").unwrap_or_default(),
        sheets: named(t, sheets),
        alloy: t.alloy("alloy"),
        longest_piece: t.maybe("longest_piece"),
        cutting: changed(t, job),
        cutting_per_hour: t.maybe("cutting_per_hour"),
        per_kg: by_alloy(t, sheets),
        per_sheet: t.prices("per_sheet", names(), find).unwrap_or_default(),
        scrap_per_kg: t.maybe("scrap_per_kg"),
    };
    each_once(&t.tables("choice"), read, |c| &c.name)
}

fn sheet_named(name: &str, sheets: &[Sheet]) -> Result<String, NotHeld> {
    if sheets.iter().any(|s| s.name == name) {
        return Ok(name.to_owned());
    }
    let near = nearest(name, sheets.iter().map(|s| s.name.as_str()));
    Err(NotHeld {
        what: format!("no [[sheet]] is named `{name}`"),
        mend: near.map_or_else(
            || "list it as a [[sheet]]".to_owned(),
            |n| format!("did you mean `{n}`? name a [[sheet]] of the job"),
        ),
    })
}

/// Names of the sheets to use.
fn named(t: &Table<'_, '_>, sheets: &[Sheet]) -> Vec<String> {
    let names = t.texts("sheets");
    if names.as_ref().is_some_and(Vec::is_empty) {
        t.fault(
            Kind::Missing,
            "sheets",
            "`sheets` names no sheet",
            "name one or more, or take the key out for all on offer",
        );
    }
    let names = names.unwrap_or_default();
    for name in &names {
        t.held("sheets", sheet_named(name, sheets));
    }
    names
}
