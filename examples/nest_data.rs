//! Nests jobs from JSON files and prints what came of it:
//! `cargo run --release --example nest_data -- PATH [quick|normal|long] [SVG-FOLDER] [SEED] [--time-limit SECONDS]`
//! where PATH is a file or a folder of files. With a time limit the work is set by what the
//! machine does in a quick nest, and the best nest at the end of the time
//! counts: the one thing here that is not reproducible.
//!
//! The files' forms are told in `sets`.

#![expect(clippy::print_stdout, reason = "a program that prints its findings")]

mod sets;

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc;
use std::thread;
use std::time::{Duration, Instant};

use planksheer::geom::Vec2;
use planksheer::job::Effort;
use planksheer::nest::{self, Nest, NestJob};
use serde_json::Value;

use sets::{Outcome, read};

fn main() -> Outcome<()> {
    let (mut limit, mut words) = (None, Vec::new());
    let mut given = std::env::args().skip(1);
    while let Some(word) = given.next() {
        match word.as_str() {
            "--time-limit" => {
                let seconds = given.next().ok_or("give the seconds of the time limit")?;
                limit = Some(Duration::try_from_secs_f64(seconds.parse()?)?);
            }
            other if other.starts_with("--") => return Err(format!("no option {other}").into()),
            _ => words.push(word),
        }
    }
    let mut args = words.into_iter();
    let path = PathBuf::from(args.next().ok_or("give a file or folder")?);
    let effort = match args.next().as_deref() {
        None | Some("normal") => Effort::Normal,
        Some("quick") => Effort::Quick,
        Some("long") => Effort::Long,
        Some(other) => return Err(format!("no effort {other}").into()),
    };
    let drawings = args.next().map(PathBuf::from);
    let seed = args.next().map_or(Ok(1), |s| s.parse())?;
    let mut files = vec![path.clone()];
    if path.is_dir() {
        files = fs::read_dir(&path)?
            .map(|e| e.map(|e| e.path()))
            .collect::<Result<_, _>>()?;
        files.retain(|f| f.extension().is_some_and(|e| e == "json"));
        files.sort();
    }
    for file in files {
        let mut job = read(&fs::read_to_string(&file)?, effort)?;
        job.seed = seed;
        run(&file, &job, limit, drawings.as_deref())?;
    }
    Ok(())
}

/// The best nest that the time allows, a little over where a trial ends late.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "units of work, far below 2^52"
)]
fn within(job: &NestJob, limit: Duration) -> Outcome<Nest> {
    let start = Instant::now();
    let quick = NestJob {
        effort: Effort::Quick,
        ..job.clone()
    };
    let first = nest::nest(&quick, &|_, _| {})?;
    let spent = start.elapsed();
    let left = limit.saturating_sub(spent);
    let known = nest::work(Effort::Quick, job.parts.len());
    // The pace so far, the quick nest counted in, until the limit.
    let total = |done: u64| {
        let pace = (known + done) as f64 / start.elapsed().as_secs_f64();
        ((pace * limit.as_secs_f64()) as u64).saturating_sub(known)
    };
    let stop = AtomicBool::new(false);
    let (done, waits) = mpsc::channel::<()>();
    let found = thread::scope(|scope| {
        let stop = &stop;
        scope.spawn(move || {
            if waits.recv_timeout(left).is_err() {
                stop.store(true, Ordering::Relaxed);
            }
        });
        let found = nest::nest_within(job, &total, &|_, _| {}, stop);
        let _ = done.send(());
        found
    })?;
    let better = found.sheets.len() <= first.sheets.len();
    Ok(if better { found } else { first })
}

