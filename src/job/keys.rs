//! Every key of the job file: its quantity and range, what holds without it, and what
//! it is. The reader, the faults and the tables of `docs/job-file.md` take them from
//! here. Defaults are common practice in the trade, without a source, unless the
//! meaning names one.

use super::bulwark::*;
use super::key_kind::*;
use super::key_kind::{Absent::*, Quantity::*};
use super::shop::*;
use super::surveyed::*;
use crate::length::{Show, Unit, trimmed};
use crate::limits::{DOUBLERS, ITEMS, SHEETS};
use crate::stock::PROCESSES;
use crate::tolerance::Tolerance;

/// Widest timber or plate that is believed, mm: a slip of the unit shows here.
const WIDE: f64 = 2000.0;
/// Thickest plate that is believed, mm.
const THICK: f64 = 100.0;
/// Longest piece, run or spacing that is believed, mm.
const LONG: f64 = 100_000.0;
/// Longest side of a sheet that is believed, mm.
pub(super) const LONG_SHEET: f64 = 50_000.0;
/// Steepest lean or slope of a plate, degrees: beyond it the section's words (width,
/// overhang) lose their meaning.
pub const STEEP_DEG: f64 = 45.0;
/// Lowest and highest bulwark that is believed, mm: at the lowest half-inch plates
/// still leave a stanchion between them.
pub const HEIGHTS: (f64, f64) = (100.0, 3000.0);
/// Parts stay this far apart beside the kerf, mm: plasma shop rule, common
/// practice, no source. Closer, a part moves when its neighbour drops.
pub(super) const PARTS_APART: f64 = 5.0;
/// Length of a lead where the process is not in the table, mm.
pub(super) const LEAD: f64 = 6.0;

const STEEP: Quantity = Angle(between(-STEEP_DEG, STEEP_DEG));
const TIMBER: Quantity = length(0.0, 500.0);
const ON_PLATE: Quantity = length(0.0, WIDE);
const SHEET_SIDE: Quantity = length(100.0, LONG_SHEET);
const SPEED: Quantity = Number(between(10.0, 500_000.0), "mm/min");
const BY_KEY: Absent = Else("each key's");
const FREE: Absent = Else("none: free");

/// The whole job.
pub(super) const JOB: &[Key] = &[
    key("name", Text, Required, "name of the work, for titles"),
    key("date", Date, Else("empty"), "the date to print; the clock is never asked"),
    key("note", Note, Else("empty"), "a line for every report"),
    key("show", choice::<Show>(), Is("mm"), "what people read, faults too; feet and inches to a sixteenth, in decimals of an inch what is finer"),
    key("survey", Table(SURVEY), BY_KEY, "the measured edge"),
    key("fairing", Table(FAIRING), BY_KEY, "how far the lines may leave the points"),
    key("check", Table(CHECK), BY_KEY, "the check of the tacked line"),
    key("bulwark", Table(BULWARK), BY_KEY, "height and lean"),
    key("base", Table(BASE), BY_KEY, "plate on the covering board"),
    key("top", Table(TOP), BY_KEY, "plate under the wood cap"),
    key("section", Table(SECTION), BY_KEY, "timber around the plates"),
    key("stanchions", Table(STANCHIONS), BY_KEY, "box stanchions"),
    key("joints", Table(JOINTS), BY_KEY, "welded butts and lift joints"),
    key("doubler", Tables(DOUBLER, DOUBLERS), Else("none"), "doublers on the base plate, as in way of chain plates"),
    key("keep_clear", Tables(CLEAR, ITEMS), Else("none"), "lengths that no butt, lift joint or fastener may enter"),
    key("run", Tables(STRETCH, ITEMS), Else("all that is surveyed"), "lengths that carry a bulwark"),
    key("gap", Tables(STRETCH, ITEMS), Else("none"), "gates and other gaps"),
    key("sheet", Tables(SHEET, SHEETS), Else("one for every alloy and thickness in use is required"), "sheets on offer"),
    key("cutting", Table(CUTTING), BY_KEY, "nesting and cutting"),
    key("remnants", Table(REMNANTS), BY_KEY, "what of a sheet is worth keeping"),
    key("prices", Table(PRICES), BY_KEY, "prices in one currency"),
    key("estimate", Table(ESTIMATE), Else("none"), "choices of stock, compared"),
    key("output", Table(OUTPUT), BY_KEY, "formats and layers"),
    key("paper", Table(PAPER), BY_KEY, "the shop's paper, for patterns at full size"),
];

