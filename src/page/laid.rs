//! A drawing turned as its pages need it, ready to be cut at their edges.

use kurbo::Affine;

use super::clip::{Window, clipped};
use super::cover::Lines;
use super::ink::{point, segments};
use super::model::{Ink, Pen};
use crate::drawing::{Drawing, Layer, Shape};
use crate::geom::outline::arc_steps;
use crate::geom::{Segment, Vec2, vec2};

/// Chords lie off their arcs by at most this, mm, where pages are chosen: less
/// than what a page shows beyond its field.
const CHORD: f64 = 0.01;

/// Widths of lines, mm: thin enough to cut to, and thinner beside.
pub(super) const LINE: f64 = 0.25;
const MARK: f64 = 0.18;
pub(super) const FINE: f64 = 0.13;

/// A turned drawing.
pub(super) struct Laid {
    runs: Vec<Run>,
    words: Vec<(Vec2, f64, f64, String)>,
}

/// Lines and arcs one after the other.
struct Run {
    layer: Layer,
    segments: Vec<Segment>,
    closed: bool,
    lo: Vec2,
    hi: Vec2,
}

impl Laid {
    pub(super) fn new(drawing: &Drawing, turn: f64) -> Self {
        let (along, left) = (vec2(1.0, 0.0).turned(turn), vec2(0.0, 1.0).turned(turn));
        let at = |p: Vec2| along * p.x + left * p.y;
        let mut out = Self {
            runs: Vec::new(),
            words: Vec::new(),
        };
        for item in &drawing.items {
            if let Shape::Text {
                at: place,
                height,
                angle,
                text,
            } = &item.shape
            {
                let word = (at(*place), *height, angle + turn, text.clone());
                out.words.push(word);
                continue;
            }
            let Some((parts, closed)) = segments(&item.shape) else {
                continue;
            };
            let turned = |s: &Segment| Segment::new(at(s.a), at(s.b), s.bulge);
            let segments: Vec<Segment> = parts.iter().map(turned).collect();
            let start = (
                vec2(f64::INFINITY, f64::INFINITY),
                vec2(f64::NEG_INFINITY, f64::NEG_INFINITY),
            );
            let (lo, hi) = segments.iter().fold(start, |(lo, hi), s| {
                let (a, b) = s.bounds();
                (
                    vec2(lo.x.min(a.x), lo.y.min(a.y)),
                    vec2(hi.x.max(b.x), hi.y.max(b.y)),
                )
            });
            out.runs.push(Run {
                layer: item.layer,
                segments,
                closed,
                lo,
                hi,
            });
        }
        out
    }

    /// What its pages must show: outline, holes and marks.
    pub(super) fn lines(&self) -> Lines {
        let hole = |r: &Run| (r.lo.lerp(r.hi, 0.5), 0.5 * (r.hi.x - r.lo.x));
        Lines {
            chords: self.chords(&[Layer::Cut, Layer::Mark]),
            holes: self.on(&[Layer::Hole]).map(hole).collect(),
        }
    }

    /// Chords of all lines on some layers.
    pub(super) fn chords(&self, layers: &[Layer]) -> Vec<[Vec2; 2]> {
        let mut out = Vec::new();
        for run in self.on(layers) {
            chords(run, &mut out);
        }
        out
    }

    fn on(&self, layers: &[Layer]) -> impl Iterator<Item = &Run> {
        self.runs.iter().filter(|r| layers.contains(&r.layer))
    }

    /// What a window shows of all lines, with their layers, moved to the page by
    /// `shift`.
    pub(super) fn shown(&self, window: Window, shift: Vec2) -> Vec<(Layer, Ink)> {
        let to_page = Affine::translate((shift.x, shift.y));
        let mut out = Vec::new();
        for run in &self.runs {
            let apart = run.hi.x < window.0.x
                || run.hi.y < window.0.y
                || run.lo.x > window.1.x
                || run.lo.y > window.1.y;
            if apart {
                continue;
            }
            if let Some(mut path) = clipped(&run.segments, run.closed, window) {
                path.apply_affine(to_page);
                let pen = pen(run.layer);
                out.push((run.layer, Ink::Line { path, pen }));
            }
        }
        out
    }

    /// All words, moved to the page by `shift`.
    pub(super) fn words(&self, shift: Vec2) -> impl Iterator<Item = Ink> {
        self.words.iter().map(move |(at, height, angle, text)| {
            let (at, angle) = upright(*at, *angle, *height, text);
            Ink::Words {
                at: point(at + shift),
                height: *height,
                angle,
                text: text.clone(),
            }
        })
    }
}

/// Words that would stand on their head are turned about the middle of their line.
fn upright(at: Vec2, angle: f64, height: f64, text: &str) -> (Vec2, f64) {
    let along = vec2(1.0, 0.0).turned(angle);
    // Of words that run straight up or down, those that run up are upright.
    if along.x > 1e-6 || along.x > -1e-6 && along.y > 0.0 {
        return (at, angle);
    }
    let far = along * super::face::words_width(text, height) + along.left() * height;
    (at + far, angle + std::f64::consts::PI)
}

/// The pen of a layer.
fn pen(layer: Layer) -> Pen {
    Pen::black(match layer {
        Layer::Cut | Layer::Hole => LINE,
        Layer::Mark => MARK,
        Layer::Label | Layer::Sheet | Layer::Lead => FINE,
    })
}

fn chords(run: &Run, out: &mut Vec<[Vec2; 2]>) {
    for s in &run.segments {
        let steps = s
            .circle
            .map_or(1, |c| arc_steps(c.radius, s.sweep().abs(), CHORD));
        let mut from = s.a;
        for k in 1..=steps {
            let to = if k == steps {
                s.b
            } else {
                s.at(k as f64 / steps as f64)
            };
            out.push([from, to]);
            from = to;
        }
    }
}
