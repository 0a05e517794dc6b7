//! Names and colours of the layers.

use crate::drawing::Layer;
use crate::job::{LayerStyle, Output};

/// Colour 7, drawn black on white and white on black.
pub(super) const PLAIN_COLOUR: u8 = 7;

/// Name and colour of a layer: the job's, or the plain ones.
#[must_use]
pub fn style(layer: Layer, output: &Output) -> LayerStyle {
    output
        .layers
        .get(layer.name())
        .cloned()
        .unwrap_or_else(|| LayerStyle {
            name: layer.name().to_owned(),
            colour: PLAIN_COLOUR,
        })
}
