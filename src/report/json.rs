//! Reports as JSON: numbers rounded alike, so that the last bits of a figure
//! are no difference.

use serde_json::Value;

use crate::fault::{Fault, Kind, Place};
use crate::geom::{Vec2, Vec3};

/// A document as text, ended by a line feed.
pub(super) fn json_text(name: &str, value: &Value) -> Result<String, Fault> {
    serde_json::to_string_pretty(value)
        .map(|text| text + "\n")
        .map_err(|e| {
            Fault::new(
                Kind::File,
                Place::file(name),
                e.to_string(),
                "report this job",
            )
        })
}

/// To a millionth; minus zero becomes zero.
pub(super) fn round(value: f64) -> f64 {
    (value * 1e6).round() / 1e6 + 0.0
}

/// To twelve places, for ratios.
pub(super) fn fine(value: f64) -> f64 {
    (value * 1e12).round() / 1e12 + 0.0
}

/// To a thousandth, for what was measured.
pub(super) fn thousandth(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0 + 0.0
}

/// A place on a part or sheet.
pub(super) fn point2(p: Vec2) -> Value {
    serde_json::json!({ "x": round(p.x), "y": round(p.y) })
}

/// A place in space.
pub(super) fn point3(p: Vec3) -> Value {
    serde_json::json!({ "x": round(p.x), "y": round(p.y), "z": round(p.z) })
}
