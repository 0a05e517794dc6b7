//! The parts of a job, resolved: millimetres and radians.

use std::collections::BTreeMap;

use super::{Side, WeldPrice};
use crate::fault::Place;
use crate::geom::{Outline, Region, Vec2};
use crate::length::Unit;

/// Fairing of both lines.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fairing {
    /// Furthest the base line may leave a measured point, mm, in plan square
    /// to the edge and vertically; the survey's accuracy by default.
    pub base: f64,
    /// Furthest the top line may leave its point over a measured one, mm.
    pub top: f64,
    /// Angle of both lines to the centreline at the stem, in plan, rad,
    /// positive where the sides open going aft; `None`: free.
    pub stem_angle: Option<f64>,
    /// The same at the aft end of each side, positive where the sides close
    /// going aft.
    pub stern_angle: Option<f64>,
    /// Whether port and starboard keep their own lines.
    pub sides: Sides,
}

/// Lines that port and starboard are faired to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Sides {
    /// Each side to its own.
    #[default]
    Own,
    /// Both to one: the mean of the two.
    Alike,
}

/// No survey of a tacked line is believed to be better than this, mm: a tape's half
/// millimetre (common practice, no source).
pub const TACKED_ACCURACY: f64 = 0.5;

/// The check of the tacked and the welded line.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Check {
    /// Furthest a stanchion can be moved, mm, where its row does not say.
    pub limit: f64,
    /// Accuracy of the survey of the tacked line, mm; `None`: as the edge's survey,
    /// but no better than [`TACKED_ACCURACY`].
    pub accuracy: Option<f64>,
    /// Names of stanchions that cannot be moved.
    pub fixed: Vec<String>,
    /// Where the job names them.
    pub place: Place,
}

/// Height and lean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bulwark {
    /// Height, mm, where no row gives one.
    pub height: f64,
    /// What the height is measured between.
    pub height_from: HeightFrom,
    /// To which face of the top plate.
    pub height_to: HeightTo,
    /// Lean from plumb, rad, outboard positive, where no row gives one.
    pub lean: f64,
}

/// Lower end of the height.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HeightFrom {
    /// Top of the covering board at the edge.
    CoveringBoard,
    /// Upper face of the base plate at the reference line.
    BasePlate,
}

/// Upper end of the height.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HeightTo {
    /// Upper face of the top plate.
    TopPlate,
    /// Lower face of the top plate.
    UnderTopPlate,
    /// Top of the wood cap.
    Cap,
}

/// A plate strip.
#[derive(Debug, Clone, PartialEq)]
pub struct Plate {
    /// Width along the plate, square to its edge, mm.
    pub width: f64,
    /// Thickness, mm.
    pub thickness: f64,
    /// Alloy and temper, such as `5086-H116`.
    pub alloy: String,
}

/// How the top plate lies athwart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TopSlope {
    /// Level.
    Level,
    /// Parallel to the deck.
    Deck,
    /// At an angle, rad, rising inboard.
    Angle(f64),
}

/// Timber around the plates, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// Thickness of the bulwark planking.
    pub planking: f64,
    /// Distance of the planking's outside inboard of the covering-board edge.
    pub planking_inset: f64,
    /// Setback of the plates' and stanchions' outboard face from the
    /// planking's inner face, for the weld.
    pub weld_setback: f64,
    /// Thickness of the inwale.
    pub inwale: f64,
    /// Width of the wood cap.
    pub cap_width: f64,
    /// Thickness of the wood cap.
    pub cap_thickness: f64,
    /// Least overhang of the cap outboard of the planking.
    pub overhang_outboard: f64,
    /// Least overhang of the cap inboard of the inwale.
    pub overhang_inboard: f64,
}

/// Box stanchions.
#[derive(Debug, Clone, PartialEq)]
pub struct Stanchions {
    /// Side of the square tube, mm.
    pub side: f64,
    /// Wall, mm.
    pub wall: f64,
    /// Alloy and temper.
    pub alloy: String,
    /// Where they stand.
    pub spacing: Spacing,
    /// Least distance of the first and last from the ends of a run, mm.
    pub end_clearance: f64,
    /// Plumb fore-and-aft, or square to the sheer.
    pub stand: Stand,
}

/// Where stanchions stand.
#[derive(Debug, Clone, PartialEq)]
pub enum Spacing {
    /// Evenly, no further apart along the edge than this, mm.
    Even(f64),
    /// At these places.
    At(Vec<Position>),
}

