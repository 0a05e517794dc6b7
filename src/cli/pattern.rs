//! `planksheer pattern`: parts at full size on paper.

use std::sync::atomic::AtomicBool;

use super::args::PatternArgs;
use super::{folder, input, shell};
use crate::fault::{Fault, Faults, Kind, Place};
use crate::job::{Job, Paper};
use crate::length::{parse, trimmed};
use crate::pipeline::{self, PatternsAsked, PatternsMade, Print, Shows};

/// A printer that is further off is not corrected but mended.
const SCALES: std::ops::RangeInclusive<f64> = 0.9..=1.1;

/// Prints a job's parts to PDF files.
pub(super) fn run(args: &PatternArgs) -> Result<(), Faults> {
    let input = input::read(&args.job)?;
    let print = print(args, &input.job)?;
    let out = folder::Out::open(&args.out, "pattern", &input.paths, args.earlier.replace)?;
    let made = (args.work.pool()?)
        .install(|| {
            if args.test_page {
                return pipeline::printer_test(&input.job, &print);
            }
            let asked = PatternsAsked {
                parts: args.part.clone(),
                kinds: args.kind.iter().map(|&k| k.into()).collect(),
                one_file: args.one_file,
                shows: match (args.other_face, args.drilling, args.footprints) {
                    (true, ..) => Shows::OtherFace,
                    (_, true, _) => Shows::Drilling,
                    (.., true) => Shows::Footprints,
                    _ => Shows::Part,
                },
                share: args.share,
                print: print.clone(),
            };
            let faired = pipeline::faired(&input.job, &input.tables)?;
            let stop = AtomicBool::new(false);
            if args.ordinates {
                return pipeline::ordinates(&input.job, faired, &asked, &stop);
            }
            pipeline::patterns(&input.job, faired, &asked, &stop)
        })
        .map_err(|f| input.located(f))?;
    out.write(&made.files)?;
    let text = account(&made, &print, args);
    shell::conclude(text.as_bytes(), "output", Some(&args.out))
}

/// Paper and printer, as the job has them where no option says otherwise.
fn print(args: &PatternArgs, job: &Job) -> Result<Print, Faults> {
    let mut faults = Vec::new();
    let mut length = |given: &Option<String>, option: &str, usual: f64| match given {
        None => usual,
        Some(text) => parse(text).unwrap_or_else(|e| {
            faults.push(Fault::new(
                Kind::Syntax,
                Place::file(option),
                e.what,
                e.mend,
            ));
            usual
        }),
    };
    let margin = length(&args.margin, "--margin", job.paper.margin);
    let overlap = length(&args.overlap, "--overlap", job.paper.overlap);
    let size = args.paper.as_deref().unwrap_or(&job.paper.name);
    let scale = scale(args.print_scale.as_deref()).unwrap_or_else(|fault| {
        faults.push(fault);
        (1.0, 1.0)
    });
    if !faults.is_empty() {
        return Err(Faults(faults));
    }
    let paper = Paper::of(size, margin, overlap, job.show).map_err(|e| {
        let option = match e.key {
            "size" => "--paper",
            "margin" => "--margin",
            _ => "--overlap",
        };
        Fault::new(e.kind, Place::file(option), e.what, e.mend)
    })?;
    Ok(Print { paper, scale })
}

/// What the printer makes of a length, across and along the feed.
fn scale(given: Option<&str>) -> Result<(f64, f64), Fault> {
    let Some(text) = given else {
        return Ok((1.0, 1.0));
    };
    let fault = |kind, what: String| {
        let mend = "give what the bars of the test page measure over what they say, across and \
                    along the feed, such as 1.004,0.998";
        Fault::new(kind, Place::file("--print-scale"), what, mend)
    };
    let figure = |t: &str| t.trim().parse::<f64>().ok();
    let both = text.split_once(',');
    let both = both.and_then(|(a, b)| Some((figure(a)?, figure(b)?)));
    let Some((across, along)) = both else {
        return Err(fault(
            Kind::Syntax,
            format!("`{text}` is no pair of numbers"),
        ));
    };
    for v in [across, along] {
        if !SCALES.contains(&v) {
            let (lo, hi) = (trimmed(*SCALES.start(), 3), trimmed(*SCALES.end(), 3));
            let what = format!("{} is not from {lo} to {hi}", trimmed(v, 6));
            return Err(fault(Kind::Range, what));
        }
    }
    Ok((across, along))
}

/// What was written.
fn account(made: &PatternsMade, print: &Print, args: &PatternArgs) -> String {
    let pages: usize = made.pages.iter().map(|p| p.1).sum();
    let mut out = String::new();
    for (name, count) in &made.pages {
        let s = if *count == 1 { "" } else { "s" };
        out.push_str(&format!("  {name}: {count} page{s}\n"));
    }
    let s = if pages == 1 { "" } else { "s" };
    out.push_str(&format!(
        "{pages} page{s} on {}, to be printed at 100 % without fitting to the page\n",
        print.paper.name
    ));
    out.push_str(&format!("wrote {}\n", args.out.display()));
    out
}
