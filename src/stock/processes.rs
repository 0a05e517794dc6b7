//! Ways of cutting plate: kerf, speed, pierce, travel, marking, smallest hole.

/// A way of cutting plate. Every figure varies by machine, consumables and
/// plate: measure a test cut; what stands here is only where to begin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Process {
    /// Name in a job file.
    pub name: &'static str,
    /// Kerf where the job states none, mm.
    pub kerf: f64,
    /// Cutting speed of aluminium plate by thickness: mm and mm/min, thin
    /// plate first.
    pub speeds: &'static [(f64, f64)],
    /// Time to pierce aluminium plate by thickness: mm and s.
    pub pierces: &'static [(f64, f64)],
    /// Speed between cuts, mm/min.
    pub travel: f64,
    /// Speed of a marking head, mm/min, the same in any plate.
    pub marking: f64,
    /// Usual length of a lead-in, mm.
    pub lead: f64,
    /// Smallest hole that comes out round, over the plate's thickness.
    pub hole_ratio: f64,
    /// Smallest hole in any plate, mm.
    pub hole_least: f64,
}

/// Where the speeds, pierce times, travel, marking, drilling and leads come from.
pub const SPEED_SOURCE: &str = "from memory: orders of size for a machine of middling power";

/// Cutting processes. Kerfs: shop comparisons by process, the router's from memory;
/// they vary by machine. Smallest holes: shop rules, common practice, no source; of
/// waterjet and router from memory.
pub const PROCESSES: [Process; 5] = [
    Process {
        name: "plasma",
        // 1.5 to 3.5 mm as usual.
        kerf: 3.0,
        speeds: &[
            (3.0, 6500.0),
            (6.0, 3300.0),
            (10.0, 2000.0),
            (12.0, 1500.0),
            (20.0, 700.0),
            (25.0, 450.0),
        ],
        pierces: &[(3.0, 0.2), (6.0, 0.4), (12.0, 0.8), (25.0, 2.0)],
        travel: 15_000.0,
        marking: 5000.0,
        lead: 8.0,
        hole_ratio: 1.5,
        hole_least: 5.0,
    },
    Process {
        name: "heavy-plasma",
        // 3.0 to 6.0 mm as usual.
        kerf: 4.0,
        speeds: &[
            (8.0, 4200.0),
            (12.0, 2800.0),
            (20.0, 1700.0),
            (25.0, 1200.0),
            (40.0, 600.0),
            (50.0, 400.0),
        ],
        pierces: &[(8.0, 0.4), (12.0, 0.6), (25.0, 1.2), (50.0, 3.0)],
        travel: 15_000.0,
        marking: 5000.0,
        lead: 12.0,
        hole_ratio: 1.5,
        hole_least: 10.0,
    },
    Process {
        name: "waterjet",
        // 0.8 to 1.2 mm as usual.
        kerf: 1.0,
        speeds: &[
            (3.0, 1200.0),
            (6.0, 550.0),
            (10.0, 310.0),
            (12.0, 250.0),
            (20.0, 140.0),
            (25.0, 105.0),
            (50.0, 45.0),
        ],
        pierces: &[(3.0, 3.0), (6.0, 6.0), (12.0, 15.0), (25.0, 40.0)],
        travel: 10_000.0,
        marking: 3000.0,
        lead: 4.0,
        hole_ratio: 0.25,
        hole_least: 3.0,
    },
    Process {
        name: "laser",
        // 0.1 to 0.3 mm as usual.
        kerf: 0.2,
        speeds: &[
            (1.0, 30_000.0),
            (3.0, 9000.0),
            (6.0, 3500.0),
            (10.0, 1500.0),
            (12.0, 1000.0),
            (20.0, 300.0),
        ],
        pierces: &[(1.0, 0.1), (3.0, 0.3), (6.0, 1.0), (12.0, 3.0), (20.0, 8.0)],
        travel: 60_000.0,
        marking: 10_000.0,
        lead: 3.0,
        hole_ratio: 1.0,
        hole_least: 1.0,
    },
    // The kerf of a router is its cutter; speed counts all passes together.
    Process {
        name: "router",
        // 3.0 to 12.7 mm as usual.
        kerf: 6.35,
        speeds: &[(3.0, 2000.0), (6.0, 1200.0), (12.0, 500.0), (20.0, 300.0)],
        pierces: &[(3.0, 3.0), (12.0, 8.0), (25.0, 16.0)],
        travel: 10_000.0,
        marking: 3000.0,
        lead: 6.0,
        hole_ratio: 0.0,
        hole_least: 7.0,
    },
];

impl Process {
    /// Cutting speed in plate of a thickness, mm/min: straight between listed
    /// thicknesses, in inverse proportion to the thickness beyond them.
    #[must_use]
    pub fn speed(&self, thickness: f64) -> f64 {
        listed(self.speeds, thickness, |v, from| v * from / thickness)
    }

    /// Time of a pierce, s: straight between listed thicknesses, in proportion
    /// to the thickness beyond them.
    #[must_use]
    pub fn pierce(&self, thickness: f64) -> f64 {
        listed(self.pierces, thickness, |v, from| v * thickness / from)
    }

    /// Smallest hole that is cut, mm of diameter; smaller ones are drilled.
    #[must_use]
    pub fn smallest_hole(&self, thickness: f64) -> f64 {
        self.hole_least.max(self.hole_ratio * thickness)
    }
}

/// A listed figure at a thickness; `beyond` carries an end row on.
fn listed(rows: &[(f64, f64)], at: f64, beyond: impl Fn(f64, f64) -> f64) -> f64 {
    let above = rows.partition_point(|r| r.0 < at);
    match (
        above.checked_sub(1).and_then(|i| rows.get(i)),
        rows.get(above),
    ) {
        (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (at - a.0) / (b.0 - a.0),
        (Some(end), None) | (None, Some(end)) => beyond(end.1, end.0),
        (None, None) => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_runs_from_thin_and_fast_to_thick_and_slow() {
        for p in &PROCESSES {
            for w in p.speeds.windows(2) {
                assert!(w[0].0 < w[1].0 && w[0].1 > w[1].1, "{}", p.name);
            }
            for w in p.pierces.windows(2) {
                assert!(w[0].0 < w[1].0 && w[0].1 < w[1].1, "{}", p.name);
            }
            assert!(p.smallest_hole(12.7) > p.kerf, "{}", p.name);
            assert!(p.marking > 0.0 && p.marking < p.travel, "{}", p.name);
        }
    }

    #[test]
    fn figures_between_and_beyond_the_rows() {
        let p = PROCESSES[0];
        assert!((p.speed(6.0) - 3300.0).abs() < 1e-9);
        assert!((p.speed(8.0) - 2650.0).abs() < 1e-9);
        assert!((p.speed(50.0) - 225.0).abs() < 1e-9);
        assert!((p.speed(1.5) - 13_000.0).abs() < 1e-9);
        assert!((p.pierce(9.0) - 0.6).abs() < 1e-12);
        assert!((p.pierce(50.0) - 4.0).abs() < 1e-12);
        // Plasma shop rule: hole >= 1.5 t (common practice, no source).
        assert!((p.smallest_hole(12.7) - 19.05).abs() < 1e-12);
        assert!((p.smallest_hole(2.0) - 5.0).abs() < 1e-12);
    }
}
