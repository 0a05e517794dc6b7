//! The lists, as CSV: each header names its unit. The bend table for machines
//! is always in millimetres; lists for people are in the units that the job
//! shows.

mod bends;

use std::collections::BTreeMap;

use super::facts::Facts;
use super::{Input, csv_text};
use crate::fault::Fault;
use crate::geom::Vec3;
use crate::layout::{Face, JointForm, MemberKind, side_name};
use crate::length::{self, Show, number};
use crate::part::Part;
use crate::quantity::{self, MM_PER_IN};

/// What the stanchion list's numbers and angles mean, with a sketch: the one
/// place that says so.
pub const STANCHIONS_LEGEND: &str = include_str!("stanchions-legend.txt");

/// All lists: file name and text, in the order of the names.
///
/// # Errors
/// A table could not be written.
pub fn lists(input: &Input<'_>, facts: &Facts) -> Result<Vec<(String, String)>, Fault> {
    let sheets = [
        bends::bend_checks(input),
        fasteners(input),
        fit(input),
        joints(input),
        ordinates(input),
        parts(input, facts),
        stanchions(input),
    ];
    let mut all: Vec<(String, String)> = sheets
        .into_iter()
        .map(|s| Ok((s.name.to_owned(), csv_text(s.name, &s.header, &s.rows)?)))
        .collect::<Result<_, Fault>>()?;
    let legend = "stanchions-legend.txt".to_owned();
    all.push((legend, STANCHIONS_LEGEND.to_owned()));
    Ok(all)
}

/// The bend schedule for machines, of all parts.
///
/// # Errors
/// The table could not be written.
pub fn bend_schedule(parts: &[&Part]) -> Result<String, Fault> {
    let list = bends::bends(parts);
    csv_text(list.name, &list.header, &list.rows)
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
pub fn members(rows: &[MemberRow<'_>]) -> Result<String, Fault> {
    let header = head(&[
        ("part", ""),
        ("curve", ""),
        ("x", "mm"),
        ("y", "mm"),
        ("z", "mm"),
        ("axis_x", ""),
        ("axis_y", ""),
        ("axis_z", ""),
        ("diameter", "mm"),
    ]);
    let three = |v: Vec3, places: usize| [v.x, v.y, v.z].map(|x| number(x, places));
    let lines: Vec<Vec<String>> = rows
        .iter()
        .map(|r| {
            let mut line = vec![r.part.to_owned(), r.curve.clone()];
            line.extend(three(r.at, 4));
            match r.bore {
                Some((axis, diameter)) => {
                    line.extend(three(axis, 8));
                    line.push(number(diameter, 4));
                }
                None => line.extend([const { String::new() }; 4]),
            }
            line
        })
        .collect();
    csv_text("members.csv", &header, &lines)
}

/// A list: file name, header, rows.
struct List {
    name: &'static str,
    header: Vec<String>,
    rows: Vec<Vec<String>>,
}

impl List {
    fn new(name: &'static str, header: &[String]) -> Self {
        Self {
            name,
            header: header.to_vec(),
            rows: Vec::new(),
        }
    }
}

/// Headings of a list: the name of each column and its unit.
pub(super) fn head(columns: &[(&str, &str)]) -> Vec<String> {
    columns
        .iter()
        .map(|(name, unit)| {
            if unit.is_empty() {
                (*name).to_owned()
            } else {
                format!("{name}_{unit}")
            }
        })
        .collect()
}

/// Unit of lengths of metal and timber: mm, or feet, inches and sixteenths.
fn long_unit(show: Show) -> &'static str {
    match show {
        Show::Mm => "mm",
        Show::FeetInches => "ft_in",
    }
}

fn long(mm: f64, show: Show) -> String {
    match show {
        Show::Mm => number(mm, 1),
        Show::FeetInches => length::show(mm, show),
    }
}

/// Unit of small distances that sixteenths are too coarse for: mm, or
/// decimal inches.
pub(super) fn fine_unit(show: Show) -> &'static str {
    match show {
        Show::Mm => "mm",
        Show::FeetInches => "in",
    }
}

pub(super) fn fine(mm: f64, show: Show) -> String {
    match show {
        Show::Mm => number(mm, 2),
        Show::FeetInches => number(mm / MM_PER_IN, 4),
    }
}

/// An angle, rad, in degrees to a hundredth: 0.02 mm on a 4 in tube.
fn degrees(rad: f64) -> String {
    number(rad.to_degrees(), 2)
}

fn kind_name(kind: MemberKind) -> &'static str {
    match kind {
        MemberKind::BasePlate => "base plate",
        MemberKind::TopPlate => "top plate",
        MemberKind::Doubler => "doubler",
    }
}

fn face_name(face: Face) -> &'static str {
    match face {
        Face::Upper => "upper",
        Face::Lower => "lower",
    }
}

fn parts(input: &Input<'_>, facts: &Facts) -> List {
    let show = input.job.show;
    let (unit, small) = (long_unit(show), fine_unit(show));
    let header = head(&[
        ("part", ""),
        ("kind", ""),
        ("material", ""),
        ("thickness", small),
        ("length", unit),
        ("width", unit),
        ("outboard_edge", unit),
        ("fit_allowance", unit),
        ("net_area", quantity::area_unit(show)),
        ("mass", quantity::mass_unit(show)),
        ("holes", ""),
        ("marked_face", ""),
        ("sheet", ""),
        ("place", ""),
    ]);
    let mut list = List::new("parts.csv", &header);
    for (p, f) in input.parts.iter().zip(&facts.parts) {
        list.rows.push(vec![
            p.name.clone(),
            kind_name(p.kind).to_owned(),
            p.alloy.clone(),
            fine(p.thickness, show),
            long(f.length, show),
            long(f.width, show),
            long(p.net_edge_length, show),
            long(p.allowance, show),
            number(quantity::area_in(f.net_area, show), 4),
            number(quantity::mass_in(f.mass, show), 2),
            p.holes.len().to_string(),
            face_name(p.face).to_owned(),
            f.sheet.clone().unwrap_or_default(),
            p.place.clone(),
        ]);
    }
    list
}

