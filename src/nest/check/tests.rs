//! Nests made by hand, refused one by one; distances by closed forms.

use super::piece::{Piece, Shape};
use super::*;
use crate::geom::{Outline, Placement, Vertex, trig, vec2};
use crate::job::{Effort, Sheet};
use crate::length::Show;
use crate::nest::NestPart;

fn job(outlines: &[Outline], gap: f64) -> NestJob {
    NestJob {
        parts: outlines
            .iter()
            .enumerate()
            .map(|(i, o)| NestPart {
                name: format!("P{i}"),
                outline: o.clone(),
                holes: Vec::new(),
            })
            .collect(),
        sheets: vec![Sheet {
            name: "500 x 300".to_owned(),
            length: 500.0,
            width: 300.0,
            thickness: 12.7,
            alloy: "5086-H116".to_owned(),
            quantity: Some(1),
            price: None,
            shape: None,
            clamps: Vec::new(),
            remnant: None,
        }],
        gap,
        edge_margin: 10.0,
        rotation: Rotation::Free,
        effort: Effort::Quick,
        seed: 1,
        price_per_area: None,
        scrap_per_area: 0.0,
        slack: 0.001,
        show: Show::Mm,
    }
}

fn rectangle(w: f64, h: f64) -> Outline {
    Outline::polygon(&[vec2(0.0, 0.0), vec2(w, 0.0), vec2(w, h), vec2(0.0, h)])
}

/// Parts in order at these places, turned by these angles.
fn nest(places: &[(f64, f64, f64)]) -> Nest {
    Nest {
        sheets: vec![NestedSheet::new(
            0,
            places
                .iter()
                .enumerate()
                .map(|(part, &(x, y, turn))| Placed {
                    part,
                    placement: Placement {
                        turn,
                        shift: vec2(x, y),
                    },
                })
                .collect(),
        )],
    }
}

/// The only fault of a nest.
fn only(job: &NestJob, nest: &Nest) -> Fault {
    let mut faults = check(job, nest).expect_err("a nest that breaks a rule");
    assert_eq!(faults.len(), 1, "{faults:?}");
    faults.remove(0)
}

#[test]
fn clearances_of_a_good_nest_are_measured() {
    let job = job(&[rectangle(100.0, 50.0), rectangle(60.0, 40.0)], 6.0);
    let report = check(&job, &nest(&[(10.5, 12.0, 0.0), (117.0, 68.0, 0.0)])).expect("good");
    // Corner (110.5, 62) to corner (117, 68).
    let exact = vec2(6.5, 6.0).length();
    let found = report.part_to_part.expect("two parts");
    assert!((found.distance - exact).abs() < 1e-12);
    assert_eq!((found.part, found.other), (0, Some(1)));
    assert!((report.part_to_edge.expect("parts").distance - 10.5).abs() < 1e-12);
    assert_eq!((report.sheets, report.parts, report.pairs), (1, 2, 1));
}

#[test]
fn a_gap_short_by_a_hundredth_is_refused_and_one_within_the_slack_holds() {
    let job = job(&[rectangle(100.0, 50.0), rectangle(60.0, 40.0)], 6.0);
    let beside = |gap: f64| nest(&[(10.0, 10.0, 0.0), (110.0 + gap, 10.0, 0.0)]);
    assert_eq!(only(&job, &beside(5.99)).kind, Kind::Geometry);
    check(&job, &beside(5.9995)).expect("within the slack");
    check(&job, &beside(6.0)).expect("exact");
}

#[test]
fn a_part_outside_the_margin_is_refused_at_each_side() {
    let job = job(&[rectangle(100.0, 50.0)], 6.0);
    check(&job, &nest(&[(390.0, 240.0, 0.0)])).expect("at the margin");
    for (x, y) in [(9.99, 50.0), (50.0, 9.99), (390.01, 50.0), (50.0, 240.01)] {
        let f = only(&job, &nest(&[(x, y, 0.0)]));
        assert!(f.kind == Kind::Geometry && f.what.contains("9.99"), "{f}");
    }
}

#[test]
fn overlap_is_refused_with_and_without_a_gap() {
    for gap in [0.0, 6.0] {
        let job = job(&[rectangle(100.0, 50.0), rectangle(60.0, 40.0)], gap);
        let f = only(&job, &nest(&[(10.0, 10.0, 0.0), (50.0, 30.0, 0.0)]));
        assert_eq!(f.kind, Kind::Geometry);
        // A cross: no corner of either lies in the other.
        only(
            &job,
            &nest(&[
                (50.0, 60.0, 0.0),
                (100.0 + 20.0, 50.0, std::f64::consts::FRAC_PI_2),
            ]),
        );
    }
}

