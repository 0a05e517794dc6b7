//! Remnants of any shape, clamps, and parts in the holes of others: nests by
//! hand that the check must refuse, closed forms that the packer must reach,
//! and random ones that must hold.

use proptest::prelude::*;

use super::super::*;
use super::{any_outline, any_rotation, job, rectangle, sector, sheet, within};
use crate::fault::Kind;
use crate::fault::Place;
use crate::geom::Outline;
use crate::geom::Placement;
use crate::geom::{Region, Vec2, vec2};
use crate::job::Sheet;
use crate::job::{RemnantFile, Zone};

fn at(part: usize, x: f64, y: f64) -> Placed {
    Placed {
        part,
        placement: Placement {
            turn: 0.0,
            shift: vec2(x, y),
        },
    }
}

fn on_one(placed: Vec<Placed>) -> Nest {
    Nest {
        sheets: vec![NestedSheet::new(0, placed)],
    }
}

/// What the check says of a nest, or nothing.
fn refused(job: &NestJob, nest: &Nest) -> Vec<String> {
    check(job, nest).map_or_else(|f| f.into_iter().map(|f| f.what).collect(), |_| Vec::new())
}

fn polygon(corners: &[(f64, f64)]) -> Outline {
    Outline::polygon(&corners.iter().map(|&(x, y)| vec2(x, y)).collect::<Vec<_>>())
}

/// An L of 600 x 400 mm, legs 200 mm wide, with a hole of 100 mm in its corner.
fn ell() -> Sheet {
    let outer = polygon(&[
        (0.0, 0.0),
        (600.0, 0.0),
        (600.0, 200.0),
        (200.0, 200.0),
        (200.0, 400.0),
        (0.0, 400.0),
    ]);
    let hole = Outline::circle(vec2(100.0, 100.0), 50.0);
    Sheet {
        shape: Region::new(outer, vec![hole]).ok(),
        quantity: Some(1),
        ..sheet(600.0, 400.0, None, None)
    }
}

fn some_drawing() -> Option<RemnantFile> {
    Some(RemnantFile {
        path: String::new(),
        unit: None,
        place: Place::default(),
    })
}

fn ring(outer: f64, hole: f64) -> NestPart {
    NestPart {
        name: "ring".to_owned(),
        outline: Outline::circle(vec2(0.0, 0.0), outer),
        holes: vec![Outline::circle(vec2(0.0, 0.0), hole)],
    }
}

#[test]
fn the_check_measures_edges_holes_and_clamps_of_a_remnant() {
    let mut job = job(vec![rectangle(100.0, 50.0)], vec![ell()], 6.0, 10.0);
    let ask = |job: &NestJob, x: f64, y: f64| refused(job, &on_one(vec![at(0, x, y)]));
    // Right of the hole by 10 mm at the nearest: (160, 100) from (100, 100).
    assert_eq!(ask(&job, 160.0, 75.0), Vec::<String>::new());
    let near = check(&job, &on_one(vec![at(0, 160.0, 75.0)])).expect("good");
    assert!((near.part_to_edge.expect("a part").distance - 10.0).abs() < 1e-9);
    assert!(ask(&job, 159.9, 75.0)[0].contains("9.9 mm"));
    // Over the hole, in it, off the plate, across the inner corner.
    assert!(
        ask(&job, 60.0, 80.0)[0].contains("over a hole")
            || ask(&job, 60.0, 80.0)[0].contains(" 0 mm")
    );
    job.parts[0].outline = rectangle(40.0, 40.0);
    assert!(ask(&job, 80.0, 80.0)[0].contains("over a hole"));
    assert!(ask(&job, 400.0, 300.0)[0].contains("not wholly on"));
    assert!(ask(&job, 185.0, 185.0)[0].contains("not wholly on"));
    // A part that surrounds the hole.
    job.parts[0].outline = rectangle(130.0, 130.0);
    assert!(ask(&job, 35.0, 35.0)[0].contains("over a hole"));
    job.sheets[0].shape = None;
    assert_eq!(ask(&job, 35.0, 35.0), Vec::<String>::new());
    job.sheets[0].clamps = vec![Zone {
        lo: vec2(0.0, 0.0),
        hi: vec2(25.0, 90.0),
    }];
    assert_eq!(ask(&job, 35.0, 35.0), Vec::<String>::new());
    assert!(ask(&job, 34.0, 35.0)[0].contains(" 9 mm"));
    assert!(ask(&job, 15.0, 35.0)[0].contains(" 0 mm"));
}

