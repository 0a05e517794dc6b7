//! Parts that share a cut: blocks by closed forms, common lines that must be
//! refused, and random jobs that must hold.

use proptest::prelude::*;

use super::tests::{any_rotation, job, rectangle, sector, sheet};
use super::*;
use crate::geom::{Vertex, vec2};

const KERF: f64 = 2.0;

/// A job in which all parts may share cuts.
fn shared(outlines: Vec<Outline>, length: f64, width: f64) -> NestJob {
    let count = outlines.len();
    let stock = vec![sheet(length, width, None, None)];
    let mut job = job(outlines, stock, 8.0, 10.0);
    job.common = Some(CommonRule {
        kerf: KERF,
        parts: (0..count).collect(),
    });
    job
}

fn nested(job: &NestJob) -> Nest {
    let nest = nest(job, &|_, _| {}).expect("a nest");
    check(job, &nest).expect("a nest that holds");
    nest
}

fn lines(nest: &Nest) -> usize {
    nest.sheets.iter().map(|s| s.common.len()).sum()
}

/// Four plates of 51 x 50 mm along their longer edges are 206 mm with cuts of
/// 2 mm between, 224 mm with gaps of 8: a room of 213 mm square takes three
/// such columns, and no column of four with gaps.
#[test]
fn a_sheet_too_narrow_for_gaps_takes_all_with_common_lines() {
    let mut job = shared(vec![rectangle(51.0, 50.0); 12], 233.0, 233.0);
    let nest = nested(&job);
    assert_eq!((nest.sheets.len(), lines(&nest)), (1, 9));
    let line = nest.sheets[0].common[0];
    assert!((line.ends[0].distance(line.ends[1]) - 51.0).abs() < 1e-9);
    job.common = None;
    let apart = nested(&job);
    assert_eq!((apart.sheets.len(), lines(&apart)), (2, 0));
}

/// Blocks that would cost a second sheet are not used: two plates joined
/// end to end are longer than the room beside the first ones, or each other.
#[test]
fn what_costs_a_sheet_more_is_not_joined() {
    // Long edges are arcs: only the ends can be shared.
    let bowed = |bulge: f64| {
        let mut o = rectangle(140.0, 40.0);
        o.vertices[0].bulge = bulge;
        o.vertices[2].bulge = bulge;
        o
    };
    let parts = vec![bowed(0.02); 4];
    let room = shared(parts.clone(), 400.0, 320.0);
    assert!(lines(&nested(&room)) > 0);
    // A room of 160 x 200 mm takes four one over the other, and no two end to end.
    let narrow = shared(parts, 180.0, 220.0);
    let nest = nested(&narrow);
    assert_eq!((nest.sheets.len(), lines(&nest)), (1, 0));
}

#[test]
fn only_the_parts_named_share_cuts() {
    let mut job = shared(vec![rectangle(100.0, 50.0); 4], 600.0, 400.0);
    if let Some(rule) = &mut job.common {
        rule.parts = vec![1, 3];
    }
    let nest = nested(&job);
    let pairs: Vec<[usize; 2]> = nest.sheets[0].common.iter().map(|l| l.between).collect();
    assert_eq!(pairs, [[1, 3]]);
}

/// The edges of ring sectors are arcs, their ends straight and as long.
#[test]
fn arcs_are_never_shared() {
    let job = shared(vec![sector(1500.0, 1560.0, 0.08); 3], 900.0, 900.0);
    let nest = nested(&job);
    assert_eq!(lines(&nest), 2);
    for l in &nest.sheets[0].common {
        assert!((l.ends[0].distance(l.ends[1]) - 60.0).abs() < 1e-9);
    }
}

/// Two rectangles of 100 x 50 mm at these corners, a common line between them.
fn pair(second: Vec2, ends: [Vec2; 2]) -> (NestJob, Nest) {
    let job = shared(vec![rectangle(100.0, 50.0); 3], 600.0, 400.0);
    let at = |part: usize, shift: Vec2| Placed {
        part,
        placement: Placement {
            shift,
            ..Placement::IDENTITY
        },
    };
    let placed = vec![
        at(0, vec2(20.0, 20.0)),
        at(1, second),
        at(2, vec2(400.0, 300.0)),
    ];
    let mut sheet = NestedSheet::new(0, placed);
    sheet.common = vec![CommonLine {
        between: [0, 1],
        ends,
    }];
    (
        job,
        Nest {
            sheets: vec![sheet],
        },
    )
}

/// Upwards beside the first rectangle: it lies on the left.
const BESIDE: [Vec2; 2] = [vec2(121.0, 20.0), vec2(121.0, 70.0)];

