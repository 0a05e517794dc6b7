//! Fairing a line, by number of points: the time should grow no faster.

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use planksheer::fair::{Rule, doubtful, fit_line};
use planksheer::geom::{Vec3, trig, vec3};
use planksheer::job::{STARTER, Side, parse};
use planksheer::survey::{Booked, Chain, End, Point, Survey};

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

criterion_group!(benches, lines, doubts);
criterion_main!(benches);
