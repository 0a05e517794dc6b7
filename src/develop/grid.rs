//! The discretisation: spline bases fitted to the strip, and the metric of
//! the surface at the quadrature points.

use super::model::{Error, Options};
use crate::geom::bspline::{Basis, Near, ORDER};
use crate::geom::patch::{Jet, Patch};
use crate::geom::{Vec3, trig};

/// Degree of the flat map along the strip. Quintic: with spans of 0.06 rad
/// the false strain of a cone is below 1e-9; a cubic would need spans six
/// times shorter.
const DEGREE_ALONG: usize = 5;
/// Highest degree across; more nodes add spans instead.
const DEGREE_ACROSS: usize = 4;
/// Quadrature lines in a span along the strip: at least as many as the
/// control nodes that a span adds (3 at a triple knot), or the normal
/// equations of the first guess become singular.
const LINES: usize = 4;
/// Quadrature lines in a span that an oblique end cuts: the jump of the
/// weight needs more.
const LINES_AT_END: usize = 8;
/// Fewest spans, so that even the shortest strip has as many lines as nodes.
const SPANS_LEAST: usize = 4;
/// Most spans: refuses a surface so crumpled that it cannot be meant, before
/// it takes all memory.
const SPANS_MOST: usize = 20_000;
/// Repeats of a knot where the surface's third derivative jumps: the flat
/// map's third derivative must be able to jump there too.
const KNOT_REPEATS: usize = 3;
/// Weight of the rectangle outside the strip's ends: it only keeps the map
/// regular there. Larger would pull on the real plate (the pull is in
/// proportion), much smaller would lose the control nodes beyond the end to
/// rounding.
const OUTSIDE: f64 = 1e-6;
/// Where one edge is longer than the other by more than this factor, the
/// strip is wide for its radius, and strain across it is no longer close to
/// a parabola: [`NODES_WIDE`] more nodes. On a screw flight (factor 2.3) they
/// take the energy from 0.24 % above the least to 0.006 %.
const UNEVEN: f64 = 1.25;
const NODES_WIDE: usize = 2;
/// A surface element smaller than this part of the strip's mean is
/// degenerate.
const DEGENERATE: f64 = 1e-9;

/// Places across that every line is asked for beside its quadrature points:
/// both edges and the middle.
const MARKS: [f64; 3] = [0.0, 1.0, 0.5];

/// A line of quadrature points across the strip.
#[derive(Debug, Clone)]
pub(super) struct Line {
    pub(super) t: f64,
    /// Quadrature weight along t.
    pub(super) weight: f64,
    /// First basis function along the strip that is not zero.
    pub(super) first: usize,
    /// Values and derivatives of the basis functions along the strip.
    pub(super) basis: [[f64; ORDER]; 2],
    /// The surface at mid width.
    pub(super) middle: Jet,
}

/// A quadrature point: strain is a linear function of the map's derivatives.
/// With the orthonormal frame (along, square to it) of the surface the map's
/// gradient has the columns `a f_t` and `b f_t + c f_w`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Node {
    pub(super) a: f64,
    pub(super) b: f64,
    pub(super) c: f64,
    /// Surface area, mm2; reduced outside the strip's ends.
    pub(super) area: f64,
    /// Inside the strip's ends.
    pub(super) inside: bool,
}

/// Basis functions across the strip at a quadrature place.
#[derive(Debug, Clone)]
pub(super) struct Across {
    pub(super) w: f64,
    pub(super) weight: f64,
    pub(super) value: Vec<f64>,
    pub(super) slope: Vec<f64>,
}

/// Bases, quadrature lines and the metric at their points.
#[derive(Debug, Clone)]
pub(super) struct Grid {
    pub(super) along: Basis,
    pub(super) across: Basis,
    pub(super) lines: Vec<Line>,
    pub(super) places: Vec<Across>,
    /// Points of all lines, those of a line together.
    pub(super) nodes: Vec<Node>,
    /// Area inside the ends, mm2.
    pub(super) area: f64,
}

