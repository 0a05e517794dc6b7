//! Lays the parts of a JSON file on an open strip, as short as the time or
//! the work allows, and prints where they lie as JSON:
//! `cargo run --release --example strip_data -- FILE SECONDS SEED [WORK]`
//!
//! A time limit is the one thing here that is not reproducible: it is there
//! to measure against programs that know no other. With WORK, a count of
//! units, SECONDS counts for nothing and the result is the same everywhere. Files
//! are those that `sets` tells of; a job is laid on a strip as wide as the
//! room of its first sheet and its gap.

mod sets;

use std::fs;
use std::time::Instant;

use planksheer::geom::Vec2;
use planksheer::job::Effort;
use planksheer::nest;
use serde_json::{Value, json};
use sets::{Outcome, read};

/// Width of a sheet of plate, mm.
const PLATE_MM: f64 = 1500.0;

#[expect(clippy::print_stdout, reason = "a program that prints its findings")]
fn main() -> Outcome<()> {
    let start = Instant::now();
    let mut args = std::env::args().skip(1);
    let mut next = |what: &str| args.next().ok_or(format!("give {what}"));
    let file = next("a file")?;
    let seconds: f64 = next("seconds")?.parse()?;
    let seed: usize = next("a seed")?.parse()?;
    let most: Option<f64> = next("work").ok().map(|w| w.parse()).transpose()?;
    let mut job = read(&fs::read_to_string(&file)?, Effort::Normal)?;
    job.seed = seed;
    // The nest's clearances are of millimetres: a set told in units as large as a
    // hand is laid as on a sheet of plate.
    let width = job.sheets.first().ok_or("no sheet")?.width;
    let scale = (PLATE_MM / width).max(1.0);
    for v in job.parts.iter_mut().flat_map(|p| &mut p.outline.vertices) {
        v.at = v.at * scale;
    }
    job.gap *= scale;
    job.edge_margin *= scale;
    let area: f64 = job.parts.iter().map(|p| p.outline.area()).sum();
    let sheet = job.sheets.first_mut().ok_or("no sheet")?;
    // Parts may touch the edges of the strip.
    sheet.width = scale * width - 2.0 * job.edge_margin;
    sheet.length = 2.5 * area / sheet.width;
    let width = sheet.width;
    job.edge_margin = 0.0;
    let mut units = 0;
    let placed = nest::strip(&job, &mut |work| {
        units = work;
        let clock = start.elapsed().as_secs_f64() / seconds;
        most.map_or(clock, |m| work as f64 / m)
    })?
    .ok_or("the parts do not fit")?;
    let far = placed
        .iter()
        .map(|p| job.parts[p.part].outline.placed(p.placement).bounds().1.x);
    let length = far.fold(0.0, f64::max);
    let point = |p: &Vec2| json!([p.x / scale, p.y / scale]);
    let parts: Vec<Value> = placed
        .iter()
        .map(|p| {
            let flat = job.parts[p.part].outline.placed(p.placement).flatten(0.01);
            json!({"part": p.part, "points": flat.iter().map(point).collect::<Vec<_>>()})
        })
        .collect();
    println!(
        "{}",
        json!({
            "file": file, "seed": seed, "width": width / scale, "gap": job.gap / scale, "length": length / scale,
            "density_pct": 100.0 * area / (length * width), "work": units,
            "seconds": start.elapsed().as_secs_f64(), "parts": parts,
        })
    );
    Ok(())
}
