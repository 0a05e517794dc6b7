//! What stands about the entities of a drawing: header, tables, blocks and
//! objects, the least that a strict reader of each release asks for.
//!
//! The header holds no clock and no random identifier, so that the same
//! drawing is the same bytes.

use super::layers::PLAIN_COLOUR;
use super::pairs::{Handles, put};
use crate::geom::{Vec2, vec2};
use crate::job::{DxfUnits, DxfVersion, LayerStyle};
use crate::length::{number, trimmed};

/// Decimals of the extents, in drawing units.
const DECIMALS: usize = 9;

/// What the frame says.
pub(super) struct Frame<'a> {
    /// Release.
    pub(super) release: DxfVersion,
    /// Units of the coordinates.
    pub(super) units: DxfUnits,
    /// Corners of the drawing, in its units.
    pub(super) extents: (Vec2, Vec2),
    /// Layers beside the layer 0.
    pub(super) layers: &'a [LayerStyle],
}

/// Puts the entities, with handles that are not taken.
type PutEntities<'a> = &'a dyn Fn(&mut String, &mut Handles);

/// The whole text of a drawing.
pub(super) fn framed(frame: &Frame<'_>, entities: PutEntities<'_>) -> String {
    let mut body = String::new();
    let mut handles = Handles::default();
    match frame.release {
        DxfVersion::R12 => {
            tables_12(&mut body, frame.layers);
            section(&mut body, "ENTITIES");
            entities(&mut body, &mut handles);
            put(&mut body, 0, "ENDSEC");
        }
        DxfVersion::R2000 => {
            let spaces = tables_2000(&mut body, frame, &mut handles);
            blocks(&mut body, &spaces, &mut handles);
            section(&mut body, "ENTITIES");
            entities(&mut body, &mut handles);
            put(&mut body, 0, "ENDSEC");
            objects(&mut body, &mut handles);
        }
    }
    put(&mut body, 0, "EOF");
    header(frame, &handles.next()) + &body
}

fn section(out: &mut String, name: &str) {
    put(out, 0, "SECTION");
    put(out, 2, name);
}

fn header(frame: &Frame<'_>, next_handle: &str) -> String {
    let version = match frame.release {
        DxfVersion::R12 => "AC1009",
        DxfVersion::R2000 => "AC1015",
    };
    // Units of insertion: 4 mm, 1 in. Measurement: 1 metric, 0 in inches.
    let (units, measurement) = match frame.units {
        DxfUnits::Mm => ("4", "1"),
        DxfUnits::In => ("1", "0"),
    };
    let (lo, hi) = frame.extents;
    let mut out = String::new();
    section(&mut out, "HEADER");
    let text = |out: &mut String, name: &str, code: i32, value: &str| {
        put(out, 9, name);
        put(out, code, value);
    };
    text(&mut out, "$ACADVER", 1, version);
    text(&mut out, "$DWGCODEPAGE", 3, "ANSI_1252");
    for (name, at) in [
        ("$INSBASE", Vec2::default()),
        ("$EXTMIN", lo),
        ("$EXTMAX", hi),
    ] {
        text(&mut out, name, 10, &number(at.x, DECIMALS));
        put(&mut out, 20, &number(at.y, DECIMALS));
        put(&mut out, 30, "0.0");
    }
    text(&mut out, "$INSUNITS", 70, units);
    text(&mut out, "$MEASUREMENT", 70, measurement);
    // Decimal lengths, six places shown.
    text(&mut out, "$LUNITS", 70, "2");
    text(&mut out, "$LUPREC", 70, "6");
    if frame.release == DxfVersion::R2000 {
        text(&mut out, "$HANDSEED", 5, next_handle);
    }
    put(&mut out, 0, "ENDSEC");
    out
}

/// Layer 0, drawn black on white and white on black, and those of the drawing.
fn each_layer(layers: &[LayerStyle]) -> impl Iterator<Item = (&str, u8)> {
    let named = layers.iter().map(|l| (l.name.as_str(), l.colour));
    std::iter::once(("0", PLAIN_COLOUR)).chain(named)
}

