//! What a job says of its survey, resolved: millimetres and radians.

use std::collections::BTreeMap;

use super::key_kind::{Word, words};
use crate::fault::Place;
use crate::geom::Vec3;
use crate::length::{Show, Unit};

words! {
    /// Side of the boat.
    #[derive(PartialOrd, Ord, Hash)]
    pub enum Side {
        /// Left, looking forward: y above zero.
        Port = "port",
        /// Right, looking forward: y below zero.
        Starboard = "starboard",
    }
}

impl Side {
    /// In words.
    #[must_use]
    pub fn name(self) -> &'static str {
        self.word()
    }

    /// In the short words of labels.
    #[must_use]
    pub fn short(self) -> &'static str {
        match self {
            Self::Port => "port",
            Self::Starboard => "stbd",
        }
    }
}

/// A place along the edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Position {
    /// Side, where a station alone would be ambiguous.
    pub side: Option<Side>,
    /// Where.
    pub at: At,
}

/// Where along the edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum At {
    /// x forward of the datum, mm.
    X(f64),
    /// Distance along the edge in plan, mm, from the fore end of that side
    /// (from the port fore end, aft and round, where no side is given).
    Along(f64),
}

/// The measured edge.
#[derive(Debug, Clone, PartialEq)]
pub struct SurveyJob {
    /// Files with measured points.
    pub files: Vec<SurveyFile>,
    /// Unit of bare numbers in the tables.
    pub unit: Unit,
    /// Units in which faults of the survey are told; as the job shows.
    pub show: Show,
    /// True where stations count aft from the bow (x is minus the station).
    pub stations_aft: bool,
    /// Accuracy of one measured ordinate, mm, plus or minus; nought where
    /// `estimate` is given.
    pub accuracy: f64,
    /// Given where the job states no accuracy and it is to be estimated from
    /// the points.
    pub estimate: Option<Follow>,
    /// Which line was measured.
    pub line: SurveyedLine,
    /// True where one surveyed side stands for both.
    pub mirrored: bool,
    /// How the two sides meet aft.
    pub stern: Stern,
    /// How the two sides meet forward.
    pub stem: EndStyle,
    /// Deck round-up, if it gives the slope.
    pub round_up: Option<RoundUp>,
    /// Slope of the covering board where no row gives one and there is no
    /// round-up: rise inboard per unit, square to the edge.
    pub slope: Option<f64>,
    /// How an instrument's coordinates come to the boat's.
    pub datum: Option<Datum>,
    /// What is to become of booked figures that were doubted.
    pub verdicts: Vec<Verdict>,
}

/// Tolerances that follow an estimated accuracy because the job does not give them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Follow {
    /// The base line's.
    pub base: bool,
    /// The top line's, [`TOP_OVER_BASE`] times the accuracy.
    pub top: bool,
}

/// The top may leave its points four times further than the base: the eye
/// sees a hollow of 10 mm in a rail, the board under the base does not move.
pub const TOP_OVER_BASE: f64 = 4.0;

/// A file of measured points.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SurveyFile {
    /// Path as the job gives it, from the folder that reading was told.
    pub path: String,
    /// Table form.
    pub form: TableForm,
    /// Side, where the whole file is of one side.
    pub side: Option<Side>,
    /// Unit of bare numbers in this file; `None`: the survey's.
    pub unit: Option<Unit>,
    /// What the codes of a point list mean.
    pub codes: Codes,
    /// Layer of a drawing that holds the edge.
    pub layer: String,
    /// Where the job names it.
    pub place: Place,
}

/// What the codes of a point list mean; letter case aside.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Codes {
    /// Points of the edge.
    pub edge: Vec<String>,
    /// Points of the edge where the curve breaks.
    pub knuckle: Vec<String>,
    /// Points of the covering board's top, inboard of the edge.
    pub inboard: Vec<String>,
    /// Reference points of the datum.
    pub datum: Vec<String>,
    /// Points of other things.
    pub ignore: Vec<String>,
}

