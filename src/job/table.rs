//! A table of a job file, read key by key as its keys are stated. Every getter
//! reports what is wrong and gives back what it can: the value, or the key's default.

use std::path::Path;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::key_kind::{
    Absent, Key, NONE_OR_MORE, Quantity, Range, Word, between, quoted, words_of,
};
use super::text::{Reader, full_name};
use crate::fault::{Fault, Kind, Place, Refused};
use crate::length::{self, Round, WITH_UNIT, unrounded};
use crate::limits::{self, ITEMS, NAME_LETTERS};
use crate::stock::{self, nearest};

/// A table, or the absence of one that is optional.
pub(super) struct Table<'r, 't> {
    pub(super) reader: &'r Reader<'t>,
    pub(super) name: String,
    pub(super) keys: &'static [Key],
    pub(super) given: Option<&'r DeTable<'t>>,
}

pub(super) type Value<'r, 't> = &'r Spanned<DeValue<'t>>;

impl<'r, 't> Table<'r, 't> {
    /// The table of these keys; every other key in it is reported, with the
    /// nearest known one.
    pub(super) fn new(
        reader: &'r Reader<'t>,
        name: String,
        keys: &'static [Key],
        given: Option<&'r DeTable<'t>>,
    ) -> Self {
        let table = Self {
            reader,
            name,
            keys,
            given,
        };
        for (key, _) in table.given.into_iter().flat_map(|t| t.iter()) {
            if keys.iter().all(|k| k.name != key.get_ref()) {
                let field = table.field(key.get_ref());
                let mend = nearest_key(key.get_ref(), keys).map_or_else(String::new, |near| {
                    let plain = near.quantity.plain();
                    let plain = plain.map_or_else(String::new, |p| format!(", {p}"));
                    let near = table.field(near.name);
                    format!("the nearest known key is `{near}`{plain}")
                });
                let place: Place = reader.place(key.span().start).field(field.as_str());
                let what = format!("there is no key `{field}`");
                reader.push(Fault::new(Kind::Unknown, place, what, mend));
            }
        }
        table
    }

    /// True where the job has this table.
    pub(super) fn present(&self) -> bool {
        self.given.is_some()
    }

    /// Full name of a key of this table.
    pub(super) fn field(&self, key: &str) -> String {
        full_name(&self.name, key)
    }

    /// Where a key of this table stands in the job.
    pub(super) fn place(&self, key: &str) -> Place {
        self.reader.place_of(&self.field(key))
    }

    /// A key's value as it stands.
    pub(super) fn value(&self, key: &str) -> Option<Value<'r, 't>> {
        let (_, value) = self.given?.iter().find(|(k, _)| k.get_ref() == key)?;
        Some(value)
    }

    /// True where the job gives this key.
    pub(super) fn gives(&self, key: &str) -> bool {
        self.value(key).is_some()
    }

    /// True where something under this key is at fault.
    pub(super) fn faulty(&self, key: &str) -> bool {
        let field = self.field(key);
        self.reader.faulty().iter().any(|f| f.starts_with(&field))
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

    /// Reports a key that does not go with the others.
    pub(super) fn conflict(&self, key: &str, what: impl Into<String>, mend: impl Into<String>) {
        self.fault(Kind::Conflict, key, what, mend);
    }

    /// Reports that a key must be given.
    pub(super) fn missing(&self, key: &str, mend: impl Into<String>) {
        let field = self.field(key);
        self.fault(Kind::Missing, key, format!("`{field}` is not given"), mend);
    }

    /// Reports that a key must be given, where it is not.
    pub(super) fn needed(&self, key: &str, mend: &str) {
        if !self.gives(key) {
            self.missing(key, mend);
        }
    }

    /// Reports a value of another kind than wanted.
    pub(super) fn wrong_type(&self, key: &str, value: Value<'r, 't>, want: &str, mend: &str) {
        let number = matches!(value.get_ref(), DeValue::Integer(_) | DeValue::Float(_));
        let kind = if number && mend == WITH_UNIT {
            Kind::Unit
        } else {
            Kind::Syntax
        };
        let what = format!("`{key}` is {}, not {want}", type_name(value.get_ref()));
        self.fault(kind, key, what, mend);
    }

    /// What is stated of a key. One that is read and not stated is told in every
    /// job, so that no test passes.
    pub(super) fn key(&self, name: &str) -> Option<&'static Key> {
        let key = self.keys.iter().find(|k| k.name == name);
        if key.is_none() {
            self.misread(name);
        }
        key
    }

