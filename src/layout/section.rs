//! The section check: the outboard corners of plates and stanchions against
//! the planking.
//!
//! The planking's inner face is ruled between two lines: on the covering
//! board's top, inset and thickness of the planking inboard of the surveyed
//! edge; above, the weld set-back outboard of the top plate's upper edge. A
//! plate's edge is cut square to its face, so a sloping base plate leans with
//! its upper corner towards the planking, by lift s / sqrt(1 + s^2) in plan
//! from the set-back, and a level top plate's lower corner comes nearer to a planking
//! that leans out.

use rayon::prelude::*;

use super::chain::Chain;
use super::guides::{Guides, constant};
use super::post::Post;
use super::run::Bay;
use super::strip::{EndCut, Guide};
use crate::fair::reference_inboard;
use crate::fault::{Fault, Faults, Kind};
use crate::geom::bspline::Spline;
use crate::geom::steps::evenly;
use crate::geom::{Vec3, vec3};
use crate::job::{Job, Side};
use crate::length::{fine, fine_up};

/// Deepest that a corner is bevelled to clear the planking, mm, or the planking
/// eased behind a stanchion: a grinder or a plane takes that off in passing; a
/// corner that is deeper wants another set-back (common practice, no source).
const DEEPEST_BEVEL_MM: f64 = 2.0;

/// Places that are looked at are no further apart, mm: lines and slopes that are
/// measured every few hundred change no faster. The deepest is then found
/// between its neighbours.
const STEP_MM: f64 = 50.0;

/// Steps of the golden section between neighbours: to a hundredth of a
/// millimetre along, where the depth itself is flat.
const GOLDEN: usize = 20;

/// An outboard corner of a plate, from below, or of a stanchion's end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Corner {
    Plate { top: bool, upper: bool },
    Tube { head: bool },
}

/// Outboard corners of plates: whether the top plate's, and the upper.
pub(super) const PLATE_CORNERS: [(bool, bool); 4] =
    [(false, false), (false, true), (true, false), (true, true)];

impl Corner {
    /// The corner for people; a stanchion's by its name.
    pub(super) fn name(self, stanchion: &str) -> String {
        match self {
            Self::Plate { top, upper } => {
                let plate = if top { "top" } else { "base" };
                let edge = if upper { "upper" } else { "lower" };
                format!("the {plate} plate's {edge} outboard corner")
            }
            Self::Tube { head } => {
                let end = if head { "head" } else { "foot" };
                format!("the {end} of stanchion {stanchion}")
            }
        }
    }
}

/// A corner of a plate by the plate's own parameter: outboard (w 0) or inboard
/// (w 1), on its upper or its lower face.
pub(super) fn plate_corner(guide: &Guide, t: f64, w: f64, thickness: f64, upper: bool) -> Vec3 {
    let above = if upper { 0.5 } else { -0.5 } * thickness;
    guide.face(t, w, above).point
}

/// Where a corner lies deepest in the planking, on one side.
#[derive(Debug, Clone)]
struct Deepest {
    corner: Corner,
    side: Side,
    /// The corner for people.
    what: String,
    depth: f64,
    /// Set-back that would just clear it, less the job's, mm.
    more: f64,
    place: String,
}

/// The corners that lie in the planking, each at its deepest on each side.
#[derive(Debug, Default)]
pub(super) struct Section(Vec<Deepest>);

impl Section {
    /// Looks along a bay.
    ///
    /// # Errors
    /// Where the planking's inner face cannot be followed.
    pub(super) fn look(&mut self, chain: &Chain<'_>, bay: &Bay) -> Result<(), Fault> {
        let job = chain.job;
        if job.section.planking <= 0.0 {
            return Ok(());
        }
        let face = InnerFace::new(&chain.guides[bay.length], job);
        let looked: Vec<Result<Vec<Deepest>, Fault>> = (PLATE_CORNERS.into_par_iter())
            .map(|plate| looked_along(chain, bay, &face, plate))
            .collect();
        for found in looked {
            found?.into_iter().for_each(|d| self.keep(d));
        }
        Ok(())
    }

