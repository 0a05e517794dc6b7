//! A table of a job file, read key by key. Every getter reports what is wrong
//! and gives back what it can; [`Table::finish`] names keys nobody asked for.

use std::cell::RefCell;
use std::collections::BTreeSet;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::text::{Reader, full_name, length_kind};
use super::{At, Position, Side};
use crate::fault::{Fault, Kind, Place};
use crate::length::{self, Round, WITH_UNIT, unrounded};
use crate::limits::{self, ITEMS, NAME_LETTERS, NOTE_LETTERS};
use crate::stock::{self, nearest};

/// What a figure may be.
#[derive(Debug, Clone, Copy)]
pub(super) struct Limits {
    least: f64,
    most: f64,
    open: bool,
}

/// This or more.
pub(super) const fn from(least: f64) -> Limits {
    between(least, f64::INFINITY)
}

/// More than nought, to this.
pub(super) const fn above_zero_to(most: f64) -> Limits {
    Limits {
        least: 0.0,
        most,
        open: true,
    }
}

/// Between these, both included.
pub(super) const fn between(least: f64, most: f64) -> Limits {
    Limits {
        least,
        most,
        open: false,
    }
}

impl Limits {
    fn hold(self, v: f64) -> bool {
        v <= self.most
            && if self.open {
                v > self.least
            } else {
                v >= self.least
            }
    }

    fn words(self, figure: impl Fn(f64, Round) -> String) -> String {
        let least = figure(self.least, Round::Up);
        let most = || figure(self.most, Round::Down);
        match (self.open, self.most.is_finite()) {
            (true, true) => format!("above {least} and at most {}", most()),
            (true, false) => format!("above {least}"),
            (false, true) => format!("from {least} to {}", most()),
            (false, false) => format!("{least} or more"),
        }
    }
}

/// A table, or the absence of one that is optional.
pub(super) struct Table<'r, 't> {
    pub(super) reader: &'r Reader<'t>,
    pub(super) name: String,
    keys: Option<&'r DeTable<'t>>,
    asked: RefCell<Vec<&'static str>>,
}

pub(super) type Value<'r, 't> = &'r Spanned<DeValue<'t>>;

impl<'r, 't> Table<'r, 't> {
    pub(super) fn new(reader: &'r Reader<'t>, name: String, keys: Option<&'r DeTable<'t>>) -> Self {
        Self {
            reader,
            name,
            keys,
            asked: RefCell::default(),
        }
    }

    /// True where the job has this table.
    pub(super) fn present(&self) -> bool {
        self.keys.is_some()
    }

    /// Full name of a key of this table.
    pub(super) fn field(&self, key: &str) -> String {
        full_name(&self.name, key)
    }

    /// A key's value as it stands; the key is known from now on.
    pub(super) fn value(&self, key: &'static str) -> Option<Value<'r, 't>> {
        let mut asked = self.asked.borrow_mut();
        if !asked.contains(&key) {
            asked.push(key);
        }
        let (_, value) = self.keys?.iter().find(|(k, _)| k.get_ref() == key)?;
        Some(value)
    }

    /// True where the job gives this key.
    pub(super) fn gives(&self, key: &'static str) -> bool {
        self.value(key).is_some()
    }

    /// Adds a fault at a key of this table.
    pub(super) fn fault(
        &self,
        kind: Kind,
        key: &str,
        what: impl Into<String>,
        mend: impl Into<String>,
    ) {
        self.reader.fault(kind, &self.field(key), what, mend);
    }

    /// Reports that a key must be given.
    pub(super) fn missing(&self, key: &'static str, mend: &str) {
        let field = self.field(key);
        self.fault(Kind::Missing, key, format!("`{field}` is not given"), mend);
    }

    /// Reports a value of another kind than wanted.
    pub(super) fn wrong_type(&self, key: &str, value: Value<'r, 't>, want: &str, mend: &str) {
        let kind = if matches!(value.get_ref(), DeValue::Integer(_) | DeValue::Float(_))
            && mend == WITH_UNIT
        {
            Kind::Unit
        } else {
            Kind::Syntax
        };
        let what = format!("`{key}` is {}, not {want}", type_name(value.get_ref()));
        self.fault(kind, key, what, mend);
    }

