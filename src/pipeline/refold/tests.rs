//! The proof, by what it must find.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use super::{prove, read_schedule};
use crate::fault::Fault;
use crate::geom::{Vec2, vec2};
use crate::job::{self, Job};
use crate::layout::{Member, MemberKind};
use crate::part::Part;
use crate::pipeline::flat_job::{develop_member, flatten};
use crate::pipeline::lay;
use crate::pipeline::shape::draw;
use crate::report::lists::bend_schedule;

/// A member with what was written of it.
struct Written {
    job: Job,
    member: Member,
    part: Part,
    dxf: String,
    bends: String,
}

fn demo(change: impl Fn(String) -> String) -> (Job, Vec<Member>) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-hull");
    let text = change(fs::read_to_string(folder.join("job.toml")).expect("the demo"));
    let job = job::parse(&text, "job.toml", &folder.display().to_string()).expect("a sound job");
    let tables: Vec<_> = (job.survey.files.iter())
        .map(|f| (f.clone(), fs::read_to_string(&f.path).expect("a table")))
        .collect();
    let (_, layout) = lay(&job, &tables).expect("it is laid out");
    (job, layout.members)
}

fn write(job: &Job, member: &Member) -> Written {
    let part = flatten(member, job).expect("a part");
    let (_, dxf) = draw(&part, None, job).expect("its file");
    Written {
        job: job.clone(),
        member: member.clone(),
        bends: bend_schedule(&[&part]).expect("a schedule").1,
        part,
        dxf,
    }
}

/// The demo's longest member of a kind.
fn longest(kind: MemberKind) -> Written {
    let (job, members) = demo(|text| text);
    let length = |m: &Member| m.stretch.to - m.stretch.from;
    let member = (members.iter().filter(|m| m.kind == kind))
        .max_by(|a, b| length(a).total_cmp(&length(b)))
        .expect("one of the kind");
    write(&job, member)
}

impl Written {
    fn gap_of(&self, dxf: &str, bends: &str) -> Result<f64, Fault> {
        let rows = read_schedule(bends)?;
        let rows = rows.get(&self.part.name).map_or(&[][..], Vec::as_slice);
        prove(&self.member, &self.part, dxf, rows, &self.job)
    }

    /// The proof of another drawing with this part's schedule.
    fn with_drawing(&self, change: impl Fn(&mut Entity)) -> Result<f64, Fault> {
        self.gap_of(&spoilt(&self.dxf, change), &self.bends)
    }

    /// The proof of this drawing with another schedule: a column's values
    /// changed, its row counted from 0.
    fn with_column(&self, name: &str, change: impl Fn(usize, f64) -> f64) -> Result<f64, Fault> {
        let mut lines = self.bends.lines();
        let head = lines.next().expect("a header");
        let column = head.split(',').position(|h| h == name).expect("a column");
        let mut out = format!("{head}\n");
        for (row, line) in lines.enumerate() {
            let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
            let value = change(row, cells[column].parse().expect("a number"));
            cells[column] = format!("{value:.10}");
            out.push_str(&cells.join(","));
            out.push('\n');
        }
        assert_ne!(out, self.bends);
        self.gap_of(&self.dxf, &out)
    }

    fn corners(&self) -> Vec<Vec2> {
        self.part.outline.vertices.iter().map(|v| v.at).collect()
    }

    /// A vertex of the outline in the middle of a long edge.
    fn middle(&self) -> Vec2 {
        let (lo, hi) = self.part.outline.bounds();
        let far = |p: &Vec2| (p.x - 0.5 * (lo.x + hi.x)).abs();
        let corners = self.corners();
        *(corners.iter().min_by(|a, b| far(a).total_cmp(&far(b)))).expect("a vertex")
    }
}

/// An entity of a drawing: its codes and values.
struct Entity {
    pairs: Vec<(i32, String)>,
}

impl Entity {
    fn is(&self, kind: &str, layer: &str) -> bool {
        self.pairs[0].1 == kind && self.pairs.contains(&(8, layer.to_owned()))
    }

    /// Moves the places for which it is asked to.
    fn move_places(&mut self, to: impl Fn(Vec2) -> Vec2) {
        for k in 0..self.pairs.len() - 1 {
            if self.pairs[k].0 == 10 && self.pairs[k + 1].0 == 20 {
                let number = |k: usize| self.pairs[k].1.parse::<f64>().expect("a number");
                let p = to(vec2(number(k), number(k + 1)));
                self.pairs[k].1 = format!("{:.6}", p.x);
                self.pairs[k + 1].1 = format!("{:.6}", p.y);
            }
        }
    }

