//! The fairing as a person reads it: what of the survey is doubtful
//! (`doubted`), what moves where, what is not fair, how port and starboard
//! differ. And the same as JSON (`json`).

mod doubted;
mod json;

use super::table::{Table, wrapped};
use super::{FitRow, csv_text};
use crate::fair::compare::Unlike;
use crate::fair::{Accuracy, Again, Doubt, FairEdge, Finding, FindingKind, LineKind};
use crate::fault::Fault;
use crate::job::{Act, Job};
use crate::length::{Show, fine, number, show};
use crate::survey::{Applied, Note, Survey};

pub use doubted::{doubted_notice, misgivings, unsettled};
pub use json::fairness_json;
pub(super) use json::{DoubtRow, SurveyRows, doubt_rows, survey_rows};

/// Letters in a line of text.
const WIDE: usize = 96;

/// All that the report is made from.
#[derive(Debug, Clone, Copy)]
pub struct Fairness<'a> {
    /// The job.
    pub job: &'a Job,
    /// Measured points.
    pub survey: &'a Survey,
    /// Faired lines.
    pub edge: &'a FairEdge,
    /// How both lines fit every point.
    pub fit: &'a [FitRow],
    /// Port against starboard.
    pub unlike: &'a [Unlike],
}

/// A move in words: `raise 1/8 in`, `out 1.2 mm`; a dash where it is less
/// than half of what is shown.
fn moved(mm: f64, words: [&str; 2], shown: Show) -> String {
    let least = match shown {
        Show::Mm => 0.05,
        Show::FeetInches => 25.4 / 32.0,
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
    let job = input.job;
    let mut out = format!("{}\n", job.name);
    if !job.note.is_empty() {
        out.push_str(&format!("{}\n", job.note));
    }
    let odd: Vec<String> = input.survey.odd.iter().map(note).collect();
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
        out.push_str(&doubted::verdicts(&open));
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
        out.push_str(&format!("  {}\n", wrapped(&line, WIDE, "    ")));
    }
}

fn moves(input: &Fairness<'_>, out: &mut String) {
    let (fairing, shown) = (input.edge.fairing, input.job.show);
    out.push_str(&format!(
        "\nMOVES from the measured points to the fair lines\n  base line within {} of each point, top line within {}\n  {}\n",
        fine(fairing.base, shown),
        fine(fairing.top, shown),
        match input.edge.accuracy {
            Accuracy::Stated(mm) => format!("accuracy of the survey plus or minus {}, as the job states", fine(mm, shown)),
            Accuracy::Estimated(mm) => format!("accuracy of the survey plus or minus {}, estimated from how the points scatter (cross-validation): the job states none", fine(mm, shown)),
        }
    ));
    let mut table = Table::new(&[
        ("station", ""),
        ("side", ""),
        ("base line", ""),
        ("in plan", ""),
        ("top line", ""),
        ("in plan", ""),
    ]);
    for r in input.fit {
        table.row(vec![
            r.station.clone(),
            r.side.name().to_owned(),
            moved(r.base_up, HEIGHT, shown),
            moved(r.base_out, PLAN, shown),
            moved(r.top_up, HEIGHT, shown),
            moved(r.top_out, PLAN, shown),
        ]);
    }
    out.push_str(&table.text());
    for (line, up, side) in [
        (
            LineKind::Base,
            &(|r: &FitRow| r.base_up) as &dyn Fn(&FitRow) -> f64,
            &(|r: &FitRow| r.base_out) as &dyn Fn(&FitRow) -> f64,
        ),
        (LineKind::Top, &|r: &FitRow| r.top_up, &|r: &FitRow| {
            r.top_out
        }),
    ] {
        let largest = |f: &dyn Fn(&FitRow) -> f64, words| {
            let r = input
                .fit
                .iter()
                .max_by(|a, b| f(a).abs().total_cmp(&f(b).abs()))?;
            Some(format!(
                "{} at {} ({})",
                moved(f(r), words, shown),
                r.station,
                r.side.name()
            ))
        };
        if let (Some(height), Some(plan)) = (largest(up, HEIGHT), largest(side, PLAN)) {
            out.push_str(&format!("  {}, largest: {height}; {plan}\n", line.name()));
        }
    }
}