    pub(super) fn misread(&self, name: &str) {
        let what = format!("`{name}` is not stated as it is read");
        let mend = "this is a fault of the program, not of the job: please report it";
        self.fault(Kind::Unknown, name, what, mend);
    }

    /// A key's value as `read` takes it from the job, or its default from the
    /// text that stands for it.
    fn read<T>(
        &self,
        name: &str,
        read: impl FnOnce(Quantity, Value<'r, 't>) -> Option<T>,
        default: impl FnOnce(&str) -> Option<T>,
    ) -> Option<T> {
        let key = self.key(name)?;
        let value = self.value(name);
        if let (None, Absent::Required) = (value, key.absent) {
            self.missing(name, key.lacking());
        }
        let given = value.and_then(|v| read(key.quantity, v));
        match key.absent {
            Absent::Is(text) => given.or_else(|| default(text)),
            _ => given,
        }
    }

    /// What a key that always holds something holds; `or` where it is at fault.
    fn always<T>(&self, name: &str, held: Option<T>, or: T) -> T {
        let absent = self.key(name).map(|k| k.absent);
        if !matches!(absent, Some(Absent::Required | Absent::Is(_))) {
            self.misread(name);
        }
        held.unwrap_or(or)
    }

    /// A text, trimmed; a path, or one that must be given, not empty.
    pub(super) fn text(&self, name: &str) -> Option<String> {
        let text = self.read(
            name,
            |quantity, value| {
                let text = value.get_ref().as_str();
                if text.is_none() {
                    self.wrong_type(name, value, "text", "write it in double quotes");
                }
                self.sound(name, text?, quantity.letters().unwrap_or(NAME_LETTERS))
            },
            |text| Some(text.to_owned()),
        );
        let key = self.key(name)?;
        let named = matches!(key.quantity, Quantity::Path)
            || key.quantity.letters().is_some() && matches!(key.absent, Absent::Required);
        if named && text.as_deref() == Some("") {
            let what = format!("`{name}` is empty");
            self.fault(Kind::Missing, name, what, "write a name between the quotes");
        }
        text
    }

    /// What the job says of a word, or the key's default, without a look at it.
    pub(super) fn said(&self, name: &str) -> &str {
        let text = self.value(name).and_then(|v| v.get_ref().as_str());
        text.map_or(
            match self.key(name).map(|k| k.absent) {
                Some(Absent::Is(usual)) => usual,
                _ => "",
            },
            str::trim,
        )
    }

