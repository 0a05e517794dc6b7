//! Shapes of a drawing as paths: arcs become cubics.

use kurbo::{BezPath, Point};

use crate::drawing::Shape;
use crate::geom::{Outline, Segment, Vec2, Vertex, trig};

/// Furthest that a cubic lies off its arc, mm.
const CUBIC_MM: f64 = 0.001;

/// The path of a shape, in the drawing's mm; `None` of text and of a shape
/// with nothing to draw.
#[must_use]
pub fn shape_path(shape: &Shape) -> Option<BezPath> {
    let (segments, closed) = segments(shape)?;
    let mut path = BezPath::new();
    path.move_to(point(segments.first()?.a));
    for s in &segments {
        add(&mut path, s);
    }
    if closed {
        path.close_path();
    }
    Some(path)
}

/// Lines and arcs of a shape, and whether they close; `None` of text and of
/// a shape with nothing to draw.
pub(super) fn segments(shape: &Shape) -> Option<(Vec<Segment>, bool)> {
    let (segments, closed): (Vec<Segment>, bool) = match shape {
        Shape::Profile(outline) => (outline.segments().collect(), true),
        Shape::Circle { centre, radius } => {
            (Outline::circle(*centre, *radius).segments().collect(), true)
        }
        Shape::Stroke(points) => {
            let corner = |&at: &Vec2| Vertex { at, bulge: 0.0 };
            let run: Vec<Vertex> = points.iter().map(corner).collect();
            (Segment::along(&run).collect(), false)
        }
        Shape::Line(run) => (Segment::along(run).collect(), false),
        Shape::Text { .. } => return None,
    };
    (!segments.is_empty()).then_some((segments, closed))
}

/// A place of a drawing as kurbo has it.
pub(super) fn point(p: Vec2) -> Point {
    Point::new(p.x, p.y)
}

/// Adds a line or an arc to a path that stands at its beginning.
pub(super) fn add(path: &mut BezPath, s: &Segment) {
    let Some(circle) = s.circle else {
        path.line_to(point(s.b));
        return;
    };
    let n = pieces(circle.radius, s.sweep().abs());
    for k in 0..n {
        let (from, to) = (k as f64 / n as f64, (k + 1) as f64 / n as f64);
        // The cubic that meets the arc at both ends and in the middle has
        // handles of 4/3 tan(sweep / 4) of the radius along the tangents.
        let quarter = s.sweep().abs() / n as f64 / 4.0;
        let handle = circle.radius * trig::tan(quarter) * 4.0 / 3.0;
        let (a, b) = (s.at(from), if k + 1 == n { s.b } else { s.at(to) });
        path.curve_to(
            point(a + s.direction(from) * handle),
            point(b - s.direction(to) * handle),
            point(b),
        );
    }
}

/// Number of cubics for an arc: each lies off it by at most 2/27 r sin^6(v/4) /
/// cos^2(v/4) for its sweep v, where the distance from the centre is greatest
/// (worked out by hand; 2.73e-4 r at a quarter of a turn, as is widely told).
fn pieces(radius: f64, sweep: f64) -> usize {
    let off = |n: usize| {
        let v = sweep / n as f64 / 4.0;
        let (sine, cosine) = (trig::sin(v), trig::cos(v));
        2.0 / 27.0 * radius * trig::pow(sine, 6.0) / (cosine * cosine)
    };
    // A whole turn of a radius of a kilometre takes 54.
    (1..1000)
        .find(|&n| sweep / n as f64 <= 1.6 && off(n) <= CUBIC_MM)
        .unwrap_or(1000)
}

#[cfg(test)]
mod tests {
    use kurbo::{ParamCurve, PathSeg};
    use proptest::prelude::*;

    use super::*;
    use crate::geom::vec2;

    /// Furthest that a path lies off a segment, by many places of it.
    fn off(path: &BezPath, s: &Segment) -> f64 {
        let of = |seg: PathSeg| {
            (0..=64).map(move |k| {
                let p = seg.eval(f64::from(k) / 64.0);
                s.distance(vec2(p.x, p.y))
            })
        };
        path.segments().flat_map(of).fold(0.0, f64::max)
    }

    proptest! {
        /// Cubics lie on their arc to the tolerance, and end where it ends.
        #[test]
        fn cubics_lie_on_their_arc(
            bulge in -3.0..3.0f64,
            (x, y) in (-4000.0..4000.0f64, 1.0..4000.0f64),
        ) {
            let s = Segment::new(vec2(3.0, -5.0), vec2(x, y), bulge);
            let mut path = BezPath::new();
            path.move_to(point(s.a));
            add(&mut path, &s);
            prop_assert!(off(&path, &s) <= CUBIC_MM * 1.01, "{}", off(&path, &s));
            let end = path.segments().last().map(|s| s.end());
            prop_assert_eq!(end, Some(point(s.b)));
        }
    }

    #[test]
    fn a_small_hole_takes_four_cubics_and_a_closed_shape_is_closed() {
        let hole = Shape::Circle {
            centre: vec2(10.0, 10.0),
            radius: 3.0,
        };
        let path = shape_path(&hole).unwrap();
        assert_eq!(path.segments().count(), 4);
        assert_eq!(path.elements().last(), Some(&kurbo::PathEl::ClosePath));
        assert!(shape_path(&Shape::Stroke(Vec::new())).is_none());
    }
}
