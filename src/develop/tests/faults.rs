//! Strips that cannot be flattened.

use super::super::shapes::{Shape, cone, plane};
use super::super::{Error, Options, develop};
use crate::geom::patch::Jet;
use crate::geom::{trig, vec3};

fn refused(shape: &Shape) -> Error {
    develop(shape, &Options::default()).expect_err("a strip that cannot be flattened")
}

#[test]
fn a_strip_without_width_names_its_place() {
    assert!(matches!(
        refused(&plane(1000.0, 0.0)),
        Error::Degenerate { .. }
    ));
    // Width runs out half way.
    let pinched = Shape::new(0.0, 1000.0, |t, w| {
        let width = (500.0 - t).max(0.0);
        Jet {
            point: vec3(t, w * width, 0.0),
            along: vec3(1.0, if t < 500.0 { -w } else { 0.0 }, 0.0),
            across: vec3(0.0, width, 0.0),
        }
    });
    let t = refused(&pinched).t().expect("a place");
    assert!((400.0..600.0).contains(&t), "{t}");
    // A strip folded along a line, like a sheet over a table's edge.
    let creased = Shape::new(0.0, 1000.0, |t, w| {
        let down = if t > 300.0 { -1.0 } else { 0.0 };
        Jet {
            point: vec3(t, w * 100.0, down * (t - 300.0)),
            along: vec3(1.0, 0.0, down),
            across: vec3(0.0, 100.0, 0.0),
        }
    });
    let error = refused(&creased);
    assert!(matches!(error, Error::Creased { .. }), "{error}");
    let t = error.t().expect("a place");
    assert!((299.0..301.0).contains(&t), "{t}");
}

#[test]
fn numbers_that_are_not_finite_name_their_place() {
    for bad in [f64::NAN, f64::INFINITY] {
        let shape = Shape::new(0.0, 1000.0, move |t, w| Jet {
            point: vec3(t, w * 100.0, if t > 700.0 { bad } else { 0.0 }),
            along: vec3(1.0, 0.0, 0.0),
            across: vec3(0.0, 100.0, 0.0),
        });
        let t = refused(&shape).t().expect("a place");
        assert!(t > 700.0, "{t}");
    }
    let endless = plane(1000.0, 100.0).with_ends(|_| (0.0, f64::NAN));
    assert!(matches!(refused(&endless), Error::NoLength { .. }));
    let backward = plane(1000.0, 100.0).with_ends(|_| (10.0, 10.0));
    assert!(matches!(refused(&backward), Error::NoLength { .. }));
}

#[test]
fn an_inside_edge_that_folds_names_its_place() {
    // Edge radius 150 mm, width 180: the inboard edge runs backward.
    let shape = cone(150.0, -30.0, 0.0, 1.0);
    assert!(matches!(refused(&shape), Error::Folded { .. }));
    // A straight edge that turns tightly near its middle only: heading
    // 3 atan((t - 500) / 100), radius 33 mm there.
    let heading = |t: f64| 1.5 * trig::atan((t - 500.0) / 100.0);
    let bent = Shape::new(0.0, 1000.0, move |t, w| {
        let (s, c) = (trig::sin(heading(t)), trig::cos(heading(t)));
        let x = (t - 500.0) / 100.0;
        let turn = 0.015 / (1.0 + x * x);
        let k = 1.0 - 180.0 * w * turn;
        Jet {
            point: vec3(t, 0.0, 0.0) + vec3(-s, c, 0.0) * (180.0 * w),
            along: vec3(c * k, s * k, 0.0),
            across: vec3(-s * 180.0, c * 180.0, 0.0),
        }
    });
    let error = refused(&bent);
    assert!(matches!(error, Error::Folded { .. }), "{error}");
    let t = error.t().expect("a place");
    assert!((350.0..650.0).contains(&t), "{t}");
}

#[test]
fn options_out_of_range_are_named() {
    let shape = plane(1000.0, 100.0);
    let good = Options::default();
    let bad = [
        (
            "poisson",
            Options {
                poisson: 0.5,
                ..good
            },
        ),
        (
            "poisson",
            Options {
                poisson: f64::NAN,
                ..good
            },
        ),
        (
            "modulus_mpa",
            Options {
                modulus_mpa: 0.0,
                ..good
            },
        ),
        (
            "bend_step_mm",
            Options {
                bend_step_mm: -1.0,
                ..good
            },
        ),
        (
            "bend_step_mm",
            Options {
                bend_step_mm: 1e-9,
                ..good
            },
        ),
        (
            "nodes_across",
            Options {
                nodes_across: 4,
                ..good
            },
        ),
        (
            "nodes_across",
            Options {
                nodes_across: 17,
                ..good
            },
        ),
        (
            "span_mm",
            Options {
                span_mm: f64::INFINITY,
                ..good
            },
        ),
        (
            "span_turn",
            Options {
                span_turn: 0.0,
                ..good
            },
        ),
    ];
    for (field, options) in bad {
        match develop(&shape, &options) {
            Err(Error::Option { name, .. }) => assert_eq!(name, field),
            other => panic!("{field}: {other:?}"),
        }
    }
}
