//! Speed of flattening: `cargo bench --bench develop`.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use planksheer::develop::shapes::{Deck, Shape, cone, deck, helicoid};
use planksheer::develop::{Options, develop};

fn plate(radius: f64) -> Shape {
    deck(Deck {
        length: 3600.0,
        width: 180.0,
        radius,
        slope: 0.06,
        slope_rate: 1.6e-5,
        sheer: 2e-5,
    })
}

fn bench(c: &mut Criterion) {
    let options = Options::default();
    let strip = plate(8000.0);
    c.bench_function("deck strip of 3.6 m", |b| {
        b.iter(|| develop(black_box(&strip), &options));
    });
    let knotted =
        plate(8000.0).with_knots((1..12).map(|k| f64::from(k) * 300.0 - 1800.0).collect());
    c.bench_function("deck strip of 3.6 m with 11 knots", |b| {
        b.iter(|| develop(black_box(&knotted), &options));
    });
    let boat: Vec<Shape> = (0..25)
        .map(|k| plate(2500.0 + 1000.0 * f64::from(k)).with_ends(|w| (-1200.0 - 20.0 * w, 1200.0)))
        .collect();
    c.bench_function("boat of 25 strips, 60 m", |b| {
        b.iter(|| {
            boat.iter()
                .filter(|s| develop(*s, &options).is_ok())
                .count()
        });
    });
    let round = cone(1500.0, 1330.0, 20.0, 3.0);
    c.bench_function("round stern of 4.5 m", |b| {
        b.iter(|| develop(black_box(&round), &options));
    });
    let screw = helicoid(150.0, 50.0, 300.0, 2.0 * std::f64::consts::PI);
    c.bench_function("screw flight, one turn", |b| {
        b.iter(|| develop(black_box(&screw), &options));
    });
}

criterion_group!(benches, bench);
criterion_main!(benches);
