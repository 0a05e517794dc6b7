//! Problems with what the user gave: what, where, of which kind, and how to
//! mend it. Callers match on [`Kind`], never on text.

use std::collections::BTreeMap;
use std::fmt;

use crate::limits::{MESSAGES, quoted};

/// The kind of a problem.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// A file that cannot be read or written.
    File,
    /// Text that does not follow the format: TOML or CSV syntax, a bad number.
    Syntax,
    /// A key or column that the format does not have.
    Unknown,
    /// A key, column or value that must be there and is not.
    Missing,
    /// A number that is not finite, or lies outside what it can be.
    Range,
    /// A length without a unit where one is needed, or with a wrong one.
    Unit,
    /// Values that contradict each other.
    Conflict,
    /// Measured points that cannot be an edge: doubled, crossed, too few.
    Survey,
    /// The bulwark asked for cannot be made as geometry.
    Geometry,
    /// The section does not hold together: cap, plate, stanchion widths.
    Section,
    /// The stock does not hold the parts.
    Stock,
}

/// Where in the input a problem lies.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Place {
    /// The file, as the user named it.
    pub file: String,
    /// Line, counted from 1.
    pub line: Option<usize>,
    /// Column: counted from 1 in the text, or none.
    pub column: Option<usize>,
    /// The key or table column, such as `bulwark.height` or `half_breadth`.
    pub field: Option<String>,
    /// A place on the boat, as people say it: `port, station 4200 mm`.
    pub station: Option<String>,
}

/// One problem.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub struct Fault {
    /// Its kind.
    pub kind: Kind,
    /// Where it lies.
    pub place: Place,
    /// What is wrong, in one sentence with the figures and their units.
    pub what: String,
    /// How to mend it, in one sentence.
    pub mend: String,
    /// How many further problems of its file it stands for, which are counted
    /// and not told.
    pub more: usize,
}

/// All the problems found in one pass.
#[derive(Debug, Clone, PartialEq, Eq, Default, thiserror::Error)]
pub struct Faults(pub Vec<Fault>);

impl Fault {
    /// A problem at a place.
    #[must_use]
    pub fn new(kind: Kind, place: Place, what: impl Into<String>, mend: impl Into<String>) -> Self {
        Self {
            kind,
            place,
            what: what.into(),
            mend: mend.into(),
            more: 0,
        }
    }
}

impl Place {
    /// A place in a file as a whole.
    #[must_use]
    pub fn file(name: impl Into<String>) -> Self {
        Self {
            file: name.into(),
            ..Self::default()
        }
    }
    /// With a line, counted from 1.
    #[must_use]
    pub fn line(mut self, line: usize) -> Self {
        self.line = Some(line);
        self
    }
    /// With a column of the text, counted from 1.
    #[must_use]
    pub fn column(mut self, column: usize) -> Self {
        self.column = Some(column);
        self
    }
    /// With a key or table column.
    #[must_use]
    pub fn field(mut self, field: impl Into<String>) -> Self {
        self.field = Some(field.into());
        self
    }
    /// With a place on the boat.
    #[must_use]
    pub fn station(mut self, station: impl Into<String>) -> Self {
        self.station = Some(station.into());
        self
    }
}

impl Faults {
    /// How many problems there are, those that are only counted among them.
    #[must_use]
    pub fn count(&self) -> usize {
        self.0.iter().map(|f| 1 + f.more).sum()
    }
}

/// Keeps the first [`MESSAGES`] faults from an index on, and of the others
/// their number: what one file gave.
pub fn keep_first(faults: &mut Vec<Fault>, from: usize) {
    if faults.len() <= from + MESSAGES {
        return;
    }
    let more: usize = faults.drain(from + MESSAGES..).map(|f| 1 + f.more).sum();
    if let Some(last) = faults.last_mut() {
        last.more += more;
    }
}

impl From<Fault> for Faults {
    fn from(f: Fault) -> Self {
        Self(vec![f])
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", quoted(&self.file))?;
        if let Some(l) = self.line {
            write!(f, ":{l}")?;
            if let Some(c) = self.column {
                write!(f, ":{c}")?;
            }
        }
        if let Some(field) = &self.field {
            write!(f, ": {}", quoted(field))?;
        }
        if let Some(s) = &self.station {
            write!(f, " ({})", quoted(s))?;
        }
        Ok(())
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (what, mend) = (quoted(&self.what), quoted(&self.mend));
        write!(f, "{}: {what}\n    mend: {mend}", self.place)
    }
}

/// The first [`MESSAGES`] of a file one by one, the others by their number.
impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut files: BTreeMap<&str, (usize, usize)> = BTreeMap::new();
        let mut between = "";
        for fault in &self.0 {
            let (told, more) = files.entry(&fault.place.file).or_default();
            *more += fault.more;
            if *told < MESSAGES {
                *told += 1;
                write!(f, "{between}{fault}")?;
                between = "\n";
            } else {
                *more += 1;
            }
        }
        for (file, (_, more)) in files {
            if more > 0 {
                write!(f, "\n{}: and {more} more", quoted(file))?;
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn faults(file: &str, count: usize) -> Vec<Fault> {
        let one = |i| Fault::new(Kind::Syntax, Place::file(file).line(i), "wrong", "mend it");
        (1..=count).map(one).collect()
    }

    #[test]
    fn a_file_has_a_hundred_messages_and_a_count() {
        let mut all = faults("a.csv", 250);
        all.extend(faults("b.csv", 3));
        let whole = Faults(all.clone());
        assert_eq!(whole.count(), 253);
        let text = whole.to_string();
        assert_eq!(text.matches("mend:").count(), 103);
        assert!(text.ends_with("\na.csv: and 150 more"), "{text}");
        assert!(text.contains("a.csv:100: ") && !text.contains("a.csv:101: "));

        // Those that a reader only counted are told the same.
        keep_first(&mut all, 250);
        assert_eq!(all.len(), 253);
        let mut read = faults("b.csv", 3);
        read.extend(faults("a.csv", 180));
        keep_first(&mut read, 3);
        read.extend(faults("a.csv", 70));
        keep_first(&mut read, 3);
        let read = Faults(read);
        assert_eq!((read.0.len(), read.count()), (103, 253));
        assert!(read.to_string().ends_with("\na.csv: and 150 more"));
    }

    #[test]
    fn a_message_shows_what_acts_on_a_terminal_by_its_number() {
        let place = Place::file("a\u{1B}.csv").field("x\u{202E}");
        let fault = Fault::new(Kind::Unknown, place, "no `\u{9B}2J`\nhere", "mend it");
        assert_eq!(
            fault.to_string(),
            "a<U+001B>.csv: x<U+202E>: no `<U+009B>2J` here\n    mend: mend it"
        );
    }
}
