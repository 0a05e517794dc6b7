//! Common lines: what is cut, against closed forms.

use std::f64::consts::PI;

use proptest::prelude::*;

use super::tests::{Shop, rectangle};
use super::walk::{Walk, points};
use super::*;
use crate::geom::vec2;
use crate::nest::any_plate;
use crate::nest::{self, CommonLine, CommonRule};
use crate::part::Hole;
use crate::sample;

/// Rectangles of 180 x 80 mm in a row from (20, 20), the kerf of 3 mm between
/// them, each with a hole; then one by itself.
fn row(count: u8) -> Shop {
    let hole = Hole {
        centre: vec2(90.0, 40.0),
        diameter: 30.0,
    };
    let at = |x: f64, y: f64| (rectangle(180.0, 80.0), vec![hole], vec2(x, y));
    let mut parts: Vec<_> = (0..count)
        .map(|i| at(20.0 + 183.0 * f64::from(i), 20.0))
        .collect();
    parts.push(at(20.0, 500.0));
    let mut shop = Shop::new(parts);
    shop.nested.common = (1..count)
        .map(|i| {
            let x = 20.0 + 183.0 * f64::from(i) - 1.5;
            CommonLine {
                between: [usize::from(i) - 1, usize::from(i)],
                ends: [vec2(x, 20.0), vec2(x, 100.0)],
            }
        })
        .collect();
    shop
}

#[test]
fn one_path_goes_round_and_one_cut_between() {
    let mut shop = row(3);
    shop.rules.leads = None;
    let plan = shop.plan();
    // Four holes, two common lines, one path round three, one round the last.
    assert_eq!(plan.figures.pierces, 8);
    assert_eq!(plan.figures.common_lines, 2);
    assert_eq!(plan.figures.tabs, 0);
    assert!(plan.warnings.is_empty(), "{:?}", plan.warnings);
    let round = plan.steps.iter().find(|s| !s.with.is_empty() && !s.common);
    let step = round.expect("a path round all");
    assert_eq!((step.placed, &step.with[..]), (0, &[1, 2][..]));
    let CutPath::Closed(path) = &step.cuts[0].path else {
        panic!("open")
    };
    // Steiner's formula on the box of all three, half a kerf off.
    let (l, w) = (3.0 * 180.0 + 2.0 * 3.0, 80.0);
    let area = l * w + 2.0 * (l + w) * 1.5 + PI * 1.5 * 1.5;
    assert!((path.area() - area).abs() < 1e-6, "{} {area}", path.area());
    let round = 2.0 * (l + w) + PI * 3.0;
    assert!((path.perimeter() - round).abs() < 1e-6);
    for step in plan.steps.iter().filter(|s| s.common) {
        let [cut] = &step.cuts[..] else {
            panic!("held")
        };
        let CutPath::Open(line) = &cut.path else {
            panic!("closed")
        };
        // From path to path: the edge and a kerf.
        assert!((cut.length() - 83.0).abs() < 1e-9);
        let way = Walk::new(path);
        for end in [line[0].at, line[1].at] {
            assert!(way.distance(end, 10.0) < 1e-9);
        }
    }
    // The three by themselves: round each, less what is shared.
    let mut apart = row(3);
    apart.nested.common.clear();
    apart.rules.leads = None;
    let more = apart.plan().figures.cut_length - plan.figures.cut_length;
    let each = 2.0 * (180.0 + 80.0) + PI * 3.0;
    assert!((more - (3.0 * each - round - 2.0 * 83.0)).abs() < 1e-6);
}

#[test]
fn leads_of_common_lines_lie_in_their_line_and_clear_of_all() {
    let shop = row(4);
    let plan = shop.plan();
    let nets = shop.nets();
    for step in plan.steps.iter().filter(|s| s.common) {
        let cut = &step.cuts[0];
        let CutPath::Open(line) = &cut.path else {
            panic!("closed")
        };
        let [pierce, start] = &cut.lead_in[..] else {
            panic!("no lead")
        };
        assert_eq!(start.at, line[0].at);
        assert!((pierce.at.distance(start.at) - 8.0).abs() < 1e-9);
        assert!((pierce.at.x - line[1].at.x).abs() < 1e-9);
        for p in points(&cut.lead_in, 0.2) {
            assert!(nets.iter().all(|n| n.2.distance(p, 9.0) >= 1.5 - 1e-9));
            assert!(p.y >= 2.5, "off the sheet");
        }
    }
}

