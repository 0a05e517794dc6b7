//! What is stated of a key of the job file: quantity, range, default, meaning.

use crate::length::Round;
use crate::limits::{NAME_LETTERS, NOTE_LETTERS};

/// A key of a job file.
#[derive(Debug, Clone, Copy)]
pub(super) struct Key {
    pub(super) name: &'static str,
    pub(super) quantity: Quantity,
    pub(super) absent: Absent,
    /// What it is, for people, in Markdown.
    pub(super) meaning: &'static str,
}

/// What a key holds.
#[derive(Debug, Clone, Copy)]
pub(super) enum Quantity {
    /// A text as long as a name.
    Text,
    /// A text as long as a note.
    Note,
    /// A file, from the job file's folder.
    Path,
    /// A date, in quotes or bare.
    Date,
    /// True or false.
    Flag,
    /// One of these words.
    Choice(fn() -> Vec<&'static str>),
    /// An alloy of the stock tables.
    Alloy,
    /// A cutting process, of the stock tables or another.
    Process,
    /// A list of texts.
    Texts,
    /// A length, mm.
    Length(Range),
    /// An angle, degrees.
    Angle(Range),
    /// A number with the unit that people read after it.
    Number(Range, &'static str),
    /// A price in the job's currency, and what it is for.
    Price(&'static str),
    /// A whole number, from and to.
    Count(u32, u32),
    /// Prices by a name.
    Prices(&'static str),
    /// A list of rectangles of a sheet.
    Rectangles,
    /// A place along the edge.
    Place(&'static [Key]),
    /// A list of places.
    Places(&'static [Key]),
    /// A table.
    Table(&'static [Key]),
    /// A list of tables, and how many it may have.
    Tables(&'static [Key], usize),
}

/// What holds where a key is not given.
#[derive(Debug, Clone, Copy)]
#[cfg_attr(
    not(test),
    expect(
        dead_code,
        reason = "words of the reference's tables, which a test makes"
    )
)]
pub(super) enum Absent {
    /// It must be given.
    Required,
    /// As if the job said this.
    Is(&'static str),
    /// Something that no fixed text says.
    Else(&'static str),
    /// The same, in words with figures of constants.
    Told(fn() -> String),
}

/// What a figure may be.
#[derive(Debug, Clone, Copy)]
pub(super) struct Range {
    pub(super) least: f64,
    pub(super) most: f64,
    pub(super) open: bool,
}

/// Units after figures, in words.
const UNITS: [(&str, &str); 6] = [
    ("kg", "kilograms"),
    ("s", "seconds"),
    ("mm/min", "millimetres a minute"),
    ("kg/m", "kilograms a metre"),
    ("min/m", "minutes a metre"),
    ("min", "minutes"),
];

/// A larger price or rate is a slip of the pen, and sums stay finite.
pub(super) const BILLION: f64 = 1e9;

/// Nought or more.
pub(super) const NONE_OR_MORE: Range = between(0.0, BILLION);

/// Any figure.
pub(super) const ANY: Range = between(f64::NEG_INFINITY, f64::INFINITY);

/// Between these, both included.
pub(super) const fn between(least: f64, most: f64) -> Range {
    let open = false;
    Range { least, most, open }
}

/// A length between these, mm.
pub(super) const fn length(least: f64, most: f64) -> Quantity {
    Quantity::Length(between(least, most))
}

/// A length above nought, to this, mm.
pub(super) const fn length_to(most: f64) -> Quantity {
    Quantity::Length(Range {
        least: 0.0,
        most,
        open: true,
    })
}

/// A word of this kind.
pub(super) const fn choice<T: Word>() -> Quantity {
    Quantity::Choice(words_of::<T>)
}

pub(super) const fn key(
    name: &'static str,
    quantity: Quantity,
    absent: Absent,
    meaning: &'static str,
) -> Key {
    Key {
        name,
        quantity,
        absent,
        meaning,
    }
}

/// The key of this name among these.
pub(super) const fn named(keys: &[Key], name: &str) -> Key {
    let mut k = 0;
    while !same(keys[k].name.as_bytes(), name.as_bytes()) {
        k += 1;
    }
    keys[k]
}

const fn same(a: &[u8], b: &[u8]) -> bool {
    match (a, b) {
        ([], []) => true,
        ([p, a @ ..], [q, b @ ..]) => *p == *q && same(a, b),
        _ => false,
    }
}

/// Of a table.
pub(super) const BY_KEY: Absent = Absent::Else("each key's");

impl Range {
    pub(super) fn holds(self, v: f64) -> bool {
        v <= self.most && (v > self.least || !self.open && v >= self.least)
    }

    /// In words; nothing where every figure is taken.
    pub(super) fn words(self, figure: impl Fn(f64, Round) -> String) -> String {
        let least = || figure(self.least, Round::Up);
        let most = || figure(self.most, Round::Down);
        match (self.least.is_finite(), self.most.is_finite()) {
            (false, _) => String::new(),
            (true, false) => format!("{} or more", least()),
            (true, true) if self.open => format!("above {} and at most {}", least(), most()),
            (true, true) => format!("from {} to {}", least(), most()),
        }
    }
}

impl Key {
    /// The same key with another default.
    pub(super) const fn or(self, absent: Absent) -> Self {
        Self { absent, ..self }
    }

    /// How to add it where it must be given and is not.
    pub(super) fn lacking(&self) -> String {
        let value = match self.quantity {
            Quantity::Choice(words) => format!(" = {}", quoted(&words(), "\"", " or ")),
            Quantity::Length(_) => " = \"...\" as a length with its unit".to_owned(),
            other => other
                .plain()
                .map_or(" = \"...\"".into(), |p| format!(", {p}")),
        };
        format!("add {}{value}: {}", self.name, self.meaning)
    }
}

impl Quantity {
    /// Keys of the table or tables that it is.
    pub(super) fn keys(self) -> Option<&'static [Key]> {
        match self {
            Self::Table(keys) | Self::Tables(keys, _) | Self::Place(keys) | Self::Places(keys) => {
                Some(keys)
            }
            _ => None,
        }
    }

    /// Most letters, of a text.
    pub(super) fn letters(self) -> Option<usize> {
        match self {
            Self::Text | Self::Process => Some(NAME_LETTERS),
            Self::Note | Self::Path => Some(NOTE_LETTERS),
            _ => None,
        }
    }

    /// What a plain number under the key is; `None` for what is no number.
    pub(super) fn plain(self) -> Option<String> {
        match self {
            Self::Angle(_) => Some("a plain number of degrees".to_owned()),
            Self::Number(_, "") => Some("a plain number".to_owned()),
            Self::Number(_, unit) => {
                let long = UNITS.iter().find(|(short, _)| *short == unit);
                let unit = long.map_or(unit, |(_, long)| long);
                Some(format!("a plain number of {unit}"))
            }
            Self::Price(of) => Some(format!("a price {of}")),
            Self::Count(..) => Some("a whole number".to_owned()),
            _ => None,
        }
    }
}

/// Words between marks: `"a", "b" or "c"`.
pub(super) fn quoted(words: &[&str], mark: &str, last: &str) -> String {
    let words: Vec<String> = words.iter().map(|w| format!("{mark}{w}{mark}")).collect();
    match words.split_last() {
        Some((end, rest)) if !rest.is_empty() => format!("{}{last}{end}", rest.join(", ")),
        _ => words.concat(),
    }
}

/// A kind of thing that a job names by a word.
pub(super) trait Word: Copy + PartialEq + 'static {
    /// Every one with its word.
    const WORDS: &'static [(&'static str, Self)];

    /// Its word.
    fn word(self) -> &'static str {
        let found = Self::WORDS.iter().find(|(_, it)| *it == self);
        found.map_or("", |(word, _)| word)
    }
}

pub(super) fn words_of<T: Word>() -> Vec<&'static str> {
    T::WORDS.iter().map(|(word, _)| *word).collect()
}

/// An enumeration with the words of a job for it.
macro_rules! words {
    ($($(#[$of:meta])* $vis:vis enum $name:ident { $($(#[$about:meta])* $item:ident = $word:literal),+ $(,)? })+) => {$(
        $(#[$of])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        $vis enum $name { $($(#[$about])* $item,)+ }

        impl $crate::job::key_kind::Word for $name {
            const WORDS: &'static [(&'static str, Self)] = &[$(($word, Self::$item),)+];
        }
    )+};
}
pub(super) use words;
