//! Drawings on paper: pages in paper millimetres, true to scale. No file
//! format in it.
//!
//! A [`Packet`] is the pages of one file; a [`Page`] has its paper, the box a
//! printer reaches, and blocks of ink in the order in which they are read.

mod chords;
mod clip;
mod cover;
mod face;
mod fewest;
mod floor;
mod flow;
mod front;
mod ink;
mod laid;
mod lattice;
mod loft;
mod map;
mod marks;
mod model;
mod packet;
mod print;
mod room;
mod shared;
mod tile;

pub use chords::{Chords, chords};
pub use cover::{Cells, Cover, Field, Lines};
pub use face::{CAPITAL, Letter, letters, words_width};
pub use fewest::cover;
pub use floor::{FloorPages, Title, floor_packet};
pub use ink::shape_path;
pub use loft::{LOFT_LEAST, Loft, lofts};
pub use model::{Block, Ink, Packet, Page, Pen, Role};
pub use packet::{Patterns, packet, test_page};
pub use print::Print;
pub use tile::Pattern;