impl Codes {
    /// Every kind by its key in a job, with its codes.
    #[must_use]
    pub fn by_kind(&self) -> [(&'static str, &[String]); 5] {
        [
            ("edge", &self.edge),
            ("knuckle", &self.knuckle),
            ("inboard", &self.inboard),
            ("datum", &self.datum),
            ("ignore", &self.ignore),
        ]
    }
}

/// How an instrument's coordinates come to the boat's: by a best rigid fit
/// to reference points.
#[derive(Debug, Clone, PartialEq)]
pub struct Datum {
    /// True where the instrument stood plumb: it is turned about the
    /// vertical only.
    pub level: bool,
    /// Greatest residual of a reference point, mm; `None`: by the accuracy.
    pub limit: Option<f64>,
    /// Three or more.
    pub references: Vec<Reference>,
}

/// A point known in both frames.
#[derive(Debug, Clone, PartialEq)]
pub struct Reference {
    /// Its name, in the job and in a list's `name` or `code` column.
    pub name: String,
    /// In the boat's frame, mm.
    pub boat: Vec3,
    /// In the instrument's frame, mm; `None`: a row of a list gives it.
    pub measured: Option<Vec3>,
}

words! {
    /// Form of a survey table.
    pub enum TableForm {
        /// Station, half-breadth, height.
        Offsets = "offsets",
        /// x, y, z in order along the edge, with side.
        Points = "points",
        /// x, y, z and code, in any order, as an instrument or a tape gives them.
        List = "list",
        /// A drawing: lines, polylines and points on one layer.
        Dxf = "dxf",
    }

    /// The line that was measured.
    pub enum SurveyedLine {
        /// Outboard edge of the covering board.
        CoveringBoardEdge = "covering-board-edge",
        /// Outside of the bulwark planking.
        OutsideOfPlanking = "outside-of-planking",
    }

    /// How port and starboard meet aft.
    pub enum Stern {
        /// One smooth curve round the stern.
        Round = "round",
        /// A transom: the edge runs across between the two aftermost points,
        /// a knuckle at each corner.
        Transom = "transom",
        /// No bulwark across: each side ends square.
        Open = "open",
        /// Both sides mitre on the centreline.
        Mitre = "mitre",
    }
}

/// How a side ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum EndStyle {
    /// Square to the edge at its last point.
    Square,
    /// Cut parallel to the centreline plane, at this half-siding from it, mm.
    Mitre {
        /// Distance of the cut from the centreline, mm.
        half_siding: f64,
    },
}

/// Deck round-up and how it is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoundUp {
    /// Rise at the centreline over the greatest half-beam, mm.
    pub height: f64,
    /// Half-beam of the mould, mm; `None`: the greatest surveyed.
    pub half_beam: Option<f64>,
    /// Construction of the mould.
    pub construction: Construction,
}

words! {
    /// Construction of a camber mould.
    pub enum Construction {
        /// Circular arc.
        CircularArc = "circular-arc",
        /// Parabola.
        Parabola = "parabola",
        /// Quarter-circle lofting construction.
        QuarterCircle = "quarter-circle",
    }

    /// A figure of a survey's row; its word is its column in the table too.
    #[derive(PartialOrd, Ord, Hash)]
    pub enum Figure {
        /// Station of an offset table.
        Station = "station",
        /// Half-breadth of an offset table.
        HalfBreadth = "half_breadth",
        /// Height of an offset table.
        Height = "height",
        /// x of a point.
        X = "x",
        /// y of a point.
        Y = "y",
        /// z of a point.
        Z = "z",
    }

    /// What a verdict does.
    pub(super) enum Do { Accept = "accept", Replace = "replace", Exclude = "exclude" }

    /// The way stations count.
    pub(super) enum Stations { Forward = "forward", Aft = "aft" }

    /// How plates end at the stem.
    pub(super) enum Stem { Square = "square", Mitre = "mitre" }
}

impl Word for Unit {
    const WORDS: &'static [(&'static str, Self)] = &Self::NAMES;
}

impl Word for Show {
    const WORDS: &'static [(&'static str, Self)] =
        &[("mm", Self::Mm), ("feet-inches", Self::FeetInches)];
}

impl Figure {
    /// Every figure.
    pub fn all() -> impl Iterator<Item = Self> {
        Self::WORDS.iter().map(|(_, figure)| *figure)
    }

    /// Its column in the table and its word in a verdict.
    #[must_use]
    pub fn name(self) -> &'static str {
        self.word()
    }

    /// The boat's axis it lies along: 0 x, 1 y, 2 z.
    #[must_use]
    pub fn axis(self) -> usize {
        match self {
            Self::Station | Self::X => 0,
            Self::HalfBreadth | Self::Y => 1,
            Self::Height | Self::Z => 2,
        }
    }

    /// True for a figure of an offset table.
    #[must_use]
    pub fn of_offsets(self) -> bool {
        matches!(self, Self::Station | Self::HalfBreadth | Self::Height)
    }
}

/// A verdict on a row of the survey.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verdict {
    /// Path of the file as resolved; `None`: whichever file has the row.
    pub file: Option<String>,
    /// The row's name, or its station or x as booked.
    pub point: String,
    /// Side, where both have such a row.
    pub side: Option<Side>,
    /// Figure; `None`: all figures of the row.
    pub figure: Option<Figure>,
    /// What is to become of it.
    pub act: Act,
    /// Where its keys stand in the job, as far as it gives them.
    pub places: BTreeMap<&'static str, Place>,
}

impl Verdict {
    /// Where a key of it stands in the job.
    #[must_use]
    pub fn place(&self, key: &str) -> Place {
        self.places.get(key).cloned().unwrap_or_default()
    }
}

/// What becomes of a row or figure.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Act {
    /// It is right as it stands: no longer doubted.
    Accept,
    /// The figure is this, in the file's unit.
    Replace(String),
    /// The row is left out.
    Exclude,
}

impl Act {
    /// Its word in a job.
    #[must_use]
    pub fn name(&self) -> &'static str {
        let word = match self {
            Self::Accept => Do::Accept,
            Self::Replace(_) => Do::Replace,
            Self::Exclude => Do::Exclude,
        };
        word.word()
    }
}
