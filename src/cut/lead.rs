//! Lead-ins and lead-outs: off corners, in the waste, clear of every part.
//!
//! The waste lies on the left of travel: outer profiles are cut clockwise,
//! holes counter-clockwise. The usual swirl of a plasma torch leaves its
//! square edge on the right of travel (common practice, no source).

use super::walk::{Walk, open_length, points};
use crate::geom::{Outline, Vec2, Vertex, trig};
use crate::job::{LeadForm, Leads};

/// Steps in which a lead is shortened where a longer one has no room. Below
/// a quarter, the pierce would mark the part.
const SHORTER: [f64; 5] = [1.0, 0.75, 0.5, 0.35, 0.25];
/// Places tried on each smooth length of a profile, as fractions of it, its
/// middle first.
const TRIED: [f64; 9] = [0.5, 0.25, 0.75, 0.375, 0.625, 0.125, 0.875, 0.06, 0.94];
/// Distance between the places at which a lead is measured, mm. The distance
/// is exact at each; between them it is short by half a step at most, which
/// is counted in.
const STEP: f64 = 0.5;
/// Points nearer to a profile than this lie on it, mm.
const ON_PROFILE: f64 = 0.02;
/// Lead-out over lead-in.
const OUT: f64 = 0.5;

/// A start of a profile with its leads.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Start {
    /// Length along the profile at which it begins, mm.
    pub(super) at: f64,
    /// Lead-in, from the pierce to the profile.
    pub(super) lead_in: Vec<Vertex>,
    /// Lead-out, from the profile.
    pub(super) lead_out: Vec<Vertex>,
    /// True where the lead had to be shortened.
    pub(super) shortened: bool,
}

/// What a lead must keep clear of.
pub(super) struct Ground<'a> {
    /// Every net profile on the sheet, its edge and its clamps.
    pub(super) all: &'a [Walk],
    /// Which of them is the net profile being cut.
    pub(super) own: usize,
    /// That profile.
    pub(super) net: &'a Outline,
    /// True where it is a hole: its waste lies inside.
    pub(super) hole: bool,
    /// Half the width of the cut, mm.
    pub(super) half_kerf: f64,
    /// Distance of the path from its own net profile, mm.
    pub(super) off: f64,
}

impl Ground<'_> {
    /// Radius of the arcs that go round a net corner, mm, rounding counted in.
    pub(super) fn tight(&self) -> f64 {
        self.off * 1.001
    }
}

/// Starts of leads on smooth lengths of a profile, off its corners, the
/// middle of the longest first.
fn places(walk: &Walk, off_corner: f64, tight: f64) -> Vec<f64> {
    let corners = walk.corners(tight);
    let mut smooth: Vec<(f64, f64)> = match corners[..] {
        [] => vec![(0.0, walk.length)],
        [first, ..] => corners
            .iter()
            .zip(corners.iter().skip(1).chain(&[first + walk.length]))
            .map(|(&a, &b)| (a + off_corner, b - a - 2.0 * off_corner))
            .filter(|s| s.1 >= 0.0)
            .collect(),
    };
    smooth.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.total_cmp(&b.0)));
    TRIED
        .iter()
        .flat_map(|f| smooth.iter().map(move |(from, length)| from + f * length))
        .collect()
}

/// Lead-in and lead-out of a length at a place of the profile.
fn shaped(walk: &Walk, at: f64, form: LeadForm, length: f64) -> (Vec<Vertex>, Vec<Vertex>) {
    let (p, along) = (walk.at(at), walk.direction(at));
    let waste = along.left();
    let out = OUT * length;
    let line =
        |a: Vec2, b: Vec2, bulge: f64| vec![Vertex { at: a, bulge }, Vertex { at: b, bulge: 0.0 }];
    match form {
        LeadForm::Arc => {
            // A quarter circle of this length that meets the profile along it.
            let quarter = trig::tan(std::f64::consts::FRAC_PI_8);
            let radius = |l: f64| l / std::f64::consts::FRAC_PI_2;
            let (r, o) = (radius(length), radius(out));
            (
                line(p + waste * r - along * r, p, quarter),
                line(p, p + waste * o + along * o, quarter),
            )
        }
        LeadForm::Straight => {
            let k = std::f64::consts::FRAC_1_SQRT_2;
            (
                line(p + (waste - along) * (k * length), p, 0.0),
                line(p, p + (waste + along) * (k * out), 0.0),
            )
        }
    }
}

/// True where a lead keeps its distances: half the kerf and the clearance
/// from every other profile; from its own no less than the path itself has,
/// and on the waste side.
fn clear(lead: &[Vertex], ground: &Ground<'_>, clearance: f64) -> bool {
    let need = ground.half_kerf + clearance + 0.5 * STEP;
    let own = &ground.all[ground.own];
    points(lead, STEP).iter().all(|&p| {
        let near = own.distance(p, need);
        // On the profile itself rounding decides which side a point is on.
        near >= ground.off - 1e-4
            && (near < ON_PROFILE || ground.net.contains(p, 0.1 * ON_PROFILE) == ground.hole)
            && ground
                .all
                .iter()
                .enumerate()
                .all(|(i, w)| i == ground.own || w.distance(p, need) >= need - 1e-9)
    })
}

/// The best start: the longest lead that is clear, on the longest smooth
/// length. `None` where no lead is clear.
pub(super) fn start(walk: &Walk, leads: &Leads, ground: &Ground<'_>) -> Option<Start> {
    let places = places(walk, leads.off_corner, ground.tight());
    SHORTER.iter().find_map(|&k| {
        places
            .iter()
            .find_map(|&at| fitted(walk, at, leads, k, ground))
    })
}

/// The longest lead that is clear at a place.
pub(super) fn start_at(walk: &Walk, at: f64, leads: &Leads, ground: &Ground<'_>) -> Option<Start> {
    SHORTER
        .iter()
        .find_map(|&k| fitted(walk, at, leads, k, ground))
}

fn fitted(walk: &Walk, at: f64, leads: &Leads, k: f64, ground: &Ground<'_>) -> Option<Start> {
    let (lead_in, lead_out) = shaped(walk, at, leads.form, leads.length * k);
    if !clear(&lead_in, ground, leads.clearance) || !clear(&lead_out, ground, leads.clearance) {
        return None;
    }
    // The pierce is wider than the cut: it stands off its own profile.
    let pierce = lead_in.first()?.at;
    let own = &ground.all[ground.own];
    let far = ground.off + 0.4 * open_length(&lead_in);
    (own.distance(pierce, far + 1.0) >= far).then_some(Start {
        at,
        lead_in,
        lead_out,
        shortened: k < 1.0,
    })
}

/// The place to begin where there is no lead: the middle of the longest
/// smooth length.
pub(super) fn plain_start(walk: &Walk, off_corner: f64, tight: f64) -> f64 {
    let first = |off: f64| places(walk, off, tight).first().copied();
    first(off_corner).or_else(|| first(0.0)).unwrap_or(0.0)
}
