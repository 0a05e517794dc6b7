//! Lists, drawings, passes and the datum.

use std::fs;
use std::path::PathBuf;

use proptest::prelude::*;

use super::super::*;
use super::run;
use crate::dxf::drawing_text;
use crate::fault::{Kind, Place};
use crate::geom::rigid::{Rigid, best};
use crate::geom::{Vec3, trig, vec3};
use crate::job::{Codes, Datum, Reference, Side, Stern, SurveyFile, SurveyJob, TableForm};

fn job(stern: Stern) -> SurveyJob {
    SurveyJob {
        accuracy: 1.5,
        ..super::job(stern)
    }
}

fn table(path: &str, form: TableForm, text: impl Into<String>) -> (SurveyFile, String) {
    let file = SurveyFile {
        path: path.to_owned(),
        form,
        side: None,
        unit: None,
        codes: Codes::default(),
        layer: "EDGE".to_owned(),
        place: Place::default(),
    };
    (file, text.into())
}

fn places(s: &Survey) -> Vec<Vec3> {
    s.chains
        .iter()
        .flat_map(|c| c.points.iter().map(|p| p.at))
        .collect()
}

fn nearly(a: &[Vec3], b: &[Vec3], within: f64) {
    assert_eq!(a.len(), b.len());
    for (i, (p, q)) in a.iter().zip(b).enumerate() {
        assert!(p.distance(*q) <= within, "point {i}: {p:?} {q:?}");
    }
}

fn top(path: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(path)
}

fn drawing(version: &str) -> String {
    let path = top(&format!("fixtures/drawings/edge-{version}.dxf"));
    drawing_text(fs::read(path).unwrap())
}

/// The demo hull by its point tables.
fn demo() -> Survey {
    let tables = ["port", "starboard"].map(|side| {
        let text = fs::read_to_string(top(&format!("demo-hull/{side}.csv"))).unwrap();
        table(side, TableForm::Points, text)
    });
    run(&job(Stern::Round), &tables).unwrap()
}

/// Rows of a list: edge points of chains, their inboard points by code.
fn rows(s: &Survey) -> Vec<String> {
    let mut out = Vec::new();
    for p in s.chains.iter().flat_map(|c| &c.points) {
        let Vec3 { x, y, z } = p.at;
        out.push(format!("E,{x},{y},{z}"));
        if let Some(SlopeGiven::Inboard(v)) = p.slope {
            out.push(format!("IB,{},{},{}", v.x, v.y, v.z));
        }
    }
    out
}

fn list(rows: &[String]) -> (SurveyFile, String) {
    let mut t = table(
        "list.csv",
        TableForm::List,
        format!("code,x,y,z\n{}\n", rows.join("\n")),
    );
    t.0.codes.edge = vec!["E".to_owned()];
    t.0.codes.inboard = vec!["ib".to_owned()];
    t
}

/// A fixed shuffle by multiplying places modulo a prime.
fn shuffled<T: Clone>(items: &[T], seed: usize) -> Vec<T> {
    let mut keyed: Vec<(usize, &T)> = items
        .iter()
        .enumerate()
        .map(|(i, t)| ((i + 1) * (seed * 2 + 7919) % 104_729, t))
        .collect();
    keyed.sort_by_key(|(k, _)| *k);
    keyed.into_iter().map(|(_, t)| t.clone()).collect()
}

#[test]
fn a_drawing_of_every_release_gives_the_edge_of_the_tables() {
    let want = places(&demo());
    for version in ["R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018"] {
        let s = run(
            &job(Stern::Round),
            &[table("edge.dxf", TableForm::Dxf, drawing(version))],
        )
        .unwrap_or_else(|f| panic!("{version}: {f}"));
        assert_eq!(s.chains.len(), 1);
        nearly(&places(&s), &want, 1e-9);
    }
}

#[test]
fn a_drawings_points_name_their_lines() {
    let text = drawing("R2000");
    let s = run(
        &job(Stern::Round),
        &[table("edge.dxf", TableForm::Dxf, text.clone())],
    )
    .unwrap();
    let lines: Vec<&str> = text.lines().collect();
    for p in &s.chains[0].points {
        assert!(
            ["10", "11"].contains(&lines[p.line - 1].trim()),
            "{}",
            p.name
        );
        let x: f64 = lines[p.line].trim().parse().unwrap();
        assert!((x - p.at.x).abs() < 1e-9, "{}", p.name);
    }
}

