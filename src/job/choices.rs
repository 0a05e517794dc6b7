//! Choices of stock, read.

use super::cutting::PARTS_APART;
use super::parse::NONE_OR_MORE;
use super::parts::{LONG, by_alloy, once_each};
use super::table::{Table, between};
use super::{Choice, Cutting, Sheet};
use crate::fault::Kind;
use crate::limits::SHEETS;
use crate::stock::{self, nearest};

/// `[[estimate.choice]]`; sheets and cutting are the job's.
pub(super) fn choices(t: &Table<'_, '_>, sheets: &[Sheet], job: &Cutting) -> Vec<Choice> {
    let tables = t.tables_to("choice", SHEETS);
    let read = |t: &Table<'_, '_>| {
        let choice = Choice {
            name: t.text_needed("name"),
            supplier: t.text("supplier").unwrap_or_default(),
            sheets: named(t, sheets),
            alloy: t.alloy("alloy"),
            longest_piece: t.length("longest_piece", between(300.0, LONG)),
            cutting: cutting(t, job),
            cutting_per_hour: t.number("cutting_per_hour", NONE_OR_MORE, ""),
            per_kg: by_alloy(t, sheets).unwrap_or_default(),
            per_sheet: per_sheet(t, sheets),
            scrap_per_kg: t.number("scrap_per_kg", NONE_OR_MORE, ""),
        };
        t.finish();
        choice
    };
    let out = once_each(&tables, tables.iter().map(read).collect(), |c| &c.name);
    t.finish();
    out
}

/// Reports a name that no sheet has.
fn unknown(t: &Table<'_, '_>, key: &str, name: &str, sheets: &[Sheet]) {
    let near = nearest(name, sheets.iter().map(|s| s.name.as_str()));
    t.fault(
        Kind::Unknown,
        key,
        format!("no [[sheet]] is named `{name}`"),
        near.map_or_else(
            || "list it as a [[sheet]]".to_owned(),
            |n| format!("did you mean `{n}`? name a [[sheet]] of the job"),
        ),
    );
}

fn named(t: &Table<'_, '_>, sheets: &[Sheet]) -> Vec<String> {
    let Some(names) = t.texts("sheets") else {
        return Vec::new();
    };
    if names.is_empty() {
        t.fault(
            Kind::Missing,
            "sheets",
            "`sheets` names no sheet",
            "name one or more, or take the key out for all on offer",
        );
    }
    for name in &names {
        if !sheets.iter().any(|s| s.name == *name) {
            unknown(t, "sheets", name, sheets);
        }
    }
    names
}

fn per_sheet(above: &Table<'_, '_>, sheets: &[Sheet]) -> std::collections::BTreeMap<String, f64> {
    let t = &above.prices("per_sheet", sheets.iter().map(|s| s.name.as_str()));
    let mut out = std::collections::BTreeMap::new();
    for name in t.names() {
        if !sheets.iter().any(|s| s.name == name) {
            unknown(t, &name, &name, sheets);
        } else if let Some(price) = t.number_named(&name, NONE_OR_MORE) {
            out.insert(name, price);
        }
    }
    out
}

/// The job's cutting with what the choice changes; `None` where it changes
/// nothing. Another process brings its own kerf, gap, speeds and smallest
/// hole; the same process named again keeps what the job measured.
fn cutting(t: &Table<'_, '_>, job: &Cutting) -> Option<Cutting> {
    let mut c = job.clone();
    let kerf = t.length("kerf", between(0.0, 30.0));
    if let Some(process) = t.text("process").filter(|p| *p != job.process) {
        let usual = stock::process(&process).ok();
        if usual.is_none() && !t.gives("kerf") {
            t.missing(
                "kerf",
                "a process that is not in the stock table needs its kerf: add kerf = \"3 mm\"",
            );
        }
        c.process = process;
        c.kerf = kerf.or(usual.map(|p| p.kerf)).unwrap_or(0.0);
        c.gap = c.kerf + PARTS_APART;
        (c.speed, c.pierce_s, c.travel) = (None, None, None);
        (c.marking, c.smallest_hole) = (None, None);
    }
    c.kerf = kerf.unwrap_or(c.kerf);
    c.gap = t.length_or("gap", between(0.0, 500.0), c.gap);
    c.speed = t
        .number("speed_mm_min", between(1.0, 200_000.0), "mm/min")
        .or(c.speed);
    c.pierce_s = t
        .number("pierce_s", between(0.0, 3600.0), "s")
        .or(c.pierce_s);
    c.travel = t
        .number("travel_mm_min", between(10.0, 500_000.0), "mm/min")
        .or(c.travel);
    c.marking = t
        .number("marking_mm_min", between(10.0, 500_000.0), "mm/min")
        .or(c.marking);
    c.drill_s = t
        .number("drill_s", between(0.0, 3600.0), "s")
        .unwrap_or(c.drill_s);
    (c != *job).then_some(c)
}
