//! Nesting and cutting, and what is worth keeping of a sheet, resolved: mm and rad.

use super::key_kind::*;
use super::key_kind::{Absent::*, Quantity::*};
use super::stated::{Stated, table};
use super::table::Table;
use crate::fault::Kind;
use crate::geom::Outline;
use crate::length::trimmed;
use crate::stock::{self, PROCESSES, Process};

/// Parts stay this far apart beside the kerf, mm: plasma shop rule, common
/// practice, no source. Closer, a part moves when its neighbour drops.
pub(super) const PARTS_APART: f64 = 5.0;
/// Length of a lead where the process is not in the table, mm.
const LEAD: f64 = 6.0;

const SPEED: Quantity = Number(between(10.0, 500_000.0), "mm/min");

table! {
    /// Cutting and nesting settings, mm. Speeds and the smallest hole are the process's
    /// where they are `None`; without leads the table's own software makes them.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Cutting {
        process: String = Process, Is("plasma"), "the way of cutting; a name of your own needs `kerf`";
        kerf: f64 = length(0.0, 30.0), Told(|| format!("{} by process", by_process("mm", |p| p.kerf))),
            "width of the cut: measure a test cut (by process: shop comparisons; the router's cutter from memory)",
            |t, key| t.maybe(key).or(usual(t).map(|p| p.kerf)).unwrap_or_default();
        gap: f64 = length(0.0, 500.0), Told(|| format!("kerf + {PARTS_APART} mm")), "between net outlines, kerf included", |t, key| t.maybe(key).unwrap_or_default();
        edge_margin: f64 = length(0.0, 500.0), Is("10 mm"), "net outline from the sheet's edge";
        rotation: Rotation = choice::<Rotation>(), Is("free"), "how parts may be turned: `free`; `steps` of `angle_deg`; `within` `angle_deg` of the rolling direction", rotation;
        // Steps below a degree are free rotation at a cost; 180 is end for end.
        & angle_deg = Angle(between(0.0, 180.0)), Else("required with `steps` and `within`"), "for them; steps of 1 or more";
        effort: Effort = choice::<Effort>(), Is("normal"), "of the search for a nest";
        seed: usize = Count(0, 1_000_000), Is("0"), "another one tries other orders of placing; the same job and seed give the same nest";
        paths: Paths = choice::<Paths>(), Is("net"),
            "`net`: sheet files show the parts, the table sets the kerf off; `compensated`: they show the way of the cut's middle, half a kerf in the waste";
        leads: Option<Leads> = choice::<Option<LeadForm>>(), Is("none"), "lead-ins and lead-outs on layer `LEAD`", leads;
        & lead = length(0.5, 100.0), Told(|| format!("{} by process, else {LEAD} mm", by_process("mm", |p| p.lead))), "length of a lead-in (by process: from memory)";
        // Nearer, the corner is washed out by the pierce: common practice, no source.
        & lead_off_corner = length(0.0, 500.0), Is("10 mm"), "least distance of a start from a corner";
        // A scratch of the torch's wander: common practice, no source.
        & lead_clearance = length(0.0, 50.0), Is("1 mm"), "metal between a lead's cut and any part";
        & lead_paths = choice::<LeadPaths>(), Is("apart"),
            "`apart`: leads on layer `LEAD`, each before or after its profile; `joined`: lead-in, profile and lead-out are one open line on `CUT` or `HOLE`";
        small_holes: SmallHoles = choice::<SmallHoles>(), Is("cut"), "holes below the smallest: `cut` as drawn, or `drill`: a cross at the centre";
        smallest_hole: Option<f64> = length(0.0, 500.0),
            Told(|| format!("{}, at least {} by process", by_process("t", |p| p.hole_ratio), by_process("mm", |p| p.hole_least))),
            "smallest hole the process cuts well; below it in any thickness t, cut all the same, is warned of";
        speed as "speed_mm_min": Option<f64> = Number(between(1.0, 200_000.0), "mm/min"), Else("by process and thickness (from memory)"), "cutting speed";
        pierce_s: Option<f64> = Number(between(0.0, 3600.0), "s"), Else("by process and thickness (from memory)"), "time of a pierce";
        travel as "travel_mm_min": Option<f64> = SPEED, Else("by process (from memory)"), "speed between cuts";
        marking as "marking_mm_min": Option<f64> = SPEED, Else("by process (from memory)"), "speed of the marking head";
        drill_s: f64 = Number(between(0.0, 3600.0), "s"), Is("45"),
            "time to drill a hole at the bench after the cutting, punched, drilled and deburred (from memory)";
        tabs: Option<Tabs> = Table(Tabs::KEYS), Else("none"), "bridges that hold small parts", tabs;
    }

    /// Bridges that hold small parts in the sheet.
    #[derive(Debug, Clone, Copy, PartialEq)]
    pub struct Tabs {
        below_kg: Option<f64> = Number(between(0.0, 10_000.0), "kg"), Else("one of the two is required"), "parts lighter than this are held";
        below: Option<f64> = length(0.0, 50_000.0), Else("one of the two is required"), "parts shorter than this are held";
        count: usize = Count(0, 20), Is("2"), "bridges on a part";
        width: f64 = length(0.5, 50.0), Is("4 mm"), "metal left in each: 3 to 5 mm is a plasma shop's rule";
    }

    // What a yard bothers to rack: a piece that gives a short strip of this trade's plates.
    /// What is worth keeping of a sheet, mm.
    #[derive(Debug, Clone, Copy, PartialEq)]
    pub struct Remnants {
        least: f64 = length(20.0, 50_000.0), Is("500 mm"), "longer side of the piece's box, or more";
        narrowest: f64 = length(1.0, 10_000.0), Is("150 mm"), "necks narrower than this are not counted in";
    }
}

