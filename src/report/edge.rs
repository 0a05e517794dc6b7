//! The faired edge as a table, dense and at full precision: enough for
//! another program to build the members in space again.

use super::csv_text;
use crate::fault::Fault;
use crate::geom::{Vec2, Vec3};

/// Furthest that rows may lie apart along the base line, mm.
pub const ROW_STEP: f64 = 50.0;

/// A place on the faired edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgeRow {
    /// Index of the chain.
    pub chain: usize,
    /// Index of the smooth length of the chain, between knuckles.
    pub length: usize,
    /// Distance along the chain's base line in plan, mm.
    pub t: f64,
    /// Surveyed line, faired, mm.
    pub base: Vec3,
    /// Rise of the covering board inboard per unit, square to the edge.
    pub slope: f64,
    /// Unit vector in plan, square to the edge, inboard.
    pub inboard: Vec2,
    /// Outboard edge of the top plate's upper face, square to the base at t, mm.
    pub top: Vec3,
    /// Curvature in plan, 1/mm, positive where the edge turns left.
    pub plan_curvature: f64,
    /// Curvature of the height over the length along the edge in plan, 1/mm,
    /// positive where the sheer is hollow.
    pub profile_curvature: f64,
}

/// `faired-edge.csv`: numbers with thirteen significant digits.
///
/// # Errors
/// The table could not be written.
pub fn faired_edge(rows: &[EdgeRow]) -> Result<String, Fault> {
    let header: Vec<String> = [
        "chain",
        "length",
        "t_mm",
        "x_mm",
        "y_mm",
        "z_mm",
        "slope",
        "inboard_x",
        "inboard_y",
        "top_x_mm",
        "top_y_mm",
        "top_z_mm",
        "plan_curvature_per_m",
        "profile_curvature_per_m",
    ]
    .map(str::to_owned)
    .to_vec();
    let lines: Vec<Vec<String>> = rows
        .iter()
        .map(|r| {
            let mut line = vec![r.chain.to_string(), r.length.to_string()];
            line.extend(
                [
                    r.t,
                    r.base.x,
                    r.base.y,
                    r.base.z,
                    r.slope,
                    r.inboard.x,
                    r.inboard.y,
                    r.top.x,
                    r.top.y,
                    r.top.z,
                    r.plan_curvature * 1000.0,
                    r.profile_curvature * 1000.0,
                ]
                .map(digits),
            );
            line
        })
        .collect();
    csv_text("faired-edge.csv", &header, &lines)
}

/// Thirteen significant digits, without an exponent where it reads well.
fn digits(value: f64) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    let size = value.abs();
    if (1e-4..1e9).contains(&size) {
        let mut decimals = 12;
        let mut bound = 10.0;
        while size >= bound && decimals > 0 {
            bound *= 10.0;
            decimals -= 1;
        }
        let mut small = 1.0;
        while size < small {
            small /= 10.0;
            decimals += 1;
        }
        format!("{value:.decimals$}")
    } else {
        format!("{value:.12e}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{vec2, vec3};

    #[test]
    fn thirteen_digits_whatever_the_size() {
        assert_eq!(digits(12_345.678_901_234_5), "12345.67890123");
        assert_eq!(digits(-0.001_234_567_890_123), "-0.001234567890123");
        assert_eq!(digits(0.0), "0");
        assert_eq!(digits(1.0), "1.000000000000");
        assert_eq!(digits(3.25e-7), "3.250000000000e-7");
    }

    #[test]
    fn rows_read_back_to_what_was_given() {
        let row = EdgeRow {
            chain: 1,
            length: 0,
            t: 1234.5678,
            base: vec3(-1.0 / 3.0, 2000.0 / 7.0, 900.0),
            slope: 0.0371,
            inboard: vec2(-0.6, 0.8),
            top: vec3(1.0, 2.0, 1600.0 / 3.0),
            plan_curvature: 1.0 / 7345.6,
            profile_curvature: -2.5e-9,
        };
        let text = faired_edge(&[row]).unwrap();
        let line: Vec<f64> = text
            .lines()
            .nth(1)
            .unwrap()
            .split(',')
            .map(|v| v.parse().unwrap())
            .collect();
        let want = [
            1.0,
            0.0,
            row.t,
            row.base.x,
            row.base.y,
            row.base.z,
            row.slope,
            -0.6,
            0.8,
            1.0,
            2.0,
            row.top.z,
            1000.0 / 7345.6,
            -2.5e-6,
        ];
        assert_eq!(line.len(), want.len());
        for (got, want) in line.iter().zip(want) {
            assert!((got - want).abs() <= 1e-12 * want.abs(), "{got} {want}");
        }
    }
}
