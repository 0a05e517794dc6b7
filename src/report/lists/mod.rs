//! The lists, as CSV: each heading names its unit. The bend table for machines
//! and the members are always in millimetres; lists for people are in the units
//! that the job shows, as plain numbers.

mod bends;

use std::collections::BTreeMap;

use super::cuts::cutting_order;
use super::facts::Facts;
use super::input::Input;
use super::table::Table;
use crate::fair::PointFit;
use crate::fault::Fault;
use crate::geom::Vec3;
use crate::job::Job;
use crate::layout::{Face, JointForm, MemberKind, Stanchion, side_name};
use crate::part::Part;
use crate::quantity::Quantity::{Angle, Area, Fine, Length, Mass, Plain, Share, Tape};

pub use bends::bend_schedule;

/// What the stanchion list's numbers and angles mean, with a sketch: the one
/// place that says so.
pub const STANCHIONS_LEGEND: &str = include_str!("stanchions-legend.txt");

/// A file's name and its text.
pub type Named = (String, String);

/// All lists, in the order of their names.
///
/// # Errors
/// A table could not be written.
pub fn lists(input: &Input<'_>, facts: &Facts) -> Result<Vec<Named>, Fault> {
    Ok(vec![
        bends::bend_checks(input)?,
        cutting_order(input)?,
        expected_fit(input)?,
        fasteners(input)?,
        fit("fit.csv", input.job, input.edge.fits())?,
        joints(input)?,
        measure_again(input)?,
        ordinates(input)?,
        parts(input, facts)?,
        stanchions(input)?,
        (
            "stanchions-legend.txt".to_owned(),
            STANCHIONS_LEGEND.to_owned(),
        ),
    ])
}

/// A place of a member in space.
#[derive(Debug, Clone, PartialEq)]
pub struct MemberRow<'a> {
    /// Part.
    pub part: &'a str,
    /// Side of the boundary, or hole.
    pub curve: String,
    /// On the mid-thickness, mm.
    pub at: Vec3,
    /// A hole's axis and diameter, mm.
    pub bore: Option<(Vec3, f64)>,
}

/// `members.csv`: what every part must fold back to. Along each side of a
/// part in order, counter-clockwise seen from above, each with both its ends;
/// then the centres of its holes with their axes.
///
/// # Errors
/// The table could not be written.
pub fn members(rows: &[MemberRow<'_>]) -> Result<Named, Fault> {
    Table::for_machines(rows)
        .text("part", |r| r.part)
        .text("curve", |r| &r.curve)
        .place("", Plain("mm", 4), |r| Some(r.at))
        .place("axis_", Plain("", 8), |r| r.bore.map(|b| b.0))
        .column("diameter", Plain("mm", 4), |r| r.bore.map(|b| b.1))
        .to_csv("members.csv")
}

fn kind_name(kind: MemberKind) -> &'static str {
    match kind {
        MemberKind::BasePlate => "base plate",
        MemberKind::TopPlate => "top plate",
        MemberKind::Doubler => "doubler",
        MemberKind::Cap => "wood cap",
    }
}

fn parts(input: &Input<'_>, facts: &Facts) -> Result<Named, Fault> {
    Table::of(input.job, input.parts.iter().zip(&facts.parts))
        .text("part", |(p, _)| &p.name)
        .text("kind", |(p, _)| kind_name(p.kind))
        .text("material", |(p, _)| &p.alloy)
        .column("thickness", Fine, |(p, _)| p.thickness)
        .column("length", Length, |(_, f)| f.length)
        .column("width", Length, |(_, f)| f.width)
        .column("outboard_edge", Length, |(p, _)| p.net_edge_length)
        .column("fit_allowance", Length, |(p, _)| p.allowance)
        .column("net_area", Area, |(_, f)| f.net_area)
        .column("mass", Mass, |(_, f)| f.mass)
        .count("holes", |(p, _)| p.holes.len())
        .text("marked_face", |(p, _)| match p.face {
            Face::Upper => "upper",
            Face::Lower => "lower",
        })
        .text("sheet", |(_, f)| f.sheet.as_ref())
        .text("place", |(p, _)| &p.place)
        .to_csv("parts.csv")
}

fn stanchions(input: &Input<'_>) -> Result<Named, Fault> {
    let mut table = Table::of(input.job, &input.layout.stanchions)
        .text("stanchion", |s| &s.name)
        .text("side", |s| side_name(s.side))
        .count("chain", |s| s.chain)
        .column("along_edge", Tape, |s| s.t)
        .column("length_long_points", Tape, |s| s.length);
    for end in ["foot", "head"] {
        let cut = |s: &Stanchion| match end {
            "foot" => s.foot_cut,
            _ => s.head_cut,
        };
        let name = |what: &str| format!("{end}_{what}");
        table = table
            .column(name("rise_forward"), Angle, |s| cut(s).rise_forward)
            .column(name("rise_inboard"), Angle, |s| cut(s).rise_inboard)
            .column(name("saw_tilt"), Angle, |s| cut(s).saw_tilt())
            .column(name("gap"), Fine, |s| cut(s).gap);
    }
    table
        .column("lean_outboard", Angle, |s| s.lean)
        .column("mass", Mass, |s| s.mass_kg)
        .place("foot_", Length, |s| Some(s.foot))
        .place("head_", Length, |s| Some(s.head))
        .text("place", |s| &s.place)
        .to_csv("stanchions.csv")
}

