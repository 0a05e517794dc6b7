//! What is nested, and a nest.

use crate::geom::{Outline, Placement};
use crate::job::{Effort, Rotation, Sheet};
use crate::length::Show;

/// What is to be nested, of one alloy and thickness.
#[derive(Debug, Clone)]
pub struct NestJob {
    /// Parts; each is placed once (quantities are repeated entries).
    pub parts: Vec<NestPart>,
    /// Sheets on offer, in the job's order.
    pub sheets: Vec<Sheet>,
    /// Least distance between outlines, mm (kerf included).
    pub gap: f64,
    /// Least distance from the sheet's edge, mm.
    pub edge_margin: f64,
    /// How parts may be turned.
    pub rotation: Rotation,
    /// Search effort, in work done.
    pub effort: Effort,
    /// Which stream of random numbers the search draws from: the same job and
    /// seed give the same nest.
    pub seed: usize,
    /// Price of plate by area, per mm2, where a sheet has none of its own: for
    /// choosing among sizes. `None`: by area, unless every sheet has a price.
    pub price_per_area: Option<f64>,
    /// What a remnant without a price costs by area, per mm2: its value as scrap.
    pub scrap_per_area: f64,
    /// A clearance short by less than this holds, mm: rounding of written
    /// coordinates. The packer uses up to 0.0005 mm of it.
    pub slack: f64,
    /// Units in which faults are told.
    pub show: Show,
}

/// A part to place.
#[derive(Debug, Clone)]
pub struct NestPart {
    /// Its name.
    pub name: String,
    /// Outer profile, counter-clockwise, arcs kept.
    pub outline: Outline,
    /// Its holes, either way round, inside it and apart: other parts may lie
    /// in those.
    pub holes: Vec<Outline>,
}

impl NestPart {
    /// Area less holes, mm2.
    #[must_use]
    pub fn net_area(&self) -> f64 {
        let holes: f64 = self.holes.iter().map(|h| h.area().abs()).sum();
        self.outline.area() - holes
    }
}

/// A nest.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Nest {
    /// Sheets used, in order.
    pub sheets: Vec<NestedSheet>,
}

/// A sheet with parts on it.
#[derive(Debug, Clone, PartialEq)]
pub struct NestedSheet {
    /// Index into [`NestJob::sheets`].
    pub stock: usize,
    /// Parts placed on it.
    pub placed: Vec<Placed>,
}

impl NestedSheet {
    /// A sheet with what lies on it.
    #[must_use]
    pub fn new(stock: usize, placed: Vec<Placed>) -> Self {
        Self { stock, placed }
    }
}

/// A part on a sheet: its profile turned and shifted; the sheet's lower left
/// corner is the origin, its length along x.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placed {
    /// Index into [`NestJob::parts`].
    pub part: usize,
    /// Where it lies.
    pub placement: Placement,
}
