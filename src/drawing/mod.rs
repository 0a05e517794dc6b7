//! What every writer draws: layers, profiles with arcs, circles, strokes and
//! text, in millimetres.

mod cuts;
mod edge;
pub mod floor;
mod model;
mod offer;
mod part;
mod pattern;
mod remnant;
mod sheet;
mod sight;

pub use crate::dxf::ascii;
pub use edge::{EdgePicture, edge_drawing};
pub(crate) use model::text_length;
pub use model::{Drawing, Item, Layer, Shape};
pub use offer::{SmallSheet, offer_drawing};
pub use part::part_drawing;
pub use pattern::{Shows, bend_words, diameter, pattern_drawing, pattern_outline};
pub use remnant::remnant_drawing;
pub use sheet::{SheetView, sheet_drawing};
pub use sight::{Sighted, sighting_drawing};
