//! The walk against what it must equal, and slips against their words. What the whole finds
//! is tested in `tests/doubts`.

use super::slip::{Figure, explain};
use super::walk::{Path, walk};
use crate::length::{INCH, Unit, parse_cell};

/// Values of a parabola with errors and a slip at the eighth.
fn values() -> Vec<[f64; 1]> {
    let value = |i: u32| {
        let t = f64::from(i);
        let slip = if i == 7 { 25.4 } else { 0.0 };
        [1000.0 + 30.0 * t - 2.0 * t * t + slip + f64::from(i * i % 7) * 0.4]
    };
    (0..20).map(value).collect()
}

/// What the neighbours say of a point does not change when the point itself is left out:
/// the residual of leaving one out is exact.
#[test]
fn the_neighbours_word_does_not_ask_the_point() {
    let values = values();
    let steps: Vec<f64> = (0..19_u32).map(|i| 0.5 + f64::from(i % 3) * 0.4).collect();
    let rough = vec![1.0; 19];
    for rho in [1e-4, 1.0, 1e4] {
        let left_out = |out: &[bool]| {
            let path = Path {
                steps: &steps,
                rough: &rough,
                values: &values,
                out,
                corner: None,
            };
            walk(&path, rho).1
        };
        let all = left_out(&[false; 20]);
        for i in [0, 1, 7, 12, 19] {
            let mut out = [false; 20];
            out[i] = true;
            let without = left_out(&out);
            let scale = 1e-3 * all[i].variance.sqrt() + 1e-3 * all[i].residual[0].abs();
            assert!(
                (all[i].residual[0] - without[i].residual[0]).abs() < scale,
                "{rho} {i}"
            );
            assert!(
                (all[i].variance / without[i].variance - 1.0).abs() < 1e-2,
                "{rho} {i}"
            );
        }
    }
}

/// A parabola is followed whatever the roughness; a value off it shows in full.
#[test]
fn a_value_off_a_parabola_rests_by_what_it_is_off() {
    let values: Vec<[f64; 1]> = (0..12)
        .map(|i| {
            let t = f64::from(i);
            [5.0 - t + 0.25 * t * t + if i == 5 { 3.0 } else { 0.0 }]
        })
        .collect();
    let path = Path {
        steps: &[1.0; 11],
        rough: &[1.0; 11],
        values: &values,
        out: &[false; 12],
        corner: None,
    };
    for rho in [1e-9, 1e-2, 1e3] {
        let (_, left_out) = walk(&path, rho);
        assert!(
            (left_out[5].residual[0] - 3.0).abs() < 1e-4,
            "{rho}: {:?}",
            left_out[5]
        );
    }
}

#[track_caller]
fn check(booked: &str, meant: &str, unit: Unit, words: &str) {
    let mm = |text: &str| parse_cell(text, unit).unwrap();
    let figure = Figure {
        booked: mm(booked),
        likely: mm(meant) + 0.4,
        range: [f64::NEG_INFINITY, f64::INFINITY],
        within: 3.0,
        near: [None; 2],
    };
    let slip = explain(&figure, unit).unwrap();
    assert_eq!(slip.words, words, "{booked} for {meant}");
    assert!((slip.meant - mm(meant)).abs() < 0.01, "{slip:?}");
}

#[test]
fn slips_are_named() {
    let fie = Unit::FeetInchesEighths;
    check("5-3-4", "4-3-4", fie, "a foot too much");
    check("5-3-4", "5-4-4", fie, "an inch too little");
    check("5-3-4", "5-0-4", fie, "3 inches too much");
    check("5-3-4", "3-5-4", fie, "the digits 5 and 3 swapped");
    check("5-3-4", "0-5-3", fie, "inches booked as feet");
    check("0-5-3", "5-3-0", fie, "feet booked as inches");
    check("5-3-7", "5-3-2", fie, "a 7 misread for a 2");
    check("1612.5", "1162.5", Unit::Mm, "the digits 6 and 1 swapped");
    check(
        "1612.5",
        "161.25",
        Unit::Mm,
        "the decimal point in the wrong place",
    );
    check("1612.5", "1512.5", Unit::Mm, "100 mm too much");
    check("-412", "412", Unit::Mm, "the sign is wrong");
}

#[test]
fn a_row_booked_again_is_named_and_nothing_is_made_up() {
    let figure = Figure {
        booked: 17.3 * INCH,
        likely: 19.45 * INCH,
        range: [f64::NEG_INFINITY, f64::INFINITY],
        within: 0.1,
        near: [Some(17.3 * INCH), Some(21.0 * INCH)],
    };
    let slip = explain(&figure, Unit::Mm).unwrap();
    assert_eq!(slip.words, "the figure of the row before booked here");
    let near = [Some(17.0), Some(21.0)];
    assert_eq!(explain(&Figure { near, ..figure }, Unit::Mm), None);
}
