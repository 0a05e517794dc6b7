//! The fairing as JSON.

use serde_json::{Map, Value, json};

use super::super::json::{json_text, thousandth};
use super::doubted::{figure_of, follows};
use super::input::{Fairness, between};
use super::survey::{doubts_json, survey_json};
use crate::fair::compare::Unlike;
use crate::fair::{Accuracy, FairEdge, Finding};
use crate::fault::Fault;

/// How both lines fit every measured point, figures rounded so.
pub(in crate::report) fn fits_json(edge: &FairEdge, round: fn(f64) -> f64) -> Value {
    let rows = edge.fits().map(|p| {
        json!({
            "station": p.name,
            "side": p.side.name(),
            "chain": p.chain,
            "t_mm": round(p.t),
            "base_out_mm": round(p.base_out),
            "base_up_mm": round(p.base_up),
            "top_out_mm": round(p.top_out),
            "top_up_mm": round(p.top_up),
        })
    });
    rows.collect()
}

fn finding(edge: &FairEdge, f: &Finding) -> Value {
    let mut out = Map::new();
    let mut put = |key: &str, value: Value| out.insert(key.to_owned(), value);
    put("kind", json!(f.kind));
    put("line", json!(f.line));
    put("view", json!(f.view));
    put("chain", f.chain.into());
    put("t_mm", thousandth(f.t).into());
    put("place", between(edge, f.chain, f.t).into());
    put("size_mm", thousandth(f.size).into());
    put("toward", json!(f.toward));
    if let Some(by) = f.unlike {
        put("sides_differ_mm", thousandth(by).into());
    }
    if let Some(doubt) = follows(edge, f) {
        put("follows_from", figure_of(doubt).into());
    }
    out.into()
}

/// The report as JSON; docs/fairness.md tells the keys.
///
/// # Errors
/// The text could not be made ([`crate::fault::Kind::File`]).
pub fn fairness_json(input: &Fairness<'_>) -> Result<String, Fault> {
    let edge = input.edge;
    let unlike = |u: &Unlike| {
        json!({
            "station": u.station,
            "x_mm": thousandth(u.x),
            "base_port_wider_mm": thousandth(u.base_wider),
            "base_port_higher_mm": thousandth(u.base_higher),
            "top_port_wider_mm": thousandth(u.top_wider),
            "top_port_higher_mm": thousandth(u.top_higher),
        })
    };
    let root = json!({
        "schema": "planksheer fairness 1",
        "job": input.job.name,
        "accuracy_mm": thousandth(edge.accuracy.mm()),
        "accuracy_estimated": matches!(edge.accuracy, Accuracy::Estimated(_)),
        "base_tolerance_mm": thousandth(edge.fairing.base),
        "top_tolerance_mm": thousandth(edge.fairing.top),
        "points": fits_json(edge, thousandth),
        "findings": edge.findings.iter().map(|f| finding(edge, f)).collect::<Vec<_>>(),
        "doubts": doubts_json(&edge.doubts),
        "survey": survey_json(input.survey),
        "port_and_starboard": input.unlike.iter().map(unlike).collect::<Vec<_>>(),
    });
    json_text("fairness.json", &root)
}
