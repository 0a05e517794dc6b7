//! Profiles read back from a written DXF, in millimetres.

use std::collections::BTreeMap;
use std::io::Cursor;

use dxf::Drawing as DxfDrawing;
use dxf::entities::EntityType;
use dxf::enums::Units;

use crate::fault::{Fault, Kind, Place};
use crate::geom::{Outline, Vec2, Vertex, vec2};
use crate::quantity::MM_PER_IN;

/// What lies on one layer, mm.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LayerShapes {
    /// Closed profiles.
    pub profiles: Vec<Outline>,
    /// Circles: centre and radius.
    pub circles: Vec<(Vec2, f64)>,
    /// Open lines.
    pub strokes: Vec<Vec<Vec2>>,
    /// Texts.
    pub texts: Vec<String>,
}

/// Shapes by layer name as it stands in the file.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Profiles {
    /// Layers with something on them.
    pub layers: BTreeMap<String, LayerShapes>,
    /// Millimetres in a unit of the file.
    pub unit_mm: f64,
}

/// Reads closed profiles, circles, open lines and texts from the text of a
/// DXF file. Other entities are passed over.
///
/// # Errors
/// The text is not a DXF file, its units are neither millimetres nor inches,
/// or a coordinate is not finite. `name` is the subject of the fault.
pub fn read_profiles(name: &str, text: &str) -> Result<Profiles, Fault> {
    let fault = |kind, what: String| {
        Fault::new(
            kind,
            Place::file(name),
            what,
            "give a DXF file in millimetres or inches, as this command writes it",
        )
    };
    let file = DxfDrawing::load(&mut Cursor::new(text.as_bytes()))
        .map_err(|e| fault(Kind::Syntax, format!("not a DXF file: {e}")))?;
    let unit_mm = match file.header.default_drawing_units {
        Units::Millimeters => 1.0,
        Units::Inches => MM_PER_IN,
        _ => {
            return Err(fault(
                Kind::Unit,
                "the header states neither millimetres nor inches ($INSUNITS)".to_owned(),
            ));
        }
    };
    let mut out = Profiles {
        layers: BTreeMap::new(),
        unit_mm,
    };
    for entity in file.entities() {
        let layer = out.layers.entry(entity.common.layer.clone()).or_default();
        let at = |x: f64, y: f64| vec2(x, y) * unit_mm;
        match &entity.specific {
            EntityType::LwPolyline(line) => layer.take(
                line.is_closed(),
                line.vertices.iter().map(|v| (at(v.x, v.y), v.bulge)),
            ),
            EntityType::Polyline(line) => layer.take(
                line.is_closed(),
                line.vertices()
                    .map(|v| (at(v.location.x, v.location.y), v.bulge)),
            ),
            EntityType::Circle(c) => layer
                .circles
                .push((at(c.center.x, c.center.y), c.radius * unit_mm)),
            EntityType::Text(t) => layer.texts.push(t.value.clone()),
            _ => {}
        }
    }
    if out.layers.values().all(LayerShapes::is_finite) {
        Ok(out)
    } else {
        Err(fault(
            Kind::Range,
            "a coordinate is not a finite number".to_owned(),
        ))
    }
}

impl LayerShapes {
    fn take(&mut self, closed: bool, vertices: impl Iterator<Item = (Vec2, f64)>) {
        if closed {
            self.profiles.push(Outline {
                vertices: vertices.map(|(at, bulge)| Vertex { at, bulge }).collect(),
            });
        } else {
            self.strokes.push(vertices.map(|(p, _)| p).collect());
        }
    }

    fn is_finite(&self) -> bool {
        let ok = |p: &Vec2| p.x.is_finite() && p.y.is_finite();
        let corners = self.profiles.iter().flat_map(|o| &o.vertices);
        corners.clone().all(|v| ok(&v.at) && v.bulge.is_finite())
            && self.circles.iter().all(|(c, r)| ok(c) && r.is_finite())
            && self.strokes.iter().flatten().all(ok)
    }
}
