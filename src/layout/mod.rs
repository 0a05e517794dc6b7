//! The bulwark in space: plates as strips of surface, stanchions, butts,
//! fasteners.

mod assemble;
mod bulwark;
mod divide;
mod expected;
mod fasten;
mod joint;
mod model;
mod number;
mod piece;
mod placed;
mod post;
mod run;
mod seat;
mod section;
mod series;
mod strip;
mod way;

pub use assemble::layout;
pub use expected::ExpectedFit;
pub use model::{
    BulwarkLength, CrossKind, Face, Feature, Joint, JointForm, Layout, Member, MemberKind,
    RunLength, Stanchion, Stretch, side_name,
};
pub use placed::check_places;
pub use seat::TubeEnd;
pub use strip::{EndCut, Guide, Strip};

#[cfg(test)]
mod tests;
