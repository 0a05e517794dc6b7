//! A drawing as a survey: points, lines and polylines on one layer.

mod lines;

use std::borrow::Cow;
use std::collections::BTreeMap;

use self::lines::{Line, joined};
use super::model::{Booked, Note, Point};
use super::passes::ONE_POINT_ACCURACIES;
use super::taken::{Context, RowKind, Taken};
use crate::dxf::{Drawing, Entity, shortened};
use crate::fault::{Fault, Kind, Place};
use crate::job::Side;
use crate::length::trimmed;
use crate::limits::ROWS;
use crate::stock::nearest;

/// Kinds of entity that hold measured points.
const READ: [&str; 4] = ["POINT", "LINE", "LWPOLYLINE", "POLYLINE"];

/// Letters beside the edge, which are passed over.
const LETTERS: [&str; 4] = ["TEXT", "MTEXT", "ATTDEF", "ATTRIB"];

/// Most entities of one kind that are named for being no lines of points.
const MOST_TOLD: usize = 5;

/// Most layers that are named where none is the job's.
const MOST_LAYERS: usize = 20;

/// The measured points of a drawing: its loose points first, then line by
/// line. Every fault is added.
pub(super) fn read_drawing(
    context: &Context<'_>,
    text: &str,
    faults: &mut Vec<Fault>,
    notes: &mut Vec<Note>,
) -> Vec<Taken> {
    let mut found = Found::default();
    if let Err(fault) = found.read(context, text) {
        found.faults.push(fault);
    }
    if !found.faults.is_empty() {
        faults.append(&mut found.faults);
        return Vec::new();
    }
    let near = ONE_POINT_ACCURACIES * context.job.accuracy;
    let near = (near, context.job.show);
    let lines = joined(found.lines, context.near.doubled, near, notes);
    let stated = context.file.side.is_some();
    let take = |mut point: Point, pass: usize| {
        point.pass = pass;
        Taken {
            point,
            kind: RowKind::Edge,
            stated,
        }
    };
    let loose = found.loose.into_iter().map(|p| take(p, 0));
    let lines = lines.into_iter().enumerate();
    loose
        .chain(lines.flat_map(|(i, line)| line.into_iter().map(move |p| take(p, i + 1))))
        .collect()
}

/// What was found in a drawing.
#[derive(Default)]
struct Found {
    loose: Vec<Point>,
    lines: Vec<Line>,
    faults: Vec<Fault>,
}

impl Found {
    /// Takes what lies on the job's layer. A fault of one entity is kept, and
    /// the others are read all the same.
    fn read(&mut self, context: &Context<'_>, text: &str) -> Result<(), Fault> {
        let place = || Place::file(context.file.path.as_str());
        let drawing = Drawing::read(&context.file.path, text)?;
        let unit_mm = unit_mm(context, &drawing)?;
        let layer = context.file.layer.to_lowercase();
        let mut layers: BTreeMap<Cow<'_, str>, usize> = BTreeMap::new();
        let mut other: BTreeMap<&str, usize> = BTreeMap::new();
        let (mut empty, mut count) = (true, 0);
        for e in drawing.entities() {
            let own = e.layer();
            let here = own.to_lowercase() == layer && !LETTERS.contains(&e.kind());
            *layers.entry(own).or_default() += 1;
            if !here {
                continue;
            }
            empty = false;
            if READ.contains(&e.kind()) {
                match points(context, &e, unit_mm) {
                    Ok(points) => {
                        count += points.len();
                        if e.kind() == "POINT" {
                            self.loose.extend(points);
                        } else {
                            self.lines.push(points);
                        }
                    }
                    Err(fault) => self.faults.push(fault),
                }
                if count > ROWS {
                    let what = format!("the layer has more than {ROWS} points");
                    return Err(Fault::new(Kind::Range, place(), what, "thin them out"));
                }
                continue;
            }
            let alike = other.entry(e.kind()).or_default();
            *alike += 1;
            if *alike <= MOST_TOLD {
                let kind = shortened(e.kind());
                let what = format!("a {kind} on this layer is no line of measured points");
                let mend = "draw it as a 3D polyline through the measured points, or move it to another layer";
                self.faults.push(e.fault(Kind::Survey, what, mend));
            }
        }
        if empty {
            let (what, mend) = no_layer(&context.file.layer, &layers);
            return Err(Fault::new(
                Kind::Missing,
                place().field("layer"),
                what,
                mend,
            ));
        }
        Ok(())
    }
}

/// Millimetres in a unit of the drawing.
fn unit_mm(context: &Context<'_>, drawing: &Drawing<'_>) -> Result<f64, Fault> {
    let (unit, key) = match context.file.unit {
        Some(unit) => (unit, "unit"),
        None => (context.job.unit, "survey.unit"),
    };
    if unit.mm().is_none() {
        return Err(Fault::new(
            Kind::Unit,
            Place::file(context.file.path.as_str()).field(key),
            "the numbers of a drawing are decimal, and the job's unit is feet and inches",
            "add unit = \"in\", \"ft\", \"mm\" or \"m\" to this [[survey.file]]",
        ));
    }
    drawing.unit_mm(Some(unit), "[[survey.file]]")
}

/// What is wrong where nothing lies on a layer, and how to mend it.
fn no_layer(layer: &str, layers: &BTreeMap<Cow<'_, str>, usize>) -> (String, String) {
    let what = format!("there is nothing on a layer `{layer}`");
    if layers.is_empty() {
        let mend = "the drawing is empty: check that this is the right one";
        return (what, mend.to_owned());
    }
    let near = nearest(layer, layers.keys().map(Cow::as_ref)).unwrap_or_default();
    let told = layers.iter().take(MOST_LAYERS);
    let mut list: Vec<String> = told
        .map(|(l, n)| format!("{} ({n})", shortened(l)))
        .collect();
    if layers.len() > MOST_LAYERS {
        list.push(format!("and {} more", layers.len() - MOST_LAYERS));
    }
    let mend = format!(
        "the nearest layer is `{}`; layers with their number of entities: {}",
        shortened(near),
        list.join(", ")
    );
    (what, mend)
}

/// Points of an entity, mm.
fn points(context: &Context<'_>, e: &Entity<'_>, unit_mm: f64) -> Result<Vec<Point>, Fault> {
    let vertices = e.vertices(unit_mm)?;
    let refused = |what, mend| Err(e.fault(Kind::Survey, what, mend));
    if !e.is_level()? {
        return refused(
            "this polyline lies in a plane that is not level",
            "draw it as a 3D polyline",
        );
    }
    if vertices.iter().any(|v| v.bulge != 0.0) {
        return refused(
            "this polyline has arcs: they are drawn, not measured",
            "draw it as a 3D polyline through the measured points",
        );
    }
    let point = |v: crate::dxf::Vertex| Point {
        at: v.at,
        side: context.file.side.unwrap_or(Side::Port),
        file: context.file.path.clone(),
        line: v.line,
        // As an unnamed row of a table: names are marked on the parts.
        name: format!("x {}", trimmed(v.at.x / unit_mm, 3)),
        height: None,
        lean: None,
        slope: None,
        tolerance: None,
        knuckle: false,
        pass: 0,
        booked: Booked::default(),
    };
    Ok(vertices.into_iter().map(point).collect())
}
