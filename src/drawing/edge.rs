//! A picture of the faired edge: plan, and profile along the edge rolled out
//! straight, with measured points and curvature combs. Not to scale: for the
//! eye, not for the shop.

use super::model::{Drawing, Layer, Shape, bounds};
use crate::dxf::ascii;
use crate::fair::EdgePlace;
use crate::geom::{Vec2, Vec3, vec2};
use crate::job::Job;
use crate::length::{number, show};

/// Faired lines and measured points, a chain each.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct EdgePicture {
    /// Places along every chain, in order.
    pub lines: Vec<Vec<EdgePlace>>,
    /// Measured points: distance along the edge and place, mm.
    pub points: Vec<Vec<(f64, Vec3)>>,
}

/// Width of the picture's views, mm: a page laid across.
const PAGE: f64 = 400.0;
/// Greatest length of a tooth of a comb, mm.
const TOOTH: f64 = 32.0;
/// Heights in the profile are drawn this many times larger than lengths, or
/// a sheer of a hand's breadth over a boat's length would look straight.
const EXAGGERATION: f64 = 4.0;
/// Height of letters, mm.
const LETTER: f64 = 4.0;
/// Space between views, mm.
const SPACE: f64 = 22.0;

/// Draws both views.
#[must_use]
pub fn edge_drawing(picture: &EdgePicture, job: &Job) -> Drawing {
    let mut drawing = Drawing {
        name: "faired-edge".to_owned(),
        title: ascii(&format!("{}  faired edge", job.name)),
        items: Vec::new(),
    };
    let below = plan(&mut drawing, picture, job);
    profile(&mut drawing, picture, job, below - SPACE);
    drawing
}

/// Largest magnitude, or one where all are nothing.
fn largest(values: impl Iterator<Item = f64>) -> f64 {
    let m = values.map(f64::abs).fold(0.0, f64::max);
    if m > 0.0 { m } else { 1.0 }
}

fn radius_words(curvature: f64, job: &Job) -> String {
    show(1.0 / curvature, job.show)
}

/// Plan view, its lower edge returned.
fn plan(drawing: &mut Drawing, picture: &EdgePicture, job: &Job) -> f64 {
    let all = || picture.lines.iter().flatten();
    if all().next().is_none() {
        return 0.0;
    }
    let (lo, hi) = bounds(all().map(|p| p.base.plan()));
    let scale = PAGE / (hi.x - lo.x).max(hi.y - lo.y);
    let top = -SPACE - TOOTH;
    let at = |p: Vec2| vec2((p.x - lo.x) * scale, top + (p.y - hi.y) * scale);
    let sharpest = largest(all().map(|p| p.plan_curvature));
    drawing.write(vec2(0.0, -LETTER), LETTER,
        &format!(
            "PLAN, bow to the right. Comb: curvature of the deck edge, longest tooth a radius of {}",
            radius_words(sharpest, job)
        ),
    );
    for (line, points) in picture.lines.iter().zip(&picture.points) {
        let mut crest = Vec::new();
        for p in line {
            let foot = at(p.base.plan());
            let tip = foot - p.inboard * (p.plan_curvature / sharpest * TOOTH);
            drawing.put(Layer::Mark, Shape::Stroke(vec![foot, tip]));
            crest.push(tip);
        }
        drawing.put(Layer::Mark, Shape::Stroke(crest));
        let base = line.iter().map(|p| at(p.base.plan())).collect();
        drawing.put(Layer::Sheet, Shape::Stroke(base));
        let upper = line.iter().map(|p| at(p.top.plan())).collect();
        drawing.put(Layer::Sheet, Shape::Stroke(upper));
        for &(_, p) in points {
            drawing.put(
                Layer::Hole,
                Shape::Circle {
                    centre: at(p.plan()),
                    radius: 0.9,
                },
            );
        }
    }
    top - (hi.y - lo.y) * scale - TOOTH
}

