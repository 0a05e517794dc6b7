//! The drawing of a remnant: a piece of plate of any shape, kept as stock.
//!
//! One closed profile on the layer `SHEET` is its edge; closed profiles and
//! circles on the layer `HOLE` are holes in it. A text `THICKNESS 12.7 mm` and
//! a text `ALLOY 5086-H116`, on any layer, say what it is.

use crate::fault::{Fault, Kind, Place};
use crate::geom::region::NoRegion;
use crate::geom::{Outline, Placement, Region, Vertex, vec2};
use crate::length::{self, FOOT, INCH, LONGEST_MM, Unit};
use crate::limits::{NAME_LETTERS, REMNANT_VERTICES, sound};
use crate::pairs::{Pair, pairs, shortened, unescaped};

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

/// Ends of a profile nearer than this are one point, mm: what a drawing
/// rounds to. More, and the profile is open.
const CLOSED_MM: f64 = 0.01;

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
    let drawing = pairs(text).map_err(|b| {
        let mut place = Place::file(name);
        place.line = b.line;
        Fault::new(Kind::Syntax, place, b.what, b.mend)
    })?;
    let bodies = entities(&drawing);
    if bodies.is_empty() {
        return Err(Fault::new(
            Kind::Missing,
            Place::file(name).field("ENTITIES"),
            "there is nothing in the drawing",
            format!("draw the edge of the remnant as a closed polyline on layer {EDGE_LAYER}"),
        ));
    }
    let reader = Reader {
        name,
        factor: factor(name, &drawing, unit)?,
    };
    let mut found = Found::default();
    for body in bodies {
        reader.entity(body, &mut found)?;
    }
    reader.remnant(found)
}

/// What was found in a drawing.
#[derive(Default)]
struct Found {
    edges: Vec<Outline>,
    holes: Vec<Outline>,
    thickness: Option<f64>,
    alloy: Option<String>,
}

struct Reader<'a> {
    name: &'a str,
    /// Millimetres in a unit of the drawing.
    factor: f64,
}

/// Bodies of the entities, a polyline with the vertices that follow it.
fn entities<'a, 'd>(drawing: &'d [Pair<'a>]) -> Vec<&'d [Pair<'a>]> {
    let heads = drawing
        .iter()
        .zip(drawing.iter().skip(1))
        .position(|(a, b)| a.code == 0 && a.value == "SECTION" && b.value == "ENTITIES");
    let from = heads.map_or(drawing.len(), |i| i + 2);
    let body = &drawing[from.min(drawing.len())..];
    let end = body
        .iter()
        .position(|p| p.code == 0 && p.value == "ENDSEC")
        .unwrap_or(body.len());
    let body = &body[..end];
    let starts: Vec<usize> = (0..body.len())
        .filter(|&i| body[i].code == 0 && !matches!(body[i].value, "VERTEX" | "SEQEND"))
        .collect();
    starts
        .iter()
        .enumerate()
        .map(|(k, &s)| &body[s..starts.get(k + 1).copied().unwrap_or(body.len())])
        .collect()
}

/// Millimetres in a unit of the drawing: what its header says, which the job
/// must not contradict, or else what the job says.
fn factor(name: &str, drawing: &[Pair<'_>], unit: Option<Unit>) -> Result<f64, Fault> {
    let said = drawing
        .windows(2)
        .find(|w| w[0].code == 9 && w[0].value == "$INSUNITS" && w[1].code == 70)
        .map(|w| (w[1].value, w[1].line + 1));
    let given = match unit {
        None => None,
        Some(Unit::Mm) => Some(1.0),
        Some(Unit::M) => Some(1000.0),
        Some(Unit::In) => Some(INCH),
        Some(Unit::Ft) => Some(FOOT),
        Some(Unit::FeetInches | Unit::FeetInchesEighths) => None,
    };
    // Group 70 of $INSUNITS, DXF reference: 1 inches, 2 feet, 4 mm, 5 cm, 6 m.
    let own = match said.map(|s| s.0) {
        Some("1") => Some(INCH),
        Some("2") => Some(FOOT),
        Some("4") => Some(1.0),
        Some("5") => Some(10.0),
        Some("6") => Some(1000.0),
        None | Some("0") => None,
        Some(other) => {
            let mut place = Place::file(name).field("$INSUNITS");
            place.line = said.map(|s| s.1);
            return Err(Fault::new(
                Kind::Unit,
                place,
                format!("the drawing is in unit `{}`", shortened(other)),
                "write it again in millimetres, metres, inches or feet",
            ));
        }
    };
    match (own, given) {
        (Some(a), Some(b)) if (a - b).abs() > 1e-9 => {
            let mut place = Place::file(name).field("$INSUNITS");
            place.line = said.map(|s| s.1);
            Err(Fault::new(
                Kind::Conflict,
                place,
                "the drawing's own unit is not the `unit` of this [[sheet]]",
                "take `unit` out of the [[sheet]], or write the drawing again",
            ))
        }
        (Some(f), _) | (None, Some(f)) => Ok(f),
        (None, None) => Err(Fault::new(
            Kind::Unit,
            Place::file(name).field("$INSUNITS"),
            "the drawing does not say in what unit it is",
            "add unit = \"mm\", \"m\", \"in\" or \"ft\" to this [[sheet]]",
        )),
    }
}

fn value<'a>(body: &[Pair<'a>], code: i32) -> Option<Pair<'a>> {
    body.iter().find(|p| p.code == code).copied()
}