fn line_type(out: &mut String, name: &str) {
    put(out, 2, name);
    put(out, 70, "0");
    put(out, 3, "");
    // Alignment, always the letter A; no dashes; length of the pattern.
    put(out, 72, "65");
    put(out, 73, "0");
    put(out, 40, "0.0");
}

fn text_style(out: &mut String) {
    put(out, 2, "STANDARD");
    put(out, 70, "0");
    // Height not fixed, width factor, slant, no mirroring, last height, font.
    for (code, value) in [
        (40, "0.0"),
        (41, "1.0"),
        (50, "0.0"),
        (71, "0"),
        (42, "2.5"),
    ] {
        put(out, code, value);
    }
    put(out, 3, "txt");
    put(out, 4, "");
}

fn tables_12(out: &mut String, layers: &[LayerStyle]) {
    let begin = |out: &mut String, name: &str, count: usize| {
        put(out, 0, "TABLE");
        put(out, 2, name);
        put(out, 70, &count.to_string());
    };
    section(out, "TABLES");
    begin(out, "LTYPE", 1);
    put(out, 0, "LTYPE");
    line_type(out, "CONTINUOUS");
    put(out, 0, "ENDTAB");
    begin(out, "LAYER", layers.len() + 1);
    for (name, colour) in each_layer(layers) {
        put(out, 0, "LAYER");
        put(out, 2, name);
        put(out, 70, "0");
        put(out, 62, &colour.to_string());
        put(out, 6, "CONTINUOUS");
    }
    put(out, 0, "ENDTAB");
    begin(out, "STYLE", 1);
    put(out, 0, "STYLE");
    text_style(out);
    put(out, 0, "ENDTAB");
    put(out, 0, "ENDSEC");
}

/// A table of release 2000 under way.
struct Table<'a> {
    out: &'a mut String,
    handles: &'a mut Handles,
    name: &'static str,
    handle: String,
}

impl<'a> Table<'a> {
    fn begin(
        out: &'a mut String,
        handles: &'a mut Handles,
        name: &'static str,
        count: usize,
    ) -> Self {
        let handle = handles.next();
        put(out, 0, "TABLE");
        put(out, 2, name);
        put(out, 5, &handle);
        put(out, 330, "0");
        put(out, 100, "AcDbSymbolTable");
        put(out, 70, &count.to_string());
        Self {
            out,
            handles,
            name,
            handle,
        }
    }

    /// Begins a record of a class and returns its handle.
    fn record(&mut self, class: &str) -> String {
        let handle = self.handles.next();
        put(self.out, 0, self.name);
        // In a dimension style group 5 is a block's name.
        let code = if self.name == "DIMSTYLE" { 105 } else { 5 };
        put(self.out, code, &handle);
        put(self.out, 330, &self.handle);
        put(self.out, 100, "AcDbSymbolTableRecord");
        put(self.out, 100, class);
        handle
    }

    fn end(self) {
        put(self.out, 0, "ENDTAB");
    }
}

