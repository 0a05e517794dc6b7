//! Nesting and cutting, what is worth keeping of a sheet, and what is written.

use std::collections::BTreeMap;

use super::keys::{LAYERS, LEAD, PARTS_APART};
use super::shop::*;
use super::table::Table;
use crate::fault::Kind;
use crate::length::{INCH, Show};
use crate::stock::{self, Process};
use crate::tolerance::Tolerance;

/// A process of the stock table; another one needs its kerf.
fn usual(t: &Table<'_, '_>, process: &str) -> Option<&'static Process> {
    let usual = stock::process(process).ok();
    if usual.is_none() {
        t.needed(
            "kerf",
            "a process that is not in the stock table needs its kerf: add kerf = \"3 mm\"",
        );
    }
    usual
}

pub(super) fn cutting(t: &Table<'_, '_>) -> Cutting {
    let process = t.text("process").unwrap_or_default();
    let usual = usual(t, &process);
    let kerf = t.maybe("kerf").or(usual.map(|p| p.kerf));
    let kerf = kerf.unwrap_or_default();
    Cutting {
        process,
        kerf,
        gap: t.maybe("gap").unwrap_or(kerf + PARTS_APART),
        edge_margin: t.figure("edge_margin"),
        rotation: rotation(t),
        effort: t.chosen("effort"),
        seed: t.count("seed").unwrap_or_default(),
        paths: t.chosen("paths"),
        leads: leads(t, usual),
        small_holes: t.chosen("small_holes"),
        smallest_hole: t.maybe("smallest_hole"),
        speed: t.maybe("speed_mm_min"),
        pierce_s: t.maybe("pierce_s"),
        travel: t.maybe("travel_mm_min"),
        marking: t.maybe("marking_mm_min"),
        drill_s: t.figure("drill_s"),
        tabs: tabs(&t.table("tabs")),
    }
}

/// The job's cutting with what a choice of stock changes; `None` where it
/// changes nothing. Another process brings its own kerf, gap, speeds and
/// smallest hole; the same process named again keeps what the job measured.
pub(super) fn changed(t: &Table<'_, '_>, job: &Cutting) -> Option<Cutting> {
    let mut c = job.clone();
    let kerf = t.maybe("kerf");
    if let Some(process) = t.text("process").filter(|p| *p != job.process) {
        let usual = usual(t, &process);
        c.process = process;
        c.kerf = kerf.or(usual.map(|p| p.kerf)).unwrap_or_default();
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

fn leads(t: &Table<'_, '_>, usual: Option<&Process>) -> Option<Leads> {
    let form = match t.chosen("leads") {
        LeadWord::None => None,
        LeadWord::Arc => Some(LeadForm::Arc),
        LeadWord::Straight => Some(LeadForm::Straight),
    };
    if form.is_none() {
        for key in ["lead", "lead_off_corner", "lead_clearance", "lead_paths"] {
            if t.gives(key) {
                t.conflict(
                    key,
                    "there are no leads to set",
                    "add leads = \"arc\" or \"straight\", or take the key out",
                );
            }
        }
    }
    let usual = usual.map_or(LEAD, |p| p.lead);
    let leads = Leads {
        form: form.unwrap_or(LeadForm::Arc),
        length: t.maybe("lead").unwrap_or(usual),
        off_corner: t.figure("lead_off_corner"),
        clearance: t.figure("lead_clearance"),
        joined: t.chosen::<LeadPaths>("lead_paths") == LeadPaths::Joined,
    };
    form.map(|_| leads)
}

fn tabs(t: &Table<'_, '_>) -> Option<Tabs> {
    if !t.present() {
        return None;
    }
    if !t.gives("below") {
        t.needed(
            "below_kg",
            "say which parts are held: add below_kg = 2, or below = \"200 mm\"",
        );
    }
    Some(Tabs {
        below_kg: t.maybe("below_kg"),
        below: t.maybe("below"),
        count: t.count("count").unwrap_or_default(),
        width: t.figure("width"),
    })
}

pub(super) fn remnants(t: &Table<'_, '_>) -> Remnants {
    Remnants {
        least: t.figure("least"),
        narrowest: t.figure("narrowest"),
    }
}

fn rotation(t: &Table<'_, '_>) -> Rotation {
    let turn: Turn = t.chosen("rotation");
    let angle = t.maybe("angle_deg");
    if turn != Turn::Free {
        t.needed(
            "angle_deg",
            "add angle_deg, such as 90 for steps or 5 for within",
        );
    } else if t.gives("angle_deg") {
        t.conflict(
            "angle_deg",
            "free rotation has no angle",
            "take the key out, or set rotation = \"steps\" or \"within\"",
        );
    }
    // Steps below a degree are free rotation at a cost.
    if turn == Turn::Steps && angle.is_some_and(|a| a < 1f64.to_radians()) {
        t.fault(
            Kind::Range,
            "angle_deg",
            "the steps of `angle_deg` are below a degree",
            "write 1 to 180 degrees, or set rotation = \"free\"",
        );
    }
    let angle = angle.unwrap_or_default();
    match turn {
        Turn::Free => Rotation::Free,
        Turn::Steps => Rotation::Steps(angle),
        Turn::Within => Rotation::Within(angle),
    }
}

/// Output settings, and the outline tolerance in mm.
pub(super) fn output(t: &Table<'_, '_>, show: Show) -> (Output, f64) {
    let apart = match show {
        Show::Mm => 250.0,
        Show::FeetInches => 12.0 * INCH,
    };
    let usual = Tolerance::default().outline_mm;
    let output = Output {
        dxf: t.chosen("dxf"),
        dxf_units: t.chosen("dxf_units"),
        ordinate_spacing: t.maybe("ordinate_spacing").unwrap_or(apart),
        letter_height: t.figure("letter_height"),
        layers: layers(&t.table("layers")),
    };
    (output, t.maybe("outline_tolerance").unwrap_or(usual))
}

fn layers(t: &Table<'_, '_>) -> BTreeMap<String, LayerStyle> {
    let mut layers: BTreeMap<String, LayerStyle> = BTreeMap::new();
    for plain in LAYERS.iter().map(|key| key.name) {
        let one = t.table(plain);
        let name = one.text("name").unwrap_or_else(|| plain.to_owned());
        // Release 12 allows 31 of these characters.
        let sound = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == '-';
        if name.is_empty() || name.len() > 31 || !name.chars().all(sound) {
            one.fault(
                Kind::Range,
                "name",
                format!("`{name}` is not a layer name"),
                "use 1 to 31 letters, digits, - and _",
            );
        } else if layers.values().any(|l| l.name.eq_ignore_ascii_case(&name)) {
            one.conflict(
                "name",
                format!("two layers are named `{name}`"),
                "give each layer its own name",
            );
        }
        let colour = one.count("colour").and_then(|c| u8::try_from(c).ok());
        let colour = colour.unwrap_or_default();
        layers.insert(plain.to_owned(), LayerStyle { name, colour });
    }
    layers
}
