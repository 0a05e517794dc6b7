//! Fair curves through the survey: the base line as the boat is, the top
//! line as the eye wants it.

mod accuracy;
mod again;
mod alike;
mod arc;
mod base;
mod bends;
mod both;
mod camber;
pub mod compare;
mod curve;
mod doubt;
mod edge;
mod ends;
mod expected;
mod findings;
mod fits;
mod knots;
mod line;
mod no_line;
mod slope;
mod smooth;
mod top;
mod uncertainty;

#[cfg(test)]
mod tests;

pub use accuracy::{Accuracy, settle};
pub use both::fair;
pub use camber::Mould;
pub use curve::{Frame, curvature, frame};
pub use doubt::{Doubt, Figure, Sure, doubtful};
pub use edge::{
    EdgePlace, FairChain, FairEdge, FairLength, Finding, FindingKind, LineKind, PointFit, Toward,
    View,
};
pub use expected::EdgePiece;
pub use line::{Ends, Line, fit_line};
pub use no_line::NoLine;
pub use slope::square_from_athwart;
pub use smooth::Rule;
pub use top::{reference_inboard, whole_height};
pub use uncertainty::{Again, Sd, Uncertainty, ordinate_sd};