const SURVEY: &[Key] = &[
    key("unit", choice::<Unit>(), Required, "what a bare number in the tables means"),
    key("accuracy", length(0.0, 50.0),
        Else("estimated from how the points scatter, and said so ([how](method-fairing.md#accuracy-not-stated))"),
        "accuracy of one measured ordinate, plus or minus"),
    key("stations", choice::<Stations>(), Is("forward"), "the way stations count"),
    key("line", choice::<SurveyedLine>(), Is("covering-board-edge"), "the line measured"),
    key("mirrored", Flag, Is("false"), "`true`: one measured side stands for both"),
    key("stern", choice::<Stern>(), Else("required with an offset table, else `round`"),
        "`round`: one smooth curve; `transom`: straight across, a knuckle at each corner; `open`: no bulwark across, sides end square; `mitre`: both sides mitre on the centreline ([which where](survey-formats.md#sides-and-stern))"),
    key("stem", choice::<Stem>(), Is("square"), "`square` to the edge, or `mitre`: parallel to the centreline plane"),
    key("stem_half_siding", length(0.0, 1000.0), Is("0 mm"), "distance of the stem mitre from the centreline"),
    key("slope", Number(between(-1.0, 1.0), ""),
        Else("none: without `round_up` and slopes in the rows, required"),
        "rise of the covering board inboard, per unit square to the edge, where no row gives one; 0 is level"),
    key("round_up", Table(ROUND_UP), Else("none"), "the deck's mould, instead of `slope`"),
    key("file", Tables(FILE, ITEMS), Required, "a table or drawing, with its path and form"),
    key("datum", Table(DATUM), Else("none"), "how an instrument's coordinates come to the boat's"),
    key("verdict", Tables(VERDICT, ITEMS), Else("none"), "what becomes of doubtful figures"),
];

const ROUND_UP: &[Key] = &[
    key("height", length(0.0, WIDE), Required, "rise at the centreline over the half-beam"),
    key("half_beam", length_to(50_000.0), Else("the greatest measured"), "half-beam of the mould"),
    key("construction", choice::<Construction>(), Is("circular-arc"), "how the mould is drawn; they differ by more than 1/16 in"),
];

const FILE: &[Key] = &[
    key("path", Path, Required, "the file, from the job file's folder"),
    key("form", choice::<TableForm>(), Is("offsets"), "`offsets`; `points`, in order; `list`, in any order, with codes; `dxf`, a drawing"),
    key("side", choice::<Side>(), Else("by the table's `side` column; of a list or drawing, the sign of y"), "where the whole file is one side"),
    key("unit", choice::<Unit>(), Else("`survey.unit`"), "what a bare number in this file means"),
    key("codes", Table(CODES), BY_KEY, "of a list: its codes, letter case aside"),
    key("layer", Text, Else("required with `dxf`"), "of a drawing: the layer of the edge"),
];

pub(super) const CODES: &[Key] = &[
    key("edge", Texts, Is("edge"), "points of the edge"),
    key("knuckle", Texts, Is("knuckle"), "points of the edge where the curve breaks"),
    key("inboard", Texts, Is("inboard"), "points of the covering board's top, inboard of the edge"),
    key("datum", Texts, Is("datum"), "reference points of the datum"),
    key("ignore", Texts, Else("none"), "points of other things"),
];

const DATUM: &[Key] = &[
    key("level", Flag, Is("false"), "`true`: the instrument stood plumb"),
    // A larger residual is no fit.
    key("limit", length_to(100.0), Else("3.5 times the accuracy"), "greatest residual of a reference point"),
    key("reference", Tables(REFERENCE, ITEMS), Else("three or more are required"), "points known in both frames, not on one line"),
];

const REFERENCE: &[Key] = &[
    key("name", Text, Required, "as in the list's `name` or `code` column"),
    key("boat", Table(POINT), Required, "its place on the boat"),
    key("measured", Table(POINT), Else("by rows of a list"), "its place by the instrument"),
];

const POINT: &[Key] = &[
    key("x", Length(ANY), Required, "forward of the datum"),
    key("y", Length(ANY), Required, "to port of the centreline"),
    key("z", Length(ANY), Required, "up from the datum"),
];

