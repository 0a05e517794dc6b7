//! Cutting figures and remnants in the summary.

use serde::Serialize;

use super::super::Input;
use super::super::cuts::{paths_word, remnant_name, total};
use super::round;
use crate::cut::Figures;
use crate::geom::Region;
use crate::job::{LeadForm, SmallHoles};

/// What the cutting of a sheet, or of all, comes to.
#[derive(Debug, Serialize)]
pub(super) struct FiguresRow {
    pierces: usize,
    cut_length_mm: f64,
    kerf_loss_mm2: f64,
    travel_mm: f64,
    travel_as_listed_mm: f64,
    time_s: Option<f64>,
    holes_to_drill: usize,
    drill_time_s: f64,
    mark_strokes: usize,
    mark_length_mm: f64,
    mark_time_s: Option<f64>,
    holes_too_small: usize,
    tabs: usize,
}

/// A piece worth keeping.
#[derive(Debug, Serialize)]
pub(super) struct RemnantRow {
    file: String,
    area_mm2: f64,
    x_mm: f64,
    y_mm: f64,
    length_mm: f64,
    width_mm: f64,
    corners: usize,
}

/// How all is cut.
#[derive(Debug, Serialize)]
pub(super) struct CuttingRow<'a> {
    process: &'a str,
    paths: &'static str,
    leads: &'static str,
    small_holes: &'static str,
    figures_from: &'static str,
    #[serde(flatten)]
    figures: FiguresRow,
}

pub(super) fn figures_row(f: &Figures) -> FiguresRow {
    FiguresRow {
        pierces: f.pierces,
        cut_length_mm: round(f.cut_length),
        kerf_loss_mm2: round(f.kerf_loss),
        travel_mm: round(f.travel),
        travel_as_listed_mm: round(f.travel_as_listed),
        time_s: f.time_s.map(round),
        holes_to_drill: f.drilled,
        drill_time_s: round(f.drill_time_s),
        mark_strokes: f.mark_strokes,
        mark_length_mm: round(f.mark_length),
        mark_time_s: f.mark_time_s.map(round),
        holes_too_small: f.small_holes,
        tabs: f.tabs,
    }
}

pub(super) fn cutting_row<'a>(input: &Input<'a>) -> CuttingRow<'a> {
    let c = &input.job.cutting;
    CuttingRow {
        process: &c.process,
        paths: paths_word(c.paths),
        leads: match c.leads.map(|l| l.form) {
            None => "none",
            Some(LeadForm::Arc) => "arc",
            Some(LeadForm::Straight) => "straight",
        },
        small_holes: match c.small_holes {
            SmallHoles::Cut => "cut",
            SmallHoles::Drill => "drill",
        },
        figures_from: if c.speed.and(c.pierce_s).and(c.travel).is_some() {
            "the job"
        } else {
            crate::stock::SPEED_SOURCE
        },
        figures: figures_row(&total(input.cuts)),
    }
}

pub(super) fn remnant_row(sheet: &str, index: usize, region: &Region) -> RemnantRow {
    let (lo, hi) = region.bounds();
    RemnantRow {
        file: format!("remnants/{}.dxf", remnant_name(sheet, index)),
        area_mm2: round(region.area()),
        x_mm: round(lo.x),
        y_mm: round(lo.y),
        length_mm: round(hi.x - lo.x),
        width_mm: round(hi.y - lo.y),
        corners: region.profiles().map(|p| p.vertices.len()).sum(),
    }
}
