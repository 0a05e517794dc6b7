//! A strip of surface in space, as flattening sees it.

use super::Vec3;

/// Point and first derivatives of a surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Jet {
    /// Point, mm.
    pub point: Vec3,
    /// Derivative along the strip, mm per unit of t.
    pub along: Vec3,
    /// Derivative across the strip, mm per unit of w.
    pub across: Vec3,
}

/// A strip of a smooth surface. `t` runs along it, `w` from 0 at the outboard
/// edge to 1 at the inboard edge; lines of constant t are straight, or so
/// nearly that the difference is far below a micrometre: they are the lines
/// the plate is bent about and twisted along. `along x across` points to the
/// upper face.
pub trait Patch: Sync {
    /// Point and derivatives; valid over the whole rectangle of
    /// [`Patch::range`] by 0..=1, also where an oblique end cuts it off.
    fn jet(&self, t: f64, w: f64) -> Jet;
    /// The same at several places across one place along, into `out`: what
    /// they have in common is worked out once.
    fn line(&self, t: f64, places: &[f64], out: &mut Vec<Jet>) {
        out.clear();
        out.extend(places.iter().map(|&w| self.jet(t, w)));
    }
    /// Where the strip begins and ends at `w`: (first t, last t).
    fn ends(&self, w: f64) -> (f64, f64);
    /// Places along the strip where its third derivative jumps (spline
    /// knots), ascending, strictly inside the range. A flattening puts its own
    /// knots there.
    fn knots(&self) -> Vec<f64>;

    /// Least and greatest t of the strip over all w, with oblique ends
    /// (monotone in w or not: nine places are asked).
    fn range(&self) -> (f64, f64) {
        (0..=8)
            .map(|k| self.ends(f64::from(k) / 8.0))
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), (lo, hi)| {
                (a.min(lo), b.max(hi))
            })
    }
}
