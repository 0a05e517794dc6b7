//! `summary.json`: every number, with units in the key names. The schema is
//! written down in `docs/summary.md`; [`SCHEMA`] changes with it.

use serde::Serialize;

use super::cautions::{Caution, usual};
use super::facts::{Facts, Least, PartFacts, SheetFacts, Sums};
use super::fairness::{DoubtRow, SurveyRows, doubt_rows, survey_rows};
use super::{Input, json_text};
use crate::fault::Fault;
use crate::geom::{Vec2, Vec3};
use crate::job::Paths;
use crate::layout::{Face, JointForm, MemberKind, side_name};
use crate::nest::Offcut;
use crate::part::Part;

/// Name and version of the schema. A key taken away or changed in meaning
/// raises the number; a key added does not.
pub const SCHEMA: &str = "planksheer-summary/2";

mod cutting;
mod surety;

use super::butts::{ButtRow, ButtTrials};
use cutting::{CuttingRow, FiguresRow, RemnantRow, cutting_row, figures_row, remnant_row};
use surety::{AccuracyRow, AgainRow, ExpectedRow};

/// The whole summary.
#[derive(Debug, Serialize)]
struct Summary<'a> {
    schema: &'static str,
    job: JobHead<'a>,
    parts: Vec<PartRow<'a>>,
    sheets: Vec<SheetRow<'a>>,
    #[serde(rename = "yield")]
    yields: YieldRow,
    cutting: CuttingRow<'a>,
    one_size_alone: Vec<AloneRow<'a>>,
    stanchions: Vec<StanchionRow<'a>>,
    joints: Vec<JointRow<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    butt_trials: Option<Vec<ButtRow>>,
    runs: Vec<RunRow<'a>>,
    survey: SurveyRows<'a>,
    doubts: Vec<DoubtRow<'a>>,
    fairness: Vec<FindingRow<'a>>,
    fit: FitRows<'a>,
    accuracy: AccuracyRow,
    expected_fit: Vec<ExpectedRow<'a>>,
    measure_again: Vec<AgainRow<'a>>,
    notes: &'a [String],
    warnings: &'a [String],
    cautions: Vec<Caution>,
}

#[derive(Debug, Serialize)]
struct JobHead<'a> {
    name: &'a str,
    date: &'a str,
    note: &'a str,
    currency: &'a str,
    kerf_mm: f64,
    gap_mm: f64,
    edge_margin_mm: f64,
    net_size: bool,
}

#[derive(Debug, Serialize)]
struct PartRow<'a> {
    name: &'a str,
    kind: MemberKind,
    material: &'a str,
    thickness_mm: f64,
    area_mm2: f64,
    net_area_mm2: f64,
    length_mm: f64,
    width_mm: f64,
    edge_length_mm: f64,
    allowance_mm: f64,
    profile_length_mm: f64,
    mass_kg: f64,
    refold_gap_mm: Option<f64>,
    stretch_max: f64,
    stretch_signed: f64,
    stretch_at_mm: Point2,
    stress_max_mpa: f64,
    holes: usize,
    vertices: usize,
    sheet: Option<&'a str>,
    place: &'a str,
    face: Face,
}

#[derive(Debug, Serialize)]
struct SheetRow<'a> {
    name: &'a str,
    stock: &'a str,
    material: &'a str,
    length_mm: f64,
    width_mm: f64,
    thickness_mm: f64,
    parts: Vec<PlacedRow<'a>>,
    used_length_mm: f64,
    offcut_mm: Option<RectRow>,
    heaviest_part: Option<&'a str>,
    heaviest_part_kg: Option<f64>,
    #[serde(flatten)]
    sums: SumRow,
    cutting: Option<FiguresRow>,
    remnants: Vec<RemnantRow>,
}

#[derive(Debug, Serialize)]
struct PlacedRow<'a> {
    name: &'a str,
    x_mm: f64,
    y_mm: f64,
    turn_deg: f64,
}

#[derive(Debug, Serialize)]
struct RectRow {
    x: f64,
    y: f64,
    length: f64,
    width: f64,
}

/// What a sheet and the whole job have in common.
#[derive(Debug, Serialize)]
struct SumRow {
    sheet_area_mm2: f64,
    used_area_mm2: f64,
    #[serde(rename = "yield")]
    yield_ratio: f64,
    yield_by_used_length: f64,
    mass_bought_kg: f64,
    mass_used_kg: f64,
    mass_wasted_kg: f64,
    cost: Option<f64>,
    scrap_value: f64,
    net_cost: Option<f64>,
}

