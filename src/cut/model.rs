//! A sheet to be cut, and how it is.

use super::rules::Rules;
use super::walk::open_length;
use crate::geom::{Outline, Vec2, Vertex, vec2};
use crate::job::Sheet;
use crate::nest::NestedSheet;
use crate::part::Part;

/// A nested sheet to be cut.
#[derive(Debug, Clone, Copy)]
pub struct Input<'a> {
    /// The sheet's name in messages.
    pub name: &'a str,
    /// The stock.
    pub stock: &'a Sheet,
    /// What lies on it; its part indices point into `parts`.
    pub nested: &'a NestedSheet,
    /// Parts of the nest.
    pub parts: &'a [&'a Part],
    /// Masses of those parts, kg.
    pub masses_kg: &'a [f64],
    /// Gap between parts, mm.
    pub gap: f64,
    /// How it is cut.
    pub rules: &'a Rules,
}

/// How a sheet is cut.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Plan {
    /// Profiles in the order of cutting.
    pub steps: Vec<Step>,
    /// Holes to be drilled, in the order of parts.
    pub drills: Vec<Drill>,
    /// What it comes to.
    pub figures: Figures,
    /// Sentences for people.
    pub warnings: Vec<String>,
    /// True where the profiles are the parts' own, without leads, tabs or
    /// drilled holes.
    pub plain: bool,
}

/// A profile to cut.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Index into the sheet's placed parts.
    pub placed: usize,
    /// Index of the part's hole; `None`: its outer profile.
    pub hole: Option<usize>,
    /// Cuts one after the other: one all round, or those between tabs.
    pub cuts: Vec<Cut>,
}

/// One cut, from its pierce to its end.
#[derive(Debug, Clone, PartialEq)]
pub struct Cut {
    /// Lead-in, from the pierce on; empty where the pierce is on the profile.
    pub lead_in: Vec<Vertex>,
    /// The profile, or a stretch of it.
    pub path: CutPath,
    /// Lead-out; may be empty.
    pub lead_out: Vec<Vertex>,
}

/// A whole profile, or a stretch between tabs.
#[derive(Debug, Clone, PartialEq)]
pub enum CutPath {
    /// All round, from its first vertex.
    Closed(Outline),
    /// From the first vertex to the last.
    Open(Vec<Vertex>),
}

/// A hole to drill.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drill {
    /// Index into the sheet's placed parts.
    pub placed: usize,
    /// Index of the part's hole.
    pub hole: usize,
    /// Centre on the sheet, mm.
    pub centre: Vec2,
    /// Diameter, mm.
    pub diameter: f64,
}

/// What the cutting of a sheet comes to.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Figures {
    /// Pierces.
    pub pierces: usize,
    /// Length of cut, leads included, mm.
    pub cut_length: f64,
    /// Area that the kerf takes, mm2: cut length times its width.
    pub kerf_loss: f64,
    /// Way between cuts from the sheet's lower left corner, mm.
    pub travel: f64,
    /// The same, parts and holes in the order in which they are listed, mm.
    pub travel_as_listed: f64,
    /// Time, s: cut length over speed, pierces, travel over its speed; `None`
    /// where a figure of the process is not known.
    pub time_s: Option<f64>,
    /// Holes to drill.
    pub drilled: usize,
    /// Time to drill them, s: at the bench, not on the table.
    pub drill_time_s: f64,
    /// Strokes of the marker, the crosses at the centres of holes to drill among them.
    pub mark_strokes: usize,
    /// Length of those strokes, mm.
    pub mark_length: f64,
    /// Time to mark them, s: length over the marking speed, the way between
    /// strokes as they are listed over that of travel; `None` where either
    /// speed is not known.
    pub mark_time_s: Option<f64>,
    /// Holes below the process's smallest that are cut all the same.
    pub small_holes: usize,
    /// Tabs.
    pub tabs: usize,
}

impl Figures {
    /// Both together.
    #[must_use]
    pub fn and(self, o: Self) -> Self {
        let both = |a: Option<f64>, b: Option<f64>| a.zip(b).map(|(a, b)| a + b);
        Self {
            pierces: self.pierces + o.pierces,
            cut_length: self.cut_length + o.cut_length,
            kerf_loss: self.kerf_loss + o.kerf_loss,
            travel: self.travel + o.travel,
            travel_as_listed: self.travel_as_listed + o.travel_as_listed,
            time_s: both(self.time_s, o.time_s),
            drilled: self.drilled + o.drilled,
            drill_time_s: self.drill_time_s + o.drill_time_s,
            mark_strokes: self.mark_strokes + o.mark_strokes,
            mark_length: self.mark_length + o.mark_length,
            mark_time_s: both(self.mark_time_s, o.mark_time_s),
            small_holes: self.small_holes + o.small_holes,
            tabs: self.tabs + o.tabs,
        }
    }

    /// Nothing cut, in no time.
    #[must_use]
    pub fn none() -> Self {
        Self {
            time_s: Some(0.0),
            mark_time_s: Some(0.0),
            ..Self::default()
        }
    }
}

/// Arms of the cross at the centre of a hole to drill, over its radius.
const CROSS: f64 = 0.6;

impl Drill {
    /// The two strokes of the cross at its centre, mm on the sheet.
    #[must_use]
    pub fn cross(&self) -> [[Vec2; 2]; 2] {
        let arm = CROSS * self.diameter / 2.0;
        [vec2(arm, 0.0), vec2(0.0, arm)].map(|a| [self.centre - a, self.centre + a])
    }
}

impl Cut {
    /// Where it pierces.
    #[must_use]
    pub fn pierce(&self) -> Vec2 {
        let on = match &self.path {
            CutPath::Closed(o) => o.vertices.first(),
            CutPath::Open(v) => v.first(),
        };
        self.lead_in
            .first()
            .or(on)
            .map_or_else(Vec2::default, |v| v.at)
    }

    /// Where it ends.
    #[must_use]
    pub fn end(&self) -> Vec2 {
        let on = match &self.path {
            CutPath::Closed(o) => o.vertices.first(),
            CutPath::Open(v) => v.last(),
        };
        self.lead_out
            .last()
            .or(on)
            .map_or_else(Vec2::default, |v| v.at)
    }

    /// Length with its leads, mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        let path = match &self.path {
            CutPath::Closed(o) => o.perimeter(),
            CutPath::Open(v) => open_length(v),
        };
        path + open_length(&self.lead_in) + open_length(&self.lead_out)
    }
}

impl Step {
    /// Where its first cut pierces.
    #[must_use]
    pub fn first(&self) -> Vec2 {
        self.cuts.first().map_or_else(Vec2::default, Cut::pierce)
    }

    /// Where its last cut ends.
    #[must_use]
    pub fn last(&self) -> Vec2 {
        self.cuts.last().map_or_else(Vec2::default, Cut::end)
    }
}
