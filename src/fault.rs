//! Problems with what the user gave: what, where, of which kind, and how to
//! mend it. Callers match on [`Kind`], never on text.

use std::fmt;

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

impl From<Fault> for Faults {
    fn from(f: Fault) -> Self {
        Self(vec![f])
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        if let Some(l) = self.line {
            write!(f, ":{l}")?;
            if let Some(c) = self.column {
                write!(f, ":{c}")?;
            }
        }
        if let Some(field) = &self.field {
            write!(f, ": {field}")?;
        }
        if let Some(s) = &self.station {
            write!(f, " ({s})")?;
        }
        Ok(())
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}\n    mend: {}", self.place, self.what, self.mend)
    }
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, fault) in self.0.iter().enumerate() {
            if i > 0 {
                writeln!(f)?;
            }
            write!(f, "{fault}")?;
        }
        Ok(())
    }
}
