//! Smooth curves as few lines and circular arcs, tangent to each other.
//!
//! Method: the curve is sampled with its tangents. From each break the
//! longest span is sought (doubling, then bisection) whose biarc, two arcs
//! that meet the curve's points and tangents at both ends of the span and
//! each other with one tangent, stays within the tolerance at every sample.
//! The junction is the one of equal control lengths; its equation is the
//! textbook quadratic worked out at `Biarc::new`. Spans of one true circle
//! or straight line are joined and written as such.
//!
//! Guarantee: the distance of the curve from the chain is measured at all
//! samples and half-way between them and is at most the tolerance. Curve
//! and chain begin and end at the same points, so the feet of the curve's
//! points sweep over the whole chain: the distance holds both ways while the
//! tolerance is small against the radii. Where it fails, the samples are
//! doubled and the aim tightened, at most [`ATTEMPTS`] times.

use std::f64::consts::TAU;

use super::segment::{Segment, Vertex};
use super::trig;
use super::vector::{Vec2, vec2};

/// Part of the tolerance that spans aim at; the rest covers what happens
/// between samples. Nearer to 1 the check fails more often and costs a
/// second fit, lower gives more arcs.
const AIM: f64 = 0.9;
/// A span within this part of the tolerance of one circle or line is that
/// circle or line. Larger, and the tangent at its ends would visibly break;
/// smaller, and noise of a numerical map hides true circles.
const TRUE_FORM: f64 = 0.02;
/// Aimed distance between samples, mm: a deck edge does nothing within 8 mm.
const SAMPLE_STEP: f64 = 8.0;
/// Fewest and most samples of an edge.
const SAMPLES: (f64, f64) = (128.0, 8192.0);
/// Samples that tell how long an edge is.
const COARSE: usize = 16;
/// Most that a step between samples may exceed what the derivatives at its
/// ends say. A smooth curve stays near 1; a jump, which no distance from the
/// samples would show, is far above.
const LONGEST_STEP: f64 = 3.0;
/// Longest sweep of one arc, rad (170 degrees): controllers differ in how
/// they read a half turn.
const MAX_SWEEP: f64 = 170.0 / 360.0 * TAU;
/// Bulge of [`MAX_SWEEP`]: tan(42.5 degrees).
const MAX_BULGE: f64 = 0.916_331_174_017_423_4;
/// Arcs of a greater radius, mm, become lines where the tolerance allows:
/// controllers lose digits in the centre of such arcs.
const MAX_RADIUS: f64 = 1.0e6;
/// Most refinements before the fit gives up.
pub const ATTEMPTS: u32 = 6;

/// A plane curve: point and derivative at a parameter.
pub type Curve<'a> = &'a dyn Fn(f64) -> (Vec2, Vec2);

/// Why a curve could not be fitted.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum FitFault {
    /// A point or tangent is not finite, or a tangent has no length.
    #[error("the curve has no point or no direction at parameter {0}")]
    NoTangent(f64),
    /// Neighbouring points lie further apart than the derivative allows.
    #[error("the curve jumps at parameter {0}")]
    Jump(f64),
    /// The tolerance was not reached: the distance left, mm.
    #[error("the arcs stay further from the curve than the tolerance")]
    NotReached(f64),
}

/// Lines and arcs along `curve` from the first to the second parameter of
/// `range` (which may run backwards), within `tolerance` mm both ways. The
/// last vertex is the curve's end and has no bulge.
///
/// # Errors
/// [`FitFault`] where the curve is not smooth or not finite, or where
/// [`ATTEMPTS`] refinements do not reach the tolerance.
pub fn fit(curve: Curve, range: (f64, f64), tolerance: f64) -> Result<Vec<Vertex>, FitFault> {
    let mut n = sample_count(curve, range)?;
    let mut aim = tolerance * AIM;
    let mut worst = f64::INFINITY;
    for _ in 0..ATTEMPTS {
        // Odd places are kept for the check only.
        let all = sample(curve, range, 2 * n)?;
        let used: Vec<Knot> = all.iter().copied().step_by(2).collect();
        let chain = Fit { knots: &used, aim }.chain();
        worst = deviation(&chain, all.iter().map(|k| k.at));
        if worst <= tolerance {
            return Ok(chain);
        }
        n *= 2;
        aim *= 0.75;
    }
    Err(FitFault::NotReached(worst))
}

