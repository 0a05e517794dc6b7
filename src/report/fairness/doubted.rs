//! Figures in doubt: those that no verdict settles, the notice of them on
//! drawings, what follows from them, and the verdicts to paste.

use crate::fair::{Doubt, FairEdge, Finding, View};
use crate::geom::trig;
use crate::job::Act;
use crate::survey::{Note, Survey};

/// Figures that a drawing's notice names; the rest is counted.
const NAMED: usize = 3;

/// A wrong point swings a quintic spline through its neighbours by this share
/// from each to the next (root of the Euler-Frobenius polynomial of degree 5,
/// from memory).
const SWING: f64 = 0.4306;

/// Fewest points on each side that a doubted figure reaches: with fewer it is
/// not seen beside itself.
const REACH: usize = 2;

/// Points on each side until the swing is below the survey's accuracy, mm.
fn reach(d: &Doubt, accuracy: f64) -> usize {
    let least = accuracy.max(0.05);
    let swings = |n: &i32| d.out.abs() * trig::pow(SWING, f64::from(*n)) > least;
    (1..100).take_while(swings).count().max(REACH)
}

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
    named(survey, doubts).map(|figures| format!("SURVEY DOUBTED: {figures}"))
}

/// What a report that is not of the survey says of it first: whether it looks
/// misread, and its figures in doubt. Sentences.
#[must_use]
pub fn misgivings(survey: &Survey, doubts: &[Doubt]) -> Vec<String> {
    let mut out: Vec<String> = survey.odd.iter().map(Note::told).collect();
    out.extend(named(survey, doubts).map(|figures| {
        format!(
            "the survey is doubted: {figures}: measure again, or settle with a \
             [[survey.verdict]]; `planksheer fair` tells why"
        )
    }));
    out
}

/// The first figures in doubt, and how many more there are.
fn named(survey: &Survey, doubts: &[Doubt]) -> Option<String> {
    let all = unsettled(survey, doubts);
    let named: Vec<String> = (all.iter().take(NAMED))
        .map(|d| format!("{} {}", figure_of(d), d.booked_text))
        .collect();
    let more = match all.len().saturating_sub(NAMED) {
        0 => String::new(),
        n => format!("; and {n} more"),
    };
    (!all.is_empty()).then(|| format!("{}{more}", named.join("; ")))
}

/// The doubt that a finding may follow from: in the same view, where the doubted
/// figure swings the line.
pub(super) fn follows<'a>(edge: &'a FairEdge, f: &Finding) -> Option<&'a Doubt> {
    let points = &edge.chains.get(f.chain)?.points;
    let here = |d: &&Doubt| {
        let seen = match f.view {
            View::Plan => d.figure.axis() != 2,
            View::Profile => d.figure.axis() == 2,
            View::True => true,
        };
        let at = || points.binary_search_by_key(&d.index, |p| p.index);
        d.chain == f.chain
            && seen
            && at().is_ok_and(|i| {
                let reach = reach(d, edge.accuracy.mm());
                let first = &points[i.saturating_sub(reach)];
                let last = &points[(i + reach).min(points.len() - 1)];
                first.t <= f.t && f.t <= last.t
            })
    };
    edge.doubts.iter().find(here)
}

/// A doubted figure in words: `port station 6 height`.
pub(super) fn figure_of(d: &Doubt) -> String {
    format!("{} {}", point(d), d.figure.name().replace('_', "-"))
}

/// Text as TOML takes it.
fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

/// The verdicts of doubts, ready to paste into the job. What becomes of the
/// figure stands as comments: a job that says neither is refused, so that no
/// figure is settled unseen.
pub(super) fn verdicts(doubts: &[&Doubt]) -> String {
    let mut out = String::new();
    for d in doubts {
        out.push_str(&format!(
            "\n  [[survey.verdict]]\n  file = {}\n  point = {}\n  side = \"{}\"\n  figure = \"{}\"\n  # do = \"accept\"    # {} is right\n  # do = \"replace\"   # it is this:\n  # value = {}\n",
            quoted(&d.place.file),
            quoted(&d.name),
            d.side.name(),
            d.figure.name(),
            d.booked_text,
            quoted(&d.likely_text),
        ));
    }
    out
}