const VERDICT: &[Key] = &[
    key("file", Path, Else("whichever has the row"), "the file, as its `path` says"),
    key("point", Text, Required, "the row's name, or its station or x as booked; exactly one row must answer"),
    key("side", choice::<Side>(), Else("either"), "where both have such a row"),
    key("figure", choice::<Figure>(), Else("all of the row; required to replace"), "a figure of the row: the first three of an offset table, the others of another"),
    key("do", choice::<Do>(), Required, "`accept`: right as booked, no longer doubted; `replace`: the figure is `value`; `exclude`: the row is left out"),
    key("value", Text, Else("required to replace"),
        "the figure to replace it, in quotes, in the file's unit; of a list or drawing under `[survey.datum]` a coordinate on the boat, not the instrument's"),
];

const FAIRING: &[Key] = &[
    key("base", length(0.0, 200.0), Else("the accuracy"), "furthest the base line may leave a measured point"),
    key("top", length(0.0, 200.0), Told(|| format!("{TOP_OVER_BASE} times the accuracy")), "furthest the top line may leave its point"),
    key("stem_angle_deg", Angle(between(-90.0, 90.0)), FREE, "both lines meet the stem at this angle to the centreline in plan, positive where the sides open going aft"),
    key("stern_angle_deg", Angle(between(-90.0, 90.0)), FREE,
        "the same at the aft end of each side (open stern, mitre, or a transom's corner), positive where the sides close going aft; 0 is square to a transom that stands athwart. Not with a round stern"),
    key("sides", choice::<Sides>(), Is("own"),
        "`own`: port and starboard each keep their own line; `alike`: both are faired to one line half way between, and their lines are mirror images; where butts and stanchions fall is still found along the whole edge ([how](method-fairing.md#both-sides-to-one-line))"),
];

const CHECK: &[Key] = &[
    key("accuracy", length(TACKED_ACCURACY, 50.0), Told(|| format!("the survey's, at least {TACKED_ACCURACY} mm")), "of the survey of the tacked line, plus or minus"),
    key("limit", length(0.0, 100.0), Is("6 mm"), "furthest a stanchion can be moved"),
    key("fixed", Texts, Else("none"), "names of stanchions that cannot be moved, such as `[\"7P\"]`"),
];

const BULWARK: &[Key] = &[
    key("height", length(HEIGHTS.0, HEIGHTS.1), Required, "vertical height at the edge, where no row gives one"),
    key("from", choice::<HeightFrom>(), Is("covering-board"), "lower end of the height: the covering board's top, or the base plate's upper face"),
    key("to", choice::<HeightTo>(), Is("top-plate"), "upper end of the height: the top plate's upper or under face, or the cap's top"),
    key("lean_deg", STEEP, Is("0"), "lean from plumb, outboard positive, where no row gives one"),
];

const WIDTH: Key = key("width", length(20.0, WIDE), Required, "along the plate, square to its edge");
const THICKNESS: Key = key("thickness", length_to(THICK), Is("1/2 in"), "plate thickness");
const ALLOY: Key = key("alloy", Alloy, Is("5086-H116"), "alloy and temper");
const OF_BASE: Absent = Else("the base plate's");

const BASE: &[Key] = &[
    WIDTH.or(Is("7 in")),
    THICKNESS,
    ALLOY,
    key("bedding", length(0.0, 50.0), Is("1/8 in"), "thickness of the bedding"),
    key("fasteners", Table(BASE_HOLES), Else("no holes"), "holes into the covering board, in two staggered rows"),
];

const TOP: &[Key] = &[
    WIDTH.or(Is("5 in")),
    THICKNESS,
    ALLOY,
    key("slope", choice::<TopSlope>(), Is("level"), "`level`, or `deck`: parallel to the deck"),
    key("slope_deg", STEEP, Else("none"), "instead of `slope`: degrees, rising inboard"),
    key("fasteners", Table(TOP_HOLES), Else("no holes"), "holes up into the cap, in two staggered rows"),
];

const DIAMETER: Key = key("diameter", length(2.0, 100.0), Is("9/16 in"), "of the hole");
const OUTBOARD: Key = key("outboard_row", ON_PLATE, Is("1 1/2 in"), "row from the outboard edge; at least 1.5 diameters");
const INBOARD: Key = key("inboard_row", ON_PLATE, Is("1 1/2 in"), "row from the inboard edge; at least 1.5 diameters");
const APART: Key = key("spacing", length_to(WIDE), Is("8 in"), "greatest spacing in a row; at least 3 diameters");
const OFF_STANCHION: Key = key("clear_of_stanchion", ON_PLATE, Is("1 in"), "a hole's edge from a stanchion's face");
const OFF_BUTT: Key = key("clear_of_butt", ON_PLATE, Is("1 1/2 in"),
    "a hole's centre from a butt or plate end: out of the inch that a weld softens (Aluminum Design Manual 2015, from memory)");

