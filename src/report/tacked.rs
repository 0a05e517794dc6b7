//! What the check of the tacked and the welded line says.

use serde_json::{Value, json};

use super::cautions::Caution;
use super::json::{json_text, round};
use super::prose::{heading, items, paragraph, warnings};
use super::table::Table;
use crate::fault::Fault;
use crate::job::Job;
use crate::layout::side_name;
use crate::length::{Show, fine_up, show};
use crate::quantity::given;
use crate::tacked::{Checked, FEWEST, Judged, Left, Pull, Stood, Verdict};

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
    let caution = |subject, text| Caution::of(subject, text, "common practice, no source");
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
    let mut out = heading(job) + &warnings(subject.warnings);
    out.push_str(&line_text("AS TACKED", subject.tacked, job));
    if let Some(welded) = subject.welded {
        out.push_str(&line_text("AS WELDED", welded, job));
        out.push_str(&pull_text(subject.pulls, job));
    }
    out + &items("CAUTIONS", cautions().iter().map(Caution::sentence))
}

fn line_text(title: &str, line: &Line, job: &Job) -> String {
    let (c, as_shown) = (&line.checked, job.show);
    let all = c.stanchions.len() + c.missing.len();
    let verdict = if c.fair() { "FAIR" } else { "NOT FAIR" };
    let mut out = format!(
        "\n{title}: {verdict}\n  {}: {} of {all} stanchions, each within {}\n",
        line.file,
        c.stanchions.len(),
        given(c.accuracy, as_shown)
    );
    let mut say = |text: &str| out.push_str(&paragraph(text));
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
    out.push_str(&off_table(c, job));
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
    let reach = given(c.accuracy, as_shown);
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
        let words = if view == "in plan" {
            ["out", "in"]
        } else {
            ["up", "down"]
        };
        let own = c.stanchions.get(row.within.clone()).unwrap_or_default();
        if let Some(left) = &v.left {
            out.push(left_text(own, words, left, as_shown));
        }
        if !v.freed.is_empty() {
            out.push(format!(
                "The limits make more stanchions move: without them it would take {} alone.",
                whole_moves(own, words, &v.freed, as_shown)
            ));
        }
    }
    out
}

fn names<'a>(c: &'a Checked, row: &Judged) -> Vec<&'a str> {
    let own = c.stanchions.get(row.within.clone()).unwrap_or_default();
    own.iter().map(|s| s.name.as_str()).collect()
}

/// Whole moves, each with what limits it.
fn whole_moves(own: &[Stood], words: [&str; 2], moves: &[(usize, f64)], as_shown: Show) -> String {
    let told: Vec<String> = moves
        .iter()
        .filter_map(|(i, by)| {
            let s = own.get(*i)?;
            let limit = s.limit.map_or("fixed".to_owned(), |l| {
                format!("limit {}", given(l, as_shown))
            });
            Some(format!(
                "{} {} ({limit})",
                s.name,
                way(*by, words, as_shown)
            ))
        })
        .collect();
    told.join(", ")
}

fn left_text(own: &[Stood], words: [&str; 2], left: &Left, as_shown: Show) -> String {
    let about: Vec<&str> = left
        .about
        .iter()
        .filter_map(|i| own.get(*i).map(|s| s.name.as_str()))
        .collect();
    format!(
        "No moves within the limits make it fair. It would take {}. With the moves as far as they may \
         go, the nearest smooth line still lies {} beyond the survey's accuracy, about {}.",
        whole_moves(own, words, &left.at_limit, as_shown),
        fine_up(left.need, as_shown),
        about.join(", ")
    )
}

fn off_table(c: &Checked, job: &Job) -> String {
    let off = |by, words| way(by, words, job.show);
    let still = |by: f64, words| (by.abs() > 0.0).then(|| off(by, words));
    Table::of(job, &c.stanchions)
        .text("stanchion", |s| &s.name)
        .text("in plan", |s| off(s.out, ["out", "in"]))
        .under("off the plan")
        .text("in height", |s| off(s.up, ["up", "down"]))
        .under("off the plan")
        .text("move", |s| still(s.move_out, ["out", "in"]))
        .under("in plan")
        .text("move", |s| still(s.move_up, ["up", "down"]))
        .under("in height")
        .text("limit", |s| {
            s.limit.map_or("fixed".to_owned(), |l| given(l, job.show))
        })
        .to_text()
}

