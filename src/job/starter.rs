//! A job to begin with.

/// A commented starter job for a small invented boat; it builds as it is,
/// with [`STARTER_EDGE`] beside it under the name [`STARTER_EDGE_NAME`].
pub const STARTER: &str = include_str!("starter.toml");

/// The survey of the starter's boat.
pub const STARTER_EDGE: &str = include_str!("starter-edge.csv");

/// File name that the starter job gives its survey.
pub const STARTER_EDGE_NAME: &str = "edge.csv";
