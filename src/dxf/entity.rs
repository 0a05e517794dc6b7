//! An entity of a drawing: where it stands, and its figures, each of which
//! must be one.

use std::borrow::Cow;
use std::str::FromStr;

use super::letters::unescaped;
use super::pairs::{AGAIN, Pair, shortened};
use crate::fault::{Fault, Kind, Place};
use crate::geom::{self, Outline, Vec3, vec3};
use crate::length::LONGEST_MM;

/// Ends of a profile nearer than this are one point, mm: what a drawing
/// rounds to. More, and the profile is open.
const CLOSED_MM: f64 = 0.01;

/// Bits of a polyline's flags (code 70, DXF reference).
const CLOSED: u32 = 1;
const IN_SPACE: u32 = 8;
/// Fitted by a curve or a spline, or a mesh.
const NOT_PLAIN: u32 = 2 | 4 | 16 | 64;

/// An entity, with its vertices where it is a polyline.
#[derive(Debug, Clone, Copy)]
pub struct Entity<'d> {
    pub(super) file: &'d str,
    /// From its kind on; never empty.
    pub(super) pairs: &'d [Pair<'d>],
}

/// A point of an entity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vertex {
    /// Line of its x's code.
    pub line: usize,
    /// Place, mm.
    pub at: Vec3,
    /// Tangent of a quarter of the sweep of the arc to the next point; nought
    /// on a straight line.
    pub bulge: f64,
}

