//! A drawing as a survey: points, lines and polylines on one layer.
//!
//! Figures are read by the `dxf` crate; places, layers and damage by our own
//! split of the text ([`mod@scan`]).

mod pieces;
mod scan;

use std::collections::BTreeMap;

use dxf::entities::{Entity as Figure, EntityType};
use dxf::enums::Units;

use self::pieces::{Piece, joined};
use self::scan::{Entity, READ, Scan, scan};
use super::model::{Booked, Note, Point};
use super::passes::ONE_POINT_ACCURACIES;
use super::taken::{Context, RowKind, Taken};
use crate::fault::{Fault, Kind, Place};
use crate::geom::{Vec3, vec3};
use crate::job::Side;
use crate::length::{FOOT, INCH, LONGEST_MM, trimmed};
use crate::limits::ROWS;
use crate::pairs::shortened;
use crate::stock::nearest;

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
    let mut drawing = Drawing { context, faults };
    let before = drawing.faults.len();
    let (loose, pieces) = drawing.read(text).unwrap_or_default();
    if drawing.faults.len() > before {
        return Vec::new();
    }
    let near = ONE_POINT_ACCURACIES * context.job.accuracy;
    let pieces = joined(
        pieces,
        context.tolerance.doubled_point_mm,
        (near, context.job.show),
        notes,
    );
    let stated = context.file.side.is_some();
    let take = |mut point: Point, pass: usize| {
        point.pass = pass;
        Taken {
            point,
            kind: RowKind::Edge,
            stated,
        }
    };
    let lines = pieces.into_iter().enumerate();
    loose
        .into_iter()
        .map(|p| take(p, 0))
        .chain(lines.flat_map(|(i, piece)| piece.into_iter().map(move |p| take(p, i + 1))))
        .collect()
}

struct Drawing<'a> {
    context: &'a Context<'a>,
    faults: &'a mut Vec<Fault>,
}

type Read = (Vec<Point>, Vec<Piece>);

