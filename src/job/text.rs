//! The text of a job file: where every key stands, and the faults found so
//! far.

use std::cell::{Cell, RefCell};
use std::collections::{BTreeMap, BTreeSet};

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::places::Places;
use super::position::{At, Position, Side};
use crate::fault::{Fault, Faults, Kind, Place, keep_first};
use crate::length::{Round, Show, told, told_unrounded};

/// A job file's text with what was found in it.
pub(super) struct Reader<'t> {
    file: &'t str,
    text: &'t str,
    line_starts: Vec<usize>,
    pub(super) places: Places,
    faults: RefCell<Vec<Fault>>,
    /// The folder of the job file: its paths go from there.
    pub(super) folder: &'t str,
    /// Units in which the job's faults are told.
    pub(super) show: Cell<Show>,
    /// True where stations count aft.
    pub(super) stations_aft: Cell<bool>,
    /// The side, where only one is surveyed.
    pub(super) only_side: Cell<Option<Side>>,
    /// The survey's accuracy, mm.
    pub(super) accuracy: Cell<f64>,
    /// Thickness, mm, and alloy of the base plate.
    pub(super) base_plate: RefCell<(f64, String)>,
    /// Names and alloys of the sheets.
    pub(super) sheets: RefCell<Vec<(String, String)>>,
}

impl<'t> Reader<'t> {
    pub(super) fn new(file: &'t str, text: &'t str, folder: &'t str) -> Self {
        let line_starts = std::iter::once(0)
            .chain(text.match_indices('\n').map(|(i, _)| i + 1))
            .collect();
        Self {
            file,
            text,
            line_starts,
            places: Places::default(),
            faults: RefCell::default(),
            folder,
            show: Cell::default(),
            stations_aft: Cell::default(),
            only_side: Cell::default(),
            accuracy: Cell::default(),
            base_plate: RefCell::default(),
            sheets: RefCell::default(),
        }
    }

    /// Notes where every key stands.
    pub(super) fn index(&mut self, root: &DeTable<'_>) {
        let mut bytes = BTreeMap::new();
        index_table(&mut bytes, "", root);
        let place = |(name, byte)| (name, self.line_and_column(byte));
        self.places = Places(bytes.into_iter().map(place).collect());
    }

    fn line_and_column(&self, byte: usize) -> (usize, usize) {
        let line = self.line_starts.partition_point(|&s| s <= byte).max(1);
        let start = self.line_starts.get(line - 1).copied().unwrap_or(0);
        let before = self.text.get(start..byte);
        (line, before.map_or(1, |s| s.chars().count() + 1))
    }

    /// The place of a byte of the text.
    pub(super) fn place(&self, byte: usize) -> Place {
        let (line, column) = self.line_and_column(byte);
        Place::file(self.file).line(line).column(column)
    }

    /// The place of a key by its full name: its value, or what holds it.
    pub(super) fn place_of(&self, field: &str) -> Place {
        self.places.of(self.file, field)
    }

    /// Adds a fault at a key.
    pub(super) fn fault(
        &self,
        kind: Kind,
        field: &str,
        what: impl Into<String>,
        mend: impl Into<String>,
    ) {
        self.push(Fault::new(kind, self.place_of(field), what, mend));
    }

    /// Adds a fault; beyond the first hundred only their number.
    pub(super) fn push(&self, fault: Fault) {
        let mut faults = self.faults.borrow_mut();
        faults.push(fault);
        keep_first(&mut faults, 0);
    }

    /// Names of the keys that have a fault: later checks leave them alone.
    pub(super) fn faulty(&self) -> BTreeSet<String> {
        self.faults
            .borrow()
            .iter()
            .filter_map(|f| f.place.field.clone())
            .collect()
    }

    /// True where no fault was found.
    pub(super) fn clean(&self) -> bool {
        self.faults.borrow().is_empty()
    }

    /// All faults in the order of the text.
    pub(super) fn into_faults(self) -> Faults {
        let mut faults = self.faults.into_inner();
        faults.sort_by_key(|f| (f.place.line, f.place.column));
        Faults(faults)
    }

    /// A length, mm, as a fault tells it.
    pub(super) fn told(&self, mm: f64) -> String {
        told(mm, self.show.get())
    }

    /// The same, unrounded: a figure beside the limit that it breaks, or the limit.
    pub(super) fn told_unrounded(&self, mm: f64, round: Round) -> String {
        told_unrounded(mm, self.show.get(), round)
    }

    /// A place along the edge from what its keys say.
    pub(super) fn position(&self, side: Option<Side>, at: At) -> Position {
        let turned = match at {
            At::X(x) if self.stations_aft.get() => At::X(-x),
            other => other,
        };
        Position {
            side: side.or(self.only_side.get()),
            at: turned,
        }
    }
}

fn index_table(index: &mut BTreeMap<String, usize>, above: &str, table: &DeTable<'_>) {
    for (key, value) in table {
        let name = full_name(above, key.get_ref());
        index_value(index, name, value);
    }
}

fn index_value(index: &mut BTreeMap<String, usize>, name: String, value: &Spanned<DeValue<'_>>) {
    match value.get_ref() {
        DeValue::Table(t) => index_table(index, &name, t),
        DeValue::Array(items) => {
            for (i, item) in items.iter().enumerate() {
                index_value(index, format!("{name}[{}]", i + 1), item);
            }
        }
        _ => {}
    }
    index.insert(name, value.span().start);
}

/// Full name of a key in a table.
pub(super) fn full_name(above: &str, key: &str) -> String {
    if above.is_empty() {
        key.to_owned()
    } else {
        format!("{above}.{key}")
    }
}
