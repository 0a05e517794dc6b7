//! Profiles read back from a written DXF, in millimetres.

use std::collections::BTreeMap;

use crate::fault::{Fault, Kind, Place};
use crate::geom::{Outline, Vec2, Vertex, vec2};
use crate::pairs::{Pair, pairs};
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
    let pairs =
        pairs(text).map_err(|b| fault(Kind::Syntax, format!("not a DXF file: {}", b.what)))?;
    let unit = pairs.windows(2).find(|w| w[0].value == "$INSUNITS");
    let unit_mm = match unit.map(|w| w[1].value) {
        Some("4") => 1.0,
        Some("1") => MM_PER_IN,
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
    let begins = |w: &[Pair<'_>]| w[0].value == "SECTION" && w[1].value == "ENTITIES";
    let from = pairs
        .windows(2)
        .position(begins)
        .map_or(pairs.len(), |i| i + 2);
    // A line of release 12 is told vertex by vertex, up to its end.
    let mut line: Option<Told> = None;
    for entity in pairs[from..].chunk_by(|_, next| next.code != 0) {
        let told = Told::of(entity, unit_mm);
        match entity[0].value {
            "ENDSEC" => break,
            "POLYLINE" => line = Some(told.without_places()),
            "VERTEX" => {
                if let Some(line) = &mut line {
                    line.vertices.extend(told.vertices);
                }
            }
            "SEQEND" => {
                if let Some(line) = line.take() {
                    out.on(&line.layer).take(line);
                }
            }
            "LWPOLYLINE" => out.on(&told.layer).take(told),
            "CIRCLE" => {
                let circles = &mut out.on(&told.layer).circles;
                circles.extend(told.vertices.first().map(|v| (v.at, told.size)));
            }
            "TEXT" => out.on(&told.layer).texts.push(told.text),
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

impl Profiles {
    fn on(&mut self, layer: &str) -> &mut LayerShapes {
        self.layers.entry(layer.to_owned()).or_default()
    }
}

/// What the pairs of an entity tell, mm. A figure that is none is not finite.
#[derive(Default)]
struct Told {
    layer: String,
    text: String,
    closed: bool,
    size: f64,
    vertices: Vec<Vertex>,
}

impl Told {
    fn of(entity: &[Pair<'_>], unit_mm: f64) -> Self {
        let mut out = Self::default();
        for pair in entity {
            let figure = || pair.value.parse().unwrap_or(f64::NAN);
            let last = out.vertices.last_mut();
            match (pair.code, last) {
                (8, _) => pair.value.clone_into(&mut out.layer),
                (1, _) => pair.value.clone_into(&mut out.text),
                // Bit 1 of the flags: closed.
                (70, _) => out.closed = pair.value.parse::<i32>().is_ok_and(|f| f & 1 == 1),
                (40, _) => out.size = figure() * unit_mm,
                (10, _) => out.vertices.push(Vertex {
                    at: vec2(figure() * unit_mm, 0.0),
                    bulge: 0.0,
                }),
                (20, Some(v)) => v.at.y = figure() * unit_mm,
                (42, Some(v)) => v.bulge = figure(),
                _ => {}
            }
        }
        out
    }

    fn without_places(mut self) -> Self {
        self.vertices.clear();
        self
    }
}

impl LayerShapes {
    fn take(&mut self, line: Told) {
        if line.closed {
            self.profiles.push(Outline {
                vertices: line.vertices,
            });
        } else {
            self.strokes
                .push(line.vertices.iter().map(|v| v.at).collect());
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
