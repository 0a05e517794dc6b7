//! The top line as an eye at the rail sees it, sighting along: far lengths
//! come out short, so that what is not fair shows as a kink. Before: a
//! batten through every measured point. After: the fair line. Below, the moves
//! themselves, magnified. For the eye, not to scale.

use super::model::{Drawing, Layer, Shape, bounds};
use crate::dxf::ascii;
use crate::geom::{Vec2, Vec3, vec2, vec3};
use crate::job::Job;
use crate::length::{number, show};

/// One side's top line.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Sighted {
    /// Side in words.
    pub side: String,
    /// The measured points, from aft forward, mm.
    pub measured: Vec<Vec3>,
    /// A batten through all of them, dense, mm.
    pub before: Vec<Vec3>,
    /// The fair line, dense, from aft forward, mm.
    pub after: Vec<Vec3>,
    /// Moves at the measured points, from aft forward: distance along the
    /// line, out and up, mm.
    pub moves: Vec<[f64; 3]>,
}

/// The eye stands this far behind the line's end, mm: a step.
const BEHIND: f64 = 1500.0;
/// And so far above the rail and outboard of it, mm: chin on the cap.
const ABOVE: f64 = 250.0;
const OUTBOARD: f64 = 250.0;
/// Width and height of a view, mm.
const VIEW: (f64, f64) = (190.0, 105.0);
/// Space between views, mm.
const SPACE: f64 = 14.0;
/// Height of letters, mm.
const LETTER: f64 = 4.0;
/// Greatest height of a bar of the chart of moves, mm.
const BAR: f64 = 12.0;

/// Draws the views of every side that has a line.
#[must_use]
pub fn sighting_drawing(sides: &[Sighted], job: &Job) -> Drawing {
    let mut drawing = Drawing {
        name: "sighting".to_owned(),
        title: ascii(&format!("{}  sighting along the top line", job.name)),
        items: Vec::new(),
    };
    let mut upper = 0.0;
    for side in sides.iter().filter(|s| s.after.len() > 1) {
        upper = views(&mut drawing, side, upper);
        upper = chart(&mut drawing, side, job, upper) - SPACE;
    }
    drawing
}

/// An eye that looks along a line.
struct Eye {
    at: Vec3,
    along: Vec3,
    right: Vec3,
    up: Vec3,
}

impl Eye {
    /// Behind the first point, over and outboard of it, looking at the last.
    fn behind(line: &[Vec3]) -> Option<Self> {
        let (first, last) = (*line.first()?, *line.last()?);
        let far = last - first;
        let level = vec3(far.x, far.y, 0.0);
        if level.length() <= 0.0 {
            return None;
        }
        let outboard = vec3(0.0, if first.y >= 0.0 { OUTBOARD } else { -OUTBOARD }, 0.0);
        let back = level.unit() * BEHIND;
        let at = first - back + outboard + vec3(0.0, 0.0, ABOVE);
        let along = (last - at).unit();
        let right = along.cross(vec3(0.0, 0.0, 1.0)).unit();
        Some(Self {
            at,
            along,
            right,
            up: right.cross(along),
        })
    }

    /// Where a point is seen, as tangents of the angles off the line of sight.
    fn sees(&self, p: Vec3) -> Vec2 {
        let v = p - self.at;
        let depth = v.dot(self.along).max(1.0);
        vec2(v.dot(self.right) / depth, v.dot(self.up) / depth)
    }
}