/// Holes of one diameter in one part; one screw or bolt for each.
fn fasteners(input: &Input<'_>) -> Result<Named, Fault> {
    let mut rows: Vec<(&Part, f64, usize)> = Vec::new();
    for part in input.parts {
        let mut count: BTreeMap<String, (f64, usize)> = BTreeMap::new();
        for hole in &part.holes {
            let told = Fine.figure(hole.diameter, input.job.show);
            count.entry(told).or_insert((hole.diameter, 0)).1 += 1;
        }
        rows.extend(count.into_values().map(|(d, n)| (part, d, n)));
    }
    Table::of(input.job, rows)
        .text("part", |(p, ..)| &p.name)
        .text("plate", |(p, ..)| kind_name(p.kind))
        .text("goes_into", |(p, ..)| match p.kind {
            MemberKind::BasePlate => "covering board",
            MemberKind::TopPlate | MemberKind::Cap => "wood cap",
            MemberKind::Doubler => "base plate and covering board",
        })
        .column("hole_diameter", Fine, |(_, d, _)| d)
        .count("holes", |(.., n)| n)
        .to_csv("fasteners.csv")
}

/// How the lines fit every measured point. Where the base plate stands clear of
/// the board it must be pulled down; where the board stands proud, the board
/// must be eased.
///
/// # Errors
/// The table could not be written.
pub fn fit<'a>(
    file: &str,
    job: &Job,
    fits: impl Iterator<Item = &'a PointFit>,
) -> Result<Named, Fault> {
    Table::of(job, fits)
        .text("station", |p| &p.name)
        .text("side", |p| p.side.name())
        .count("chain", |p| p.chain)
        .column("along_edge", Tape, |p| p.t)
        .column("base_move_outboard", Fine, |p| p.base_out)
        .column("base_move_up", Fine, |p| p.base_up)
        .column("pull_down", Fine, |p| p.base_up.max(0.0))
        .column("board_proud", Fine, |p| (-p.base_up).max(0.0))
        .column("top_move_outboard", Fine, |p| p.top_out)
        .column("top_move_up", Fine, |p| p.top_up)
        .to_csv(file)
}

/// The fit of each part to expect on the boat.
fn expected_fit(input: &Input<'_>) -> Result<Named, Fault> {
    Table::of(input.job, input.expected)
        .text("part", |p| &p.name)
        .text("plate", |p| match p.kind {
            MemberKind::TopPlate => "top",
            _ => "base",
        })
        .column("gap_95", Fine, |p| p.gap_95)
        .text("least_sure_at", |p| &p.at)
        .column("butt_along_95", Fine, |p| p.butt_along_95)
        .column("butt_across_95", Fine, |p| p.butt_across_95)
        .to_csv("expected-fit.csv")
}

/// Points that gain most by a second measurement.
fn measure_again(input: &Input<'_>) -> Result<Named, Fault> {
    Table::of(input.job, input.again().enumerate())
        .count("rank", |(k, _)| k + 1)
        .text("side", |(_, a)| a.sides())
        .text("point", |(_, a)| &a.name)
        .column("t", Length, |(_, a)| a.t)
        .column("variance_off_in_height", Share, |(_, a)| a.height_share)
        .column("variance_off_in_plan", Share, |(_, a)| a.plan_share)
        .to_csv("measure-again.csv")
}

/// Ordinates of both edges from the straight line y = 0 of each part.
fn ordinates(input: &Input<'_>) -> Result<Named, Fault> {
    let rows = (input.parts.iter()).flat_map(|p| p.ordinates.iter().map(move |o| (p, o)));
    Table::of(input.job, rows)
        .text("part", |(p, _)| &p.name)
        .column("x", Tape, |(_, o)| o.x)
        .column("lower", Tape, |(_, o)| o.lower)
        .column("upper", Tape, |(_, o)| o.upper)
        .text("corner", |(_, o)| o.corner())
        .to_csv("ordinates.csv")
}

fn joints(input: &Input<'_>) -> Result<Named, Fault> {
    Table::of(input.job, &input.layout.joints)
        .text("plate", |j| kind_name(j.kind))
        .text("form", |j| match j.form {
            JointForm::Butt => "welded butt",
            JointForm::Lift => "lift joint, not welded",
            JointForm::Mitre => "mitre",
        })
        .text("between", |j| &j.between[0])
        .text("and", |j| &j.between[1])
        .count("chain", |j| j.chain)
        .column("along_edge", Tape, |j| j.t)
        .text("place", |j| &j.place)
        .to_csv("joints.csv")
}
