//! The mid-thickness surface of a plate that follows a faired line.

/// A strip of plate in space.
#[derive(Debug, Clone)]
pub struct Strip {}