#[derive(Debug, Serialize)]
struct YieldRow {
    overall: f64,
    by_used_length: f64,
    effort: &'static str,
    sheets: usize,
    parts: usize,
    #[serde(flatten)]
    least: LeastRow,
    #[serde(flatten)]
    sums: SumRow,
}

/// What no nest can do with less, by area.
#[derive(Debug, Serialize)]
struct LeastRow {
    sheets_at_least: usize,
    mass_at_least_kg: f64,
    cost_at_least: Option<f64>,
}

#[derive(Debug, Serialize)]
struct AloneRow<'a> {
    stock: &'a str,
    material: &'a str,
    length_mm: f64,
    width_mm: f64,
    thickness_mm: f64,
    fits: bool,
    effort: &'static str,
    sheets: Option<usize>,
    #[serde(flatten)]
    least: LeastRow,
    #[serde(flatten)]
    sums: Option<SumRow>,
}

#[derive(Debug, Serialize)]
struct StanchionRow<'a> {
    name: &'a str,
    side: &'static str,
    chain: usize,
    t_mm: f64,
    length_mm: f64,
    foot_rise_forward_deg: f64,
    foot_rise_inboard_deg: f64,
    foot_saw_tilt_deg: f64,
    foot_gap_mm: f64,
    head_rise_forward_deg: f64,
    head_rise_inboard_deg: f64,
    head_saw_tilt_deg: f64,
    head_gap_mm: f64,
    lean_outboard_deg: f64,
    mass_kg: f64,
    foot_mm: Point3,
    head_mm: Point3,
    place: &'a str,
}

#[derive(Debug, Serialize)]
struct JointRow<'a> {
    plate: MemberKind,
    form: JointForm,
    between: &'a [String; 2],
    chain: usize,
    t_mm: f64,
    place: &'a str,
}

#[derive(Debug, Serialize)]
struct RunRow<'a> {
    name: &'a str,
    plate: MemberKind,
    edge_length_mm: f64,
}

#[derive(Debug, Serialize)]
struct FindingRow<'a> {
    chain: usize,
    t_mm: f64,
    kind: crate::fair::FindingKind,
    line: crate::fair::LineKind,
    view: crate::fair::View,
    size_mm: f64,
    toward: crate::fair::Toward,
    text: &'a str,
    at_mm: Point3,
}

#[derive(Debug, Serialize)]
struct FitRows<'a> {
    largest_base_move_mm: f64,
    largest_pull_down_mm: f64,
    largest_board_proud_mm: f64,
    largest_top_move_mm: f64,
    points: Vec<FitPoint<'a>>,
}

/// How both lines fit a measured point.
#[derive(Debug, Serialize)]
pub(super) struct FitPoint<'a> {
    station: &'a str,
    side: &'static str,
    chain: usize,
    t_mm: f64,
    base_out_mm: f64,
    base_up_mm: f64,
    top_out_mm: f64,
    top_up_mm: f64,
}

#[derive(Debug, Serialize)]
struct Point2 {
    x: f64,
    y: f64,
}

#[derive(Debug, Serialize)]
struct Point3 {
    x: f64,
    y: f64,
    z: f64,
}

/// The summary as JSON, keys in a fixed order, a line feed at the end.
/// Lengths and areas to a millionth, ratios to twelve places.
///
/// # Errors
/// The text could not be made ([`crate::fault::Kind::File`]).
pub fn summary_json(input: &Input<'_>, facts: &Facts) -> Result<String, Fault> {
    let (job, cutting) = (input.job, &input.job.cutting);
    let summary = Summary {
        schema: SCHEMA,
        job: JobHead {
            name: &job.name,
            date: &job.date,
            note: &job.note,
            currency: &job.prices.currency,
            kerf_mm: round(cutting.kerf),
            gap_mm: round(cutting.gap),
            edge_margin_mm: round(cutting.edge_margin),
            net_size: cutting.paths == Paths::Net,
        },
        parts: input
            .parts
            .iter()
            .zip(&facts.parts)
            .enumerate()
            .map(|(i, (p, f))| part_row(p, f, input.refold_gaps.get(i).copied()))
            .collect(),
        sheets: facts
            .sheets
            .iter()
            .enumerate()
            .map(|(i, s)| sheet_row(i, s, input, facts))
            .collect(),
        yields: YieldRow {
            overall: fine(facts.total.yield_ratio()),
            by_used_length: fine(facts.total.yield_by_used_length()),
            effort: facts.effort.name(),
            sheets: facts.total.sheets,
            parts: facts.total.parts,
            least: least_row(&facts.least),
            sums: sum_row(&facts.total),
        },
        cutting: cutting_row(input),
        one_size_alone: alone_rows(facts),
        stanchions: stanchion_rows(input),
        joints: joint_rows(input),
        butt_trials: input.butts.map(ButtTrials::rows),
        runs: input
            .runs
            .iter()
            .map(|r| RunRow {
                name: &r.name,
                plate: r.kind,
                edge_length_mm: round(r.edge_length_mm),
            })
            .collect(),
        fairness: finding_rows(input),
        fit: fit_rows(input),
        survey: survey_rows(input.survey, input.job),
        doubts: doubt_rows(input.doubts),
        accuracy: surety::accuracy_row(input.surety),
        expected_fit: surety::expected_rows(input.surety),
        measure_again: surety::again_rows(input.surety),
        notes: input.notes,
        warnings: input.warnings,
        cautions: usual(input.sides, job.show),
    };
    json_text("summary.json", &summary)
}

