//! `planksheer build`: the whole job.

use std::io::Write;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use super::args::{self, BuildArgs};
use super::shell::counted;
use super::{folder, input, progress, shell};
use crate::fault::{Fault, Faults, Kind, Place};
use crate::job::{Effort, Job};
use crate::length::{INCH, Show, number, show};
use crate::pipeline::{self, Faired, Output};

/// Exit status of a process that an interrupt ended, as shells give it.
const INTERRUPTED: i32 = 130;

/// Builds a job into its output folder.
pub(super) fn run(args: &BuildArgs) -> Result<(), Faults> {
    let input = input::read_to_cut(&args.job)?;
    let out = folder::Out::open(&args.out, "build", &input.paths, args.earlier.replace)?;
    let effort = args::asked(args.effort, args.quick).unwrap_or(input.job.cutting.effort);
    let stop = stop_by_hand()?;
    let output = (args.work.pool()?)
        .install(|| {
            let faired = pipeline::faired(&input.job, &input.tables)?;
            if args.strict {
                pipeline::settled(&input.job, &faired)?;
            }
            make(&input.job, faired, effort, &stop)
        })
        .map_err(|f| input.located(f))?;
    out.write(&output.files)?;
    if args.json {
        return shell::conclude_with(&output.files, "summary.json", Some(&args.out));
    }
    let text = account(&output, &input.job, args);
    shell::conclude(text.as_bytes(), "output", Some(&args.out))
}

/// Comes to be true when the person interrupts (Ctrl-C); at a second time the
/// process ends at once, as it would have done.
fn stop_by_hand() -> Result<Arc<AtomicBool>, Fault> {
    let stop = Arc::new(AtomicBool::new(false));
    let told = Arc::clone(&stop);
    ctrlc::set_handler(move || {
        if told.swap(true, Ordering::Relaxed) {
            std::process::exit(INTERRUPTED);
        }
        // Where nobody can be told, the search ends all the same.
        let _ = writeln!(
            std::io::stderr(),
            "\nending with the best nest found; Ctrl-C again gives up"
        );
    })
    .map_err(|e| {
        let what = format!("interrupts cannot be heard: {e}");
        let mend = "run the command from an ordinary shell";
        Fault::new(Kind::File, Place::default(), what, mend)
    })?;
    Ok(stop)
}

fn make(job: &Job, faired: Faired, effort: Effort, stop: &AtomicBool) -> Result<Output, Faults> {
    let line = progress::start("nesting", "(Ctrl-C keeps the best)");
    let trying = |fraction: f64| {
        line.set(fraction);
        line.say("choosing butts");
    };
    let tell = |fraction: f64, best: f64| {
        line.set(fraction);
        line.say(format!("best yield {} %", number(best * 100.0, 1)));
    };
    let nested = pipeline::shape_until(job, faired, &trying, stop).and_then(|shaped| {
        let groups = pipeline::nest(job, &shaped, effort, &tell, stop)?;
        Ok((shaped, groups))
    });
    line.finish();
    let (shaped, groups) = nested?;
    pipeline::files(job, &shaped, &groups)
}

/// What a person wants to know first.
fn account(output: &Output, job: &Job, args: &BuildArgs) -> String {
    let facts = &output.facts;
    let total = &facts.total;
    let mut out = format!("{}\n", job.name);
    if !job.note.is_empty() {
        out.push_str(&format!("{}\n", job.note));
    }
    out.push_str(&format!(
        "{} on {}, yield {} %\n",
        counted(facts.parts.len(), "part"),
        counted(facts.sheets.len(), "sheet"),
        number(total.yield_ratio() * 100.0, 1)
    ));
    for s in &facts.sheets {
        out.push_str(&format!(
            "  {}: {}, {}, used to {}\n",
            s.name,
            s.stock.name,
            counted(s.parts.len(), "part"),
            show(s.used_length, job.show)
        ));
    }
    if let Some((gap, name)) = &output.worst_gap {
        let text = match job.show {
            Show::Mm => format!("{} mm", number(*gap, 3)),
            Show::FeetInches => format!("{} in", number(gap / INCH, 4)),
        };
        out.push_str(&format!("largest refold gap {text} (part {name})\n"));
    }
    for n in &output.notes {
        out.push_str(&format!("note: {n}\n"));
    }
    for w in &output.warnings {
        out.push_str(&format!("warning: {w}\n"));
    }
    out.push_str(&format!("wrote {}\n", args.out.display()));
    out
}
