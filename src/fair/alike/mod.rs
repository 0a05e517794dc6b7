//! Port and starboard faired to one line.
//!
//! The points of both sides are averaged before anything is faired: the even
//! survey that comes of it is faired as any other, and every measured point is then
//! told how far that line leaves it. See `docs/method-fairing.md`, "Both sides to
//! one line".

mod even;
mod mean;
mod told;

pub(super) use mean::{Even, even_tops};
pub(super) use told::tell;
