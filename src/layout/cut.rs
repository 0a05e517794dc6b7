//! The bulwark cut square to its edge at a stanchion, with every corner that
//! meets the planking: the same figures that the plates, the stanchions and
//! the check of the section are made from.

use rayon::prelude::*;

use super::chain::{Chain, chains};
use super::model::{Layout, Stanchion};
use super::post::{Post, Spot, stand};
use super::section::{Corner, InnerFace, PLATE_CORNERS, plate_corner, unfollowed};
use crate::fair::FairEdge;
use crate::fault::{Fault, Faults, Kind, Place};
use crate::geom::{Vec2, Vec3, trig, vec2};
use crate::job::Job;
use crate::stock::nearest;

/// A cut. Places are mm inboard of the surveyed line and above it. Corners of
/// a member: outboard below, inboard below, inboard above, outboard above.
#[derive(Debug, Clone, PartialEq)]
pub struct SectionCut {
    /// Why here, in short words.
    pub why: Vec<&'static str>,
    /// The stanchion that stands here.
    pub stanchion: Stanchion,
    /// Its tube in the middle.
    pub tube: [Vec2; 4],
    /// The base plate.
    pub base: [Vec2; 4],
    /// Bedding under it.
    pub bedding: [Vec2; 4],
    /// The top plate.
    pub top: [Vec2; 4],
    /// The planking from the covering board to the cap.
    pub planking: [Vec2; 4],
    /// The covering board's top, from its edge inboard.
    pub board: [Vec2; 2],
    /// Rise of the covering board inboard, rad.
    pub slope: f64,
    /// Rise of the top plate inboard, rad.
    pub top_slope: f64,
    /// Lean of the planking's inner face outboard, rad.
    pub lean: f64,
    /// Corners that lie in the planking: in words, where, and how deep, mm.
    pub met: Vec<(String, Vec2, f64)>,
}

/// Stanchions nearer to each other along the boat than this, mm, or with angles
/// nearer, rad, are equal: no drawing tells them apart.
const EQUAL_MM: f64 = 1.0;
/// See [`EQUAL_MM`].
const EQUAL_RAD: f64 = 1e-3;

/// What a cut is chosen by, the greatest of all.
type Figure = fn(&SectionCut) -> f64;

/// Cuts at the stanchions where slope and lean are greatest and slope is
/// least, at those next to stem and stern, and at those that the job names; one
/// where they coincide.
///
/// # Errors
/// Where the edge cannot be followed, or the job names a stanchion that is not
/// there.
pub fn sections(edge: &FairEdge, job: &Job, layout: &Layout) -> Result<Vec<SectionCut>, Faults> {
    let chains = chains(edge, job)?;
    let each: Vec<Result<SectionCut, Fault>> = (layout.stanchions.par_iter())
        .map(|s| cut(&chains[s.chain], s))
        .collect();
    let all = each.into_iter().collect::<Result<Vec<_>, _>>()?;
    let mut out: Vec<SectionCut> = Vec::new();
    let by: [(&str, Figure, f64); 5] = [
        ("nearest the stem", |c| c.stanchion.foot.x, EQUAL_MM),
        ("steepest board", |c| c.slope.abs(), EQUAL_RAD),
        ("flattest board", |c| -c.slope.abs(), EQUAL_RAD),
        ("greatest lean", |c| c.lean.abs(), EQUAL_RAD),
        ("nearest the stern", |c| -c.stanchion.foot.x, EQUAL_MM),
    ];
    for (why, figure, equal) in by {
        // Of equal ones, as on a mirrored boat, the first.
        let best = all
            .iter()
            .fold(None, |best: Option<&SectionCut>, c| match best {
                Some(b) if figure(c) <= figure(b) + equal => Some(b),
                _ => Some(c),
            });
        let Some(best) = best else { continue };
        add(&mut out, best, why);
    }
    for name in &job.floor_sections {
        let asked = all
            .iter()
            .find(|c| c.stanchion.name.eq_ignore_ascii_case(name));
        let asked = asked.ok_or_else(|| unknown(name, layout, job))?;
        add(&mut out, asked, "as the job asks");
    }
    Ok(out)
}

