//! The bulwark of a job, resolved: millimetres and radians. Defaults are common
//! practice in the trade, without a source, unless a key's meaning names one.

use super::key_kind::*;
use super::key_kind::{Absent::*, Quantity::*};
use super::lists::each_once;
use super::position::{PLACE, Position};
use super::ranges::*;
use super::stated::{Stated, table};
use super::surveyed::{Stern, SurveyJob, TOP_OVER_BASE};
use super::table::Table;
use crate::fault::{Kind, Place};

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

/// The fairing, once it goes with the survey.
pub(super) fn fairing(t: &Table<'_, '_>, survey: &mut SurveyJob) -> Fairing {
    if let Some(follow) = &mut survey.estimate {
        follow.base = !t.gives("base");
        follow.top = !t.gives("top");
    }
    let fairing = Fairing::of(t);
    if fairing.stern_angle.is_some() && survey.stern == Stern::Round {
        let what = "a round stern is one smooth curve: its sides do not end there";
        let mend = "take the key out, or set survey.stern to \"transom\", \"open\" or \"mitre\"";
        t.conflict("stern_angle_deg", what, mend);
    }
    fairing
}

/// No survey of a tacked line is believed to be better than this, mm: a tape's half
/// millimetre (common practice, no source).
pub const TACKED_ACCURACY: f64 = 0.5;

