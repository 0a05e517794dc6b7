//! What fairing gives: the lines, what became of every point, and what a
//! person should look at.

use super::accuracy::Accuracy;
use super::curve::{Frame, curvature, frame};
use super::doubt::Doubt;
use super::uncertainty::{Again, Sd, Uncertainty};
use crate::geom::bspline::Spline;
use crate::geom::{Vec2, Vec3, vec3};
use crate::job::{Fairing, Side};
use crate::survey::End;

/// Both lines, all chains.
#[derive(Debug, Clone)]
pub struct FairEdge {
    /// As in the survey.
    pub chains: Vec<FairChain>,
    /// What is not fair, or could not be kept, for people.
    pub findings: Vec<Finding>,
    /// Figures that stand out against their neighbours; none is changed or dropped.
    pub doubts: Vec<Doubt>,
    /// Accuracy of a measured ordinate, and where it comes from.
    pub accuracy: Accuracy,
    /// The tolerances that the lines were faired within.
    pub fairing: Fairing,
    /// Measured points, the one whose second measurement brings most first.
    pub again: Vec<Again>,
}

/// One chain, faired.
#[derive(Debug, Clone)]
pub struct FairChain {
    /// Smooth lengths between knuckles, in order.
    pub lengths: Vec<FairLength>,
    /// How the chain begins and ends.
    pub ends: [End; 2],
    /// What became of every measured point.
    pub points: Vec<PointFit>,
}

/// A smooth length of edge between two knuckles or ends.
#[derive(Debug, Clone)]
pub struct FairLength {
    /// Surveyed line, faired, by t: its plan arc length from the chain's
    /// start, mm (cumulative over lengths; speed in plan is 1 within 1e-3).
    pub base: Spline<3>,
    /// Rise of the covering board inboard per unit square to the edge, by t.
    pub slope: Spline<1>,
    /// Outboard edge of the top plate's upper face, by its own parameter u.
    pub top: Spline<3>,
    /// u of the top line square to the base line at t (plan), as a curve over t.
    pub top_of: Spline<1>,
    /// How sure the base line is; `None` where its equations cannot be solved
    /// again.
    pub uncertainty: Option<Uncertainty>,
    /// How far the top line would move were the survey repeated.
    pub top_uncertainty: Option<Uncertainty>,
}

/// How far fairing moved a measured point.
#[derive(Debug, Clone, PartialEq)]
pub struct PointFit {
    /// Index of the chain.
    pub chain: usize,
    /// Index into the chain's measured points.
    pub index: usize,
    /// Station or point as booked.
    pub name: String,
    /// Side it was booked on.
    pub side: Side,
    /// t of the point on the base line, mm.
    pub t: f64,
    /// Index into the chain's lengths.
    pub length: usize,
    /// Base line less measured point, square to the edge in plan, outboard positive, mm.
    pub base_out: f64,
    /// Base line less measured point, vertical, up positive, mm: above zero the plate stands
    /// clear of the board, below zero the board stands proud.
    pub base_up: f64,
    /// The same for the top line against measured edge + height + lean.
    pub top_out: f64,
    /// Vertical, up positive, mm.
    pub top_up: f64,
}

/// Something a person should look at.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// Index of the chain.
    pub chain: usize,
    /// t along the chain's base line, mm.
    pub t: f64,
    /// Kind in plain words: `flat`, `hard spot`, `inflection`, `tolerance`.
    pub kind: FindingKind,
    /// On which line.
    pub line: LineKind,
    /// In plan, in profile or along the true line.
    pub view: View,
    /// How far the line lies from one without it, mm: the height of the wave
    /// that its change of bend makes, or how far a point is left.
    pub size: f64,
    /// Which way the line would have to go here to be without it.
    pub toward: Toward,
    /// Of a point out of tolerance where both sides are faired to one line: how much
    /// they differ by there, mm.
    pub unlike: Option<f64>,
    /// One sentence with figures and units.
    pub text: String,
    /// Place in space, mm.
    pub at: Vec3,
}

/// What a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum FindingKind {
    /// Curvature falls away and comes back.
    Flat,
    /// Curvature peaks sharply.
    HardSpot,
    /// The line changes the side it bends to.
    Inflection,
    /// A point could not be kept within its tolerance.
    Tolerance,
}

impl FindingKind {
    /// In words.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Flat => "flat",
            Self::HardSpot => "hard spot",
            Self::Inflection => "reverse",
            Self::Tolerance => "point out of tolerance",
        }
    }
}

/// One of the two faired lines.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum LineKind {
    /// The surveyed line.
    Base,
    /// The top line.
    Top,
}

impl LineKind {
    /// In words.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Base => "base line",
            Self::Top => "top line",
        }
    }
}

/// The view a finding is seen in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum View {
    /// From above.
    Plan,
    /// From the side, along the developed edge.
    Profile,
    /// Along the line in space, as it bends whichever way.
    True,
}

impl View {
    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Plan => "in plan",
            Self::Profile => "in profile",
            Self::True => "along the true line",
        }
    }
}