    /// Takes out the vertex at a place, with its bulge, and counts one less.
    fn drop_vertex(&mut self, at: Vec2) {
        let near = |pair: &(i32, String), x: f64| {
            pair.1.parse::<f64>().is_ok_and(|y| (y - x).abs() < 1e-4)
        };
        let k = (0..self.pairs.len() - 1)
            .find(|&k| {
                let (a, b) = (&self.pairs[k], &self.pairs[k + 1]);
                a.0 == 10 && b.0 == 20 && near(a, at.x) && near(b, at.y)
            })
            .expect("the vertex");
        let mut last = k + 2;
        while last < self.pairs.len() && self.pairs[last].0 != 10 {
            last += 1;
        }
        self.pairs.drain(k..last);
        let count = self.pairs.iter_mut().find(|p| p.0 == 90).expect("a count");
        let all: usize = count.1.parse().expect("a number");
        count.1 = format!("{}", all - 1);
    }
}

/// A drawing with its outline and holes changed.
fn spoilt(dxf: &str, change: impl Fn(&mut Entity)) -> String {
    let lines: Vec<&str> = dxf.lines().map(str::trim).collect();
    let pairs: Vec<(i32, String)> = (lines.chunks_exact(2))
        .map(|p| (p[0].parse().expect("a code"), p[1].to_owned()))
        .collect();
    let mut out = String::new();
    for entity in pairs.chunk_by(|_, next| next.0 != 0) {
        let mut entity = Entity {
            pairs: entity.to_vec(),
        };
        if entity.is("LWPOLYLINE", "CUT") || entity.is("CIRCLE", "HOLE") {
            change(&mut entity);
        }
        for (code, value) in entity.pairs {
            out.push_str(&format!("{code:>3}\r\n{value}\r\n"));
        }
    }
    out
}

/// The proof must refuse it, and name the part and the place.
fn found(outcome: Result<f64, Fault>, of: &Written, what: &str) {
    match outcome {
        Ok(gap) => panic!("{what}: not found, gap {gap} mm"),
        Err(fault) => {
            let text = fault.to_string();
            assert!(text.contains(&of.part.name), "{what}: {text}");
            assert!(text.contains(&of.member.place), "{what}: {text}");
        }
    }
}

#[test]
fn a_sound_part_shows_the_distance_of_its_arcs() {
    for kind in [MemberKind::BasePlate, MemberKind::TopPlate] {
        let w = longest(kind);
        let gap = w.gap_of(&w.dxf, &w.bends).expect("sound");
        assert!(gap > 0.02 && gap < 0.06, "{gap} mm");
        // Read and written again it is the same.
        let again = w.with_drawing(|_| ()).expect("sound");
        assert!((again - gap).abs() < 1e-4, "{again} against {gap} mm");
    }
}

#[test]
fn the_gap_is_that_of_a_coarse_outline() {
    let coarse = |text: String| {
        text.replace(
            "outline_tolerance = \"0.05 mm\"",
            "outline_tolerance = \"1 mm\"",
        )
    };
    let (job, members) = demo(coarse);
    let gaps: Vec<f64> = (members.iter())
        .filter(|m| m.kind == MemberKind::BasePlate)
        .take(6)
        .map(|m| {
            let w = write(&job, m);
            w.gap_of(&w.dxf, &w.bends).expect("within what it may")
        })
        .collect();
    let largest = gaps.iter().copied().fold(0.0, f64::max);
    assert!(largest > 0.5 && largest < 1.03, "{gaps:?}");
}