/// Metric of a surface in the frame (along, square to it): the coefficients
/// a, b, c of [`Node`] and the area element. `None` where it is degenerate.
pub(super) fn metric(jet: &Jet) -> Option<[f64; 4]> {
    let speed = jet.along.length();
    let skew = jet.across.dot(jet.along) / speed;
    let element = jet.along.cross(jet.across).length();
    let square = element / speed;
    let (a, c) = (1.0 / speed, 1.0 / square);
    let all = [a, -skew * a * c, c, element];
    (all.iter().all(|x| x.is_finite()) && element > 0.0).then_some(all)
}

impl Grid {
    pub(super) fn new(patch: &dyn Patch, options: &Options) -> Result<Self, Error> {
        let (first, last) = patch.range();
        if !(first.is_finite() && last.is_finite() && last > first) {
            return Err(Error::NoLength { first, last });
        }
        let (breaks, repeats) = breaks(patch, options, first, last)?;
        let along = Basis::with_repeats(DEGREE_ALONG, &breaks, |k| repeats[k]);
        let wide = unevenness(patch, &breaks) > UNEVEN;
        let across = across_basis(options.nodes_across + if wide { NODES_WIDE } else { 0 });
        let places = places(&across);
        let ends: Vec<_> = places.iter().map(|p| patch.ends(p.w)).collect();
        let cut = ends
            .iter()
            .fold((f64::NEG_INFINITY, f64::INFINITY), |(a, b), &(lo, hi)| {
                (a.max(lo), b.min(hi))
            });
        let mut grid = Self {
            along,
            across,
            lines: Vec::with_capacity(breaks.len() * LINES),
            nodes: Vec::with_capacity(breaks.len() * LINES * places.len()),
            places,
            area: 0.0,
        };
        let asked = MARKS.into_iter().chain(grid.places.iter().map(|p| p.w));
        let asked: Vec<f64> = asked.collect();
        for pair in breaks.windows(2) {
            let whole = pair[0] >= cut.0 && pair[1] <= cut.1;
            let lines: &[(f64, f64)] = if whole {
                &gauss::<LINES>()
            } else {
                &gauss::<LINES_AT_END>()
            };
            for &(x, weight) in lines {
                let t = pair[0] + (pair[1] - pair[0]) * x;
                grid.add_line(patch, t, weight * (pair[1] - pair[0]), &asked, &ends)?;
            }
        }
        grid.refuse_degenerate()?;
        Ok(grid)
    }

    fn add_line(
        &mut self,
        patch: &dyn Patch,
        t: f64,
        weight: f64,
        asked: &[f64],
        ends: &[(f64, f64)],
    ) -> Result<(), Error> {
        let mut jets = Vec::with_capacity(asked.len());
        patch.line(t, asked, &mut jets);
        let up = upper(&jets[0]);
        let inboard = upper(&jets[1]);
        let middle = jets[2];
        check_finite(&middle, t, 0.5)?;
        for ((place, &(lo, hi)), jet) in self.places.iter().zip(ends).zip(&jets[MARKS.len()..]) {
            let w = place.w;
            let inside = t >= lo && t <= hi;
            check_finite(jet, t, w)?;
            let node = match metric(jet) {
                Some(_) if inside && upper(jet).dot(up) <= 0.0 => {
                    return Err(Error::Folded { t, w });
                }
                Some([a, b, c, element]) => {
                    let real = if inside { 1.0 } else { OUTSIDE };
                    let area = element * weight * place.weight * real;
                    Node {
                        a,
                        b,
                        c,
                        area,
                        inside,
                    }
                }
                None if inside && inboard.dot(up) < 0.0 => {
                    // The very place where it turns over.
                    return Err(Error::Folded { t, w });
                }
                None if inside => return Err(Error::Degenerate { t, w }),
                // Nothing is there: a point that pulls on nothing.
                None => Node {
                    a: 1.0,
                    b: 0.0,
                    c: 1.0,
                    area: 0.0,
                    inside,
                },
            };
            if inside {
                self.area += node.area;
            }
            self.nodes.push(node);
        }
        let Near { first, ders: basis } = self.along.near::<2>(t);
        self.lines.push(Line {
            t,
            weight,
            first,
            basis,
            middle,
        });
        Ok(())
    }