const BASE_HOLES: &[Key] = &[DIAMETER, APART, OUTBOARD, INBOARD, OFF_STANCHION, OFF_BUTT];
const TOP_HOLES: &[Key] = &[
    DIAMETER.or(Is("7/16 in")), APART, OUTBOARD.or(Is("1 1/4 in")), INBOARD.or(Is("1 1/4 in")),
    OFF_STANCHION, OFF_BUTT,
];

const SECTION: &[Key] = &[
    key("planking", TIMBER, Is("1 in"), "thickness of the bulwark planking"),
    key("planking_inset", length(-500.0, 500.0), Is("0 mm"), "planking's outside inboard of the covering-board edge"),
    key("weld_setback", length(0.0, 50.0), Is("1/8 in"), "plates' outboard edge from the planking's inner face"),
    key("inwale", TIMBER, Is("3/4 in"), "thickness of the inwale"),
    key("cap_width", length_to(WIDE), Is("8 in"), "width of the wood cap"),
    key("cap_thickness", TIMBER, Is("1 3/4 in"), "thickness of the wood cap"),
    key("overhang_outboard", TIMBER, Is("1/2 in"), "least overhang outboard of the planking"),
    key("overhang_inboard", TIMBER, Is("1/2 in"), "least overhang inboard of the inwale"),
];

const STANCHIONS: &[Key] = &[
    // The least leaves a bore in a tube of quarter-inch wall.
    key("side", length(25.0, 500.0), Is("4 in"), "side of the square tube; no wider than either plate"),
    key("wall", length_to(THICK), Is("1/4 in"), "wall, below half the side"),
    ALLOY.or(Is("6061-T6")),
    // The least leaves room for butts between tubes of 4 in.
    key("spacing", length(250.0, LONG), Is("30 in"), "evenly, no further apart than this"),
    key("at", Places(PLACE), Else("none"), "instead of `spacing`: where they stand"),
    key("end_clearance", length(0.0, 5000.0), Is("6 in"), "first and last from the ends of a run"),
    key("stand", choice::<Stand>(), Is("plumb"), "fore-and-aft"),
];

const LONGEST: Key = key("longest_piece", length(300.0, LONG), Else("what the sheets hold"), "greatest length of a piece along the edge");

// Weld gap and shrinkage follow the figure that method statements quote for a butt in
// 10 to 12 mm steel plate (Blodgett, 0.1 Aw/t); aluminium runs more.
const JOINTS: &[Key] = &[
    key("weld_gap", length(0.0, 20.0), Is("2 mm"), "gap at a welded butt"),
    key("shrinkage", length(0.0, 20.0), Is("1 mm"), "what the weld takes up: weld a trial piece"),
    key("clear_of_stanchion", ON_PLATE, Is("2 in"), "a butt from a stanchion's face"),
    key("stagger", length(0.0, 5000.0), Is("12 in"), "between butts of base and top"),
    LONGEST,
    key("widest_piece", length(20.0, WIDE), Else("what the sheets hold"),
        "greatest width of a flat piece across the line of its ends: tight curves are then cut shorter than straight runs"),
    key("butts", choice::<ButtChoice>(), Is("few"),
        "`few`: the fewest pieces, then the most even; `nested`: what costs least in plate and welds together ([how](method-nesting.md)); needs `[prices]` for both"),
    key("base_butts", Places(PLACE), Else("by rule"),
        "butts in the base plate; one too near a stanchion, a doubler or the like is told and kept; between them, and on lengths without one, butts by rule where a piece would be too long"),
    key("top_butts", Places(PLACE), Else("by rule"), "the same in the top plate"),
    key("lift_length", length(500.0, LONG), Else("none"), "greatest length between lift joints"),
    key("lift_mass_kg", Number(between(5.0, 50_000.0), "kg"), Else("none"), "greatest mass between lift joints"),
    key("lift_gap", length(0.0, 50.0), Is("3 mm"), "gap at a lift joint"),
    key("closing_allowance", length(0.0, 500.0), Is("50 mm"), "extra length on the closing piece of a run"),
];

