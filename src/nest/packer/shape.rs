//! What the packer knows of a part: its outline grown by half the gap, and
//! the turns it may take.

use std::collections::BTreeMap;
use std::f64::consts::{FRAC_PI_2, PI, TAU};
use std::sync::Arc;

use geo::buffer::{Buffer, BufferStyle, LineJoin};

use super::chain::{self, Piece};
use crate::geom::outline::{arc_steps, hull};
use crate::geom::{Outline, Placement, Vec2, trig, vec2};
use crate::job::{Effort, Rotation};
use crate::nest::model::{NestJob, NestPart};

/// Arcs are replaced by tangents and chords this close, mm, always on the
/// outside. Coarser wastes plate (0.1 mm is a twentieth of a percent of a
/// 190 mm strip), finer only costs time.
const ARC: f64 = 0.1;
/// Outlines of more corners than this are grown by `ARC` more and thinned by
/// as much: time goes with the corners.
const MANY: usize = 40;
/// Most turns that are tried of a part before refining.
const MOST_TURNS: usize = 48;

/// Parts of the same outline, and all that is worked out of it once.
#[derive(Debug)]
pub(super) struct Class {
    /// Turns tried first.
    pub turns: Vec<Arc<Turned>>,
    /// Grown outline: outer rings and holes.
    rings: Vec<Vec<Vec2>>,
    outline: Outline,
    /// Area less holes that other parts may lie in, mm2.
    pub area: f64,
    /// Centre of area of the outer ring.
    centre: Vec2,
    /// Greatest extent, mm.
    pub diameter: f64,
    /// Height of the lowest lying turn, mm.
    pub lying: f64,
}

/// A class at a turn.
#[derive(Debug, Clone)]
pub(super) struct Turned {
    pub turn: f64,
    /// Grown region.
    pub pieces: Vec<Piece>,
    /// Box of the grown region.
    pub grown: (Vec2, Vec2),
    /// Box of the true outline.
    pub net: (Vec2, Vec2),
    pub centre: Vec2,
}

/// What tells classes apart: the bits of a part's outline and holes.
type Key = Vec<Vec<[u64; 3]>>;

/// Classes of a job, and the class of each part.
pub(super) fn classes(job: &NestJob) -> (Vec<Class>, Vec<usize>) {
    let mut index: BTreeMap<Key, usize> = BTreeMap::new();
    let mut classes = Vec::new();
    let mut of = Vec::with_capacity(job.parts.len());
    // Nothing lies in a hole narrower than the slimmest part.
    let slimmest = job
        .parts
        .iter()
        .filter_map(|p| Some(flush_turns(&hull(outside(&p.outline, ARC))).first()?.1))
        .fold(f64::INFINITY, f64::min);
    for part in &job.parts {
        let bits = |o: &Outline| {
            o.vertices
                .iter()
                .map(|v| [v.at.x.to_bits(), v.at.y.to_bits(), v.bulge.to_bits()])
                .collect()
        };
        let key = std::iter::once(&part.outline).chain(&part.holes);
        let key = key.map(bits).collect();
        let class = *index.entry(key).or_insert_with(|| {
            classes.push(Class::new(part, slimmest, job));
            classes.len() - 1
        });
        of.push(class);
    }
    (classes, of)
}

impl Class {
    fn new(part: &NestPart, slimmest: f64, job: &NestJob) -> Self {
        let outline = &part.outline;
        let flat = outside(outline, ARC);
        let wide = |h: &&Outline| {
            let (lo, hi) = h.bounds();
            (hi.x - lo.x).min(hi.y - lo.y) >= slimmest + 2.0 * job.gap
        };
        let clockwise = |h: &Outline| {
            if h.area() > 0.0 {
                h.reversed()
            } else {
                h.clone()
            }
        };
        let holes: Vec<Outline> = part.holes.iter().filter(wide).map(clockwise).collect();
        let bored = holes.iter().map(|h| outside(h, ARC)).collect();
        let rings = grown(&flat, bored, 0.5 * job.gap);
        let hull = hull(flat.clone());
        let mut diameter: f64 = 0.0;
        for (i, p) in hull.iter().enumerate() {
            for q in &hull[i + 1..] {
                diameter = diameter.max(p.distance(*q));
            }
        }
        let flush = flush_turns(&hull);
        let mut class = Self {
            turns: Vec::new(),
            rings,
            outline: outline.clone(),
            area: outline.area() + holes.iter().map(Outline::area).sum::<f64>(),
            centre: centroid(&flat),
            diameter,
            lying: flush.first().map_or(0.0, |f| f.1),
        };
        for turn in turns(&flush, class.diameter, job) {
            class.add_turn(turn);
        }
        class
    }

