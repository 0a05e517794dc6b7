//! The parts of the bulwark: plates, timber, stanchions, joints and what they must
//! leave clear.

use super::bulwark::*;
use super::lists::each_once;
use super::table::Table;
use crate::fault::Kind;

/// The check of the tacked line.
pub(super) fn tacked(t: &Table<'_, '_>) -> Check {
    Check {
        limit: t.figure("limit"),
        accuracy: t.maybe("accuracy"),
        fixed: t.texts("fixed").unwrap_or_default(),
        place: t.place("fixed"),
    }
}

pub(super) fn bulwark(t: &Table<'_, '_>) -> Bulwark {
    Bulwark {
        height: t.figure("height"),
        height_from: t.chosen("from"),
        height_to: t.chosen("to"),
        lean: t.figure("lean_deg"),
    }
}

fn plate(t: &Table<'_, '_>) -> Plate {
    Plate {
        width: t.figure("width"),
        thickness: t.figure("thickness"),
        alloy: t.alloy("alloy").unwrap_or_default(),
    }
}

/// Base plate, thickness of its bedding, and its holes.
pub(super) fn base(t: &Table<'_, '_>) -> (Plate, f64, Option<Fasteners>) {
    let holes = fasteners(&t.table("fasteners"));
    (plate(t), t.figure("bedding"), holes)
}

pub(super) fn top(t: &Table<'_, '_>) -> (Plate, TopSlope, Option<Fasteners>) {
    if t.gives("slope") && t.gives("slope_deg") {
        t.conflict(
            "slope_deg",
            "the top plate has both `slope` and `slope_deg`",
            "give one of them",
        );
    }
    let word = t.chosen("slope");
    let slope = t.maybe("slope_deg").map_or(word, TopSlope::Angle);
    (plate(t), slope, fasteners(&t.table("fasteners")))
}

/// Rows of holes; none where the job has no such table.
fn fasteners(t: &Table<'_, '_>) -> Option<Fasteners> {
    t.present().then(|| Fasteners {
        diameter: t.figure("diameter"),
        spacing: t.figure("spacing"),
        outboard_row: t.figure("outboard_row"),
        inboard_row: t.figure("inboard_row"),
        clear_of_stanchion: t.figure("clear_of_stanchion"),
        clear_of_butt: t.figure("clear_of_butt"),
    })
}

pub(super) fn section(t: &Table<'_, '_>) -> Section {
    Section {
        planking: t.figure("planking"),
        planking_inset: t.figure("planking_inset"),
        weld_setback: t.figure("weld_setback"),
        inwale: t.figure("inwale"),
        cap_width: t.figure("cap_width"),
        cap_thickness: t.figure("cap_thickness"),
        overhang_outboard: t.figure("overhang_outboard"),
        overhang_inboard: t.figure("overhang_inboard"),
    }
}

pub(super) fn stanchions(t: &Table<'_, '_>) -> Stanchions {
    let at = t.positions("at");
    if t.gives("spacing") && t.gives("at") {
        t.conflict(
            "at",
            "stanchions have both `spacing` and `at`",
            "give `spacing` for an even division, or `at` for a list of places",
        );
    } else if t.gives("at") && at.is_empty() && !t.faulty("at") {
        t.fault(
            Kind::Missing,
            "at",
            "`at` lists no place",
            "list the places, or give `spacing`",
        );
    }
    let even = Spacing::Even(t.figure("spacing"));
    Stanchions {
        side: t.figure("side"),
        wall: t.figure("wall"),
        alloy: t.alloy("alloy").unwrap_or_default(),
        spacing: if t.gives("at") { Spacing::At(at) } else { even },
        end_clearance: t.figure("end_clearance"),
        stand: t.chosen("stand"),
    }
}

pub(super) fn joints(t: &Table<'_, '_>) -> Joints {
    Joints {
        weld_gap: t.figure("weld_gap"),
        shrinkage: t.figure("shrinkage"),
        clear_of_stanchion: t.figure("clear_of_stanchion"),
        stagger: t.figure("stagger"),
        longest_piece: t.maybe("longest_piece"),
        widest_piece: t.maybe("widest_piece"),
        butts: t.chosen("butts"),
        base_butts: t.positions("base_butts"),
        top_butts: t.positions("top_butts"),
        lift_length: t.maybe("lift_length"),
        lift_mass: t.maybe("lift_mass_kg"),
        lift_gap: t.figure("lift_gap"),
        closing_allowance: t.figure("closing_allowance"),
    }
}

pub(super) fn doublers(tables: &[Table<'_, '_>], base: &Plate) -> Vec<Doubler> {
    let read = |t: &Table<'_, '_>| Doubler {
        name: t.text("name").unwrap_or_default(),
        at: t.position("at"),
        length: t.figure("length"),
        width: t.figure("width"),
        thickness: t.maybe("thickness").unwrap_or(base.thickness),
        alloy: t.alloy("alloy").unwrap_or_else(|| base.alloy.clone()),
    };
    each_once(tables, read, |d| &d.name)
}

pub(super) fn keep_clear(tables: &[Table<'_, '_>]) -> Vec<KeepClear> {
    let read = |t: &Table<'_, '_>| KeepClear {
        name: t.text("name").unwrap_or_default(),
        at: t.position("at"),
        length: t.figure("length"),
    };
    each_once(tables, read, |k| &k.name)
}

/// Lengths of the edge; `what` they are, where they have no name.
pub(super) fn stretches(tables: &[Table<'_, '_>], what: &str) -> Vec<Stretch> {
    let mut count = 0;
    let read = |t: &Table<'_, '_>| {
        count += 1;
        let stretch = Stretch {
            name: t.text("name").unwrap_or_else(|| format!("{what} {count}")),
            from: t.position("from"),
            to: t.position("to"),
        };
        if stretch.from == stretch.to && !t.faulty("") {
            t.conflict(
                "to",
                format!("{what} `{}` begins and ends at one place", stretch.name),
                "give two places",
            );
        }
        stretch
    };
    each_once(tables, read, |s| &s.name)
}
