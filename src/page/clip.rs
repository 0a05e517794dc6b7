//! Lines and arcs as paths, cut at the edge of a field.

use std::f64::consts::TAU;

use kurbo::BezPath;

use super::ink::{add, point};
use crate::geom::{Segment, Vec2, trig, vec2};

/// A box by its lower left and upper right corners, mm.
pub(super) type Window = (Vec2, Vec2);

/// Pieces nearer than this are one, and shorter ones are none, mm.
const NEAR: f64 = 1e-9;

/// What a window shows of a run of lines and arcs; `None`: nothing.
pub(super) fn clipped(segments: &[Segment], closed: bool, window: Window) -> Option<BezPath> {
    let mut path = BezPath::new();
    let mut end: Option<Vec2> = None;
    let mut whole = true;
    for s in segments {
        for piece in pieces(s, window, &mut whole) {
            if end.is_none_or(|e| e.distance(piece.a) > NEAR) {
                path.move_to(point(piece.a));
            }
            add(&mut path, &piece);
            end = Some(piece.b);
        }
    }
    if whole && closed {
        path.close_path();
    }
    (!path.elements().is_empty()).then_some(path)
}

/// Parts of a segment within a window; `whole` comes to be false where some of
/// it is outside.
fn pieces(s: &Segment, window: Window, whole: &mut bool) -> Vec<Segment> {
    let (lo, hi) = s.bounds();
    let inside = |p: Vec2| {
        p.x >= window.0.x - NEAR
            && p.y >= window.0.y - NEAR
            && p.x <= window.1.x + NEAR
            && p.y <= window.1.y + NEAR
    };
    if inside(lo) && inside(hi) {
        return vec![*s];
    }
    *whole = false;
    let apart = hi.x < window.0.x || hi.y < window.0.y || lo.x > window.1.x || lo.y > window.1.y;
    if apart {
        return Vec::new();
    }
    let mut cuts = vec![0.0, 1.0];
    for (along, level) in [
        (vec2(1.0, 0.0), window.0.x),
        (vec2(1.0, 0.0), window.1.x),
        (vec2(0.0, 1.0), window.0.y),
        (vec2(0.0, 1.0), window.1.y),
    ] {
        cross(s, along, level, &mut cuts);
    }
    cuts.sort_by(f64::total_cmp);
    let shown = |w: &[f64]| {
        let long = (w[1] - w[0]) * s.length() > NEAR;
        (long && inside(s.at(0.5 * (w[0] + w[1])))).then(|| s.part(w[0], w[1]))
    };
    cuts.windows(2).filter_map(shown).collect()
}

/// Fractions of a segment's length where it meets a line square to `along` at
/// a level, mm.
fn cross(s: &Segment, along: Vec2, level: f64, out: &mut Vec<f64>) {
    let Some(circle) = s.circle else {
        let (from, to) = (s.a.dot(along), s.b.dot(along));
        let f = (level - from) / (to - from);
        if f > 0.0 && f < 1.0 {
            out.push(f);
        }
        return;
    };
    let cosine = (level - circle.centre.dot(along)) / circle.radius;
    if cosine.abs() >= 1.0 {
        return;
    }
    let start = (s.a - circle.centre).angle();
    let half = trig::acos(cosine);
    for angle in [along.angle() + half, along.angle() - half] {
        let way = (angle - start) * s.bulge.signum();
        let f = way.rem_euclid(TAU) / s.sweep().abs();
        if f > 0.0 && f < 1.0 {
            out.push(f);
        }
    }
}

#[cfg(test)]
mod tests {
    use kurbo::Shape as _;
    use proptest::prelude::*;

    use super::super::ink::segments;
    use super::*;
    use crate::drawing::Shape;
    use crate::geom::{Outline, Vertex};

    const WINDOW: Window = (Vec2 { x: -10.0, y: -8.0 }, Vec2 { x: 12.0, y: 9.0 });

    fn cut(shape: &Shape) -> Option<BezPath> {
        let (segments, closed) = segments(shape)?;
        clipped(&segments, closed, WINDOW)
    }

    fn shown(s: &Segment) -> Vec<Segment> {
        pieces(s, WINDOW, &mut true)
    }

    proptest! {
        /// Of places along a line or arc those in the window are on its pieces,
        /// and no others.
        #[test]
        fn what_is_in_the_window_is_shown(
            bulge in -3.0..3.0f64,
            (ax, ay) in (-30.0..30.0f64, -30.0..30.0f64),
            (bx, by) in (-30.0..30.0f64, -30.0..30.0f64),
        ) {
            let s = Segment::new(vec2(ax, ay), vec2(bx, by), bulge);
            let shown = shown(&s);
            for k in 0..=500 {
                let p = s.at(f64::from(k) / 500.0);
                let depth = (p.x - WINDOW.0.x)
                    .min(WINDOW.1.x - p.x)
                    .min(p.y - WINDOW.0.y)
                    .min(WINDOW.1.y - p.y);
                let off = shown.iter().map(|q| q.distance(p)).fold(f64::INFINITY, f64::min);
                if depth > 1e-6 {
                    prop_assert!(off < 1e-6, "{p:?} is {off} off");
                } else if depth < -1e-3 {
                    prop_assert!(off > 1e-6, "{p:?} is shown");
                }
            }
        }
    }

    #[test]
    fn a_shape_within_is_closed_and_one_across_is_open() {
        let hole = |x: f64| Shape::Circle {
            centre: vec2(x, 0.0),
            radius: 3.0,
        };
        let within = cut(&hole(0.0)).unwrap();
        assert!((within.area().abs() - 9.0 * std::f64::consts::PI).abs() < 1e-2);
        assert_eq!(within.elements().last(), Some(&kurbo::PathEl::ClosePath));
        let across = cut(&hole(12.0)).unwrap();
        assert!(across.bounding_box().x1 <= 12.0 + 1e-6);
        assert_ne!(across.elements().last(), Some(&kurbo::PathEl::ClosePath));
        assert!(cut(&hole(16.0)).is_none());
    }

    #[test]
    fn a_line_that_leaves_and_comes_back_is_two() {
        let at = |x: f64, y: f64| Vertex {
            at: vec2(x, y),
            bulge: 0.0,
        };
        let line = Shape::Line(vec![
            at(0.0, 0.0),
            at(0.0, 20.0),
            at(5.0, 20.0),
            at(5.0, 0.0),
        ]);
        let path = cut(&line).unwrap();
        let moves = |e: &&kurbo::PathEl| matches!(e, kurbo::PathEl::MoveTo(_));
        assert_eq!(path.elements().iter().filter(moves).count(), 2);
        let whole = Shape::Profile(Outline::rectangle(vec2(-1.0, -1.0), vec2(1.0, 1.0)));
        assert_eq!(cut(&whole).unwrap().segments().count(), 4);
    }
}
