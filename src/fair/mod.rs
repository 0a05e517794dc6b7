//! Fair curves through the survey: the base line as the boat is, the top
//! line as the eye wants it.

use crate::geom::Vec3;
use crate::geom::bspline::Spline;
use crate::survey::End;

/// Both lines, all chains.
#[derive(Debug, Clone)]
pub struct FairEdge {
    /// As in the survey.
    pub chains: Vec<FairChain>,
    /// What is not fair, or could not be kept, for people.
    pub findings: Vec<Finding>,
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
}

/// How far fairing moved a measured point.
#[derive(Debug, Clone, PartialEq)]
pub struct PointFit {
    /// Index into the chain's measured points.
    pub index: usize,
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
    /// In plan or in profile.
    pub view: View,
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

/// The view a finding is seen in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum View {
    /// From above.
    Plan,
    /// From the side, along the developed edge.
    Profile,
}
