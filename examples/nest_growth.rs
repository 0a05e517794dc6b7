//! How the time of nesting grows: the parts of a file, once and several times
//! over, at one effort:
//! `cargo run --release --example nest_growth -- FILE [quick|normal|long] TIMES...`
//!
//! The file's form is told in `sets`. Prints parts, sheets, seconds, and the
//! time for a part against that of the first count. Memory is the system's to
//! tell (`/usr/bin/time -v`).

#![expect(clippy::print_stdout, reason = "a program that prints its findings")]

mod sets;

use std::fs;
use std::time::Instant;

use planksheer::job::Effort;
use planksheer::nest;

use sets::{Outcome, read};

fn main() -> Outcome<()> {
    let mut args = std::env::args().skip(1);
    let file = args.next().ok_or("give a file")?;
    let effort = match args.next().as_deref() {
        Some("quick") => Effort::Quick,
        None | Some("normal") => Effort::Normal,
        Some("long") => Effort::Long,
        Some(other) => return Err(format!("no effort {other}").into()),
    };
    let times: Vec<usize> = args.map(|t| t.parse()).collect::<Result<_, _>>()?;
    let once = read(&fs::read_to_string(&file)?, effort)?;
    println!(
        "{:>6} {:>7} {:>9} {:>12}",
        "parts", "sheets", "seconds", "per part"
    );
    let mut first = None;
    for k in times {
        let mut job = once.clone();
        job.parts = Vec::new();
        for turn in 0..k {
            job.parts.extend(once.parts.iter().cloned().map(|mut p| {
                p.name = format!("{}-{turn}", p.name);
                p
            }));
        }
        for sheet in &mut job.sheets {
            sheet.quantity = sheet.quantity.map(|q| q * k);
        }
        let start = Instant::now();
        let nested = nest::nest(&job, &|_, _| {})?;
        let seconds = start.elapsed().as_secs_f64();
        nest::check(&job, &nested)
            .map_err(|f| format!("{} faults, first: {}", f.len(), f[0].what))?;
        let each = seconds / job.parts.len() as f64;
        let base = *first.get_or_insert(each);
        println!(
            "{:>6} {:>7} {seconds:>9.2} {:>11.2}x",
            job.parts.len(),
            nested.sheets.len(),
            each / base
        );
    }
    Ok(())
}
