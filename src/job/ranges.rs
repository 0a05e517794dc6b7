//! What is believed of a figure: beyond it, a slip of the pen or of the unit.

use super::key_kind::{Quantity, Quantity::Angle, between, length};

/// Widest timber or plate that is believed, mm: a slip of the unit shows here.
pub(super) const WIDE: f64 = 2000.0;
/// Thickest plate that is believed, mm.
pub(super) const THICK: f64 = 100.0;
/// Longest piece, run or spacing that is believed, mm.
pub(super) const LONG: f64 = 100_000.0;
/// Longest side of a sheet that is believed, mm.
pub(super) const LONG_SHEET: f64 = 50_000.0;
/// Steepest lean or slope of a plate, degrees: beyond it the section's words (width,
/// overhang) lose their meaning.
pub const STEEP_DEG: f64 = 45.0;
/// Lowest and highest bulwark that is believed, mm: at the lowest half-inch plates
/// still leave a stanchion between them.
pub const HEIGHTS: (f64, f64) = (100.0, 3000.0);

pub(super) const STEEP: Quantity = Angle(between(-STEEP_DEG, STEEP_DEG));
pub(super) const TIMBER: Quantity = length(0.0, 500.0);
pub(super) const ON_PLATE: Quantity = length(0.0, WIDE);
pub(super) const SHEET_SIDE: Quantity = length(100.0, LONG_SHEET);
