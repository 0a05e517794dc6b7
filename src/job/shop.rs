//! Stock, cutting, prices and output of a job, resolved: millimetres and radians.

use std::collections::BTreeMap;

use super::key_kind::{Word, words};
use crate::fault::Place;
use crate::geom::{Outline, Region, Vec2};
use crate::length::Unit;

/// A stock sheet on offer.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Name in reports, such as `5 x 12 ft`.
    pub name: String,
    /// Length along the rolling direction, mm.
    pub length: f64,
    /// Width, mm.
    pub width: f64,
    /// Thickness, mm.
    pub thickness: f64,
    /// Alloy and temper.
    pub alloy: String,
    /// How many are to be had; `None`: as many as wanted.
    pub quantity: Option<usize>,
    /// Price of one sheet, in the job's currency.
    pub price: Option<f64>,
    /// A remnant's ground in the sheet's frame, the lower left of its box at
    /// the origin; `None`: the whole rectangle.
    pub shape: Option<Region>,
    /// Where no part may lie, in the sheet's frame.
    pub clamps: Vec<Zone>,
    /// The drawing of a remnant; until [`super::Job::take_remnants`] has read
    /// it, length and width are nought.
    pub remnant: Option<RemnantFile>,
}

impl Sheet {
    /// Area, mm2: of a remnant, what its drawing bounds.
    #[must_use]
    pub fn area(&self) -> f64 {
        self.shape
            .as_ref()
            .map_or(self.length * self.width, Region::area)
    }
}

/// A rectangle of a sheet, sides along the sheet's, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zone {
    /// Lower left corner.
    pub lo: Vec2,
    /// Upper right corner.
    pub hi: Vec2,
}

/// Where a remnant is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct RemnantFile {
    /// Path of the drawing.
    pub path: String,
    /// What a number means where the drawing does not say.
    pub unit: Option<Unit>,
    /// Where the job names it.
    pub place: Place,
}

/// Cutting and nesting settings, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Cutting {
    /// Name of the process, for the sheet's note.
    pub process: String,
    /// Width of the cut.
    pub kerf: f64,
    /// Least distance between cut parts' net outlines, kerf included.
    pub gap: f64,
    /// Least distance of a net outline from the sheet's edge.
    pub edge_margin: f64,
    /// How parts may be turned on a sheet.
    pub rotation: Rotation,
    /// Search effort.
    pub effort: Effort,
    /// Which stream of random numbers the search draws from.
    pub seed: usize,
    /// What the sheet's profiles show.
    pub paths: Paths,
    /// Lead-ins and lead-outs; `None`: the table's own software makes them.
    pub leads: Option<Leads>,
    /// What becomes of holes that the process cuts badly.
    pub small_holes: SmallHoles,
    /// Smallest hole that is cut, mm of diameter; `None`: by the process.
    pub smallest_hole: Option<f64>,
    /// Cutting speed, mm/min; `None`: by process and thickness.
    pub speed: Option<f64>,
    /// Time of a pierce, s; `None`: by process and thickness.
    pub pierce_s: Option<f64>,
    /// Speed between cuts, mm/min; `None`: by process.
    pub travel: Option<f64>,
    /// Speed of the marking head, mm/min; `None`: by process.
    pub marking: Option<f64>,
    /// Time to drill a hole, s.
    pub drill_s: f64,
    /// Bridges that hold small parts; `None`: no tabs.
    pub tabs: Option<Tabs>,
}

words! {
    /// What a sheet's profiles show.
    pub enum Paths {
        /// The parts at net size.
        Net = "net",
        /// The way of the cut's middle: half a kerf into the waste.
        Compensated = "compensated",
    }
}

/// Lead-ins and lead-outs, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leads {
    /// Form.
    pub form: LeadForm,
    /// Length of the lead-in; the lead-out is half as long.
    pub length: f64,
    /// Least distance of the start from a corner.
    pub off_corner: f64,
    /// Metal that stays between the lead's cut and any part.
    pub clearance: f64,
    /// True where lead-in, profile and lead-out are drawn as one open line.
    pub joined: bool,
}

words! {
    /// Whether there are leads, and their form.
    pub(super) enum LeadWord { None = "none", Arc = "arc", Straight = "straight" }

    /// How leads are drawn.
    pub(super) enum LeadPaths { Apart = "apart", Joined = "joined" }

    /// A [`Rotation`] without its angle.
    pub(super) enum Turn { Free = "free", Steps = "steps", Within = "within" }
}

/// Form of a lead.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LeadForm {
    /// A quarter circle that runs into the profile.
    Arc,
    /// A line at 45 degrees to the profile.
    Straight,
}

words! {
    /// What becomes of holes below the process's smallest.
    pub enum SmallHoles {
        /// They are cut as drawn, and counted.
        Cut = "cut",
        /// Their centres are marked, and they are drilled.
        Drill = "drill",
    }
}

/// Bridges that hold small parts in the sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tabs {
    /// Parts lighter than this, kg, are held.
    pub below_kg: Option<f64>,
    /// Parts shorter than this, mm, are held.
    pub below: Option<f64>,
    /// Bridges on a part.
    pub count: usize,
    /// Width of metal left, mm.
    pub width: f64,
}

impl Tabs {
    /// True for a part of this mass, kg, and outline that is held.
    #[must_use]
    pub fn hold(&self, mass_kg: f64, outline: &Outline) -> bool {
        let (lo, hi) = outline.bounds();
        let extent = (hi.x - lo.x).max(hi.y - lo.y);
        self.below_kg.is_some_and(|kg| mass_kg < kg) || self.below.is_some_and(|mm| extent < mm)
    }
}