/// The tables; returns the handles of the records of model and paper space
/// with their names.
fn tables_2000(
    out: &mut String,
    frame: &Frame<'_>,
    handles: &mut Handles,
) -> [(String, &'static str); 2] {
    section(out, "TABLES");
    let mut t = Table::begin(out, handles, "VPORT", 1);
    t.record("AcDbViewportTableRecord");
    view(t.out, frame.extents);
    t.end();
    let mut t = Table::begin(out, handles, "LTYPE", 3);
    for name in ["BYBLOCK", "BYLAYER", "CONTINUOUS"] {
        t.record("AcDbLinetypeTableRecord");
        line_type(t.out, name);
    }
    t.end();
    let mut t = Table::begin(out, handles, "LAYER", frame.layers.len() + 1);
    for (name, colour) in each_layer(frame.layers) {
        t.record("AcDbLayerTableRecord");
        put(t.out, 2, name);
        put(t.out, 70, "0");
        put(t.out, 62, &colour.to_string());
        put(t.out, 6, "CONTINUOUS");
        // Line weight: the reader's default.
        put(t.out, 370, "-3");
    }
    t.end();
    let mut t = Table::begin(out, handles, "STYLE", 1);
    t.record("AcDbTextStyleTableRecord");
    text_style(t.out);
    t.end();
    for name in ["VIEW", "UCS"] {
        Table::begin(out, handles, name, 0).end();
    }
    let mut t = Table::begin(out, handles, "APPID", 1);
    t.record("AcDbRegAppTableRecord");
    put(t.out, 2, "ACAD");
    put(t.out, 70, "0");
    t.end();
    let mut t = Table::begin(out, handles, "DIMSTYLE", 1);
    put(t.out, 100, "AcDbDimStyleTable");
    t.record("AcDbDimStyleTableRecord");
    put(t.out, 2, "STANDARD");
    put(t.out, 70, "0");
    t.end();
    let mut t = Table::begin(out, handles, "BLOCK_RECORD", 2);
    let spaces = ["*MODEL_SPACE", "*PAPER_SPACE"].map(|name| {
        let handle = t.record("AcDbBlockTableRecord");
        put(t.out, 2, name);
        (handle, name)
    });
    t.end();
    put(out, 0, "ENDSEC");
    spaces
}

/// The view that a reader opens with: the whole drawing.
fn view(out: &mut String, (lo, hi): (Vec2, Vec2)) {
    let middle = (lo + hi) * 0.5;
    let size = vec2((hi.x - lo.x).max(1.0), (hi.y - lo.y).max(1.0));
    put(out, 2, "*ACTIVE");
    put(out, 70, "0");
    // Corners on the screen, the middle of the view, snap and grid.
    let pairs = [
        (10, 0.0),
        (20, 0.0),
        (11, 1.0),
        (21, 1.0),
        (12, middle.x),
        (22, middle.y),
        (13, 0.0),
        (23, 0.0),
        (14, 1.0),
        (24, 1.0),
        (15, 1.0),
        (25, 1.0),
        // From above, on the origin.
        (16, 0.0),
        (26, 0.0),
        (36, 1.0),
        (17, 0.0),
        (27, 0.0),
        (37, 0.0),
        // Height, of a screen as wide as it is high; that ratio.
        (40, size.x.max(size.y)),
        (41, 1.0),
    ];
    for (code, value) in pairs {
        put(out, code, &trimmed(value, DECIMALS));
    }
}

fn blocks(out: &mut String, spaces: &[(String, &str)], handles: &mut Handles) {
    section(out, "BLOCKS");
    for (owner, name) in spaces {
        for end in [false, true] {
            put(out, 0, if end { "ENDBLK" } else { "BLOCK" });
            put(out, 5, &handles.next());
            put(out, 330, owner);
            put(out, 100, "AcDbEntity");
            put(out, 8, "0");
            if end {
                put(out, 100, "AcDbBlockEnd");
                continue;
            }
            put(out, 100, "AcDbBlockBegin");
            put(out, 2, name);
            put(out, 70, "0");
            for code in [10, 20, 30] {
                put(out, code, "0.0");
            }
            put(out, 3, name);
            put(out, 1, "");
        }
    }
    put(out, 0, "ENDSEC");
}

/// The root dictionary and the empty one of groups.
fn objects(out: &mut String, handles: &mut Handles) {
    section(out, "OBJECTS");
    let (root, groups) = (handles.next(), handles.next());
    for (handle, owner) in [(&root, "0"), (&groups, root.as_str())] {
        put(out, 0, "DICTIONARY");
        put(out, 5, handle);
        put(out, 330, owner);
        put(out, 100, "AcDbDictionary");
        put(out, 281, "1");
        if owner == "0" {
            put(out, 3, "ACAD_GROUP");
            put(out, 350, &groups);
        }
    }
    put(out, 0, "ENDSEC");
}
