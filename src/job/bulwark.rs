//! The bulwark of a job, resolved: millimetres and radians.

use super::key_kind::{Word, words};
use super::surveyed::Position;
use crate::fault::Place;

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

words! {
    /// Lines that port and starboard are faired to.
    #[derive(Default)]
    pub enum Sides {
        /// Each side to its own.
        #[default]
        Own = "own",
        /// Both to one: the mean of the two.
        Alike = "alike",
    }
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

words! {
    /// Lower end of the height.
    pub enum HeightFrom {
        /// Top of the covering board at the edge.
        CoveringBoard = "covering-board",
        /// Upper face of the base plate at the reference line.
        BasePlate = "base-plate",
    }

    /// Upper end of the height.
    pub enum HeightTo {
        /// Upper face of the top plate.
        TopPlate = "top-plate",
        /// Lower face of the top plate.
        UnderTopPlate = "under-top-plate",
        /// Top of the wood cap.
        Cap = "cap",
    }
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

words! {
    /// How stanchions stand fore-and-aft.
    pub enum Stand {
        /// Plumb.
        Plumb = "plumb",
        /// Square to the sheer.
        SquareToSheer = "square-to-sheer",
    }
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

words! {
    /// What butts set by rule are chosen for.
    pub enum ButtChoice {
        /// The fewest pieces, then the most even.
        Few = "few",
        /// The least cost of plate and welds together, found by nesting.
        Nested = "nested",
    }
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

impl Word for TopSlope {
    const WORDS: &'static [(&'static str, Self)] = &[("level", Self::Level), ("deck", Self::Deck)];
}
