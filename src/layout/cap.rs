//! The wood cap in lengths: a strip over the top plate, at the cap's own
//! mid-thickness, that ends and mitres as the plate does.
//!
//! A scarf goes through the thickness: the two lengths run on over each other
//! for as long as it is, and the forward one lies on the after one, so that the
//! seam on top opens aft (common practice, no source).

use std::sync::Arc;

use super::chain::{Chain, chains};
use super::cut::stood;
use super::divide::{Spans, divide, places};
use super::joint::FlatPath;
use super::model::{CrossKind, Face, Feature, Layout, Member, MemberKind, Stretch};
use super::piece::PlateOnBay;
use super::placed::placed;
use super::post::Post;
use super::run::{Bay, Segment, bays};
use super::strip::{EndCut, Guide, Strip};
use crate::fair::FairEdge;
use crate::fault::{Fault, Faults, Kind};
use crate::job::{Job, Side};
use crate::length::show;

/// What names of its lengths begin with: `CAP 2P`.
pub const CAP: &str = "CAP";
/// What it is made of.
const WOOD: &str = "wood";
/// Places along the cap that its lengths are measured by, mm apart.
const STEP: f64 = 20.0;
/// A board is wider than the estimate of a piece's width by this, mm.
const NEAR: f64 = 2.0;
/// From a length's end to the middle of its first scarf, in scarfs: as much as a
/// scarf stays whole.
const END: f64 = 1.5;

/// The cap's lengths, in the order in which they lie along each chain.
///
/// # Errors
/// The job has no cap; no place for a scarf within reach of the one before.
pub fn cap(edge: &FairEdge, job: &Job, layout: &Layout) -> Result<Vec<Member>, Faults> {
    if job.section.cap_thickness <= 0.0 {
        let what = "the job has no wood cap: it is given no thickness";
        let mend = "give section.cap_thickness, or ask for other kinds";
        let place = job.place("section.cap_thickness");
        return Err(Fault::new(Kind::Missing, place, what, mend).into());
    }
    let (plates, mut caps) = (chains(edge, job)?, chains(edge, job)?);
    for guides in caps.iter_mut().flat_map(|chain| &mut chain.guides) {
        guides.top = Arc::new(Guide {
            inset: -job.cap_outboard(),
            lift: job.section.cap_thickness / 2.0,
            width: job.section.cap_width,
            ..(*guides.top).clone()
        });
    }
    let (_, segments) = placed(&plates, job)?;
    let mut out = Vec::new();
    for segment in &segments {
        let (plate, chain) = (&plates[segment.chain], &caps[segment.chain]);
        let on_chain = layout.stanchions.iter().filter(|s| s.chain == chain.index);
        let posts: Vec<Post> = on_chain
            .map(|s| stood(plate, s))
            .collect::<Result<_, _>>()?;
        for bay in &bays(chain, segment, 0.0)? {
            let rail = Rail::new(chain, segment, bay);
            let scarfs = rail.scarfs(layout)?;
            for k in 0..=scarfs.len() {
                let before = k.checked_sub(1).map(|k| scarfs[k]);
                let length = rail.length_between([before, scarfs.get(k).copied()], &posts);
                out.push((chain.sides(&length), length));
            }
        }
    }
    Ok(named(out))
}

/// Lengths by their numbers from forward and their sides, `C` across the
/// centreline, as stanchions are named.
fn named(mut all: Vec<(Option<Side>, Member)>) -> Vec<Member> {
    for side in [Some(Side::Port), Some(Side::Starboard), None] {
        let mut of: Vec<&mut Member> = (all.iter_mut())
            .filter(|(on, _)| *on == side)
            .map(|(_, length)| length)
            .collect();
        // A chain runs aft on port and forward on starboard.
        if side == Some(Side::Starboard) {
            of.reverse();
        }
        let letter = match side {
            Some(Side::Port) => 'P',
            Some(Side::Starboard) => 'S',
            None => 'C',
        };
        for (k, length) in of.into_iter().enumerate() {
            length.name = format!("{CAP} {}{letter}", k + 1);
        }
    }
    all.into_iter().map(|(_, length)| length).collect()
}

