//! What is written, resolved: formats and layers, mm.

use std::collections::BTreeMap;

use super::key_kind::{Absent::*, BY_KEY, Key, Quantity::*, choice, key, length, words};
use super::stated::{Stated, table};
use super::table::Table;
use crate::fault::Kind;
use crate::length::{INCH, Show};
use crate::tolerance::Tolerance;

table! {
    /// Formats and layers.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Output {
        dxf: DxfVersion = choice::<DxfVersion>(), Is("R2000"), "`R12` is for an old controller";
        dxf_units: DxfUnits = choice::<DxfUnits>(), Is("mm"), "of coordinates in the drawings";
        ordinate_spacing: f64 = length(10.0, 5000.0), Else("250 mm; 12 in where `show` is `feet-inches`"), "of the ordinates a shop lofts from",
            |t, key| t.maybe(key).unwrap_or(match t.reader.show.get() {
                Show::Mm => 250.0,
                Show::FeetInches => 12.0 * INCH,
            });
        letter_height: f64 = length(3.0, 200.0), Is("25 mm"), "of the marked name where there is room, a quarter of the part's width at most; other marked letters in proportion";
        & outline_tolerance = length(0.001, 1.0), Told(|| format!("{} mm", Tolerance::default().outline_mm)), "arcs and lines from the true edge";
        /// By plain name (`CUT`, `HOLE`, ...).
        layers: BTreeMap<String, LayerStyle> = Table(LAYERS), BY_KEY, "names and colours of layers", |t, key| layers(&t.table(key));
    }

    /// Name and colour number of a layer.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct LayerStyle {
        name: String = Text, Else("its own"), "in the file: 1 to 31 letters, digits, `-` and `_`",
            |t, key| t.text(key).unwrap_or_else(|| t.name.rsplit('.').next().unwrap_or_default().to_owned());
        colour: u8 = Count(1, 255), Is("7"), "colour number",
            |t, key| t.count(key).and_then(|c| u8::try_from(c).ok()).unwrap_or_default();
    }
}

words! {
    /// DXF version.
    pub enum DxfVersion {
        /// Release 12, for old controllers.
        R12 = "R12",
        /// Release 2000.
        R2000 = "R2000",
    }

    /// Units of a drawing.
    pub enum DxfUnits {
        /// Millimetres.
        Mm = "mm",
        /// Inches.
        In = "in",
    }
}

/// Layers by plain name.
#[rustfmt::skip] // A key a line.
const LAYERS: &[Key] = &[
    key("CUT", Table(LayerStyle::KEYS), BY_KEY, "outer profiles"),
    key("HOLE", Table(LayerStyle::KEYS), BY_KEY, "inner profiles"),
    key("MARK", Table(LayerStyle::KEYS), BY_KEY, "lines and letters for the marker"),
    key("LABEL", Table(LayerStyle::KEYS), BY_KEY, "text for people"),
    key("SHEET", Table(LayerStyle::KEYS), BY_KEY, "stock edge"),
    key("LEAD", Table(LayerStyle::KEYS), BY_KEY, "lead-ins and lead-outs"),
];

/// Layers by plain name, each of its own name.
fn layers(t: &Table<'_, '_>) -> BTreeMap<String, LayerStyle> {
    let mut layers: BTreeMap<String, LayerStyle> = BTreeMap::new();
    for plain in LAYERS.iter().map(|key| key.name) {
        let one = t.table(plain);
        let LayerStyle { name, colour } = LayerStyle::of(&one);
        // Release 12 allows 31 of these characters.
        let sound = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == '-';
        if name.is_empty() || name.len() > 31 || !name.chars().all(sound) {
            let what = format!("`{name}` is not a layer name");
            let mend = "use 1 to 31 letters, digits, - and _";
            one.fault(Kind::Range, "name", what, mend);
        } else if layers.values().any(|l| l.name.eq_ignore_ascii_case(&name)) {
            let what = format!("two layers are named `{name}`");
            let mend = "give each layer its own name";
            one.conflict("name", what, mend);
        }
        layers.insert(plain.to_owned(), LayerStyle { name, colour });
    }
    layers
}