/// Adds a cut, or a reason to the one that is there.
fn add(out: &mut Vec<SectionCut>, cut: &SectionCut, why: &'static str) {
    match out
        .iter_mut()
        .find(|c| c.stanchion.name == cut.stanchion.name)
    {
        Some(known) => known.why.push(why),
        None => out.push(SectionCut {
            why: vec![why],
            ..cut.clone()
        }),
    }
}

fn unknown(name: &str, layout: &Layout, job: &Job) -> Fault {
    let names = layout.stanchions.iter().map(|s| s.name.as_str());
    let mend = nearest(name, names).map_or_else(
        || "no stanchion stands on this boat: take `sections` out".to_owned(),
        |near| format!("did you mean \"{near}\"? lists/stanchions.csv has all names"),
    );
    let place = Place::file(&job.file).field("paper.sections");
    let what = format!("there is no stanchion `{name}`");
    Fault::new(Kind::Unknown, place, what, mend)
}

/// A stanchion of the layout, with its footprints.
pub(super) fn stood(chain: &Chain<'_>, stanchion: &Stanchion) -> Result<Post, Fault> {
    let spot = Spot {
        chain: chain.index,
        length: chain.length_at(stanchion.t),
        t: stanchion.t,
        side: stanchion.side,
        number: stanchion.number,
        place: stanchion.place.clone(),
    };
    stand(chain, &spot)
}

fn cut(chain: &Chain<'_>, stanchion: &Stanchion) -> Result<SectionCut, Fault> {
    let (job, t) = (chain.job, stanchion.t);
    let guides = &chain.guides[chain.length_at(t)];
    let post = stood(chain, stanchion)?;
    let (origin, inboard) = (chain.point(t), guides.base.tangent(t).left());
    let flat = |p: Vec3| {
        let off = p - origin;
        vec2(off.plan().dot(inboard), off.z)
    };
    let (base, top, u) = (&guides.base, &guides.top, guides.u(t));
    let round = |of: &dyn Fn(f64, bool) -> Vec3| {
        [(0.0, false), (1.0, false), (1.0, true), (0.0, true)].map(|(w, upper)| flat(of(w, upper)))
    };
    let base_at = |w: f64, upper: bool| plate_corner(base, t, w, job.base.thickness, upper);
    let top_at = |w: f64, upper: bool| plate_corner(top, u, w, job.top.thickness, upper);
    let on_board = |w: f64| base.face(t, w, -base.lift).point;
    let bedding = |w: f64, upper: bool| {
        if upper {
            base_at(w, false)
        } else {
            on_board(w)
        }
    };
    let face = InnerFace::new(guides, job);
    let [low, high] = face.edges(t).map(flat);
    let out = vec2(job.section.planking, 0.0);
    let mut met = Vec::new();
    let plate = |(top, upper)| {
        let at = if top {
            top_at(0.0, upper)
        } else {
            base_at(0.0, upper)
        };
        (Corner::Plate { top, upper }, at)
    };
    let tube = [false, true].into_iter().zip(&post.outboard);
    let tube = tube.flat_map(|(head, at)| at.map(|at| (Corner::Tube { head }, at)));
    for (corner, at) in PLATE_CORNERS.into_iter().map(plate).chain(tube) {
        if job.section.planking <= 0.0 {
            break;
        }
        let here = face.depth(at, t).ok_or_else(|| unfollowed(chain, t))?;
        if here.depth > job.tolerance.outline_mm {
            met.push((corner.name(&stanchion.name), flat(at), here.depth));
        }
    }
    // Of a foot's or a head's two corners the deeper.
    met.sort_by(|a, b| a.0.cmp(&b.0).then(b.2.total_cmp(&a.2)));
    met.dedup_by(|a, b| a.0 == b.0);
    Ok(SectionCut {
        why: Vec::new(),
        stanchion: stanchion.clone(),
        tube: post.middle.map(flat),
        base: round(&base_at),
        bedding: round(&bedding),
        top: round(&top_at),
        planking: [low - out, low, high, high - out],
        board: [Vec2::default(), flat(on_board(1.0))],
        slope: trig::atan(base.slope.at(t)[0]),
        top_slope: trig::atan(top.slope.at(u)[0]),
        lean: trig::atan2(low.x - high.x, high.y - low.y),
        met,
    })
}