impl Chain<'_> {
    /// The side that a length lies on; `None` where it goes over the centreline
    /// with a quarter of itself and more.
    fn sides(&self, length: &Member) -> Option<Side> {
        let Stretch { from, to, .. } = length.stretch;
        let [a, b] = [0.25, 0.75].map(|part| self.side(from + part * (to - from)));
        (a == b).then_some(a)
    }
}

/// The cap along a bay.
struct Rail<'a> {
    chain: &'a Chain<'a>,
    segment: &'a Segment,
    bay: &'a Bay,
    guide: &'a Arc<Guide>,
    /// Its middle line, as an outboard edge.
    middle: Guide,
    /// Length of the middle line over which it is whole, mm.
    length: f64,
    /// Places along it, evenly spaced, and both edges' lengths to each.
    at: Vec<f64>,
    runs: [Vec<f64>; 2],
    path: FlatPath,
    scarf: f64,
}

impl<'a> Rail<'a> {
    fn new(chain: &'a Chain<'a>, segment: &'a Segment, bay: &'a Bay) -> Self {
        let guide = &chain.guides[bay.length].top;
        let inset = |part: f64| Guide {
            inset: guide.inset + part * guide.width,
            ..(**guide).clone()
        };
        let [outboard, middle, inboard] = [0.0, 0.5, 1.0].map(inset);
        let from = bay.top[0].innermost(false);
        let length = middle.edge_length(from, bay.top[1].innermost(true));
        let count = (length / STEP).ceil().max(1.0);
        // An oblique end is longer on one edge.
        let start = |edge: &Guide, w: f64| edge.edge_length(bay.top[0].at(w), from);
        let mut runs = [vec![start(&outboard, 0.0)], vec![start(&inboard, 1.0)]];
        let mut at = vec![from];
        let mut last = from;
        for _ in 0..whole(count) {
            let next = middle.advance(last, length / count);
            for (run, edge) in runs.iter_mut().zip([&outboard, &inboard]) {
                let before = run.last().copied().unwrap_or(0.0);
                run.push(before + edge.edge_length(last, next));
            }
            at.push(next);
            last = next;
        }
        for ((run, edge), w) in runs.iter_mut().zip([&outboard, &inboard]).zip([0.0, 1.0]) {
            let beyond = edge.edge_length(last, bay.top[1].at(w));
            run[0] = 0.0;
            if let Some(end) = run.last_mut() {
                *end += beyond;
            }
        }
        Self {
            path: FlatPath::new(guide, &at),
            chain,
            segment,
            bay,
            guide,
            middle,
            length,
            at,
            runs,
            scarf: chain.job.cap_scarf(),
        }
    }

    /// Places of the grid about a distance along the middle line.
    fn about(&self, x: f64) -> (usize, usize, f64) {
        let last = self.at.len() - 1;
        let k = (x / self.length * last as f64).clamp(0.0, last as f64);
        (whole(k.floor()), whole(k.ceil()), k - k.floor())
    }

    /// The guide's parameter at a distance along the middle line, mm.
    fn u(&self, x: f64) -> f64 {
        let (k, _, part) = self.about(x);
        let step = self.length / (self.at.len() - 1) as f64;
        self.middle.advance(self.at[k], part * step)
    }

    /// The distance along the middle line of a parameter.
    fn distance(&self, u: f64) -> f64 {
        let k = self.at.partition_point(|&at| at <= u).max(1) - 1;
        let step = self.length / (self.at.len() - 1) as f64;
        k as f64 * step + self.middle.edge_length(self.at[k], u)
    }