table! {
    /// Fairing of both lines, mm in plan square to the edge and vertically, and rad.
    #[derive(Debug, Clone, Copy, PartialEq)]
    pub struct Fairing {
        base: f64 = length(0.0, 200.0), Else("the accuracy"), "furthest the base line may leave a measured point",
            |t, key| t.maybe(key).unwrap_or(t.reader.accuracy.get());
        top: f64 = length(0.0, 200.0), Told(|| format!("{TOP_OVER_BASE} times the accuracy")), "furthest the top line may leave its point",
            |t, key| t.maybe(key).unwrap_or(TOP_OVER_BASE * t.reader.accuracy.get());
        stem_angle as "stem_angle_deg": Option<f64> = Angle(between(-90.0, 90.0)), FREE, "both lines meet the stem at this angle to the centreline in plan, positive where the sides open going aft";
        stern_angle as "stern_angle_deg": Option<f64> = Angle(between(-90.0, 90.0)), FREE,
            "the same at the aft end of each side (open stern, mitre, or a transom's corner), positive where the sides close going aft; 0 is square to a transom that stands athwart. Not with a round stern";
        sides: Sides = choice::<Sides>(), Is("own"),
            "`own`: port and starboard each keep their own line; `alike`: both are faired to one line half way between, and their lines are mirror images; where butts and stanchions fall is still found along the whole edge ([how](method-fairing.md#both-sides-to-one-line))";
    }

    /// The check of the tacked and the welded line, mm.
    #[derive(Debug, Clone, PartialEq, Default)]
    pub struct Check {
        accuracy: Option<f64> = length(TACKED_ACCURACY, 50.0), Told(|| format!("the survey's, at least {TACKED_ACCURACY} mm")), "of the survey of the tacked line, plus or minus";
        limit: f64 = length(0.0, 100.0), Is("6 mm"), "furthest a stanchion can be moved";
        fixed: Vec<String> = Texts, Else("none"), "names of stanchions that cannot be moved, such as `[\"7P\"]`";
        + place: Place = "Where the job names them.", |t| t.place("fixed");
    }

    /// Height, mm, and lean, rad.
    #[derive(Debug, Clone, Copy, PartialEq)]
    pub struct Bulwark {
        height: f64 = length(HEIGHTS.0, HEIGHTS.1), Required, "vertical height at the edge, where no row gives one";
        height_from as "from": HeightFrom = choice::<HeightFrom>(), Is("covering-board"), "lower end of the height: the covering board's top, or the base plate's upper face";
        height_to as "to": HeightTo = choice::<HeightTo>(), Is("top-plate"), "upper end of the height: the top plate's upper or under face, or the cap's top";
        lean as "lean_deg": f64 = STEEP, Is("0"), "lean from plumb, outboard positive, where no row gives one";
    }

    /// A plate strip, mm.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Plate {
        width: f64 = length(20.0, WIDE), Is("7 in"), "along the plate, square to its edge";
        thickness: f64 = length_to(THICK), Is("1/2 in"), "plate thickness";
        alloy: String = Alloy, Is("5086-H116"), "alloy and temper";
    }

    /// Timber around the plates, mm.
    #[derive(Debug, Clone, Copy, PartialEq)]
    pub struct Section {
        planking: f64 = TIMBER, Is("1 in"), "thickness of the bulwark planking";
        planking_inset: f64 = length(-500.0, 500.0), Is("0 mm"), "planking's outside inboard of the covering-board edge";
        weld_setback: f64 = length(0.0, 50.0), Is("1/8 in"), "plates' outboard edge from the planking's inner face";
        inwale: f64 = TIMBER, Is("3/4 in"), "thickness of the inwale";
        cap_width: f64 = length_to(WIDE), Is("8 in"), "width of the wood cap";
        cap_thickness: f64 = TIMBER, Is("1 3/4 in"), "thickness of the wood cap";
        overhang_outboard: f64 = TIMBER, Is("1/2 in"), "least overhang outboard of the planking";
        overhang_inboard: f64 = TIMBER, Is("1/2 in"), "least overhang inboard of the inwale";
    }

    /// The wood cap made up of lengths, mm. Lengths of stock and scarf are common practice
    /// in the trade, without a source.
    #[derive(Debug, Clone, Copy, PartialEq)]
    pub struct Cap {
        longest_piece: Option<f64> = length(300.0, LONG), Else("12 ft, or three scarfs where that is more"), "greatest length of a piece along its longer edge, scarfs included";
        widest_piece: Option<f64> = length(20.0, WIDE), Else("any"), "widest board to be had: in tight curves pieces are then shorter";
        scarf: f64 = Number(between(4.0, 20.0), ""), Is("8"), "length of a scarf in thicknesses of the cap, which it is cut through";
    }

    /// Box stanchions, mm.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Stanchions {
        // The least leaves a bore in a tube of quarter-inch wall.
        side: f64 = length(25.0, 500.0), Is("4 in"), "side of the square tube; no wider than either plate";
        wall: f64 = length_to(THICK), Is("1/4 in"), "wall, below half the side";
        alloy: String = Alloy, Is("6061-T6"), "alloy and temper";
        // The least leaves room for butts between tubes of 4 in.
        spacing: Spacing = length(250.0, LONG), Is("30 in"), "evenly, no further apart than this", spacing;
        & at = Places(PLACE), Else("none"), "instead of `spacing`: where they stand";
        end_clearance: f64 = length(0.0, 5000.0), Is("6 in"), "first and last from the ends of a run";
        stand: Stand = choice::<Stand>(), Is("plumb"), "fore-and-aft";
    }

    /// Rows of holes, mm.
    #[derive(Debug, Clone, Copy, PartialEq)]
    pub struct Fasteners {
        diameter: f64 = length(2.0, 100.0), Is("9/16 in"), "of the hole";
        spacing: f64 = length_to(WIDE), Is("8 in"), "greatest spacing in a row; at least 3 diameters";
        outboard_row: f64 = ON_PLATE, Is("1 1/2 in"), "row from the outboard edge; at least 1.5 diameters";
        inboard_row: f64 = ON_PLATE, Is("1 1/2 in"), "row from the inboard edge; at least 1.5 diameters";
        clear_of_stanchion: f64 = ON_PLATE, Is("1 in"), "a hole's edge from a stanchion's face";
        clear_of_butt: f64 = ON_PLATE, Is("1 1/2 in"), "a hole's centre from a butt or plate end: out of the inch that a weld softens (Aluminum Design Manual 2015, from memory)";
    }

    // Weld gap and shrinkage follow the figure that method statements quote for a butt in
    // 10 to 12 mm steel plate (Blodgett, 0.1 Aw/t); aluminium runs more.
    /// Welded butts and lift joints, mm and kg.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Joints {
        weld_gap: f64 = length(0.0, 20.0), Is("2 mm"), "gap at a welded butt";
        shrinkage: f64 = length(0.0, 20.0), Is("1 mm"), "what the weld takes up: weld a trial piece";
        clear_of_stanchion: f64 = ON_PLATE, Is("2 in"), "a butt from a stanchion's face";
        stagger: f64 = length(0.0, 5000.0), Is("12 in"), "between butts of base and top";
        longest_piece: Option<f64> = length(300.0, LONG), Else("what the sheets hold"), "greatest length of a piece along the edge";
        widest_piece: Option<f64> = length(20.0, WIDE), Else("what the sheets hold"),
            "greatest width of a flat piece across the line of its ends: tight curves are then cut shorter than straight runs";
        butts: ButtChoice = choice::<ButtChoice>(), Is("few"),
            "`few`: the fewest pieces, then the most even; `nested`: what costs least in plate and welds together ([how](method-nesting.md)); needs `[prices]` for both";
        base_butts: Vec<Position> = Places(PLACE), Else("by rule"),
            "butts in the base plate; one too near a stanchion, a doubler or the like is told and kept; between them, and on lengths without one, butts by rule where a piece would be too long";
        top_butts: Vec<Position> = Places(PLACE), Else("by rule"), "the same in the top plate";
        lift_length: Option<f64> = length(500.0, LONG), Else("none"), "greatest length between lift joints";
        lift_mass as "lift_mass_kg": Option<f64> = Number(between(5.0, 50_000.0), "kg"), Else("none"), "greatest mass between lift joints";
        lift_gap: f64 = length(0.0, 50.0), Is("3 mm"), "gap at a lift joint";
        closing_allowance: f64 = length(0.0, 500.0), Is("50 mm"), "extra length on the closing piece of a run";
    }

    /// A doubler on the base plate, mm, centred on the plate's width.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Doubler {
        name: String = Text, Required, "what it is for";
        at: Position = Place(PLACE), Required, "its middle";
        length: f64 = length(20.0, 10_000.0), Required, "along the edge";
        width: f64 = length(20.0, WIDE), Required, "no wider than the base plate";
        thickness: f64 = length_to(THICK), OF_BASE, "plate thickness", of_base_thickness;
        alloy: String = Alloy, OF_BASE, "alloy and temper", of_base_alloy;
    }

    /// A length to keep clear, mm.
    #[derive(Debug, Clone, PartialEq)]
    pub struct KeepClear {
        name: String = Text, Required, "what is there";
        at: Position = Place(PLACE), Required, "its middle";
        length: f64 = length_to(10_000.0), Required, "along the edge";
    }

    /// A length of the edge.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Stretch {
        name: String = Text, Else("counted"), "what it is, such as a gate", |t, key| t.text(key).unwrap_or_else(|| t.name.replace('[', " ").replace(']', ""));
        from: Position = Place(PLACE), Required, "one end";
        to: Position = Place(PLACE), Required, "the other end";
    }
}

