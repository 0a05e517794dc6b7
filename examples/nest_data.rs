//! Nests jobs from JSON files and prints what came of it:
//! `cargo run --release --example nest_data -- PATH [quick|normal|long] [SVG-FOLDER]`
//! where PATH is a file or a folder of files.
//!
//! Two forms are read: a job (`min_separation`, `edge_margin`, `stock` of
//! `id`, `w`, `h`, `qty`; `items` of `id`, `poly`, `demand`) and a strip set
//! (`strip_height`; `items` of `id`, `outline`, `quantity`, `angles_deg`),
//! which is laid on one sheet of that height, twice as long as its area needs.

#![expect(clippy::print_stdout, reason = "a program that prints its findings")]

use std::error::Error;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::Instant;

use planksheer::geom::{Outline, Vec2, vec2};
use planksheer::job::{Effort, Rotation, Sheet};
use planksheer::nest::{self, Nest, NestJob, NestPart};
use serde_json::Value;

type Outcome<T> = Result<T, Box<dyn Error>>;

fn main() -> Outcome<()> {
    let mut args = std::env::args().skip(1);
    let path = PathBuf::from(args.next().ok_or("give a file or folder")?);
    let effort = match args.next().as_deref() {
        None | Some("normal") => Effort::Normal,
        Some("quick") => Effort::Quick,
        Some("long") => Effort::Long,
        Some(other) => return Err(format!("no effort {other}").into()),
    };
    let drawings = args.next().map(PathBuf::from);
    let mut files = vec![path.clone()];
    if path.is_dir() {
        files = fs::read_dir(&path)?
            .map(|e| e.map(|e| e.path()))
            .collect::<Result<_, _>>()?;
        files.retain(|f| f.extension().is_some_and(|e| e == "json"));
        files.sort();
    }
    for file in files {
        run(&file, effort, drawings.as_deref())?;
    }
    Ok(())
}

fn run(file: &Path, effort: Effort, drawings: Option<&Path>) -> Outcome<()> {
    let name = file.file_stem().unwrap_or_default().to_string_lossy();
    let job = read(&fs::read_to_string(file)?, effort)?;
    let start = Instant::now();
    let nested = nest::nest(&job, &|_, _| {})?;
    let seconds = start.elapsed().as_secs_f64();
    let start = Instant::now();
    let checked = nest::check(&job, &nested);
    let check_seconds = start.elapsed().as_secs_f64();
    let placed: f64 = nested.sheets.iter().map(|s| nest::net_area(&job, s)).sum();
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
        let area = nest::net_area(&job, s);
        let used = nest::used_length(&job, s);
        print!(
            "  sheet {}: {} parts, {:.1} %, {used:.0} mm used ({:.1} % of that)",
            i + 1,
            s.placed.len(),
            100.0 * area / (stock.length * stock.width),
            100.0 * area / (used * stock.width),
        );
        match nest::largest_offcut(&job, s) {
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
        fs::write(folder.join(format!("{name}.svg")), drawn(&job, &nested))?;
        fs::write(
            folder.join(format!("{name}-nest.json")),
            listed(&job, &nested),
        )?;
    }
    Ok(())
}

fn number(v: &Value, key: &str) -> Outcome<f64> {
    v[key]
        .as_f64()
        .ok_or_else(|| format!("no number {key}").into())
}

fn count(v: &Value, key: &str) -> Outcome<usize> {
    Ok(usize::try_from(
        v[key].as_u64().ok_or(format!("no count {key}"))?,
    )?)
}

fn profile(points: &Value) -> Outcome<Outline> {
    let list = points.as_array().ok_or("no list of points")?;
    let mut out = Vec::new();
    for p in list {
        let (x, y) = (p[0].as_f64().ok_or("no x")?, p[1].as_f64().ok_or("no y")?);
        out.push(vec2(x, y));
    }
    let outline = Outline::polygon(&out);
    Ok(if outline.area() < 0.0 {
        outline.reversed()
    } else {
        outline
    })
}

fn read(text: &str, effort: Effort) -> Outcome<NestJob> {
    let v: Value = serde_json::from_str(text)?;
    let items = v["items"].as_array().ok_or("no items")?;
    let strip = v["strip_height"].as_f64();
    let (shape, quantity) = if strip.is_some() {
        ("outline", "quantity")
    } else {
        ("poly", "demand")
    };
    let mut parts = Vec::new();
    for item in items {
        let outline = profile(&item[shape])?;
        for k in 0..count(item, quantity)? {
            parts.push(NestPart {
                name: format!("{}-{}", item["id"].as_str().unwrap_or("part"), k + 1),
                outline: outline.clone(),
            });
        }
    }
    let sheet = |name: &str, length: f64, width: f64, quantity: Option<usize>| Sheet {
        name: name.to_owned(),
        length,
        width,
        thickness: 12.7,
        alloy: "5086-H116".to_owned(),
        quantity,
        price: None,
        shape: None,
        clamps: Vec::new(),
        remnant: None,
    };
    let mut sheets = Vec::new();
    let (mut gap, mut edge_margin, mut rotation) = (0.0, 0.0, Rotation::Free);
    if let Some(height) = strip {
        let area: f64 = parts.iter().map(|p| p.outline.area()).sum();
        sheets.push(sheet("strip", 2.0 * area / height, height, None));
        let angles = items[0]["angles_deg"].as_array().ok_or("no angles")?.len();
        rotation = Rotation::Steps(std::f64::consts::TAU / angles.max(1) as f64);
    } else {
        gap = number(&v, "min_separation")?;
        edge_margin = number(&v, "edge_margin")?;
        for s in v["stock"].as_array().ok_or("no stock")? {
            let id = s["id"].as_str().unwrap_or("sheet");
            sheets.push(sheet(
                id,
                number(s, "w")?,
                number(s, "h")?,
                Some(count(s, "qty")?),
            ));
        }
    }
    Ok(NestJob {
        parts,
        sheets,
        gap,
        edge_margin,
        rotation,
        effort,
        slack: 0.001,
        price_per_area: None,
    })
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