fn run(
    file: &Path,
    job: &NestJob,
    limit: Option<Duration>,
    drawings: Option<&Path>,
) -> Outcome<()> {
    let name = file.file_stem().unwrap_or_default().to_string_lossy();
    let start = Instant::now();
    let nested = match limit {
        Some(limit) => within(job, limit)?,
        None => nest::nest(job, &|_, _| {})?,
    };
    let seconds = start.elapsed().as_secs_f64();
    let start = Instant::now();
    let checked = nest::check(job, &nested);
    let check_seconds = start.elapsed().as_secs_f64();
    let placed: f64 = nested.sheets.iter().map(|s| nest::net_area(job, s)).sum();
    let bought: f64 = nested
        .sheets
        .iter()
        .map(|s| job.sheets[s.stock].length * job.sheets[s.stock].width)
        .sum();
    println!(
        "{name}: {} parts, {} sheets, {:.1} % of the sheets, {seconds:.1} s",
        job.parts.len(),
        nested.sheets.len(),
        100.0 * placed / bought
    );
    for (i, s) in nested.sheets.iter().enumerate() {
        let stock = &job.sheets[s.stock];
        let area = nest::net_area(job, s);
        let used = nest::used_length(job, s);
        print!(
            "  sheet {}: {} parts, {:.1} %, {used:.0} mm used ({:.1} % of that)",
            i + 1,
            s.placed.len(),
            100.0 * area / (stock.length * stock.width),
            100.0 * area / (used * stock.width),
        );
        match nest::largest_offcut(job, s) {
            Some(r) => println!(", offcut {:.0} x {:.0} mm", r.size.x, r.size.y),
            None => println!(),
        }
    }
    match checked {
        Ok(r) => println!("  checked in {check_seconds:.2} s: {r:?}"),
        Err(faults) => {
            for f in faults.iter().take(5) {
                println!("  REFUSED: {f}");
            }
        }
    }
    if let Some(folder) = drawings {
        fs::create_dir_all(folder)?;
        fs::write(folder.join(format!("{name}.svg")), drawn(job, &nested))?;
        fs::write(
            folder.join(format!("{name}-nest.json")),
            listed(job, &nested),
        )?;
    }
    Ok(())
}

/// All sheets under each other, a millimetre a unit.
fn drawn(job: &NestJob, nested: &Nest) -> String {
    let mut body = String::new();
    let (mut y, mut wide): (f64, f64) = (0.0, 0.0);
    for s in &nested.sheets {
        let stock = &job.sheets[s.stock];
        y += stock.width;
        wide = wide.max(stock.length);
        let _ = writeln!(
            body,
            "<g transform='translate(0 {y}) scale(1 -1)'><path d='M0 0H{}V{}H0Z' fill='#eee' stroke='#000'/>",
            stock.length, stock.width
        );
        for p in &s.placed {
            let mut d = String::new();
            for (i, q) in job.parts[p.part]
                .outline
                .placed(p.placement)
                .flatten(0.1)
                .iter()
                .enumerate()
            {
                let _ = write!(d, "{}{:.2} {:.2}", if i == 0 { 'M' } else { 'L' }, q.x, q.y);
            }
            let _ = writeln!(body, "<path d='{d}Z' fill='#9bd' stroke='#036'/>");
        }
        body.push_str("</g>\n");
        y += 0.05 * stock.width;
    }
    format!(
        "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {wide} {y}' width='{}' height='{}'>\n{body}</svg>\n",
        wide / 3.0,
        y / 3.0
    )
}

/// The placed outlines as points, for another program to check.
fn listed(job: &NestJob, nested: &Nest) -> String {
    let point = |p: &Vec2| serde_json::json!([p.x, p.y]);
    let sheets: Vec<Value> = nested
        .sheets
        .iter()
        .map(|s| {
            let parts: Vec<Value> = s
                .placed
                .iter()
                .map(|p| {
                    let flat = job.parts[p.part].outline.placed(p.placement).flatten(0.01);
                    serde_json::json!({"part": p.part, "points": flat.iter().map(point).collect::<Vec<_>>()})
                })
                .collect();
            serde_json::json!({"length": job.sheets[s.stock].length, "width": job.sheets[s.stock].width, "parts": parts})
        })
        .collect();
    serde_json::json!({"gap": job.gap, "edge_margin": job.edge_margin, "sheets": sheets})
        .to_string()
}