/// Profile along the edge, rolled out straight, a chain below the other.
fn profile(drawing: &mut Drawing, picture: &EdgePicture, job: &Job, upper: f64) {
    let mut upper = upper;
    for (line, points) in picture.lines.iter().zip(&picture.points) {
        let (Some(first), Some(last)) = (line.first(), line.last()) else {
            continue;
        };
        let scale = PAGE / (last.t - first.t).max(1.0);
        let tall = scale * EXAGGERATION;
        let highest = line
            .iter()
            .map(|p| p.top.z)
            .fold(f64::NEG_INFINITY, f64::max);
        let lowest = line.iter().map(|p| p.base.z).fold(f64::INFINITY, f64::min);
        let sharpest = largest(line.iter().map(|p| p.profile_curvature));
        drawing.write(vec2(0.0, upper - LETTER), LETTER,
            &format!(
                "PROFILE along the edge rolled out, heights {} times. Comb: curvature of the sheer, longest tooth a radius of {}",
                number(EXAGGERATION, 0),
                radius_words(sharpest, job)
            ),
        );
        let ceiling = upper - 2.5 * LETTER;
        let at = |t: f64, z: f64| vec2((t - first.t) * scale, ceiling + (z - highest) * tall);
        let mut crest = Vec::new();
        for p in line {
            let foot = at(p.t, p.base.z);
            let tip = foot - vec2(0.0, p.profile_curvature / sharpest * TOOTH);
            drawing.put(Layer::Mark, Shape::Stroke(vec![foot, tip]));
            crest.push(tip);
        }
        drawing.put(Layer::Mark, Shape::Stroke(crest));
        let base = line.iter().map(|p| at(p.t, p.base.z)).collect();
        drawing.put(Layer::Sheet, Shape::Stroke(base));
        let top = line.iter().map(|p| at(p.t, p.top.z)).collect();
        drawing.put(Layer::Sheet, Shape::Stroke(top));
        for &(t, p) in points {
            drawing.put(
                Layer::Hole,
                Shape::Circle {
                    centre: at(t, p.z),
                    radius: 0.9,
                },
            );
        }
        let floor = at(0.0, lowest).y - TOOTH;
        for (p, x) in [(first, 0.0), (last, PAGE - 30.0)] {
            let side = if p.base.y >= 0.0 { "port" } else { "starboard" };
            drawing.write(vec2(x, floor - 2.0 * LETTER), LETTER, side);
        }
        upper = floor - 2.0 * LETTER - SPACE;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::vec3;
    use crate::sample;

    #[test]
    fn the_comb_stands_outboard_and_its_longest_tooth_is_the_sharpest_place() {
        let line: Vec<EdgePlace> = (0..20)
            .map(|k| {
                let t = 100.0 * f64::from(k);
                EdgePlace {
                    chain: 0,
                    length: 0,
                    t,
                    base: vec3(1900.0 - t, 500.0, 300.0),
                    slope: 0.0,
                    inboard: vec2(0.0, -1.0),
                    top: vec3(1900.0 - t, 520.0, 900.0),
                    plan_curvature: if k == 7 { 2e-3 } else { 1e-3 },
                    profile_curvature: 1e-5,
                }
            })
            .collect();
        let picture = EdgePicture {
            lines: vec![line],
            points: vec![vec![(0.0, vec3(1900.0, 500.0, 300.0))]],
        };
        let drawing = edge_drawing(&picture, &sample::job());
        let teeth: Vec<f64> = drawing
            .items
            .iter()
            .filter_map(|i| match &i.shape {
                Shape::Stroke(s) if i.layer == Layer::Mark && s.len() == 2 => Some(s[1].y - s[0].y),
                _ => None,
            })
            .collect();
        // The first view's teeth point to port, that is up; the longest is TOOTH.
        assert!((teeth[7] - TOOTH).abs() < 1e-9);
        assert!((teeth[6] - TOOTH / 2.0).abs() < 1e-9);
        assert!(drawing.is_finite());
    }
}
