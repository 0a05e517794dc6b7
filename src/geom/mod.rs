//! Geometry that knows nothing of boats: vectors, outlines of lines and
//! arcs, splines, banded systems, and the trigonometry wrapper.

pub mod banded;
pub mod biarc;
pub mod bspline;
pub mod leastsq;
pub mod letters;
pub mod outline;
pub mod parallel;
pub mod patch;
pub mod quadrature;
pub mod region;
pub mod rigid;
pub mod segment;
pub mod selected;
pub mod steps;
pub mod trig;
pub mod vector;

pub use outline::Outline;
pub use region::Region;
pub use segment::{Circle, Segment, Vertex};
pub use vector::{Placement, Vec2, Vec3, vec2, vec3};