#[test]
fn without_a_gap_touching_holds_and_a_hundredth_of_overlap_does_not() {
    let job = job(&[rectangle(100.0, 50.0), rectangle(100.0, 50.0)], 0.0);
    check(&job, &nest(&[(10.0, 10.0, 0.0), (110.0, 10.0, 0.0)])).expect("touching");
    check(&job, &nest(&[(10.0, 10.0, 0.0), (110.0, 37.0, 0.0)])).expect("touching");
    only(&job, &nest(&[(10.0, 10.0, 0.0), (109.99, 10.0, 0.0)]));
    only(&job, &nest(&[(10.0, 10.0, 0.0), (109.99, 37.0, 0.0)]));
    // One exactly on the other.
    only(&job, &nest(&[(10.0, 10.0, 0.0), (10.0, 10.0, 0.0)]));
}

#[test]
fn touching_at_any_turn_is_not_taken_for_overlap_by_rounding() {
    let job = job(&[rectangle(100.0, 50.0), rectangle(100.0, 50.0)], 0.0);
    for k in 0..60 {
        let turn = 0.1 * f64::from(k);
        for off in [-1e-13, 0.0, 1e-13] {
            let by = vec2(100.0 + off, 20.0).turned(turn);
            let pair = nest(&[(230.0, 150.0, turn), (230.0 + by.x, 150.0 + by.y, turn)]);
            // Some turns reach over the margin; the pair alone is looked at.
            let faults = check(&job, &pair).err().unwrap_or_default();
            assert!(
                faults.iter().all(|f| !f.what.contains("overlap")),
                "{faults:?}"
            );
        }
    }
}

#[test]
fn a_part_inside_another_is_refused() {
    let job = job(&[rectangle(200.0, 200.0), rectangle(20.0, 20.0)], 6.0);
    let f = only(&job, &nest(&[(20.0, 20.0, 0.0), (100.0, 100.0, 0.0)]));
    assert!(f.what.contains("inside"), "{f}");
    // The other way round in the list, and a disc of two arcs around a square.
    let job = self::job(
        &[rectangle(20.0, 20.0), Outline::circle(vec2(0.0, 0.0), 90.0)],
        6.0,
    );
    let f = only(&job, &nest(&[(140.0, 140.0, 0.0), (150.0, 150.0, 0.0)]));
    assert!(f.what.contains("inside"), "{f}");
}

#[test]
fn parts_lost_doubled_or_unknown_are_refused() {
    let job = job(&[rectangle(100.0, 50.0), rectangle(60.0, 40.0)], 6.0);
    let good = nest(&[(10.0, 10.0, 0.0), (10.0, 100.0, 0.0)]);
    check(&job, &good).expect("good");
    let f = only(&job, &nest(&[(10.0, 10.0, 0.0)]));
    assert!(f.kind == Kind::Missing && f.what.contains("P1"));
    let mut doubled = good.clone();
    let again = Placed {
        part: 0,
        placement: Placement {
            turn: 0.0,
            shift: vec2(200.0, 10.0),
        },
    };
    doubled.sheets[0].placed.push(again);
    assert_eq!(only(&job, &doubled).kind, Kind::Conflict);
    let mut unknown = good.clone();
    unknown.sheets[0].placed.push(Placed { part: 7, ..again });
    assert_eq!(only(&job, &unknown).kind, Kind::Unknown);
    let mut lost = good.clone();
    lost.sheets[0].placed[1].placement.shift.x = f64::NAN;
    assert_eq!(only(&job, &lost).kind, Kind::Geometry);
}

#[test]
fn more_sheets_than_there_are_and_unknown_sheets_are_refused() {
    let job = job(&[rectangle(100.0, 50.0), rectangle(60.0, 40.0)], 6.0);
    let mut two = nest(&[(10.0, 10.0, 0.0), (10.0, 100.0, 0.0)]);
    let second = two.sheets[0].placed.pop().expect("two parts");
    two.sheets.push(NestedSheet::new(0, vec![second]));
    assert_eq!(only(&job, &two).kind, Kind::Stock);
    two.sheets[1].stock = 3;
    assert_eq!(only(&job, &two).kind, Kind::Unknown);
}

