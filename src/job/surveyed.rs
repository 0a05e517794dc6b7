//! What a job says of its survey, resolved: millimetres and radians.

use std::collections::BTreeMap;

use super::key_kind::{
    ANY, Absent::*, BY_KEY, Key, Quantity::*, Word, between, choice, key, length, length_to, words,
};
use super::position::Side;
use super::ranges::WIDE;
use super::stated::{Stated, table};
use super::table::Table;
use super::text::Reader;
use crate::fault::{Kind, Place};
use crate::geom::{Vec3, vec3};
use crate::length::{Show, Unit};
use crate::limits::ITEMS;

table! {
    /// The measured edge, mm. Its accuracy is nought where `estimate` is given; where
    /// stations count aft, x is minus the station.
    #[derive(Debug, Clone, PartialEq)]
    pub struct SurveyJob {
        unit: Unit = choice::<Unit>(), Required, "what a bare number in the tables means";
        accuracy: f64 = length(0.0, 50.0), Else("estimated from how the points scatter, and said so ([how](method-fairing.md#accuracy-not-stated))"),
            "accuracy of one measured ordinate, plus or minus", |t, key| t.maybe(key).unwrap_or_default();
        stations_aft as "stations": bool = choice::<Stations>(), Is("forward"), "the way stations count",
            |t, key| t.chosen::<Stations>(key) == Stations::Aft;
        line: SurveyedLine = choice::<SurveyedLine>(), Is("covering-board-edge"), "the line measured";
        mirrored: bool = Flag, Is("false"), "`true`: one measured side stands for both";
        stern: Stern = choice::<Stern>(), Else("required with an offset table, else `round`"),
            "`round`: one smooth curve; `transom`: straight across, a knuckle at each corner; `open`: no bulwark across, sides end square; `mitre`: both sides mitre on the centreline ([which where](survey-formats.md#sides-and-stern))",
            |t, key| t.choice(key).unwrap_or(Stern::Round);
        stem: EndStyle = choice::<EndStyle>(), Is("square"), "`square` to the edge, or `mitre`: parallel to the centreline plane", stem;
        & stem_half_siding = length(0.0, 1000.0), Is("0 mm"), "distance of the stem mitre from the centreline";
        slope: Option<f64> = Number(between(-1.0, 1.0), ""), Else("none: without `round_up` and slopes in the rows, required"),
            "rise of the covering board inboard, per unit square to the edge, where no row gives one; 0 is level";
        round_up: Option<RoundUp> = Table(RoundUp::KEYS), Else("none"), "the deck's mould, instead of `slope`";
        files as "file": Vec<SurveyFile> = Tables(SurveyFile::KEYS, ITEMS), Required, "a table or drawing, with its path and form", files;
        datum: Option<Datum> = Table(Datum::KEYS), Else("none"), "how an instrument's coordinates come to the boat's";
        verdicts as "verdict": Vec<Verdict> = Tables(Verdict::KEYS, ITEMS), Else("none"), "what becomes of doubtful figures", verdicts;
        + show: Show = "Units in which faults of the survey are told; as the job shows.", |t| t.reader.show.get();
        + estimate: Option<Follow> = "Given where the job states no accuracy and it is to be estimated from the points.", follow;
    }

    /// Deck round-up and how it is drawn, mm.
    #[derive(Debug, Clone, Copy, PartialEq)]
    pub struct RoundUp {
        height: f64 = length(0.0, WIDE), Required, "rise at the centreline over the half-beam";
        half_beam: Option<f64> = length_to(50_000.0), Else("the greatest measured"), "half-beam of the mould";
        construction: Construction = choice::<Construction>(), Is("circular-arc"), "how the mould is drawn; they differ by more than 1/16 in";
    }

    /// A file of measured points.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct SurveyFile {
        path: String = Path, Required, "the file, from the job file's folder";
        form: TableForm = choice::<TableForm>(), Is("offsets"), "`offsets`; `points`, in order; `list`, in any order, with codes; `dxf`, a drawing";
        side: Option<Side> = choice::<Side>(), Else("by the table's `side` column; of a list or drawing, the sign of y"), "where the whole file is one side", |t, key| t.choice(key);
        unit: Option<Unit> = choice::<Unit>(), Else("`survey.unit`"), "what a bare number in this file means", |t, key| t.choice(key);
        codes: Codes = Table(Codes::KEYS), BY_KEY, "of a list: its codes, letter case aside", |t, key| codes(&t.table(key));
        layer: String = Text, Else("required with `dxf`"), "of a drawing: the layer of the edge";
        + place: Place = "Where the job names it.", |t| t.place("path");
    }

    /// What the codes of a point list mean; letter case aside.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Codes {
        edge: Vec<String> = Texts, Is("edge"), "points of the edge";
        knuckle: Vec<String> = Texts, Is("knuckle"), "points of the edge where the curve breaks";
        inboard: Vec<String> = Texts, Is("inboard"), "points of the covering board's top, inboard of the edge";
        datum: Vec<String> = Texts, Is("datum"), "reference points of the datum";
        ignore: Vec<String> = Texts, Else("none"), "points of other things";
    }

    /// How an instrument's coordinates come to the boat's: by a best rigid fit
    /// to reference points, about the vertical alone where it is `level`.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Datum {
        level: bool = Flag, Is("false"), "`true`: the instrument stood plumb";
        // A larger residual is no fit.
        limit: Option<f64> = length_to(100.0), Else("3.5 times the accuracy"), "greatest residual of a reference point";
        references as "reference": Vec<Reference> = Tables(Reference::KEYS, ITEMS), Else("three or more are required"), "points known in both frames, not on one line", references;
    }

    /// A point known in both frames, mm.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Reference {
        name: String = Text, Required, "as in the list's `name` or `code` column";
        boat: Vec3 = Table(POINT), Required, "its place on the boat", |t, key| point(t, key).unwrap_or_default();
        measured: Option<Vec3> = Table(POINT), Else("by rows of a list"), "its place by the instrument", point;
    }

    /// A verdict on a row of the survey.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Verdict {
        file: Option<String> = Path, Else("whichever has the row"), "the file, as its `path` says", |t, key| t.path(key);
        point: String = Text, Required, "the row's name, or its station or x as booked; exactly one row must answer";
        side: Option<Side> = choice::<Side>(), Else("either"), "where both have such a row", |t, key| t.choice(key);
        figure: Option<Figure> = choice::<Figure>(), Else("all of the row; required to replace"), "a figure of the row: the first three of an offset table, the others of another", |t, key| t.choice(key);
        act as "do": Act = choice::<Act>(), Required, "`accept`: right as booked, no longer doubted; `replace`: the figure is `value`; `exclude`: the row is left out";
        value: Option<String> = Text, Else("required to replace"),
            "the figure to replace it, in quotes, in the file's unit; of a list or drawing under `[survey.datum]` a coordinate on the boat, not the instrument's", |t, key| t.text(key);
        + places: BTreeMap<&'static str, Place> = "Where its keys stand in the job, as far as it gives them.",
            |t| ["file", "point", "figure", "value"].map(|key| (key, t.place(key))).into();
    }
}

