//! The drawing of a remnant: a piece of plate of any shape, kept as stock.
//!
//! One closed profile on the layer `SHEET` is its edge; closed profiles and
//! circles on the layer `HOLE` are holes in it. A text `THICKNESS 12.7 mm` and
//! a text `ALLOY 5086-H116`, on any layer, say what it is.

use crate::dxf::{Drawing, Entity, shortened};
use crate::fault::{Fault, Kind, Place};
use crate::geom::region::NoRegion;
use crate::geom::{Outline, Placement, Region};
use crate::length::{self, Unit};
use crate::limits::{NAME_LETTERS, REMNANT_VERTICES, sound};

/// Layer of a remnant's edge.
pub const EDGE_LAYER: &str = "SHEET";
/// Layer of its holes.
pub const HOLE_LAYER: &str = "HOLE";
/// Layer that shows that a drawing is a nested sheet, not a remnant.
const CUT_LAYER: &str = "CUT";
/// What the text of its thickness begins with.
pub const THICKNESS_WORD: &str = "THICKNESS";
/// What the text of its alloy begins with.
pub const ALLOY_WORD: &str = "ALLOY";

/// A piece of plate of any shape.
#[derive(Debug, Clone, PartialEq)]
pub struct Remnant {
    /// Its ground, the lower left of its box at the origin, mm.
    pub region: Region,
    /// Thickness, mm, where the drawing says.
    pub thickness: Option<f64>,
    /// Alloy and temper, where the drawing says.
    pub alloy: Option<String>,
}

/// Reads a remnant. `name` is the file as people know it; `unit` what a
/// number means where the drawing does not say.
///
/// # Errors
/// The first thing that is wrong: no drawing, no unit, an open profile, a
/// line that is no closed profile on those layers, no edge or two, profiles
/// that bound no ground.
pub fn read_remnant(name: &str, text: &str, unit: Option<Unit>) -> Result<Remnant, Fault> {
    let drawing = Drawing::read(name, text)?;
    if drawing.entities().next().is_none() {
        return Err(Fault::new(
            Kind::Missing,
            Place::file(name).field("ENTITIES"),
            "there is nothing in the drawing",
            format!("draw the edge of the remnant as a closed polyline on layer {EDGE_LAYER}"),
        ));
    }
    let unit_mm = drawing.unit_mm(unit, "[[sheet]]")?;
    let mut found = Found::default();
    for entity in drawing.entities() {
        found.take(&entity, unit_mm)?;
    }
    found.remnant(name)
}

/// What was found in a drawing.
#[derive(Default)]
struct Found {
    edges: Vec<Outline>,
    holes: Vec<Outline>,
    thickness: Option<f64>,
    alloy: Option<String>,
}

impl Found {
    fn take(&mut self, e: &Entity<'_>, unit_mm: f64) -> Result<(), Fault> {
        if matches!(e.kind(), "TEXT" | "MTEXT") {
            return self.words(e);
        }
        let layer = e.layer();
        let is = |name: &str| layer.eq_ignore_ascii_case(name);
        if is(CUT_LAYER) {
            let what = "the drawing has parts on a layer CUT: it is a nested sheet, not a remnant";
            let mend = "name the drawing of the remnant itself";
            return Err(e.fault(Kind::Conflict, what, mend));
        }
        let profiles = if is(EDGE_LAYER) {
            &mut self.edges
        } else if is(HOLE_LAYER) {
            &mut self.holes
        } else {
            return Ok(());
        };
        let Some(profile) = e.profile(unit_mm)? else {
            let (what, mend) = if e.kind().ends_with("POLYLINE") {
                (
                    "this profile is open".to_owned(),
                    "close it: its last point must be its first",
                )
            } else {
                let kind = shortened(e.kind());
                (
                    format!("a {kind} on layer {layer} is no closed profile"),
                    "join its lines and arcs to one closed polyline",
                )
            };
            return Err(e.fault(Kind::Geometry, what, mend));
        };
        if !e.is_level()? {
            let what = "this profile is tilted, or drawn on the back of the plan";
            let mend = "draw it again in plan";
            return Err(e.fault(Kind::Geometry, what, mend));
        }
        profiles.push(profile);
        Ok(())
    }

    /// Thickness and alloy, where a text says them.
    fn words(&mut self, e: &Entity<'_>) -> Result<(), Fault> {
        let text = e.text();
        if let Some(rest) = text.strip_prefix(THICKNESS_WORD) {
            let read = length::parse(rest);
            let mm = read.map_err(|w| e.fault(Kind::Syntax, w.what, w.mend))?;
            self.thickness = Some(mm);
        } else if let Some(rest) = text.strip_prefix(ALLOY_WORD) {
            let alloy = rest.trim();
            sound(alloy, NAME_LETTERS)
                .map_err(|w| e.fault(Kind::Syntax, format!("the alloy {}", w.what), w.mend))?;
            self.alloy = Some(alloy.to_owned());
        }
        Ok(())
    }

    fn remnant(self, name: &str) -> Result<Remnant, Fault> {
        let fault =
            |kind, what: String, mend: &str| Fault::new(kind, Place::file(name), what, mend);
        let count = self.edges.len();
        let mut edges = self.edges.into_iter();
        let (Some(edge), None) = (edges.next(), edges.next()) else {
            return Err(fault(
                Kind::Geometry,
                format!("the layer {EDGE_LAYER} has {count} profiles, and a remnant has one edge"),
                "draw the edge as one closed polyline on layer SHEET, and holes on layer HOLE",
            ));
        };
        let holes = self.holes.iter().map(|h| h.vertices.len());
        let vertices = edge.vertices.len() + holes.sum::<usize>();
        if vertices > REMNANT_VERTICES {
            return Err(fault(
                Kind::Range,
                format!("the profiles have {vertices} vertices, and may have {REMNANT_VERTICES}"),
                "draw them with arcs, or with fewer points",
            ));
        }
        let region = Region::new(edge, self.holes).map_err(|why| {
            let which = |hole: Option<usize>| match hole {
                None => "the edge".to_owned(),
                Some(i) => format!("hole {}", i + 1),
            };
            let what = match why {
                NoRegion::NoProfile(w) => format!("{} bounds no area", which(w)),
                NoRegion::CrossesItself(w) => format!("{} crosses or touches itself", which(w)),
                NoRegion::HoleOutside(i) => {
                    format!("{} does not lie inside the edge", which(Some(i)))
                }
                NoRegion::HolesMeet(i, k) => {
                    format!("holes {} and {} meet or lie in each other", i + 1, k + 1)
                }
            };
            fault(Kind::Geometry, what, "correct the drawing of the remnant")
        })?;
        let (lo, _) = region.bounds();
        Ok(Remnant {
            region: region.placed(Placement {
                turn: 0.0,
                shift: -lo,
            }),
            thickness: self.thickness,
            alloy: self.alloy,
        })
    }
}

#[cfg(test)]
mod tests;
