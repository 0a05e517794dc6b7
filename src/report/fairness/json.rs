//! The fairing as JSON.

use serde::Serialize;

use super::doubted::{figure_of, follows};
use super::{Fairness, between, note, noted, rulings};
use crate::fair::{Accuracy, Doubt, FindingKind, LineKind, Toward, View};
use crate::fault::Fault;
use crate::job::Job;
use crate::report::json_text;
use crate::report::summary::{FitPoint, fit_points};
use crate::survey::Survey;

#[derive(Debug, Serialize)]
struct Root<'a> {
    schema: &'static str,
    job: &'a str,
    accuracy_mm: f64,
    accuracy_estimated: bool,
    base_tolerance_mm: f64,
    top_tolerance_mm: f64,
    points: Vec<FitPoint<'a>>,
    findings: Vec<FindingRow>,
    doubts: Vec<DoubtRow<'a>>,
    survey: SurveyRows<'a>,
    port_and_starboard: Vec<UnlikeRow<'a>>,
}

#[derive(Debug, Serialize)]
struct FindingRow {
    kind: FindingKind,
    line: LineKind,
    view: View,
    chain: usize,
    t_mm: f64,
    place: String,
    size_mm: f64,
    toward: Toward,
    #[serde(skip_serializing_if = "Option::is_none")]
    sides_differ_mm: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    follows_from: Option<String>,
}

#[derive(Debug, Serialize)]
pub(in crate::report) struct DoubtRow<'a> {
    file: &'a str,
    line: Option<usize>,
    station: &'a str,
    side: &'static str,
    figure: &'static str,
    booked: &'a str,
    booked_mm: f64,
    out_mm: f64,
    likely: &'a str,
    likely_mm: f64,
    slip: Option<&'a str>,
    at_end: bool,
    may_be_knuckle: bool,
    sure: &'static str,
}

#[derive(Debug, Serialize)]
pub(in crate::report) struct SurveyRows<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    look_first: Option<String>,
    notes: Vec<String>,
    verdicts: Vec<String>,
    datum: Option<DatumRow<'a>>,
}

#[derive(Debug, Serialize)]
struct DatumRow<'a> {
    rms_mm: f64,
    limit_mm: f64,
    references: Vec<ReferenceRow<'a>>,
}

#[derive(Debug, Serialize)]
struct ReferenceRow<'a> {
    name: &'a str,
    shots: usize,
    off_forward_mm: f64,
    off_port_mm: f64,
    off_up_mm: f64,
}

#[derive(Debug, Serialize)]
struct UnlikeRow<'a> {
    station: &'a str,
    x_mm: f64,
    base_port_wider_mm: f64,
    base_port_higher_mm: f64,
    top_port_wider_mm: f64,
    top_port_higher_mm: f64,
}

/// To a thousandth, mm; never minus nought.
fn round(mm: f64) -> f64 {
    (mm * 1000.0).round() / 1000.0 + 0.0
}

/// Rows of the doubts, for JSON.
pub(in crate::report) fn doubt_rows(doubts: &[Doubt]) -> Vec<DoubtRow<'_>> {
    doubts
        .iter()
        .map(|d| DoubtRow {
            file: &d.place.file,
            line: d.place.line,
            station: &d.name,
            side: d.side.name(),
            figure: d.figure.name(),
            booked: &d.booked_text,
            booked_mm: round(d.booked),
            out_mm: round(d.out),
            likely: &d.likely_text,
            likely_mm: round(d.likely),
            slip: d.slip.as_deref(),
            at_end: d.at_end,
            may_be_knuckle: d.may_be_knuckle,
            sure: d.sure.name(),
        })
        .collect()
}

/// What the survey tells of itself, for JSON.
pub(in crate::report) fn survey_rows<'a>(survey: &'a Survey, job: &Job) -> SurveyRows<'a> {
    SurveyRows {
        look_first: survey.odd.as_ref().map(note),
        notes: noted(survey),
        verdicts: rulings(survey, job.show),
        datum: survey.datum.as_ref().map(|d| DatumRow {
            rms_mm: round(d.rms),
            limit_mm: round(d.limit),
            references: d
                .references
                .iter()
                .map(|r| ReferenceRow {
                    name: &r.name,
                    shots: r.shots,
                    off_forward_mm: round(r.off.x),
                    off_port_mm: round(r.off.y),
                    off_up_mm: round(r.off.z),
                })
                .collect(),
        }),
    }
}

/// The report as JSON; docs/fairness.md tells the keys.
///
/// # Errors
/// A number that JSON cannot hold ([`crate::fault::Kind::File`]).
pub fn fairness_json(input: &Fairness<'_>) -> Result<String, Fault> {
    let root = Root {
        schema: "planksheer fairness 1",
        job: &input.job.name,
        accuracy_mm: round(input.edge.accuracy.mm()),
        accuracy_estimated: matches!(input.edge.accuracy, Accuracy::Estimated(_)),
        base_tolerance_mm: round(input.edge.fairing.base),
        top_tolerance_mm: round(input.edge.fairing.top),
        points: fit_points(input.fit, round),
        findings: input
            .edge
            .findings
            .iter()
            .map(|f| FindingRow {
                kind: f.kind,
                line: f.line,
                view: f.view,
                chain: f.chain,
                t_mm: round(f.t),
                place: between(input, f.chain, f.t),
                size_mm: round(f.size),
                toward: f.toward,
                sides_differ_mm: f.unlike.map(round),
                follows_from: follows(input, f).map(figure_of),
            })
            .collect(),
        doubts: doubt_rows(&input.edge.doubts),
        survey: survey_rows(input.survey, input.job),
        port_and_starboard: input
            .unlike
            .iter()
            .map(|u| UnlikeRow {
                station: &u.station,
                x_mm: round(u.x),
                base_port_wider_mm: round(u.base_wider),
                base_port_higher_mm: round(u.base_higher),
                top_port_wider_mm: round(u.top_wider),
                top_port_higher_mm: round(u.top_higher),
            })
            .collect(),
    };
    json_text("fairness.json", &root)
}