    /// Whether a board holds the cap between two distances.
    fn holds(&self, from: f64, to: f64) -> bool {
        let job = self.chain.job;
        let ((i, i_next, part), (j, j_next, rest)) = (self.about(from), self.about(to));
        let longest = (self.runs.iter())
            .map(|run| {
                let at = |k: usize, next: usize, part: f64| run[k] + part * (run[next] - run[k]);
                at(j, j_next, rest) - at(i, i_next, part)
            })
            .fold(0.0, f64::max);
        let (_, wide) = self.path.size(i, j_next);
        let widest = job.cap.widest_piece.unwrap_or(f64::INFINITY);
        longest <= job.cap_longest() + 1e-6 && wide + NEAR <= widest
    }

    /// Middles of its scarfs along the middle line, ascending, mm: the fewest, then
    /// the most even; off the top plate's joints where there is such a place.
    fn scarfs(&self, layout: &Layout) -> Result<Vec<f64>, Fault> {
        let half = 0.5 * self.scarf;
        let ends = [
            (0.0, END * self.scarf),
            (self.length - END * self.scarf, self.length),
        ];
        let guides = &self.chain.guides[self.bay.length];
        let (from, to) = guides.range();
        let over = (layout.joints.iter())
            .filter(|j| j.kind == MemberKind::TopPlate && j.chain == self.chain.index)
            .filter(|j| j.t > from && j.t < to)
            .map(|j| self.distance(guides.u(j.t)))
            .map(|x| (x - half, x + half));
        let off: Vec<(f64, f64)> = ends.into_iter().chain(over).collect();
        self.divided(off).or_else(|_| self.divided(ends.to_vec()))
    }

    fn divided(&self, barred: Vec<(f64, f64)>) -> Result<Vec<f64>, Fault> {
        let flip = self.segment.flip;
        let spans = Spans::union(barred).within(0.0, self.length, flip);
        let half = 0.5 * self.scarf;
        let mut offsets = places(self.length, &spans);
        let last = offsets.len() - 1;
        // As if a scarf stood at either end: the most even distances between scarfs
        // are then the most even lengths.
        (offsets[0], offsets[last]) = (half, self.length - half);
        let fits = |i: usize, j: usize| {
            let (from, to) = (offsets[i] - half, offsets[j] + half);
            match flip {
                true => self.holds(self.length - to, self.length - from),
                false => self.holds(from, to),
            }
        };
        let reach = |i: usize| {
            // The first that no board holds ends the search.
            let (mut lo, mut hi) = (i, last + 1);
            while hi - lo > 1 {
                let mid = usize::midpoint(lo, hi);
                *(if fits(i, mid) { &mut lo } else { &mut hi }) = mid;
            }
            lo
        };
        let chosen = divide(&offsets, &reach).map_err(|stuck| self.no_place(offsets[stuck]))?;
        let mut out: Vec<f64> = chosen.into_iter().map(|i| offsets[i]).collect();
        if let Some(pair) = out.windows(2).find(|p| p[1] - p[0] < self.scarf) {
            return Err(self.no_place(pair[0]));
        }
        if flip {
            out.reverse();
            out = out.into_iter().map(|x| self.length - x).collect();
        }
        Ok(out)
    }

    fn no_place(&self, offset: f64) -> Fault {
        let (chain, job) = (self.chain, self.chain.job);
        let x = if self.segment.flip {
            self.length - offset
        } else {
            offset
        };
        Fault::new(
            Kind::Stock,
            job.place("cap").station(chain.name(self.t(self.u(x)))),
            format!(
                "the cap cannot be made of boards {} long{} from here on: a length holds a scarf of {} at either end and as much between them",
                show(job.cap_longest(), job.show),
                job.cap.widest_piece.map_or(String::new(), |w| format!(
                    " and {} wide",
                    show(w, job.show)
                )),
                show(self.scarf, job.show)
            ),
            "allow longer or wider boards (cap.longest_piece, cap.widest_piece) or shorter scarfs (cap.scarf)",
        )
    }

