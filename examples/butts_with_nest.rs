//! Butts chosen with the nest against the fewest and against pieces of a fixed
//! length, over several seeds:
//! `cargo run --release --example butts_with_nest -- JOB SEEDS [quick|normal|long]`
//!
//! The job needs prices of plate and welds. Prints sheets, butts, what is
//! bought, the largest offcut of the last sheet, and the cost (plate less
//! scrap, and welds) of each; then the medians.

#![expect(clippy::print_stdout, reason = "a program that prints its findings")]

use std::error::Error;
use std::fs;
use std::path::Path;

use planksheer::job::{self, ButtChoice, Effort, Job, SurveyFile};
use planksheer::pipeline;
use planksheer::report::estimate::Welds;

type Outcome<T> = Result<T, Box<dyn Error>>;
type Tables = Vec<(SurveyFile, String)>;

struct Found {
    sheets: usize,
    butts: usize,
    bought_kg: f64,
    offcut_m2: f64,
    cost: f64,
}

fn main() -> Outcome<()> {
    let mut args = std::env::args().skip(1);
    let file = args.next().ok_or("give a job file")?;
    let seeds: usize = args.next().ok_or("give the number of seeds")?.parse()?;
    let effort = match args.next().as_deref() {
        None | Some("quick") => Effort::Quick,
        Some("normal") => Effort::Normal,
        Some("long") => Effort::Long,
        Some(other) => return Err(format!("no effort {other}").into()),
    };
    let folder = Path::new(&file).parent().ok_or("no folder")?;
    let own = job::parse(
        &fs::read_to_string(&file)?,
        &file,
        &folder.display().to_string(),
    )?;
    let mut tables = Tables::new();
    for f in &own.survey.files {
        tables.push((f.clone(), fs::read_to_string(&f.path)?));
    }
    let set = |longest: Option<f64>, butts: ButtChoice| {
        let mut job = own.clone();
        job.joints.longest_piece = longest;
        job.joints.butts = butts;
        job
    };
    let ways = [
        ("fewest that stock holds", set(None, ButtChoice::Few)),
        (
            "fixed by the job's own length",
            set(own.joints.longest_piece, ButtChoice::Few),
        ),
        ("chosen with the nest", set(None, ButtChoice::Nested)),
    ];
    for (name, job) in ways {
        println!("{name}");
        println!(
            "  {:>4} {:>6} {:>5} {:>10} {:>10} {:>10}",
            "seed", "sheets", "butts", "bought kg", "offcut m2", "cost"
        );
        let mut all = Vec::new();
        for seed in 1..=seeds {
            let mut job = job.clone();
            job.cutting.seed = seed;
            let found = tried(&job, &tables, effort)?;
            told(&seed.to_string(), &found);
            all.push(found);
        }
        let median = |of: &dyn Fn(&Found) -> f64| {
            let mut v: Vec<f64> = all.iter().map(of).collect();
            v.sort_by(f64::total_cmp);
            0.5 * (v[(v.len() - 1) / 2] + v[v.len() / 2])
        };
        println!(
            "  {:>4} {:>6.1} {:>5.1} {:>10.1} {:>10.3} {:>10.2}",
            "med.",
            median(&|f| f.sheets as f64),
            median(&|f| f.butts as f64),
            median(&|f| f.bought_kg),
            median(&|f| f.offcut_m2),
            median(&|f| f.cost)
        );
    }
    Ok(())
}

fn told(seed: &str, f: &Found) {
    println!(
        "  {seed:>4} {:>6} {:>5} {:>10.1} {:>10.3} {:>10.2}",
        f.sheets, f.butts, f.bought_kg, f.offcut_m2, f.cost
    );
}

fn tried(job: &Job, tables: &Tables, effort: Effort) -> Outcome<Found> {
    let shaped = pipeline::shape(job, tables)?;
    let never = std::sync::atomic::AtomicBool::new(false);
    let groups = pipeline::nest(job, &shaped, effort, &|_, _| (), &never)?;
    let facts = pipeline::files(job, &shaped, &groups)?.facts;
    let welds = Welds::of(&shaped.layout, job.prices.weld.as_ref());
    let total = &facts.total;
    let plate = total.cost.ok_or("plate has no price")?;
    Ok(Found {
        sheets: total.sheets,
        butts: welds.butts,
        bought_kg: total.mass_bought,
        offcut_m2: facts
            .sheets
            .last()
            .and_then(|s| s.offcut)
            .map_or(0.0, |o| o.size.x * o.size.y * 1e-6),
        cost: plate - total.scrap_value + welds.cost.ok_or("welds have no price")?,
    })
}