    /// Corners of the grown outline.
    pub(super) fn corners(&self) -> usize {
        self.rings.iter().map(Vec::len).sum()
    }

    /// The class at any turn.
    pub(super) fn turned(&self, turn: f64) -> Turned {
        let (s, c) = (trig::sin(turn), trig::cos(turn));
        let spin = |p: Vec2| vec2(c * p.x - s * p.y, s * p.x + c * p.y);
        let rings: Vec<Vec<Vec2>> = self
            .rings
            .iter()
            .map(|r| r.iter().map(|&p| spin(p)).collect())
            .collect();
        let pieces = chain::pieces(&rings);
        let mut grown = (
            vec2(f64::INFINITY, f64::INFINITY),
            vec2(f64::NEG_INFINITY, f64::NEG_INFINITY),
        );
        for p in &pieces {
            grown.0 = vec2(grown.0.x.min(p.lo.x), grown.0.y.min(p.lo.y));
            grown.1 = vec2(grown.1.x.max(p.hi.x), grown.1.y.max(p.hi.y));
        }
        let placed = self.outline.placed(Placement {
            turn,
            shift: vec2(0.0, 0.0),
        });
        Turned {
            turn,
            pieces,
            grown,
            net: placed.bounds(),
            centre: spin(self.centre),
        }
    }
}

impl Class {
    /// Upper right corner of the true outline's box, placed.
    pub(super) fn net_high(&self, placement: Placement) -> Vec2 {
        self.outline.placed(placement).bounds().1
    }

    /// Extent of the true outline at a turn.
    pub(super) fn size_at(&self, turn: f64) -> Vec2 {
        let (lo, hi) = self
            .outline
            .placed(Placement {
                turn,
                shift: vec2(0.0, 0.0),
            })
            .bounds();
        hi - lo
    }

    /// Adds a turn to those tried.
    pub(super) fn add_turn(&mut self, turn: f64) {
        let t = self.turned(turn);
        if !self.turns.iter().any(|o| alike(o, &t)) {
            self.turns.push(Arc::new(t));
        }
    }
}

impl Turned {
    /// Extent of the true outline.
    pub(super) fn size(&self) -> Vec2 {
        self.net.1 - self.net.0
    }
}

/// True where two turns of a class cover the same ground but for a shift.
fn alike(a: &Turned, b: &Turned) -> bool {
    /// Below this nobody can tell two turned shapes apart, mm.
    const CLOSE: f64 = 1e-6;
    let near = |p: Vec2, q: Vec2| (p - q).length() < CLOSE;
    let same = |p: &[Vec2], q: &[Vec2]| {
        p.len() == q.len()
            && p.iter()
                .zip(q)
                .all(|(&p, &q)| near(p - a.grown.0, q - b.grown.0))
    };
    a.pieces.len() == b.pieces.len()
        && near(a.size(), b.size())
        && a.pieces
            .iter()
            .zip(&b.pieces)
            .all(|(p, q)| same(&p.lower, &q.lower) && same(&p.upper, &q.upper))
}