fn largest(pulls: &[Pull]) -> Option<&Pull> {
    let by_size = |a: &&Pull, b: &&Pull| a.size().total_cmp(&b.size());
    // The first of equals, along the edge.
    pulls.iter().rev().max_by(by_size)
}

fn pull_text(pulls: &[Pull], job: &Job) -> String {
    let title = "\nPULL OF THE WELDS: welded less tacked\n";
    let off = |by, words| way(by, words, job.show);
    let Some(most) = largest(pulls) else {
        return format!("{title}  No stanchion was measured both times.\n");
    };
    let table = Table::of(job, pulls)
        .text("stanchion", |p| &p.name)
        .text("in plan", |p| off(p.out, ["out", "in"]))
        .text("in height", |p| off(p.up, ["up", "down"]));
    format!(
        "{title}  Largest at {}: {}, {}\n\n{}",
        most.name,
        off(most.out, ["out", "in"]),
        off(most.up, ["up", "down"]),
        table.to_text()
    )
}

fn pull_json(p: &Pull) -> Value {
    json!({ "stanchion": p.name, "out_mm": round(p.out), "up_mm": round(p.up) })
}

fn view_json(names: &[&str], v: &Verdict) -> Value {
    let beyond = |(i, by): &(usize, f64)| {
        Some(json!({ "stanchion": names.get(*i)?, "move_mm": round(*by) }))
    };
    let left = v.left.as_ref();
    let (at_limit, about) = left.map_or((&[][..], &[][..]), |l| (&l.at_limit, &l.about));
    json!({
        "fair": v.fair(),
        "short_by_mm": round(v.need.max(0.0)),
        "fair_line_mm": v.line.iter().map(|s| round(*s)).collect::<Vec<_>>(),
        "without_limits": v.freed.iter().filter_map(beyond).collect::<Vec<_>>(),
        "left_mm": left.map(|l| round(l.need)),
        "beyond_limit": at_limit.iter().filter_map(beyond).collect::<Vec<_>>(),
        "left_about": about.iter().filter_map(|i| names.get(*i)).collect::<Vec<_>>(),
    })
}

fn line_json(line: &Line) -> Value {
    let c = &line.checked;
    let length = |row: &Judged| {
        let names = names(c, row);
        json!({
            "stanchions": names,
            "plan": row.plan.as_ref().map(|v| view_json(&names, v)),
            "height": row.height.as_ref().map(|v| view_json(&names, v)),
        })
    };
    let step = |s: &Stood| json!({ "stanchion": s.name, "out_mm": round(s.move_out), "up_mm": round(s.move_up) });
    let stood = |s: &Stood| {
        json!({
            "stanchion": s.name,
            "side": side_name(s.side),
            "place": s.place,
            "out_mm": round(s.out),
            "up_mm": round(s.up),
            "fixed": s.limit.is_none(),
            "limit_mm": s.limit.map(round),
            "move_out_mm": round(s.move_out),
            "move_up_mm": round(s.move_up),
        })
    };
    json!({
        "file": line.file,
        "fair": c.fair(),
        "moves_make_it_fair": c.mends(),
        "moves_are_fewest": c.fewest(),
        "accuracy_mm": round(c.accuracy),
        "stands_out_at_most_mm": round(c.smooth),
        "not_measured": c.missing,
        "moves": moved(c).into_iter().map(step).collect::<Vec<_>>(),
        "stanchions": c.stanchions.iter().map(stood).collect::<Vec<_>>(),
        "lengths": c.rows.iter().map(length).collect::<Vec<_>>(),
    })
}

/// The report as a machine reads it; docs/tacked-check.md says what each key holds.
///
/// # Errors
/// If it cannot be written.
pub fn tacked_json(subject: &Subject<'_>) -> Result<String, Fault> {
    let job = subject.job;
    let all = json!({
        "schema": "planksheer-check/1",
        "name": job.name,
        "date": job.date,
        "note": job.note,
        "warnings": subject.warnings,
        "fair": subject.last().checked.fair(),
        "tacked": line_json(subject.tacked),
        "welded": subject.welded.map(line_json),
        "pulls": subject.pulls.iter().map(pull_json).collect::<Vec<_>>(),
        "largest_pull": largest(subject.pulls).map(pull_json),
        "cautions": cautions(),
    });
    json_text("check", &all)
}
