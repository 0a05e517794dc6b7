//! Bend schedules: for machines, and for a person with a template.

use super::super::input::Input;
use super::super::table::Table;
use crate::fault::Fault;
use crate::length::{FOOT, Show};
use crate::part::{BendLine, Part};
use crate::quantity::Quantity::{Fine, Length, Plain, Tape};

/// Distance between a person's checks, and the chord of the template: 300 mm,
/// or a foot. Shorter and the hollow is too small to see, longer and twist
/// between checks is missed. Common practice, no source.
fn check_step(show: Show) -> f64 {
    match show {
        Show::Mm => 300.0,
        Show::FeetInches => FOOT,
    }
}

/// Curvature below which a plate is called straight, 1/mm: a hollow under
/// 0.01 mm over 300 mm.
const STRAIGHT: f64 = 1e-6;

/// Most checks of a part: 30 km of plate.
const MOST_CHECKS: u32 = 100_000;

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

/// A person's check of a part's bend.
#[derive(Clone, Copy)]
struct Check<'a> {
    part: &'a str,
    /// Along the outboard edge, mm.
    along: f64,
    /// Curvature there, 1/mm, 0 where the plate is straight.
    bend: f64,
    /// Since the check before, rad.
    twist: f64,
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
    Table::of(input.job, input.parts.iter().flat_map(|p| checks(p, step)))
        .text("part", |c| c.part)
        .column("along_outboard_edge", Tape, |c| c.along)
        .column(chord, Fine, |c| hollow(c.bend.abs(), step))
        .text("bends_towards", |c| match c.bend {
            b if b > 0.0 => "upper face",
            b if b < 0.0 => "lower face",
            _ => "straight",
        })
        .column("radius", Length, |c| {
            (c.bend != 0.0).then(|| 1.0 / c.bend.abs())
        })
        .column("twist_since_last_check", Plain("deg", 3), |c| {
            c.twist.to_degrees()
        })
        .to_csv("bend-checks.csv")
}

/// Checks of a part, a step apart, the last at its end.
fn checks(part: &Part, step: f64) -> Vec<Check<'_>> {
    let (Some(first), Some(last)) = (part.bends.first(), part.bends.last()) else {
        return Vec::new();
    };
    let mut out = Vec::new();
    let mut before = first.along;
    for k in 0..=MOST_CHECKS {
        let along = (first.along + step * f64::from(k)).min(last.along);
        let bend = curvature_at(&part.bends, along);
        out.push(Check {
            part: &part.name,
            along,
            bend: if bend.abs() < STRAIGHT { 0.0 } else { bend },
            twist: twist_between(&part.bends, before, along),
        });
        if along >= last.along {
            break;
        }
        before = along;
    }
    out
}

/// Hollow of an arc of curvature `k` (1/mm) over a chord, mm:
/// R - sqrt(R^2 - (c/2)^2), written so that it holds for a straight plate.
fn hollow(k: f64, chord: f64) -> f64 {
    let half = chord / 2.0;
    let sine = (k * half).min(1.0);
    k * half * half / (1.0 + (1.0 - sine * sine).sqrt())
}

/// Curvature at a distance, straight between rows, 1/mm.
fn curvature_at(bends: &[BendLine], along: f64) -> f64 {
    for pair in bends.windows(2) {
        let (a, b) = (&pair[0], &pair[1]);
        if along <= b.along && b.along > a.along {
            let f = ((along - a.along) / (b.along - a.along)).clamp(0.0, 1.0);
            return a.curvature + (b.curvature - a.curvature) * f;
        }
    }
    bends.last().map_or(0.0, |b| b.curvature)
}

/// Twist between two distances, rad: the rate summed, straight between rows.
fn twist_between(bends: &[BendLine], from: f64, to: f64) -> f64 {
    bends
        .windows(2)
        .map(|pair| {
            let (a, b) = (&pair[0], &pair[1]);
            let (lo, hi) = (from.max(a.along), to.min(b.along));
            if hi <= lo {
                return 0.0;
            }
            let middle = ((lo + hi) / 2.0 - a.along) / (b.along - a.along);
            (a.twist + (b.twist - a.twist) * middle) * (hi - lo)
        })
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Vec2;

    fn line(along: f64, curvature: f64, twist: f64) -> BendLine {
        BendLine {
            along,
            places: [Vec2::default(); 5],
            shift: Vec2::default(),
            curvature,
            twist,
            turn: 0.0,
            stretch: 0.0,
        }
    }

    #[test]
    fn the_hollow_is_that_of_a_circle() {
        // R 500, chord 600: 500 - 400.
        assert!((hollow(1.0 / 500.0, 600.0) - 100.0).abs() < 1e-9);
        assert!((hollow(0.0, 600.0)).abs() < 1e-15);
        // Small: k c^2 / 8.
        assert!((hollow(1e-5, 300.0) - 0.1125).abs() < 1e-6);
    }

    #[test]
    fn twist_is_the_integral_of_its_rate() {
        // Rate rising evenly from 0 to 2e-4 over 100 mm: t^2 1e-6.
        let rows = [
            line(0.0, 0.0, 0.0),
            line(50.0, 0.0, 1e-4),
            line(100.0, 0.0, 2e-4),
        ];
        for (from, to) in [(0.0, 100.0), (20.0, 70.0), (50.0, 50.0)] {
            let want = 1e-6 * (to * to - from * from);
            assert!((twist_between(&rows, from, to) - want).abs() < 1e-15);
        }
        let bent = [line(0.0, 1e-4, 0.0), line(50.0, 3e-4, 0.0)];
        assert!((curvature_at(&bent, 25.0) - 2e-4).abs() < 1e-18);
        assert!((curvature_at(&bent, 80.0) - 3e-4).abs() < 1e-18);
    }
}
