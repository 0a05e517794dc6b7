//! The whole job's keys: each table's are stated where it is read. The reader, the
//! faults and the tables of `docs/job-file.md` take them from here: quantity and
//! range, what holds without it, and what it is. Defaults are common practice in the
//! trade, without a source, unless the meaning names one.

use super::bulwark::*;
use super::cutting::{Cutting, Remnants};
use super::key_kind::{Absent::*, BY_KEY, Key, Quantity::*, choice, key};
use super::output::Output;
use super::paper::PAPER;
use super::prices::{ESTIMATE, Prices};
use super::sheet::Sheet;
use super::stated::Stated;
use super::surveyed::SurveyJob;
use crate::length::Show;
use crate::limits::{DOUBLERS, ITEMS, SHEETS};

/// The whole job.
pub(super) const JOB: &[Key] = &[
    key("name", Text, Required, "name of the work, for titles"),
    key("date", Date, Else("empty"), "the date to print; the clock is never asked"),
    key("note", Note, Else("empty"), "a line for every report"),
    key("show", choice::<Show>(), Is("mm"), "what people read, faults too; feet and inches to a sixteenth, in decimals of an inch what is finer"),
    key("survey", Table(SurveyJob::KEYS), BY_KEY, "the measured edge"),
    key("fairing", Table(Fairing::KEYS), BY_KEY, "how far the lines may leave the points"),
    key("check", Table(Check::KEYS), BY_KEY, "the check of the tacked line"),
    key("bulwark", Table(Bulwark::KEYS), BY_KEY, "height and lean"),
    key("base", Table(BASE), BY_KEY, "plate on the covering board"),
    key("top", Table(TOP), BY_KEY, "plate under the wood cap"),
    key("section", Table(Section::KEYS), BY_KEY, "timber around the plates"),
    key("cap", Table(Cap::KEYS), BY_KEY, "the wood cap made up of lengths"),
    key("stanchions", Table(Stanchions::KEYS), BY_KEY, "box stanchions"),
    key("joints", Table(Joints::KEYS), BY_KEY, "welded butts and lift joints"),
    key("doubler", Tables(Doubler::KEYS, DOUBLERS), Else("none"), "doublers on the base plate, as in way of chain plates"),
    key("keep_clear", Tables(KeepClear::KEYS, ITEMS), Else("none"), "lengths that no butt, lift joint or fastener may enter"),
    key("run", Tables(Stretch::KEYS, ITEMS), Else("all that is surveyed"), "lengths that carry a bulwark"),
    key("gap", Tables(Stretch::KEYS, ITEMS), Else("none"), "gates and other gaps"),
    key("sheet", Tables(Sheet::KEYS, SHEETS), Else("one for every alloy and thickness in use is required"), "sheets on offer"),
    key("cutting", Table(Cutting::KEYS), BY_KEY, "nesting and cutting"),
    key("remnants", Table(Remnants::KEYS), BY_KEY, "what of a sheet is worth keeping"),
    key("prices", Table(Prices::KEYS), BY_KEY, "prices in one currency"),
    key("estimate", Table(ESTIMATE), Else("none"), "choices of stock, compared"),
    key("output", Table(Output::KEYS), BY_KEY, "formats and layers"),
    key("paper", Table(PAPER), BY_KEY, "the shop's paper, for patterns at full size"),
];

/// True where a key of this name takes a plain number, in whatever table.
pub(super) fn takes_number(name: &str) -> bool {
    fn within(keys: &[Key], name: &str) -> bool {
        keys.iter().any(|k| match k.quantity.keys() {
            Some(keys) => within(keys, name),
            None => k.name == name && k.quantity.plain().is_some(),
        })
    }
    within(JOB, name)
}