#[rustfmt::skip] // A key a line.
const POINT: &[Key] = &[
    key("x", Length(ANY), Required, "forward of the datum"),
    key("y", Length(ANY), Required, "to port of the centreline"),
    key("z", Length(ANY), Required, "up from the datum"),
];

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

    /// What becomes of a row or figure.
    pub enum Act {
        /// It is right as it stands: no longer doubted.
        Accept = "accept",
        /// The figure is the verdict's value, in the file's unit.
        Replace = "replace",
        /// The row is left out.
        Exclude = "exclude",
    }

    /// The way stations count.
    pub(super) enum Stations { Forward = "forward", Aft = "aft" }
}

impl Word for EndStyle {
    const WORDS: &'static [(&'static str, Self)] = &[
        ("square", Self::Square),
        ("mitre", Self::Mitre { half_siding: 0.0 }),
    ];
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

impl Verdict {
    /// Where a key of it stands in the job.
    #[must_use]
    pub fn place(&self, key: &str) -> Place {
        self.places.get(key).cloned().unwrap_or_default()
    }
}

impl Act {
    /// Its word in a job.
    #[must_use]
    pub fn name(self) -> &'static str {
        self.word()
    }
}

impl SurveyJob {
    /// What a bare number in a file means.
    #[must_use]
    pub fn unit_of(&self, file: &SurveyFile) -> Unit {
        file.unit.unwrap_or(self.unit)
    }
}

/// The survey, once its keys agree; from then on it is known how places count.
pub(super) fn survey(t: &Table<'_, '_>) -> SurveyJob {
    let survey = SurveyJob::of(t);
    let offsets = |f: &SurveyFile| f.form == TableForm::Offsets;
    if survey.files.iter().any(offsets) {
        t.needed(
            "stern",
            "an offset table ends at its last station: say how the sides meet aft, stern = \"transom\", \"open\", \"mitre\" or, where its points close at the centreline or another file measures round it, \"round\"",
        );
    }
    t.reader.stations_aft.set(survey.stations_aft);
    t.reader.only_side.set(only_side(&survey));
    t.reader.accuracy.set(survey.accuracy);
    survey
}

