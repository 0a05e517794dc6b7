//! Parts on sheets, and the independent check of their clearances.

use crate::geom::{Outline, Placement};
use crate::job::{Effort, Rotation, Sheet};

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
    /// Longest chord error when arcs are flattened, mm.
    pub flatten: f64,
    /// Price per kg where a sheet has no price of its own, and the plate's
    /// mass per area, kg/mm2: for choosing among sheet sizes.
    pub price_per_area: Option<f64>,
}

/// A part to place.
#[derive(Debug, Clone)]
pub struct NestPart {
    /// Its name.
    pub name: String,
    /// Outer profile, counter-clockwise, arcs kept.
    pub outline: Outline,
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

/// A part on a sheet: its profile turned and shifted, never mirrored; the
/// sheet's lower left corner is the origin, its length along x.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placed {
    /// Index into [`NestJob::parts`].
    pub part: usize,
    /// Where it lies.
    pub placement: Placement,
}
