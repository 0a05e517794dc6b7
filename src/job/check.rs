//! Checks that need more than one key.

use std::collections::BTreeSet;

use super::bulwark::*;
use super::cap::lengths_faults;
use super::cutting::Cutting;
use super::model::Job;
use super::position::Side;
use super::remnants::size_faults;
use super::sheet::Sheet;
use super::surveyed::RoundUp;
use super::text::Reader;
use crate::fault::{Fault, Kind};
use crate::length::{Round, told, told_unrounded, trimmed, unrounded};
use crate::stock::{self, same_thickness};

/// Least length of stanchion between the plates, mm: shorter, there is no
/// room for a torch between the welds.
const LEAST_STANCHION: f64 = 25.0;

/// Edge distance of a hole in diameters of it: 1.5 D (National Design
/// Specification for wood construction, from memory).
const EDGE_DIAMETERS: f64 = 1.5;

/// Least spacing of holes in a row in diameters: 3 D (same source).
const SPACING_DIAMETERS: f64 = 3.0;

/// Collects faults by key, in the units the job shows.
struct Checks<'a> {
    job: &'a Job,
    faults: Vec<Fault>,
}

impl Checks<'_> {
    fn mm(&self, v: f64) -> String {
        told(v, self.job.show)
    }

    /// The least that a mend asks for.
    fn least(&self, v: f64) -> String {
        told_unrounded(v, self.job.show, Round::Up)
    }

    fn add(&mut self, kind: Kind, field: &str, what: impl Into<String>, mend: impl Into<String>) {
        let place = self.job.place(field);
        self.faults.push(Fault::new(kind, place, what, mend));
    }
}

/// The section check: the cap must cover planking, weld setback, top plate
/// and inwale with both overhangs; a stanchion must stand within both plates;
/// a doubler within the base plate; rows of holes within their plate with
/// their edge distance; and the height must leave a stanchion.
#[must_use]
pub fn section_faults(job: &Job) -> Vec<Fault> {
    let mut c = Checks {
        job,
        faults: Vec::new(),
    };
    cap(&mut c);
    stanchion(&mut c);
    height(&mut c);
    if let Some(holes) = &job.base_fasteners {
        rows(&mut c, "base", &job.base, holes);
    }
    if let Some(holes) = &job.top_fasteners {
        rows(&mut c, "top", &job.top, holes);
    }
    for (i, d) in job.doublers.iter().enumerate() {
        if d.width > job.base.width {
            let what = format!(
                "doubler `{}` is {} wide on a base plate of {}",
                d.name,
                c.mm(d.width),
                c.mm(job.base.width)
            );
            c.add(
                Kind::Section,
                &format!("doubler[{}].width", i + 1),
                what,
                "make the doubler no wider than the plate",
            );
        }
    }
    c.faults.extend(lengths_faults(job));
    c.faults
}

fn cap(c: &mut Checks<'_>) {
    let (s, top) = (&c.job.section, c.job.top.width);
    let parts = [
        ("overhang outboard", s.overhang_outboard),
        ("planking", s.planking),
        ("weld setback", s.weld_setback),
        ("top plate", top),
        ("inwale", s.inwale),
        ("overhang inboard", s.overhang_inboard),
    ];
    let need: f64 = parts.iter().map(|(_, v)| v).sum();
    if need <= s.cap_width + 1e-9 {
        return;
    }
    let sum: Vec<String> = parts
        .iter()
        .map(|(n, v)| format!("{n} {}", c.mm(*v)))
        .collect();
    let what = format!(
        "the cap is {} wide and must cover {}: {}",
        c.mm(s.cap_width),
        c.mm(need),
        sum.join(" + ")
    );
    let short = c.least(need - s.cap_width);
    let mend = format!("find {short}: a wider cap, or less of what it covers");
    c.add(Kind::Section, "section.cap_width", what, mend);
}

