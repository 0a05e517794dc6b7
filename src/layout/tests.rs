//! Bulwarks whose members are known in closed form: edges of straight lines and
//! circles, from a survey without error.

use std::f64::consts::PI;

use super::{JointForm, Layout, MemberKind, layout};
use crate::fair::fair;
use crate::geom::{Vec2, trig, vec2};
use crate::job::{Job, parse};
use crate::survey::read;

const HEIGHT: f64 = 800.0;
const PLATE: f64 = 12.7;
const WIDTH: f64 = 180.0;

/// A level bulwark over a level edge of port, without timber about its plates:
/// their outboard edges stand plumb over the surveyed one. `more` is added at
/// the end.
fn job(more: &str) -> Job {
    let text = format!(
        r#"
name = "closed form"
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
height = "{HEIGHT} mm"
[base]
width = "{WIDTH} mm"
thickness = "{PLATE} mm"
bedding = "0 mm"
[top]
width = "130 mm"
thickness = "{PLATE} mm"
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
end_clearance = "300 mm"
[joints]
weld_gap = "2 mm"
shrinkage = "0.5 mm"
closing_allowance = "0 mm"
[[sheet]]
length = "3 m"
width = "3 m"
thickness = "{PLATE} mm"
{more}"#
    );
    parse(&text, "job.toml", "").unwrap_or_else(|f| panic!("{f}"))
}

/// Laid along points in plan, from forward aft; those named stand at corners.
fn laid(job: &Job, points: &[Vec2], corners: &[usize]) -> Layout {
    let mut csv = "x,y,z,knuckle\n".to_owned();
    for (i, p) in points.iter().enumerate() {
        let knuckle = if corners.contains(&i) { "yes" } else { "" };
        csv.push_str(&format!("{:.9},{:.9},1000,{knuckle}\n", p.x, p.y));
    }
    let tables = [(job.survey.files[0].clone(), csv)];
    let survey = read(&tables, &job.survey, &job.tolerance).unwrap_or_else(|f| panic!("{f}"));
    let edge = fair(&survey, job).unwrap_or_else(|f| panic!("{f}"));
    layout(&edge, job).unwrap_or_else(|f| panic!("{f}"))
}

/// Points evenly along a straight line.
fn line(from: Vec2, to: Vec2, pieces: u32) -> Vec<Vec2> {
    let at = |k: u32| from + (to - from) * (f64::from(k) / f64::from(pieces));
    (0..=pieces).map(at).collect()
}

fn near(got: f64, want: f64, within: f64) {
    assert!((got - want).abs() < within, "{got}, not {want}");
}

#[test]
fn a_straight_run_is_divided_evenly_and_its_pieces_add_up() {
    let straight = line(vec2(8000.0, 2000.0), vec2(0.0, 2000.0), 16);
    let out = laid(&job(""), &straight, &[]);
    for run in &out.runs {
        near(run.edge_length_mm, 8000.0, 1e-6);
    }
    // Three pieces fit sheets of 3 m, two do not; a butt takes its gap, less what
    // its weld draws together.
    for kind in [MemberKind::BasePlate, MemberKind::TopPlate] {
        let plates: Vec<_> = out.members.iter().filter(|m| m.kind == kind).collect();
        assert_eq!(plates.len(), 3);
        let cuts = plates.iter().map(|m| &m.strip.cuts);
        let metal = cuts.map(|[from, to]| to.at(0.0) - from.at(0.0));
        near(metal.sum::<f64>() + 2.0 * (2.0 - 0.5), 8000.0, 1e-6);
        let butts = out.joints.iter().filter(|j| j.kind == kind);
        assert_eq!(butts.clone().count(), 2);
        let wide = if kind == MemberKind::BasePlate {
            WIDTH
        } else {
            130.0
        };
        for joint in butts {
            assert_eq!(joint.form, JointForm::Butt);
            near(out.joint_length(joint).unwrap(), wide, 1e-6);
        }
    }
    // 7400 mm between the first and the last: nine spaces are the fewest up to 900.
    assert_eq!(out.stanchions.len(), 10);
    for (k, s) in out.stanchions.iter().enumerate() {
        assert_eq!(s.name, format!("{}P", k + 1));
        near(s.t, 300.0 + 7400.0 / 9.0 * k as f64, 1e-6);
        near(s.lean, 0.0, 1e-9);
        near(s.length, s.head.z - s.foot.z, 1e-6);
        near(s.foot.z, 1000.0 + PLATE, 1e-6);
    }
}

#[test]
fn on_a_circle_lengths_go_with_the_radius() {
    const RADIUS: f64 = 5000.0;
    let angle = PI / 4.0;
    let at = |k: u32| {
        let a = PI / 4.0 + angle * f64::from(k) / 40.0;
        vec2(4000.0 + RADIUS * trig::cos(a), RADIUS * trig::sin(a))
    };
    let circle: Vec<Vec2> = (0..=40).map(at).collect();
    let doubler = "[[doubler]]\nname = \"chain plate\"\nat = { side = \"port\", along = \"2 m\" }\nlength = \"400 mm\"\nwidth = \"100 mm\"\n";
    let out = laid(&job(doubler), &circle, &[]);
    for run in &out.runs {
        near(run.edge_length_mm, RADIUS * angle, 0.01);
    }
    // Its outboard edge lies 40 mm inboard of the base plate's: a longer stretch
    // of the edge lies outboard of it.
    let doubler = out.members.last().unwrap();
    assert_eq!(doubler.kind, MemberKind::Doubler);
    let inset = (WIDTH - 100.0) / 2.0;
    let stretch = doubler.stretch.to - doubler.stretch.from;
    near(stretch, 400.0 * RADIUS / (RADIUS - inset), 0.01);
    near(
        0.5 * (doubler.stretch.to + doubler.stretch.from),
        2000.0,
        0.01,
    );
    // Feet stand on the circle less the stance inboard, all alike.
    let reach = |s: &super::Stanchion| vec2(s.foot.x - 4000.0, s.foot.y).length();
    let first = reach(&out.stanchions[0]);
    assert!(first < RADIUS && first > RADIUS - WIDTH);
    for s in &out.stanchions {
        near(reach(s), first, 0.01);
    }
}

#[test]
fn plates_mitre_at_a_corner_by_half_its_angle() {
    let turn = PI / 6.0;
    let corner = vec2(4000.0, 2500.0);
    let mut bent = line(corner + vec2(3000.0, 0.0).turned(-turn), corner, 6);
    bent.extend(
        line(corner, corner - vec2(3000.0, 0.0), 6)
            .into_iter()
            .skip(1),
    );
    let out = laid(&job(""), &bent, &[6]);
    let mitres: Vec<_> = out
        .joints
        .iter()
        .filter(|j| j.form == JointForm::Mitre)
        .collect();
    assert_eq!(mitres.len(), 2);
    for joint in mitres {
        let wide = if joint.kind == MemberKind::BasePlate {
            WIDTH
        } else {
            130.0
        };
        near(joint.t, 3000.0, 0.01);
        near(
            out.joint_length(joint).unwrap(),
            wide / trig::cos(turn / 2.0),
            0.01,
        );
    }
}