/// A way that a line can be moved, square to the edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Toward {
    /// Outboard in plan.
    Out,
    /// Inboard in plan.
    In,
    /// Up.
    Up,
    /// Down.
    Down,
}

impl Toward {
    /// In plan, by the sign of a distance outboard.
    #[must_use]
    pub fn plan(out: f64) -> Self {
        if out >= 0.0 { Self::Out } else { Self::In }
    }

    /// In plain words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Out => "out",
            Self::In => "in",
            Self::Up => "up",
            Self::Down => "down",
        }
    }

    /// In height, by the sign of a distance up.
    #[must_use]
    pub fn height(up: f64) -> Self {
        if up >= 0.0 { Self::Up } else { Self::Down }
    }
}

/// Furthest that places of [`FairEdge::places`] lie apart along the base line, mm.
const PLACE_STEP: f64 = 50.0;

/// A place on the faired edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgePlace {
    /// Index of the chain.
    pub chain: usize,
    /// Index of the smooth length of the chain, between knuckles.
    pub length: usize,
    /// Distance along the chain's base line in plan, mm.
    pub t: f64,
    /// Surveyed line, faired, mm.
    pub base: Vec3,
    /// Rise of the covering board inboard per unit, square to the edge.
    pub slope: f64,
    /// Unit vector in plan, square to the edge, inboard.
    pub inboard: Vec2,
    /// Outboard edge of the top plate's upper face, square to the base at t, mm.
    pub top: Vec3,
    /// Curvature in plan, 1/mm, positive where the edge turns left.
    pub plan_curvature: f64,
    /// Curvature of the height over the length along the edge in plan, 1/mm,
    /// positive where the sheer is hollow.
    pub profile_curvature: f64,
}

impl FairEdge {
    /// What became of every measured point, chain by chain.
    pub fn fits(&self) -> impl Iterator<Item = &PointFit> {
        self.chains.iter().flat_map(|c| &c.points)
    }

    /// Places along every line, no further apart than 50 mm, both ends of each
    /// length among them.
    #[must_use]
    pub fn places(&self) -> Vec<EdgePlace> {
        let mut out = Vec::new();
        for (chain, fair) in self.chains.iter().enumerate() {
            for (index, length) in fair.lengths.iter().enumerate() {
                let (a, b) = length.range();
                let count = ((b - a) / PLACE_STEP).ceil().max(1.0);
                let mut k = 0.0;
                while k <= count {
                    let t = a + (b - a) * k / count;
                    k += 1.0;
                    let (plan_curvature, profile_curvature) = curvature(&length.base, t);
                    out.push(EdgePlace {
                        chain,
                        length: index,
                        t,
                        base: length.base_point(t),
                        slope: length.slope_at(t),
                        inboard: length.inboard(t),
                        top: length.top_point(t),
                        plan_curvature,
                        profile_curvature,
                    });
                }
            }
        }
        out
    }
}

impl FairChain {
    /// The measured point nearest t along the base line.
    #[must_use]
    pub fn nearest(&self, t: f64) -> Option<&PointFit> {
        let apart = |p: &&PointFit| (p.t - t).abs();
        self.points
            .iter()
            .min_by(|a, b| apart(a).total_cmp(&apart(b)))
    }
}

impl FairLength {
    /// First and last t, mm.
    #[must_use]
    pub fn range(&self) -> (f64, f64) {
        self.base.basis.range()
    }

    /// Place, plan tangent and grade of the base line at t.
    #[must_use]
    pub fn frame(&self, t: f64) -> Frame {
        frame(&self.base, t)
    }

    /// Point of the surveyed line, faired, at t.
    #[must_use]
    pub fn base_point(&self, t: f64) -> Vec3 {
        let [x, y, z] = self.base.at(t);
        vec3(x, y, z)
    }

    /// Unit vector in plan square to the base line at t, inboard (left of travel).
    #[must_use]
    pub fn inboard(&self, t: f64) -> Vec2 {
        self.frame(t).tangent.left()
    }

    /// Rise of the covering board inboard per unit square to the edge, at t.
    #[must_use]
    pub fn slope_at(&self, t: f64) -> f64 {
        self.slope.at(t)[0]
    }

    /// Point of the top line square to the base line at t.
    #[must_use]
    pub fn top_point(&self, t: f64) -> Vec3 {
        let [x, y, z] = self.top.at(self.top_of.at(t)[0]);
        vec3(x, y, z)
    }
}

impl FairLength {
    /// Standard deviations of the base line at t; `None` where they are not known.
    #[must_use]
    pub fn base_sd(&self, t: f64) -> Option<Sd> {
        Some(self.uncertainty.as_ref()?.sd(&self.base, t))
    }

    /// Standard deviations of the top line at its own parameter u: how far it
    /// would move were the survey repeated.
    #[must_use]
    pub fn top_sd(&self, u: f64) -> Option<Sd> {
        Some(self.top_uncertainty.as_ref()?.sd(&self.top, u))
    }
}
