//! Where plates are cut: lift joints of the whole bulwark, and welded butts
//! of each plate between them.

use super::chain::Chain;
use super::divide::{Divisible, Spans, within};
use super::piece::PlateOnBay;
use super::run::{Bay, Segment};
use super::strip::Guide;
use crate::fault::{Fault, Kind};
use crate::geom::vector::bounds;
use crate::geom::{Vec2, Vec3, vec2};
use crate::job::{Job, Sheet};

/// What a flat piece may measure: the usable part of every sheet on offer, mm.
#[derive(Debug, Clone)]
pub(super) struct Room {
    pub sheets: Vec<(f64, f64)>,
    pub longest: Option<f64>,
    pub widest: Option<f64>,
}

impl Room {
    /// Usable areas of the sheets of an alloy and thickness.
    pub(super) fn of(job: &Job, alloy: &str, thickness: f64) -> Self {
        let m = 2.0 * job.cutting.edge_margin;
        let of_plate = |s: &&Sheet| s.alloy == alloy && (s.thickness - thickness).abs() < 0.01;
        // The box of a remnant of odd shape, or of a sheet with clamps, says too
        // little: it counts where there is nothing else.
        let open = |s: &&Sheet| s.shape.is_none() && s.clamps.is_empty();
        let size = |s: &Sheet| (s.length - m, s.width - m);
        let all = || job.sheets.iter().filter(of_plate);
        let mut sheets: Vec<(f64, f64)> = all().filter(open).map(size).collect();
        if sheets.is_empty() {
            sheets = all().map(size).collect();
        }
        Self {
            sheets,
            longest: job.joints.longest_piece,
            widest: job.joints.widest_piece,
        }
    }

    /// A job that lists no sheets is not cut yet: its pieces are as long as its
    /// own longest piece.
    fn holds(&self, long: f64, wide: f64) -> bool {
        let on = |&(l, w): &(f64, f64)| (long <= l && wide <= w) || (long <= w && wide <= l);
        self.sheets.is_empty() || self.sheets.iter().any(on)
    }
}

/// A plate's flat edges at chosen places, near enough to see whether a piece
/// fits a sheet: the outboard edge by its geodesic curvature, the inboard edge
/// square to it.
#[derive(Debug)]
pub(super) struct FlatPath {
    outboard: Vec<Vec2>,
    inboard: Vec<Vec2>,
    run: Vec<f64>,
}

impl FlatPath {
    pub(super) fn new(guide: &Guide, at: &[f64]) -> Self {
        let (mut p, mut angle, mut run) = (Vec2::default(), 0.0, 0.0);
        let mut out = Self {
            outboard: vec![],
            inboard: vec![],
            run: vec![],
        };
        let mut before: Option<(Vec3, Vec3)> = None;
        for &t in at {
            let jet = guide.jet(t, 0.0);
            let tangent = jet.along.unit();
            let normal = jet.along.cross(jet.across).unit();
            if let Some((point, last)) = before {
                let turn = (tangent - last).dot(normal.cross((tangent + last).unit()));
                let step = jet.point.distance(point);
                p += vec2(step, 0.0).turned(angle + turn / 2.0);
                angle += turn;
                run += step;
            }
            before = Some((jet.point, tangent));
            out.outboard.push(p);
            out.inboard.push(p + vec2(0.0, guide.width).turned(angle));
            out.run.push(run);
        }
        out
    }

    /// Length and width of the box along the piece's chord.
    pub(super) fn size(&self, i: usize, j: usize) -> (f64, f64) {
        let (i, j) = (i.min(j), i.max(j));
        let along = (self.outboard[j] - self.outboard[i]).unit();
        let all = self.outboard[i..=j].iter().chain(&self.inboard[i..=j]);
        let (lo, hi) = bounds(all.map(|q| vec2(q.dot(along), along.cross(*q))));
        (hi.x - lo.x, hi.y - lo.y)
    }
}

/// Rules for the butts of one plate on one bay.
pub(super) struct ButtRules<'a> {
    pub plate: &'a PlateOnBay<'a>,
    pub barred: &'a Spans,
    pub room: &'a Room,
    /// Extra length of the closing piece, mm: the one divided last, which is
    /// the aftmost of a segment on one side.
    pub closing: Option<f64>,
}