const FREE: Absent = Else("none: free");
pub(super) const OF_BASE: Absent = Else("the base plate's");

pub(super) fn of_base_thickness(t: &Table<'_, '_>, key: &str) -> f64 {
    t.maybe(key)
        .unwrap_or_else(|| t.reader.base_plate.borrow().0)
}

pub(super) fn of_base_alloy(t: &Table<'_, '_>, key: &str) -> String {
    t.alloy(key)
        .unwrap_or_else(|| t.reader.base_plate.borrow().1.clone())
}

const WIDTH: Key = named(Plate::KEYS, "width");
const THICKNESS: Key = named(Plate::KEYS, "thickness");
const ALLOY: Key = named(Plate::KEYS, "alloy");

#[rustfmt::skip] // A key a line.
pub(super) const BASE: &[Key] = &[
    WIDTH, THICKNESS, ALLOY,
    key("bedding", length(0.0, 50.0), Is("1/8 in"), "thickness of the bedding"),
    key("fasteners", Table(Fasteners::KEYS), Else("no holes"), "holes into the covering board, in two staggered rows"),
];

#[rustfmt::skip] // A key a line.
pub(super) const TOP: &[Key] = &[
    WIDTH.or(Is("5 in")), THICKNESS, ALLOY,
    key("slope", choice::<TopSlope>(), Is("level"), "`level`, or `deck`: parallel to the deck"),
    key("slope_deg", STEEP, Else("none"), "instead of `slope`: degrees, rising inboard"),
    key("fasteners", Table(TOP_HOLES), Else("no holes"), "holes up into the cap, in two staggered rows"),
];