    /// A surface element far below the mean is a strip without width.
    fn refuse_degenerate(&self) -> Result<(), Error> {
        let (first, last) = self.along.range();
        let mean = self.area / (last - first);
        let count = self.places.len();
        for (line, nodes) in self.lines.iter().zip(self.nodes.chunks_exact(count)) {
            for (node, place) in nodes.iter().zip(&self.places) {
                let element = node.area / (line.weight * place.weight);
                if node.inside && element < DEGENERATE * mean {
                    return Err(Error::Degenerate {
                        t: line.t,
                        w: place.w,
                    });
                }
            }
        }
        Ok(())
    }
}

/// Unit normal to the upper face.
pub(super) fn upper(jet: &Jet) -> Vec3 {
    jet.along.cross(jet.across).unit()
}

pub(super) fn check_finite(jet: &Jet, t: f64, w: f64) -> Result<(), Error> {
    let sum = jet.point.dot(jet.point) + jet.along.dot(jet.along) + jet.across.dot(jet.across);
    if sum.is_finite() {
        Ok(())
    } else {
        Err(Error::NotFinite { t, w })
    }
}

/// A knot closer than this, mm, to the last one kept or to an end is left out:
/// the jump that it stands for has no room to act, and the map in a sliver,
/// which costs no energy, would bend as it likes.
const SLIVER_MM: f64 = 5.0;

/// Breaks of the basis along the strip, and how often each is repeated: the
/// patch's own knots, and others between so that no span is too long or
/// turns too far.
fn breaks(
    patch: &dyn Patch,
    options: &Options,
    first: f64,
    last: f64,
) -> Result<(Vec<f64>, Vec<usize>), Error> {
    let speed = patch.jet(0.5 * (first + last), 0.5).along.length();
    let least = ((last - first) * 1e-4).max(SLIVER_MM / speed);
    let mut coarse = vec![first];
    for k in patch.knots() {
        let room = k - coarse[coarse.len() - 1] > least && last - k > least;
        if room {
            coarse.push(k);
        }
    }
    coarse.push(last);
    let pieces_least = SPANS_LEAST.div_ceil(coarse.len() - 1);
    let (mut out, mut repeats) = (vec![first], vec![1]);
    for pair in coarse.windows(2) {
        let (length, turn) = size(patch, pair[0], pair[1])?;
        let wanted = (length / options.span_mm).max(turn / options.span_turn);
        let pieces = count(wanted).max(pieces_least);
        if out.len() + pieces > SPANS_MOST {
            return Err(Error::Creased { t: pair[0] });
        }
        for k in 1..pieces {
            out.push(pair[0] + (pair[1] - pair[0]) * k as f64 / pieces as f64);
            repeats.push(1);
        }
        out.push(pair[1]);
        repeats.push(KNOT_REPEATS);
    }
    Ok((out, repeats))
}

/// Largest ratio of the two edges' speeds at the middles of the spans.
fn unevenness(patch: &dyn Patch, breaks: &[f64]) -> f64 {
    let mut edges = Vec::new();
    let ratio = |pair: &[f64]| {
        let t = 0.5 * (pair[0] + pair[1]);
        patch.line(t, &MARKS[..2], &mut edges);
        let (a, b) = (edges[0].along.length(), edges[1].along.length());
        a.max(b) / a.min(b)
    };
    breaks.windows(2).map(ratio).fold(1.0, f64::max)
}

/// Rounds up to a count; anything unreasonable becomes the most allowed.
fn count(wanted: f64) -> usize {
    let mut n = 1;
    while (n as f64) < wanted && n < SPANS_MOST {
        n += 1;
    }
    n
}