/// Both views of a side; the lower edge returned.
fn views(drawing: &mut Drawing, side: &Sighted, upper: f64) -> f64 {
    let Some(eye) = Eye::behind(&side.after) else {
        return upper;
    };
    let seen = |line: &[Vec3]| line.iter().map(|&p| eye.sees(p)).collect::<Vec<_>>();
    let (before, after) = (seen(&side.before), seen(&side.after));
    let points = seen(&side.measured);
    let (lo, hi) = bounds(before.iter().chain(&after).copied());
    let size = vec2((hi.x - lo.x).max(1e-9), (hi.y - lo.y).max(1e-9));
    let scale = vec2(VIEW.0 / size.x, VIEW.1 / size.y);
    let taller = scale.y / scale.x;
    let top = upper - 4.5 * LETTER;
    for (k, (name, line)) in [
        ("before, a batten through every point", &before),
        ("after, the fair line", &after),
    ]
    .into_iter()
    .enumerate()
    {
        let left = k as f64 * (VIEW.0 + SPACE);
        let at = |p: &Vec2| vec2(left + (p.x - lo.x) * scale.x, top - (hi.y - p.y) * scale.y);
        let words = [
            format!(
                "{}, looking forward (heights x {})",
                side.side,
                number(taller, 1)
            ),
            name.to_owned(),
        ];
        for (line, words) in words.iter().enumerate() {
            let down = (1.5 + 1.5 * line as f64) * LETTER;
            drawing.write(vec2(left, upper - down), LETTER, words);
        }
        drawing.put(Layer::Sheet, Shape::Stroke(line.iter().map(at).collect()));
        if k == 0 {
            for p in &points {
                drawing.put(
                    Layer::Hole,
                    Shape::Circle {
                        centre: at(p),
                        radius: 0.9,
                    },
                );
            }
        }
    }
    top - VIEW.1
}

/// The moves at every measured point, magnified; the lower edge returned.
fn chart(drawing: &mut Drawing, side: &Sighted, job: &Job, upper: f64) -> f64 {
    let (Some(first), Some(last)) = (side.moves.first(), side.moves.last()) else {
        return upper;
    };
    let width = 2.0 * VIEW.0 + SPACE;
    let scale = width / (last[0] - first[0]).max(1.0);
    let largest = side
        .moves
        .iter()
        .map(|m| m[1].abs().max(m[2].abs()))
        .fold(0.0, f64::max);
    let tall = if largest > 0.0 { BAR / largest } else { 0.0 };
    let mut floor = upper - LETTER;
    for (row, name) in [(2, "up"), (1, "out")] {
        let words = format!(
            "{}, moves {name} to the fair line, aft to forward; longest bar of both charts {}",
            side.side,
            show(largest, job.show)
        );
        drawing.write(vec2(0.0, floor - LETTER), LETTER, &words);
        let zero = floor - 1.5 * LETTER - BAR;
        let ground = vec![vec2(0.0, zero), vec2(width, zero)];
        drawing.put(Layer::Mark, Shape::Stroke(ground));
        for m in &side.moves {
            let foot = vec2((m[0] - first[0]) * scale, zero);
            let tip = foot + vec2(0.0, m[row] * tall);
            drawing.put(Layer::Sheet, Shape::Stroke(vec![foot, tip]));
        }
        floor = zero - BAR - 0.5 * LETTER;
    }
    floor
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;

    #[test]
    fn a_straight_line_ahead_is_seen_as_a_straight_line_and_a_bump_as_a_kink() {
        let line: Vec<Vec3> = (0..50)
            .map(|k| vec3(300.0 * f64::from(k), 2000.0, 1500.0))
            .collect();
        let eye = Eye::behind(&line).expect("an eye");
        let seen: Vec<Vec2> = line.iter().map(|&p| eye.sees(p)).collect();
        let (a, b) = (seen[0], seen[49]);
        for p in &seen {
            assert!(((*p - a).cross(b - a)).abs() < 1e-12);
        }
        // To the right of a line on port, ahead and above.
        assert!(a.x > 0.0 && a.y < 0.0, "{a:?}");
        // Near lengths are seen longer than far ones.
        let lengths: Vec<f64> = seen.windows(2).map(|w| w[0].distance(w[1])).collect();
        assert!(lengths.windows(2).all(|w| w[1] < w[0]));
    }

    #[test]
    fn all_views_are_finite_and_labelled() {
        let line: Vec<Vec3> = (0..20)
            .map(|k| {
                vec3(
                    500.0 * f64::from(k),
                    2000.0 - 3.0 * f64::from(k * k),
                    1500.0,
                )
            })
            .collect();
        let side = Sighted {
            side: "port".into(),
            measured: line.clone(),
            before: line.clone(),
            after: line,
            moves: (0..20).map(|k| [500.0 * f64::from(k), 1.0, -2.0]).collect(),
        };
        let drawing = sighting_drawing(&[side, Sighted::default()], &sample::job());
        assert!(drawing.is_finite());
        let texts = drawing
            .items
            .iter()
            .filter(|i| matches!(i.shape, Shape::Text { .. }));
        // Two lines over each of two views, and what stands by the chart.
        assert_eq!(texts.count(), 6);
    }
}