#[rustfmt::skip]
const TOP_HOLES: &[Key] = {
    let [diameter, apart, outboard, inboard, off_stanchion, off_butt] = *Fasteners::KEYS.first_chunk().expect("six keys");
    &[diameter.or(Is("7/16 in")), apart, outboard.or(Is("1 1/4 in")), inboard.or(Is("1 1/4 in")), off_stanchion, off_butt]
};

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

    /// How stanchions stand fore-and-aft.
    pub enum Stand {
        /// Plumb.
        Plumb = "plumb",
        /// Square to the sheer.
        SquareToSheer = "square-to-sheer",
    }

    /// What butts set by rule are chosen for.
    pub enum ButtChoice {
        /// The fewest pieces, then the most even.
        Few = "few",
        /// The least cost of plate and welds together, found by nesting.
        Nested = "nested",
    }
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

impl Word for TopSlope {
    const WORDS: &'static [(&'static str, Self)] = &[("level", Self::Level), ("deck", Self::Deck)];
}

/// How the top plate of its table lies.
pub(super) fn top_slope(t: &Table<'_, '_>) -> TopSlope {
    if t.gives("slope") && t.gives("slope_deg") {
        let what = "the top plate has both `slope` and `slope_deg`";
        t.conflict("slope_deg", what, "give one of them");
    }
    let word = t.chosen("slope");
    t.maybe("slope_deg").map_or(word, TopSlope::Angle)
}

/// Where stanchions stand.
#[derive(Debug, Clone, PartialEq)]
pub enum Spacing {
    /// Evenly, no further apart along the edge than this, mm.
    Even(f64),
    /// At these places.
    At(Vec<Position>),
}

fn spacing(t: &Table<'_, '_>, key: &str) -> Spacing {
    let at = t.positions("at");
    if t.gives(key) && t.gives("at") {
        let what = "stanchions have both `spacing` and `at`";
        let mend = "give `spacing` for an even division, or `at` for a list of places";
        t.conflict("at", what, mend);
    } else if t.gives("at") && at.is_empty() && !t.faulty("at") {
        let mend = "list the places, or give `spacing`";
        t.fault(Kind::Missing, "at", "`at` lists no place", mend);
    }
    let even = Spacing::Even(t.figure(key));
    if t.gives("at") { Spacing::At(at) } else { even }
}

/// Lengths of the edge under a key.
pub(super) fn stretches(root: &Table<'_, '_>, key: &str) -> Vec<Stretch> {
    let tables = root.tables(key);
    let read = |t: &Table<'_, '_>| {
        let stretch = Stretch::of(t);
        if stretch.from == stretch.to && !t.faulty("") {
            let what = format!("{key} `{}` begins and ends at one place", stretch.name);
            t.conflict("to", what, "give two places");
        }
        stretch
    };
    each_once(&tables, read, |s| &s.name)
}
