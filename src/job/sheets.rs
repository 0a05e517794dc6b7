//! Sheets and remnants on offer.

use std::path::Path;

use super::bulwark::Plate;
use super::keys::LONG_SHEET;
use super::lists::each_once;
use super::model::Job;
use super::shop::{RemnantFile, Sheet, Zone};
use super::table::{Table, Value};
use crate::fault::{Fault, Faults, Kind, Place};
use crate::geom::vec2;
use crate::length::{Show, Unit, show};
use crate::limits::ITEMS;
use crate::stock::{self, Remnant, read_remnant, same_thickness};

pub(super) fn sheets(tables: &[Table<'_, '_>], base: &Plate, folder: &str) -> Vec<Sheet> {
    each_once(tables, |t| sheet(t, base, folder), |s| &s.name)
}

fn sheet(t: &Table<'_, '_>, base: &Plate, folder: &str) -> Sheet {
    let remnant = remnant(t, folder);
    let (length, width) = if t.gives("remnant") {
        (0.0, 0.0)
    } else {
        (t.figure("length"), t.figure("width"))
    };
    let thickness = t.maybe("thickness").unwrap_or(base.thickness);
    let alloy = t.alloy("alloy").unwrap_or_else(|| base.alloy.clone());
    let usual = || match &remnant {
        Some(r) => Path::new(&r.path)
            .file_stem()
            .map_or_else(String::new, |s| s.to_string_lossy().into_owned()),
        None => {
            let shown = t.reader.show();
            let mut name = format!("{} x {}", show(width, shown), show(length, shown));
            if !same_thickness(thickness, base.thickness) {
                name.push_str(&format!(" x {}", show(thickness, shown)));
            }
            if alloy != base.alloy {
                name.push_str(&format!(", {alloy}"));
            }
            name
        }
    };
    Sheet {
        name: t.text("name").unwrap_or_else(usual),
        length,
        width,
        thickness,
        alloy,
        quantity: t.count("quantity").or(remnant.is_some().then_some(1)),
        price: t.maybe("price"),
        shape: None,
        clamps: zones(t, "clamps"),
        remnant,
    }
}

/// The drawing of a remnant, where the table names one.
fn remnant(t: &Table<'_, '_>, folder: &str) -> Option<RemnantFile> {
    let unit = t.choice("unit");
    let Some(path) = t.path("remnant", folder) else {
        if t.gives("unit") && !t.gives("remnant") {
            t.conflict(
                "unit",
                "`unit` belongs to the drawing of a remnant",
                "take the key out, or name the drawing with remnant = \"FILE.dxf\"",
            );
        }
        return None;
    };
    for key in ["length", "width"] {
        if t.gives(key) {
            t.conflict(
                key,
                format!("a remnant's `{key}` is in its drawing"),
                "take the key out, or take out `remnant`",
            );
        }
    }
    if matches!(unit, Some(Unit::FeetInches | Unit::FeetInchesEighths)) {
        t.fault(
            Kind::Unit,
            "unit",
            "the numbers of a drawing are decimal",
            "write unit = \"mm\", \"m\", \"in\" or \"ft\"",
        );
    }
    Some(RemnantFile {
        path,
        unit,
        place: t.place("remnant"),
    })
}

const ZONE: &str = "write each as [x, y, length, width] with units, such as [\"0 mm\", \"600 mm\", \"80 mm\", \"120 mm\"]";

/// Rectangles of a sheet: lower left corner, length and width.
fn zones(t: &Table<'_, '_>, key: &str) -> Vec<Zone> {
    let Some(value) = t.key(key).and_then(|_| t.value(key)) else {
        return Vec::new();
    };
    let Some(items) = value.get_ref().as_array() else {
        t.wrong_type(key, value, "a list of rectangles", ZONE);
        return Vec::new();
    };
    if t.too_many(key, items.len(), ITEMS) {
        return Vec::new();
    }
    let items = items.iter().enumerate();
    let zone = |(i, item)| zone(t, &format!("{key}[{}]", i + 1), item);
    items.filter_map(zone).collect()
}

fn zone(t: &Table<'_, '_>, key: &str, item: Value<'_, '_>) -> Option<Zone> {
    let items = item.get_ref().as_array();
    let texts: Option<Vec<&str>> =
        items.and_then(|a| a.iter().map(|v| v.get_ref().as_str()).collect());
    let Some([x, y, along, across]) = texts.as_deref() else {
        t.fault(Kind::Syntax, key, "a rectangle is four lengths", ZONE);
        return None;
    };
    let [x, y, along, across] = [x, y, along, across].map(|text| t.measure(key, text));
    let (x, y, along, across) = (x?, y?, along?, across?);
    if along <= 0.0 || across <= 0.0 {
        let (along, across) = (t.reader.told(along), t.reader.told(across));
        t.fault(
            Kind::Range,
            key,
            format!("a rectangle of {along} by {across}"),
            "its length and width must be above 0",
        );
        return None;
    }
    Some(Zone {
        lo: vec2(x, y),
        hi: vec2(x + along, y + across),
    })
}