/// Between which measured points a place of a chain lies.
fn between(input: &Fairness<'_>, chain: usize, t: f64) -> String {
    let rows: Vec<&FitRow> = input.fit.iter().filter(|r| r.chain == chain).collect();
    let after = rows.partition_point(|r| r.t <= t);
    let name = |r: &FitRow| format!("{} ({})", r.station, r.side.name());
    match (
        after.checked_sub(1).and_then(|k| rows.get(k)),
        rows.get(after),
    ) {
        (Some(a), Some(b)) => {
            let near = 0.1 * (b.t - a.t);
            if t - a.t < near {
                format!("at {}", name(a))
            } else if b.t - t < near {
                format!("at {}", name(b))
            } else {
                format!("between {} and {}", name(a), name(b))
            }
        }
        (Some(r), None) | (None, Some(r)) => format!("at {}", name(r)),
        (None, None) => String::new(),
    }
}

fn findings(input: &Fairness<'_>) -> Vec<String> {
    let sentence = |f: &Finding| {
        let place = between(input, f.chain, f.t);
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
    let marked = |f: &Finding| match doubted::follows(input, f) {
        None => sentence(f),
        Some(d) => format!(
            "{}; this follows from {} if that figure is wrong",
            sentence(f),
            doubted::figure_of(d)
        ),
    };
    input.edge.findings.iter().map(marked).collect()
}

fn doubts(input: &Fairness<'_>) -> Vec<String> {
    let sentence = |d: &Doubt| format!("{}: {}", d.place, d.sentence(input.job.show));
    input.edge.doubts.iter().map(sentence).collect()
}

fn ruled(a: &Applied, shown: Show) -> String {
    let figure = a.figure.map_or("row", |f| f.name()).replace('_', "-");
    let what = match &a.act {
        Act::Accept => format!("{figure} accepted"),
        Act::Exclude => "left out".to_owned(),
        Act::Replace(text) => format!(
            "{figure} {} replaced by {text}",
            a.was.map_or(String::new(), |mm| show(mm, shown))
        ),
    };
    format!(
        "{} line {}, {}, {}: {what}, as the job says",
        a.file,
        a.line,
        a.side.name(),
        a.name
    )
}

/// The survey's notes, a sentence each.
fn noted(survey: &Survey) -> Vec<String> {
    survey.notes.iter().map(note).collect()
}

fn note(n: &Note) -> String {
    format!("{}: {}", n.place, n.text)
}

/// The verdicts applied, a sentence each.
#[must_use]
pub fn rulings(survey: &Survey, shown: Show) -> Vec<String> {
    survey.verdicts.iter().map(|a| ruled(a, shown)).collect()
}

/// What of the survey a person should know before plates are cut from it: its
/// notes, the figures in doubt, how many places are not fair. Sentences.
#[must_use]
pub fn survey_warnings(survey: &Survey, edge: &FairEdge, shown: Show) -> Vec<String> {
    let mut out: Vec<String> = survey.odd.iter().map(note).collect();
    out.extend(noted(survey));
    out.extend(unsettled(survey, &edge.doubts).into_iter().map(|d| {
        format!(
            "{}: {}: measure it again, or settle it with a [[survey.verdict]] in the job",
            d.place,
            d.sentence(shown)
        )
    }));
    match edge.findings.len() {
        0 => {}
        1 => out.push("one place of the lines is not fair: `planksheer fair` tells it".to_owned()),
        n => out.push(format!(
            "{n} places of the lines are not fair: `planksheer fair` tells them"
        )),
    }
    out
}

/// Notes of the survey, the datum's fit and the verdicts applied.
fn notes(input: &Fairness<'_>) -> Vec<String> {
    let shown = input.job.show;
    let mut out = noted(input.survey);
    out.extend(rulings(input.survey, shown));
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

/// The moves as a table, mm.
///
/// # Errors
/// The table could not be written.
pub fn moves_csv(rows: &[FitRow]) -> Result<String, Fault> {
    let header = [
        "station",
        "side",
        "along_mm",
        "base_out_mm",
        "base_up_mm",
        "top_out_mm",
        "top_up_mm",
    ]
    .map(str::to_owned);
    let lines: Vec<Vec<String>> = rows
        .iter()
        .map(|r| {
            let mut line = vec![r.station.clone(), r.side.name().to_owned()];
            line.extend([r.t, r.base_out, r.base_up, r.top_out, r.top_up].map(|v| number(v, 2)));
            line
        })
        .collect();
    csv_text("moves.csv", &header, &lines)
}
