//! Floor sheets: the whole job on a few sheets of paper, to be read at arm's
//! length on a bench. Nothing on them is cut from.
//!
//! A sheet is drawn at its size on paper, with words beside their places; the
//! page stage finds room for the words.

mod boat;
mod cut;
mod input;
mod model;
mod notes;
mod roll;
mod section;
mod sheets;
mod stanchions;
mod strips;

pub use input::Boat;
pub use model::{FloorSheet, LEAST_LETTER, Stand, Stroke, Tag, scale_words};
pub use sheets::{FloorNest, first_part};

use rayon::prelude::*;

use crate::geom::Vec2;

/// All floor sheets, for a room of this size on every page, mm.
#[must_use]
pub fn floor_sheets(boat: &Boat<'_>, room: Vec2) -> Vec<FloorSheet> {
    let nested = |n| sheets::nest_sheet(n, room);
    let kinds: [&(dyn Fn() -> Vec<FloorSheet> + Sync); 5] = [
        &|| vec![boat::boat_sheet(boat, room)],
        &|| strips::strip_sheets(boat, room),
        &|| section::section_sheets(boat, room),
        &|| stanchions::stanchion_sheets(boat, room),
        &|| boat.nests.iter().map(nested).collect(),
    ];
    kinds.par_iter().flat_map(|of| of()).collect()
}
