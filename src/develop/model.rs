//! What a strip is developed with, and what is said of it.

use crate::geom::Vec2;

/// Stretch of a flattened strip: principal strains of the plate in place
/// against the flat plate.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Stretch {
    /// Largest magnitude, a plain ratio.
    pub largest: f64,
    /// Its signed value: positive where the plate in place is longer.
    pub signed: f64,
    /// Where (t, w).
    pub at: (f64, f64),
    /// Plane stress there by Hooke's law, largest principal magnitude, MPa.
    pub stress_mpa: f64,
    /// Elastic energy per unit modulus and thickness, mm2.
    pub energy_mm2: f64,
}

/// A row of the bend schedule as it is computed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bend {
    /// t of the line.
    pub t: f64,
    /// The row, on the flat map.
    pub line: BendLine,
}

/// A row of the bend schedule: a line across the plate that is straight in
/// space, and how the plate bends and turns along its outboard edge there.
/// Flat places are in any coordinates, of either face. Rates are by length of
/// the edge in space.
///
/// Curvature and twist stay as on the plate's upper face in place, whichever
/// face is marked. Who looks at the marked face reads them so: on a part
/// marked on its upper face a positive curvature hollows the face he sees,
/// on a part marked on its lower face it rounds it. Twist is the same turn
/// of one end against the other seen from either face: the sign of a screw
/// does not change when it is turned over.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BendLine {
    /// Distance along the flat outboard edge from the part's first end, mm;
    /// below zero where an oblique end reaches further on the inboard side.
    pub along: f64,
    /// Flat places of the line's outboard end, of its quarters in space, and
    /// of its inboard end.
    pub places: [Vec2; 5],
    /// Normal curvature along the outboard edge, 1/mm: positive bends the
    /// plate towards its upper face (hollow seen from above).
    pub curvature: f64,
    /// Twist rate along the outboard edge (geodesic torsion), rad/mm:
    /// positive where the inboard side rises as t grows.
    pub twist: f64,
    /// How much more the edge in space turns within the plate than the flat
    /// edge does, rad/mm: positive towards inboard.
    pub turn: f64,
    /// Length of the edge in space over the flat edge's, less 1.
    pub stretch: f64,
    /// How much further the inboard end lies from the outboard one in space
    /// than on the flat plate, mm: x along the edge, y square to it within the
    /// plate, towards inboard.
    pub shift: Vec2,
}

impl BendLine {
    /// Flat place of the outboard end.
    #[must_use]
    pub fn outboard(&self) -> Vec2 {
        self.places[0]
    }

    /// Flat place of the inboard end.
    #[must_use]
    pub fn inboard(&self) -> Vec2 {
        self.places[4]
    }

    /// The same with its flat places moved.
    #[must_use]
    pub fn laid(&self, place: impl Fn(Vec2) -> Vec2) -> Self {
        Self {
            places: self.places.map(place),
            ..*self
        }
    }
}

/// What the plate is made of and how finely it is computed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Options {
    /// Young's modulus, MPa: scales the reported stress only.
    pub modulus_mpa: f64,
    /// Poisson's ratio, 0 to below 0.5.
    pub poisson: f64,
    /// Furthest apart the rows of the bend schedule lie along the flat
    /// outboard edge, mm.
    pub bend_step_mm: f64,
    /// Control nodes across the strip, 5 to 16; two more are used where the
    /// strip is wide for its radius.
    pub nodes_across: usize,
    /// Longest span of the flat map's spline along the strip, mm.
    pub span_mm: f64,
    /// Furthest the strip's frame may turn within a span, rad.
    pub span_turn: f64,
}

impl Default for Options {
    /// 5086 plate (modulus 10.3 Msi, Poisson's ratio 0.33: handbook values),
    /// rows 50 mm apart, five nodes across. Spans of 150 mm or 0.06 rad:
    /// longer ones are quicker, but leave more than 1e-9 of false stretch on
    /// a cone.
    fn default() -> Self {
        Self {
            modulus_mpa: 71_016.0,
            poisson: 0.33,
            bend_step_mm: 50.0,
            nodes_across: 5,
            span_mm: 150.0,
            span_turn: 0.06,
        }
    }
}

/// Why a strip cannot be flattened. `t` and `w` are the strip's own
/// coordinates; the caller tells the place, which is [`Error::t`].
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum Error {
    /// The strip has no length, or its ends are not finite.
    #[error("the strip has no length")]
    NoLength {
        /// First t.
        first: f64,
        /// Last t.
        last: f64,
    },
    /// A point or derivative of the surface is not finite.
    #[error("the surface is not finite")]
    NotFinite {
        /// Where.
        t: f64,
        /// Where.
        w: f64,
    },
    /// The surface has no width, or no speed along, at a place.
    #[error("the strip has no width or no length")]
    Degenerate {
        /// Where.
        t: f64,
        /// Where.
        w: f64,
    },
    /// The strip turns more tightly than it is wide: the surface folds over
    /// itself.
    #[error("the strip folds over itself: it turns too tightly for its width")]
    Folded {
        /// Where.
        t: f64,
        /// Where.
        w: f64,
    },
    /// The surface has a crease or a crumple: its tangent plane jumps.
    #[error("the strip has a crease: it must be smooth between its ends")]
    Creased {
        /// Where.
        t: f64,
    },
    /// The least-energy iteration did not settle; the surface is far from
    /// any plate near this place.
    #[error("the flattening did not settle, the worst of it is here")]
    NotSettled {
        /// Where the strain is largest.
        t: f64,
    },
    /// An option lies outside what it can be.
    #[error("{name} must be {rule}")]
    Option {
        /// The field of [`Options`].
        name: &'static str,
        /// What it must be.
        rule: &'static str,
    },
}

impl Error {
    /// Place along the strip's edge, mm, where the problem has one.
    #[must_use]
    pub fn t(&self) -> Option<f64> {
        match *self {
            Self::NotFinite { t, .. }
            | Self::Degenerate { t, .. }
            | Self::Folded { t, .. }
            | Self::Creased { t }
            | Self::NotSettled { t } => Some(t),
            Self::NoLength { .. } | Self::Option { .. } => None,
        }
    }
}

impl Options {
    pub(super) fn check(&self) -> Result<(), Error> {
        let positive = |x: f64| x.is_finite() && x > 0.0;
        let rules = [
            (
                positive(self.modulus_mpa),
                "modulus_mpa",
                "finite and above 0 MPa",
            ),
            (
                (0.0..0.5).contains(&self.poisson),
                "poisson",
                "0 to below 0.5",
            ),
            (
                positive(self.bend_step_mm),
                "bend_step_mm",
                "finite and above 0 mm",
            ),
            (
                (5..=16).contains(&self.nodes_across),
                "nodes_across",
                "5 to 16",
            ),
            (positive(self.span_mm), "span_mm", "finite and above 0 mm"),
            (
                positive(self.span_turn),
                "span_turn",
                "finite and above 0 rad",
            ),
        ];
        for (holds, name, rule) in rules {
            if !holds {
                return Err(Error::Option { name, rule });
            }
        }
        Ok(())
    }
}