#[test]
fn a_spoilt_outline_is_found() {
    let w = longest(MemberKind::BasePlate);
    let (lo, hi) = w.part.outline.bounds();
    let at = w.middle();
    let off = |by: Vec2| move |p: Vec2| if p.distance(at) < 1e-3 { p + by } else { p };
    found(
        w.with_drawing(|e| e.move_places(off(vec2(0.0, 0.3)))),
        &w,
        "a vertex out",
    );
    found(
        w.with_drawing(|e| e.move_places(off(vec2(0.0, -0.3)))),
        &w,
        "a vertex in",
    );
    let scaled = |e: &mut Entity| e.move_places(|p| p * 1.0001);
    found(w.with_drawing(scaled), &w, "a scale");
    let longer = |e: &mut Entity| {
        e.move_places(|p| {
            if p.x > hi.x - 60.0 {
                p + vec2(0.3, 0.0)
            } else {
                p
            }
        });
    };
    found(w.with_drawing(longer), &w, "an end");
    let wider = |e: &mut Entity| {
        let middle = 0.5 * (lo.y + hi.y);
        e.move_places(|p| if p.y > middle { p + vec2(0.0, 0.3) } else { p });
    };
    found(w.with_drawing(wider), &w, "a width");
    let dropped = |e: &mut Entity| {
        if e.is("LWPOLYLINE", "CUT") {
            e.drop_vertex(at);
        }
    };
    found(w.with_drawing(dropped), &w, "a vertex dropped");
    let mirrored = |e: &mut Entity| e.move_places(|p| vec2(p.x, hi.y - p.y));
    found(w.with_drawing(mirrored), &w, "mirrored");
}

#[test]
fn a_spoilt_hole_is_found() {
    let w = longest(MemberKind::BasePlate);
    let at = w.part.holes[w.part.holes.len() / 2].centre;
    let one = |e: &Entity| {
        e.is("CIRCLE", "HOLE")
            && e.pairs
                .iter()
                .any(|p| p.0 == 10 && p.1.parse::<f64>().is_ok_and(|x| (x - at.x).abs() < 1e-3))
    };
    for by in [vec2(0.5, 0.0), vec2(0.0, 0.5)] {
        let moved = |e: &mut Entity| {
            if one(e) {
                e.move_places(|p| p + by);
            }
        };
        found(w.with_drawing(moved), &w, "a hole");
    }
    let wider = |e: &mut Entity| {
        if one(e) {
            for p in e.pairs.iter_mut().filter(|p| p.0 == 40) {
                p.1 = "7.000000".to_owned();
            }
        }
    };
    found(w.with_drawing(wider), &w, "a diameter");
    let missing = |e: &mut Entity| {
        if one(e) {
            e.pairs.clear();
        }
    };
    found(w.with_drawing(missing), &w, "a hole left out");
}

#[test]
fn a_spoilt_schedule_is_found() {
    let w = longest(MemberKind::BasePlate);
    let spoilt = |name: &str, change: &dyn Fn(f64) -> f64| {
        found(w.with_column(name, |_, v| change(v)), &w, name);
    };
    spoilt("curvature_per_m", &|v| v * 1.03);
    spoilt("twist_deg_per_m", &|v| v + 0.1);
    spoilt("turn_deg_per_m", &|v| v + 0.01);
    spoilt("stretch_mm_per_m", &|v| v + 0.1);
    spoilt("shift_across_mm", &|v| v + 0.3);
    spoilt("shift_along_mm", &|v| v + 0.3);
    spoilt("outboard_x_mm", &|v| v * 1.0001);
    spoilt("inboard_y_mm", &|v| v + 0.3);
    // One row of many.
    let row = |k: usize, v: f64| if k == 20 { v + 0.3 } else { v };
    found(w.with_column("outboard_y_mm", row), &w, "a row");
    let row = |k: usize, v: f64| if k == 20 { v + 0.01 } else { v };
    found(
        w.with_column("curvature_per_m", row),
        &w,
        "a row's curvature",
    );
}

/// A member made wider, its slope steeper.
fn wrung(member: &Member, wider: f64, steeper: f64) -> Member {
    let mut guide = (*member.strip.guide).clone();
    guide.width *= wider;
    for c in &mut guide.slope.coefficients {
        c[0] *= steeper;
    }
    let mut out = member.clone();
    out.strip.guide = Arc::new(guide);
    out
}

#[test]
fn a_plate_that_no_schedule_folds_is_refused() {
    let (job, members) = demo(|text| text);
    let twisted = members.iter().find(|m| m.name == "B1").expect("the stem's");
    // The stem's plate four times as steep still folds back.
    develop_member(&wrung(twisted, 1.0, 4.0), &job).expect("17 degrees a metre");
    let refused = develop_member(&wrung(twisted, 5.0, 8.0), &job).expect_err("0.27 mm");
    let text = refused.to_string();
    for word in [
        "part B1",
        &twisted.place,
        "bend schedule",
        "mm off",
        "narrower",
    ] {
        assert!(text.contains(word), "{text}");
    }
}