pub(super) const PLACE: &[Key] = &[
    key("side", choice::<Side>(), Else("required with `station`, unless only one side is surveyed"), "side of the boat"),
    key("station", Length(ANY), Else("one of the two is required"), "a station, counted as the survey counts"),
    key("along", Length(between(0.0, f64::INFINITY)), Else("one of the two is required"),
        "along the edge in plan from that side's fore end; without `side`, from the port fore end aft and round"),
];

const AT: Key = key("at", Place(PLACE), Required, "its middle");

const DOUBLER: &[Key] = &[
    key("name", Text, Required, "what it is for"),
    AT,
    key("length", length(20.0, 10_000.0), Required, "along the edge"),
    key("width", length(20.0, WIDE), Required, "no wider than the base plate"),
    THICKNESS.or(OF_BASE),
    ALLOY.or(OF_BASE),
];

const CLEAR: &[Key] = &[
    key("name", Text, Required, "what is there"),
    AT,
    key("length", length_to(10_000.0), Required, "along the edge"),
];

const STRETCH: &[Key] = &[
    key("name", Text, Else("counted"), "what it is, such as a gate"),
    key("from", Place(PLACE), Required, "one end"),
    key("to", Place(PLACE), Required, "the other end"),
];

const SHEET: &[Key] = &[
    key("name", Text, Else("its size, with thickness and alloy where they are not the base plate's"), "its name in reports"),
    key("length", SHEET_SIDE, Required, "along the rolling direction; not with `remnant`"),
    key("width", SHEET_SIDE, Required, "across it; not with `remnant`"),
    THICKNESS.or(OF_BASE),
    ALLOY.or(OF_BASE),
    key("quantity", Count(0, 10_000), Else("as many as wanted; of a remnant, 1"), "how many are to be had"),
    key("price", Price("of one sheet"), Else("by mass; of a remnant, its value as scrap"), "what one costs"),
    key("remnant", Path, Else("none"), "a drawing of a piece of plate of any shape, in place of `length` and `width`; from the job file's folder"),
    key("unit", choice::<Unit>(), Else("as the drawing says"), "of that drawing, where it states none; decimal"),
    key("clamps", Rectangles, Else("none"),
        "where no part may lie, each `[x, y, length, width]` with units, from the sheet's lower left corner; parts keep `edge_margin` from them"),
];

const KERF: Key = key("kerf", length(0.0, 30.0), Told(|| format!("{} by process", by_process("mm", |p| p.kerf))),
    "width of the cut: measure a test cut (by process: shop comparisons; the router's cutter from memory)");
const GAP: Key = key("gap", length(0.0, 500.0), Told(|| format!("kerf + {PARTS_APART} mm")), "between net outlines, kerf included");
const CUTTING_SPEED: Key = key("speed_mm_min", Number(between(1.0, 200_000.0), "mm/min"), Else("by process and thickness (from memory)"), "cutting speed");
const PIERCE: Key = key("pierce_s", Number(between(0.0, 3600.0), "s"), Else("by process and thickness (from memory)"), "time of a pierce");
const TRAVEL: Key = key("travel_mm_min", SPEED, Else("by process (from memory)"), "speed between cuts");
const MARKING: Key = key("marking_mm_min", SPEED, Else("by process (from memory)"), "speed of the marking head");
const DRILL: Key = key("drill_s", Number(between(0.0, 3600.0), "s"), Is("45"),
    "time to drill a hole at the bench after the cutting, punched, drilled and deburred (from memory)");