/// The outline as a polygon that holds it whole: tangents outside arcs that
/// bulge out, chords across those that bulge in.
pub(super) fn outside(outline: &Outline, tolerance: f64) -> Vec<Vec2> {
    let mut out = Vec::new();
    for s in outline.segments() {
        let Some(arc) = s.circle else {
            out.push(s.a);
            continue;
        };
        let sweep = s.sweep().abs();
        if s.bulge > 0.0 {
            out.push(s.a);
            // Corners of tangents stand r (1 / cos(step / 2) - 1) off the arc,
            // about the sagitta of the same step; a step over a third of a
            // turn would throw the corner far off.
            let n = arc_steps(arc.radius, sweep, tolerance).max(if sweep > 2.0 { 4 } else { 1 });
            let half = 0.5 * sweep / n as f64;
            let far = arc.radius / trig::cos(half);
            let corner = |k: usize| {
                let out = s.at((k as f64 + 0.5) / n as f64) - arc.centre;
                arc.centre + out * (far / arc.radius)
            };
            out.extend((0..n).map(corner));
        } else {
            let n = arc_steps(arc.radius, sweep, tolerance);
            out.extend(s.steps(n));
        }
    }
    out
}

/// The polygon grown by a distance at least, corners mitred up to a right
/// angle. (A mitred corner holds the round one.) The offset library works on
/// a grid of about 1e-9 of the size; `SLACK` of the fill covers it.
fn grown(flat: &[Vec2], holes: Vec<Vec<Vec2>>, distance: f64) -> Vec<Vec<Vec2>> {
    let many = flat.len() + holes.iter().map(Vec::len).sum::<usize>() > MANY;
    let distance = if many { distance + ARC } else { distance };
    if distance <= 0.0 {
        return std::iter::once(flat.to_vec()).chain(holes).collect();
    }
    let ring = |points: &[Vec2]| points.iter().map(|p| (p.x, p.y)).collect::<Vec<_>>();
    let polygon = geo::Polygon::new(
        ring(flat).into(),
        holes.iter().map(|h| ring(h).into()).collect(),
    );
    let style = BufferStyle::new(distance).line_join(LineJoin::Miter(FRAC_PI_2));
    let mut rings = Vec::new();
    for p in polygon.buffer_with_style(style) {
        for line in std::iter::once(p.exterior()).chain(p.interiors()) {
            let mut points: Vec<Vec2> = line.coords().map(|c| vec2(c.x, c.y)).collect();
            points.pop();
            rings.push(if many { thinned(&points, ARC) } else { points });
        }
    }
    rings
}