    /// t of the base line at a parameter, by bisection.
    fn t(&self, u: f64) -> f64 {
        let guides = &self.chain.guides[self.bay.length];
        let (mut lo, mut hi) = guides.range();
        for _ in 0..60 {
            let mid = 0.5 * (lo + hi);
            *(if guides.u(mid) < u { &mut lo } else { &mut hi }) = mid;
        }
        0.5 * (lo + hi)
    }

    /// The length between two scarfs, or an end of the bay in place of either.
    fn length_between(&self, scarfs: [Option<f64>; 2], posts: &[Post]) -> Member {
        let half = 0.5 * self.scarf;
        let end = |k: usize, off: f64| {
            let cut = |x: f64| EndCut::Across(self.u(x + off));
            scarfs[k].map_or_else(|| self.bay.top[k].clone(), cut)
        };
        let cuts = [end(0, -half), end(1, half)];
        let ends = [0, 1].map(|k| self.t(cuts[k].at(0.0)));
        let middle = 0.5 * (ends[0] + ends[1]);
        let on_bay = PlateOnBay {
            chain: self.chain,
            segment: self.segment,
            bay: self.bay,
            kind: MemberKind::TopPlate,
            posts: &[],
            obstacles: &[],
        };
        let mut features = self.plate_below(&cuts, posts);
        features.extend(on_bay.cross_lines(ends));
        for (k, off) in [(0, half), (1, -half)] {
            let Some(x) = scarfs[k] else { continue };
            features.push(self.scarf_line(x, off));
        }
        Member {
            name: String::new(),
            kind: MemberKind::Cap,
            alloy: WOOD.to_owned(),
            thickness: self.chain.job.section.cap_thickness,
            marked: Face::Upper,
            strip: Strip {
                guide: Arc::clone(self.guide),
                cuts,
            },
            stretch: Stretch {
                chain: self.chain.index,
                length: self.bay.length,
                from: ends[0],
                to: ends[1],
            },
            side: self.chain.side(middle),
            runs_aft: self.chain.guides[self.bay.length].base.tangent(middle).x < 0.0,
            features,
            place: self.chain.stretch(ends),
            allowance: None,
        }
    }

    /// The line where a scarf begins, which says the face that it is cut on.
    fn scarf_line(&self, x: f64, off: f64) -> Feature {
        let at_last_end = off < 0.0;
        // Forward is at the first end on port, at the last on starboard.
        let forward_end = (self.chain.side(self.t(self.u(x))) == Side::Starboard) == at_last_end;
        let face = if forward_end { "TOP" } else { "UNDER" };
        Feature::CrossLine {
            t: self.u(x + off),
            name: format!("SCARF, {face} FACE"),
            kind: CrossKind::Scarf,
        }
    }

    /// Edges of the top plate under a length, and stanchions under that.
    fn plate_below(&self, cuts: &[EndCut; 2], posts: &[Post]) -> Vec<Feature> {
        let (job, width) = (self.chain.job, self.guide.width);
        let over = |w: f64| (job.cap_outboard() + w * job.top.width) / width;
        let mut out: Vec<Feature> = Vec::new();
        for w in [0.0, 1.0].map(over) {
            let t = (cuts[0].at(w), cuts[1].at(w));
            out.push(Feature::EdgeLine { t, w });
        }
        let (from, to) = (cuts[0].at(0.5), cuts[1].at(0.5));
        for post in posts.iter().filter(|p| p.length == self.bay.length) {
            let Feature::Footprint { corners, name } = &post.top_print else {
                continue;
            };
            if corners.iter().all(|c| c.0 > from && c.0 < to) {
                out.push(Feature::Footprint {
                    corners: corners.iter().map(|&(u, w)| (u, over(w))).collect(),
                    name: name.clone(),
                });
            }
        }
        out
    }
}

/// A small number that is whole and not below nought.
fn whole(v: f64) -> usize {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "whole, not below nought, and of places along a boat"
    )]
    let n = v as usize;
    n
}