    /// A text as long as a name, trimmed.
    pub(super) fn text(&self, key: &'static str) -> Option<String> {
        self.text_to(key, NAME_LETTERS)
    }

    /// A text as long as a note or a path, trimmed.
    pub(super) fn long_text(&self, key: &'static str) -> Option<String> {
        self.text_to(key, NOTE_LETTERS)
    }

    fn text_to(&self, key: &'static str, most: usize) -> Option<String> {
        let value = self.value(key)?;
        let text = value.get_ref().as_str();
        if text.is_none() {
            self.wrong_type(key, value, "text", "write it in double quotes");
        }
        self.sound(key, text?, most)
    }

    /// A text from the job that holds to the limits, trimmed; ends of lines
    /// and tabs in it are spaces.
    fn sound(&self, key: &str, text: &str, most: usize) -> Option<String> {
        let text = text.trim().replace(['\n', '\r', '\t'], " ");
        match limits::sound(&text, most) {
            Ok(()) => Some(text),
            Err(e) => {
                let what = format!("`{key}` {}", e.what);
                self.fault(Kind::Syntax, key, what, e.mend);
                None
            }
        }
    }

    /// A date, in quotes or as the format's own date.
    pub(super) fn date(&self, key: &'static str) -> Option<String> {
        match self.value(key)?.get_ref() {
            DeValue::Datetime(d) => Some(d.to_string()),
            _ => self.text(key),
        }
    }

    /// A text that must be there and not empty.
    pub(super) fn text_needed(&self, key: &'static str) -> String {
        if !self.gives(key) {
            self.missing(key, &format!("add {key} = \"...\""));
        }
        let text = self.text(key);
        self.not_empty(key, text.as_deref());
        text.unwrap_or_default()
    }

    /// A path that must be there and not empty.
    pub(super) fn path_needed(&self, key: &'static str) -> String {
        if !self.gives(key) {
            self.missing(key, &format!("add {key} = \"...\""));
        }
        let text = self.long_text(key);
        self.not_empty(key, text.as_deref());
        text.unwrap_or_default()
    }

    fn not_empty(&self, key: &str, text: Option<&str>) {
        if text == Some("") {
            self.fault(
                Kind::Missing,
                key,
                format!("`{key}` is empty"),
                "write a name between the quotes",
            );
        }
    }

    /// True or false.
    pub(super) fn flag(&self, key: &'static str) -> bool {
        let Some(value) = self.value(key) else {
            return false;
        };
        let flag = value.get_ref().as_bool();
        if flag.is_none() {
            self.wrong_type(
                key,
                value,
                "true or false",
                "write true or false, without quotes",
            );
        }
        flag.unwrap_or(false)
    }

