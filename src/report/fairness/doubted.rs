//! Figures in doubt: those that no verdict settles, the notice of them on
//! drawings, what follows from them, and the verdicts to paste.

use std::path::Path;

use super::Fairness;
use crate::fair::{Doubt, Finding, View};
use crate::job::{Act, Job};
use crate::survey::Survey;

/// Figures that a drawing's notice names; the rest is counted.
const NAMED: usize = 3;

/// A finding this many points or fewer from a doubted figure may follow from
/// it: a point pulls the line no further than its second neighbours to speak
/// of, as a spline's basis reaches.
const REACH: usize = 2;

/// Doubts that no verdict of the job settles, by accepting or replacing the figure.
#[must_use]
pub fn unsettled<'a>(survey: &Survey, doubts: &'a [Doubt]) -> Vec<&'a Doubt> {
    let settled = |d: &Doubt| {
        survey.verdicts.iter().any(|a| {
            a.act != Act::Exclude
                && a.file == d.place.file
                && Some(a.line) == d.place.line
                && a.figure.is_none_or(|f| f == d.figure)
        })
    };
    doubts.iter().filter(|d| !settled(d)).collect()
}

/// The point of a doubt, in words: `port station 6`, `starboard point S12`.
fn point(d: &Doubt) -> String {
    let kind = if d.figure.of_offsets() {
        "station "
    } else if d.name.starts_with("x ") {
        ""
    } else {
        "point "
    };
    format!("{} {kind}{}", d.side.name(), d.name)
}

/// What every drawing says where figures are in doubt: one line.
#[must_use]
pub fn doubted_notice(survey: &Survey, doubts: &[Doubt]) -> Option<String> {
    let all = unsettled(survey, doubts);
    let named: Vec<String> = (all.iter().take(NAMED))
        .map(|d| format!("{} {}", figure_of(d), d.booked_text))
        .collect();
    let more = match all.len().saturating_sub(NAMED) {
        0 => String::new(),
        n => format!("; and {n} more"),
    };
    (!all.is_empty()).then(|| format!("SURVEY DOUBTED: {}{more}", named.join("; ")))
}

/// The doubt that a finding may follow from: in the same view, two points of
/// the chain away or nearer.
pub(super) fn follows<'a>(input: &'a Fairness<'_>, f: &Finding) -> Option<&'a Doubt> {
    let points = &input.edge.chains.get(f.chain)?.points;
    let here = |d: &&Doubt| {
        let seen = match f.view {
            View::Plan => d.figure.axis() != 2,
            View::Profile => d.figure.axis() == 2,
            View::True => true,
        };
        let at = points.iter().position(|p| p.index == d.index);
        d.chain == f.chain
            && seen
            && at.is_some_and(|i| {
                let first = &points[i.saturating_sub(REACH)];
                let last = &points[(i + REACH).min(points.len() - 1)];
                first.t <= f.t && f.t <= last.t
            })
    };
    input.edge.doubts.iter().find(here)
}

/// A doubted figure in words: `port station 6 height`.
pub(super) fn figure_of(d: &Doubt) -> String {
    format!("{} {}", point(d), d.figure.name().replace('_', "-"))
}

/// A survey file as the job names it: from the job file's folder.
fn from_job(file: &str, job: &Job) -> String {
    let folder = Path::new(&job.file).parent();
    let own = folder.and_then(|f| Path::new(file).strip_prefix(f).ok());
    own.map_or_else(|| file.to_owned(), |p| p.to_string_lossy().into_owned())
}

/// Text as TOML takes it.
fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

/// The verdicts of doubts, ready to paste into the job. What becomes of the
/// figure stands as comments: a job that says neither is refused, so that no
/// figure is settled unseen.
pub(super) fn verdicts(doubts: &[&Doubt], job: &Job) -> String {
    let mut out = String::new();
    for d in doubts {
        out.push_str(&format!(
            "\n  [[survey.verdict]]\n  file = {}\n  point = {}\n  side = \"{}\"\n  figure = \"{}\"\n  # do = \"accept\"    # {} is right\n  # do = \"replace\"   # it is this:\n  # value = {}\n",
            quoted(&from_job(&d.place.file, job)),
            quoted(&d.name),
            d.side.name(),
            d.figure.name(),
            d.booked_text,
            quoted(&d.likely_text),
        ));
    }
    out
}
