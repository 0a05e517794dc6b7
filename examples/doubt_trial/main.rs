//! How many planted slips are found in invented surveys, and how many good figures are
//! doubted for nothing. `cargo run --release --example doubt_trial -- 10000`

mod hulls;

use hulls::{Count, Recipe, USUAL, trial};
use planksheer::length::INCH;

fn share(part: usize, whole: usize) -> f64 {
    100.0 * part as f64 / whole.max(1) as f64
}

#[allow(clippy::print_stdout, reason = "a measurement is printed")]
fn main() {
    let n: u64 = std::env::args()
        .nth(1)
        .and_then(|a| a.parse().ok())
        .unwrap_or(1000);
    let sparse = |points| Recipe {
        points: (points, points),
        turn_deg: 25.0,
        ..USUAL
    };
    let recipes = [
        ("usual", USUAL),
        (
            "one inch",
            Recipe {
                exactly_in: Some(1.0),
                ..USUAL
            },
        ),
        (
            "half inch",
            Recipe {
                exactly_in: Some(0.5),
                ..USUAL
            },
        ),
        (
            "station",
            Recipe {
                stations: true,
                ..USUAL
            },
        ),
        ("no slips", Recipe { slips: 0, ..USUAL }),
        (
            "half-breadth at a stern too",
            Recipe {
                along_too: true,
                ..USUAL
            },
        ),
        (
            "errors twice the stated",
            Recipe {
                noise: INCH / 8.0,
                ..USUAL
            },
        ),
        ("20 points, turns to 25", sparse(20)),
        ("15 points, turns to 25", sparse(15)),
        (
            "  errors twice the stated",
            Recipe {
                noise: INCH / 8.0,
                ..sparse(15)
            },
        ),
        (
            "  no slips",
            Recipe {
                slips: 0,
                ..sparse(15)
            },
        ),
        ("10 points, turns to 25", sparse(10)),
        (
            "  no slips",
            Recipe {
                slips: 0,
                ..sparse(10)
            },
        ),
    ];
    println!("{n} surveys each; shares in per cent");
    println!(
        "{:28} {:>7} {:>7} {:>7} {:>7} {:>7}",
        "", "inside", "ends", "named", "likely", "alarms"
    );
    for (name, recipe) in recipes {
        let mut count = Count::default();
        for seed in 0..n {
            count.add(&trial(seed, &recipe));
        }
        let found = count.inside.1 + count.ends.1;
        println!(
            "{name:28} {:7.2} {:7.2} {:7.2} {:7.2} {:7.3}",
            share(count.inside.1, count.inside.0),
            share(count.ends.1, count.ends.0),
            share(count.named, found),
            share(count.likely, count.named),
            share(count.alarms, count.points),
        );
    }
}
