//! The stages one after the other, on a bulwark that needs no sums: a straight
//! level side, whose plates are rectangles.

use std::sync::atomic::AtomicBool;

use super::pattern::senses;
use super::{Shaped, files, lay, nest, shape};
use crate::fault::{Faults, Kind};
use crate::job::{Effort, Job, SurveyFile, parse};
use crate::layout::MemberKind;

const JOB: &str = r#"
name = "straight side"
[survey]
unit = "mm"
accuracy = "0 mm"
line = "covering-board-edge"
stern = "open"
slope = 0.0
[[survey.file]]
path = "edge.csv"
form = "points"
side = "port"
[bulwark]
height = "800 mm"
[base]
width = "180 mm"
thickness = "12.7 mm"
bedding = "0 mm"
[top]
width = "130 mm"
thickness = "12.7 mm"
slope = "level"
[section]
planking = "0 mm"
planking_inset = "0 mm"
weld_setback = "0 mm"
inwale = "20 mm"
cap_width = "200 mm"
cap_thickness = "44 mm"
overhang_outboard = "10 mm"
overhang_inboard = "10 mm"
[stanchions]
side = "4 in"
wall = "1/4 in"
spacing = "900 mm"
[joints]
weld_gap = "2 mm"
shrinkage = "0.5 mm"
closing_allowance = "0 mm"
[[sheet]]
length = "3 m"
width = "1500 mm"
thickness = "12.7 mm"
"#;

/// The job with its survey; `edge` gives y of a point by its place.
fn job(edge: impl Fn(u32) -> f64) -> (Job, Vec<(SurveyFile, String)>) {
    let job = parse(JOB, "job.toml", "").unwrap_or_else(|f| panic!("{f}"));
    let row = |k: u32| format!("{},{},1000\n", 8000 - 500 * k, edge(k));
    let csv: String = (0..=16).map(row).collect();
    let tables = vec![(job.survey.files[0].clone(), format!("x,y,z\n{csv}"))];
    (job, tables)
}

/// The straight side, and what came of it.
pub(super) fn straight_side() -> (Job, Shaped) {
    let (job, tables) = job(|_| 2000.0);
    let shaped = shaped(&job, &tables);
    (job, shaped)
}

fn shaped(job: &Job, tables: &[(SurveyFile, String)]) -> Shaped {
    shape(job, tables).unwrap_or_else(|f: Faults| panic!("{f}"))
}

#[test]
fn every_member_comes_through_flat_and_net() {
    let (job, tables) = job(|_| 2000.0);
    let shaped = shaped(&job, &tables);
    let members = &shaped.layout.members;
    assert_eq!(members.len(), shaped.parts.len());
    // 8 m of edge in three pieces; a butt takes its gap, less the weld's shrinkage.
    for (kind, width) in [
        (MemberKind::BasePlate, 180.0),
        (MemberKind::TopPlate, 130.0),
    ] {
        let of_kind = members
            .iter()
            .zip(&shaped.parts)
            .filter(|(m, _)| m.kind == kind);
        let areas = of_kind.map(|(m, flat)| {
            assert_eq!(m.name, flat.part.name);
            assert!(flat.refold_gap < 1e-4, "{}: {}", m.name, flat.refold_gap);
            flat.part.outline.area()
        });
        let areas: Vec<f64> = areas.collect();
        assert_eq!(areas.len(), 3);
        let want = width * (8000.0 - 2.0 * (2.0 - 0.5));
        let sum: f64 = areas.iter().sum();
        assert!((sum - want).abs() < 1e-3 * width, "{sum}, not {want}");
    }
}

#[test]
fn a_strip_for_the_loft_is_told_which_way_it_lies() {
    let (job, tables) = job(|_| 2000.0);
    let shaped = shaped(&job, &tables);
    for f in &shaped.parts {
        // Port, the bow to the right: outboard is up, and down from below.
        let edge = if f.part.frame.mirrored {
            "lower"
        } else {
            "upper"
        };
        let told = format!("forward is to the right, the {edge} edge is outboard");
        assert_eq!(senses(&f.part), Some(told), "{}", f.part.name);
    }
}

#[test]
fn every_part_is_nested_once_and_written_on_any_number_of_threads() {
    let written = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        pool.expect("threads").install(|| {
            let (job, tables) = job(|_| 2000.0);
            let shaped = shaped(&job, &tables);
            let groups = nest(
                &job,
                &shaped,
                Effort::Quick,
                &|_, _| (),
                &AtomicBool::new(false),
            );
            let groups = groups.unwrap_or_else(|f| panic!("{f}"));
            let mut placed: Vec<usize> = groups
                .iter()
                .flat_map(|g| g.nest.sheets.iter().map(move |s| (g, s)))
                .flat_map(|(g, s)| s.placed.iter().map(|p| g.parts[p.part]))
                .collect();
            placed.sort_unstable();
            assert_eq!(placed, (0..shaped.parts.len()).collect::<Vec<_>>());
            files(&job, &shaped, &groups).unwrap_or_else(|f| panic!("{f}"))
        })
    };
    let (one, three) = (written(1), written(3));
    assert!(one.files.keys().any(|name| name.ends_with(".dxf")));
    assert_eq!(one.files, three.files);
}

#[test]
fn a_refusal_is_that_of_the_first_stage_that_refuses() {
    let back = |k: u32| if k == 8 { -2000.0 } else { 2000.0 };
    let (job, tables) = job(back);
    let kinds = |f: Faults| f.0.iter().map(|f| f.kind).collect::<Vec<_>>();
    let laid = kinds(lay(&job, &tables).expect_err("over the centreline"));
    assert_eq!(laid, [Kind::Conflict]);
    assert_eq!(kinds(shape(&job, &tables).expect_err("refused")), laid);
}