#[test]
fn without_a_margin_parts_may_touch_a_remnants_edge_but_not_cross_it() {
    let mut job = job(vec![rectangle(100.0, 50.0)], vec![ell()], 0.0, 0.0);
    let ask = |job: &NestJob, x: f64, y: f64| refused(job, &on_one(vec![at(0, x, y)]));
    assert_eq!(ask(&job, 300.0, 150.0), Vec::<String>::new());
    assert_eq!(ask(&job, 150.0, 75.0), Vec::<String>::new());
    assert!(!ask(&job, 300.0, 150.1).is_empty());
    assert!(!ask(&job, 149.9, 75.0).is_empty());
    job.sheets[0].clamps = vec![Zone {
        lo: vec2(500.0, 0.0),
        hi: vec2(600.0, 200.0),
    }];
    assert_eq!(ask(&job, 400.0, 0.0), Vec::<String>::new());
    assert!(!ask(&job, 400.1, 0.0).is_empty());
}

/// A clamp over the end of a sheet leaves 780 x 480 mm beside the margins.
#[test]
fn a_part_that_just_fits_beside_a_clamp_is_placed() {
    let mut stock = sheet(1000.0, 500.0, Some(1), None);
    stock.clamps = vec![Zone {
        lo: vec2(800.0, 0.0),
        hi: vec2(1000.0, 500.0),
    }];
    let job = job(vec![rectangle(780.0, 480.0)], vec![stock], 6.0, 10.0);
    let nest = within(&job, 200_000).expect("it fits");
    check(&job, &nest).expect("a sound nest");
}

/// A part in a hole: concentric rings keep the difference of their radii.
#[test]
fn the_check_lets_a_part_lie_in_a_hole_and_measures_it() {
    let mut job = job(
        vec![rectangle(10.0, 10.0)],
        vec![sheet(500.0, 500.0, None, None)],
        6.0,
        5.0,
    );
    job.parts[0] = ring(200.0, 100.0);
    job.parts.push(NestPart {
        outline: Outline::circle(vec2(0.0, 0.0), 94.0),
        holes: Vec::new(),
        name: "disc".to_owned(),
    });
    let nest = |x: f64| on_one(vec![at(0, 250.0, 250.0), at(1, x, 250.0)]);
    let report = check(&job, &nest(250.0)).expect("in the hole");
    assert!((report.part_to_part.expect("two").distance - 6.0).abs() < 1e-9);
    assert!(refused(&job, &nest(250.01))[0].contains("5.99 mm"));
    assert!(refused(&job, &nest(400.0))[0].contains("overlap"));
    job.parts[0].holes.clear();
    assert!(refused(&job, &nest(250.0))[0].contains("lies inside the other"));
    // The ring inside a solid part.
    job.parts[1].outline = Outline::circle(vec2(0.0, 0.0), 240.0);
    job.parts[0].holes = vec![Outline::circle(vec2(0.0, 0.0), 100.0)];
    assert!(refused(&job, &nest(250.0))[0].contains("lies inside the other"));
}

#[test]
fn a_disc_is_nested_in_the_hole_of_a_ring() {
    let mut job = job(
        vec![rectangle(10.0, 10.0)],
        vec![sheet(420.0, 420.0, Some(1), None)],
        6.0,
        10.0,
    );
    job.parts[0] = ring(200.0, 100.0);
    job.parts.push(NestPart {
        outline: Outline::circle(vec2(0.0, 0.0), 90.0),
        holes: Vec::new(),
        name: "disc".to_owned(),
    });
    let nest = within(&job, 200_000).expect("room in the hole");
    check(&job, &nest).expect("sound");
    assert_eq!(nest.sheets.len(), 1);
    let area = net_area(&job, &nest.sheets[0]);
    let exact = std::f64::consts::PI * (40_000.0 - 10_000.0 + 8_100.0);
    assert!((area - exact).abs() < 1e-6 * exact);
    // With half the gap between them there is no room for it anywhere.
    job.parts[1].outline = Outline::circle(vec2(0.0, 0.0), 96.0);
    assert_eq!(
        within(&job, 200_000).expect_err("no room").kind,
        Kind::Stock
    );
}

/// Three squares of 180 mm lie in the long leg of the L and one in the short;
/// a fifth has no room.
#[test]
fn a_remnant_takes_what_its_shape_allows() {
    let mut plate = ell();
    plate.shape = plate.shape.map(|mut r| {
        r.holes.clear();
        r
    });
    plate.remnant = some_drawing();
    let job = job(
        vec![rectangle(180.0, 180.0); 5],
        vec![plate, sheet(400.0, 400.0, None, None)],
        4.0,
        10.0,
    );
    let nest = within(&job, 1_000_000).expect("room on both");
    check(&job, &nest).expect("sound");
    let on_remnant: usize = nest
        .sheets
        .iter()
        .filter(|s| s.stock == 0)
        .map(|s| s.placed.len())
        .sum();
    assert_eq!(on_remnant, 4);
    // Too large for the L, though its box would take it.
    let mut one = job.clone();
    one.parts = vec![NestPart {
        outline: rectangle(250.0, 250.0),
        ..one.parts[0].clone()
    }];
    one.sheets.truncate(1);
    let told = nest_error(&one);
    assert!(told.contains("fits no sheet"), "{told}");
}

