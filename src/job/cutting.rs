//! Nesting and cutting settings, and what is worth keeping of a sheet.

use super::table::{Table, between};
use super::*;
use crate::fault::Kind;

/// Parts stay this far apart beside the kerf, mm: plasma shop rule, common
/// practice, no source. Closer, a part moves when its neighbour drops.
pub(super) const PARTS_APART: f64 = 5.0;

pub(super) fn cutting(t: &Table<'_, '_>) -> Cutting {
    let process = t.text("process").unwrap_or_else(|| "plasma".to_owned());
    let usual = stock::process(&process).ok();
    if usual.is_none() && !t.gives("kerf") {
        t.missing(
            "kerf",
            "a process that is not in the stock table needs its kerf: add kerf = \"3 mm\"",
        );
    }
    let kerf = t.length_or("kerf", between(0.0, 30.0), usual.map_or(0.0, |p| p.kerf));
    let effort = [
        ("quick", Effort::Quick),
        ("normal", Effort::Normal),
        ("long", Effort::Long),
    ];
    let cutting = Cutting {
        process,
        kerf,
        gap: t.length_or("gap", between(0.0, 500.0), kerf + PARTS_APART),
        edge_margin: t.length_or("edge_margin", between(0.0, 500.0), 10.0),
        rotation: rotation(t),
        effort: t.choice("effort", &effort).unwrap_or(Effort::Normal),
        seed: t.count("seed", 1_000_000).unwrap_or(0),
        paths: t
            .choice(
                "paths",
                &[("net", Paths::Net), ("compensated", Paths::Compensated)],
            )
            .unwrap_or(Paths::Net),
        leads: leads(t, usual),
        small_holes: t
            .choice(
                "small_holes",
                &[("cut", SmallHoles::Cut), ("drill", SmallHoles::Drill)],
            )
            .unwrap_or(SmallHoles::Cut),
        smallest_hole: t.length("smallest_hole", between(0.0, 500.0)),
        speed: t.number("speed_mm_min", between(1.0, 200_000.0), "mm/min"),
        pierce_s: t.number("pierce_s", between(0.0, 3600.0), "s"),
        travel: t.number("travel_mm_min", between(10.0, 500_000.0), "mm/min"),
        marking: t.number("marking_mm_min", between(10.0, 500_000.0), "mm/min"),
        drill_s: t
            .number("drill_s", between(0.0, 3600.0), "s")
            .unwrap_or(stock::DRILL_S),
        tabs: tabs(&t.table("tabs")),
    };
    t.finish();
    cutting
}

/// A lead starts this far from a corner, mm, or further: nearer, the corner
/// is washed out by the pierce. Common practice, no source.
const OFF_CORNER: f64 = 10.0;
/// Metal between a lead's cut and a part, mm. Common practice, no source: a
/// scratch of the torch's wander.
const LEAD_CLEARANCE: f64 = 1.0;
/// Length of a lead where the process is not in the table, mm.
const LEAD: f64 = 6.0;

fn leads(t: &Table<'_, '_>, usual: Option<&stock::Process>) -> Option<Leads> {
    let form = t
        .choice(
            "leads",
            &[
                ("none", None),
                ("arc", Some(LeadForm::Arc)),
                ("straight", Some(LeadForm::Straight)),
            ],
        )
        .flatten();
    let lead = between(0.5, 100.0);
    let read = Leads {
        form: form.unwrap_or(LeadForm::Arc),
        length: t.length_or("lead", lead, usual.map_or(LEAD, |p| p.lead)),
        off_corner: t.length_or("lead_off_corner", between(0.0, 500.0), OFF_CORNER),
        clearance: t.length_or("lead_clearance", between(0.0, 50.0), LEAD_CLEARANCE),
        joined: t
            .choice("lead_paths", &[("apart", false), ("joined", true)])
            .unwrap_or(false),
    };
    if form.is_none() {
        for key in ["lead", "lead_off_corner", "lead_clearance", "lead_paths"] {
            if t.gives(key) {
                t.fault(
                    Kind::Conflict,
                    key,
                    "there are no leads to set",
                    "add leads = \"arc\" or \"straight\", or take the key out",
                );
            }
        }
    }
    form.map(|_| read)
}

fn tabs(t: &Table<'_, '_>) -> Option<Tabs> {
    if !t.present() {
        return None;
    }
    let tabs = Tabs {
        below_kg: t.number("below_kg", between(0.0, 10_000.0), "kg"),
        below: t.length("below", between(0.0, 50_000.0)),
        count: t.count("count", 20).unwrap_or(2),
        // Plasma shop rule: tabs of 3 to 5 mm (common practice, no source).
        width: t.length_or("width", between(0.5, 50.0), 4.0),
    };
    if tabs.below_kg.is_none() && tabs.below.is_none() {
        t.missing(
            "below_kg",
            "say which parts are held: add below_kg = 2, or below = \"200 mm\"",
        );
    }
    t.finish();
    Some(tabs)
}

pub(super) fn remnants(t: &Table<'_, '_>) -> Remnants {
    let usual = Remnants::default();
    let remnants = Remnants {
        least: t.length_or("least", between(20.0, 50_000.0), usual.least),
        narrowest: t.length_or("narrowest", between(1.0, 10_000.0), usual.narrowest),
    };
    t.finish();
    remnants
}

#[derive(Clone, Copy)]
enum Turn {
    Free,
    Steps,
    Within,
}

fn rotation(t: &Table<'_, '_>) -> Rotation {
    let turn = t
        .choice(
            "rotation",
            &[
                ("free", Turn::Free),
                ("steps", Turn::Steps),
                ("within", Turn::Within),
            ],
        )
        .unwrap_or(Turn::Free);
    // Steps below a degree are free rotation at a cost; 180 is end for end.
    let least = if matches!(turn, Turn::Steps) {
        1.0
    } else {
        0.0
    };
    let angle = t.number("angle_deg", between(least, 180.0), "degrees");
    match turn {
        Turn::Free if t.gives("angle_deg") => t.fault(
            Kind::Conflict,
            "angle_deg",
            "free rotation has no angle",
            "take the key out, or set rotation = \"steps\" or \"within\"",
        ),
        Turn::Steps | Turn::Within if !t.gives("angle_deg") => {
            t.missing(
                "angle_deg",
                "add angle_deg, such as 90 for steps or 5 for within",
            );
        }
        _ => {}
    }
    let angle = angle.unwrap_or_default().to_radians();
    match turn {
        Turn::Free => Rotation::Free,
        Turn::Steps => Rotation::Steps(angle),
        Turn::Within => Rotation::Within(angle),
    }
}