    /// One word of a list.
    pub(super) fn choice<T: Copy>(
        &self,
        key: &'static str,
        words: &[(&'static str, T)],
    ) -> Option<T> {
        let given = self.text(key)?;
        let found = words.iter().find(|(w, _)| plain(w) == plain(&given));
        if found.is_none() {
            let list = words
                .iter()
                .map(|(w, _)| format!("\"{w}\""))
                .collect::<Vec<_>>();
            let near = nearest(&given, words.iter().map(|(w, _)| *w)).unwrap_or_default();
            self.fault(
                Kind::Unknown,
                key,
                format!("`{key}` cannot be \"{given}\""),
                format!("did you mean \"{near}\"? it may be {}", list.join(", ")),
            );
        }
        found.map(|(_, t)| *t)
    }

    /// A list of texts, each trimmed and not empty.
    pub(super) fn texts(&self, key: &'static str) -> Option<Vec<String>> {
        const MEND: &str = "write a list of texts, such as [\"E\", \"CB\"]";
        let value = self.value(key)?;
        let Some(items) = value.get_ref().as_array() else {
            self.wrong_type(key, value, "a list of texts", MEND);
            return None;
        };
        if self.too_many(key, items.len(), ITEMS) {
            return None;
        }
        let text = |item: Value<'r, 't>| {
            let text = item.get_ref().as_str().map(str::trim);
            text.filter(|t| !t.is_empty())
        };
        let texts: Option<Vec<&str>> = items.iter().map(text).collect();
        if texts.is_none() {
            let what = format!("an item of `{key}` is empty or no text");
            self.fault(Kind::Syntax, key, what, MEND);
        }
        let texts = texts?.into_iter();
        texts.map(|t| self.sound(key, t, NAME_LETTERS)).collect()
    }

    /// Reports a list of more items than are taken.
    pub(super) fn too_many(&self, key: &str, count: usize, most: usize) -> bool {
        let over = count > most;
        if over {
            self.fault(
                Kind::Range,
                key,
                format!("`{key}` lists {count}, and may list {most}"),
                "take some out: no boat has so many",
            );
        }
        over
    }

    /// A length with its unit, mm.
    pub(super) fn length(&self, key: &'static str, limits: Limits) -> Option<f64> {
        let value = self.value(key)?;
        let Some(text) = value.get_ref().as_str() else {
            self.wrong_type(key, value, "a length with its unit", WITH_UNIT);
            return None;
        };
        match length::parse(text) {
            Ok(mm) => self.limited(key, mm, limits, |v, round| {
                self.reader.told_unrounded(v, round)
            }),
            Err(e) => {
                self.fault(length_kind(e.wrong), key, e.what, e.mend);
                None
            }
        }
    }

    /// A length, or its default, mm.
    pub(super) fn length_or(&self, key: &'static str, limits: Limits, default: f64) -> f64 {
        self.length(key, limits).unwrap_or(default)
    }

    /// A length that must be there; nought where it is not, once reported.
    pub(super) fn length_needed(&self, key: &'static str, limits: Limits) -> f64 {
        if !self.gives(key) {
            self.missing(
                key,
                &format!("add {key} = \"...\" as a length with its unit"),
            );
        }
        self.length(key, limits).unwrap_or_default()
    }

    fn limited(
        &self,
        key: &str,
        v: f64,
        limits: Limits,
        figure: impl Fn(f64, Round) -> String,
    ) -> Option<f64> {
        if limits.hold(v) {
            return Some(v);
        }
        self.fault(
            Kind::Range,
            key,
            format!("`{key}` is {}", figure(v, Round::Nearest)),
            format!("it must be {}", limits.words(figure)),
        );
        None
    }

    /// A plain number; `unit` is what people read after it.
    pub(super) fn number(&self, key: &'static str, limits: Limits, unit: &str) -> Option<f64> {
        self.number_in(key, self.value(key)?, limits, unit)
    }

    /// A plain number under a key that is a name of the user's.
    pub(super) fn number_named(&self, name: &str, limits: Limits) -> Option<f64> {
        let (_, value) = self.keys?.iter().find(|(k, _)| k.get_ref() == name)?;
        self.number_in(name, value, limits, "")
    }

    fn number_in(
        &self,
        key: &str,
        value: Value<'r, 't>,
        limits: Limits,
        unit: &str,
    ) -> Option<f64> {
        let number = match value.get_ref() {
            DeValue::Integer(i) if i.radix() == 10 => i.as_str().parse::<f64>().ok(),
            DeValue::Float(f) => f.as_str().parse::<f64>().ok(),
            _ => {
                self.wrong_type(
                    key,
                    value,
                    "a number",
                    "write a plain number, without quotes or unit",
                );
                return None;
            }
        };
        let figure = |v: f64, _| format!("{} {unit}", unrounded(v)).trim_end().to_owned();
        match number {
            Some(v) if v.is_finite() => self.limited(key, v, limits, figure),
            _ => {
                self.fault(
                    Kind::Range,
                    key,
                    format!("`{key}` is not a finite number"),
                    format!("it must be {}", limits.words(figure)),
                );
                None
            }
        }
    }

    /// A count.
    pub(super) fn count(&self, key: &'static str, most: u32) -> Option<usize> {
        let v = self.number(key, between(0.0, f64::from(most)), "")?;
        let count = (0..=most).find(|&n| f64::from(n) >= v)?;
        if f64::from(count) > v {
            self.fault(
                Kind::Range,
                key,
                format!("`{key}` is {v}"),
                "write a whole number",
            );
            return None;
        }
        usize::try_from(count).ok()
    }

    /// An alloy's name as the stock table spells it.
    pub(super) fn alloy(&self, key: &'static str) -> Option<String> {
        let given = match self.value(key)?.get_ref() {
            // A bare 5086 lacks its temper before it lacks its quotes.
            DeValue::Integer(number) => number.as_str().to_owned(),
            _ => self.text(key)?,
        };
        match stock::alloy(&given) {
            Ok(a) => Some(a.name.to_owned()),
            Err(e) => {
                self.fault(Kind::Unknown, key, e.what, e.mend);
                None
            }
        }
    }

    /// A table under this one; absent is well.
    pub(super) fn table(&self, key: &'static str) -> Self {
        let value = self.value(key);
        let keys = value.and_then(|v| v.get_ref().as_table());
        if let (Some(value), None) = (value, keys) {
            self.wrong_type(
                key,
                value,
                "a table",
                &format!("write it under [{}]", self.field(key)),
            );
        }
        Self::new(self.reader, self.field(key), keys)
    }

    /// A table of prices by name; a bare price is told as the table it could be,
    /// `names` being those that have one.
    pub(super) fn prices<'a>(
        &self,
        key: &'static str,
        names: impl Iterator<Item = &'a str>,
    ) -> Self {
        let value = self.value(key);
        let price = match value.map(|v| v.get_ref()) {
            Some(DeValue::Integer(i)) => i.as_str(),
            Some(DeValue::Float(f)) => f.as_str(),
            _ => return self.table(key),
        };
        let names: BTreeSet<&str> = names.collect();
        let each = names.iter().map(|n| format!("\"{n}\" = {price}"));
        let items: Vec<String> = each.collect();
        self.fault(
            Kind::Syntax,
            key,
            format!("`{key}` is one price, not a table of prices by name"),
            format!("write {key} = {{ {} }}", items.join(", ")),
        );
        Self::new(self.reader, self.field(key), None)
    }

    /// Tables of a list under this one, as `[[key]]`.
    pub(super) fn tables(&self, key: &'static str) -> Vec<Self> {
        self.tables_to(key, ITEMS)
    }

    /// Tables of a list that may have so many.
    pub(super) fn tables_to(&self, key: &'static str, most: usize) -> Vec<Self> {
        self.items(key, most, "a list of tables", |_| {
            format!("begin each with [[{}]]", self.field(key))
        })
    }

    /// Tables of a list; `mend` is told the text that stands for one.
    fn items(
        &self,
        key: &'static str,
        most: usize,
        want: &str,
        mend: impl Fn(Option<&str>) -> String,
    ) -> Vec<Self> {
        let Some(value) = self.value(key) else {
            return Vec::new();
        };
        let Some(items) = value.get_ref().as_array() else {
            self.wrong_type(key, value, want, &mend(value.get_ref().as_str()));
            return Vec::new();
        };
        if self.too_many(key, items.len(), most) {
            return Vec::new();
        }
        let mut tables = Vec::new();
        for (i, item) in items.iter().enumerate() {
            let name = format!("{}[{}]", self.field(key), i + 1);
            match item.get_ref().as_table() {
                Some(keys) => tables.push(Self::new(self.reader, name, Some(keys))),
                None => {
                    let what = format!("an item of `{key}` is {}", type_name(item.get_ref()));
                    self.reader
                        .fault(Kind::Syntax, &name, what, mend(item.get_ref().as_str()));
                }
            }
        }
        tables
    }

    /// A place along the edge that must be there.
    pub(super) fn position(&self, key: &'static str) -> Position {
        if !self.gives(key) {
            self.missing(key, POSITION);
        }
        let value = self.value(key);
        let keys = value.and_then(|v| v.get_ref().as_table());
        if let (Some(value), None) = (value, keys) {
            let text = value.get_ref().as_str();
            self.wrong_type(key, value, "a place", &place_mend(text));
        }
        Self::new(self.reader, self.field(key), keys).here()
    }

    /// A list of places along the edge.
    pub(super) fn positions(&self, key: &'static str) -> Vec<Position> {
        self.items(key, ITEMS, "a list of places", place_mend)
            .iter()
            .map(Self::here)
            .collect()
    }

    /// This table as a place along the edge.
    fn here(&self) -> Position {
        let side = self.side("side");
        let x = self.length("station", from(f64::NEG_INFINITY));
        let along = self.length("along", from(0.0));
        self.finish();
        if self.gives("station") && self.gives("along") {
            self.fault(
                Kind::Conflict,
                "along",
                "a place has both `station` and `along`",
                "give one of them",
            );
        } else if self.present() && !self.gives("station") && !self.gives("along") {
            self.missing("station", POSITION);
        } else if self.gives("station") && !self.gives("side") && self.reader.only_side().is_none()
        {
            self.missing(
                "side",
                "a station is a place on each side: add side = \"port\" or \"starboard\"",
            );
        }
        let at = along.map_or(At::X(x.unwrap_or_default()), At::Along);
        self.reader.position(side, at)
    }

    /// A side of the boat.
    pub(super) fn side(&self, key: &'static str) -> Option<Side> {
        self.choice(key, &[("port", Side::Port), ("starboard", Side::Starboard)])
    }

    /// Keys as they stand in the file, for tables whose keys are names.
    pub(super) fn names(&self) -> Vec<String> {
        let names = self.keys.into_iter().flat_map(|t| t.iter());
        names.map(|(k, _)| k.get_ref().to_string()).collect()
    }

    /// Reports every key that nobody asked for, with the nearest known one.
    pub(super) fn finish(&self) {
        let asked = self.asked.borrow();
        for (key, _) in self.keys.into_iter().flat_map(|t| t.iter()) {
            if asked.iter().any(|a| a == key.get_ref()) {
                continue;
            }
            let field = self.field(key.get_ref());
            let near = nearest_key(key.get_ref(), &asked);
            let place: Place = self.reader.place(key.span().start).field(field.as_str());
            let unit = unit_of(near).map_or_else(String::new, |u| format!(", {u}"));
            self.reader.push(Fault::new(
                Kind::Unknown,
                place,
                format!("there is no key `{field}`"),
                format!("the nearest known key is `{}`{unit}", self.field(near)),
            ));
        }
    }
}

/// A word or key as it is compared: letter case and what parts its words aside.
fn plain(word: &str) -> String {
    word.to_lowercase().replace([' ', '-'], "_")
}

/// The known key nearest to one that is not: the same but for a unit at the end
/// of either (`lean` and `lean_deg`, `height_mm` and `height`), else by spelling.
fn nearest_key(given: &str, known: &[&'static str]) -> &'static str {
    let given = plain(given);
    let more = |long: &str, short: &str| {
        long.strip_prefix(short)
            .is_some_and(|rest| rest.is_empty() || rest.starts_with('_'))
    };
    let same = known
        .iter()
        .filter(|k| more(k, &given) || more(&given, k))
        .max_by_key(|k| k.len());
    same.copied()
        .or_else(|| nearest(&given, known.iter().copied()))
        .unwrap_or_default()
}

/// What a key's figure is, where its name ends in a unit.
pub(super) fn unit_of(key: &str) -> Option<&'static str> {
    const UNITS: [(&str, &str); 7] = [
        ("_per_kg", "a price for a kilogram"),
        ("_per_hour", "a price for an hour"),
        ("_per_m", "a plain number for a metre"),
        ("_deg", "a plain number of degrees"),
        ("_kg", "a plain number of kilograms"),
        ("_s", "a plain number of seconds"),
        ("_mm_min", "a plain number of millimetres a minute"),
    ];
    // A price by alloy is a table.
    let found = (UNITS.iter()).find(|(end, _)| key != "per_kg" && key.ends_with(end));
    found.map(|(_, unit)| *unit)
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

fn type_name(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number without a unit",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}
