//! The fairing as a person reads it: what of the survey is doubtful, what moves
//! where, what is not fair, how port and starboard differ.

use super::super::prose::{LINE, heading, wrapped};
use super::super::table::Table;
use super::doubted::{figure_of, follows, unsettled, verdicts};
use super::input::{Fairness, between};
use super::survey::{noted, rulings};
use crate::fair::{Accuracy, Again, Doubt, Finding, FindingKind, LineKind, PointFit};
use crate::length::{INCH, Show, fine, number, show};
use crate::quantity::given;
use crate::survey::Note;

/// A move in words: `raise 1/8 in`, `out 1.2 mm`; a dash where it is less
/// than half of what is shown.
fn moved(mm: f64, words: [&str; 2], shown: Show) -> String {
    let least = match shown {
        Show::Mm => 0.05,
        Show::FeetInches => INCH / 32.0,
    };
    if mm.abs() < least {
        return "-".to_owned();
    }
    let word = words[usize::from(mm < 0.0)];
    format!("{word} {}", show(mm.abs(), shown))
}

const HEIGHT: [&str; 2] = ["raise", "lower"];
const PLAN: [&str; 2] = ["out", "in"];

/// The report as text.
#[must_use]
pub fn fairness_text(input: &Fairness<'_>) -> String {
    let mut out = heading(input.job);
    let odd: Vec<String> = input.survey.odd.iter().map(Note::told).collect();
    if !odd.is_empty() {
        section(&mut out, "LOOK AT THIS FIRST", odd, "");
    }
    section(
        &mut out,
        "DOUBTFUL FIGURES OF THE SURVEY",
        doubts(input),
        "None.",
    );
    let open = unsettled(input.survey, &input.edge.doubts);
    if !open.is_empty() {
        out.push_str(
            "\n  For the job, once each is measured again: take the # off what is right.\n",
        );
        out.push_str(&verdicts(&open));
    }
    moves(input, &mut out);
    section(
        &mut out,
        "NOT FAIR",
        findings(input),
        "Nothing: no flat, hard spot or reverse that the survey's accuracy does not explain.",
    );
    let notes = notes(input);
    if !notes.is_empty() {
        section(&mut out, "THE SURVEY", notes, "");
    }
    section(
        &mut out,
        "MEASURE AGAIN FIRST",
        again(input),
        "Not told: the equations could not be solved again.",
    );
    section(
        &mut out,
        "PORT AND STARBOARD",
        unlike(input),
        "Not compared: only one side stands, or both run athwart.",
    );
    out
}

fn section(out: &mut String, title: &str, lines: Vec<String>, none: &str) {
    out.push_str(&format!("\n{title}\n"));
    if lines.is_empty() {
        out.push_str(&format!("  {none}\n"));
    }
    for line in lines {
        out.push_str(&format!("  {}\n", wrapped(&line, LINE - 2, "    ")));
    }
}

fn moves(input: &Fairness<'_>, out: &mut String) {
    let (fairing, shown) = (input.edge.fairing, input.job.show);
    let (told, whence): (fn(f64, Show) -> String, _) = match input.edge.accuracy {
        Accuracy::Stated(_) => (given, "as the job states"),
        Accuracy::Estimated(_) => (
            fine,
            "estimated from how the points scatter (cross-validation): the job states none",
        ),
    };
    let fits: Vec<&PointFit> = input.edge.fits().collect();
    let table = Table::of(input.job, fits.iter().copied())
        .text("station", |r| &r.name)
        .text("side", |r| r.side.name())
        .text("base line", |r| moved(r.base_up, HEIGHT, shown))
        .text("in plan", |r| moved(r.base_out, PLAN, shown))
        .text("top line", |r| moved(r.top_up, HEIGHT, shown))
        .text("in plan", |r| moved(r.top_out, PLAN, shown));
    out.push_str(&format!(
        "\nMOVES from the measured points to the fair lines\n  base line within {} of each point, top line within {}\n  \
         accuracy of the survey plus or minus {}, {whence}\n{}",
        told(fairing.base, shown),
        told(fairing.top, shown),
        told(input.edge.accuracy.mm(), shown),
        table.to_text()
    ));
    let largest = |words, of: fn(&PointFit) -> f64| {
        let size = |r: &&&PointFit| of(r).abs();
        let r = fits.iter().max_by(|a, b| size(a).total_cmp(&size(b)))?;
        let by = moved(of(r), words, shown);
        Some(format!("{by} at {} ({})", r.name, r.side.name()))
    };
    let base = [
        largest(HEIGHT, |r| r.base_up),
        largest(PLAN, |r| r.base_out),
    ];
    let top = [largest(HEIGHT, |r| r.top_up), largest(PLAN, |r| r.top_out)];
    for (line, moves) in [(LineKind::Base, base), (LineKind::Top, top)] {
        if let [Some(height), Some(plan)] = moves {
            out.push_str(&format!("  {}, largest: {height}; {plan}\n", line.name()));
        }
    }
}