/// The side, where every file states the same and it is not mirrored.
fn only_side(survey: &SurveyJob) -> Option<Side> {
    let first = survey.files.first()?.side?;
    let alone = survey.files.iter().all(|f| f.side == Some(first));
    (alone && !survey.mirrored).then_some(first)
}

/// Tolerances that follow the accuracy, where it is not given.
fn follow(t: &Table<'_, '_>) -> Option<Follow> {
    // Which of them does is for the fairing to say.
    (!t.gives("accuracy")).then_some(Follow {
        base: true,
        top: true,
    })
}

fn stem(t: &Table<'_, '_>, key: &str) -> EndStyle {
    let half_siding = t.figure("stem_half_siding");
    match t.chosen(key) {
        EndStyle::Mitre { .. } => EndStyle::Mitre { half_siding },
        EndStyle::Square => {
            if t.gives("stem_half_siding") {
                let what = "a square stem has no half-siding";
                let mend = "take the key out, or set stem = \"mitre\"";
                t.conflict("stem_half_siding", what, mend);
            }
            EndStyle::Square
        }
    }
}

fn files(t: &Table<'_, '_>, key: &str) -> Vec<SurveyFile> {
    t.tables(key).iter().map(file).collect()
}

fn file(t: &Table<'_, '_>) -> SurveyFile {
    let file = SurveyFile::of(t);
    for (key, wanted) in [("codes", TableForm::List), ("layer", TableForm::Dxf)] {
        if t.gives(key) && file.form != wanted {
            let word = wanted.word();
            let what = format!("`{key}` belongs to form = \"{word}\"");
            let mend = format!("take the key out, or set form = \"{word}\"");
            t.conflict(key, what, mend);
        }
    }
    if file.form == TableForm::Dxf && file.layer.is_empty() {
        t.missing(
            "layer",
            "name the layer that holds the edge: layer = \"EDGE\"",
        );
    }
    file
}

/// The codes of a point list; a kind of point that the job does not name
/// keeps its own word.
fn codes(t: &Table<'_, '_>) -> Codes {
    let codes = Codes::of(t);
    let kinds = codes.by_kind();
    for (i, (key, list)) in kinds.iter().enumerate() {
        for code in *list {
            let same = |c: &String| c.eq_ignore_ascii_case(code);
            let earlier = kinds.iter().take(i).find(|(_, l)| l.iter().any(same));
            if let Some((other, _)) = earlier {
                let what = format!("the code `{code}` stands under `{other}` and under `{key}`");
                let mend = "give each code one meaning";
                t.conflict(key, what, mend);
            }
        }
    }
    codes
}

impl Default for Codes {
    /// As where a job names none.
    fn default() -> Self {
        let reader = Reader::new("", "", "");
        Self::of(&Table::new(&reader, String::new(), Self::KEYS, None))
    }
}

fn references(t: &Table<'_, '_>, key: &str) -> Vec<Reference> {
    let tables = t.tables(key);
    let references: Vec<Reference> = tables.iter().map(Reference::of).collect();
    if references.len() < 3 {
        let what = format!("the datum has {} reference points", references.len());
        let mend = "give three or more [[survey.datum.reference]], not on one line";
        t.fault(Kind::Missing, key, what, mend);
    }
    for (i, (r, table)) in references.iter().zip(&tables).enumerate() {
        let same = |o: &Reference| o.name.eq_ignore_ascii_case(&r.name);
        if !r.name.is_empty() && references.iter().take(i).any(same) {
            table.used_twice(&r.name);
        }
    }
    references
}

fn point(t: &Table<'_, '_>, key: &str) -> Option<Vec3> {
    let mend = "write it as { x = \"4 m\", y = \"0 mm\", z = \"1.2 m\" }";
    let at = t.table_in(key, "a point", mend);
    at.present()
        .then(|| vec3(at.figure("x"), at.figure("y"), at.figure("z")))
}

fn verdicts(t: &Table<'_, '_>, key: &str) -> Vec<Verdict> {
    t.tables(key).iter().filter_map(verdict).collect()
}

fn verdict(t: &Table<'_, '_>) -> Option<Verdict> {
    let verdict = Verdict::of(t);
    if t.faulty("do") {
        return None;
    }
    let replaces = verdict.act == Act::Replace;
    if replaces {
        t.needed("value", "write the figure as its table would, in quotes");
        t.needed("figure", "say which figure of the row is replaced");
    } else if t.gives("value") {
        let what = "only a replaced figure has a value";
        let mend = "take the key out, or set do = \"replace\"";
        t.conflict("value", what, mend);
    }
    if verdict.act == Act::Exclude && t.gives("figure") {
        let what = "a row is excluded whole";
        let mend = "take the key out, or replace the figure";
        t.conflict("figure", what, mend);
    }
    (!replaces || verdict.value.is_some()).then_some(verdict)
}