fn nest_error(job: &NestJob) -> String {
    nest(job, &|_, _| {}).expect_err("no room").what
}

#[test]
fn a_remnant_is_used_before_a_new_sheet() {
    let mut job = job(
        vec![rectangle(150.0, 150.0), rectangle(150.0, 140.0)],
        vec![sheet(600.0, 400.0, None, None), ell()],
        4.0,
        10.0,
    );
    job.sheets[1].remnant = some_drawing();
    let nest = within(&job, 1_000_000).expect("room");
    check(&job, &nest).expect("sound");
    assert_eq!(nest.sheets.iter().map(|s| s.stock).collect::<Vec<_>>(), [1]);
}

#[test]
fn what_is_no_plate_is_no_offcut() {
    let job = job(vec![rectangle(100.0, 50.0)], vec![ell()], 6.0, 10.0);
    let bare = NestedSheet::new(0, Vec::new());
    // Right of the hole, 150 to 600 mm, 200 mm wide: 90,000 mm2.
    let cut = largest_offcut(&job, &bare).expect("plate");
    assert!(
        (cut.size.x - 450.0).abs() < 3.0 && (cut.size.y - 200.0).abs() < 3.0,
        "{cut:?}"
    );
    assert!((cut.corner.x - 150.0).abs() < 3.0);
}

/// Plates with a curved edge, a notch or holes.
fn any_plate() -> impl Strategy<Value = Sheet> {
    let holes = prop::collection::vec((150.0..550.0f64, 120.0..400.0f64, 5.0..60.0f64), 0..2);
    let curve = -0.3..0.3f64;
    (curve, 0.0..250.0f64, holes).prop_map(|(bulge, notch, holes)| {
        let mut outer = polygon(&[
            (0.0, 0.0),
            (700.0, 0.0),
            (700.0, 520.0 - notch),
            (700.0 - notch, 520.0 - notch),
            (700.0 - notch, 520.0),
            (0.0, 520.0),
        ]);
        outer.vertices[5].bulge = bulge;
        let (lo, _) = outer.bounds();
        let outer = outer.placed(Placement {
            turn: 0.0,
            shift: vec2(-lo.x, -lo.y),
        });
        let size: Vec2 = outer.bounds().1;
        let holes = holes
            .iter()
            .map(|&(x, y, r)| Outline::circle(vec2(x, y), r))
            .collect();
        Sheet {
            shape: Region::new(outer, holes).ok(),
            ..sheet(size.x, size.y, None, None)
        }
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// As of whole sheets: every part once, every clearance kept.
    #[test]
    fn random_remnants_clamps_and_rings_give_sound_nests(
        outlines in prop::collection::vec(any_outline(), 1..9),
        plate in any_plate(),
        clamps in prop::collection::vec((0.0..650.0f64, 0.0..480.0f64, 5.0..80.0f64), 0..3),
        rings in prop::collection::vec((60.0..120.0f64, 0.3..0.9f64), 0..2),
        gap in prop_oneof![Just(0.0), 0.0..15.0f64],
        margin in prop_oneof![Just(0.0), 0.0..20.0f64],
        rotation in any_rotation(),
        work in prop_oneof![Just(50_000u64), Just(3_000_000)],
    ) {
        let mut job = job(outlines, vec![plate], gap, margin);
        job.rotation = rotation;
        job.parts.extend(rings.iter().map(|&(r, f)| ring(r, f * r)));
        job.sheets[0].clamps = clamps
            .iter()
            .map(|&(x, y, s)| Zone { lo: vec2(x, y), hi: vec2(x + s, y + s) })
            .collect();
        job.sheets.push(sheet(700.0, 520.0, None, None));
        job.sheets[0].quantity = Some(2);
        let nest = within(&job, work).expect("the second size takes all");
        let report = check(&job, &nest);
        prop_assert!(report.is_ok(), "{:?}", report);
        prop_assert_eq!(report.map(|r| r.parts), Ok(job.parts.len()));
    }
}

/// Arcs of a sheet's edge keep the margin exactly: a sector in a larger one.
#[test]
fn a_sector_lies_in_a_sector_shaped_remnant() {
    let outer = sector(90.0, 210.0, 0.6);
    let (lo, hi) = outer.bounds();
    let home = Placement {
        turn: 0.0,
        shift: vec2(-lo.x, -lo.y),
    };
    let plate = Sheet {
        shape: Region::new(outer.placed(home), Vec::new()).ok(),
        quantity: Some(1),
        ..sheet(hi.x - lo.x, hi.y - lo.y, None, None)
    };
    // 10 mm inside all round but for the ends, which are 4.5 degrees short.
    let job = job(vec![sector(100.2, 199.8, 0.48)], vec![plate], 6.0, 10.0);
    let nest = within(&job, 400_000).expect("room");
    check(&job, &nest).expect("sound");
}