/// Butts between two ends of a section, in t: the fewest, then the most even.
pub(super) fn butts(rules: &ButtRules<'_>, from: f64, to: f64) -> Result<Vec<f64>, Fault> {
    let plate = rules.plate;
    let places = Divisible::new(from, to, plate.segment.flip, rules.barred);
    let params: Vec<f64> = places.at.iter().map(|&t| plate.param(t)).collect();
    let path = FlatPath::new(plate.guide(), &params);
    let last = params.len() - 1;
    let fits = |i: usize, j: usize| {
        let extra = match rules.closing {
            Some(mm) if j == last => mm,
            _ => 0.0,
        };
        let run = (path.run[j] - path.run[i]).abs() + extra;
        // The path is an estimate to a millimetre or two.
        let holds = |long: f64, wide: f64| rules.room.holds(long + extra + 2.0, wide + 2.0);
        let chord = path.outboard[i].distance(path.outboard[j]);
        if rules.room.longest.is_some_and(|l| run > l + 1e-6) || !holds(chord, 0.0) {
            return false;
        }
        let (long, wide) = path.size(i, j);
        holds(long, wide) && rules.room.widest.is_none_or(|w| wide <= w + 1e-6)
    };
    let reach = |i: usize| {
        if fits(i, last) {
            return last;
        }
        // Longer pieces need more room: the first that does not fit ends the search.
        let (mut lo, mut hi) = (i, last);
        while hi - lo > 1 {
            let mid = usize::midpoint(lo, hi);
            if fits(i, mid) {
                lo = mid;
            } else {
                hi = mid;
            }
        }
        lo
    };
    places.divided(&reach).map_err(|t| no_place(plate, t))
}

fn no_place(plate: &PlateOnBay<'_>, t: f64) -> Fault {
    let what = format!(
        "no butt of the {} plate can stand within reach of the one before: the next place clear of stanchions, doublers and the other plate's butts is further than a piece from the stock can span",
        plate.word()
    );
    let fault = plate.chain.fault(
        "joints",
        t,
        what,
        "offer a longer or wider sheet, lessen joints.stagger, joints.clear_of_stanchion or the lengths to keep clear, or allow longer and wider pieces (joints.longest_piece, widest_piece)",
    );
    let kind = Kind::Stock;
    Fault { kind, ..fault }
}

/// Lift joints of a segment, in t.
pub(super) fn lifts(
    chain: &Chain<'_>,
    segment: &Segment,
    bays: &[Bay],
    barred: &Spans,
    mass_per_mm: f64,
) -> Result<Vec<f64>, Fault> {
    let j = &chain.job.joints;
    let by_mass = j.lift_mass.map(|m| m / mass_per_mm);
    let limit = match (j.lift_length, by_mass) {
        (Some(a), Some(b)) => a.min(b),
        (Some(a), None) | (None, Some(a)) => a,
        (None, None) => return Ok(vec![]),
    };
    let (from, to) = (segment.from, segment.to);
    // A lift joint keeps a plate's width clear of a corner, and of the ends
    // as far as a stanchion does: splices need room.
    let room = chain.job.base.width.max(chain.job.top.width) + j.clear_of_stanchion;
    let mut all = barred.intervals().to_vec();
    for bay in bays.iter().filter(|b| b.mitred[0]) {
        all.push((bay.from - 2.0 * room, bay.from + room));
    }
    all.extend([(from, from + room), (to - room, to)]);
    let places = Divisible::new(from, to, segment.flip, &Spans::union(all));
    let runs = edge_runs(chain, &places.at);
    let reach = |i: usize| within(&runs, i, limit).max(i);
    places.divided(&reach).map_err(|t| {
        let what = "no lift joint can stand within the greatest section length or mass from here";
        let mend = "allow longer or heavier sections, or lessen the lengths to keep clear";
        chain.fault("joints.lift_length", t, what, mend)
    })
}

/// Length run from the first place to each, along whichever plate's outboard
/// edge is longer from place to place (trapezium rule on places 20 mm apart).
fn edge_runs(chain: &Chain<'_>, at: &[f64]) -> Vec<f64> {
    let mut total = 0.0;
    let mut out = vec![0.0];
    for pair in at.windows(2) {
        let middle = 0.5 * (pair[0] + pair[1]);
        let g = &chain.guides[chain.length_at(middle)];
        let base = g.base.edge_speed(middle) * (pair[1] - pair[0]).abs();
        let (ua, ub) = (g.u(pair[0]), g.u(pair[1]));
        let top = g.top.edge_speed(0.5 * (ua + ub)) * (ub - ua).abs();
        total += base.max(top);
        out.push(total);
    }
    out
}