fn stanchion(c: &mut Checks<'_>) {
    let side = c.job.stanchions.side;
    for (name, width) in [("base", c.job.base.width), ("top", c.job.top.width)] {
        if side > width {
            let what = format!(
                "the stanchion is {} square and the {name} plate {} wide",
                c.mm(side),
                c.mm(width)
            );
            let least = c.least(side);
            let mend = format!("make {name}.width {least} or more, or take a smaller tube");
            c.add(Kind::Section, "stanchions.side", what, mend);
        }
    }
    if c.job.stanchions.wall * 2.0 >= side {
        let what = format!(
            "a wall of {} leaves no bore in a tube of {}",
            c.mm(c.job.stanchions.wall),
            c.mm(side)
        );
        let mend = "the wall must be below half the side";
        c.add(Kind::Range, "stanchions.wall", what, mend);
    }
}

fn height(c: &mut Checks<'_>) {
    let (job, b) = (c.job, &c.job.bulwark);
    let below = match b.height_from {
        HeightFrom::CoveringBoard => job.bedding + job.base.thickness,
        HeightFrom::BasePlate => 0.0,
    };
    let above = match b.height_to {
        HeightTo::TopPlate => job.top.thickness,
        HeightTo::UnderTopPlate => 0.0,
        HeightTo::Cap => job.top.thickness + job.section.cap_thickness,
    };
    if b.height - below - above < LEAST_STANCHION {
        let what = format!(
            "a height of {} less plates, bedding and cap ({}) leaves a stanchion of {}",
            c.mm(b.height),
            c.mm(below + above),
            c.mm(b.height - below - above)
        );
        let mend = format!(
            "leave at least {} between the plates",
            c.least(LEAST_STANCHION)
        );
        c.add(Kind::Section, "bulwark.height", what, mend);
    }
}

fn rows(c: &mut Checks<'_>, name: &str, plate: &Plate, holes: &Fasteners) {
    let field = |key: &str| format!("{name}.fasteners.{key}");
    let (diameter, edge) = (c.mm(holes.diameter), EDGE_DIAMETERS * holes.diameter);
    let (outboard, inboard, butt) = (holes.outboard_row, holes.inboard_row, holes.clear_of_butt);
    for (key, row, what, end) in [
        ("outboard_row", outboard, "the edge", "the edge"),
        ("inboard_row", inboard, "the edge", "the edge"),
        ("clear_of_butt", butt, "a butt or plate end", "the end"),
    ] {
        if row < edge {
            let what = format!("holes of {diameter} stand {} from {what}", c.mm(row));
            let mend = format!("keep 1.5 diameters, {}, from {end}", c.least(edge));
            c.add(Kind::Section, &field(key), what, mend);
        }
    }
    let between = plate.width - outboard - inboard;
    if between < edge {
        let [outboard, inboard, width, between] =
            [outboard, inboard, plate.width, between].map(|v| c.mm(v));
        let what = format!(
            "rows {outboard} and {inboard} in from the edges of a plate {width} wide lie {between} apart"
        );
        let mend = format!("leave 1.5 diameters, {}, between the rows", c.least(edge));
        c.add(Kind::Section, &field("inboard_row"), what, mend);
    }
    let apart = SPACING_DIAMETERS * holes.diameter;
    if holes.spacing < apart {
        let what = format!("holes of {diameter} are {} apart", c.mm(holes.spacing));
        let mend = format!("space them by 3 diameters, {}, or more", c.least(apart));
        c.add(Kind::Section, &field("spacing"), what, mend);
    }
}

/// Every check that needs more than one key; a check whose keys are already
/// at fault is left out, so that one slip makes one message.
pub(super) fn cross_check(job: &Job, reader: &Reader<'_>) {
    let faulty = reader.faulty();
    let sound = |names: &[&str]| !names.iter().any(|n| touched(&faulty, n));
    if sound(&["section", "base", "top", "stanchions", "bulwark", "doubler"]) {
        for fault in section_faults(job) {
            reader.push(fault);
        }
    }
    let mut c = Checks {
        job,
        faults: Vec::new(),
    };
    if sound(&["survey"]) {
        survey(&mut c);
    }
    if sound(&["cutting", "sheet"]) {
        cutting(&mut c);
    }
    if sound(&["base", "top", "doubler", "sheet"]) {
        // Without any sheet a job is not to be cut yet.
        if !job.sheets.is_empty() {
            stock(&mut c);
        }
        if sound(&["estimate"]) {
            choices(&mut c);
        }
        if sound(&["estimate", "prices"]) {
            scrap(&mut c);
        }
    }
    if sound(&["base", "top", "joints", "sheet", "prices"]) {
        joints(&mut c);
    }
    if sound(&["stanchions"])
        && let Spacing::Even(spacing) = job.stanchions.spacing
        && spacing <= job.stanchions.side
    {
        let what = format!(
            "stanchions of {} stand {} apart",
            c.mm(job.stanchions.side),
            c.mm(spacing)
        );
        let mend = "space them wider than they are";
        c.add(Kind::Conflict, "stanchions.spacing", what, mend);
    }
    for fault in c.faults {
        reader.push(fault);
    }
}

