//! What the check of the tacked and the welded line says.

use serde::Serialize;

use super::cautions::Caution;
use super::json_text;
use super::table::{Table, wrapped};
use crate::fault::Fault;
use crate::job::Job;
use crate::layout::side_name;
use crate::length::{Show, fine_up, show};
use crate::tacked::{Checked, FEWEST, Judged, Left, Pull, Stood, Verdict};

/// Letters in a line of running text.
const LINE: usize = 92;

/// A surveyed line, judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// File it was read from.
    pub file: String,
    /// What is to be said of it.
    pub checked: Checked,
}

/// All that the check is told from.
#[derive(Debug, Clone, Copy)]
pub struct Subject<'a> {
    /// The job.
    pub job: &'a Job,
    /// The line as tacked.
    pub tacked: &'a Line,
    /// The line as welded.
    pub welded: Option<&'a Line>,
    /// Welded less tacked, by stanchion.
    pub pulls: &'a [Pull],
    /// What is to be known of the survey before the verdict. Sentences.
    pub warnings: &'a [String],
}

impl Subject<'_> {
    /// The line that was surveyed last.
    #[must_use]
    pub fn last(&self) -> &Line {
        self.welded.unwrap_or(self.tacked)
    }
}

/// What to mind when stanchions are moved.
fn cautions() -> Vec<Caution> {
    let caution = |subject: &str, text: &str| Caution {
        subject: subject.to_owned(),
        text: text.to_owned(),
        source: "common practice, no source".to_owned(),
    };
    vec![
        caution(
            "moving tacked stanchions",
            "Break the tack and grind it out rather than force the plate over: a forced tack can \
             crack, and springs back in welding. Look for cracks before you tack again. Heat takes \
             strength out of the plate. The yard's welding procedure goes first.",
        ),
        caution(
            "hot work",
            "Every new tack is hot work on a wooden boat: permit, wetting down and fire watch as \
             for welding, and the yard's own rules.",
        ),
        caution(
            "sighting",
            "The check sees the stanchions alone. Sight along the rail before you weld; the first \
             and last stanchion of a length can hardly be judged by figures.",
        ),
    ]
}

/// The report as a person reads it.
#[must_use]
pub fn tacked_text(subject: &Subject<'_>) -> String {
    let job = subject.job;
    let mut out = format!("{}\n", job.heading());
    if !job.note.is_empty() {
        out.push_str(&format!("{}\n", wrapped(&job.note, LINE, "")));
    }
    for w in subject.warnings {
        out.push_str(&format!(
            "{}\n",
            wrapped(&format!("warning: {w}"), LINE, "  ")
        ));
    }
    out.push_str(&line_text("AS TACKED", subject.tacked, job.show));
    if let Some(welded) = subject.welded {
        out.push_str(&line_text("AS WELDED", welded, job.show));
        out.push_str(&pull_text(subject.pulls, job.show));
    }
    out.push_str("\nCAUTIONS\n");
    for c in cautions() {
        let text = format!("{}. {} [{}]", c.subject, c.text, c.source);
        out.push_str(&format!("  - {}\n", wrapped(&text, LINE - 4, "    ")));
    }
    out
}

fn line_text(title: &str, line: &Line, as_shown: Show) -> String {
    let c = &line.checked;
    let all = c.stanchions.len() + c.missing.len();
    let verdict = if c.fair() { "FAIR" } else { "NOT FAIR" };
    let mut out = format!(
        "\n{title}: {verdict}\n  {}: {} of {all} stanchions, each within {}\n",
        line.file,
        c.stanchions.len(),
        show(c.accuracy, as_shown)
    );
    let mut say = |text: &str| out.push_str(&format!("  {}\n", wrapped(text, LINE - 2, "  ")));
    if !c.missing.is_empty() {
        say(&format!("Not measured: {}.", c.missing.join(", ")));
    }
    for row in &c.rows {
        for text in row_texts(c, row, as_shown) {
            say(&text);
        }
    }
    let moves = moved(c);
    if !moves.is_empty() {
        say(match (c.mends(), c.fewest()) {
            (true, true) => "The fewest moves that make it fair:",
            (true, false) => "Moves that make it fair (fewer may do):",
            (false, _) => "Moves as far as the limits allow:",
        });
        for s in moves {
            out.push_str(&format!("    {}\n", sentence(s, as_shown)));
        }
    }
    out.push('\n');
    out.push_str(&off_table(c, as_shown));
    out
}

/// Stanchions that are to be moved.
fn moved(c: &Checked) -> Vec<&Stood> {
    let still = |s: &&Stood| s.move_out.abs() > 0.0 || s.move_up.abs() > 0.0;
    c.stanchions.iter().filter(still).collect()
}

/// `stanchion 7P: up 3 mm, in 2 mm`.
fn sentence(s: &Stood, as_shown: Show) -> String {
    let parts = [
        (s.move_up, way(s.move_up, ["up", "down"], as_shown)),
        (s.move_out, way(s.move_out, ["out", "in"], as_shown)),
    ];
    let told: Vec<String> = parts
        .into_iter()
        .filter(|(by, _)| by.abs() > 0.0)
        .map(|(_, text)| text)
        .collect();
    format!("stanchion {}: {}", s.name, told.join(", "))
}