/// What is worth keeping of a sheet, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Remnants {
    /// Longer side of its box, or more.
    pub least: f64,
    /// Necks narrower than this are not counted in.
    pub narrowest: f64,
}

/// How parts may be turned on a sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Rotation {
    /// Freely.
    Free,
    /// In steps of this many rad from the sheet's length.
    Steps(f64),
    /// Long axis within this angle, rad, of the rolling direction.
    Within(f64),
}

words! {
    /// Search effort: work done, never time.
    pub enum Effort {
        /// Under a second for a usual job.
        Quick = "quick",
        /// The default.
        Normal = "normal",
        /// Several times more.
        Long = "long",
    }
}

impl Effort {
    /// As the command and the job name it.
    #[must_use]
    pub fn name(self) -> &'static str {
        self.word()
    }
}

/// Prices in the job's currency.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Prices {
    /// Currency as printed, such as `USD`.
    pub currency: String,
    /// Price of plate per kg by alloy.
    pub per_kg: BTreeMap<String, f64>,
    /// What scrap brings per kg.
    pub scrap_per_kg: f64,
    /// What welding costs; `None`: not priced.
    pub weld: Option<WeldPrice>,
    /// The cutting machine with its crew, per hour; `None`: not priced.
    pub cutting_per_hour: Option<f64>,
}

/// Formats and layers.
#[derive(Debug, Clone, PartialEq)]
pub struct Output {
    /// DXF version.
    pub dxf: DxfVersion,
    /// Units of coordinates in the DXF files.
    pub dxf_units: DxfUnits,
    /// Layer names and colours by plain name (`CUT`, `HOLE`, ...).
    pub layers: BTreeMap<String, LayerStyle>,
    /// Spacing of the ordinates that a shop lofts from, mm.
    pub ordinate_spacing: f64,
    /// Height of marked letters, mm.
    pub letter_height: f64,
}

/// Name and colour number of a layer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LayerStyle {
    /// Name in the file.
    pub name: String,
    /// Colour number, 1 to 255.
    pub colour: u8,
}

words! {
    /// DXF version.
    pub enum DxfVersion {
        /// Release 12, for old controllers.
        R12 = "R12",
        /// Release 2000.
        R2000 = "R2000",
    }

    /// Units of a drawing.
    pub enum DxfUnits {
        /// Millimetres.
        Mm = "mm",
        /// Inches.
        In = "in",
    }
}

/// What the welding of butts costs, in the job's currency. No figure is built
/// in: filler, time and wages are the shop's own.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeldPrice {
    /// Filler wire per kg.
    pub filler_per_kg: f64,
    /// Filler laid in a metre of weld, kg/m, all passes.
    pub filler_kg_per_m: f64,
    /// Labour per hour.
    pub labour_per_hour: f64,
    /// Time for a metre of weld, min/m, all passes.
    pub minutes_per_m: f64,
    /// Time to prepare and dress one butt whatever its length, min.
    pub prep_minutes_per_butt: f64,
}

impl WeldPrice {
    /// Cost of one welded butt of a length, mm, in the job's currency: filler
    /// and labour by the metre, and the labour of its preparation.
    #[must_use]
    pub fn butt(&self, length: f64) -> f64 {
        let metres = length / 1000.0;
        let minutes = metres * self.minutes_per_m + self.prep_minutes_per_butt;
        metres * self.filler_kg_per_m * self.filler_per_kg + minutes / 60.0 * self.labour_per_hour
    }
}

/// A choice of stock, supplier and process. What it does not give is the job's.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Choice {
    /// Name in reports.
    pub name: String,
    /// Who offers it; may be empty.
    pub supplier: String,
    /// Names of the sheets to use; of an alloy and thickness of which none is
    /// named, all on offer are used.
    pub sheets: Vec<String>,
    /// Alloy of every plate part, in place of the job's.
    pub alloy: Option<String>,
    /// Greatest length of a piece along its edge, mm.
    pub longest_piece: Option<f64>,
    /// How it is cut, whole, where it is cut otherwise than the job says.
    pub cutting: Option<Cutting>,
    /// The cutting machine with its crew, per hour.
    pub cutting_per_hour: Option<f64>,
    /// Price of plate per kg by alloy.
    pub per_kg: BTreeMap<String, f64>,
    /// Price of a sheet by its name.
    pub per_sheet: BTreeMap<String, f64>,
    /// What scrap brings per kg.
    pub scrap_per_kg: Option<f64>,
}

impl Choice {
    /// True where it has a price of its own.
    pub(super) fn priced(&self) -> bool {
        !self.per_kg.is_empty()
            || !self.per_sheet.is_empty()
            || self.scrap_per_kg.is_some()
            || self.cutting_per_hour.is_some()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // By hand: 0.18 m of weld, 0.5 kg/m at 20 per kg: 1.80; (0.18 x 30 + 10)
    // min at 60 per hour: 15.40.
    #[test]
    fn a_butt_costs_its_filler_and_its_minutes() {
        let price = WeldPrice {
            filler_per_kg: 20.0,
            filler_kg_per_m: 0.5,
            labour_per_hour: 60.0,
            minutes_per_m: 30.0,
            prep_minutes_per_butt: 10.0,
        };
        assert!((price.butt(180.0) - 17.2).abs() < 1e-12);
        assert!((price.butt(0.0) - 10.0).abs() < 1e-12);
    }
}