/// Length and turning of a piece of strip: the longer edge, and the angle
/// that its frame would turn through if it turned everywhere as it does at
/// its sharpest. Steps are halved until no turn can be mistaken for another.
fn size(patch: &dyn Patch, from: f64, to: f64) -> Result<(f64, f64), Error> {
    const EDGES: [f64; 2] = [0.0, 1.0];
    const CLEAR_TURN: f64 = 0.3;
    const STEPS_MOST: u32 = 4096;
    let mut steps = 4;
    loop {
        let mut sharpest = (0.0_f64, from);
        let mut lengths = [0.0_f64; 2];
        let (mut here, mut before) = (Vec::new(), Vec::<Jet>::new());
        for k in 0..=steps {
            let t = from + (to - from) * f64::from(k) / f64::from(steps);
            patch.line(t, &EDGES, &mut here);
            for (edge, jet) in here.iter().enumerate() {
                check_finite(jet, t, EDGES[edge])?;
                let Some(b) = before.get(edge) else { continue };
                lengths[edge] += b.point.distance(jet.point);
                let turn = angle(b.along, jet.along).max(angle(upper(b), upper(jet)));
                if turn > sharpest.0 {
                    sharpest = (turn, t);
                }
            }
            std::mem::swap(&mut here, &mut before);
        }
        let longest = lengths[0].max(lengths[1]);
        let (turn, t) = sharpest;
        if turn < CLEAR_TURN {
            return Ok((longest, turn * f64::from(steps)));
        }
        if steps >= STEPS_MOST {
            // A fold turns the inboard edge about at once.
            let back = t - (to - from) / f64::from(steps);
            let opposed = |t| upper(&patch.jet(t, 0.0)).dot(upper(&patch.jet(t, 1.0))) < 0.0;
            return Err(if opposed(t) || opposed(back) {
                Error::Folded { t, w: 1.0 }
            } else {
                Error::Creased { t }
            });
        }
        steps *= 2;
    }
}

/// Angle between two vectors, rad.
pub(super) fn angle(a: Vec3, b: Vec3) -> f64 {
    trig::atan2(a.cross(b).length(), a.dot(b))
}

fn across_basis(nodes: usize) -> Basis {
    let degree = DEGREE_ACROSS.min(nodes - 1);
    let spans = nodes - degree;
    let breaks: Vec<f64> = (0..=spans).map(|k| k as f64 / spans as f64).collect();
    Basis::clamped(degree, &breaks)
}

/// Quadrature places across, with the basis functions there.
fn places(across: &Basis) -> Vec<Across> {
    let mut out = Vec::new();
    for pair in across.breaks().windows(2) {
        for (x, weight) in gauss::<{ DEGREE_ACROSS + 1 }>() {
            let w = pair[0] + (pair[1] - pair[0]) * x;
            let Near { first, ders } = across.near::<2>(w);
            let mut value = vec![0.0; across.len()];
            let mut slope = vec![0.0; across.len()];
            let order = across.degree() + 1;
            value[first..first + order].copy_from_slice(&ders[0][..order]);
            slope[first..first + order].copy_from_slice(&ders[1][..order]);
            out.push(Across {
                w,
                weight: weight * (pair[1] - pair[0]),
                value,
                slope,
            });
        }
    }
    out
}

/// Gauss-Legendre places and weights on 0..1: roots of the Legendre
/// polynomial by Newton's method (Abramowitz & Stegun 25.4.29 and 22.7.10).
pub(super) fn gauss<const N: usize>() -> [(f64, f64); N] {
    let n = N as f64;
    let mut out = [(0.0, 0.0); N];
    for (k, slot) in out.iter_mut().enumerate() {
        let mut x = trig::cos(std::f64::consts::PI * (n - k as f64 - 0.25) / (n + 0.5));
        let mut slope = 1.0;
        // Quadratic convergence from a guess good to 1e-3: five are plenty.
        for _ in 0..6 {
            let (mut p, mut q) = (1.0, 0.0);
            for j in 1..=N {
                let j = j as f64;
                (p, q) = (((2.0 * j - 1.0) * x * p - (j - 1.0) * q) / j, p);
            }
            slope = n * (x * p - q) / (x * x - 1.0);
            x -= p / slope;
        }
        *slot = (0.5 + 0.5 * x, 1.0 / ((1.0 - x * x) * slope * slope));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::gauss;

    #[test]
    fn gauss_places_integrate_polynomials_of_twice_their_number_exactly() {
        let rule = gauss::<4>();
        for degree in 0..8_u32 {
            let sum: f64 = rule
                .iter()
                .map(|&(x, w)| w * (0..degree).fold(1.0, |p, _| p * x))
                .sum();
            assert!(
                (sum - 1.0 / f64::from(degree + 1)).abs() < 1e-15,
                "{degree}"
            );
        }
        assert!(rule.windows(2).all(|p| p[0].0 < p[1].0));
    }
}
