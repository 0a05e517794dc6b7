//! The smoothing machinery against SciPy and NumPy: figures stored by
//! `tests/outside/smoothing_reference.py`, which also checks them.

use super::super::smooth::{Operator, Problem, third_derivative};
use super::*;
use crate::geom::bspline::Spline;
use crate::geom::bspline::{Basis, Near, ORDER};

#[derive(serde::Deserialize)]
struct Reference {
    x: Vec<f64>,
    y: Vec<f64>,
    at: Vec<f64>,
    cases: Vec<Case>,
}

#[derive(serde::Deserialize)]
struct Case {
    kind: String,
    lambda: f64,
    values: Vec<f64>,
}

/// The cubic form, kept for this check only: its penalty is the second derivative.
fn second_derivative(_t: f64, near: &Near<4>) -> ([[[f64; 1]; 1]; ORDER], [f64; 1]) {
    let mut op = [[[0.0]; 1]; ORDER];
    for (block, d) in op.iter_mut().zip(&near.ders[2]) {
        block[0][0] = *d;
    }
    (op, [0.0])
}

#[test]
fn cubic_and_quintic_forms_equal_independent_ones_to_1e_8_of_the_range() {
    let text = include_str!("../../../fixtures/smoothing/reference.json");
    let r: Reference = serde_json::from_str(text).expect("the stored figures");
    let values: Vec<[f64; 1]> = r.y.iter().map(|y| [*y]).collect();
    let range =
        r.y.iter().copied().fold(f64::MIN, f64::max) - r.y.iter().copied().fold(f64::MAX, f64::min);
    let one = vec![1.0; r.x.len()];
    assert_eq!(r.cases.len(), 6);
    for case in &r.cases {
        let (basis, operator): (Basis, &Operator<'_, 1>) = match case.kind.as_str() {
            // The least over all functions is a natural spline with knots at
            // the points, which is among the splines with knots there.
            "cubic" => (Basis::clamped(3, &r.x), &second_derivative),
            _ => (
                knots::basis(&r.x, true, [false; 2]).expect("a basis"),
                &third_derivative,
            ),
        };
        let problem = Problem::new(basis.clone(), &r.x, &values, &one, [None; 2], operator);
        let solved = problem.solve_at(&problem.data(), case.lambda);
        let curve = Spline {
            basis,
            coefficients: solved.expect("solvable").coefficients,
        };
        let off =
            r.at.iter()
                .zip(&case.values)
                .fold(0.0, |m: f64, (t, v)| m.max((curve.at(*t)[0] - v).abs()));
        println!(
            "{} {}: {:.1e} of the range",
            case.kind,
            case.lambda,
            off / range
        );
        assert!(off <= 1e-8 * range, "{} {}: {off}", case.kind, case.lambda);
    }
}
