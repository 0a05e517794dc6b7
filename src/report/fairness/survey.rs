//! What the survey tells of itself, and what is to be known of it before plates
//! are cut from it.

use serde_json::{Map, Value, json};

use super::super::json::thousandth;
use super::doubted::unsettled;
use crate::fair::{Accuracy, Doubt, FairEdge};
use crate::job::Act;
use crate::length::{Show, fine};
use crate::survey::{Applied, Note, Survey};

fn ruled(a: &Applied) -> String {
    let figure = a.figure.map_or("row", |f| f.name()).replace('_', "-");
    let what = match a.act {
        Act::Accept => format!("{figure} accepted"),
        Act::Exclude => "left out".to_owned(),
        Act::Replace => {
            let [was, is] = a
                .replaced
                .as_ref()
                .map_or(["", ""], |r| r.each_ref().map(String::as_str));
            format!("{figure} {was} replaced by {is}")
        }
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
pub(super) fn noted(survey: &Survey) -> Vec<String> {
    survey.notes.iter().map(Note::told).collect()
}

/// The verdicts applied, a sentence each.
#[must_use]
pub fn rulings(survey: &Survey) -> Vec<String> {
    survey.verdicts.iter().map(ruled).collect()
}

/// What of the survey a person should know before plates are cut from it: its
/// notes, the figures in doubt, an accuracy that is estimated. Sentences.
#[must_use]
pub fn survey_warnings(survey: &Survey, edge: &FairEdge, shown: Show) -> Vec<String> {
    let mut out: Vec<String> = survey.odd.iter().map(Note::told).collect();
    out.extend(noted(survey));
    out.extend(unsettled(survey, &edge.doubts).into_iter().map(|d| {
        format!(
            "{}: {}: measure it again, or settle it with a [[survey.verdict]] in the job",
            d.place,
            d.sentence(shown)
        )
    }));
    if let Accuracy::Estimated(mm) = edge.accuracy {
        out.push(format!(
            "survey.accuracy is not stated: plus or minus {} is estimated from how the points scatter (cross-validation); state it if it is known",
            fine(mm, shown)
        ));
    }
    out
}

/// How many places of the lines are not fair, then what a later stage warns of;
/// where the survey is doubted, after a sentence that says so.
#[must_use]
pub fn line_warnings(survey: &Survey, edge: &FairEdge, later: Vec<String>) -> Vec<String> {
    let mut out = match edge.findings.len() {
        0 => Vec::new(),
        1 => vec!["one place of the lines is not fair: `planksheer fair` tells it".to_owned()],
        n => vec![format!(
            "{n} places of the lines are not fair: `planksheer fair` tells them"
        )],
    };
    out.extend(later);
    let doubted = survey.odd.is_some() || !unsettled(survey, &edge.doubts).is_empty();
    if doubted && !out.is_empty() {
        let all = match out.len() {
            1 => "the next warning".to_owned(),
            n => format!("each of the next {n} warnings"),
        };
        let first = "may follow from what is doubted of the survey: settle that first";
        out.insert(0, format!("{all} {first}"));
    }
    out
}

/// Doubts, as JSON.
pub(in crate::report) fn doubts_json(doubts: &[Doubt]) -> Value {
    let row = |d: &Doubt| {
        json!({
            "file": d.place.file,
            "line": d.place.line,
            "station": d.name,
            "side": d.side.name(),
            "figure": d.figure.name(),
            "booked": d.booked_text,
            "booked_mm": thousandth(d.booked),
            "out_mm": thousandth(d.out),
            "likely": d.likely_text,
            "likely_mm": thousandth(d.likely),
            "slip": d.slip,
            "at_end": d.at_end,
            "may_be_knuckle": d.may_be_knuckle,
            "sure": d.sure.name(),
        })
    };
    doubts.iter().map(row).collect()
}

/// What the survey tells of itself, as JSON.
pub(in crate::report) fn survey_json(survey: &Survey) -> Value {
    let mut out = Map::new();
    if let Some(odd) = &survey.odd {
        out.insert("look_first".to_owned(), odd.told().into());
    }
    out.insert("notes".to_owned(), noted(survey).into());
    out.insert("verdicts".to_owned(), rulings(survey).into());
    let datum = survey.datum.as_ref().map(|d| {
        let references = d.references.iter().map(|r| {
            json!({
                "name": r.name,
                "shots": r.shots,
                "off_forward_mm": thousandth(r.off.x),
                "off_port_mm": thousandth(r.off.y),
                "off_up_mm": thousandth(r.off.z),
            })
        });
        json!({
            "rms_mm": thousandth(d.rms),
            "limit_mm": thousandth(d.limit),
            "references": references.collect::<Vec<_>>(),
        })
    });
    out.insert("datum".to_owned(), datum.into());
    out.into()
}
