//! Problems with what the user gave: what, where, of which kind, and how to
//! mend it. Callers match on [`Kind`], never on text.

use std::collections::BTreeMap;
use std::fmt;

use crate::limits::{ALIKE, MESSAGES, quoted};

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
    /// How many further problems of the same cause it stands for, and the line of
    /// the last.
    pub alike: Option<(usize, usize)>,
    /// How many further problems of its file it stands for, which are counted
    /// and not told.
    pub more: usize,
}

/// What is wrong with a text, before it is known where that stands.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{what}")]
pub struct Refused {
    /// Kind.
    pub kind: Kind,
    /// One sentence.
    pub what: String,
    /// One sentence.
    pub mend: String,
}

impl Refused {
    /// Of a kind, with what is wrong and how to mend it.
    #[must_use]
    pub fn new(kind: Kind, what: impl Into<String>, mend: impl Into<String>) -> Self {
        Self {
            kind,
            what: what.into(),
            mend: mend.into(),
        }
    }
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
            alike: None,
            more: 0,
        }
    }

    /// How many problems it stands for.
    #[must_use]
    pub fn count(&self) -> usize {
        1 + self.alike.map_or(0, |(count, _)| count) + self.more
    }

    /// What makes it one with others: all that it says but for what is quoted and
    /// figures.
    fn cause(&self) -> (&str, Kind, String) {
        let mut out = String::new();
        let said = [
            self.place.field.as_deref().unwrap_or_default(),
            &self.what,
            &self.mend,
        ];
        for text in said {
            let outside = text.split('`').step_by(2);
            let plain = outside.flat_map(str::chars);
            out.extend(plain.filter(|c| !c.is_ascii_digit() && !".-/+".contains(*c)));
            out.push('\n');
        }
        (&self.place.file, self.kind, out)
    }

    /// Takes another of the same cause for its own.
    fn take(&mut self, other: &Self) {
        let (count, last) = self.alike.unwrap_or_default();
        let line = other.alike.map(|a| a.1).max(other.place.line);
        let alike = other.count() - other.more;
        self.alike = Some((count + alike, last.max(line.unwrap_or_default())));
        self.more += other.more;
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
        self.0.iter().map(Fault::count).sum()
    }

    /// The same after others from which each may follow, and says so.
    #[must_use]
    pub fn after(mut self, first: Vec<Fault>) -> Self {
        if first.is_empty() {
            return self;
        }
        for fault in &mut self.0 {
            fault
                .mend
                .push_str("; it may follow from what is told first");
        }
        self.0.splice(0..0, first);
        self
    }
}

/// Those of one cause of a file, where they are more than [`ALIKE`], as the first.
fn grouped(faults: Vec<Fault>) -> Vec<Fault> {
    let mut sizes: BTreeMap<_, usize> = BTreeMap::new();
    for f in &faults {
        *sizes.entry(f.cause()).or_default() += f.count() - f.more;
    }
    let many: Vec<bool> = faults.iter().map(|f| sizes[&f.cause()] > ALIKE).collect();
    let mut out: Vec<Fault> = Vec::with_capacity(faults.len());
    let mut firsts = BTreeMap::new();
    for (fault, many) in faults.iter().zip(many) {
        let first = firsts.entry(fault.cause()).or_insert(out.len());
        match out.get_mut(*first).filter(|_| many) {
            Some(f) => f.take(fault),
            None => out.push(fault.clone()),
        }
    }
    out
}

