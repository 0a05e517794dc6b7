//! DXF, release 12 and release 2000: what stands about the entities
//! (`frame`), and the entities.

mod entities;
mod frame;
mod layers;
mod pairs;

pub use layers::style;

use entities::put_entities;
use frame::{Frame, framed};

use crate::drawing::Drawing;
use crate::fault::{Fault, Kind, Place};
use crate::job::{DxfUnits, DxfVersion, LayerStyle, Output};
use crate::length::INCH;

/// Longest layer name of release 12; later releases take 255.
const R12_NAME: usize = 31;

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
    // Layer 0 is always there.
    let mut layers: Vec<LayerStyle> = Vec::new();
    for layer in drawing.layers().map(|l| style(l, output)) {
        check_name(drawing, &layer.name, release)?;
        if layer.name != "0" {
            layers.push(layer);
        }
    }
    let frame = Frame {
        release,
        units: output.dxf_units,
        extents: drawing
            .bounds()
            .map(|(lo, hi)| (lo * scale, hi * scale))
            .unwrap_or_default(),
        layers: &layers,
    };
    Ok(framed(&frame, &|out, handles| {
        put_entities(out, drawing, output, scale, handles);
    }))
}

/// Drawing units per millimetre.
fn units_per_mm(units: DxfUnits) -> f64 {
    match units {
        DxfUnits::Mm => 1.0,
        DxfUnits::In => 1.0 / INCH,
    }
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

#[cfg(test)]
mod tests;
