//! `summary.json`: every number, with units in the key names. The schema is
//! written down in `docs/summary.md`; [`SCHEMA`] changes with it. Keys stand in
//! a fixed order; lengths and areas are told to a millionth, ratios to twelve
//! places.

use serde_json::{Map, Value, json};

use super::butts::ButtTrials;
use super::cautions::usual;
use super::cuts::paths_word;
use super::facts::{AloneFacts, Facts, Least, PartFacts, SheetFacts, Sums, remnant_name};
use super::fairness::{doubts_json, fits_json, survey_json};
use super::input::{Input, SheetCut};
use super::json::{fine, json_text, point2, point3, round};
use crate::cut::Figures;
use crate::fair::{Accuracy, Again, FairEdge, Finding, PointFit};
use crate::fault::Fault;
use crate::geom::{Placement, Region};
use crate::job::{Job, LeadForm, Paths, SmallHoles};
use crate::layout::{ExpectedFit, Joint, RunLength, Stanchion, side_name};
use crate::nest::Offcut;
use crate::part::Part;
use crate::stock::SPEED_SOURCE;

/// Name and version of the schema. A key taken away or changed in meaning
/// raises the number; a key added does not.
pub const SCHEMA: &str = "planksheer-summary/2";

/// The summary as JSON, a line feed at the end.
///
/// # Errors
/// The text could not be made ([`crate::fault::Kind::File`]).
pub fn summary_json(input: &Input<'_>, facts: &Facts) -> Result<String, Fault> {
    let (layout, edge) = (input.layout, input.edge);
    let parts = input.parts.iter().zip(&facts.parts).enumerate();
    let sheets = facts.sheets.iter().enumerate();
    let mut all = object(json!({
        "schema": SCHEMA,
        "job": job(input.job),
        "parts": list(parts, |(i, (p, f))| part(p, f, input.refold_gaps.get(i))),
        "sheets": list(sheets, |(i, s)| sheet(s, input.cuts.get(i), input, facts)),
        "yield": yields(facts),
        "cutting": cutting(input),
        "one_size_alone": list(&facts.alone, alone),
        "stanchions": list(&layout.stanchions, stanchion),
        "joints": list(&layout.joints, joint),
    }));
    if let Some(trials) = input.butts {
        all.insert("butt_trials".to_owned(), ButtTrials::json(trials).into());
    }
    all.extend(object(json!({
        "runs": list(&layout.runs, run),
        "survey": survey_json(input.survey),
        "doubts": doubts_json(&edge.doubts),
        "fairness": list(&edge.findings, finding),
        "fit": fit(edge),
        "accuracy": {
            "plus_or_minus_mm": round(edge.accuracy.mm()),
            "source": match edge.accuracy {
                Accuracy::Stated(_) => "stated",
                Accuracy::Estimated(_) => "estimated",
            },
        },
        "expected_fit": list(input.expected, expected),
        "measure_again": list(input.again(), again),
        "notes": input.notes,
        "warnings": input.warnings,
        "cautions": usual(&input.layout.bulwarks, input.job.show),
    })));
    json_text("summary.json", &all.into())
}

fn list<R>(rows: impl IntoIterator<Item = R>, row: impl Fn(R) -> Value) -> Vec<Value> {
    rows.into_iter().map(row).collect()
}

/// The keys of an object; `null` has none.
fn object(value: Value) -> Map<String, Value> {
    match value {
        Value::Object(keys) => keys,
        _ => Map::new(),
    }
}

/// The keys of one object and of more.
fn with<const N: usize>(own: Value, more: [Value; N]) -> Value {
    let mut all = object(own);
    more.into_iter().for_each(|m| all.extend(object(m)));
    all.into()
}

fn job(job: &Job) -> Value {
    json!({
        "name": job.name,
        "date": job.date,
        "note": job.note,
        "currency": job.prices.currency,
        "kerf_mm": round(job.cutting.kerf),
        "gap_mm": round(job.cutting.gap),
        "edge_margin_mm": round(job.cutting.edge_margin),
        "net_size": job.cutting.paths == Paths::Net,
    })
}

fn part(p: &Part, f: &PartFacts, refold: Option<&f64>) -> Value {
    json!({
        "name": p.name,
        "kind": p.kind,
        "material": p.alloy,
        "thickness_mm": round(p.thickness),
        "area_mm2": round(f.area),
        "net_area_mm2": round(f.net_area),
        "length_mm": round(f.length),
        "width_mm": round(f.width),
        "edge_length_mm": round(p.net_edge_length),
        "allowance_mm": round(p.allowance),
        "profile_length_mm": round(f.profile_length),
        "mass_kg": round(f.mass),
        "refold_gap_mm": refold.map(|gap| round(*gap)),
        "stretch_max": fine(p.stretch.abs()),
        "stretch_signed": fine(p.stretch),
        "stretch_at_mm": point2(p.stretch_at),
        "stress_max_mpa": round(p.stress_mpa),
        "holes": p.holes.len(),
        "vertices": p.outline.vertices.len(),
        "sheet": f.sheet,
        "place": p.place,
        "face": p.face,
    })
}