/// What the size of a sheet rules out: a margin that leaves nothing, a clamp
/// beside the sheet.
pub(super) fn size_faults(job: &Job, index: usize) -> Vec<Fault> {
    let Some(s) = job.sheets.get(index) else {
        return Vec::new();
    };
    let place = |key: &str| match &s.remnant {
        Some(r) => r.place.clone(),
        None => job.place(format!("sheet[{}].{key}", index + 1)),
    };
    let mut out = Vec::new();
    let margin = job.cutting.edge_margin;
    if margin * 2.0 >= s.width.min(s.length) {
        out.push(Fault::new(
            Kind::Stock,
            place("width"),
            format!(
                "a margin of {} leaves nothing of sheet `{}`",
                show(margin, job.show),
                s.name
            ),
            "list a larger sheet, or lower cutting.edge_margin",
        ));
    }
    for (i, z) in s.clamps.iter().enumerate() {
        let beside = z.hi.x <= 0.0 || z.hi.y <= 0.0 || z.lo.x >= s.length || z.lo.y >= s.width;
        let over = z.lo.x <= 0.0 && z.lo.y <= 0.0 && z.hi.x >= s.length && z.hi.y >= s.width;
        let (what, mend) = match (over, beside) {
            (true, _) => (
                "covers all of",
                "give its corner and its size, or take the sheet out",
            ),
            (_, true) => (
                "lies beside",
                "measure from the sheet's lower left corner, length first",
            ),
            _ => continue,
        };
        out.push(Fault::new(
            Kind::Range,
            place(&format!("clamps[{}]", i + 1)),
            format!("clamp {} {what} sheet `{}`", i + 1, s.name),
            mend,
        ));
    }
    out
}

impl Job {
    /// Takes the remnants from their drawings: `texts` are the drawings'
    /// paths and texts. Size and shape of every such sheet are then known.
    ///
    /// # Errors
    /// Every fault of the drawings: what [`read_remnant`] refuses, a drawing
    /// that is not there, a thickness or alloy that is not the job's, a size
    /// out of range.
    pub fn take_remnants(&mut self, texts: &[(String, String)]) -> Result<(), Faults> {
        let mut faults = Vec::new();
        for i in 0..self.sheets.len() {
            let Some(drawing) = self.sheets[i].remnant.clone() else {
                continue;
            };
            let Some((_, text)) = texts.iter().find(|(path, _)| *path == drawing.path) else {
                faults.push(Fault::new(
                    Kind::File,
                    drawing.place,
                    format!("the drawing {} is not there", drawing.path),
                    "check the name and the folder; paths in a job are relative to the job file",
                ));
                continue;
            };
            let remnant = match read_remnant(&drawing.path, text, drawing.unit) {
                Ok(remnant) => remnant,
                Err(f) => {
                    faults.push(f);
                    continue;
                }
            };
            faults.extend(unlike(&self.sheets[i], &remnant, &drawing.path, self.show));
            let (_, size) = remnant.region.bounds();
            let sheet = &mut self.sheets[i];
            (sheet.length, sheet.width) = (size.x, size.y);
            sheet.shape = Some(remnant.region);
            if size.x.max(size.y) > LONG_SHEET || size.x.min(size.y) < 1.0 {
                faults.push(Fault::new(
                    Kind::Range,
                    Place::file(&drawing.path),
                    format!(
                        "the remnant measures {} by {}",
                        show(size.x, self.show),
                        show(size.y, self.show)
                    ),
                    "check the drawing and its unit",
                ));
                continue;
            }
            faults.extend(size_faults(self, i));
        }
        if faults.is_empty() {
            Ok(())
        } else {
            Err(Faults(faults))
        }
    }
}

/// Where a drawing says another thickness or alloy than the job.
fn unlike(sheet: &Sheet, remnant: &Remnant, path: &str, shown: Show) -> Vec<Fault> {
    let mut out = Vec::new();
    let mut add = |key: &str, drawn: String, said: String| {
        out.push(Fault::new(
            Kind::Conflict,
            Place::file(path),
            format!("the drawing says {drawn}, and the job says {said}"),
            format!("set `{key}` of this [[sheet]] to what the plate is"),
        ));
    };
    if let Some(t) = remnant.thickness
        && !same_thickness(t, sheet.thickness)
    {
        let text = |mm| show(mm, shown);
        add("thickness", text(t), text(sheet.thickness));
    }
    if let Some(a) = &remnant.alloy
        && stock::alloy(a).map_or(a.as_str(), |a| a.name) != sheet.alloy
    {
        add("alloy", a.clone(), sheet.alloy.clone());
    }
    out
}