fn touched(faulty: &BTreeSet<String>, name: &str) -> bool {
    let within = |f: &String| {
        f.strip_prefix(name)
            .is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
    };
    faulty.iter().any(within)
}

fn survey(c: &mut Checks<'_>) {
    let s = &c.job.survey;
    let sides: BTreeSet<Side> = s.files.iter().filter_map(|f| f.side).collect();
    if s.mirrored && sides.len() > 1 {
        let what = "both sides are surveyed, and `mirrored` is true";
        let mend = "take out `mirrored`, or the files of one side";
        c.add(Kind::Conflict, "survey.mirrored", what, mend);
    }
    for (i, f) in s.files.iter().enumerate() {
        if s.files.iter().take(i).any(|g| g.path == f.path) {
            let field = format!("survey.file[{}].path", i + 1);
            let what = format!("`{}` is listed twice", f.path);
            c.add(Kind::Conflict, &field, what, "list each file once");
        }
    }
    if s.slope.is_some() && s.round_up.is_some() {
        let what = "the covering board has both `slope` and `round_up`";
        c.add(Kind::Conflict, "survey.slope", what, "give one of them");
    }
    if let Some(RoundUp {
        height,
        half_beam: Some(half_beam),
        ..
    }) = s.round_up
        && height >= half_beam
    {
        let what = format!(
            "a round-up of {} on a half-beam of {}",
            c.mm(height),
            c.mm(half_beam)
        );
        let mend = "the round-up must be below the half-beam";
        c.add(Kind::Range, "survey.round_up.height", what, mend);
    }
}

fn joints(c: &mut Checks<'_>) {
    let prices = &c.job.prices;
    let priced = |s: &Sheet| s.price.is_some() || prices.per_kg.contains_key(&s.alloy);
    let sheets = &c.job.sheets;
    let mut bought = sheets.iter().filter(|s| s.remnant.is_none());
    let all = !sheets.is_empty() && bought.all(priced);
    if c.job.joints.butts == ButtChoice::Nested && !(all && prices.weld.is_some()) {
        let what = "butts are to be chosen by cost, and plate or welds have no price";
        let mend = "give [prices] per_kg (or price of each [[sheet]]) and [prices.weld], or set butts = \"few\"";
        c.add(Kind::Missing, "joints.butts", what, mend);
    }
    let plate = c.job.base.width.max(c.job.top.width);
    if let Some(widest) = c.job.joints.widest_piece.filter(|&w| w <= plate) {
        let what = format!(
            "no piece may be wider than {}, and the wider plate is {}",
            c.mm(widest),
            c.mm(plate)
        );
        let mend =
            "the width is that of the flat piece with its curve: give some more than the plate's";
        c.add(Kind::Range, "joints.widest_piece", what, mend);
    }
}

/// A gap holds its kerf.
fn gap(c: &mut Checks<'_>, cut: &Cutting, field: &str) {
    if cut.gap < cut.kerf {
        let what = format!(
            "the gap of {} is below the kerf of {}",
            c.mm(cut.gap),
            c.mm(cut.kerf)
        );
        let mend = "the gap includes the kerf: make it larger";
        c.add(Kind::Range, field, what, mend);
    }
}

fn cutting(c: &mut Checks<'_>) {
    let job = c.job;
    gap(c, &job.cutting, "cutting.gap");
    for (i, s) in c.job.sheets.iter().enumerate() {
        // A remnant's size is known once its drawing is read.
        if s.remnant.is_none() {
            c.faults.extend(size_faults(c.job, i));
        }
    }
}

/// What a nest needs beyond a sound job: a sheet for every plate.
#[must_use]
pub fn stock_faults(job: &Job) -> Vec<Fault> {
    let mut c = Checks {
        job,
        faults: Vec::new(),
    };
    stock(&mut c);
    c.faults
}

