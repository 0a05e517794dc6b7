//! Strips of surface to flat plate: exact where the surface is developable,
//! of least stretch (elastic membrane energy) where it is not. The method and
//! its sign conventions are in `docs/method-developing.md`.
//!
//! [`develop()`] goes in this order: the spline's grid (`grid`), a first guess
//! (`guess`), least energy (`ritz`), the map (`map`), what it stretches
//! (`stretch`), the bend schedule (`bends`), which is folded back ([`refold`]).

mod bends;
mod grid;
mod guess;
mod map;
mod model;
pub mod refold;
mod ritz;
pub mod shapes;
mod stretch;

use crate::geom::patch::Patch;

pub use map::FlatMap;
pub use model::{Bend, BendLine, Error, Options, Stretch};

/// A flattened strip, as seen on its upper face.
#[derive(Debug, Clone)]
pub struct Flat {
    /// The flat place of every (t, w).
    pub map: FlatMap,
    /// What the plate must stretch.
    pub stretch: Stretch,
    /// Where and how to bend and twist it, at most `bend_step_mm` apart, and
    /// closer where folding it back needs that.
    pub bends: Vec<Bend>,
    /// How far the plate folded back from these rows lies off the strip at
    /// most, mm.
    pub bends_gap: f64,
}

/// A schedule that folds back to more than this, mm, at or between its rows
/// has its rows put closer together.
const CLOSER_MM: f64 = 0.01;
/// A strip whose schedule folds back to more than this is to be refused, mm: a
/// quarter below the two hundredths promised, for places between those tried
/// (a fifth more was met) and the rounding of a printed table.
pub const FOLDS_BACK_MM: f64 = 0.015;
/// Most times that the step between rows is halved.
const HALVINGS: u32 = 3;
/// Rows are put closer only while the gap shrinks to less than this part of
/// what it was: where it does not, the step is not what it comes from.
const GAINS: f64 = 0.7;

/// The bend schedule, with rows as close as folding back needs, and its gap.
fn schedule(patch: &dyn Patch, map: &FlatMap, step: f64) -> Result<(Vec<Bend>, f64), Error> {
    let mut bends = bends::schedule(patch, map, step)?;
    let mut gap = bends::gap(patch, map, &bends);
    for _ in 0..HALVINGS {
        if gap <= CLOSER_MM {
            break;
        }
        let Ok(closer) = bends::schedule(patch, map, 0.5 * bends::longest_step(&bends)) else {
            break;
        };
        let less = bends::gap(patch, map, &closer);
        if less.is_nan() || less > GAINS * gap {
            break;
        }
        (bends, gap) = (closer, less);
    }
    Ok((bends, gap))
}

/// Flattens a strip.
///
/// The pattern lies as seen on the upper face: along x across is positive in
/// the plane. The middle of the strip lies near the origin with its length
/// along +x there. Guarantee: the energy is stationary to 1e-12 of rms strain;
/// the result depends on nothing but the arguments.
///
/// # Errors
/// [`Error`] where the surface is not finite, degenerate or folded inside the
/// strip, where an option is out of range, or where the iteration does not
/// settle.
pub fn develop(patch: &dyn Patch, options: &Options) -> Result<Flat, Error> {
    options.check()?;
    let grid = grid::Grid::new(patch, options)?;
    let start = guess::start(&grid);
    let (coefficients, energy_mm2) = ritz::least_energy(&grid, options.poisson, start)?;
    let map = FlatMap::new(&grid, coefficients);
    let stretch = stretch::measure(patch, &grid, &map, options, energy_mm2)?;
    let (bends, bends_gap) = schedule(patch, &map, options.bend_step_mm)?;
    Ok(Flat {
        map,
        stretch,
        bends,
        bends_gap,
    })
}

#[cfg(test)]
mod tests;
