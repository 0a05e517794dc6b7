//! Areas, lengths and boxes of arc profiles against `kurbo`, which knows
//! nothing of bulges: every arc is handed to it as centre, radius and angles.

use kurbo::{Arc, BezPath, ParamCurveArclen, PathEl, Point, Shape, Vec2 as KVec};
use planksheer::geom::outline::arc_of;
use planksheer::geom::{Outline, Placement, Vertex, vec2};
use proptest::prelude::*;

fn path(outline: &Outline) -> BezPath {
    let mut path = BezPath::new();
    for (i, (a, b, bulge)) in outline.pieces().enumerate() {
        if i == 0 {
            path.move_to(Point::new(a.x, a.y));
        }
        match arc_of(a, b, bulge) {
            None => path.line_to(Point::new(b.x, b.y)),
            Some(arc) => {
                let curve = Arc::new(
                    Point::new(arc.centre.x, arc.centre.y),
                    KVec::new(arc.radius, arc.radius),
                    arc.start,
                    arc.sweep,
                    0.0,
                );
                for el in curve.append_iter(1e-9) {
                    if let PathEl::CurveTo(..) = el {
                        path.push(el);
                    }
                }
            }
        }
    }
    path.close_path();
    path
}

proptest! {
    #[test]
    fn profiles_measure_as_kurbo_measures_them(
        bulges in prop::collection::vec(-0.6..0.6f64, 4),
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