fn findings(input: &Fairness<'_>) -> Vec<String> {
    let sentence = |f: &Finding| {
        let place = between(input.edge, f.chain, f.t);
        let size = fine(f.size, input.job.show);
        match f.kind {
            FindingKind::Tolerance => format!(
                "{}: point left by {size} {}, more than its tolerance, {place}{}",
                f.line.name(),
                f.view.words(),
                f.unlike.map_or_else(String::new, |by| format!(
                    "; port and starboard differ by {} there",
                    fine(by, input.job.show)
                ))
            ),
            _ => format!(
                "{}: {} {} {place}: {size} from fair, the line would have to go {}",
                f.line.name(),
                f.kind.name(),
                f.view.words(),
                f.toward.words()
            ),
        }
    };
    let marked = |f: &Finding| match follows(input.edge, f) {
        None => sentence(f),
        Some(d) => format!(
            "{}; this follows from {} if that figure is wrong",
            sentence(f),
            figure_of(d)
        ),
    };
    input.edge.findings.iter().map(marked).collect()
}

fn doubts(input: &Fairness<'_>) -> Vec<String> {
    let sentence = |d: &Doubt| format!("{}: {}", d.place, d.sentence(input.job.show));
    input.edge.doubts.iter().map(sentence).collect()
}

/// Notes of the survey, the datum's fit and the verdicts applied.
fn notes(input: &Fairness<'_>) -> Vec<String> {
    let shown = input.job.show;
    let mut out = noted(input.survey);
    out.extend(rulings(input.survey));
    if let Some(datum) = &input.survey.datum {
        out.push(format!(
            "instrument brought to the boat's datum by {} reference points, rms {}, at most {} allowed",
            datum.references.len(),
            fine(datum.rms, shown),
            fine(datum.limit, shown)
        ));
        out.extend(datum.references.iter().map(|r| {
            format!(
                "reference {}: off by {} forward, {} to port, {} up",
                r.name,
                fine(r.off.x, shown),
                fine(r.off.y, shown),
                fine(r.off.z, shown)
            )
        }));
    }
    out
}

/// The points whose second measurement brings most.
fn again(input: &Fairness<'_>) -> Vec<String> {
    const TOLD: usize = 5;
    let percent = |share: f64| number(100.0 * share, 1);
    let sentence = |a: &Again| {
        format!(
            "{} ({}): takes {} % off the uncertainty of the whole line in plan, {} % in height",
            a.name,
            a.side.name(),
            percent(a.plan_share),
            percent(a.height_share)
        )
    };
    input.edge.again.iter().take(TOLD).map(sentence).collect()
}

fn unlike(input: &Fairness<'_>) -> Vec<String> {
    let shown = input.job.show;
    // Each side may be off by the accuracy.
    let least = 2.0 * input.edge.accuracy.mm();
    let words = |wider: f64, higher: f64| {
        let mut said = Vec::new();
        if wider.abs() > least {
            let word = if wider > 0.0 { "wider" } else { "narrower" };
            said.push(format!("port {} {word}", show(wider.abs(), shown)));
        }
        if higher.abs() > least {
            let word = if higher > 0.0 { "higher" } else { "lower" };
            said.push(format!("port {} {word}", show(higher.abs(), shown)));
        }
        said.join(", ")
    };
    let mut out: Vec<String> = Vec::new();
    for u in input.unlike {
        for (line, said) in [
            (LineKind::Base, words(u.base_wider, u.base_higher)),
            (LineKind::Top, words(u.top_wider, u.top_higher)),
        ] {
            if !said.is_empty() {
                out.push(format!("{}, {}: {said}", u.station, line.name()));
            }
        }
    }
    if !input.unlike.is_empty() && out.is_empty() {
        out.push(format!(
            "alike within {} at all {} stations compared",
            show(least, shown),
            input.unlike.len()
        ));
    }
    out
}