/// To a millionth; minus zero becomes zero.
pub(super) fn round(value: f64) -> f64 {
    (value * 1e6).round() / 1e6 + 0.0
}

/// To twelve places, for ratios.
fn fine(value: f64) -> f64 {
    (value * 1e12).round() / 1e12 + 0.0
}

fn point2(p: Vec2) -> Point2 {
    Point2 {
        x: round(p.x),
        y: round(p.y),
    }
}

fn point3(p: Vec3) -> Point3 {
    Point3 {
        x: round(p.x),
        y: round(p.y),
        z: round(p.z),
    }
}

fn part_row<'a>(p: &'a Part, f: &'a PartFacts, refold: Option<f64>) -> PartRow<'a> {
    PartRow {
        name: &p.name,
        kind: p.kind,
        material: &p.alloy,
        thickness_mm: round(p.thickness),
        area_mm2: round(f.area),
        net_area_mm2: round(f.net_area),
        length_mm: round(f.length),
        width_mm: round(f.width),
        edge_length_mm: round(p.net_edge_length),
        allowance_mm: round(p.allowance),
        profile_length_mm: round(f.profile_length),
        mass_kg: round(f.mass),
        refold_gap_mm: refold.map(round),
        stretch_max: fine(p.stretch.abs()),
        stretch_signed: fine(p.stretch),
        stretch_at_mm: point2(p.stretch_at),
        stress_max_mpa: round(p.stress_mpa),
        holes: p.holes.len(),
        vertices: p.outline.vertices.len(),
        sheet: f.sheet.as_deref(),
        place: &p.place,
        face: p.face,
    }
}

fn sheet_row<'a>(
    index: usize,
    s: &'a SheetFacts,
    input: &Input<'a>,
    facts: &Facts,
) -> SheetRow<'a> {
    let cut = input.cuts.get(index);
    let parts = s
        .parts
        .iter()
        .filter_map(|(i, at)| {
            Some(PlacedRow {
                name: &input.parts.get(*i)?.name,
                x_mm: round(at.shift.x),
                y_mm: round(at.shift.y),
                // Rounded up, it may be a whole turn again.
                turn_deg: fine(at.turn.to_degrees().rem_euclid(360.0)) % 360.0,
            })
        })
        .collect();
    let rect = |r: Offcut| RectRow {
        x: round(r.corner.x),
        y: round(r.corner.y),
        length: round(r.size.x),
        width: round(r.size.y),
    };
    SheetRow {
        name: &s.name,
        stock: &s.stock.name,
        material: &s.stock.alloy,
        length_mm: round(s.stock.length),
        width_mm: round(s.stock.width),
        thickness_mm: round(s.stock.thickness),
        parts,
        used_length_mm: round(s.used_length),
        offcut_mm: s.offcut.map(rect),
        heaviest_part: s
            .heaviest
            .and_then(|i| input.parts.get(i))
            .map(|p| p.name.as_str()),
        heaviest_part_kg: s
            .heaviest
            .and_then(|i| facts.parts.get(i))
            .map(|f| round(f.mass)),
        sums: sum_row(&s.sums),
        cutting: cut.map(|c| figures_row(&c.plan.figures)),
        remnants: cut
            .iter()
            .flat_map(|c| c.remnants.iter().enumerate())
            .map(|(k, r)| remnant_row(&s.name, k, r))
            .collect(),
    }
}