fn stanchions(input: &Input<'_>) -> List {
    let show = input.job.show;
    let unit = long_unit(show);
    let header = head(&[
        ("stanchion", ""),
        ("side", ""),
        ("chain", ""),
        ("along_edge", unit),
        ("length_long_points", unit),
        ("foot_rise_forward", "deg"),
        ("foot_rise_inboard", "deg"),
        ("foot_saw_tilt", "deg"),
        ("foot_gap", fine_unit(show)),
        ("head_rise_forward", "deg"),
        ("head_rise_inboard", "deg"),
        ("head_saw_tilt", "deg"),
        ("head_gap", fine_unit(show)),
        ("lean_outboard", "deg"),
        ("mass", quantity::mass_unit(show)),
        ("foot_x", unit),
        ("foot_y", unit),
        ("foot_z", unit),
        ("head_x", unit),
        ("head_y", unit),
        ("head_z", unit),
        ("place", ""),
    ]);
    let mut list = List::new("stanchions.csv", &header);
    for s in input.stanchions {
        let mut row = vec![
            s.name.clone(),
            side_name(s.side).to_owned(),
            s.chain.to_string(),
            long(s.t, show),
            long(s.length, show),
        ];
        for cut in [s.foot_cut, s.head_cut] {
            let angles = [cut.rise_forward, cut.rise_inboard, cut.saw_tilt()];
            row.extend(angles.map(degrees));
            row.push(fine(cut.gap, show));
        }
        row.push(degrees(s.lean));
        row.push(number(quantity::mass_in(s.mass_kg, show), 2));
        let places = [s.foot.x, s.foot.y, s.foot.z, s.head.x, s.head.y, s.head.z];
        row.extend(places.map(|v| long(v, show)));
        row.push(s.place.clone());
        list.rows.push(row);
    }
    list
}

/// Holes of one diameter in one part; one screw or bolt for each.
fn fasteners(input: &Input<'_>) -> List {
    let show = input.job.show;
    let header = head(&[
        ("part", ""),
        ("plate", ""),
        ("goes_into", ""),
        ("hole_diameter", fine_unit(show)),
        ("holes", ""),
    ]);
    let mut list = List::new("fasteners.csv", &header);
    for p in input.parts {
        let mut count: BTreeMap<String, usize> = BTreeMap::new();
        for hole in &p.holes {
            *count.entry(fine(hole.diameter, show)).or_default() += 1;
        }
        let into = match p.kind {
            MemberKind::BasePlate => "covering board",
            MemberKind::TopPlate => "wood cap",
            MemberKind::Doubler => "base plate and covering board",
        };
        for (diameter, holes) in count {
            list.rows.push(vec![
                p.name.clone(),
                kind_name(p.kind).to_owned(),
                into.to_owned(),
                diameter,
                holes.to_string(),
            ]);
        }
    }
    list
}

/// Where the base plate stands clear of the board it must be pulled down;
/// where the board stands proud, the board must be eased.
fn fit(input: &Input<'_>) -> List {
    let show = input.job.show;
    let (unit, small) = (long_unit(show), fine_unit(show));
    let header = head(&[
        ("station", ""),
        ("side", ""),
        ("chain", ""),
        ("along_edge", unit),
        ("base_move_outboard", small),
        ("base_move_up", small),
        ("pull_down", small),
        ("board_proud", small),
        ("top_move_outboard", small),
        ("top_move_up", small),
    ]);
    let mut list = List::new("fit.csv", &header);
    for r in input.fit {
        let mut row = vec![
            r.station.clone(),
            r.side.name().to_owned(),
            r.chain.to_string(),
            long(r.t, show),
        ];
        let moves = [
            r.base_out,
            r.base_up,
            r.base_up.max(0.0),
            (-r.base_up).max(0.0),
            r.top_out,
            r.top_up,
        ];
        row.extend(moves.map(|v| fine(v, show)));
        list.rows.push(row);
    }
    list
}

/// Ordinates of both edges from the straight line y = 0 of each part.
fn ordinates(input: &Input<'_>) -> List {
    let show = input.job.show;
    let unit = long_unit(show);
    let header = head(&[("part", ""), ("x", unit), ("lower", unit), ("upper", unit)]);
    let mut list = List::new("ordinates.csv", &header);
    for p in input.parts {
        for o in &p.ordinates {
            list.rows.push(vec![
                p.name.clone(),
                long(o.x, show),
                long(o.lower, show),
                long(o.upper, show),
            ]);
        }
    }
    list
}

fn form_name(form: JointForm) -> &'static str {
    match form {
        JointForm::Butt => "welded butt",
        JointForm::Lift => "lift joint, not welded",
        JointForm::Mitre => "mitre",
    }
}

fn joints(input: &Input<'_>) -> List {
    let show = input.job.show;
    let header = head(&[
        ("plate", ""),
        ("form", ""),
        ("between", ""),
        ("and", ""),
        ("chain", ""),
        ("along_edge", long_unit(show)),
        ("place", ""),
    ]);
    let mut list = List::new("joints.csv", &header);
    for j in input.joints {
        list.rows.push(vec![
            kind_name(j.kind).to_owned(),
            form_name(j.form).to_owned(),
            j.between[0].clone(),
            j.between[1].clone(),
            j.chain.to_string(),
            long(j.t, show),
            j.place.clone(),
        ]);
    }
    list
}