#[test]
fn a_shuffled_list_gives_the_edge_of_the_table() {
    let want = demo();
    let rows = shuffled(&rows(&want), 3);
    let got = run(&job(Stern::Round), &[list(&rows)]).unwrap();
    nearly(&places(&got), &places(&want), 0.0);
    let slopes = |s: &Survey| -> Vec<Option<SlopeGiven>> {
        s.chains[0].points.iter().map(|p| p.slope).collect()
    };
    assert_eq!(slopes(&got), slopes(&want));
    assert!(got.notes.is_empty(), "{:?}", got.notes);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn the_order_of_a_lists_rows_changes_nothing(seed in 0usize..5000, other in 0usize..5000) {
        let rows = rows(&demo());
        let one = run(&job(Stern::Round), &[list(&shuffled(&rows, seed))]).unwrap();
        let two = run(&job(Stern::Round), &[list(&shuffled(&rows, other))]).unwrap();
        prop_assert_eq!(places(&one), places(&two));
    }

    #[test]
    fn damaged_drawings_are_surveys_or_faults(changes in proptest::collection::vec((0usize..30_000, any::<u8>()), 1..12), cut in 0usize..60_000, version in 0usize..3) {
        let text = drawing(["R12", "R2000", "R2018"][version]);
        let mut bytes = text.into_bytes();
        for (at, byte) in changes {
            let n = bytes.len();
            bytes[at % n] = byte;
        }
        bytes.truncate(cut);
        let text = drawing_text(bytes);
        if let Ok(s) = run(&job(Stern::Round), &[table("edge.dxf", TableForm::Dxf, text)]) {
            for p in places(&s) {
                prop_assert!(p.x.is_finite() && p.y.is_finite() && p.z.is_finite());
            }
        }
    }

    #[test]
    fn changed_figures_of_a_drawing_are_surveys_or_faults(changes in proptest::collection::vec((0usize..1400, "[0-9]{1,3}|-?[0-9]{1,5}[.][0-9]|nan|inf|1e400|LINE|POLYLINE|VERTEX|SEQEND|ENDSEC|"), 1..6)) {
        let text = drawing("R12");
        let mut lines: Vec<&str> = text.lines().collect();
        for (at, new) in &changes {
            let n = lines.len();
            lines[at % n] = new;
        }
        if let Ok(s) = run(&job(Stern::Round), &[table("edge.dxf", TableForm::Dxf, lines.join("\n"))]) {
            for p in places(&s) {
                prop_assert!(p.x.is_finite() && p.y.is_finite() && p.z.is_finite());
            }
        }
    }
}