impl Reader<'_> {
    fn fault<T>(
        &self,
        body: &[Pair<'_>],
        kind: Kind,
        what: impl Into<String>,
        mend: &str,
    ) -> Result<T, Fault> {
        let mut place = Place::file(self.name);
        if let Some(first) = body.first() {
            let handle = value(body, 5).map_or("", |p| p.value);
            let title = format!("{} {}", shortened(first.value), shortened(handle));
            place = place.line(first.line).field(title.trim_end());
        }
        Err(Fault::new(kind, place, what, mend))
    }

    fn entity(&self, body: &[Pair<'_>], found: &mut Found) -> Result<(), Fault> {
        let kind = body[0].value;
        if value(body, 67).is_some_and(|p| p.value == "1") {
            return Ok(());
        }
        if matches!(kind, "TEXT" | "MTEXT") {
            return self.words(body, found);
        }
        let layer = unescaped(value(body, 8).map_or("0", |p| p.value));
        let is = |name: &str| layer.eq_ignore_ascii_case(name);
        if is(CUT_LAYER) {
            return self.fault(
                body,
                Kind::Conflict,
                "the drawing has parts on a layer CUT: it is a nested sheet, not a remnant",
                "name the drawing of the remnant itself",
            );
        }
        if !is(EDGE_LAYER) && !is(HOLE_LAYER) {
            return Ok(());
        }
        let profile = match kind {
            "LWPOLYLINE" => self.light(body)?,
            "POLYLINE" => self.heavy(body)?,
            "CIRCLE" => self.circle(body)?,
            _ => {
                return self.fault(
                    body,
                    Kind::Geometry,
                    format!(
                        "a {} on layer {layer} is no closed profile",
                        shortened(kind)
                    ),
                    "join its lines and arcs to one closed polyline",
                );
            }
        };
        if is(EDGE_LAYER) {
            found.edges.push(profile);
        } else {
            found.holes.push(profile);
        }
        Ok(())
    }

    /// Thickness and alloy, where a text says them.
    fn words(&self, body: &[Pair<'_>], found: &mut Found) -> Result<(), Fault> {
        let text = value(body, 1).map_or("", |p| p.value).trim();
        if let Some(rest) = text.strip_prefix(THICKNESS_WORD) {
            match length::parse(rest) {
                Ok(mm) => found.thickness = Some(mm),
                Err(e) => return self.fault(body, Kind::Syntax, e.what, &e.mend),
            }
        } else if let Some(rest) = text.strip_prefix(ALLOY_WORD) {
            let alloy = unescaped(rest.trim());
            if let Err(e) = sound(&alloy, NAME_LETTERS) {
                return self.fault(body, Kind::Syntax, format!("the alloy {}", e.what), e.mend);
            }
            found.alloy = Some(alloy);
        }
        Ok(())
    }

    /// A figure, mm where `factor` is the drawing's, finite and believable.
    fn figure(&self, body: &[Pair<'_>], p: Option<Pair<'_>>, factor: f64) -> Result<f64, Fault> {
        let read = p
            .and_then(|p| p.value.parse::<f64>().ok())
            .map(|v| v * factor);
        match read {
            Some(v) if v.is_finite() && v.abs() <= LONGEST_MM => Ok(v),
            _ => {
                let mut fault = self.fault::<f64>(
                    body,
                    Kind::Range,
                    "a coordinate is missing, not finite, or beyond 1 km",
                    "the file is damaged, or its unit is wrong: write it again from the drawing",
                );
                if let (Err(f), Some(p)) = (&mut fault, p) {
                    f.place.line = Some(p.line + 1);
                }
                fault
            }
        }
    }

    fn flat(&self, body: &[Pair<'_>]) -> Result<(), Fault> {
        let down = value(body, 230).is_some_and(|p| p.value.parse::<f64>().is_ok_and(|z| z < 0.5));
        if down {
            return self.fault(
                body,
                Kind::Geometry,
                "this profile is drawn on the back of the plan",
                "draw it again in plan",
            );
        }
        Ok(())
    }

    /// A light polyline: vertices as codes 10, 20, and 42 for the bulge.
    fn light(&self, body: &[Pair<'_>]) -> Result<Outline, Fault> {
        self.flat(body)?;
        let starts: Vec<usize> = (0..body.len()).filter(|&i| body[i].code == 10).collect();
        let mut vertices = Vec::with_capacity(starts.len());
        for (k, &s) in starts.iter().enumerate() {
            let end = starts.get(k + 1).copied().unwrap_or(body.len());
            vertices.push(self.vertex(body, &body[s..end])?);
        }
        self.closed(body, vertices)
    }

    /// A polyline of the old form: each vertex an entity of its own.
    fn heavy(&self, body: &[Pair<'_>]) -> Result<Outline, Fault> {
        let starts: Vec<usize> = (0..body.len()).filter(|&i| body[i].code == 0).collect();
        let head = &body[..starts.get(1).copied().unwrap_or(body.len())];
        self.flat(head)?;
        if flags(head) & (2 | 4 | 16 | 64) != 0 {
            return self.fault(
                body,
                Kind::Geometry,
                "this polyline is a mesh, or fitted by a curve",
                "draw it as a plain closed polyline of lines and arcs",
            );
        }
        let mut vertices = Vec::new();
        for (k, &s) in starts.iter().enumerate().skip(1) {
            let end = starts.get(k + 1).copied().unwrap_or(body.len());
            if body[s].value == "VERTEX" {
                vertices.push(self.vertex(body, &body[s..end])?);
            }
        }
        self.closed(head, vertices)
    }

    fn vertex(&self, body: &[Pair<'_>], own: &[Pair<'_>]) -> Result<Vertex, Fault> {
        let bulge = match value(own, 42) {
            None => 0.0,
            some => self.figure(body, some, 1.0)?,
        };
        Ok(Vertex {
            at: vec2(
                self.figure(body, value(own, 10), self.factor)?,
                self.figure(body, value(own, 20), self.factor)?,
            ),
            bulge,
        })
    }

    fn closed(&self, head: &[Pair<'_>], mut vertices: Vec<Vertex>) -> Result<Outline, Fault> {
        let back = match vertices[..] {
            [first, .., last] => first.at.distance(last.at) <= CLOSED_MM,
            _ => false,
        };
        if back {
            vertices.pop();
        } else if flags(head) & 1 == 0 {
            return self.fault(
                head,
                Kind::Geometry,
                "this profile is open",
                "close it: its last point must be its first",
            );
        }
        Ok(Outline { vertices })
    }

    fn circle(&self, body: &[Pair<'_>]) -> Result<Outline, Fault> {
        self.flat(body)?;
        let at = vec2(
            self.figure(body, value(body, 10), self.factor)?,
            self.figure(body, value(body, 20), self.factor)?,
        );
        let radius = self.figure(body, value(body, 40), self.factor)?;
        Ok(Outline::circle(at, radius))
    }

    fn remnant(&self, found: Found) -> Result<Remnant, Fault> {
        let count = found.edges.len();
        let mut edges = found.edges.into_iter();
        let (Some(edge), None) = (edges.next(), edges.next()) else {
            return self.fault(
                &[],
                Kind::Geometry,
                format!("the layer {EDGE_LAYER} has {count} profiles, and a remnant has one edge"),
                "draw the edge as one closed polyline on layer SHEET, and holes on layer HOLE",
            );
        };
        let holes = found.holes.iter().map(|h| h.vertices.len());
        let vertices = edge.vertices.len() + holes.sum::<usize>();
        if vertices > REMNANT_VERTICES {
            return self.fault(
                &[],
                Kind::Range,
                format!("the profiles have {vertices} vertices, and may have {REMNANT_VERTICES}"),
                "draw them with arcs, or with fewer points",
            );
        }
        let region = Region::new(edge, found.holes).or_else(|why| {
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
            self.fault(
                &[],
                Kind::Geometry,
                what,
                "correct the drawing of the remnant",
            )
        })?;
        let (lo, _) = region.bounds();
        Ok(Remnant {
            region: region.placed(Placement {
                turn: 0.0,
                shift: -lo,
            }),
            thickness: found.thickness,
            alloy: found.alloy,
        })
    }
}

fn flags(head: &[Pair<'_>]) -> u32 {
    value(head, 70)
        .and_then(|p| p.value.parse().ok())
        .unwrap_or(0)
}

#[cfg(test)]
mod tests;
