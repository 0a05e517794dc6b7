//! What a job says of its survey, resolved: millimetres and radians.

use crate::fault::Place;
use crate::geom::Vec3;
use crate::length::{Show, Unit};

/// Side of the boat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Side {
    /// Left, looking forward: y above zero.
    Port,
    /// Right, looking forward: y below zero.
    Starboard,
}

impl Side {
    /// In words.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Port => "port",
            Self::Starboard => "starboard",
        }
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
    pub verdicts: Vec<super::Verdict>,
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

impl Default for Codes {
    /// Each kind by its own word; nothing is ignored.
    fn default() -> Self {
        let word = |w: &str| vec![w.to_owned()];
        Self {
            edge: word("edge"),
            knuckle: word("knuckle"),
            inboard: word("inboard"),
            datum: word("datum"),
            ignore: Vec::new(),
        }
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

/// Form of a survey table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TableForm {
    /// Station, half-breadth, height.
    Offsets,
    /// x, y, z in order along the edge, with side.
    Points,
    /// x, y, z and code, in any order, as an instrument or a tape gives them.
    List,
    /// A drawing: lines, polylines and points on one layer.
    Dxf,
}

/// The line that was measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SurveyedLine {
    /// Outboard edge of the covering board.
    CoveringBoardEdge,
    /// Outside of the bulwark planking.
    OutsideOfPlanking,
}

/// How port and starboard meet aft.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stern {
    /// One smooth curve round the stern.
    Round,
    /// A transom: the edge runs across between the two aftermost points,
    /// a knuckle at each corner.
    Transom,
    /// No bulwark across: each side ends square.
    Open,
    /// Both sides mitre on the centreline.
    Mitre,
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

/// Construction of a camber mould.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Construction {
    /// Circular arc.
    CircularArc,
    /// Parabola.
    Parabola,
    /// Quarter-circle lofting construction.
    QuarterCircle,
}