/// How stanchions stand fore-and-aft.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stand {
    /// Plumb.
    Plumb,
    /// Square to the sheer.
    SquareToSheer,
}

/// Rows of holes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fasteners {
    /// Hole diameter, mm.
    pub diameter: f64,
    /// Greatest spacing in a row, mm.
    pub spacing: f64,
    /// Distance of the outboard row from the outboard edge, mm.
    pub outboard_row: f64,
    /// Distance of the inboard row from the inboard edge, mm.
    pub inboard_row: f64,
    /// Least distance of a hole's edge from a stanchion's face, mm.
    pub clear_of_stanchion: f64,
    /// Least distance of a hole's centre from a butt or plate end, mm.
    pub clear_of_butt: f64,
}

/// Welded butts and lift joints, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Joints {
    /// Weld gap at a butt.
    pub weld_gap: f64,
    /// Shrinkage a butt weld takes up.
    pub shrinkage: f64,
    /// Least distance of a butt from a stanchion's face.
    pub clear_of_stanchion: f64,
    /// Least distance between butts of base and top plate.
    pub stagger: f64,
    /// Greatest length of a piece along its edge; `None`: what stock holds.
    pub longest_piece: Option<f64>,
    /// Greatest width of a flat piece across the line of its ends; `None`:
    /// what stock holds.
    pub widest_piece: Option<f64>,
    /// What the butts set by rule are chosen for.
    pub butts: ButtChoice,
    /// Butts fixed by hand in the base plate; empty: by rule.
    pub base_butts: Vec<Position>,
    /// Butts fixed by hand in the top plate; empty: by rule.
    pub top_butts: Vec<Position>,
    /// Greatest length of a section between lift joints.
    pub lift_length: Option<f64>,
    /// Greatest mass of a section between lift joints, kg.
    pub lift_mass: Option<f64>,
    /// Gap at a lift joint.
    pub lift_gap: f64,
    /// Fit allowance on the closing piece of a run.
    pub closing_allowance: f64,
}

/// What butts set by rule are chosen for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ButtChoice {
    /// The fewest pieces, then the most even.
    Few,
    /// The least cost of plate and welds together, found by nesting.
    Nested,
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

/// A doubler on the base plate.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubler {
    /// What it is for, such as a chain plate.
    pub name: String,
    /// Its middle.
    pub at: Position,
    /// Length along the edge, mm.
    pub length: f64,
    /// Width, mm, centred on the base plate's width.
    pub width: f64,
    /// Thickness, mm.
    pub thickness: f64,
    /// Alloy and temper.
    pub alloy: String,
}

/// A length to keep clear.
#[derive(Debug, Clone, PartialEq)]
pub struct KeepClear {
    /// What is there.
    pub name: String,
    /// Its middle.
    pub at: Position,
    /// Length along the edge, mm.
    pub length: f64,
}

/// A length of the edge.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// What it is, such as a gate.
    pub name: String,
    /// One end.
    pub from: Position,
    /// The other end.
    pub to: Position,
}

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

/// What a sheet's profiles show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paths {
    /// The parts at net size.
    Net,
    /// The way of the cut's middle: half a kerf into the waste.
    Compensated,
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

/// Form of a lead.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LeadForm {
    /// A quarter circle that runs into the profile.
    Arc,
    /// A line at 45 degrees to the profile.
    Straight,
}

/// What becomes of holes below the process's smallest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SmallHoles {
    /// They are cut as drawn, and counted.
    Cut,
    /// Their centres are marked, and they are drilled.
    Drill,
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

impl Default for Remnants {
    /// What a yard bothers to rack (common practice, no source): a piece that
    /// gives a short strip of this trade's plates.
    fn default() -> Self {
        Self {
            least: 500.0,
            narrowest: 150.0,
        }
    }
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

/// Search effort: work done, never time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Effort {
    /// Under a second for a usual job.
    Quick,
    /// The default.
    Normal,
    /// Several times more.
    Long,
}

impl Effort {
    /// As the command and the job name it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Quick => "quick",
            Self::Normal => "normal",
            Self::Long => "long",
        }
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

/// DXF version.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DxfVersion {
    /// Release 12, for old controllers.
    R12,
    /// Release 2000.
    R2000,
}

/// Units of a drawing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DxfUnits {
    /// Millimetres.
    Mm,
    /// Inches.
    In,
}
