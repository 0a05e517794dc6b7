//! Sheets and remnants on offer, resolved: millimetres.

use std::path::Path;

use super::bulwark::{OF_BASE, of_base_alloy, of_base_thickness};
use super::key_kind::{Absent::*, Quantity::*, choice, length_to};
use super::lists::each_once;
use super::ranges::{SHEET_SIDE, THICK};
use super::stated::{Stated, table};
use super::table::{Table, Value};
use crate::fault::{Kind, Place};
use crate::geom::{Region, Vec2, vec2};
use crate::length::{Unit, show};
use crate::limits::ITEMS;
use crate::stock::same_thickness;

table! {
    /// A stock sheet on offer, mm; a remnant's length and width are nought until
    /// [`super::Job::take_remnants`] has read its drawing.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Sheet {
        name: String = Text, Else("its size, with thickness and alloy where they are not the base plate's"), "its name in reports";
        length: f64 = SHEET_SIDE, Required, "along the rolling direction; not with `remnant`", side;
        width: f64 = SHEET_SIDE, Required, "across it; not with `remnant`", side;
        thickness: f64 = length_to(THICK), OF_BASE, "plate thickness", of_base_thickness;
        alloy: String = Alloy, OF_BASE, "alloy and temper", of_base_alloy;
        quantity: Option<usize> = Count(0, 10_000), Else("as many as wanted; of a remnant, 1"), "how many are to be had",
            |t, key| t.count(key).or(t.gives("remnant").then_some(1));
        price: Option<f64> = Price("of one sheet"), Else("by mass; of a remnant, its value as scrap"), "what one costs";
        remnant: Option<RemnantFile> = Path, Else("none"), "a drawing of a piece of plate of any shape, in place of `length` and `width`; from the job file's folder", remnant;
        & unit = choice::<Unit>(), Else("as the drawing says"), "of that drawing, where it states none; decimal";
        clamps: Vec<Zone> = Rectangles, Else("none"),
            "where no part may lie, each `[x, y, length, width]` with units, from the sheet's lower left corner; parts keep `edge_margin` from them", zones;
        + shape: Option<Region> = "A remnant's ground in the sheet's frame, the lower left of its box at the origin; `None`: the whole rectangle.", |_| None;
    }
}

impl Sheet {
    /// Area, mm2: of a remnant, what its drawing bounds.
    #[must_use]
    pub fn area(&self) -> f64 {
        self.shape
            .as_ref()
            .map_or(self.length * self.width, Region::area)
    }
}

/// A rectangle of a sheet, sides along the sheet's, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zone {
    /// Lower left corner.
    pub lo: Vec2,
    /// Upper right corner.
    pub hi: Vec2,
}

/// Where a remnant is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct RemnantFile {
    /// Path of the drawing.
    pub path: String,
    /// What a number means where the drawing does not say.
    pub unit: Option<Unit>,
    /// Where the job names it.
    pub place: Place,
}

pub(super) fn sheets(root: &Table<'_, '_>) -> Vec<Sheet> {
    each_once(&root.tables("sheet"), sheet, |s| &s.name)
}

/// A sheet, with a name.
fn sheet(t: &Table<'_, '_>) -> Sheet {
    let mut s = Sheet::of(t);
    if t.gives("name") {
        return s;
    }
    let shown = t.reader.show.get();
    let (thickness, alloy) = &*t.reader.base_plate.borrow();
    s.name = match &s.remnant {
        Some(r) => Path::new(&r.path)
            .file_stem()
            .map_or_else(String::new, |s| s.to_string_lossy().into_owned()),
        None => format!("{} x {}", show(s.width, shown), show(s.length, shown)),
    };
    if s.remnant.is_none() && !same_thickness(s.thickness, *thickness) {
        s.name.push_str(&format!(" x {}", show(s.thickness, shown)));
    }
    if s.remnant.is_none() && s.alloy != *alloy {
        s.name.push_str(&format!(", {}", s.alloy));
    }
    s
}

/// A side of a sheet; a remnant's is in its drawing.
fn side(t: &Table<'_, '_>, key: &str) -> f64 {
    if t.gives("remnant") {
        0.0
    } else {
        t.figure(key)
    }
}

/// The drawing of a remnant, where the table names one.
fn remnant(t: &Table<'_, '_>, key: &str) -> Option<RemnantFile> {
    let unit = t.choice("unit");
    let Some(path) = t.path(key) else {
        if t.gives("unit") && !t.gives(key) {
            let what = "`unit` belongs to the drawing of a remnant";
            let mend = "take the key out, or name the drawing with remnant = \"FILE.dxf\"";
            t.conflict("unit", what, mend);
        }
        return None;
    };
    for key in ["length", "width"] {
        if t.gives(key) {
            let what = format!("a remnant's `{key}` is in its drawing");
            let mend = "take the key out, or take out `remnant`";
            t.conflict(key, what, mend);
        }
    }
    if matches!(unit, Some(Unit::FeetInches | Unit::FeetInchesEighths)) {
        let what = "the numbers of a drawing are decimal";
        let mend = "write unit = \"mm\", \"m\", \"in\" or \"ft\"";
        t.fault(Kind::Unit, "unit", what, mend);
    }
    Some(RemnantFile {
        path,
        unit,
        place: t.place(key),
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
        let what = format!("a rectangle of {along} by {across}");
        let mend = "its length and width must be above 0";
        t.fault(Kind::Range, key, what, mend);
        return None;
    }
    Some(Zone {
        lo: vec2(x, y),
        hi: vec2(x + along, y + across),
    })
}