    /// Looks at stanchions: their outboard corners at foot and head, which a
    /// bent edge leaves outboard of both plates.
    ///
    /// # Errors
    /// Where the planking's inner face cannot be followed.
    pub(super) fn look_at(&mut self, chain: &Chain<'_>, posts: &[Post]) -> Result<(), Fault> {
        if chain.job.section.planking <= 0.0 {
            return Ok(());
        }
        let face = |guides| InnerFace::new(guides, chain.job);
        let faces: Vec<InnerFace<'_>> = chain.guides.iter().map(face).collect();
        for post in posts {
            let (guides, t) = (&chain.guides[post.length], post.stanchion.t);
            let face = &faces[post.length];
            for (head, corners) in [(false, post.outboard[0]), (true, post.outboard[1])] {
                for at in corners {
                    let here = face.depth(at, t).ok_or_else(|| unfollowed(chain, t))?;
                    let corner = Corner::Tube { head };
                    self.keep(Deepest {
                        corner,
                        side: chain.side(t),
                        what: corner.name(&post.stanchion.name),
                        depth: here.depth,
                        more: here.depth / face.gain(guides, &here, head),
                        place: post.stanchion.place.clone(),
                    });
                }
            }
        }
        Ok(())
    }

    /// Keeps the deeper of this and what is known of its corner and side.
    fn keep(&mut self, new: Deepest) {
        let same = |d: &&mut Deepest| (d.corner, d.side) == (new.corner, new.side);
        match self.0.iter_mut().find(same) {
            Some(known) if known.depth >= new.depth => {}
            Some(known) => *known = new,
            None => self.0.push(new),
        }
    }

    /// Sentences of what a bevel mends.
    ///
    /// # Errors
    /// What no bevel mends.
    pub(super) fn told(mut self, job: &Job) -> Result<Vec<String>, Faults> {
        self.0.retain(|d| d.depth > job.tolerance.outline_mm);
        self.0
            .sort_by_key(|d| (d.corner, d.side == Side::Starboard));
        let beyond = self.0.iter().filter(|d| d.depth > DEEPEST_BEVEL_MM);
        let faults: Vec<Fault> = beyond.map(|d| d.fault(job)).collect();
        if !faults.is_empty() {
            return Err(Faults(faults));
        }
        Ok(self.0.iter().map(|d| d.warning(job)).collect())
    }
}

/// A plate's corner (of the top plate or the base, upper or lower) along a bay:
/// where it lies deepest on each side.
fn looked_along(
    chain: &Chain<'_>,
    bay: &Bay,
    face: &InnerFace<'_>,
    (on_top, upper): (bool, bool),
) -> Result<Vec<Deepest>, Fault> {
    let (job, guides) = (chain.job, &chain.guides[bay.length]);
    let range = |cuts: &[EndCut; 2]| (cuts[0].at(0.0), cuts[1].at(0.0));
    let base = range(&bay.base);
    let (guide, thickness, (from, to)) = if on_top {
        (&guides.top, job.top.thickness, range(&bay.top))
    } else {
        (&guides.base, job.base.thickness, base)
    };
    let found = |part: f64| {
        let at = plate_corner(guide, from + part * (to - from), 0.0, thickness, upper);
        face.depth(at, base.0 + part * (base.1 - base.0))
    };
    let steps = ((to - from) / STEP_MM).ceil().max(2.0);
    let mut all = Vec::new();
    for part in evenly(0.0, 1.0, steps) {
        let lost = || unfollowed(chain, base.0 + part * (base.1 - base.0));
        all.push((part, found(part).ok_or_else(lost)?));
    }
    let mut out = Vec::new();
    for side in [Side::Port, Side::Starboard] {
        let here = all.iter().filter(|d| chain.side(d.1.t) == side);
        let Some(&(part, deep)) = here.max_by(|p, q| p.1.depth.total_cmp(&q.1.depth)) else {
            continue;
        };
        let span = ((part - 1.0 / steps).max(0.0), (part + 1.0 / steps).min(1.0));
        let best = golden(&found, span).filter(|d| d.depth > deep.depth);
        let best = best.unwrap_or(deep);
        let corner = Corner::Plate { top: on_top, upper };
        out.push(Deepest {
            corner,
            side,
            what: corner.name(""),
            depth: best.depth,
            more: best.depth / face.gain(guides, &best, on_top),
            place: chain.name(best.t),
        });
    }
    Ok(out)
}

impl Deepest {
    fn warning(&self, job: &Job) -> String {
        let mend = match self.corner {
            Corner::Plate { .. } => "bevel the edge by that much",
            Corner::Tube { .. } => "ease the planking behind it by that much",
        };
        format!(
            "{} lies up to {} inside the planking, deepest at {}: {mend}, or make section.weld_setback {} larger",
            self.what,
            fine(self.depth, job.show),
            self.place,
            fine_up(self.more, job.show),
        )
    }