fn sheet(s: &SheetFacts, cut: Option<&SheetCut>, input: &Input<'_>, facts: &Facts) -> Value {
    let placed = s
        .parts
        .iter()
        .filter_map(|(i, at)| Some((input.parts.get(*i)?, at)));
    let heaviest = s.heaviest;
    let left = cut.map_or(&[][..], |c| &c.remnants).iter().enumerate();
    let own = json!({
        "name": s.name,
        "stock": s.stock.name,
        "material": s.stock.alloy,
        "length_mm": round(s.stock.length),
        "width_mm": round(s.stock.width),
        "thickness_mm": round(s.stock.thickness),
        "parts": list(placed, |(p, at)| lies(p, at)),
        "used_length_mm": round(s.used_length),
        "offcut_mm": s.offcut.map(rectangle),
        "heaviest_part": heaviest.and_then(|i| Some(&input.parts.get(i)?.name)),
        "heaviest_part_kg": heaviest.and_then(|i| Some(round(facts.parts.get(i)?.mass))),
    });
    let cutting = json!({
        "cutting": cut.map(|c| figures(&c.plan.figures)),
        "remnants": list(left, |(k, r)| remnant(&remnant_name(&s.name, k), r)),
    });
    with(own, [sums(&s.sums), cutting])
}

fn lies(part: &Part, at: &Placement) -> Value {
    json!({
        "name": part.name,
        "x_mm": round(at.shift.x),
        "y_mm": round(at.shift.y),
        // Rounded up, it may be a whole turn again.
        "turn_deg": fine(at.turn.to_degrees().rem_euclid(360.0)) % 360.0,
    })
}

fn rectangle(r: Offcut) -> Value {
    json!({
        "x": round(r.corner.x),
        "y": round(r.corner.y),
        "length": round(r.size.x),
        "width": round(r.size.y),
    })
}

/// What a sheet and the whole job have in common.
fn sums(s: &Sums) -> Value {
    json!({
        "sheet_area_mm2": round(s.sheet_area),
        "used_area_mm2": round(s.used_area),
        "yield": fine(s.yield_ratio()),
        "yield_by_used_length": fine(s.yield_by_used_length()),
        "mass_bought_kg": round(s.mass_bought),
        "mass_used_kg": round(s.mass_used),
        "mass_wasted_kg": round(s.mass_wasted()),
        "cost": s.cost.map(round),
        "scrap_value": round(s.scrap_value),
        "net_cost": s.net_cost().map(round),
    })
}

/// What no nest can do with less, by area.
fn least(l: &Least) -> Value {
    json!({
        "sheets_at_least": l.sheets,
        "mass_at_least_kg": round(l.mass),
        "cost_at_least": l.cost.map(round),
    })
}

fn yields(facts: &Facts) -> Value {
    let total = &facts.total;
    let own = json!({
        "overall": fine(total.yield_ratio()),
        "by_used_length": fine(total.yield_by_used_length()),
        "effort": facts.effort.name(),
        "sheets": total.sheets,
        "parts": total.parts,
    });
    with(own, [least(&facts.least), sums(total)])
}

fn alone(a: &AloneFacts) -> Value {
    let own = json!({
        "stock": a.stock.name,
        "material": a.stock.alloy,
        "length_mm": round(a.stock.length),
        "width_mm": round(a.stock.width),
        "thickness_mm": round(a.stock.thickness),
        "fits": a.sums.is_some(),
        "effort": a.effort.name(),
        "sheets": a.sums.as_ref().map(|s| s.sheets),
    });
    let found = a.sums.as_ref().map_or(Value::Null, sums);
    with(own, [least(&a.least), found])
}

/// What the cutting of a sheet, or of all, comes to.
fn figures(f: &Figures) -> Value {
    json!({
        "pierces": f.pierces,
        "cut_length_mm": round(f.cut_length),
        "kerf_loss_mm2": round(f.kerf_loss),
        "travel_mm": round(f.travel),
        "travel_as_listed_mm": round(f.travel_as_listed),
        "time_s": f.time_s.map(round),
        "holes_to_drill": f.drilled,
        "drill_time_s": round(f.drill_time_s),
        "mark_strokes": f.mark_strokes,
        "mark_length_mm": round(f.mark_length),
        "mark_time_s": f.mark_time_s.map(round),
        "holes_too_small": f.small_holes,
        "tabs": f.tabs,
    })
}

