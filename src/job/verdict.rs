//! What a job says of booked figures that were doubted.

use std::collections::BTreeMap;
use std::path::Path;

use super::Side;
use super::table::Table;
use crate::fault::{Kind, Place};

/// A figure of a survey's row.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Figure {
    /// Station of an offset table.
    Station,
    /// Half-breadth of an offset table.
    HalfBreadth,
    /// Height of an offset table.
    Height,
    /// x of a point.
    X,
    /// y of a point.
    Y,
    /// z of a point.
    Z,
}

impl Figure {
    /// Every figure.
    pub const ALL: [Self; 6] = [
        Self::Station,
        Self::HalfBreadth,
        Self::Height,
        Self::X,
        Self::Y,
        Self::Z,
    ];

    /// Its column in the table and its word in a verdict.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Station => "station",
            Self::HalfBreadth => "half_breadth",
            Self::Height => "height",
            Self::X => "x",
            Self::Y => "y",
            Self::Z => "z",
        }
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
        match self {
            Self::Accept => "accept",
            Self::Replace(_) => "replace",
            Self::Exclude => "exclude",
        }
    }
}

/// The verdicts of a job.
pub(super) fn verdicts(tables: &[Table<'_, '_>], folder: &str) -> Vec<Verdict> {
    tables.iter().filter_map(|t| verdict(t, folder)).collect()
}

fn verdict(t: &Table<'_, '_>, folder: &str) -> Option<Verdict> {
    let file = t
        .long_text("file")
        .map(|f| Path::new(folder).join(f).to_string_lossy().into_owned());
    let point = t.text_needed("point");
    let side = t.side("side");
    let figure = t.choice("figure", &Figure::ALL.map(|f| (f.name(), f)));
    let value = t.text("value");
    if !t.gives("do") {
        t.missing("do", "say \"accept\", \"replace\" or \"exclude\"");
    }
    let words = [("accept", 0), ("replace", 1), ("exclude", 2)];
    let act = match t.choice("do", &words) {
        Some(0) => Some(Act::Accept),
        Some(1) => value.clone().map(Act::Replace),
        Some(_) => Some(Act::Exclude),
        None => None,
    };
    let replaces = t.text("do").as_deref() == Some("replace");
    if replaces && !t.gives("value") {
        t.missing("value", "write the figure as its table would, in quotes");
    }
    if replaces && !t.gives("figure") {
        t.missing("figure", "say which figure of the row is replaced");
    }
    if act.is_some() && !replaces && t.gives("value") {
        t.fault(
            Kind::Conflict,
            "value",
            "only a replaced figure has a value",
            "take the key out, or set do = \"replace\"",
        );
    }
    if act == Some(Act::Exclude) && t.gives("figure") {
        t.fault(
            Kind::Conflict,
            "figure",
            "a row is excluded whole",
            "take the key out, or replace the figure",
        );
    }
    t.finish();
    Some(Verdict {
        file,
        point,
        side,
        figure,
        act: act?,
        places: ["file", "point", "figure", "value"]
            .map(|key| (key, t.reader.place_of(&t.field(key))))
            .into(),
    })
}