#[test]
fn a_common_line_is_measured() {
    let (job, nest) = pair(vec2(122.0, 20.0), BESIDE);
    let report = check(&job, &nest).expect("sound");
    // Parts that share a cut are not the nearest ones.
    assert!(report.part_to_part.expect("three parts").distance > 8.0);
    let told = |job: &NestJob, nest: &Nest| {
        let faults = check(job, nest).expect_err("unsound");
        faults.iter().map(|f| f.what.clone()).collect::<Vec<_>>()
    };
    // The second part higher, nearer, further: not along it, or not a kerf off.
    for (second, also) in [
        (vec2(122.0, 20.2), "too close"),
        (vec2(121.9, 20.0), "too close"),
        (vec2(122.1, 20.0), "too close"),
    ] {
        let what = told(&job, &pair(second, BESIDE).1);
        assert!(what[0].contains("no common line"), "{what:?}");
        assert!(what[1].contains(also), "{what:?}");
    }
    // The line elsewhere, or the parts on its wrong sides.
    for ends in [
        [vec2(121.5, 20.0), vec2(121.5, 70.0)],
        [vec2(121.0, 20.0), vec2(121.0, 60.0)],
        [BESIDE[1], BESIDE[0]],
    ] {
        let what = told(&job, &pair(vec2(122.0, 20.0), ends).1);
        assert!(what[0].contains("no straight edges"), "{what:?}");
    }
    // Parts that may not share a cut; a part on no sheet; a part with itself.
    let mut strict = job.clone();
    if let Some(rule) = &mut strict.common {
        rule.parts = vec![0, 2];
    }
    assert!(told(&strict, &nest)[0].contains("the job allows them none"));
    for between in [[0, 7], [0, 0]] {
        let mut nest = nest.clone();
        nest.sheets[0].common[0].between = between;
        assert!(told(&job, &nest)[0].contains("no common line"));
    }
    // Without the line they are too close.
    let mut bare = nest.clone();
    bare.sheets[0].common.clear();
    assert!(told(&job, &bare)[0].contains("the gap is 8 mm"));
}

/// A third part may stand at the gap from both, and yet in the way of the cut.
#[test]
fn a_part_in_the_way_of_the_cut_is_told() {
    let (mut job, mut nest) = pair(vec2(122.0, 20.0), BESIDE);
    job.gap = KERF;
    // A corner that points down between the two, a kerf from both.
    let down = vec2(121.0, 70.0 + 3.0_f64.sqrt() + 1e-6);
    let tip = Outline::polygon(&[down, down + vec2(20.0, 40.0), down + vec2(-20.0, 40.0)]);
    job.parts[2].outline = tip;
    nest.sheets[0].placed[2].placement = Placement::IDENTITY;
    let faults = check(&job, &nest).expect_err("in the way");
    assert_eq!(faults.len(), 1, "{faults:?}");
    assert!(faults[0].what.contains("from part P2"), "{faults:?}");
    nest.sheets[0].common.clear();
    check(&job, &nest).expect("all keep the gap");
}

/// A plate with two straight ends of a few widths, its sides straight or
/// bowed, its corners more or less square.
pub(crate) fn any_plate() -> impl Strategy<Value = Outline> {
    let width = prop_oneof![Just(60.0), Just(80.0), Just(60.01)];
    (60.0..260.0_f64, width, -0.05..0.05_f64, -6.0..6.0_f64).prop_map(|(l, w, bow, skew)| {
        let at = |x: f64, y: f64, bulge: f64| Vertex {
            at: vec2(x, y),
            bulge,
        };
        Outline {
            vertices: vec![
                at(0.0, 0.0, bow),
                at(l, skew, 0.0),
                at(l, skew + w, -bow),
                at(0.0, w, 0.0),
            ],
        }
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn random_plates_that_share_cuts_hold(
        kinds in proptest::collection::vec((any_plate(), 1..5_usize), 1..4),
        rotation in any_rotation(),
        kerf in 0.5..6.0_f64,
        more in prop_oneof![Just(0.0), 0.0..8.0_f64],
    ) {
        let outlines = kinds.iter().flat_map(|(o, n)| vec![o.clone(); *n]).collect();
        let mut job = shared(outlines, 900.0, 600.0);
        (job.rotation, job.gap) = (rotation, kerf + more);
        if let Some(rule) = &mut job.common {
            rule.kerf = kerf;
        }
        match nest(&job, &|_, _| {}) {
            // Limited rotations may leave a long part no place.
            Err(f) => prop_assert_eq!(f.kind, Kind::Stock),
            Ok(nest) => {
                check(&job, &nest).map_err(|f| TestCaseError::fail(format!("{f:?}")))?;
                // The same plates turned half round face each other by the
                // same end: with free rotation two of a kind share a cut.
                let two = kinds.iter().any(|k| k.1 > 1);
                if two && rotation == Rotation::Free && nest.sheets.len() == 1 {
                    prop_assert!(lines(&nest) > 0);
                }
            }
        }
    }
}