/// A figure of every process of the stock table, in its order.
fn by_process(unit: &str, figure: fn(&Process) -> f64) -> String {
    let figures = PROCESSES.map(|p| trimmed(figure(&p), 3));
    let words: Vec<&str> = figures.iter().map(String::as_str).collect();
    format!("{} {unit}", quoted(&words, "", " or "))
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

/// Form of a lead.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LeadForm {
    /// A quarter circle that runs into the profile.
    Arc,
    /// A line at 45 degrees to the profile.
    Straight,
}

words! {
    /// How leads are drawn.
    enum LeadPaths { Apart = "apart", Joined = "joined" }

    /// What becomes of holes below the process's smallest.
    pub enum SmallHoles {
        /// They are cut as drawn, and counted.
        Cut = "cut",
        /// Their centres are marked, and they are drilled.
        Drill = "drill",
    }
}

/// No form: no leads.
impl Word for Option<LeadForm> {
    const WORDS: &'static [(&'static str, Self)] = &[
        ("none", None),
        ("arc", Some(LeadForm::Arc)),
        ("straight", Some(LeadForm::Straight)),
    ];
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

impl Word for Rotation {
    const WORDS: &'static [(&'static str, Self)] = &[
        ("free", Self::Free),
        ("steps", Self::Steps(0.0)),
        ("within", Self::Within(0.0)),
    ];
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

/// The table's process in the stock table.
fn usual(t: &Table<'_, '_>) -> Option<&'static Process> {
    stock::process(t.said("process")).ok()
}

/// A process that is not in the stock table needs its kerf.
fn needs_kerf(t: &Table<'_, '_>) {
    if usual(t).is_none() {
        t.needed(
            "kerf",
            "a process that is not in the stock table needs its kerf: add kerf = \"3 mm\"",
        );
    }
}

/// The cutting; a gap that is not given follows the kerf.
pub(super) fn cutting(t: &Table<'_, '_>) -> Cutting {
    needs_kerf(t);
    let mut c = Cutting::of(t);
    if !t.gives("gap") {
        c.gap = c.kerf + PARTS_APART;
    }
    c
}

