//! DXF, release 12 and release 2000, through the `dxf` crate and a pass over
//! its code pairs (`pass`) that makes a strict reader take them.

mod pass;
mod read;

pub use read::{LayerShapes, Profiles, read_profiles};

use dxf::entities::{Circle, Entity, EntityCommon, EntityType, LwPolyline, Polyline, Text, Vertex};
use dxf::enums::AcadVersion;
use dxf::tables::Layer as DxfLayer;
use dxf::{Color, Drawing as DxfDrawing, LwPolylineVertex, Point};

use crate::drawing::{Drawing, Layer, Shape, ascii};
use crate::fault::{Fault, Kind, Place};
use crate::geom::{Outline, Vec2};
use crate::job::{DxfUnits, DxfVersion, LayerStyle, Output};
use crate::quantity::MM_PER_IN;

/// Line weight "default" (group 370): zero, the crate's own value, asks for
/// the thinnest line there is.
const LINEWEIGHT_DEFAULT: i16 = -1;
/// Longest layer name of release 12; later releases take 255.
const R12_NAME: usize = 31;
/// Colour 7, drawn black on white and white on black.
const PLAIN_COLOUR: u8 = 7;

/// The text of a DXF file.
///
/// # Errors
/// A coordinate that is not finite ([`Kind::Geometry`]), or a layer name that
/// the format does not take ([`Kind::Range`]).
pub fn dxf(drawing: &Drawing, output: &Output) -> Result<String, Fault> {
    if !drawing.is_finite() {
        return Err(fault(
            Kind::Geometry,
            drawing,
            "a coordinate is not a finite number",
            "report this drawing: the stage before it must not let one through",
        ));
    }
    let scale = units_per_mm(output.dxf_units);
    let release = output.dxf;
    let mut file = DxfDrawing::new();
    file.header.version = version(release);
    for layer in drawing.layers() {
        let style = style(layer, output);
        check_name(drawing, &style.name, release)?;
        file.add_layer(DxfLayer {
            name: style.name,
            color: Color::from_index(style.colour),
            ..DxfLayer::default()
        });
    }
    for item in &drawing.items {
        let specific = match &item.shape {
            Shape::Profile(outline) => profile(&mut file, outline, scale, release),
            Shape::Stroke(points) => {
                let open = points.iter().map(|&p| (p, 0.0)).collect::<Vec<_>>();
                polyline(&mut file, &open, false, scale, release)
            }
            Shape::Line(vertices) => {
                let open = vertices.iter().map(|v| (v.at, v.bulge)).collect::<Vec<_>>();
                polyline(&mut file, &open, false, scale, release)
            }
            Shape::Circle { centre, radius } => EntityType::Circle(Circle {
                center: point(*centre, scale),
                radius: radius * scale,
                ..Circle::default()
            }),
            Shape::Text {
                at,
                height,
                angle,
                text,
            } => EntityType::Text(Text {
                location: point(*at, scale),
                text_height: height * scale,
                rotation: angle.to_degrees(),
                // A doubled percent sign begins a control code.
                value: ascii(text).replace("%%", "% %"),
                ..Text::default()
            }),
        };
        file.add_entity(Entity {
            common: EntityCommon {
                layer: style(item.layer, output).name,
                lineweight_enum_value: LINEWEIGHT_DEFAULT,
                ..EntityCommon::default()
            },
            specific,
        });
    }
    let mut bytes = Vec::new();
    file.save(&mut bytes)
        .map_err(|e| fault(Kind::File, drawing, &e.to_string(), "report this drawing"))?;
    let header = pass::Header {
        release,
        units: output.dxf_units,
        extents: drawing
            .bounds()
            .map(|(lo, hi)| (lo * scale, hi * scale))
            .unwrap_or_default(),
    };
    Ok(pass::mended(&String::from_utf8_lossy(&bytes), &header))
}

/// Drawing units per millimetre.
fn units_per_mm(units: DxfUnits) -> f64 {
    match units {
        DxfUnits::Mm => 1.0,
        DxfUnits::In => 1.0 / MM_PER_IN,
    }
}

fn version(release: DxfVersion) -> AcadVersion {
    match release {
        DxfVersion::R12 => AcadVersion::R12,
        DxfVersion::R2000 => AcadVersion::R2000,
    }
}

/// Name and colour of a layer: the job's, or the plain ones.
#[must_use]
pub fn style(layer: Layer, output: &Output) -> LayerStyle {
    output
        .layers
        .get(layer.name())
        .cloned()
        .unwrap_or_else(|| LayerStyle {
            name: layer.name().to_owned(),
            colour: PLAIN_COLOUR,
        })
}

/// Refuses a layer name that a reader would refuse or change.
fn check_name(drawing: &Drawing, name: &str, release: DxfVersion) -> Result<(), Fault> {
    let (longest, spelt) = match release {
        DxfVersion::R12 => (
            R12_NAME,
            name.chars()
                .all(|c| c.is_ascii_alphanumeric() || "$-_".contains(c)),
        ),
        DxfVersion::R2000 => (
            255,
            name.chars()
                .all(|c| (' '..='~').contains(&c) && !"<>/\\\":;?*|=`,^".contains(c)),
        ),
    };
    if name.is_empty() || name.len() > longest || !spelt || name.trim() != name {
        return Err(fault(
            Kind::Range,
            drawing,
            &format!("the layer name `{name}` is not one that this DXF release takes"),
            &format!("use 1 to {longest} ASCII letters, digits, $, - and _ in [output.layers]"),
        ));
    }
    Ok(())
}

fn fault(kind: Kind, drawing: &Drawing, what: &str, mend: &str) -> Fault {
    Fault::new(
        kind,
        Place::file(format!("{}.dxf", drawing.name)),
        what,
        mend,
    )
}

fn point(p: Vec2, scale: f64) -> Point {
    Point::new(p.x * scale, p.y * scale, 0.0)
}

fn profile(
    file: &mut DxfDrawing,
    outline: &Outline,
    scale: f64,
    release: DxfVersion,
) -> EntityType {
    let vertices: Vec<_> = outline.vertices.iter().map(|v| (v.at, v.bulge)).collect();
    polyline(file, &vertices, true, scale, release)
}

fn polyline(
    file: &mut DxfDrawing,
    vertices: &[(Vec2, f64)],
    closed: bool,
    scale: f64,
    release: DxfVersion,
) -> EntityType {
    match release {
        DxfVersion::R2000 => {
            let mut line = LwPolyline {
                vertices: vertices
                    .iter()
                    .map(|&(p, bulge)| LwPolylineVertex {
                        x: p.x * scale,
                        y: p.y * scale,
                        bulge,
                        ..LwPolylineVertex::default()
                    })
                    .collect(),
                ..LwPolyline::default()
            };
            line.set_is_closed(closed);
            EntityType::LwPolyline(line)
        }
        DxfVersion::R12 => {
            let mut line = Polyline::default();
            line.set_is_closed(closed);
            for &(p, bulge) in vertices {
                let vertex = Vertex {
                    location: point(p, scale),
                    bulge,
                    ..Vertex::default()
                };
                line.add_vertex(file, vertex);
            }
            EntityType::Polyline(line)
        }
    }
}

#[cfg(test)]
mod tests;
