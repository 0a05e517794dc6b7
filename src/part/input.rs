//! What detailing a part needs: its flat map, its ends and its features.

use crate::develop::{Bend, FlatMap, Stretch};
use crate::fault::{Fault, Kind, Place};
use crate::geom::{Vec2, vec2};
use crate::job::Side;
use crate::layout::{Face, Feature, Member, MemberKind};
use crate::length::Show;

/// Height of the part's name where there is room, mm, unless the job gives
/// another: read from a few metres. Lists of heights are made for it.
pub(super) const USUAL_HEIGHT: f64 = 25.0;

/// The flat place of every (t, w) of a strip, as seen on its upper face.
pub trait FlatSurface {
    /// Flat place, and its derivatives along t and w, mm.
    fn jet(&self, t: f64, w: f64) -> [Vec2; 3];

    /// Flat place and its derivative along t where w stays the same, mm.
    fn edge<'a>(&'a self, w: f64) -> Box<dyn Fn(f64) -> (Vec2, Vec2) + 'a> {
        Box::new(move |t| {
            let [p, dt, _] = self.jet(t, w);
            (p, dt)
        })
    }
}

impl FlatSurface for FlatMap {
    fn jet(&self, t: f64, w: f64) -> [Vec2; 3] {
        Self::jet(self, t, w)
    }

    fn edge<'a>(&'a self, w: f64) -> Box<dyn Fn(f64) -> (Vec2, Vec2) + 'a> {
        let edge = Self::edge(self, w);
        Box::new(move |t| {
            let [p, dt] = edge.jet::<2>(t);
            (vec2(p[0], p[1]), vec2(dt[0], dt[1]))
        })
    }
}

/// How parts are drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Options {
    /// Largest distance of the outline from the true edge, mm, both ways.
    pub outline_tolerance: f64,
    /// Distance between ordinates along the part, mm.
    pub ordinate_spacing: f64,
    /// Height of the part's marked name where there is room, mm; other marked
    /// letters in proportion.
    pub letter_height: f64,
    /// Unit of the thickness on a label.
    pub show: Show,
}

impl Default for Options {
    /// 0.05 mm, and ordinates every 200 mm (common practice, no source).
    fn default() -> Self {
        Self {
            outline_tolerance: 0.05,
            ordinate_spacing: 200.0,
            letter_height: USUAL_HEIGHT,
            show: Show::Mm,
        }
    }
}

/// A flat strip with what lies on it.
#[derive(Clone, Copy)]
pub struct PartInput<'a> {
    /// Name, marked on the part: ASCII is legible.
    pub name: &'a str,
    /// Kind.
    pub kind: MemberKind,
    /// Alloy and temper.
    pub alloy: &'a str,
    /// Thickness, mm.
    pub thickness: f64,
    /// Face that is drawn up.
    pub marked: Face,
    /// True where t runs aft.
    pub runs_aft: bool,
    /// Side of the boat that its middle is on.
    pub side: Side,
    /// Where it goes.
    pub place: &'a str,
    /// Fit allowance, mm, and whether it is at the last end.
    pub allowance: Option<(f64, bool)>,
    /// Holes and marks.
    pub features: &'a [Feature],
    /// Flat map.
    pub flat: &'a dyn FlatSurface,
    /// First and last t at w.
    pub ends: &'a dyn Fn(f64) -> (f64, f64),
    /// Bend schedule on the flat map.
    pub bends: &'a [Bend],
    /// Stretch.
    pub stretch: Stretch,
}

impl std::fmt::Debug for PartInput<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("PartInput")
            .field("name", &self.name)
            .field("features", &self.features.len())
            .finish_non_exhaustive()
    }
}

impl<'a> PartInput<'a> {
    /// A member with its flat map, ends, bend schedule and stretch.
    #[must_use]
    pub fn of(
        member: &'a Member,
        flat: &'a dyn FlatSurface,
        ends: &'a dyn Fn(f64) -> (f64, f64),
        bends: &'a [Bend],
        stretch: Stretch,
    ) -> Self {
        Self {
            name: &member.name,
            kind: member.kind,
            alloy: &member.alloy,
            thickness: member.thickness,
            marked: member.marked,
            runs_aft: member.runs_aft,
            side: member.side,
            place: &member.place,
            allowance: member.allowance,
            features: &member.features,
            flat,
            ends,
            bends,
            stretch,
        }
    }

    /// Least and greatest t at the edges and the middle.
    pub(super) fn range(&self) -> (f64, f64) {
        [0.0, 0.5, 1.0]
            .into_iter()
            .map(self.ends)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), (lo, hi)| {
                (a.min(lo), b.max(hi))
            })
    }

    /// A problem of this part.
    pub(super) fn fault(&self, what: impl std::fmt::Display, mend: &str) -> Fault {
        let place = Place::default().station(self.place);
        Fault::new(
            Kind::Geometry,
            place,
            format!("part {}: {what}", self.name),
            mend,
        )
    }
}