/// Noise even within plus and minus 1, from two whole numbers: the mixing
/// step of SplitMix64 (Steele, Lea & Flood, OOPSLA 2014).
fn noise(a: usize, b: usize) -> f64 {
    let mut h = ((a as u64) << 32 | b as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    h = (h ^ (h >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    h = (h ^ (h >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    h ^= h >> 31;
    (h >> 11) as f64 / (1u64 << 52) as f64 - 1.0
}

/// One pass along an arc of 6 m radius, level, bow to stern, on port; `from`
/// and `to` are parts of its turn.
fn arc_pass(count: usize, from: f64, to: f64, seed: usize, error: f64) -> Vec<Vec3> {
    (0..count)
        .map(|i| {
            let f = from + (to - from) * i as f64 / (count - 1) as f64;
            let a = 0.4 + 1.9 * f;
            let r = 6000.0 + error * noise(i, 2 * seed);
            vec3(
                r * trig::cos(a),
                r * trig::sin(a),
                1200.0 + error * noise(i, 2 * seed + 1),
            )
        })
        .collect()
}

fn points_table(path: &str, points: &[Vec3]) -> (SurveyFile, String) {
    let mut text = "x,y,z,side\n".to_owned();
    for p in points {
        text.push_str(&format!("{},{},{},port\n", p.x, p.y, p.z));
    }
    table(path, TableForm::Points, text)
}

#[test]
fn passes_that_overlap_interleave_along_the_edge() {
    let whole = arc_pass(41, 0.0, 1.0, 0, 0.0);
    let even: Vec<Vec3> = whole.iter().step_by(2).copied().collect();
    let mut odd: Vec<Vec3> = whole.iter().skip(1).step_by(2).copied().collect();
    odd.reverse();
    let tables = [points_table("a.csv", &even), points_table("b.csv", &odd)];
    let s = run(&job(Stern::Open), &tables).unwrap();
    nearly(&places(&s), &whole, 1e-9);
    // One pass of the fore part and one of the after part, sharing the middle.
    let parts = [
        points_table("a.csv", &whole[18..]),
        points_table("b.csv", &whole[..24]),
    ];
    let s = run(&job(Stern::Open), &parts).unwrap();
    nearly(&places(&s), &whole, 1e-9);
}

#[test]
fn repeated_rows_of_a_list_are_averaged_and_told() {
    let whole = arc_pass(12, 0.0, 1.0, 0, 0.0);
    let mut rows: Vec<String> = whole
        .iter()
        .map(|p| format!("E,{},{},{}", p.x, p.y, p.z))
        .collect();
    rows.push(format!(
        "E,{},{},{}",
        whole[4].x,
        whole[4].y,
        whole[4].z + 2.0
    ));
    let s = run(&job(Stern::Open), &[list(&rows)]).unwrap();
    assert_eq!(places(&s).len(), 12);
    assert!((places(&s)[4].z - 1201.0).abs() < 1e-9);
    assert_eq!(s.notes.len(), 1);
    assert!(
        s.notes[0].text.contains("lines 6 and 14"),
        "{:?}",
        s.notes[0]
    );
}

#[test]
fn passes_that_disagree_are_told_with_rows_and_distance() {
    let a = arc_pass(21, 0.0, 1.0, 0, 0.0);
    let lifted = |by: f64| -> Vec<Vec3> {
        let mut b = arc_pass(33, 0.1, 0.9, 0, 0.0);
        for p in &mut b[10..14] {
            p.z += by;
        }
        b
    };
    let tables = |by| {
        [
            points_table("a.csv", &a),
            points_table("b.csv", &lifted(by)),
        ]
    };
    assert!(run(&job(Stern::Open), &tables(2.0)).is_ok());
    let f = run(&job(Stern::Open), &tables(20.0)).unwrap_err();
    assert_eq!(f.0.len(), 1, "{f}");
    let f = &f.0[0];
    assert_eq!((f.kind, f.place.file.as_str()), (Kind::Survey, "b.csv"));
    assert!((12..=15).contains(&f.place.line.unwrap()), "{f}");
    assert!(f.what.contains("20 mm off the one in a.csv"), "{f}");
    assert!(f.what.contains("3 rows beside it"), "{f}");
}

/// Sum of squares of a faired arc's distance from the true one.
fn faired_error(passes: usize, seed: usize) -> f64 {
    let tables: Vec<_> = (0..passes)
        .map(|k| {
            let pass = arc_pass(31, 0.0, 1.0, seed * 5 + k, 1.5);
            points_table(&format!("{k}.csv"), &pass)
        })
        .collect();
    let mut job = crate::sample::job();
    job.survey = self::job(Stern::Open);
    job.survey.slope = Some(0.0);
    let s = run(&job.survey, &tables).unwrap();
    assert_eq!(places(&s).len(), 31);
    let edge = crate::fair::fair(&s, &job).unwrap();
    let length = &edge.chains[0].lengths[0];
    (0..=200)
        .map(|i| {
            let f = f64::from(i) / 200.0;
            let (from, to) = length.range();
            let p = length.base_point(from + (to - from) * f);
            let (r, z) = (p.plan().length() - 6000.0, p.z - 1200.0);
            r * r + z * z
        })
        .sum()
}

#[test]
fn a_second_pass_brings_the_faired_line_nearer_the_truth() {
    let sum = |passes| (0..12).map(|seed| faired_error(passes, seed)).sum::<f64>();
    let (one, two) = (sum(1), sum(2));
    println!("root mean square ratio {:.2}", (two / one).sqrt());
    assert!((two / one).sqrt() < 0.85, "{:.3}", (two / one).sqrt());
}

#[test]
fn a_long_dense_list_is_put_in_order() {
    let pass = arc_pass(6000, 0.0, 1.0, 4, 0.4);
    let rows: Vec<String> = pass
        .iter()
        .map(|p| format!("E,{:.3},{:.3},{:.3}", p.x, p.y, p.z))
        .collect();
    let mut j = job(Stern::Open);
    j.accuracy = 0.5;
    let s = run(&j, &[list(&shuffled(&rows, 11))]).unwrap();
    let got = places(&s);
    assert!(got.len() > 3000, "{}", got.len());
    assert!(
        got.windows(2)
            .all(|w| w[1].plan().angle() > w[0].plan().angle())
    );
}

#[test]
fn gaps_are_noted() {
    let mut pass = arc_pass(41, 0.0, 1.0, 0, 0.0);
    pass.drain(20..26);
    let s = run(&job(Stern::Open), &[points_table("a.csv", &pass)]).unwrap();
    assert_eq!(s.notes.len(), 1, "{:?}", s.notes);
    assert_eq!(s.notes[0].place.line, Some(22));
    assert!(
        s.notes[0].text.contains("no point was measured over 19"),
        "{:?}",
        s.notes
    );
    let even = run(
        &job(Stern::Open),
        &[points_table("a.csv", &arc_pass(41, 0.0, 1.0, 0, 0.0))],
    );
    assert!(even.unwrap().notes.is_empty());
}

/// Straight sides 2 m apart to the stern: round it the curve is a guess, and
/// is told; not so with points there, nor where the stern is said to be open.
#[test]
fn a_stern_that_was_not_measured_round_is_noted() {
    let side = |y: f64, stern: &str| {
        let mut rows = vec!["x,y,z".to_owned()];
        rows.extend((0..8).map(|i| format!("{},{y},900", 5000 - 600 * i)));
        rows.push(stern.to_owned());
        rows.retain(|r| !r.is_empty());
        rows.join("\n") + "\n"
    };
    let survey = |stern: Stern, port: &str, starboard: &str| {
        let mut port = table("p.csv", TableForm::Points, side(1000.0, port));
        let mut starboard = table("s.csv", TableForm::Points, side(-1000.0, starboard));
        port.0.side = Some(Side::Port);
        starboard.0.side = Some(Side::Starboard);
        run(&job(stern), &[port, starboard]).unwrap().notes
    };
    let told = survey(Stern::Round, "", "");
    assert_eq!(told.len(), 1, "{told:?}");
    assert_eq!(told[0].place.line, Some(9));
    let text = &told[0].text;
    assert!(
        text.contains("2000 mm apart") && text.contains("180 degrees"),
        "{text}"
    );
    assert!(survey(Stern::Open, "", "").is_empty());
    let round = |sign: &str| {
        [(400, 900), (150, 600), (50, 200)]
            .map(|(x, y)| format!("{x},{sign}{y},900"))
            .join("\n")
    };
    assert!(survey(Stern::Round, &round(""), &round("-")).is_empty());
}

#[test]
fn a_row_on_the_wrong_side_is_named() {
    let rows = rows(&demo());
    let mut rows: Vec<String> = rows.into_iter().filter(|r| r.starts_with('E')).collect();
    let cells: Vec<&str> = rows[12].split(',').collect();
    rows[12] = format!("E,{},-{},{}", cells[1], cells[2], cells[3]);
    let f = run(&job(Stern::Round), &[list(&rows)]).unwrap_err();
    let hit = &f.0[0];
    assert_eq!((hit.kind, hit.place.line), (Kind::Survey, Some(14)), "{f}");
    assert!(hit.what.contains("on starboard"), "{f}");
    // The same rows from side to side at every station: nothing is swapped.
    let demo = demo();
    let (port, starboard) = demo.chains[0].points.split_at(27);
    let mut rows = Vec::new();
    for (p, s) in port.iter().zip(starboard.iter().rev()) {
        for p in [p, s] {
            rows.push(format!("E,{},{},{}", p.at.x, p.at.y, p.at.z));
        }
    }
    assert!(run(&job(Stern::Round), &[list(&rows)]).is_ok());
}

/// The demo hull as an instrument saw it, with four references: rows of a
/// list, and the job.
fn by_instrument(motion: &Rigid, level: bool) -> (Vec<String>, SurveyJob) {
    let boat = [
        ("stem", vec3(14_900.0, 0.0, 2300.0)),
        ("mast", vec3(8000.0, 0.0, 4000.0)),
        ("bitt port", vec3(1000.0, 1200.0, 1700.0)),
        ("bitt starboard", vec3(1000.0, -1200.0, 1700.0)),
    ];
    let seen = |p: Vec3| {
        let q = motion.apply(p);
        format!("{:.9},{:.9},{:.9}", q.x, q.y, q.z)
    };
    let mut rows = Vec::new();
    for p in demo().chains[0].points.iter() {
        rows.push(format!("E,{},", seen(p.at)));
        if let Some(SlopeGiven::Inboard(v)) = p.slope {
            rows.push(format!("IB,{},", seen(v)));
        }
    }
    for (name, p) in boat {
        rows.push(format!("datum,{},{name}", seen(p)));
    }
    let mut job = job(Stern::Round);
    job.datum = Some(Datum {
        level,
        limit: None,
        references: boat
            .iter()
            .map(|(name, p)| Reference {
                name: (*name).to_owned(),
                boat: *p,
                measured: None,
            })
            .collect(),
    });
    (rows, job)
}

fn instrument_list(rows: &[String]) -> (SurveyFile, String) {
    let mut t = list(&[]);
    t.1 = format!("code,x,y,z,name\n{}\n", rows.join("\n"));
    t
}

/// A motion that takes three points elsewhere: turned about the vertical,
/// and tilted where asked.
fn somewhere(turn: f64, tilt: f64) -> Rigid {
    let (s, c) = (trig::sin(turn), trig::cos(turn));
    let (st, ct) = (trig::sin(tilt), trig::cos(tilt));
    let move_ = |p: Vec3| {
        let (x, y, z) = (c * p.x - s * p.y, s * p.x + c * p.y, p.z);
        vec3(
            x + 31_000.0,
            ct * y - st * z - 12_000.0,
            st * y + ct * z - 900.0,
        )
    };
    let from = [
        vec3(1000.0, 0.0, 0.0),
        vec3(0.0, 1000.0, 0.0),
        vec3(0.0, 0.0, 1000.0),
        vec3(0.0, 0.0, 0.0),
    ];
    best(&from, &from.map(move_))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]
    #[test]
    fn an_instrument_anywhere_gives_the_same_boat(turn in -3.1..3.1f64, tilt in -0.5..0.5f64, level: bool, seed in 0usize..1000) {
        let motion = somewhere(turn, if level { 0.0 } else { tilt });
        let (rows, job) = by_instrument(&motion, level);
        let s = run(&job, &[instrument_list(&shuffled(&rows, seed))]).unwrap();
        let want = places(&demo());
        let got = places(&s);
        prop_assert_eq!(got.len(), want.len());
        for (p, q) in got.iter().zip(&want) {
            // The list itself is written to 1e-9 mm.
            prop_assert!(p.distance(*q) < 1e-8, "{}", p.distance(*q));
        }
        let fit = s.datum.unwrap();
        prop_assert!(fit.rms < 1e-8 && fit.references.len() == 4);
    }
}

fn first(rows: &[String], job: &SurveyJob) -> crate::fault::Fault {
    let f = run(job, &[instrument_list(rows)]).unwrap_err();
    assert_eq!(f.0.len(), 1, "{f}");
    f.0[0].clone()
}

#[test]
fn a_wrong_reference_is_named() {
    let (mut rows, job) = by_instrument(&somewhere(1.0, 0.1), false);
    let n = rows.len();
    let cells: Vec<String> = rows[n - 3].split(',').map(str::to_owned).collect();
    let x: f64 = cells[1].parse().unwrap();
    rows[n - 3] = format!("datum,{},{},{},mast", x + 300.0, cells[2], cells[3]);
    let f = first(&rows, &job);
    assert!(f.mend.contains("without `mast` the others agree"), "{f}");
    assert_eq!(f.place.line, Some(n - 1), "{f}");
}

#[test]
fn references_on_one_line_or_together_are_refused() {
    let (rows, mut job) = by_instrument(&somewhere(0.0, 0.0), false);
    let kept = job.datum.as_mut().unwrap();
    for (i, r) in kept.references.iter_mut().enumerate() {
        r.boat = vec3(4000.0 * i as f64, 1000.0 * i as f64, 100.0);
    }
    assert!(first(&rows, &job).what.contains("lie on one line"));
    for r in &mut job.datum.as_mut().unwrap().references {
        r.boat = vec3(10.0, 20.0, 30.0);
    }
    assert!(first(&rows, &job).what.contains("of each other"));
}

#[test]
fn swapped_axes_are_told_apart_from_bad_points() {
    let (rows, job) = by_instrument(&somewhere(0.7, 0.0), false);
    let swap = |r: &String| {
        let c: Vec<&str> = r.split(',').collect();
        format!("{},{},{},{},{}", c[0], c[2], c[1], c[3], c[4])
    };
    let rows: Vec<String> = rows.iter().map(swap).collect();
    assert!(first(&rows, &job).mend.contains("look swapped"));
}

#[test]
fn a_reference_measured_twice_must_agree() {
    let (mut rows, job) = by_instrument(&somewhere(0.7, 0.0), false);
    let last = rows.last().unwrap().clone();
    rows.push(last.clone());
    let s = run(&job, &[instrument_list(&rows)]).unwrap();
    assert_eq!(s.datum.unwrap().references[3].shots, 2);
    let cells: Vec<&str> = last.split(',').collect();
    let off: f64 = cells[3].parse::<f64>().unwrap() + 40.0;
    rows.push(format!(
        "datum,{},{},{off},{}",
        cells[1], cells[2], cells[4]
    ));
    assert!(
        first(&rows, &job)
            .what
            .contains("measured before, 40 mm away")
    );
}
