//! The bulwark in space: plates as strips of surface, stanchions, butts,
//! fasteners.

mod along;
mod assemble;
mod bulwark;
mod cap;
mod chain;
mod cut;
mod divide;
mod expected;
mod fasten;
mod guides;
mod joint;
mod locate;
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

pub use along::{Along, EdgeMark, EdgeMarkKind, along};
pub use assemble::layout;
pub use cap::{CAP, cap};
pub use cut::{SectionCut, sections};
pub use expected::ExpectedFit;
pub use guides::Guides;
pub use model::{
    BulwarkLength, CrossKind, Face, Feature, Joint, JointForm, Layout, Member, MemberKind,
    RunLength, Stanchion, Stretch, side_name,
};
pub use placed::check_places;
pub use seat::TubeEnd;
pub use strip::{EndCut, Guide, Strip};

#[cfg(test)]
mod tests;
