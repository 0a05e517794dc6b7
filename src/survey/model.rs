//! The measured edge, and what is told of it.

use crate::fault::{Fault, Kind, Place};
use crate::geom::Vec3;
use crate::geom::rigid::Rigid;
use crate::job::{Act, Figure, Side};

/// The measured edge.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Survey {
    /// One chain (round or transom stern) or two (open or mitred stern).
    pub chains: Vec<Chain>,
    /// How the instrument's coordinates came to the boat's, if the job says.
    pub datum: Option<DatumFit>,
    /// What makes it look misread as a whole (a unit, a direction, columns):
    /// told before all else.
    pub odd: Option<Note>,
    /// What a person should look at, by file and line.
    pub notes: Vec<Note>,
    /// What the job's verdicts did to it, in the order they were applied.
    pub verdicts: Vec<Applied>,
}

/// Something of the survey that is no fault but wants a look.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Note {
    /// Where.
    pub place: Place,
    /// What, in one sentence with the figures and their units.
    pub text: String,
}

impl Note {
    /// The whole of it, for people.
    #[must_use]
    pub fn told(&self) -> String {
        format!("{}: {}", self.place, self.text)
    }
}

/// A verdict of the job that was applied to a row.
#[derive(Debug, Clone, PartialEq)]
pub struct Applied {
    /// File of the row.
    pub file: String,
    /// Line in the file, counted from 1.
    pub line: usize,
    /// Station or point name as booked.
    pub name: String,
    /// Side it was booked on.
    pub side: Side,
    /// The figure; `None`: the whole row.
    pub figure: Option<Figure>,
    /// What became of it.
    pub act: Act,
    /// A replaced figure as it was booked and as it is, in the notation of its file.
    pub replaced: Option<[String; 2]>,
}

/// Points in order, the boat on the left.
#[derive(Debug, Clone, PartialEq)]
pub struct Chain {
    /// At least two.
    pub points: Vec<Point>,
    /// How it begins: at the port fore end, or the starboard aft end.
    pub start: End,
    /// How it ends.
    pub end: End,
}

/// What a chain's end is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum End {
    /// Square to the edge.
    Square,
    /// On a plane parallel to the centreline plane, `y` = this, mm.
    Centreline {
        /// y of the cutting plane, mm, signed.
        y: f64,
    },
}

/// A measured point.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// Place, mm: x forward, y to port, z up.
    pub at: Vec3,
    /// Side it was booked on.
    pub side: Side,
    /// File and line, for findings; a mirrored point keeps its source's.
    pub file: String,
    /// Line in the file, counted from 1.
    pub line: usize,
    /// Station or point name as booked, for people.
    pub name: String,
    /// Bulwark height over this point, mm.
    pub height: Option<f64>,
    /// Lean, rad, outboard positive.
    pub lean: Option<f64>,
    /// Slope of the covering board here, by whatever the row gave.
    pub slope: Option<SlopeGiven>,
    /// Furthest the fair base line may leave this point, mm, where the row says so.
    pub tolerance: Option<f64>,
    /// A corner: the curve breaks here.
    pub knuckle: bool,
    /// Which continuous piece of its file measured it: a table is one piece,
    /// 0; lines and polylines of a drawing are counted from 1, its loose
    /// points are 0.
    pub pass: usize,
    /// What else is known of its figures.
    pub booked: Booked,
}

/// What is known of a point's figures beside themselves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Booked {
    /// x, y and z that a verdict of the job accepts: no longer doubted.
    pub accepted: [bool; 3],
    /// Made from the other side, which alone was measured.
    pub mirrored: bool,
}

/// A slope as the row gave it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SlopeGiven {
    /// Rise inboard per unit, square to the edge in plan.
    Square(f64),
    /// Rise inboard per unit athwartships.
    Athwart(f64),
    /// A point of the covering board's top, inboard of the edge.
    Inboard(Vec3),
    /// Round-up of the deck at this station, mm, over its own half-breadth.
    RoundUp(f64),
}

/// How an instrument's coordinates were brought to the boat's.
#[derive(Debug, Clone, PartialEq)]
pub struct DatumFit {
    /// From the instrument's coordinates to the boat's.
    pub motion: Rigid,
    /// What the fit leaves, in the job's order of reference points.
    pub references: Vec<Residual>,
    /// Root mean square of the residuals' lengths, mm.
    pub rms: f64,
    /// Greatest residual allowed, mm.
    pub limit: f64,
}

/// What a fit leaves at a reference point.
#[derive(Debug, Clone, PartialEq)]
pub struct Residual {
    /// The point's name.
    pub name: String,
    /// In the instrument's frame, the mean of its shots, mm.
    pub measured: Vec3,
    /// How many times it was measured.
    pub shots: usize,
    /// Where the job says it is in the boat's frame, mm.
    pub boat: Vec3,
    /// From there to where the fit brings it, mm.
    pub off: Vec3,
}

impl Point {
    /// Its row.
    fn row(&self) -> Place {
        Place::file(&self.file).line(self.line)
    }

    /// A note of its row.
    pub(super) fn note(&self, text: String) -> Note {
        let place = self.row();
        Note { place, text }
    }

    /// A fault of its row as a whole.
    pub(super) fn fault(&self, what: impl Into<String>, mend: impl Into<String>) -> Fault {
        let station = format!("{}, {}", self.side.name(), self.name);
        Fault::new(Kind::Survey, self.row().station(station), what, mend)
    }

    /// A fault of a figure of its row.
    pub(super) fn fault_of(
        &self,
        kind: Kind,
        field: &str,
        what: impl Into<String>,
        mend: impl Into<String>,
    ) -> Fault {
        let mut fault = self.fault(what, mend);
        fault.kind = kind;
        fault.place = fault.place.field(field);
        fault
    }
}