    fn fault(&self, job: &Job) -> Fault {
        let place = job.place("section.weld_setback").station(&self.place);
        let what = format!(
            "{} would lie {} inside the planking, more than a bevel of {} can clear",
            self.what,
            fine(self.depth, job.show),
            fine(DEEPEST_BEVEL_MM, job.show),
        );
        let more = fine_up(self.more, job.show);
        let mend = format!("make the set-back {more} larger, or the bedding or the plate thinner");
        Fault::new(Kind::Section, place, what, mend)
    }
}

pub(super) fn unfollowed(chain: &Chain<'_>, t: f64) -> Fault {
    let what = "the planking's inner face cannot be followed here, so the plates cannot be checked against it";
    let mend = "check height, lean and slope at this place";
    chain.fault("section", t, what, mend)
}

/// A place against the planking's inner face.
#[derive(Debug, Clone, Copy)]
pub(super) struct Depth {
    /// Nearest place of the face, by t.
    t: f64,
    /// How far inside the planking, mm; negative: clear of it.
    pub(super) depth: f64,
    /// Unit normal of the face there, inboard.
    inboard: Vec3,
}

/// The planking's inner face along a smooth length.
pub(super) struct InnerFace<'a> {
    lower: Guide,
    upper: Guide,
    over: &'a Spline<1>,
}

impl<'a> InnerFace<'a> {
    pub(super) fn new(guides: &'a Guides, job: &Job) -> Self {
        let setback = job.section.weld_setback;
        Self {
            lower: Guide {
                offset: reference_inboard(job) - setback,
                lift: 0.0,
                ..(*guides.base).clone()
            },
            upper: Guide {
                slope: constant(&guides.top.edge, 0.0),
                offset: -setback,
                lift: 0.0,
                ..(*guides.top).clone()
            },
            over: &guides.top_of,
        }
    }

    /// Its lower and its upper edge at t.
    pub(super) fn edges(&self, t: f64) -> [Vec3; 2] {
        let [u] = self.over.at(t);
        [self.lower.jet(t, 0.0).point, self.upper.jet(u, 0.0).point]
    }

    /// Signed distance of a point from the face by its nearest place, found
    /// from `near` by the Gauss-Newton method: the point is millimetres off a
    /// face whose radii are metres, so that each step gains two figures and
    /// more. `None` where it does not settle.
    pub(super) fn depth(&self, at: Vec3, near: f64) -> Option<Depth> {
        let (mut t, mut v) = (near, 0.5);
        for _ in 0..40 {
            let [[u], [rate]] = self.over.jet::<2>(t);
            let (low, high) = (self.lower.jet(t, 0.0), self.upper.jet(u, 0.0));
            let up = high.point - low.point;
            let along = low.along * (1.0 - v) + high.along * (v * rate);
            let off = at - (low.point + up * v);
            let (aa, au, uu) = (along.dot(along), along.dot(up), up.dot(up));
            let (a, u) = (off.dot(along), off.dot(up));
            let det = aa * uu - au * au;
            let (by_t, by_v) = ((a * uu - u * au) / det, (u * aa - a * au) / det);
            if !(by_t.is_finite() && by_v.is_finite()) {
                return None;
            }
            t += by_t;
            v += by_v;
            if by_t.abs() < 1e-7 && by_v.abs() < 1e-10 {
                let inboard = up.cross(along).unit();
                return Some(Depth {
                    t,
                    depth: -off.dot(inboard),
                    inboard,
                });
            }
        }
        None
    }

    /// What a plate's corner clears for each mm of set-back: the base plate
    /// moves inboard along the board's slope, the top plate level, and a
    /// stanchion's ends with them.
    fn gain(&self, guides: &Guides, at: &Depth, on_top: bool) -> f64 {
        let inboard = guides.base.tangent(at.t).left();
        let rise = if on_top {
            0.0
        } else {
            self.lower.slope.at(at.t)[0]
        };
        at.inboard.dot(vec3(inboard.x, inboard.y, rise))
    }
}

/// The deepest place of a span by golden section.
fn golden(found: &dyn Fn(f64) -> Option<Depth>, (mut a, mut b): (f64, f64)) -> Option<Depth> {
    const SHARE: f64 = 0.618_033_988_749_894_9;
    let (mut x, mut y) = (b - SHARE * (b - a), a + SHARE * (b - a));
    let (mut at_x, mut at_y) = (found(x)?, found(y)?);
    for _ in 0..GOLDEN {
        if at_x.depth >= at_y.depth {
            (b, y, at_y) = (y, x, at_x);
            x = b - SHARE * (b - a);
            at_x = found(x)?;
        } else {
            (a, x, at_x) = (x, y, at_y);
            y = a + SHARE * (b - a);
            at_y = found(y)?;
        }
    }
    Some(if at_x.depth >= at_y.depth { at_x } else { at_y })
}