#[test]
fn turns_that_the_job_does_not_allow_are_refused() {
    let mut job = job(&[rectangle(100.0, 50.0)], 6.0);
    let degrees = |d: f64| nest(&[(200.0, 150.0, d.to_radians())]);
    job.rotation = Rotation::Steps(90f64.to_radians());
    for d in [0.0, 90.0, 180.0, 270.0, -90.0] {
        check(&job, &degrees(d)).expect("a whole step");
    }
    only(&job, &degrees(89.9999));
    job.rotation = Rotation::Within(5f64.to_radians());
    for d in [0.0, 5.0, -5.0, 175.0, 185.0, 180.0] {
        check(&job, &degrees(d)).expect("within the limit");
    }
    only(&job, &degrees(5.001));
    only(&job, &degrees(90.0));
}

#[test]
fn arcs_are_measured_as_arcs() {
    // A disc of radius 40 beside a rectangle: the disc's ends (left and
    // right) are far from it, its bulge 5.99 mm.
    let job = job(
        &[Outline::circle(vec2(0.0, 0.0), 40.0), rectangle(60.0, 40.0)],
        6.0,
    );
    let f = only(&job, &nest(&[(100.0, 100.0, 0.0), (80.0, 145.99, 0.0)]));
    assert!(f.what.contains("5.99 mm"), "{f}");
    let r = check(&job, &nest(&[(100.0, 100.0, 0.3), (80.0, 146.0, 0.0)])).expect("exact");
    assert!((r.part_to_part.expect("two").distance - 6.0).abs() < 1e-9);
    // The bulge over the margin only.
    only(&job, &nest(&[(100.0, 49.99, 0.0), (300.0, 100.0, 0.0)]));
}

#[test]
fn nested_ring_sectors_are_measured_between_their_arcs() {
    // Sectors of 40 degrees of radii 400 to 450 and 456 to 500, one centre.
    let half = 20f64.to_radians();
    let sector = |r: f64, big: f64| {
        let p = |r: f64, a: f64| vec2(r * trig::sin(a), r * trig::cos(a));
        let bulge = trig::tan(half / 2.0);
        let v = |at, bulge| Vertex { at, bulge };
        Outline {
            vertices: vec![
                v(p(r, -half), -bulge),
                v(p(r, half), 0.0),
                v(p(big, half), bulge),
                v(p(big, -half), 0.0),
            ],
        }
    };
    let job = job(&[sector(400.0, 450.0), sector(456.0, 500.0)], 6.0);
    let at = |lift: f64| nest(&[(240.0, -330.0, 0.0), (240.0, -330.0 + lift, 0.0)]);
    let r = check(&job, &at(0.0)).expect("concentric");
    assert!((r.part_to_part.expect("two").distance - 6.0).abs() < 1e-9);
    let f = only(&job, &at(-0.01));
    assert!(f.what.contains("5.99 mm"), "{f}");
    let feet = NestJob {
        show: Show::FeetInches,
        ..job
    };
    let f = only(&feet, &at(-0.01));
    let words = "0.236 in (5.99 mm) apart, and the gap is 0.236 in (6 mm)";
    assert!(f.what.contains(words), "{f}");
}

fn check_distance(a: (f64, f64, f64, f64, f64), b: (f64, f64, f64, f64, f64), exact: f64) {
    let piece = |p: (f64, f64, f64, f64, f64)| Piece::new(vec2(p.0, p.1), vec2(p.2, p.3), p.4);
    let back = |p: (f64, f64, f64, f64, f64)| (p.2, p.3, p.0, p.1, -p.4);
    for (p, q) in [
        (a, b),
        (b, a),
        (back(a), b),
        (a, back(b)),
        (back(b), back(a)),
    ] {
        let d = piece(p).distance(&piece(q));
        assert!((d - exact).abs() < 1e-9, "{p:?} {q:?}: {d} for {exact}");
    }
}

