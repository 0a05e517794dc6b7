//! Bend schedules: for machines, and for a person with a template.

use super::{Input, List, fine, fine_unit, head, long, long_unit};
use crate::length::{Show, number};
use crate::part::{BendLine, Part};

/// Distance between a person's checks, and the chord of the template: 300 mm,
/// or a foot. Shorter and the hollow is too small to see, longer and twist
/// between checks is missed. Common practice, no source.
fn check_step(show: Show) -> f64 {
    match show {
        Show::Mm => 300.0,
        Show::FeetInches => 304.8,
    }
}

/// Curvature below which a plate is called straight, 1/mm: a hollow under
/// 0.01 mm over 300 mm.
const STRAIGHT: f64 = 1e-6;

/// The machine table: millimetres to four decimals, rates and stretch to
/// ten, which is six figures and more wherever a bend can be felt.
pub(super) fn bends(parts: &[&Part]) -> List {
    let header = head(&[
        ("part", ""),
        ("along", "mm"),
        ("outboard_x", "mm"),
        ("outboard_y", "mm"),
        ("quarter_x", "mm"),
        ("quarter_y", "mm"),
        ("middle_x", "mm"),
        ("middle_y", "mm"),
        ("three_quarters_x", "mm"),
        ("three_quarters_y", "mm"),
        ("inboard_x", "mm"),
        ("inboard_y", "mm"),
        ("curvature", "per_m"),
        ("twist", "deg_per_m"),
        ("turn", "deg_per_m"),
        ("stretch", "mm_per_m"),
        ("shift_along", "mm"),
        ("shift_across", "mm"),
    ]);
    let mut list = List::new("bends.csv", &header);
    for p in parts {
        for b in &p.bends {
            let mut row = vec![p.name.clone()];
            row.push(number(b.along, 4));
            row.extend(
                b.places
                    .iter()
                    .flat_map(|p| [p.x, p.y])
                    .map(|v| number(v, 4)),
            );
            row.push(number(b.curvature * 1000.0, 10));
            row.push(number(b.twist.to_degrees() * 1000.0, 10));
            row.push(number(b.turn.to_degrees() * 1000.0, 10));
            row.push(number(b.stretch * 1000.0, 10));
            row.extend([b.shift.x, b.shift.y].map(|v| number(v, 6)));
            list.rows.push(row);
        }
    }
    list
}

/// Checks for a person: the hollow under a straight template, the radius, and
/// the twist since the check before.
pub(super) fn bend_checks(input: &Input<'_>) -> List {
    let show = input.job.show;
    let step = check_step(show);
    let (unit, small) = (long_unit(show), fine_unit(show));
    let chord = match show {
        Show::Mm => "over_300_mm",
        Show::FeetInches => "over_12_in",
    };
    let header = head(&[
        ("part", ""),
        ("along_outboard_edge", unit),
        (&format!("hollow_{chord}"), small),
        ("bends_towards", ""),
        ("radius", unit),
        ("twist_since_last_check", "deg"),
    ]);
    let mut list = List::new("bend-checks.csv", &header);
    for p in input.parts {
        let (Some(first), Some(last)) = (p.bends.first(), p.bends.last()) else {
            continue;
        };
        let mut before = first.along;
        let mut k = 0;
        loop {
            let along = (first.along + step * f64::from(k)).min(last.along);
            let bend = curvature_at(&p.bends, along);
            let straight = bend.abs() < STRAIGHT;
            list.rows.push(vec![
                p.name.clone(),
                long(along, show),
                fine(hollow(bend.abs(), step), show),
                match (straight, bend > 0.0) {
                    (true, _) => "straight",
                    (false, true) => "upper face",
                    (false, false) => "lower face",
                }
                .to_owned(),
                if straight {
                    String::new()
                } else {
                    long(1.0 / bend.abs(), show)
                },
                number(twist_between(&p.bends, before, along).to_degrees(), 3),
            ]);
            if along >= last.along || k >= 100_000 {
                break;
            }
            before = along;
            k += 1;
        }
    }
    list
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