/// Keeps the first [`MESSAGES`] faults from an index on, of one cause the first
/// alone, and of the others their number: what one file gave. Until there are twice
/// as many they are all kept, so that it costs little at every row.
pub fn keep_first(faults: &mut Vec<Fault>, from: usize) {
    if faults.len() <= from + 2 * MESSAGES {
        return;
    }
    let own = faults.split_off(from);
    faults.extend(grouped(own));
    if faults.len() <= from + MESSAGES {
        return;
    }
    let more: usize = faults.drain(from + MESSAGES..).map(|f| f.count()).sum();
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
        write!(f, "{}: {what}\n    mend: {mend}", self.place)?;
        match self.alike {
            None => Ok(()),
            Some((count, 0)) => write!(f, "\n    and {count} more like it"),
            Some((1, last)) => write!(f, "\n    and 1 more like it, on line {last}"),
            Some((count, last)) => {
                write!(f, "\n    and {count} more like it, the last on line {last}")
            }
        }
    }
}

/// The first [`MESSAGES`] of a file one by one, of one cause the first alone, the
/// others by their number.
impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let all = grouped(self.0.clone());
        let mut files: BTreeMap<&str, (usize, usize)> = BTreeMap::new();
        let mut between = "";
        for fault in &all {
            let (told, more) = files.entry(&fault.place.file).or_default();
            *more += fault.more;
            if *told < MESSAGES {
                *told += 1;
                write!(f, "{between}{fault}")?;
                between = "\n";
            } else {
                *more += fault.count() - fault.more;
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

    /// Faults of as many causes, a line each.
    fn faults(file: &str, count: usize) -> Vec<Fault> {
        let one = |i| {
            let what = format!("wrong{}", "!".repeat(i));
            Fault::new(Kind::Syntax, Place::file(file).line(i), what, "mend it")
        };
        (1..=count).map(one).collect()
    }

    #[test]
    fn of_one_cause_the_first_is_told_and_how_many_there_are() {
        let unit = |line: usize| {
            let place = Place::file("a.csv").line(line).field("height");
            Fault::new(
                Kind::Unit,
                place,
                format!("`{line}x` is not a unit"),
                "use mm",
            )
        };
        let told = |count: usize, from: usize| {
            let mut all = faults("a.csv", 1);
            for line in 0..count {
                all.push(unit(line + 7));
                keep_first(&mut all, from);
            }
            all.push(Fault::new(
                Kind::Syntax,
                Place::file("a.csv").line(9000),
                "last",
                "mend it",
            ));
            let all = Faults(all);
            assert_eq!(all.count(), count + 2);
            all.to_string()
        };
        // Few are told one by one.
        assert_eq!(told(ALIKE, 0).matches("use mm").count(), ALIKE);
        for (count, from) in [(ALIKE + 1, 0), (150, 0), (150, 1), (2000, 0), (2000, 1)] {
            let text = told(count, from);
            let (more, last) = (count - 1, count + 6);
            let want = format!(
                "a.csv:1: wrong!\n    mend: mend it\na.csv:7: height: `7x` is not a unit\n    mend: use mm\n    and {more} more like it, the last on line {last}\na.csv:9000: last\n    mend: mend it"
            );
            assert_eq!(text, want);
        }
        // Another field, kind or file is another cause.
        let mut mixed: Vec<Fault> = (1..=ALIKE).map(unit).collect();
        mixed.push(Fault::new(
            Kind::Unit,
            Place::file("b.csv").line(1).field("height"),
            "`1x` is not a unit",
            "use mm",
        ));
        mixed.push(Fault::new(
            Kind::Unit,
            Place::file("a.csv").line(1).field("station"),
            "`1x` is not a unit",
            "use mm",
        ));
        assert_eq!(
            Faults(mixed).to_string().matches("use mm").count(),
            ALIKE + 2
        );
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
        let mut own = faults("a.csv", 250);
        let late = own.split_off(210);
        read.extend(own);
        keep_first(&mut read, 3);
        read.extend(late);
        keep_first(&mut read, 3);
        assert_eq!(read.len(), 143);
        read.extend(faults("a.csv", 250).drain(150..));
        keep_first(&mut read, 3);
        let read = Faults(read);
        assert_eq!((read.0.len(), read.count()), (103, 353));
        assert!(read.to_string().ends_with("\na.csv: and 250 more"));
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
