//! The summary's rows on how sure the fit is.

use serde::Serialize;

use super::{fine, round};
use crate::fair::Accuracy;
use crate::layout::MemberKind;
use crate::report::surety::SuretyReport;

#[derive(Debug, Serialize)]
pub(super) struct AccuracyRow {
    plus_or_minus_mm: f64,
    source: &'static str,
}

#[derive(Debug, Serialize)]
pub(super) struct ExpectedRow<'a> {
    part: &'a str,
    plate: MemberKind,
    gap_95_mm: f64,
    at: &'a str,
    t_mm: f64,
    butt_along_95_mm: Option<f64>,
    butt_across_95_mm: Option<f64>,
}

#[derive(Debug, Serialize)]
pub(super) struct AgainRow<'a> {
    point: &'a str,
    side: &'static str,
    chain: usize,
    t_mm: f64,
    variance_off_in_height: f64,
    variance_off_in_plan: f64,
}

pub(super) fn accuracy_row(report: &SuretyReport) -> AccuracyRow {
    AccuracyRow {
        plus_or_minus_mm: round(report.accuracy.mm()),
        source: match report.accuracy {
            Accuracy::Stated(_) => "stated",
            Accuracy::Estimated(_) => "estimated",
        },
    }
}

pub(super) fn expected_rows(report: &SuretyReport) -> Vec<ExpectedRow<'_>> {
    let parts = report.parts.iter();
    parts
        .map(|p| ExpectedRow {
            part: &p.name,
            plate: p.kind,
            gap_95_mm: round(p.gap_95),
            at: &p.at,
            t_mm: round(p.at_t),
            butt_along_95_mm: p.butt_along_95.map(round),
            butt_across_95_mm: p.butt_across_95.map(round),
        })
        .collect()
}

pub(super) fn again_rows(report: &SuretyReport) -> Vec<AgainRow<'_>> {
    let points = report.again.iter();
    points
        .map(|a| AgainRow {
            point: &a.name,
            side: if a.both { "both" } else { a.side.name() },
            chain: a.chain,
            t_mm: round(a.t),
            variance_off_in_height: fine(a.height_share),
            variance_off_in_plan: fine(a.plan_share),
        })
        .collect()
}