/// Largest distance of points, in order along a chain of lines and arcs,
/// from the chain, mm.
pub fn deviation(chain: &[Vertex], points: impl Iterator<Item = Vec2>) -> f64 {
    let pieces: Vec<Segment> = Segment::along(chain).collect();
    let mut near = 0;
    let mut worst = 0.0_f64;
    for p in points {
        let Some(first) = pieces.get(near) else {
            return worst;
        };
        let mut d = first.distance(p);
        while let Some(next) = pieces.get(near + 1) {
            let e = next.distance(p);
            if e > d {
                break;
            }
            d = e;
            near += 1;
        }
        worst = worst.max(d);
    }
    worst
}

/// A sample: point and unit tangent.
#[derive(Debug, Clone, Copy)]
struct Knot {
    at: Vec2,
    tangent: Vec2,
}

fn sample_count(curve: Curve, range: (f64, f64)) -> Result<usize, FitFault> {
    let coarse = sample(curve, range, COARSE)?;
    let length: f64 = coarse.windows(2).map(|w| w[0].at.distance(w[1].at)).sum();
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to a small positive number"
    )]
    let n = (length / SAMPLE_STEP).ceil().clamp(SAMPLES.0, SAMPLES.1) as usize;
    Ok(n)
}

fn sample(curve: Curve, range: (f64, f64), n: usize) -> Result<Vec<Knot>, FitFault> {
    let (from, to) = range;
    let sign = if to < from { -1.0 } else { 1.0 };
    let step = (to - from).abs() / n as f64;
    let mut knots: Vec<Knot> = Vec::with_capacity(n + 1);
    let mut speed_before = 0.0_f64;
    for k in 0..=n {
        let t = if k == n {
            to
        } else {
            from + (to - from) * (k as f64 / n as f64)
        };
        let (at, d) = curve(t);
        let speed = d.length();
        if !(at.x.is_finite() && at.y.is_finite() && speed.is_finite() && speed > 0.0) {
            return Err(FitFault::NoTangent(t));
        }
        if let Some(before) = knots.last() {
            let longest = LONGEST_STEP * speed.max(speed_before) * step;
            if n > COARSE && before.at.distance(at) > longest {
                return Err(FitFault::Jump(t));
            }
        }
        speed_before = speed;
        knots.push(Knot {
            at,
            tangent: d * (sign / speed),
        });
    }
    Ok(knots)
}

/// Two arcs with one tangent where they meet.
struct Biarc {
    first: Segment,
    second: Segment,
    /// Where they meet, and the tangent there.
    joint: Vec2,
    tangent: Vec2,
}

impl Biarc {
    /// The biarc of equal control lengths d: with v from end to end and
    /// t the sum of the unit tangents, |v - d t| = 2 d gives
    /// 2 (1 - T0.T1) d^2 + 2 (v.t) d - v.v = 0.
    fn new(a: Knot, b: Knot) -> Option<Self> {
        let v = b.at - a.at;
        let vt = v.dot(a.tangent + b.tangent);
        let bend = (1.0 - a.tangent.dot(b.tangent)).max(0.0);
        let below = vt + (vt * vt + 2.0 * bend * v.dot(v)).sqrt();
        let d = v.dot(v) / below;
        if !(below > 0.0 && d.is_finite() && d > 0.0) {
            return None;
        }
        let (qa, qb) = (a.at + a.tangent * d, b.at - b.tangent * d);
        let joint = qa.lerp(qb, 0.5);
        let (ca, cb) = (joint - a.at, b.at - joint);
        // tan of half the angle between tangent and chord.
        let ba = a.tangent.cross(ca) / (ca.length() + a.tangent.dot(ca));
        let bb = cb.cross(b.tangent) / (cb.length() + b.tangent.dot(cb));
        if !(ba.abs() <= MAX_BULGE && bb.abs() <= MAX_BULGE) {
            return None;
        }
        Some(Self {
            first: Segment::new(a.at, joint, ba),
            second: Segment::new(joint, b.at, bb),
            joint,
            tangent: (qb - qa).unit(),
        })
    }

