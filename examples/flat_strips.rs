//! Doubly curved strips, flattened: nodes in space and in the flat as JSON,
//! with the time taken. `tests/outside/flatten_reference.py` sets them against
//! a general mesh-flattening library:
//! `cargo run --release --example flat_strips > strips.json`.

use std::error::Error;
use std::time::Instant;

use planksheer::develop::shapes::{Deck, Shape, deck, helicoid, ribbon, saddle, torus};
use planksheer::develop::{Options, develop};
use planksheer::geom::patch::Patch;
use serde_json::{Value, json};

/// Runs of which the quickest counts.
const RUNS: u32 = 30;

fn main() -> Result<(), Box<dyn Error>> {
    let plate = deck(Deck {
        length: 3600.0,
        width: 180.0,
        radius: 4000.0,
        slope: 0.06,
        slope_rate: 4e-5,
        sheer: 2e-5,
    });
    // Triangles see strain in steps, and the least energy over them lies below
    // that of the smooth plate: measured on the saddle, 0.6 % with 20 cells
    // across, 0.10 % with 64, 0.07 % with 80.
    let strips = [
        ("torus band", torus(3000.0, 1500.0, 0.8, 0.92, 0.9), 120, 80),
        ("saddle", saddle(3600.0, 180.0, 9000.0), 150, 80),
        ("twisted ribbon", ribbon(3600.0, 180.0, 2e-4), 150, 80),
        ("deck plate", plate, 150, 80),
        ("screw flight", helicoid(150.0, 50.0, 300.0, 5.0), 180, 90),
    ];
    let all: Result<Vec<Value>, Box<dyn Error>> = strips
        .iter()
        .map(|(name, shape, along, across)| strip(name, shape, *along, *across))
        .collect();
    serde_json::to_writer(std::io::stdout().lock(), &all?)?;
    Ok(())
}

/// One strip on a grid of `along` by `across` cells.
fn strip(name: &str, shape: &Shape, along: u32, across: u32) -> Result<Value, Box<dyn Error>> {
    // Poisson's ratio 0: the energy that mesh flattening minimises.
    let options = Options {
        poisson: 0.0,
        ..Options::default()
    };
    let mut best = f64::INFINITY;
    for _ in 0..RUNS {
        let start = Instant::now();
        develop(shape, &options)?;
        best = best.min(start.elapsed().as_secs_f64());
    }
    let flat = develop(shape, &options)?;
    let (mut space, mut plane) = (Vec::new(), Vec::new());
    let (first, last) = shape.range();
    for i in 0..=along {
        let t = first + (last - first) * f64::from(i) / f64::from(along);
        for j in 0..=across {
            let w = f64::from(j) / f64::from(across);
            let (p, q) = (shape.jet(t, w).point, flat.map.at(t, w));
            space.push([p.x, p.y, p.z]);
            plane.push([q.x, q.y]);
        }
    }
    Ok(json!({
        "name": name, "along": along, "across": across, "milliseconds": best * 1e3,
        "space": space, "flat": plane,
    }))
}