    /// A path, from the folder of the job file.
    pub(super) fn path(&self, name: &str) -> Option<String> {
        let path = Path::new(self.reader.folder).join(self.text(name)?);
        Some(path.to_string_lossy().into_owned())
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
    pub(super) fn date(&self, name: &str) -> Option<String> {
        match self.value(name).map(|v| v.get_ref()) {
            Some(DeValue::Datetime(d)) => Some(d.to_string()),
            _ => self.text(name),
        }
    }

    /// True or false.
    pub(super) fn flag(&self, name: &str) -> bool {
        let flag = self.read(
            name,
            |_, value| {
                let flag = value.get_ref().as_bool();
                if flag.is_none() {
                    let mend = "write true or false, without quotes";
                    self.wrong_type(name, value, "true or false", mend);
                }
                flag
            },
            |text| text.parse().ok(),
        );
        self.always(name, flag, false)
    }

    /// One word of a list.
    pub(super) fn choice<T: Word>(&self, name: &str) -> Option<T> {
        let words = words_of::<T>();
        let stated = |quantity| matches!(quantity, Quantity::Choice(of) if of() == words);
        if !stated(self.key(name)?.quantity) {
            self.misread(name);
        }
        let given = self.text(name)?;
        let found = T::WORDS.iter().find(|(w, _)| plain(w) == plain(&given));
        if found.is_none() {
            let near = nearest(&given, words.iter().copied()).unwrap_or_default();
            let list = quoted(&words, "\"", ", ");
            let what = format!("`{name}` cannot be \"{given}\"");
            let mend = format!("did you mean \"{near}\"? it may be {list}");
            self.fault(Kind::Unknown, name, what, mend);
        }
        found.map(|(_, t)| *t)
    }

    /// One word of a list that always has one.
    pub(super) fn chosen<T: Word>(&self, name: &str) -> T {
        self.always(name, self.choice(name), const { T::WORDS[0].1 })
    }

    /// A list of texts, each trimmed and not empty.
    pub(super) fn texts(&self, name: &str) -> Option<Vec<String>> {
        const MEND: &str = "write a list of texts, such as [\"E\", \"CB\"]";
        let read = |_, value: Value<'r, 't>| {
            let Some(items) = value.get_ref().as_array() else {
                self.wrong_type(name, value, "a list of texts", MEND);
                return None;
            };
            if self.too_many(name, items.len(), ITEMS) {
                return None;
            }
            let text = |item: Value<'r, 't>| {
                let text = item.get_ref().as_str().map(str::trim);
                text.filter(|t| !t.is_empty())
            };
            let texts: Option<Vec<&str>> = items.iter().map(text).collect();
            if texts.is_none() {
                let what = format!("an item of `{name}` is empty or no text");
                self.fault(Kind::Syntax, name, what, MEND);
            }
            let texts = texts?.into_iter();
            texts.map(|t| self.sound(name, t, NAME_LETTERS)).collect()
        };
        self.read(name, read, |text| Some(vec![text.to_owned()]))
    }

    /// Reports a list of more items than are taken.
    pub(super) fn too_many(&self, key: &str, count: usize, most: usize) -> bool {
        let over = count > most;
        if over {
            let what = format!("`{key}` lists {count}, and may list {most}");
            let mend = "take some out: no boat has so many";
            self.fault(Kind::Range, key, what, mend);
        }
        over
    }

    /// A figure: a length in mm, an angle in rad, a plain number.
    pub(super) fn maybe(&self, name: &str) -> Option<f64> {
        let read = |quantity, value: Value<'r, 't>| match quantity {
            Quantity::Length(range) => {
                let Some(text) = value.get_ref().as_str() else {
                    self.wrong_type(name, value, "a length with its unit", WITH_UNIT);
                    return None;
                };
                let mm = self.measure(name, text)?;
                self.limited(name, mm, range, |v, round| {
                    self.reader.told_unrounded(v, round)
                })
            }
            Quantity::Number(range, unit) => self.number(name, value, range, unit),
            Quantity::Angle(range) => self.number(name, value, range, "degrees"),
            Quantity::Price(_) => self.number(name, value, NONE_OR_MORE, ""),
            Quantity::Count(least, most) => {
                let range = between(f64::from(least), f64::from(most));
                self.number(name, value, range, "")
            }
            _ => {
                self.misread(name);
                None
            }
        };
        let default = |text: &str| text.parse().ok().or_else(|| length::parse(text).ok());
        let figure = self.read(name, read, default)?;
        match self.key(name)?.quantity {
            Quantity::Angle(_) => Some(figure.to_radians()),
            _ => Some(figure),
        }
    }

    /// A figure that always has a value.
    pub(super) fn figure(&self, name: &str) -> f64 {
        self.always(name, self.maybe(name), 0.0)
    }

    /// A text that is a length with its unit, mm.
    pub(super) fn measure(&self, key: &str, text: &str) -> Option<f64> {
        self.taken(key, length::parse(text))
    }

    fn limited(
        &self,
        key: &str,
        v: f64,
        range: Range,
        figure: impl Fn(f64, Round) -> String,
    ) -> Option<f64> {
        if range.holds(v) {
            return Some(v);
        }
        let what = if v.is_finite() {
            format!("`{key}` is {}", figure(v, Round::Nearest))
        } else {
            format!("`{key}` is not a finite number")
        };
        let mend = format!("it must be {}", range.words(figure));
        self.fault(Kind::Range, key, what, mend);
        None
    }

    /// A plain number; `unit` is what people read after it.
    pub(super) fn number(
        &self,
        key: &str,
        value: Value<'r, 't>,
        range: Range,
        unit: &str,
    ) -> Option<f64> {
        let number = match value.get_ref() {
            DeValue::Integer(i) if i.radix() == 10 => i.as_str().parse::<f64>().ok(),
            DeValue::Float(f) => f.as_str().parse::<f64>().ok(),
            _ => {
                let mend = "write a plain number, without quotes or unit";
                self.wrong_type(key, value, "a number", mend);
                return None;
            }
        };
        let figure = |v: f64, _| format!("{} {unit}", unrounded(v)).trim_end().to_owned();
        self.limited(key, number.unwrap_or(f64::NAN), range, figure)
    }

    /// A whole number.
    pub(super) fn count(&self, name: &str) -> Option<usize> {
        let v = self.maybe(name)?;
        let Quantity::Count(least, most) = self.key(name)?.quantity else {
            self.misread(name);
            return None;
        };
        let count = (least..=most).find(|&n| f64::from(n) >= v)?;
        if f64::from(count) > v {
            let what = format!("`{name}` is {v}");
            let mend = format!("write a whole number from {least} to {most}");
            self.fault(Kind::Range, name, what, mend);
            return None;
        }
        usize::try_from(count).ok()
    }

    /// An alloy's name as the stock table spells it.
    pub(super) fn alloy(&self, name: &str) -> Option<String> {
        let given = match self.value(name).map(|v| v.get_ref()) {
            // A bare 5086 lacks its temper before it lacks its quotes.
            Some(DeValue::Integer(number)) => number.as_str().to_owned(),
            _ => self.text(name)?,
        };
        self.taken(name, stock::alloy(&given).map(|a| a.name.to_owned()))
    }

    /// What a text under a key is taken for.
    pub(super) fn taken<T>(&self, key: &str, found: Result<T, Refused>) -> Option<T> {
        let fault = |e: Refused| self.fault(e.kind, key, e.what, e.mend);
        found.map_err(fault).ok()
    }
}

/// A word or key as it is compared: letter case and what parts its words aside.
fn plain(word: &str) -> String {
    word.to_lowercase().replace([' ', '-'], "_")
}

/// The known key nearest to one that is not: the same but for a unit at the end
/// of either (`lean` and `lean_deg`, `height_mm` and `height`), else by spelling.
fn nearest_key(given: &str, known: &'static [Key]) -> Option<&'static Key> {
    let given = plain(given);
    let more = |long: &str, short: &str| {
        long.strip_prefix(short)
            .is_some_and(|rest| rest.is_empty() || rest.starts_with('_'))
    };
    let same = known
        .iter()
        .filter(|k| more(k.name, &given) || more(&given, k.name))
        .max_by_key(|k| k.name.len());
    same.or_else(|| {
        let near = nearest(&given, known.iter().map(|k| k.name));
        known.iter().find(|k| Some(k.name) == near)
    })
}

pub(super) fn type_name(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number without a unit",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}