    fn distance(&self, p: Vec2) -> f64 {
        if (p - self.joint).dot(self.tangent) < 0.0 {
            self.first.distance(p)
        } else {
            self.second.distance(p)
        }
    }
}

/// What a span of samples is written as.
#[derive(Debug, Clone, Copy)]
enum Form {
    Line,
    Circle {
        centre: Vec2,
        start: Vec2,
        sweep: f64,
    },
    Biarc,
}

/// A span of samples, first to last, and its form.
#[derive(Debug, Clone, Copy)]
struct Span {
    from: usize,
    to: usize,
    form: Form,
}

struct Fit<'a> {
    knots: &'a [Knot],
    aim: f64,
}

impl Fit<'_> {
    fn chain(&self) -> Vec<Vertex> {
        let last = self.knots.len() - 1;
        let mut out = Vec::new();
        if self.is_line(0, last, self.aim) {
            out.push(Vertex::new(self.knots[0].at, 0.0));
        } else if let Some(form) = self.true_form(0, last) {
            let (from, to) = (0, last);
            self.write(Span { from, to, form }, &mut out);
        } else {
            for span in self.joined(&self.breaks()) {
                self.write(span, &mut out);
            }
        }
        out.push(Vertex::new(self.knots[last].at, 0.0));
        out
    }

    /// Ends of the longest spans whose biarcs hold.
    fn breaks(&self) -> Vec<usize> {
        let last = self.knots.len() - 1;
        let mut breaks = vec![0];
        let (mut i, mut step) = (0, 1);
        while i < last {
            // One step always goes: the check between samples judges it.
            let mut good = i + 1;
            let mut bad = None;
            let mut reach = step;
            loop {
                let j = (i + reach).min(last);
                if j > good && self.holds(i, j) {
                    good = j;
                } else if j > good {
                    bad = Some(j);
                }
                if bad.is_some() || j == last {
                    break;
                }
                reach *= 2;
            }
            if let Some(mut bad) = bad {
                while bad - good > 1 {
                    let mid = usize::midpoint(good, bad);
                    if self.holds(i, mid) {
                        good = mid;
                    } else {
                        bad = mid;
                    }
                }
            }
            step = good - i;
            i = good;
            breaks.push(i);
        }
        self.even_out(&mut breaks);
        breaks
    }

    /// Shares the last two spans evenly: the last one is what was left over.
    fn even_out(&self, breaks: &mut [usize]) {
        if let [.., a, b, c] = breaks {
            let mid = usize::midpoint(*a, *c);
            if mid < *b && self.holds(*a, mid) && self.holds(mid, *c) {
                *b = mid;
            }
        }
    }

    fn holds(&self, i: usize, j: usize) -> bool {
        Biarc::new(self.knots[i], self.knots[j]).is_some_and(|biarc| {
            self.knots[i + 1..j]
                .iter()
                .all(|k| biarc.distance(k.at) <= self.aim)
        })
    }

    /// Spans with true lines and circles found and joined.
    fn joined(&self, breaks: &[usize]) -> Vec<Span> {
        let mut spans: Vec<Span> = Vec::new();
        for w in breaks.windows(2) {
            let form = self.true_form(w[0], w[1]);
            let to = w[1];
            let joint = match (spans.last(), form) {
                (Some(before), Some(_)) if !matches!(before.form, Form::Biarc) => {
                    self.true_form(before.from, to).map(|f| (before.from, f))
                }
                _ => None,
            };
            if joint.is_some() {
                spans.pop();
            }
            let (from, form) = joint.unwrap_or((w[0], form.unwrap_or(Form::Biarc)));
            spans.push(Span { from, to, form });
        }
        spans
    }

    fn is_line(&self, i: usize, j: usize, within: f64) -> bool {
        let piece = Segment::new(self.knots[i].at, self.knots[j].at, 0.0);
        let d = self.knots[j].at - self.knots[i].at;
        self.knots[i..=j]
            .iter()
            .all(|k| k.tangent.dot(d) > 0.0 && piece.distance(k.at) <= within)
    }

    /// The line or circle that the span truly is, if it is one. A span of
    /// fewer than four steps proves nothing.
    fn true_form(&self, i: usize, j: usize) -> Option<Form> {
        if j < i + 4 {
            return None;
        }
        let within = self.aim * TRUE_FORM;
        if self.is_line(i, j, within) {
            return Some(Form::Line);
        }
        let [a, m, b] = [i, usize::midpoint(i, j), j].map(|k| self.knots[k].at);
        let centre = centre_through(a, m, b)?;
        let radius = a.distance(centre);
        let fits = self.knots[i..=j]
            .iter()
            .all(|k| (k.at.distance(centre) - radius).abs() <= within);
        let side = (m - a).cross(b - m).signum();
        let turn = |p: Vec2, q: Vec2| {
            let (u, v) = (p - centre, q - centre);
            side * (trig::atan2(u.cross(v), u.dot(v)) * side).rem_euclid(TAU)
        };
        let sweep = turn(a, m) + turn(m, b);
        // Two arcs must do; a whole turn would come back on itself.
        (fits && sweep.abs() < 2.0 * MAX_SWEEP).then_some(Form::Circle {
            centre,
            start: a - centre,
            sweep,
        })
    }

    fn write(&self, span: Span, out: &mut Vec<Vertex>) {
        let a = self.knots[span.from];
        match span.form {
            Form::Line => out.push(Vertex::new(a.at, 0.0)),
            Form::Circle {
                centre,
                start,
                sweep,
            } => {
                if start.length() > MAX_RADIUS && self.is_line(span.from, span.to, self.aim) {
                    out.push(Vertex::new(a.at, 0.0));
                    return;
                }
                let parts = if sweep.abs() > MAX_SWEEP { 2 } else { 1 };
                let bulge = trig::tan(sweep / (4.0 * f64::from(parts)));
                out.push(Vertex::new(a.at, bulge));
                if parts == 2 {
                    out.push(Vertex::new(centre + start.turned(sweep / 2.0), bulge));
                }
            }
            Form::Biarc => self.write_biarc(span, out),
        }
    }

    fn write_biarc(&self, span: Span, out: &mut Vec<Vertex>) {
        let (a, b) = (self.knots[span.from], self.knots[span.to]);
        let Some(biarc) = Biarc::new(a, b) else {
            // One step between samples: the check judges it.
            out.push(Vertex::new(a.at, 0.0));
            return;
        };
        let pieces = [biarc.first, biarc.second];
        let [first, second] = pieces.map(|p| p.vertex());
        let mut chain = [first, second, Vertex::new(b.at, 0.0)];
        for (k, piece) in pieces.into_iter().enumerate() {
            if piece.circle.is_none_or(|c| c.radius > MAX_RADIUS) {
                let kept = chain[k].bulge;
                chain[k].bulge = 0.0;
                let points = self.knots[span.from..=span.to].iter().map(|k| k.at);
                if deviation(&chain, points) > self.aim {
                    chain[k].bulge = kept;
                }
            }
        }
        out.extend_from_slice(&chain[..2]);
    }
}

/// Centre of the circle through three points, if they are not in line.
fn centre_through(a: Vec2, b: Vec2, c: Vec2) -> Option<Vec2> {
    let (u, v) = (b - a, c - a);
    let d = 2.0 * u.cross(v);
    let (uu, vv) = (u.dot(u), v.dot(v));
    let centre = a + vec2(v.y * uu - u.y * vv, u.x * vv - v.x * uu) * (1.0 / d);
    (centre.x.is_finite() && centre.y.is_finite()).then_some(centre)
}

#[cfg(test)]
mod tests;