fn cutting(input: &Input<'_>) -> Value {
    let c = &input.job.cutting;
    let own = json!({
        "process": c.process,
        "paths": paths_word(c.paths),
        "leads": match c.leads.map(|l| l.form) {
            None => "none",
            Some(LeadForm::Arc) => "arc",
            Some(LeadForm::Straight) => "straight",
        },
        "small_holes": match c.small_holes {
            SmallHoles::Cut => "cut",
            SmallHoles::Drill => "drill",
        },
        "figures_from": if c.speed.and(c.pierce_s).and(c.travel).is_some() {
            "the job"
        } else {
            SPEED_SOURCE
        },
    });
    with(own, [figures(&SheetCut::total(input.cuts))])
}

/// A piece worth keeping.
fn remnant(name: &str, region: &Region) -> Value {
    let (lo, hi) = region.bounds();
    json!({
        "file": format!("remnants/{name}.dxf"),
        "area_mm2": round(region.area()),
        "x_mm": round(lo.x),
        "y_mm": round(lo.y),
        "length_mm": round(hi.x - lo.x),
        "width_mm": round(hi.y - lo.y),
        "corners": region.profiles().map(|p| p.vertices.len()).sum::<usize>(),
    })
}

fn stanchion(s: &Stanchion) -> Value {
    let degrees = |rad: f64| round(rad.to_degrees());
    json!({
        "name": s.name,
        "side": side_name(s.side),
        "chain": s.chain,
        "t_mm": round(s.t),
        "length_mm": round(s.length),
        "foot_rise_forward_deg": degrees(s.foot_cut.rise_forward),
        "foot_rise_inboard_deg": degrees(s.foot_cut.rise_inboard),
        "foot_saw_tilt_deg": degrees(s.foot_cut.saw_tilt()),
        "foot_gap_mm": round(s.foot_cut.gap),
        "head_rise_forward_deg": degrees(s.head_cut.rise_forward),
        "head_rise_inboard_deg": degrees(s.head_cut.rise_inboard),
        "head_saw_tilt_deg": degrees(s.head_cut.saw_tilt()),
        "head_gap_mm": round(s.head_cut.gap),
        "lean_outboard_deg": degrees(s.lean),
        "mass_kg": round(s.mass_kg),
        "foot_mm": point3(s.foot),
        "head_mm": point3(s.head),
        "place": s.place,
    })
}

fn joint(j: &Joint) -> Value {
    json!({
        "plate": j.kind,
        "form": j.form,
        "between": j.between,
        "chain": j.chain,
        "t_mm": round(j.t),
        "place": j.place,
    })
}

fn run(r: &RunLength) -> Value {
    json!({ "name": r.name, "plate": r.kind, "edge_length_mm": round(r.edge_length_mm) })
}

fn finding(f: &Finding) -> Value {
    json!({
        "chain": f.chain,
        "t_mm": round(f.t),
        "kind": f.kind,
        "line": f.line,
        "view": f.view,
        "size_mm": round(f.size),
        "toward": f.toward,
        "text": f.text,
        "at_mm": point3(f.at),
    })
}

/// How the lines fit the measured points.
fn fit(edge: &FairEdge) -> Value {
    let most = |f: fn(&PointFit) -> f64| round(edge.fits().map(f).fold(0.0, f64::max));
    json!({
        "largest_base_move_mm": most(|r| r.base_out.abs().max(r.base_up.abs())),
        "largest_pull_down_mm": most(|r| r.base_up),
        "largest_board_proud_mm": most(|r| -r.base_up),
        "largest_top_move_mm": most(|r| r.top_out.abs().max(r.top_up.abs())),
        "points": fits_json(edge, round),
    })
}

fn expected(p: &ExpectedFit) -> Value {
    json!({
        "part": p.name,
        "plate": p.kind,
        "gap_95_mm": round(p.gap_95),
        "at": p.at,
        "t_mm": round(p.at_t),
        "butt_along_95_mm": p.butt_along_95.map(round),
        "butt_across_95_mm": p.butt_across_95.map(round),
    })
}

fn again(a: &Again) -> Value {
    json!({
        "point": a.name,
        "side": a.sides(),
        "chain": a.chain,
        "t_mm": round(a.t),
        "variance_off_in_height": fine(a.height_share),
        "variance_off_in_plan": fine(a.plan_share),
    })
}
