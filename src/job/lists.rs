//! Tables within a table of a job file: under a key, in a list, by name; and places.

use std::collections::{BTreeMap, BTreeSet};

use toml::de::DeValue;

use super::key_kind::{Absent, NONE_OR_MORE, Quantity};
use super::position::{At, Position, Side};
use super::table::{Table, type_name};
use crate::fault::{Kind, Refused};
use crate::length;
use crate::limits::ITEMS;

impl<'r, 't> Table<'r, 't> {
    /// A table under this one; absent is well, unless it is required.
    pub(super) fn table(&self, name: &str) -> Self {
        let field = self.field(name);
        let mend = format!("write it under [{field}]");
        self.table_in(name, "a table", &mend)
    }

    /// The same, with what is wanted and how to write it.
    pub(super) fn table_in(&self, name: &str, want: &str, mend: &str) -> Self {
        let key = self.key(name);
        let value = self.value(name);
        let given = value.and_then(|v| v.get_ref().as_table());
        match (value, given) {
            (Some(value), None) => self.wrong_type(name, value, want, mend),
            (None, _) if matches!(key.map(|k| k.absent), Some(Absent::Required)) => {
                self.missing(name, mend);
            }
            _ => {}
        }
        let keys = key.and_then(|k| k.quantity.keys()).unwrap_or_default();
        Self::new(self.reader, self.field(name), keys, given)
    }

    /// Prices by name; `None` where there are none. A bare price is told as the table
    /// it could be, `known` being names that have one; `find` spells a name.
    pub(super) fn prices<'a>(
        &self,
        key: &str,
        known: impl Iterator<Item = &'a str>,
        find: impl Fn(&str) -> Result<String, Refused>,
    ) -> Option<BTreeMap<String, f64>> {
        let Quantity::Prices(by) = self.key(key)?.quantity else {
            self.misread(key);
            return None;
        };
        let value = self.value(key)?;
        let price = match value.get_ref() {
            DeValue::Integer(i) => i.as_str(),
            DeValue::Float(f) => f.as_str(),
            DeValue::Table(given) => {
                let t = Self {
                    reader: self.reader,
                    name: self.field(key),
                    keys: &[],
                    given: Some(given),
                };
                let mut prices = BTreeMap::new();
                for (name, value) in given {
                    let name: &str = name.get_ref();
                    if let Some(found) = t.taken(name, find(name))
                        && let Some(price) = t.number(name, value, NONE_OR_MORE, "")
                    {
                        prices.insert(found, price);
                    }
                }
                return Some(prices);
            }
            _ => {
                let mend = format!("write it under [{}]", self.field(key));
                self.wrong_type(key, value, "a table", &mend);
                return None;
            }
        };
        let names: BTreeSet<&str> = known.collect();
        let each = names.iter().map(|n| format!("\"{n}\" = {price}"));
        let items: Vec<String> = each.collect();
        let what = format!("`{key}` is one price, not a table of prices by {by}");
        let mend = format!("write {key} = {{ {} }}", items.join(", "));
        self.fault(Kind::Syntax, key, what, mend);
        None
    }

    /// Tables of a list under this one, as `[[key]]`.
    pub(super) fn tables(&self, name: &str) -> Vec<Self> {
        let field = self.field(name);
        let tables = self.items(name, "a list of tables", |_| {
            format!("begin each with [[{field}]]")
        });
        let key = self.key(name);
        if let Some(Absent::Required) = key.map(|k| k.absent)
            && tables.is_empty()
            && !self.faulty(name)
        {
            let meaning = key.map_or("", |k| k.meaning);
            self.missing(name, format!("add a [[{field}]]: {meaning}"));
        }
        tables
    }

    /// Tables of a list; `mend` is told the text that stands for one.
    pub(super) fn items(
        &self,
        name: &str,
        want: &str,
        mend: impl Fn(Option<&str>) -> String,
    ) -> Vec<Self> {
        let (keys, most) = match self.key(name).map(|k| k.quantity) {
            Some(Quantity::Tables(keys, most)) => (keys, most),
            Some(Quantity::Places(keys)) => (keys, ITEMS),
            _ => return Vec::new(),
        };
        let Some(value) = self.value(name) else {
            return Vec::new();
        };
        let Some(items) = value.get_ref().as_array() else {
            self.wrong_type(name, value, want, &mend(value.get_ref().as_str()));
            return Vec::new();
        };
        if self.too_many(name, items.len(), most) {
            return Vec::new();
        }
        let mut tables = Vec::new();
        for (i, item) in items.iter().enumerate() {
            let field = format!("{}[{}]", self.field(name), i + 1);
            if let Some(given) = item.get_ref().as_table() {
                tables.push(Self::new(self.reader, field, keys, Some(given)));
            } else {
                let what = format!("an item of `{name}` is {}", type_name(item.get_ref()));
                let mend = mend(item.get_ref().as_str());
                self.reader.fault(Kind::Syntax, &field, what, mend);
            }
        }
        tables
    }

    /// Reports a name that stands twice in a list.
    pub(super) fn used_twice(&self, name: &str) {
        let what = format!("the name `{name}` is used twice");
        self.conflict("name", what, "give each its own name");
    }

    /// A place along the edge.
    pub(super) fn position(&self, name: &str) -> Position {
        let text = self.value(name).and_then(|v| v.get_ref().as_str());
        self.table_in(name, "a place", &place_mend(text)).here()
    }

    /// A list of places along the edge.
    pub(super) fn positions(&self, name: &str) -> Vec<Position> {
        let places = self.items(name, "a list of places", place_mend);
        places.iter().map(Self::here).collect()
    }

    /// This table as a place along the edge.
    fn here(&self) -> Position {
        let side = self.choice::<Side>("side");
        let x = self.maybe("station");
        let along = self.maybe("along");
        if self.gives("station") && self.gives("along") {
            let what = "a place has both `station` and `along`";
            self.conflict("along", what, "give one of them");
        } else if self.present() && !self.gives("station") && !self.gives("along") {
            self.missing("station", POSITION);
        } else if self.gives("station") && self.reader.only_side.get().is_none() {
            self.needed(
                "side",
                "a station is a place on each side: add side = \"port\" or \"starboard\"",
            );
        }
        let at = along.map_or(At::X(x.unwrap_or_default()), At::Along);
        self.reader.position(side, at)
    }
}

/// What the tables of a list say, each by `read`; names that stand twice are reported.
pub(super) fn each_once<T>(
    tables: &[Table<'_, '_>],
    read: impl FnMut(&Table<'_, '_>) -> T,
    name: impl Fn(&T) -> &str,
) -> Vec<T> {
    let list: Vec<T> = tables.iter().map(read).collect();
    for (i, (item, table)) in list.iter().zip(tables).enumerate() {
        let name_of = name(item);
        if !name_of.is_empty() && list.iter().take(i).any(|other| name(other) == name_of) {
            table.used_twice(name_of);
        }
    }
    list
}

const POSITION: &str = "write a place as { side = \"port\", station = \"4 m\" } or { side = \"port\", along = \"3.2 m\" }";

/// How to write a place, of which only a text stands there.
fn place_mend(text: Option<&str>) -> String {
    match text.filter(|t| length::parse(t).is_ok()) {
        Some(t) => format!(
            "write a place as {{ side = \"port\", station = \"{t}\" }} or {{ side = \"port\", along = \"{t}\" }}"
        ),
        None => POSITION.to_owned(),
    }
}