impl<'d> Entity<'d> {
    /// Its kind, such as `LWPOLYLINE`.
    #[must_use]
    pub fn kind(&self) -> &'d str {
        self.pairs[0].value
    }

    /// Its layer.
    #[must_use]
    pub fn layer(&self) -> Cow<'d, str> {
        unescaped(self.value(8).unwrap_or("0"))
    }

    /// What a text says.
    #[must_use]
    pub fn text(&self) -> Cow<'d, str> {
        unescaped(self.value(1).unwrap_or_default())
    }

    /// A fault at this entity.
    pub fn fault(&self, kind: Kind, what: impl Into<String>, mend: impl Into<String>) -> Fault {
        self.at(self.pairs[0].line, kind, what, mend)
    }

    /// Its points: a point's place, a circle's centre, ends of a line, a
    /// polyline's vertices. There is one at least.
    ///
    /// # Errors
    /// No points, or not as many as it states; a coordinate that is missing,
    /// stands twice, is no number, is not finite or beyond 1 km; a mesh or a
    /// fitted curve.
    pub fn vertices(&self, unit_mm: f64) -> Result<Vec<Vertex>, Fault> {
        let head = self.head();
        let out = match self.kind() {
            "LINE" => vec![
                self.vertex(head, [10, 20, 30], unit_mm)?,
                self.vertex(head, [11, 21, 31], unit_mm)?,
            ],
            "LWPOLYLINE" => self.light(head, unit_mm)?,
            "POLYLINE" => self.heavy(head, unit_mm)?,
            _ => vec![self.vertex(head, [10, 20, 30], unit_mm)?],
        };
        if out.is_empty() {
            return Err(self.fault(Kind::Syntax, "this entity has no points", AGAIN));
        }
        Ok(out)
    }

    /// Radius of a circle, mm.
    ///
    /// # Errors
    /// As for [`Entity::vertices`].
    pub fn radius(&self, unit_mm: f64) -> Result<f64, Fault> {
        let head = self.head();
        let radius = self.figure(head, 40, unit_mm)?;
        radius.ok_or_else(|| self.missing(head[0].line, 40))
    }

    /// A circle, or a polyline whose last point goes on to its first, in plan,
    /// mm; `None` for anything else.
    ///
    /// # Errors
    /// As for [`Entity::vertices`].
    pub fn profile(&self, unit_mm: f64) -> Result<Option<Outline>, Fault> {
        if !matches!(self.kind(), "CIRCLE" | "LWPOLYLINE" | "POLYLINE") {
            return Ok(None);
        }
        let points = self.vertices(unit_mm)?;
        let flat = |v: &Vertex| geom::Vertex {
            at: v.at.plan(),
            bulge: v.bulge,
        };
        let mut vertices: Vec<geom::Vertex> = points.iter().map(flat).collect();
        if self.kind() == "CIRCLE" {
            return Ok(Some(Outline::circle(vertices[0].at, self.radius(unit_mm)?)));
        }
        let back = match vertices[..] {
            [first, .., last] => first.at.distance(last.at) <= CLOSED_MM,
            _ => false,
        };
        if back {
            vertices.pop();
        }
        let closed = self.flags()? & CLOSED != 0 || back;
        Ok(closed.then_some(Outline { vertices }))
    }

    /// False where it is drawn in a plane of its own that is tilted, or seen
    /// from below. Points, lines and polylines in space have no such plane.
    ///
    /// # Errors
    /// A figure that is no number.
    pub fn is_level(&self) -> Result<bool, Fault> {
        let in_space = match self.kind() {
            "POINT" | "LINE" => true,
            "POLYLINE" => self.flags()? & IN_SPACE != 0,
            _ => false,
        };
        let up = |code| self.figure(self.head(), code, 1.0);
        let (x, y, z) = (up(210)?, up(220)?, up(230)?.unwrap_or(1.0));
        let off = x.unwrap_or(0.0).abs().max(y.unwrap_or(0.0).abs());
        Ok(in_space || z > 0.0 && off <= 1e-9 * z)
    }

    pub(super) fn on_paper(&self) -> bool {
        self.value(67) == Some("1")
    }

    /// Its own pairs, without those of vertices.
    fn head(&self) -> &'d [Pair<'d>] {
        let mut parts = self.pairs.chunk_by(|_, next| next.code != 0);
        parts.next().unwrap_or_default()
    }

    fn value(&self, code: i32) -> Option<&'d str> {
        let own = self.head().iter();
        own.filter(|p| p.code == code).map(|p| p.value).next()
    }

    /// Vertices of a light polyline: codes 10, 20, and 42 for the bulge.
    fn light(&self, head: &[Pair<'_>], unit_mm: f64) -> Result<Vec<Vertex>, Fault> {
        let mut each = head.chunk_by(|_, next| next.code != 10);
        let before = each.next().unwrap_or_default();
        if let Some(p) = before.iter().find(|p| p.code == 20) {
            return Err(self.missing(p.line, 10));
        }
        let z = self.figure(head, 38, unit_mm)?.unwrap_or_default();
        let mut out = Vec::new();
        for own in each {
            let mut vertex = self.vertex(own, [10, 20, 30], unit_mm)?;
            vertex.at.z = z;
            out.push(vertex);
        }
        if let Some(p) = head.iter().find(|p| p.code == 90)
            && self.whole(p)? as usize != out.len()
        {
            let what = format!("it states {} points, and has {}", p.value, out.len());
            return Err(self.at(p.line + 1, Kind::Syntax, what, AGAIN));
        }
        Ok(out)
    }

    /// Vertices of a polyline of the old form, each an entity of its own.
    fn heavy(&self, head: &[Pair<'_>], unit_mm: f64) -> Result<Vec<Vertex>, Fault> {
        let flags = self.flags()?;
        if flags & NOT_PLAIN != 0 {
            return Err(self.fault(
                Kind::Geometry,
                "this polyline is a mesh, or fitted by a curve",
                "draw it as a plain polyline",
            ));
        }
        let z = self.figure(head, 30, unit_mm)?.unwrap_or_default();
        let mut out = Vec::new();
        for own in self.pairs.chunk_by(|_, next| next.code != 0).skip(1) {
            if own[0].value == "SEQEND" {
                return Ok(out);
            }
            let mut vertex = self.vertex(own, [10, 20, 30], unit_mm)?;
            if flags & IN_SPACE == 0 {
                vertex.at.z = z;
            } else {
                vertex.bulge = 0.0;
            }
            out.push(vertex);
        }
        let what = "this polyline breaks off: it has no SEQEND";
        Err(self.fault(Kind::Syntax, what, AGAIN))
    }

    fn flags(&self) -> Result<u32, Fault> {
        let flags = self.head().iter().find(|p| p.code == 70);
        flags.map_or(Ok(0), |p| self.whole(p))
    }

    fn at(
        &self,
        line: usize,
        kind: Kind,
        what: impl Into<String>,
        mend: impl Into<String>,
    ) -> Fault {
        let handle = self.value(5).unwrap_or_default();
        let title = format!("{} {}", shortened(self.kind()), shortened(handle));
        let place = Place::file(self.file).line(line).field(title.trim_end());
        Fault::new(kind, place, what, mend)
    }

    fn missing(&self, line: usize, code: i32) -> Fault {
        let name = match code {
            10 | 11 => "x of a point",
            20 | 21 => "y of a point",
            _ => "radius",
        };
        let what = format!("the {name} (code {code}) is missing");
        self.at(line, Kind::Syntax, what, AGAIN)
    }

    fn vertex(&self, own: &[Pair<'_>], [x, y, z]: [i32; 3], unit_mm: f64) -> Result<Vertex, Fault> {
        let line = own
            .iter()
            .find(|p| p.code == x)
            .map_or(own[0].line, |p| p.line);
        let needed = |code| {
            let figure = self.figure(own, code, unit_mm)?;
            figure.ok_or_else(|| self.missing(line, code))
        };
        Ok(Vertex {
            line,
            at: vec3(
                needed(x)?,
                needed(y)?,
                self.figure(own, z, unit_mm)?.unwrap_or_default(),
            ),
            bulge: self.figure(own, 42, 1.0)?.unwrap_or_default(),
        })
    }

    /// The figure of a code, `unit` times over; `None` where it is not there.
    fn figure(&self, own: &[Pair<'_>], code: i32, unit: f64) -> Result<Option<f64>, Fault> {
        let mut found = own.iter().filter(|p| p.code == code);
        let Some(p) = found.next() else {
            return Ok(None);
        };
        if let Some(again) = found.next() {
            let what = format!("code {code} stands twice in one point");
            return Err(self.at(again.line, Kind::Syntax, what, AGAIN));
        }
        let figure = self.parsed::<f64>(p, "a number")? * unit;
        if figure.is_finite() && figure.abs() <= LONGEST_MM {
            return Ok(Some(figure));
        }
        Err(self.at(
            p.line + 1,
            Kind::Range,
            format!("`{}` is not finite, or beyond 1 km", shortened(p.value)),
            "coordinates are finite and within 1 km: correct the drawing or its unit",
        ))
    }

    fn whole(&self, p: &Pair<'_>) -> Result<u32, Fault> {
        self.parsed(p, "a whole number")
    }

    fn parsed<T: FromStr>(&self, p: &Pair<'_>, kind: &str) -> Result<T, Fault> {
        p.value.parse().map_err(|_| {
            let what = format!("`{}` is not {kind}", shortened(p.value));
            self.at(p.line + 1, Kind::Syntax, what, AGAIN)
        })
    }
}
