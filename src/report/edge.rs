//! The faired edge as a table, dense and at full precision: enough for
//! another program to build the members in space again.

use super::table::Table;
use crate::fair::EdgePlace;
use crate::fault::Fault;
use crate::quantity::Quantity::Exact;

/// `faired-edge.csv`: numbers with thirteen significant digits.
///
/// # Errors
/// The table could not be written.
pub fn faired_edge(places: &[EdgePlace]) -> Result<(String, String), Fault> {
    Table::for_machines(places)
        .count("chain", |p| p.chain)
        .count("length", |p| p.length)
        .column("t", Exact("mm"), |p| p.t)
        .place("", Exact("mm"), |p| Some(p.base))
        .column("slope", Exact(""), |p| p.slope)
        .column("inboard_x", Exact(""), |p| p.inboard.x)
        .column("inboard_y", Exact(""), |p| p.inboard.y)
        .place("top_", Exact("mm"), |p| Some(p.top))
        .column("plan_curvature", Exact("per_m"), |p| {
            p.plan_curvature * 1000.0
        })
        .column("profile_curvature", Exact("per_m"), |p| {
            p.profile_curvature * 1000.0
        })
        .to_csv("faired-edge.csv")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{vec2, vec3};

    #[test]
    fn rows_read_back_to_what_was_given() {
        let row = EdgePlace {
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
        let (_, text) = faired_edge(&[row]).unwrap();
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