/// A closed line with fewer points, nowhere further than `tolerance` from
/// the one given (Douglas and Peucker 1973, on the two halves between the
/// first point and the one furthest from it).
fn thinned(ring: &[Vec2], tolerance: f64) -> Vec<Vec2> {
    let Some(&first) = ring.first() else {
        return Vec::new();
    };
    let far = (0..ring.len())
        .max_by(|&i, &j| {
            first
                .distance(ring[i])
                .total_cmp(&first.distance(ring[j]))
                .then(j.cmp(&i))
        })
        .unwrap_or(0);
    let mut keep = vec![false; ring.len() + 1];
    keep[0] = true;
    keep[far] = true;
    let mut spans = vec![(0, far), (far, ring.len())];
    while let Some((i, j)) = spans.pop() {
        let (a, b) = (ring[i], ring[j % ring.len()]);
        let along = b - a;
        let mut worst = (tolerance, None);
        for (k, p) in ring.iter().enumerate().take(j).skip(i + 1) {
            let t = ((*p - a).dot(along) / along.dot(along).max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
            let d = p.distance(a + along * t);
            if d > worst.0 {
                worst = (d, Some(k));
            }
        }
        if let Some(k) = worst.1 {
            keep[k] = true;
            spans.push((i, k));
            spans.push((k, j));
        }
    }
    ring.iter()
        .zip(&keep)
        .filter(|(_, k)| **k)
        .map(|(p, _)| *p)
        .collect()
}

/// Centre of area of a polygon; of its corners where it has no area.
fn centroid(flat: &[Vec2]) -> Vec2 {
    let origin = flat.first().copied().unwrap_or_default();
    let (mut sum, mut twice) = (vec2(0.0, 0.0), 0.0);
    for i in 0..flat.len() {
        let (a, b) = (flat[i] - origin, flat[(i + 1) % flat.len()] - origin);
        let cross = a.cross(b);
        twice += cross;
        sum += (a + b) * cross;
    }
    if twice.abs() > 0.0 {
        origin + sum * (1.0 / (3.0 * twice))
    } else {
        origin
    }
}

/// Turns that lay an edge of the hull along x, below the hull, with the
/// height of the hull then; lowest first.
fn flush_turns(hull: &[Vec2]) -> Vec<(f64, f64)> {
    let mut out: Vec<(f64, f64)> = (0..hull.len())
        .map(|i| {
            let (a, b) = (hull[i], hull[(i + 1) % hull.len()]);
            let along = (b - a).unit();
            let height = hull.iter().map(|p| along.cross(*p - a)).fold(0.0, f64::max);
            (-along.angle(), height)
        })
        .collect();
    out.sort_by(|p, q| p.1.total_cmp(&q.1).then(p.0.total_cmp(&q.0)));
    out
}

/// Turns to try of a shape, in the job's rule.
fn turns(flush: &[(f64, f64)], diameter: f64, job: &NestJob) -> Vec<f64> {
    let mut wanted = vec![0.0];
    // The lowest lying turns of long parts, then every flush one of small
    // parts with few edges; each with its quarter turns.
    let quick = job.effort == Effort::Quick;
    let count = match (flush.len() > 12, quick) {
        (true, true) => 1,
        (true, false) | (false, true) => flush.len().min(2),
        (false, false) => flush.len().min(6),
    };
    for &(turn, _) in flush.iter().take(count) {
        wanted.extend((0..4).map(|k| turn + f64::from(k) * FRAC_PI_2));
    }
    if let Some(&(turn, height)) = flush.first().filter(|f| f.1 < 0.5 * diameter) {
        // Long parts: turned a little either way, their ends moving by a part
        // of their own height.
        let tilts: &[f64] = if quick {
            &[0.15]
        } else {
            &[0.05, 0.1, 0.2, 0.35]
        };
        for &part in tilts {
            let step = trig::atan2(2.0 * part * height, diameter);
            for base in [turn, turn + PI] {
                wanted.extend([base + step, base - step]);
            }
        }
    }
    match job.rotation {
        Rotation::Free => {}
        Rotation::Steps(step) => return steps(step),
        Rotation::Within(limit) => {
            wanted.extend([
                limit,
                -limit,
                0.5 * limit,
                -0.5 * limit,
                PI + limit,
                PI - limit,
                PI,
            ]);
            wanted = wanted.iter().map(|&t| within(t, limit)).collect();
        }
    }
    let mut out: Vec<f64> = Vec::new();
    for t in wanted {
        let t = wrapped(t);
        if !out.iter().any(|o| wrapped(o - t).abs() < 1e-9) && out.len() < MOST_TURNS {
            out.push(t);
        }
    }
    out
}

/// Whole steps round the turn, thinned evenly where they are too many.
fn steps(step: f64) -> Vec<f64> {
    let step = step.abs();
    let count = ((TAU - 1e-9) / step).floor();
    if !(count.is_finite() && count > 0.0) {
        return vec![0.0];
    }
    let every = ((count + 1.0) / MOST_TURNS as f64).ceil();
    let mut out = Vec::new();
    let mut k = 0.0;
    while k <= count {
        out.push(k * step);
        k += every;
    }
    out
}

/// The nearest turn that keeps the part's x axis within `limit` of the
/// sheet's length, either way round.
pub(super) fn within(turn: f64, limit: f64) -> f64 {
    let turn = wrapped(turn);
    let base = if turn.abs() <= FRAC_PI_2 { 0.0 } else { PI };
    let off = wrapped(turn - base).clamp(-limit, limit);
    base + off
}

/// The same direction between minus and plus half a turn.
pub(super) fn wrapped(turn: f64) -> f64 {
    let t = turn.rem_euclid(TAU);
    if t > PI { t - TAU } else { t }
}