fn stock(c: &mut Checks<'_>) {
    let job = c.job;
    let used = job.plates();
    for (i, (field, alloy, thickness)) in used.iter().enumerate() {
        let same = |a: &str, t: f64| a == *alloy && same_thickness(t, *thickness);
        let told = used.iter().take(i).any(|(_, a, t)| same(a, *t));
        if told || job.sheets.iter().any(|s| same(&s.alloy, s.thickness)) {
            continue;
        }
        let what = format!(
            "no [[sheet]] of {alloy}, {} thick, is listed",
            c.mm(*thickness)
        );
        let mend = "add a [[sheet]] with length, width, thickness and alloy";
        c.add(Kind::Stock, field, what, mend);
    }
}

/// Scrap brings no more than its plate costs: dearer, the most wasteful nest
/// would be the cheapest. A remnant has the price it stands in the books for.
fn scrap(c: &mut Checks<'_>) {
    let job = c.job;
    let dearer = |with: &Job| {
        let scrap = with.prices.scrap_per_kg;
        let plate = |s: &Sheet| {
            let mass =
                s.length * s.width * s.thickness * stock::alloy(&s.alloy).ok()?.density_kg_mm3();
            let own = s.price.map(|p| p / mass);
            own.or(with.prices.per_kg.get(&s.alloy).copied())
        };
        let bought = with.sheets.iter().filter(|s| s.remnant.is_none());
        let mut dear = bought.filter_map(|s| Some((s.name.clone(), plate(s)?)));
        dear.find(|(_, plate)| scrap > *plate * (1.0 + 1e-9))
            .map(|(sheet, plate)| {
                format!(
                    "scrap brings {} per kg, and sheet `{sheet}` costs {}",
                    unrounded(scrap),
                    trimmed(plate, 2)
                )
            })
    };
    const MEND: &str =
        "correct the prices: scrap is worth less than plate, and both are per kg in one currency";
    if let Some(what) = dearer(job) {
        c.add(Kind::Conflict, "prices.scrap_per_kg", what, MEND);
        return;
    }
    for (i, choice) in job.estimate.iter().enumerate() {
        if let Some(what) = dearer(&job.with_choice(choice)) {
            let key = if choice.scrap_per_kg.is_some() {
                ".scrap_per_kg"
            } else {
                ""
            };
            let field = format!("estimate.choice[{}]{key}", i + 1);
            c.add(Kind::Conflict, &field, what, MEND);
        }
    }
}

/// A choice must leave a sheet for every plate part, and names no sheet that
/// no part is made of.
fn choices(c: &mut Checks<'_>) {
    let job = c.job;
    for (i, choice) in job.estimate.iter().enumerate() {
        let field = |key: &str| format!("estimate.choice[{}].{key}", i + 1);
        let with = job.with_choice(choice);
        let bare = with
            .plates()
            .into_iter()
            .find(|(_, a, t)| {
                let same = |s: &Sheet| s.alloy == *a && same_thickness(s.thickness, *t);
                !with.sheets.iter().any(same)
            })
            .map(|(_, alloy, t)| (alloy.to_owned(), t));
        if let (Some((alloy, thickness)), Some(_)) = (bare, &choice.alloy) {
            let what = format!(
                "no [[sheet]] of {alloy}, {} thick, is listed for the choice `{}`",
                c.mm(thickness),
                choice.name
            );
            let mend = "add a [[sheet]] of this alloy, or take another";
            c.add(Kind::Stock, &field("alloy"), what, mend);
            continue;
        }
        let stray = with
            .sheets
            .iter()
            .find(|s| choice.sheets.contains(&s.name) && !with.uses(s));
        if let Some(s) = stray {
            let what = format!(
                "no part of the choice `{}` is made of sheet `{}`: {}, {} thick",
                choice.name,
                s.name,
                s.alloy,
                c.mm(s.thickness)
            );
            let mend = "name sheets of the alloy and thickness that the parts have";
            c.add(Kind::Conflict, &field("sheets"), what, mend);
        }
        if let Some(cut) = &choice.cutting {
            gap(c, cut, &field("gap"));
        }
    }
}