fn way(by: f64, words: [&str; 2], as_shown: Show) -> String {
    let amount = show(by.abs(), as_shown);
    if amount == show(0.0, as_shown) {
        return amount;
    }
    let word = if by >= 0.0 { words[0] } else { words[1] };
    format!("{word} {amount}")
}

fn row_texts(c: &Checked, row: &Judged, as_shown: Show) -> Vec<String> {
    let names = names(c, row);
    let between = match (names.first(), names.last()) {
        (Some(a), Some(b)) if a != b => format!("{a} to {b}"),
        (Some(a), _) => (*a).to_owned(),
        _ => String::new(),
    };
    if row.views().next().is_none() {
        return vec![format!(
            "{between}: not judged, {FEWEST} stanchions are needed and {} were measured.",
            names.len()
        )];
    }
    let reach = show(c.accuracy, as_shown);
    let mut out = Vec::new();
    for (view, v) in row.views() {
        if v.fair() {
            out.push(format!(
                "{between}, {view}: fair. A smooth line lies within {reach} of every stanchion."
            ));
            continue;
        }
        out.push(format!(
            "{between}, {view}: not fair. No smooth line lies within {reach} of every stanchion; \
             the nearest leaves some by {} more.",
            fine_up(v.need, as_shown)
        ));
        if let Some(left) = &v.left {
            let words = if view == "in plan" {
                ["out", "in"]
            } else {
                ["up", "down"]
            };
            let own = c.stanchions.get(row.within.clone()).unwrap_or_default();
            out.push(left_text(own, words, left, as_shown));
        }
    }
    out
}

fn names<'a>(c: &'a Checked, row: &Judged) -> Vec<&'a str> {
    let own = c.stanchions.get(row.within.clone()).unwrap_or_default();
    own.iter().map(|s| s.name.as_str()).collect()
}

fn left_text(own: &[Stood], words: [&str; 2], left: &Left, as_shown: Show) -> String {
    let stuck: Vec<String> = left
        .at_limit
        .iter()
        .filter_map(|(i, by)| {
            let s = own.get(*i)?;
            let limit = s.limit.map_or("fixed".to_owned(), |l| {
                format!("limit {}", show(l, as_shown))
            });
            Some(format!(
                "{} {} ({limit})",
                s.name,
                way(*by, words, as_shown)
            ))
        })
        .collect();
    let about: Vec<&str> = left
        .about
        .iter()
        .filter_map(|i| own.get(*i).map(|s| s.name.as_str()))
        .collect();
    format!(
        "No moves within the limits make it fair. It would take {}. With the moves as far as they may \
         go, the nearest smooth line still lies {} beyond the survey's accuracy, about {}.",
        stuck.join(", "),
        fine_up(left.need, as_shown),
        about.join(", ")
    )
}

fn off_table(c: &Checked, as_shown: Show) -> String {
    let mut table = Table::new(&[
        ("stanchion", ""),
        ("in plan", "off the plan"),
        ("in height", "off the plan"),
        ("move", "in plan"),
        ("move", "in height"),
        ("limit", ""),
    ]);
    let still = |by: f64, words| {
        if by.abs() > 0.0 {
            way(by, words, as_shown)
        } else {
            "-".to_owned()
        }
    };
    for s in &c.stanchions {
        table.row(vec![
            s.name.clone(),
            way(s.out, ["out", "in"], as_shown),
            way(s.up, ["up", "down"], as_shown),
            still(s.move_out, ["out", "in"]),
            still(s.move_up, ["up", "down"]),
            s.limit.map_or("fixed".to_owned(), |l| show(l, as_shown)),
        ]);
    }
    table.text()
}

fn largest(pulls: &[Pull]) -> Option<&Pull> {
    let by_size = |a: &&Pull, b: &&Pull| a.size().total_cmp(&b.size());
    // The first of equals, along the edge.
    pulls.iter().rev().max_by(by_size)
}

fn pull_text(pulls: &[Pull], as_shown: Show) -> String {
    let mut out = "\nPULL OF THE WELDS: welded less tacked\n".to_owned();
    let Some(most) = largest(pulls) else {
        out.push_str("  No stanchion was measured both times.\n");
        return out;
    };
    out.push_str(&format!(
        "  Largest at {}: {}, {}\n\n",
        most.name,
        way(most.out, ["out", "in"], as_shown),
        way(most.up, ["up", "down"], as_shown)
    ));
    let mut table = Table::new(&[("stanchion", ""), ("in plan", ""), ("in height", "")]);
    for p in pulls {
        table.row(vec![
            p.name.clone(),
            way(p.out, ["out", "in"], as_shown),
            way(p.up, ["up", "down"], as_shown),
        ]);
    }
    out.push_str(&table.text());
    out
}

#[derive(Serialize)]
struct Json<'a> {
    schema: &'static str,
    name: &'a str,
    date: &'a str,
    note: &'a str,
    warnings: &'a [String],
    fair: bool,
    tacked: LineJson<'a>,
    welded: Option<LineJson<'a>>,
    pulls: Vec<PullJson<'a>>,
    largest_pull: Option<PullJson<'a>>,
    cautions: Vec<Caution>,
}

