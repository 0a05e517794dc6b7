//! Checks of a part's bend by a person with a template.

use super::detailed::Part;
use crate::develop::BendLine;
use crate::geom::Vec2;
use crate::length::{FOOT, Show};

/// Distance between a person's checks, and the chord of the template: 300 mm,
/// or a foot. Shorter and the hollow is too small to see, longer and twist
/// between checks is missed. Common practice, no source.
#[must_use]
pub fn check_step(show: Show) -> f64 {
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

/// A person's check of a part's bend.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BendCheck {
    /// Along the outboard edge, mm.
    pub along: f64,
    /// Outboard and inboard ends of the line across, part coordinates.
    pub ends: [Vec2; 2],
    /// Curvature there, 1/mm, 0 where the plate is straight: positive bends it
    /// towards its upper face.
    pub bend: f64,
    /// Twist since the check before, rad.
    pub twist: f64,
}

/// Checks of a part, a step apart, mm, the last at its end.
#[must_use]
pub fn bend_checks(part: &Part, step: f64) -> Vec<BendCheck> {
    let (Some(first), Some(last)) = (part.bends.first(), part.bends.last()) else {
        return Vec::new();
    };
    let mut out = Vec::new();
    let mut before = first.along;
    for k in 0..=MOST_CHECKS {
        let along = (first.along + step * f64::from(k)).min(last.along);
        let bend = curvature_at(&part.bends, along);
        out.push(BendCheck {
            along,
            ends: ends_at(&part.bends, along),
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
#[must_use]
pub fn hollow(k: f64, chord: f64) -> f64 {
    let half = chord / 2.0;
    let sine = (k * half).min(1.0);
    k * half * half / (1.0 + (1.0 - sine * sine).sqrt())
}

/// Ends of the line across at a distance, straight between rows.
fn ends_at(bends: &[BendLine], along: f64) -> [Vec2; 2] {
    let ends = |b: &BendLine| [b.places[0], b.places[4]];
    for pair in bends.windows(2) {
        let (a, b) = (&pair[0], &pair[1]);
        if along <= b.along && b.along > a.along {
            let f = ((along - a.along) / (b.along - a.along)).clamp(0.0, 1.0);
            let (from, to) = (ends(a), ends(b));
            return [from[0].lerp(to[0], f), from[1].lerp(to[1], f)];
        }
    }
    bends.last().map_or([Vec2::default(); 2], ends)
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