const CUTTING: &[Key] = &[
    key("process", Process, Is("plasma"), "the way of cutting; a name of your own needs `kerf`"),
    KERF,
    GAP,
    key("edge_margin", length(0.0, 500.0), Is("10 mm"), "net outline from the sheet's edge"),
    key("rotation", choice::<Turn>(), Is("free"), "how parts may be turned: `free`; `steps` of `angle_deg`; `within` `angle_deg` of the rolling direction"),
    // Steps below a degree are free rotation at a cost; 180 is end for end.
    key("angle_deg", Angle(between(0.0, 180.0)), Else("required with `steps` and `within`"), "for them; steps of 1 or more"),
    key("effort", choice::<Effort>(), Is("normal"), "of the search for a nest"),
    key("seed", Count(0, 1_000_000), Is("0"), "another one tries other orders of placing; the same job and seed give the same nest"),
    key("paths", choice::<Paths>(), Is("net"),
        "`net`: sheet files show the parts, the table sets the kerf off; `compensated`: they show the way of the cut's middle, half a kerf in the waste"),
    key("leads", choice::<LeadWord>(), Is("none"), "lead-ins and lead-outs on layer `LEAD`"),
    key("lead", length(0.5, 100.0), Told(|| format!("{} by process, else {LEAD} mm", by_process("mm", |p| p.lead))), "length of a lead-in (by process: from memory)"),
    // Nearer, the corner is washed out by the pierce: common practice, no source.
    key("lead_off_corner", length(0.0, 500.0), Is("10 mm"), "least distance of a start from a corner"),
    // A scratch of the torch's wander: common practice, no source.
    key("lead_clearance", length(0.0, 50.0), Is("1 mm"), "metal between a lead's cut and any part"),
    key("lead_paths", choice::<LeadPaths>(), Is("apart"),
        "`apart`: leads on layer `LEAD`, each before or after its profile; `joined`: lead-in, profile and lead-out are one open line on `CUT` or `HOLE`"),
    key("small_holes", choice::<SmallHoles>(), Is("cut"), "holes below the smallest: `cut` as drawn, or `drill`: a cross at the centre"),
    key("smallest_hole", length(0.0, 500.0),
        Told(|| format!("{}, at least {} by process", by_process("t", |p| p.hole_ratio), by_process("mm", |p| p.hole_least))),
        "smallest hole the process cuts well; below it in any thickness t, cut all the same, is warned of"),
    CUTTING_SPEED,
    PIERCE,
    TRAVEL,
    MARKING,
    DRILL,
    key("tabs", Table(TABS), Else("none"), "bridges that hold small parts"),
];

const TABS: &[Key] = &[
    key("below_kg", Number(between(0.0, 10_000.0), "kg"), Else("one of the two is required"), "parts lighter than this are held"),
    key("below", length(0.0, 50_000.0), Else("one of the two is required"), "parts shorter than this are held"),
    key("count", Count(0, 20), Is("2"), "bridges on a part"),
    key("width", length(0.5, 50.0), Is("4 mm"), "metal left in each: 3 to 5 mm is a plasma shop's rule"),
];

// What a yard bothers to rack: a piece that gives a short strip of this trade's plates.
const REMNANTS: &[Key] = &[
    key("least", length(20.0, 50_000.0), Is("500 mm"), "longer side of the piece's box, or more"),
    key("narrowest", length(1.0, 10_000.0), Is("150 mm"), "necks narrower than this are not counted in"),
];

const PER_HOUR: Key = key("cutting_per_hour", Price("per hour"), Else("not priced"), "the cutting machine with its crew, for [estimates](estimate.md)");
const SCRAP: Key = key("scrap_per_kg", Price("per kg"), Is("0"), "what scrap brings; no more than the plate costs");

const PRICES: &[Key] = &[
    key("currency", Text, Else("required with any price"), "as printed"),
    key("per_kg", Prices("alloy"), Else("none"), "of plate per kg, where a sheet has no price"),
    SCRAP,
    PER_HOUR,
    key("weld", Table(WELD), Else("not priced"), "what welded butts cost"),
];

const WELD: &[Key] = &[
    key("filler_per_kg", Price("per kg"), Required, "filler wire; 0 leaves it out"),
    key("filler_kg_per_m", Number(NONE_OR_MORE, "kg/m"), Required, "filler laid in a metre of weld, all passes; 0 leaves it out"),
    key("labour_per_hour", Price("per hour"), Required, "labour; 0 leaves it out"),
    key("minutes_per_m", Number(NONE_OR_MORE, "min/m"), Required, "time for a metre of weld, all passes; 0 leaves it out"),
    key("prep_minutes_per_butt", Number(NONE_OR_MORE, "min"), Required, "time to prepare and dress one butt; 0 leaves it out"),
];

const ESTIMATE: &[Key] = &[
    key("choice", Tables(CHOICE, SHEETS), Else("each size on offer, and all together"), "choices of stock, supplier and process"),
];

const OF_JOB: Absent = Else("the job's");
const OF_PROCESS: Absent = Else("by the process named, or the job's");