impl Drawing<'_> {
    fn place(&self) -> Place {
        Place::file(self.context.file.path.as_str())
    }

    fn fault(
        &mut self,
        place: Place,
        kind: Kind,
        what: impl Into<String>,
        mend: impl Into<String>,
    ) {
        self.faults.push(Fault::new(kind, place, what, mend));
    }

    fn at(&mut self, e: &Entity<'_>, kind: Kind, what: impl Into<String>, mend: &str) {
        let place = self.place().line(e.line).field(title(e));
        self.fault(place, kind, what, mend);
    }

    /// Loose points and lines; `None` once a fault says why.
    fn read(&mut self, text: &str) -> Option<Read> {
        let scan = match scan(text) {
            Ok(scan) => scan,
            Err(b) => {
                let mut place = self.place();
                place.line = b.line;
                self.fault(place, Kind::Syntax, b.what, b.mend);
                return None;
            }
        };
        let count: usize = scan.entities.iter().map(|e| e.points.len()).sum();
        if count > ROWS {
            let what = format!("the drawing has {count} points, and may have {ROWS}");
            let mend =
                "thin the points out, or write the layer of the edge as a drawing of its own";
            self.fault(self.place(), Kind::Range, what, mend);
            return None;
        }
        let drawing = match dxf::Drawing::load(&mut scan.extract.as_bytes()) {
            Ok(drawing) => drawing,
            Err(e) => {
                let what = format!("the drawing cannot be read: {}", error_text(&e));
                let mut place = self.place();
                place.line = error_line(&e, &scan);
                self.fault(place, Kind::Syntax, what, AGAIN);
                return None;
            }
        };
        let factor = self.factor(drawing.header.default_drawing_units)?;
        let wanted = self.on_layer(&scan)?;
        let figures: Vec<&Figure> = drawing.entities().collect();
        let read: Vec<&Entity<'_>> = scan
            .entities
            .iter()
            .filter(|e| READ.contains(&e.kind))
            .collect();
        // The crate stops at the first entity that it cannot read, in silence.
        if figures.len() != read.len() {
            let place = self
                .place()
                .line(read.get(figures.len()).map_or(1, |e| e.line));
            self.fault(place, Kind::Syntax, "this entity cannot be read", AGAIN);
            return None;
        }
        let (mut loose, mut pieces) = (Vec::new(), Vec::new());
        for (figure, e) in figures.iter().zip(&read) {
            if !wanted.contains(&e.line) {
                continue;
            }
            let Some(at) = self.vertices(figure, e) else {
                continue;
            };
            let points = self.points(&at, e, factor);
            if e.kind == "POINT" {
                loose.extend(points);
            } else {
                pieces.push(points);
            }
        }
        Some((loose, pieces))
    }

    /// Millimetres a unit of the drawing, by the job; the drawing's own word
    /// for it must agree.
    fn factor(&mut self, stated: Units) -> Option<f64> {
        let (unit, key) = match self.context.file.unit {
            Some(unit) => (unit, "unit"),
            None => (self.context.job.unit, "survey.unit"),
        };
        let Some(factor) = unit.mm() else {
            let place = self.place().field(key);
            self.fault(
                place,
                Kind::Unit,
                "the numbers of a drawing are decimal, and the job's unit is feet and inches",
                "add unit = \"in\", \"ft\", \"mm\" or \"m\" to this [[survey.file]]",
            );
            return None;
        };
        let own = match stated {
            Units::Unitless => return Some(factor),
            Units::Inches => (INCH, "inches".to_owned()),
            Units::Feet => (FOOT, "feet".to_owned()),
            Units::Millimeters => (1.0, "millimetres".to_owned()),
            Units::Meters => (1000.0, "metres".to_owned()),
            Units::Centimeters => (10.0, "centimetres".to_owned()),
            other => (f64::NAN, format!("unit {}", other as i32)),
        };
        if (own.0 - factor).abs() < 1e-9 {
            return Some(factor);
        }
        let place = self.place().field("$INSUNITS");
        self.fault(
            place,
            Kind::Conflict,
            format!("the drawing says that it is in {}, and the job says {}", own.1, unit.name()),
            "set `unit` of this [[survey.file]] to the drawing's, or write the drawing again in the job's unit",
        );
        None
    }

    /// First lines of the entities on the job's layer that are read. Faults:
    /// no such layer, a damaged entity, arcs and splines.
    fn on_layer(&mut self, scan: &Scan<'_>) -> Option<Vec<usize>> {
        let layer = self.context.file.layer.as_str();
        let mut layers: BTreeMap<&str, usize> = BTreeMap::new();
        let mut found = Vec::new();
        let before = self.faults.len();
        let mut other: BTreeMap<&str, usize> = BTreeMap::new();
        for e in scan.entities.iter().filter(|e| !e.paper) {
            *layers.entry(e.layer.as_str()).or_default() += 1;
            if e.layer.to_lowercase() != layer.to_lowercase() {
                continue;
            }
            if LETTERS.contains(&e.kind) {
                continue;
            }
            if !READ.contains(&e.kind) {
                let count = other.entry(e.kind).or_default();
                *count += 1;
                if *count <= MOST_TOLD {
                    let what = format!(
                        "a {} on this layer is no line of measured points",
                        shortened(e.kind)
                    );
                    self.at(
                        e,
                        Kind::Survey,
                        what,
                        "draw it as a 3D polyline through the measured points, or move it to another layer",
                    );
                }
            } else if let Some(line) = e.lacks {
                let place = self.place().line(line).field(title(e));
                self.fault(place, Kind::Syntax, "a point has no x or no y", AGAIN);
            } else {
                found.push(e.line);
            }
        }
        if self.faults.len() > before {
            return None;
        }
        if found.is_empty() {
            let near = nearest(layer, layers.keys().copied()).unwrap_or_default();
            let told = layers.iter().take(MOST_LAYERS);
            let mut list: Vec<String> = told
                .map(|(l, n)| format!("{} ({n})", shortened(l)))
                .collect();
            if layers.len() > MOST_LAYERS {
                list.push(format!("and {} more", layers.len() - MOST_LAYERS));
            }
            let what = format!("there is nothing on a layer `{layer}`");
            let mend = if list.is_empty() {
                "the drawing is empty: check that this is the right one".to_owned()
            } else {
                format!(
                    "the nearest layer is `{}`; layers with their number of entities: {}",
                    shortened(near),
                    list.join(", ")
                )
            };
            let place = self.place().field("layer");
            self.fault(place, Kind::Missing, what, mend);
            return None;
        }
        Some(found)
    }

    /// Places of an entity's points in the drawing's unit, with the line of
    /// each.
    fn vertices(&mut self, figure: &Figure, e: &Entity<'_>) -> Option<Vec<Vec3>> {
        let point = |p: &dxf::Point| vec3(p.x, p.y, p.z);
        let places = match (&figure.specific, e.kind) {
            (EntityType::ModelPoint(p), "POINT") => vec![point(&p.location)],
            (EntityType::Line(l), "LINE") => vec![point(&l.p1), point(&l.p2)],
            (EntityType::LwPolyline(l), "LWPOLYLINE") => {
                if !self.plain(
                    e,
                    &l.extrusion_direction,
                    l.vertices.iter().map(|v| v.bulge),
                ) {
                    return None;
                }
                let z = figure.common.elevation;
                l.vertices.iter().map(|v| vec3(v.x, v.y, z)).collect()
            }
            (EntityType::Polyline(l), "POLYLINE") => {
                // Bits 2 and 4: curve and spline fitted; 16 and 64: meshes.
                if l.flags & (2 | 4 | 16 | 64) != 0 {
                    self.at(
                        e,
                        Kind::Survey,
                        "this polyline is a mesh, or fitted by a curve",
                        "draw it as a plain 3D polyline through the measured points",
                    );
                    return None;
                }
                let space = l.flags & 8 != 0;
                if !space && !self.plain(e, &l.normal, l.vertices().map(|v| v.bulge)) {
                    return None;
                }
                let z = |v: &dxf::Point| if space { v.z } else { l.location.z };
                l.vertices()
                    .map(|v| vec3(v.location.x, v.location.y, z(&v.location)))
                    .collect()
            }
            _ => Vec::new(),
        };
        if places.len() != e.points.len() || places.is_empty() {
            self.at(e, Kind::Syntax, "this entity cannot be read whole", AGAIN);
            return None;
        }
        Some(places)
    }

    /// True where a polyline in a plane is level and has no arcs.
    fn plain(
        &mut self,
        e: &Entity<'_>,
        up: &dxf::Vector,
        mut bulges: impl Iterator<Item = f64>,
    ) -> bool {
        if up.z <= 0.0 || up.x.abs().max(up.y.abs()) > 1e-9 * up.z {
            self.at(
                e,
                Kind::Survey,
                "this polyline lies in a plane that is not level",
                "draw it as a 3D polyline",
            );
            return false;
        }
        if bulges.any(|b| b != 0.0) {
            self.at(
                e,
                Kind::Survey,
                "this polyline has arcs: they are drawn, not measured",
                "draw it as a 3D polyline through the measured points",
            );
            return false;
        }
        true
    }

    /// Points of an entity, mm; a figure that is not finite is a fault.
    fn points(&mut self, places: &[Vec3], e: &Entity<'_>, factor: f64) -> Vec<Point> {
        let mut out = Vec::with_capacity(places.len());
        for (i, (&p, &line)) in places.iter().zip(&e.points).enumerate() {
            let at = p * factor;
            let sound = |c: f64| c.is_finite() && c.abs() <= LONGEST_MM;
            if ![at.x, at.y, at.z].into_iter().all(sound) {
                let place = self.place().line(line).field(title(e));
                self.fault(
                    place,
                    Kind::Range,
                    format!("point {} lies at {}, {}, {}", i + 1, p.x, p.y, p.z),
                    "coordinates are finite and within 1 km: correct the drawing or its unit",
                );
                continue;
            }
            // As an unnamed row of a table: names are marked on the parts.
            let name = format!("x {}", trimmed(p.x, 3));
            out.push(Point {
                at,
                side: self.context.file.side.unwrap_or(Side::Port),
                file: self.context.file.path.clone(),
                line,
                name,
                height: None,
                lean: None,
                slope: None,
                tolerance: None,
                knuckle: false,
                pass: 0,
                booked: Booked::default(),
            });
        }
        out
    }
}

const AGAIN: &str = "the file is damaged: write it again from the drawing";

/// An entity as people find it: its kind and handle.
fn title(e: &Entity<'_>) -> String {
    format!("{} {}", e.kind, shortened(e.handle))
        .trim_end()
        .to_owned()
}

/// The crate's word without its place, which is a line of the extract.
fn error_text(e: &dxf::DxfError) -> String {
    let text = e.to_string();
    let text = text.split(" at line/offset").next().unwrap_or_default();
    shortened(text)
}

/// Line in the file of an error in the extract. The crate counts lines from
/// nought; a pair has two.
fn error_line(e: &dxf::DxfError, scan: &Scan<'_>) -> Option<usize> {
    let text = e.to_string();
    let (_, offset) = text.rsplit_once("line/offset ")?;
    let pair = offset.trim().parse::<usize>().ok()? / 2;
    scan.lines.get(pair).copied().filter(|&l| l > 0)
}
