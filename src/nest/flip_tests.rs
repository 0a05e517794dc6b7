//! Parts laid with their other face up: refused where a part must not be,
//! closed forms that only a flip reaches, and random nests that must hold.

use proptest::prelude::*;

use super::tests::{any_outline, any_rotation, job, rectangle, sector, sheet, within};
use super::*;
use crate::geom::vec2;

fn at(part: usize, x: f64, y: f64, flipped: bool) -> Placed {
    Placed {
        part,
        placement: Placement {
            turn: 0.0,
            shift: vec2(x, y),
            flipped,
        },
    }
}

/// A right-angled triangle, its right angle at the origin.
fn triangle(length: f64, width: f64) -> Outline {
    Outline::polygon(&[vec2(0.0, 0.0), vec2(length, 0.0), vec2(0.0, width)])
}

/// The same, its right angle at the other end of its length.
fn other_hand(length: f64, width: f64) -> Outline {
    Outline::polygon(&[vec2(0.0, 0.0), vec2(length, 0.0), vec2(length, width)])
}

fn flips(nest: &Nest) -> Vec<bool> {
    let placed = nest.sheets.iter().flat_map(|s| &s.placed);
    placed.map(|p| p.placement.flipped).collect()
}

#[test]
fn a_flip_that_is_not_allowed_is_refused() {
    let stock = vec![sheet(500.0, 300.0, None, None)];
    let mut job = job(vec![rectangle(100.0, 50.0)], stock, 6.0, 10.0);
    let nest = |flipped| Nest {
        sheets: vec![NestedSheet::new(0, vec![at(0, 200.0, 200.0, flipped)])],
    };
    check(&job, &nest(false)).expect("its own face is up");
    let faults = check(&job, &nest(true)).expect_err("flipped");
    assert_eq!(faults.len(), 1, "{faults:?}");
    assert!(faults[0].what.contains("P0 lies with its other face up"));
    job.parts[0].flip = true;
    check(&job, &nest(true)).expect("it may be flipped");
}

/// The check lays a flipped part where it is: below the place that it is
/// flipped about.
#[test]
fn a_flipped_part_is_measured_where_it_lies() {
    let stock = vec![sheet(500.0, 300.0, None, None)];
    let mut job = job(vec![triangle(100.0, 50.0)], stock, 6.0, 10.0);
    job.parts[0].flip = true;
    let nest = |y| Nest {
        sheets: vec![NestedSheet::new(0, vec![at(0, 10.0, y, true)])],
    };
    // It reaches from y - 50 to y.
    let report = check(&job, &nest(60.0)).expect("sound");
    let edge = report.part_to_edge.expect("an edge").distance;
    assert!((edge - 10.0).abs() < 1e-12, "{edge}");
    check(&job, &nest(290.0)).expect("sound");
    check(&job, &nest(59.0)).expect_err("over the margin");
    check(&job, &nest(291.0)).expect_err("over the margin");
}

/// Two triangles of unlike hand make a rectangle of 300 x 200 mm only where
/// one is flipped: as they are, half turned or not, they cover each other.
#[test]
fn two_hands_of_a_triangle_fill_a_rectangle_only_with_a_flip() {
    let parts = vec![triangle(300.0, 200.0), other_hand(300.0, 200.0)];
    let mut job = job(parts, vec![sheet(300.0, 200.0, None, None)], 0.0, 0.0);
    let without = within(&job, 400_000).expect("more sheets are to be had");
    check(&job, &without).expect("sound");
    assert_eq!(without.sheets.len(), 2);
    assert!(flips(&without).iter().all(|f| !f));
    job.parts[0].flip = true;
    let with = within(&job, 400_000).expect("room");
    check(&job, &with).expect("sound");
    assert_eq!(with.sheets.len(), 1);
    assert_eq!(flips(&with), [true, false]);
}

/// Two parts of one shape of which one may be flipped are two kinds.
#[test]
fn only_the_part_that_may_be_flipped_is() {
    let parts = vec![triangle(300.0, 200.0); 2];
    let mut job = job(parts, vec![sheet(300.0, 200.0, None, None)], 0.0, 0.0);
    // As they are, one half turned, they make the rectangle.
    job.parts[1].flip = true;
    let nest = within(&job, 400_000).expect("room");
    check(&job, &nest).expect("sound");
    assert_eq!(nest.sheets.len(), 1);
    assert!(!flips(&nest)[0]);
}

/// A shape that is its own mirror image takes no more turns, and lies the
/// same whether it may be flipped or not.
#[test]
fn a_shape_that_is_its_own_mirror_image_gains_nothing() {
    let parts = vec![rectangle(120.0, 70.0); 6];
    let mut job = job(parts, vec![sheet(500.0, 300.0, None, None)], 6.0, 10.0);
    let without = within(&job, 200_000).expect("room");
    for p in &mut job.parts {
        p.flip = true;
    }
    assert_eq!(within(&job, 200_000).expect("room"), without);
}

/// A strip shortened keeps the faces that its parts came with.
#[test]
fn a_strip_with_flips_is_sound() {
    let mut outlines = vec![triangle(300.0, 120.0); 3];
    outlines.extend(vec![other_hand(300.0, 120.0); 3]);
    outlines.push(sector(200.0, 300.0, 0.5));
    let mut job = job(outlines, vec![sheet(3000.0, 200.0, None, None)], 3.0, 5.0);
    for p in &mut job.parts {
        p.flip = true;
    }
    let placed = strip(&job, &mut |work| work as f64 / 2e6)
        .expect("lengths that can be")
        .expect("room");
    let nest = Nest {
        sheets: vec![NestedSheet::new(0, placed)],
    };
    check(&job, &nest).expect("sound");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// As without flips: every part once, every clearance and rule kept, and
    /// none flipped that must not be.
    #[test]
    fn random_jobs_with_flips_give_sound_nests(
        outlines in prop::collection::vec((any_outline(), any::<bool>()), 1..12),
        gap in prop_oneof![Just(0.0), 0.0..15.0f64],
        margin in prop_oneof![Just(0.0), 0.0..20.0f64],
        rotation in any_rotation(),
        work in prop_oneof![Just(50_000u64), Just(3_000_000)],
    ) {
        let (outlines, flip): (Vec<_>, Vec<_>) = outlines.into_iter().unzip();
        let mut job = job(outlines, vec![sheet(700.0, 520.0, None, None)], gap, margin);
        job.rotation = rotation;
        for (part, flip) in job.parts.iter_mut().zip(flip) {
            part.flip = flip;
        }
        let nest = within(&job, work).expect("sheets without end");
        let report = check(&job, &nest);
        prop_assert!(report.is_ok(), "{:?}", report);
        prop_assert_eq!(report.map(|r| r.parts), Ok(job.parts.len()));
    }
}