/// The path round all begins away from the common lines: with a lead, without
/// one, and where no lead finds room.
#[test]
fn the_path_round_a_row_begins_off_the_common_lines() {
    for (count, leads, off) in [(4, true, 10.0), (4, false, 10.0), (2, true, 95.0)] {
        let mut shop = row(count);
        match &mut shop.rules.leads {
            Some(l) if leads => l.off_corner = off,
            l => *l = None,
        }
        let plan = shop.plan();
        let round = (plan.steps.iter()).find(|s| !s.with.is_empty() && !s.common);
        let cut = &round.expect("a path round all").cuts[0];
        assert_eq!(cut.lead_in.is_empty(), !leads || off > 90.0);
        let CutPath::Closed(path) = &cut.path else {
            panic!("open")
        };
        for end in shop.nested.common.iter().flat_map(|l| l.ends) {
            assert!(path.vertices[0].at.distance(end) >= 10.0);
        }
    }
}

#[test]
fn holes_come_first_then_common_lines_then_the_path_round_all() {
    let plan = row(3).plan();
    let rank = |s: &Step| match (s.hole, s.common) {
        (Some(_), _) => 0,
        (None, true) => 1,
        (None, false) => 2,
    };
    let ranks: Vec<i32> = (plan.steps.iter())
        .filter(|s| s.placed < 3)
        .map(rank)
        .collect();
    assert_eq!(ranks, [0, 0, 0, 1, 1, 2]);
}

/// Where a neighbour leaves no room, the pierce is on the line, and told.
#[test]
fn a_common_line_without_room_for_a_lead_is_told() {
    let mut shop = row(2);
    // Bars below and above, 4 mm off: no room for 8 mm of lead, some for less.
    for (i, y) in [(3, 6.0), (4, 104.0)] {
        let bar = Shop::new(vec![(rectangle(363.0, 10.0), Vec::new(), vec2(20.0, y))]);
        shop.parts.extend(bar.parts);
        shop.nested.placed.extend(bar.nested.placed);
        shop.nested.placed[i].part = i;
    }
    let plan = shop.plan();
    let told = |w: &String| w.contains("the pierce is on the line: common line of P1 and P2");
    assert!(plan.warnings.iter().any(told), "{:?}", plan.warnings);
}

#[test]
fn a_common_line_between_no_edges_is_refused() {
    for (line, between) in [(19.0, [0, 1]), (20.0, [0, 9]), (20.0, [0, 2])] {
        let mut shop = row(2);
        shop.nested.common[0].ends[0].y = line;
        shop.nested.common[0].between = between;
        let fault = shop.tried().expect_err("no edge");
        assert!(fault.what.contains("sheet-1"), "{}", fault.what);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]

    /// Whatever plates are joined: the path round them is one loop half a kerf
    /// off, and the common cuts run from path to path.
    #[test]
    fn plates_joined_by_the_nest_can_be_cut(
        kinds in proptest::collection::vec((any_plate(), 1..5_usize), 1..4),
        kerf in 0.5..6.0_f64,
        leads in any::<bool>(),
    ) {
        let plates = kinds.iter().flat_map(|(o, n)| vec![o.clone(); *n]);
        let mut shop = Shop::new(plates.map(|o| (o, Vec::new(), vec2(0.0, 0.0))).collect());
        shop.rules.kerf = kerf;
        if !leads {
            shop.rules.leads = None;
        }
        let mut job = sample::nested().nest_job;
        job.sheets = vec![sample::sheet()];
        (job.gap, job.rotation) = (8.0, crate::job::Rotation::Free);
        let part = job.parts[0].clone();
        job.parts = (shop.parts.iter())
            .map(|p| nest::NestPart { outline: p.outline.clone(), ..part.clone() })
            .collect();
        job.common = Some(CommonRule { kerf, parts: (0..job.parts.len()).collect() });
        let nest = nest::nest(&job, &|_, _| {}).map_err(|f| TestCaseError::fail(format!("{f:?}")))?;
        for sheet in nest.sheets {
            let lines = sheet.common.len();
            shop.nested = sheet;
            let plan = shop.tried().map_err(|f| TestCaseError::fail(format!("{f:?}")))?;
            prop_assert_eq!(plan.figures.common_lines, lines);
            let rounds: Vec<Walk> = (plan.steps.iter().flat_map(|s| &s.cuts))
                .filter_map(|c| match &c.path {
                    CutPath::Closed(o) => Some(Walk::new(o)),
                    CutPath::Open(_) => None,
                })
                .collect();
            for cut in plan.steps.iter().filter(|s| s.common).flat_map(|s| &s.cuts) {
                let CutPath::Open(line) = &cut.path else {
                    return Err(TestCaseError::fail("closed"));
                };
                for end in [line[0].at, line[1].at] {
                    let off = rounds.iter().map(|w| w.distance(end, 10.0)).fold(10.0, f64::min);
                    prop_assert!(off < 0.02, "{}", off);
                }
            }
        }
    }
}