const CHOICE: &[Key] = &[
    key("name", Text, Required, "its name in reports"),
    key("supplier", Text, Else("none"), "who offers it, in reports"),
    key("sheets", Texts, Else("all on offer"), "names of the sheets to use; of an alloy and thickness of which it names none, all are used"),
    key("alloy", Alloy, OF_JOB, "of every plate part; sheets of it must be listed"),
    LONGEST.or(OF_JOB),
    key("process", Process, OF_JOB, "another one than the job's brings its own kerf, gap, speeds and smallest hole"),
    KERF.or(OF_PROCESS),
    GAP.or(Told(|| format!("kerf + {PARTS_APART} mm with another process, or the job's"))),
    CUTTING_SPEED.or(OF_PROCESS),
    PIERCE.or(OF_PROCESS),
    TRAVEL.or(OF_PROCESS),
    MARKING.or(OF_PROCESS),
    DRILL.or(OF_JOB),
    PER_HOUR.or(OF_JOB),
    key("per_kg", Prices("alloy"), OF_JOB, "the supplier's price of plate per kg; stands in place of the sheets' own prices"),
    key("per_sheet", Prices("name of a sheet"), Else("none"), "the supplier's price of a sheet"),
    SCRAP.or(OF_JOB),
];

const OUTPUT: &[Key] = &[
    key("dxf", choice::<DxfVersion>(), Is("R2000"), "`R12` is for an old controller"),
    key("dxf_units", choice::<DxfUnits>(), Is("mm"), "of coordinates in the drawings"),
    key("ordinate_spacing", length(10.0, 5000.0), Else("250 mm; 12 in where `show` is `feet-inches`"), "of the ordinates a shop lofts from"),
    key("letter_height", length(3.0, 200.0), Is("25 mm"), "of the marked name where there is room, a quarter of the part's width at most; other marked letters in proportion"),
    key("outline_tolerance", length(0.001, 1.0), Told(|| format!("{} mm", Tolerance::default().outline_mm)), "arcs and lines from the true edge"),
    key("layers", Table(LAYERS), BY_KEY, "names and colours of layers"),
];

/// An option of the command wins over each.
const PAPER: &[Key] = &[
    key("size", Text, Else("`A4`; `Letter` where `show` is `feet-inches`"),
        "`A4` to `A0`, `Letter`, `Legal`, `Tabloid`, `ARCH C` to `ARCH E`, a roll by its width such as `36 in roll`, or a width across the feed and a length along it such as `300 x 450 mm`"),
    key("margin", length(0.0, 200.0), Is("10 mm"), "what the printer leaves free along each edge"),
    key("overlap", length(6.0, 200.0), Is("10 mm"), "what neighbouring pages both show"),
    key("floor_sheets", Text, Else("`A3`; `Tabloid` where `show` is `feet-inches`"),
        "what floor sheets are printed on, the long side across: a size as above but no roll, at least as large as `Tabloid` or `A3`"),
];

/// Layers by plain name.
pub(super) const LAYERS: &[Key] = &[
    key("CUT", Table(LAYER), BY_KEY, "outer profiles"),
    key("HOLE", Table(LAYER), BY_KEY, "inner profiles"),
    key("MARK", Table(LAYER), BY_KEY, "lines and letters for the marker"),
    key("LABEL", Table(LAYER), BY_KEY, "text for people"),
    key("SHEET", Table(LAYER), BY_KEY, "stock edge"),
    key("LEAD", Table(LAYER), BY_KEY, "lead-ins and lead-outs"),
];

const LAYER: &[Key] = &[
    key("name", Text, Else("its own"), "in the file: 1 to 31 letters, digits, `-` and `_`"),
    key("colour", Count(1, 255), Is("7"), "colour number"),
];

/// A figure of every process of the stock table, in its order.
fn by_process(unit: &str, figure: fn(&crate::stock::Process) -> f64) -> String {
    let figures = PROCESSES.map(|p| trimmed(figure(&p), 3));
    let words: Vec<&str> = figures.iter().map(String::as_str).collect();
    format!("{} {unit}", quoted(&words, "", " or "))
}

/// True where a key of this name takes a plain number, in whatever table.
pub(super) fn takes_number(name: &str) -> bool {
    fn within(keys: &[Key], name: &str) -> bool {
        keys.iter().any(|k| match k.quantity.keys() {
            Some(keys) => within(keys, name),
            None => k.name == name && k.quantity.plain().is_some(),
        })
    }
    within(JOB, name)
}
