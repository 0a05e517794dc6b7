//! What the stages give, up to the flat parts, and what is written of them.

use std::collections::BTreeMap;

use crate::drawing::Drawing;
use crate::fair::FairEdge;
use crate::layout::Layout;
use crate::part::Part;
use crate::report::butts::ButtTrials;
use crate::survey::Survey;

/// Bytes of every file by its name, `/` between folders.
pub type Files = BTreeMap<String, Vec<u8>>;

/// Texts as files.
pub(super) fn bytes(texts: impl IntoIterator<Item = (String, String)>) -> Files {
    let file = |(name, text): (String, String)| (name, text.into_bytes());
    texts.into_iter().map(file).collect()
}

/// Everything up to the flat parts.
#[derive(Debug)]
pub struct Shaped {
    /// Measured points.
    pub survey: Survey,
    /// Faired lines.
    pub edge: FairEdge,
    /// The bulwark in space.
    pub layout: Layout,
    /// Flat parts with their proof, in the layout's order of members.
    pub parts: Vec<Flattened>,
    /// Text of the bend schedule that the parts were folded from.
    pub bends: String,
    /// What was tried to choose the butts; `None`: set by rule or by hand.
    pub butts: Option<ButtTrials>,
}

/// A flat part and what shows that it is right.
#[derive(Debug)]
pub struct Flattened {
    /// The part.
    pub part: Part,
    /// Its drawing: what both of its files show.
    pub drawing: Drawing,
    /// Its DXF file's text, as it was read back for the refold.
    pub dxf: String,
    /// Largest gap of the part, folded from its file and the written bend
    /// schedule, against the member's true edges, ends and holes, mm.
    pub refold_gap: f64,
}