/// The job's cutting with what a choice of stock changes; `None` where it
/// changes nothing. Another process brings its own kerf, gap, speeds and
/// smallest hole; the same process named again keeps what the job measured.
pub(super) fn changed(t: &Table<'_, '_>, job: &Cutting) -> Option<Cutting> {
    let mut c = job.clone();
    let kerf = t.maybe("kerf");
    if let Some(process) = t.text("process").filter(|p| *p != job.process) {
        needs_kerf(t);
        c.process = process;
        c.kerf = kerf.or(usual(t).map(|p| p.kerf)).unwrap_or_default();
        c.gap = c.kerf + PARTS_APART;
        (c.speed, c.pierce_s, c.travel) = (None, None, None);
        (c.marking, c.smallest_hole) = (None, None);
    }
    c.kerf = kerf.unwrap_or(c.kerf);
    c.gap = t.maybe("gap").unwrap_or(c.gap);
    c.speed = t.maybe("speed_mm_min").or(c.speed);
    c.pierce_s = t.maybe("pierce_s").or(c.pierce_s);
    c.travel = t.maybe("travel_mm_min").or(c.travel);
    c.marking = t.maybe("marking_mm_min").or(c.marking);
    c.drill_s = t.maybe("drill_s").unwrap_or(c.drill_s);
    (c != *job).then_some(c)
}

fn leads(t: &Table<'_, '_>, key: &str) -> Option<Leads> {
    let form: Option<LeadForm> = t.chosen(key);
    if form.is_none() {
        for key in ["lead", "lead_off_corner", "lead_clearance", "lead_paths"] {
            if t.gives(key) {
                let what = "there are no leads to set";
                let mend = "add leads = \"arc\" or \"straight\", or take the key out";
                t.conflict(key, what, mend);
            }
        }
    }
    let usual = usual(t).map_or(LEAD, |p| p.lead);
    let leads = Leads {
        form: form.unwrap_or(LeadForm::Arc),
        length: t.maybe("lead").unwrap_or(usual),
        off_corner: t.figure("lead_off_corner"),
        clearance: t.figure("lead_clearance"),
        joined: t.chosen::<LeadPaths>("lead_paths") == LeadPaths::Joined,
    };
    form.map(|_| leads)
}

fn tabs(t: &Table<'_, '_>, key: &str) -> Option<Tabs> {
    let t = t.table(key);
    if t.present() && !t.gives("below") {
        t.needed(
            "below_kg",
            "say which parts are held: add below_kg = 2, or below = \"200 mm\"",
        );
    }
    t.present().then(|| Tabs::of(&t))
}

fn rotation(t: &Table<'_, '_>, key: &str) -> Rotation {
    let turn: Rotation = t.chosen(key);
    let angle = t.maybe("angle_deg");
    if turn != Rotation::Free {
        t.needed(
            "angle_deg",
            "add angle_deg, such as 90 for steps or 5 for within",
        );
    } else if t.gives("angle_deg") {
        let what = "free rotation has no angle";
        let mend = "take the key out, or set rotation = \"steps\" or \"within\"";
        t.conflict("angle_deg", what, mend);
    }
    // Steps below a degree are free rotation at a cost.
    if matches!(turn, Rotation::Steps(_)) && angle.is_some_and(|a| a < 1f64.to_radians()) {
        let what = "the steps of `angle_deg` are below a degree";
        let mend = "write 1 to 180 degrees, or set rotation = \"free\"";
        t.fault(Kind::Range, "angle_deg", what, mend);
    }
    let angle = angle.unwrap_or_default();
    match turn {
        Rotation::Free => turn,
        Rotation::Steps(_) => Rotation::Steps(angle),
        Rotation::Within(_) => Rotation::Within(angle),
    }
}