#[derive(Serialize)]
struct LineJson<'a> {
    file: &'a str,
    fair: bool,
    moves_make_it_fair: bool,
    moves_are_fewest: bool,
    accuracy_mm: f64,
    stands_out_at_most_mm: f64,
    not_measured: &'a [String],
    moves: Vec<MoveJson<'a>>,
    stanchions: Vec<StoodJson<'a>>,
    lengths: Vec<LengthJson<'a>>,
}

#[derive(Serialize)]
struct MoveJson<'a> {
    stanchion: &'a str,
    out_mm: f64,
    up_mm: f64,
}

#[derive(Serialize)]
struct StoodJson<'a> {
    stanchion: &'a str,
    side: &'static str,
    place: &'a str,
    out_mm: f64,
    up_mm: f64,
    fixed: bool,
    limit_mm: Option<f64>,
    move_out_mm: f64,
    move_up_mm: f64,
}

#[derive(Serialize)]
struct LengthJson<'a> {
    stanchions: Vec<&'a str>,
    plan: Option<ViewJson<'a>>,
    height: Option<ViewJson<'a>>,
}

#[derive(Serialize)]
struct ViewJson<'a> {
    fair: bool,
    short_by_mm: f64,
    fair_line_mm: Vec<f64>,
    left_mm: Option<f64>,
    beyond_limit: Vec<BeyondJson<'a>>,
    left_about: Vec<&'a str>,
}

#[derive(Serialize)]
struct BeyondJson<'a> {
    stanchion: &'a str,
    move_mm: f64,
}

#[derive(Serialize)]
struct PullJson<'a> {
    stanchion: &'a str,
    out_mm: f64,
    up_mm: f64,
}

/// Rounded to a millionth, never minus nought.
fn figure(v: f64) -> f64 {
    (v * 1e6).round() / 1e6 + 0.0
}

fn pull_json(p: &Pull) -> PullJson<'_> {
    PullJson {
        stanchion: &p.name,
        out_mm: figure(p.out),
        up_mm: figure(p.up),
    }
}

fn view_json<'a>(names: &[&'a str], v: &Verdict) -> ViewJson<'a> {
    let name = |i: &usize| names.get(*i).copied();
    let left = v.left.as_ref();
    let beyond = |(i, by): &(usize, f64)| {
        Some(BeyondJson {
            stanchion: name(i)?,
            move_mm: figure(*by),
        })
    };
    ViewJson {
        fair: v.fair(),
        short_by_mm: figure(v.need.max(0.0)),
        fair_line_mm: v.line.iter().map(|s| figure(*s)).collect(),
        left_mm: left.map(|l| figure(l.need)),
        beyond_limit: left
            .map(|l| l.at_limit.iter().filter_map(beyond).collect())
            .unwrap_or_default(),
        left_about: left
            .map(|l| l.about.iter().filter_map(name).collect())
            .unwrap_or_default(),
    }
}

fn line_json(line: &Line) -> LineJson<'_> {
    let c = &line.checked;
    let length = |row: &Judged| {
        let names = names(c, row);
        LengthJson {
            plan: row.plan.as_ref().map(|v| view_json(&names, v)),
            height: row.height.as_ref().map(|v| view_json(&names, v)),
            stanchions: names,
        }
    };
    LineJson {
        file: &line.file,
        fair: c.fair(),
        moves_make_it_fair: c.mends(),
        moves_are_fewest: c.fewest(),
        accuracy_mm: figure(c.accuracy),
        stands_out_at_most_mm: figure(c.smooth),
        not_measured: &c.missing,
        moves: moved(c)
            .into_iter()
            .map(|s| MoveJson {
                stanchion: &s.name,
                out_mm: figure(s.move_out),
                up_mm: figure(s.move_up),
            })
            .collect(),
        stanchions: c
            .stanchions
            .iter()
            .map(|s| StoodJson {
                stanchion: &s.name,
                side: side_name(s.side),
                place: &s.place,
                out_mm: figure(s.out),
                up_mm: figure(s.up),
                fixed: s.limit.is_none(),
                limit_mm: s.limit.map(figure),
                move_out_mm: figure(s.move_out),
                move_up_mm: figure(s.move_up),
            })
            .collect(),
        lengths: c.rows.iter().map(length).collect(),
    }
}

/// The report as a machine reads it; docs/tacked-check.md says what each key holds.
///
/// # Errors
/// If it cannot be written.
pub fn tacked_json(subject: &Subject<'_>) -> Result<String, Fault> {
    let job = subject.job;
    let all = Json {
        schema: "planksheer-check/1",
        name: &job.name,
        date: &job.date,
        note: &job.note,
        warnings: subject.warnings,
        fair: subject.last().checked.fair(),
        tacked: line_json(subject.tacked),
        welded: subject.welded.map(line_json),
        pulls: subject.pulls.iter().map(pull_json).collect(),
        largest_pull: largest(subject.pulls).map(pull_json),
        cautions: cautions(),
    };
    json_text("check", &all)
}