fn sum_row(s: &Sums) -> SumRow {
    SumRow {
        sheet_area_mm2: round(s.sheet_area),
        used_area_mm2: round(s.used_area),
        yield_ratio: fine(s.yield_ratio()),
        yield_by_used_length: fine(s.yield_by_used_length()),
        mass_bought_kg: round(s.mass_bought),
        mass_used_kg: round(s.mass_used),
        mass_wasted_kg: round(s.mass_wasted()),
        cost: s.cost.map(round),
        scrap_value: round(s.scrap_value),
        net_cost: s.net_cost().map(round),
    }
}

fn least_row(l: &Least) -> LeastRow {
    LeastRow {
        sheets_at_least: l.sheets,
        mass_at_least_kg: round(l.mass),
        cost_at_least: l.cost.map(round),
    }
}

fn alone_rows(facts: &Facts) -> Vec<AloneRow<'_>> {
    facts
        .alone
        .iter()
        .map(|a| AloneRow {
            stock: &a.stock.name,
            material: &a.stock.alloy,
            length_mm: round(a.stock.length),
            width_mm: round(a.stock.width),
            thickness_mm: round(a.stock.thickness),
            fits: a.sums.is_some(),
            effort: a.effort.name(),
            sheets: a.sums.as_ref().map(|s| s.sheets),
            least: least_row(&a.least),
            sums: a.sums.as_ref().map(sum_row),
        })
        .collect()
}

fn stanchion_rows<'a>(input: &Input<'a>) -> Vec<StanchionRow<'a>> {
    let degrees = |rad: f64| round(rad.to_degrees());
    input
        .stanchions
        .iter()
        .map(|s| StanchionRow {
            name: &s.name,
            side: side_name(s.side),
            chain: s.chain,
            t_mm: round(s.t),
            length_mm: round(s.length),
            foot_rise_forward_deg: degrees(s.foot_cut.rise_forward),
            foot_rise_inboard_deg: degrees(s.foot_cut.rise_inboard),
            foot_saw_tilt_deg: degrees(s.foot_cut.saw_tilt()),
            foot_gap_mm: round(s.foot_cut.gap),
            head_rise_forward_deg: degrees(s.head_cut.rise_forward),
            head_rise_inboard_deg: degrees(s.head_cut.rise_inboard),
            head_saw_tilt_deg: degrees(s.head_cut.saw_tilt()),
            head_gap_mm: round(s.head_cut.gap),
            lean_outboard_deg: degrees(s.lean),
            mass_kg: round(s.mass_kg),
            foot_mm: point3(s.foot),
            head_mm: point3(s.head),
            place: &s.place,
        })
        .collect()
}

fn joint_rows<'a>(input: &Input<'a>) -> Vec<JointRow<'a>> {
    input
        .joints
        .iter()
        .map(|j| JointRow {
            plate: j.kind,
            form: j.form,
            between: &j.between,
            chain: j.chain,
            t_mm: round(j.t),
            place: &j.place,
        })
        .collect()
}

fn finding_rows<'a>(input: &Input<'a>) -> Vec<FindingRow<'a>> {
    input
        .findings
        .iter()
        .map(|f| FindingRow {
            chain: f.chain,
            t_mm: round(f.t),
            kind: f.kind,
            line: f.line,
            view: f.view,
            size_mm: round(f.size),
            toward: f.toward,
            text: &f.text,
            at_mm: point3(f.at),
        })
        .collect()
}

fn fit_rows<'a>(input: &Input<'a>) -> FitRows<'a> {
    let most =
        |f: &dyn Fn(&super::FitRow) -> f64| round(input.fit.iter().map(f).fold(0.0, f64::max));
    FitRows {
        largest_base_move_mm: most(&|r| r.base_out.abs().max(r.base_up.abs())),
        largest_pull_down_mm: most(&|r| r.base_up),
        largest_board_proud_mm: most(&|r| -r.base_up),
        largest_top_move_mm: most(&|r| r.top_out.abs().max(r.top_up.abs())),
        points: fit_points(input.fit, round),
    }
}

/// A row for every measured point, its figures rounded so.
pub(super) fn fit_points(rows: &[super::FitRow], round: fn(f64) -> f64) -> Vec<FitPoint<'_>> {
    rows.iter()
        .map(|r| FitPoint {
            station: &r.station,
            side: r.side.name(),
            chain: r.chain,
            t_mm: round(r.t),
            base_out_mm: round(r.base_out),
            base_up_mm: round(r.base_up),
            top_out_mm: round(r.top_out),
            top_up_mm: round(r.top_up),
        })
        .collect()
}