#[test]
fn distances_between_pieces_have_their_closed_forms() {
    let line = (-5.0, 0.0, 5.0, 0.0, 0.0);
    // Parallel, crossing, end to end.
    check_distance(line, (-1.0, 2.0, 9.0, 2.0, 0.0), 2.0);
    check_distance(line, (0.0, -1.0, 0.0, 1.0, 0.0), 0.0);
    check_distance(line, (8.0, 4.0, 9.0, 9.0, 0.0), 5.0);
    // A half circle of radius 3 about (0, 5), bulging down: 2 off the line;
    // about (0, 2): across it. From left to right it turns left: bulge 1.
    check_distance(line, (-3.0, 5.0, 3.0, 5.0, 1.0), 2.0);
    check_distance(line, (-3.0, 2.0, 3.0, 2.0, 1.0), 0.0);
    // Bulging up: the ends are nearest.
    check_distance(line, (-3.0, 5.0, 3.0, 5.0, -1.0), 5.0);
    // Two half circles facing: centres 10 apart, radii 3 and 4.
    check_distance(
        (-3.0, 0.0, 3.0, 0.0, -1.0),
        (-4.0, 10.0, 4.0, 10.0, 1.0),
        3.0,
    );
    // One inside the other, off centre by 1: 5 - 3 - 1.
    check_distance(
        (-5.0, 0.0, 5.0, 0.0, 1.0),
        (-3.0, -1.0, 3.0, -1.0, 1.0),
        1.0,
    );
    // One centre: 5 - 3.
    check_distance((-5.0, 0.0, 5.0, 0.0, 1.0), (-3.0, 0.0, 3.0, 0.0, 1.0), 2.0);
    // Crossing circles of radius 5, centres 6 apart.
    check_distance((-5.0, 0.0, 5.0, 0.0, 1.0), (1.0, 0.0, 11.0, 0.0, 1.0), 0.0);
    // An arc of radius 2500 mm and 0.1 mm rise, 4 mm over a line.
    let half = (2500.0f64 * 2500.0 - 2499.9 * 2499.9).sqrt();
    let b = 0.1 / half;
    check_distance(
        (-half, 4.1, half, 4.1, b),
        (-500.0, 0.0, 500.0, 0.0, 0.0),
        4.0,
    );
}

#[test]
fn points_are_told_in_and_out_of_arcs_exactly() {
    // A moon: half circle of radius 5 below, bitten by a flatter arc.
    let moon = Shape::new(&Outline {
        vertices: vec![
            Vertex {
                at: vec2(-5.0, 0.0),
                bulge: 1.0,
            },
            Vertex {
                at: vec2(5.0, 0.0),
                bulge: -0.5,
            },
        ],
    });
    // The bite sinks 0.5 * 5 = 2.5 under the chord.
    for (y, inside) in [
        (-2.49, false),
        (-2.51, true),
        (-4.99, true),
        (-5.01, false),
        (0.1, false),
    ] {
        assert_eq!(moon.holds(vec2(0.0, y)), inside, "{y}");
    }
    assert!((moon.profile_distance(vec2(0.0, 0.0)) - 2.5).abs() < 1e-12);
    // Points at the height of the corners and of the lowest point.
    for (x, y) in [
        (1.0, 0.0),
        (0.0, 0.0),
        (-1.0, 0.0),
        (-1.0, -5.0),
        (1.0, -5.0),
    ] {
        assert!(!moon.holds(vec2(x, y)), "{x} {y}");
    }
    // In the bay of a bow, level with the corners that its inner arc ends at.
    let bow = Shape::new(&Outline {
        vertices: vec![
            Vertex {
                at: vec2(-8.0, 0.0),
                bulge: -0.5,
            },
            Vertex {
                at: vec2(8.0, 0.0),
                bulge: 0.0,
            },
            Vertex {
                at: vec2(10.0, 1.0),
                bulge: 0.6,
            },
            Vertex {
                at: vec2(-10.0, 1.0),
                bulge: 0.0,
            },
        ],
    });
    assert!(!bow.holds(vec2(0.0, 0.0)) && !bow.holds(vec2(0.0, 1.0)));
    assert!(bow.holds(vec2(0.0, 5.0)) && bow.holds(vec2(-8.5, 0.9)));
    // A whole turn of places about a disc, whichever way it is made.
    for turn in [0.0, 0.4, 2.0, 3.0, 5.5] {
        let disc = Outline::circle(vec2(0.0, 0.0), 7.0);
        let shape = Shape::new(&disc.placed(Placement {
            turn,
            shift: vec2(1.0, 2.0),
        }));
        for k in 0..48 {
            let out = vec2(1.0, 0.0).turned(f64::from(k) * PI / 24.0);
            assert!(shape.holds(vec2(1.0, 2.0) + out * 6.99));
            assert!(!shape.holds(vec2(1.0, 2.0) + out * 7.01));
        }
    }
}
