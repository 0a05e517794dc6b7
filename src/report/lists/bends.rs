//! Bend schedules: for machines, and for a person with a template.

use super::super::input::Input;
use super::super::table::Table;
use crate::fault::Fault;
use crate::length::Show;
use crate::part::{Part, bend_checks as checks, check_step, hollow};
use crate::quantity::Quantity::{Fine, Length, Plain, Tape};

/// `bends.csv`, the bend schedule for machines, of all parts: millimetres to four
/// decimals, rates and stretch to ten, which is six figures and more wherever a
/// bend can be felt.
///
/// # Errors
/// The table could not be written.
pub fn bend_schedule(parts: &[&Part]) -> Result<(String, String), Fault> {
    const ACROSS: [&str; 5] = ["outboard", "quarter", "middle", "three_quarters", "inboard"];
    let rows = (parts.iter()).flat_map(|p| p.bends.iter().map(move |b| (*p, b)));
    let place = Plain("mm", 4);
    let mut table = Table::for_machines(rows)
        .text("part", |(p, _)| &p.name)
        .column("along", place, |(_, b)| b.along);
    for (k, name) in ACROSS.into_iter().enumerate() {
        table = table
            .column(format!("{name}_x"), place, |(_, b)| b.places[k].x)
            .column(format!("{name}_y"), place, |(_, b)| b.places[k].y);
    }
    let degrees = |rad: f64| rad.to_degrees() * 1000.0;
    table
        .column("curvature", Plain("per_m", 10), |(_, b)| {
            b.curvature * 1000.0
        })
        .column("twist", Plain("deg_per_m", 10), |(_, b)| degrees(b.twist))
        .column("turn", Plain("deg_per_m", 10), |(_, b)| degrees(b.turn))
        .column("stretch", Plain("mm_per_m", 10), |(_, b)| {
            b.stretch * 1000.0
        })
        .column("shift_along", Plain("mm", 6), |(_, b)| b.shift.x)
        .column("shift_across", Plain("mm", 6), |(_, b)| b.shift.y)
        .to_csv("bends.csv")
}

/// Checks for a person: the hollow under a straight template, the radius, and
/// the twist since the check before.
pub(super) fn bend_checks(input: &Input<'_>) -> Result<(String, String), Fault> {
    let show = input.job.show;
    let step = check_step(show);
    let chord = match show {
        Show::Mm => "hollow_over_300_mm",
        Show::FeetInches => "hollow_over_12_in",
    };
    let of = |p| checks(p, step);
    let rows = (input.parts.iter()).flat_map(|p| of(p).into_iter().map(|c| (p.name.as_str(), c)));
    Table::of(input.job, rows)
        .text("part", |(part, _)| part)
        .column("along_outboard_edge", Tape, |(_, c)| c.along)
        .column(chord, Fine, |(_, c)| hollow(c.bend.abs(), step))
        .text("bends_towards", |(_, c)| match c.bend {
            b if b > 0.0 => "upper face",
            b if b < 0.0 => "lower face",
            _ => "straight",
        })
        .column("radius", Length, |(_, c)| {
            (c.bend != 0.0).then(|| 1.0 / c.bend.abs())
        })
        .column("twist_since_last_check", Plain("deg", 3), |(_, c)| {
            c.twist.to_degrees()
        })
        .to_csv("bend-checks.csv")
}
