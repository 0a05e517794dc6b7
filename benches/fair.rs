//! Fairing a line, by number of points: the time should grow no faster.

use std::fmt::Write;

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use planksheer::fair::{Rule, doubtful, fair, fit_line};
use planksheer::fault::Place;
use planksheer::geom::{Vec3, trig, vec3};
use planksheer::job::{Codes, STARTER, Side, Stern, SurveyFile, TableForm, parse};
use planksheer::length::Unit;
use planksheer::survey::{Booked, Chain, End, Point, Survey, read};

/// Half an ellipse with a parabolic sheer and errors of up to 0.8 mm.
fn edge(n: u32) -> Vec<Vec3> {
    (0..n)
        .map(|k| {
            let a = 0.8 + 4.7 * f64::from(k) / f64::from(n - 1);
            let (x, y) = (8000.0 * trig::cos(a), 2300.0 * trig::sin(a));
            let error = |m: f64| 0.8 * trig::sin(m * f64::from(k));
            let z = 1200.0 + 8e-6 * (x + 1500.0) * (x + 1500.0);
            vec3(x, y + error(12.9898), z + error(78.233))
        })
        .collect()
}

fn lines(c: &mut Criterion) {
    let mut group = c.benchmark_group("fit_line");
    group.sample_size(10);
    for n in [30, 100, 1000, 10_000, 100_000] {
        let points = edge(n);
        group.throughput(Throughput::Elements(u64::from(n)));
        for (name, tolerance, rule) in [
            ("likeliest", 0.8, Rule::Likeliest),
            ("smoothest", 3.0, Rule::Smoothest),
            ("exact", 0.0, Rule::Likeliest),
        ] {
            // A noisy scan cannot be interpolated: its arc length has no meaning.
            if tolerance <= 0.0 && n > 100 {
                continue;
            }
            let tolerances = vec![tolerance; points.len()];
            group.bench_with_input(BenchmarkId::new(name, n), &points, |b, p| {
                b.iter(|| fit_line(p, &tolerances, [false; 2], rule));
            });
        }
    }
    group.finish();
}

/// A whole survey judged for doubtful figures, one slip in 500 points.
fn doubts(c: &mut Criterion) {
    let mut group = c.benchmark_group("doubtful");
    group.sample_size(10);
    let job = parse(STARTER, "job.toml", "").expect("the starter is sound");
    for n in [30, 1000, 10_000, 100_000] {
        let points = edge(n).into_iter().zip(2..).map(|(at, line)| Point {
            at: vec3(
                at.x,
                at.y,
                at.z + if line % 500 == 250 { 25.4 } else { 0.0 },
            ),
            side: if at.y >= 0.0 {
                Side::Port
            } else {
                Side::Starboard
            },
            file: "edge.csv".to_owned(),
            line,
            name: String::new(),
            height: None,
            lean: None,
            slope: None,
            tolerance: None,
            knuckle: false,
            pass: 0,
            booked: Booked::default(),
        });
        let survey = Survey {
            chains: vec![Chain {
                points: points.collect(),
                start: End::Square,
                end: End::Square,
            }],
            ..Survey::default()
        };
        group.throughput(Throughput::Elements(u64::from(n)));
        group.bench_with_input(BenchmarkId::from_parameter(n), &survey, |b, s| {
            b.iter(|| doubtful(s, &job));
        });
    }
    group.finish();
}

/// Text read, slips looked for, both lines faired: the whole of it.
fn surveys(c: &mut Criterion) {
    let mut group = c.benchmark_group("read and fair");
    group.sample_size(10);
    let mut job = parse(STARTER, "job.toml", "").expect("the starter is sound");
    job.survey.unit = Unit::Mm;
    job.survey.stern = Stern::Open;
    job.survey.mirrored = false;
    job.survey.stations_aft = false;
    job.survey.slope = Some(0.0);
    job.survey.round_up = None;
    let file = SurveyFile {
        path: "edge.csv".to_owned(),
        form: TableForm::Points,
        side: Some(Side::Port),
        unit: None,
        codes: Codes::default(),
        layer: String::new(),
        place: Place::default(),
    };
    job.survey.files = vec![file.clone()];
    for n in [100_u32, 1000, 10_000, 100_000] {
        let mut text = String::from("x,y,z\n");
        // A ship's side of 180 m: in a boat's length so many points would lie
        // nearer than points may.
        for k in 0..n {
            let a = 0.3 + 2.5 * f64::from(k) / f64::from(n - 1);
            let (x, y) = (90_000.0 * trig::cos(a), 12_000.0 * trig::sin(a));
            let error = |m: f64| 0.3 * trig::sin(m * f64::from(k));
            let z = 6000.0 + 3e-7 * (x + 9000.0) * (x + 9000.0);
            let (y, z) = (y + error(12.9898), z + error(78.233));
            writeln!(text, "{x:.2},{y:.2},{z:.2}").expect("text");
        }
        let tables = vec![(file.clone(), text)];
        group.throughput(Throughput::Elements(u64::from(n)));
        group.bench_with_input(BenchmarkId::from_parameter(n), &tables, |b, tables| {
            b.iter(|| {
                let survey = read(tables, &job.survey, &job.tolerance).expect("it reads");
                fair(&survey, &job).expect("it is faired")
            });
        });
    }
    group.finish();
}

criterion_group!(benches, lines, doubts, surveys);
criterion_main!(benches);
