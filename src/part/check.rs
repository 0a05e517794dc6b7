//! The check of a finished part: a bad part is refused, never handed on.

use crate::geom::Vec2;
use crate::length::{Show, place, told};

use super::detailed::{Hole, MarkKind, Part};
use super::room::{Profile, distance_to_line, line_block};

/// Least metal between a hole and the outline or another hole, mm: less is
/// torn out by the cut. Edge distance for strength is the layout's business.
const LEAST_METAL: f64 = 1.0;
/// Chord error, mm, of arcs in the test of the outline against itself.
const FLATTEN: f64 = 0.05;
/// A part's lower left corner lies this near the origin, mm.
const AT_ORIGIN: f64 = 1e-6;
/// Marks keep at least this inside the outline, mm.
const MARK_INSIDE: f64 = 0.5;

/// What is wrong with a part, one sentence a rule; empty where all holds:
/// outline finite, counter-clockwise, simple, at the origin; holes inside
/// with metal round them; marks and labels inside; letters off the holes.
#[must_use]
pub fn validate(part: &Part, shown: Show) -> Vec<String> {
    let mut out = Vec::new();
    if let Err(e) = outline(part, shown) {
        out.push(e);
        return out;
    }
    let profile = Profile::new(&part.outline);
    holes(part, &profile, shown, &mut out);
    marks(part, &profile, shown, &mut out);
    out
}

fn outline(part: &Part, shown: Show) -> Result<(), String> {
    let finite = part
        .outline
        .vertices
        .iter()
        .all(|v| v.at.x.is_finite() && v.at.y.is_finite() && v.bulge.is_finite());
    if !finite || part.outline.vertices.len() < 2 {
        return Err("the outline has no finite corners".into());
    }
    if part.outline.area() <= 0.0 {
        return Err("the outline does not run counter-clockwise".into());
    }
    let (lo, _) = part.outline.bounds();
    if lo.x.abs() > AT_ORIGIN || lo.y.abs() > AT_ORIGIN {
        return Err("the part does not lie at the origin".into());
    }
    if part.outline.segments().any(|s| s.a == s.b) {
        return Err("the outline has a piece without length".into());
    }
    if let Some(p) = crossing(&part.outline.flatten(FLATTEN)) {
        return Err(format!(
            "the outline crosses itself near {}",
            place(p, shown)
        ));
    }
    Ok(())
}

/// A place where a closed polygon crosses or touches itself: pieces sorted
/// by their left ends, each set against those that begin before it ends.
fn crossing(points: &[Vec2]) -> Option<Vec2> {
    let n = points.len();
    let mut order: Vec<(f64, f64, usize)> = (0..n)
        .map(|i| {
            let (a, b) = (points[i].x, points[(i + 1) % n].x);
            (a.min(b), a.max(b), i)
        })
        .collect();
    order.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.2.cmp(&b.2)));
    for (k, &(_, right, i)) in order.iter().enumerate() {
        for &(left, _, j) in &order[k + 1..] {
            if left > right {
                break;
            }
            if (i + 1) % n == j || (j + 1) % n == i {
                continue;
            }
            let (a, b) = (points[i], points[(i + 1) % n]);
            let (c, d) = (points[j], points[(j + 1) % n]);
            let side = |p: Vec2, q: Vec2, r: Vec2| (q - p).cross(r - p);
            if side(a, b, c) * side(a, b, d) <= 0.0 && side(c, d, a) * side(c, d, b) <= 0.0 {
                return Some(a.lerp(b, 0.5));
            }
        }
    }
    None
}

fn holes(part: &Part, profile: &Profile, shown: Show, out: &mut Vec<String>) {
    let mut sorted: Vec<_> = part.holes.iter().collect();
    sorted.sort_by(|a, b| a.centre.x.total_cmp(&b.centre.x));
    let widest = sorted.iter().fold(0.0, |m: f64, h| m.max(h.diameter));
    for (i, h) in sorted.iter().enumerate() {
        let (at, r) = (place(h.centre, shown), h.diameter / 2.0);
        if !(r > 0.0 && profile.holds_disc(h.centre, r + LEAST_METAL)) {
            out.push(format!(
                "the hole of {} at {at} is not inside the outline with {} of metal round it",
                told(h.diameter, shown),
                told(LEAST_METAL, shown)
            ));
        }
        for o in &sorted[i + 1..] {
            if o.centre.x - h.centre.x > widest + LEAST_METAL {
                break;
            }
            if h.centre.distance(o.centre) < r + o.diameter / 2.0 + LEAST_METAL {
                out.push(format!("two holes meet at {at}"));
            }
        }
    }
}

fn marks(part: &Part, profile: &Profile, shown: Show, out: &mut Vec<String>) {
    let mut named = false;
    for mark in &part.marks {
        named |= mark.kind == MarkKind::Letters;
        for line in mark.strokes.iter().flat_map(|s| s.windows(2)) {
            let (a, b) = (line[0], line[1]);
            if !profile.holds(&line_block(a, b), MARK_INSIDE) {
                out.push(format!("a mark leaves the part near {}", place(a, shown)));
            }
            let in_hole = |h: &Hole| distance_to_line(h.centre, a, b) < h.diameter / 2.0;
            if mark.kind.is_letters() && part.holes.iter().any(in_hole) {
                out.push(format!("letters lie in a hole near {}", place(a, shown)));
            }
        }
    }
    if !named {
        out.push("the part bears no name".into());
    }
    for label in &part.labels {
        if !profile.inside(label.at) || !label.lines.iter().all(|l| l.is_ascii()) {
            out.push(format!(
                "the label {:?} is not ASCII inside the part",
                label.lines
            ));
        }
    }
}
