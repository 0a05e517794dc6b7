//! Areas, lengths and boxes of arc profiles against `kurbo`, which knows
//! nothing of bulges and is told no centre of ours.

use kurbo::{Arc, BezPath, ParamCurveArclen, PathEl, Point, Shape, SvgArc, Vec2 as KVec};
use planksheer::geom::{Outline, Placement, Vertex, vec2};
use proptest::prelude::*;

/// An arc by its ends, its radius and the way round, as SVG 1.1 (appendix F.6)
/// tells one: where its centre lies is for kurbo to find. A bulge is the tangent
/// of a quarter of the angle turned (DXF reference, LWPOLYLINE, code 42), so the
/// radius is chord (1 + b^2) / 4 |b|, and more than half a turn lies above 1.
fn arc(from: Point, to: Point, bulge: f64) -> Option<Arc> {
    let radius = from.distance(to) * (1.0 + bulge * bulge) / (4.0 * bulge.abs());
    Arc::from_svg_arc(&SvgArc {
        from,
        to,
        radii: KVec::new(radius, radius),
        x_rotation: 0.0,
        large_arc: bulge.abs() > 1.0,
        sweep: bulge > 0.0,
    })
}

fn path(outline: &Outline) -> BezPath {
    let mut path = BezPath::new();
    for (i, s) in outline.segments().enumerate() {
        let (from, to) = (Point::new(s.a.x, s.a.y), Point::new(s.b.x, s.b.y));
        let bulge = s.bulge;
        if i == 0 {
            path.move_to(from);
        }
        if bulge == 0.0 {
            path.line_to(to);
            continue;
        }
        let curve = arc(from, to, bulge).expect("an arc");
        path.extend(
            curve
                .append_iter(1e-9)
                .filter(|el| matches!(el, PathEl::CurveTo(..))),
        );
    }
    path.close_path();
    path
}

/// Straight, or an arc to either side; near half a turn the ends and the radius
/// say little of the centre.
fn any_bulge() -> impl Strategy<Value = f64> {
    let size = prop_oneof![Just(0.0), 0.001..0.8f64, 1.3..2.0f64];
    (size, any::<bool>()).prop_map(|(b, left)| if left { -b } else { b })
}

proptest! {
    #[test]
    fn profiles_measure_as_kurbo_measures_them(
        bulges in prop::collection::vec(any_bulge(), 4),
        turn in -3.0..3.0f64,
        length in 200.0..4000.0f64,
    ) {
        let corners = [(0.0, 0.0), (length, 0.0), (length, 700.0), (0.0, 900.0)];
        let outline = Outline {
            vertices: corners
                .iter()
                .zip(&bulges)
                .map(|(&(x, y), &bulge)| Vertex { at: vec2(x, y), bulge })
                .collect(),
        }
        .placed(Placement { turn, shift: vec2(-300.0, 4000.0) });
        let other = path(&outline);
        let size = length * 1000.0;
        prop_assert!((outline.area() - other.area()).abs() < 1e-6 * size);
        let along: f64 = other.segments().map(|s| s.arclen(1e-7)).sum();
        prop_assert!((outline.perimeter() - along).abs() < 1e-5);
        let (lo, hi) = outline.bounds();
        let hull = other.bounding_box();
        for (ours, theirs) in [(lo.x, hull.x0), (lo.y, hull.y0), (hi.x, hull.x1), (hi.y, hull.y1)] {
            prop_assert!((ours - theirs).abs() < 1e-6, "{ours} {theirs}");
        }
    }
}
