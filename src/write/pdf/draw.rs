//! Ink on a page of a PDF.

use krilla::color::luma;
use krilla::geom::{Path, PathBuilder, Point, Transform};
use krilla::num::NormalizedF32;
use krilla::paint::{Fill, LineCap, LineJoin, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::text::{Font, GlyphId, KrillaGlyph};
use kurbo::{BezPath, PathEl};

use super::tags::Tags;
use crate::geom::trig;
use crate::page::{Block, CAPITAL, Ink, Pen, letters};

/// Points of a millimetre (ISO 32000-1, 8.3.2.3: 72 points an inch).
const POINT: f64 = 72.0 / 25.4;

/// Millimetres in points.
pub(super) fn points(mm: f64) -> f32 {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "the format's figures are 32-bit; the error is told above"
    )]
    let points = (mm * POINT) as f32;
    points
}

/// A page that is being drawn on.
pub(super) struct Paper<'a, 'b> {
    surface: &'a mut Surface<'b>,
    font: &'a Font,
    /// Height of the paper, mm: the library counts from the upper edge.
    height: f64,
}

impl<'a, 'b> Paper<'a, 'b> {
    pub(super) fn new(surface: &'a mut Surface<'b>, font: &'a Font, height: f64) -> Self {
        Self {
            surface,
            font,
            height,
        }
    }

    /// Draws a block under its tag.
    pub(super) fn block(&mut self, block: &Block, tags: &mut Tags) {
        if block.ink.is_empty() {
            return;
        }
        let id = self.surface.start_tagged(Tags::content(&block.role));
        for ink in &block.ink {
            self.draw(ink);
        }
        self.surface.end_tagged();
        tags.add(block, id);
    }

    fn draw(&mut self, ink: &Ink) {
        match ink {
            Ink::Line { path, pen } => {
                self.surface.set_fill(None);
                self.surface.set_stroke(Some(stroke(pen)));
                self.path(path);
            }
            Ink::Area { path, grey } => {
                self.surface.set_stroke(None);
                self.surface.set_fill(Some(fill(*grey)));
                self.path(path);
            }
            Ink::Words {
                at,
                height,
                angle,
                text,
            } => self.words(self.place(*at), *height, *angle, text),
        }
    }

    fn place(&self, p: kurbo::Point) -> Point {
        Point::from_xy(points(p.x), points(self.height - p.y))
    }

    fn path(&mut self, path: &BezPath) {
        if let Some(path) = self.built(path) {
            self.surface.draw_path(&path);
        }
    }

    fn built(&self, path: &BezPath) -> Option<Path> {
        let mut out = PathBuilder::new();
        let at = |p: &kurbo::Point| self.place(*p);
        for step in path {
            match step {
                PathEl::MoveTo(p) => out.move_to(at(&p).x, at(&p).y),
                PathEl::LineTo(p) => out.line_to(at(&p).x, at(&p).y),
                PathEl::QuadTo(a, p) => out.quad_to(at(&a).x, at(&a).y, at(&p).x, at(&p).y),
                PathEl::CurveTo(a, b, p) => {
                    let (a, b, p) = (at(&a), at(&b), at(&p));
                    out.cubic_to(a.x, a.y, b.x, b.y, p.x, p.y);
                }
                PathEl::ClosePath => out.close(),
            }
        }
        out.finish()
    }

    fn words(&mut self, at: Point, height: f64, angle: f64, text: &str) {
        let shown = letters(text);
        if shown.is_empty() {
            return;
        }
        let text: String = shown.iter().map(|l| l.letter).collect();
        let mut from = 0;
        let mut glyph = |l: &crate::page::Letter| {
            let range = from..from + l.letter.len_utf8();
            from = range.end;
            KrillaGlyph::new(GlyphId::new(l.glyph), l.advance, 0.0, 0.0, 0.0, range, None)
        };
        let glyphs: Vec<KrillaGlyph> = shown.iter().map(&mut glyph).collect();
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(fill(0)));
        let size = points(height / CAPITAL);
        let font = self.font.clone();
        if angle == 0.0 {
            self.surface
                .draw_glyphs(at, &glyphs, font, &text, size, false);
            return;
        }
        // Counter-clockwise on the page, as the library's y runs down.
        let (c, s) = (single(trig::cos(angle)), single(trig::sin(angle)));
        let turn = Transform::from_row(c, -s, s, c, at.x, at.y);
        self.surface.push_transform(&turn);
        let origin = Point::from_xy(0.0, 0.0);
        self.surface
            .draw_glyphs(origin, &glyphs, font, &text, size, false);
        self.surface.pop();
    }
}

fn stroke(pen: &Pen) -> Stroke {
    let dash = (!pen.dash.is_empty()).then(|| StrokeDash {
        array: pen.dash.iter().map(|&mm| points(mm)).collect(),
        offset: 0.0,
    });
    Stroke {
        paint: luma::Color::new(pen.grey).into(),
        width: points(pen.width),
        miter_limit: 10.0,
        line_cap: LineCap::Butt,
        line_join: LineJoin::Round,
        opacity: NormalizedF32::ONE,
        dash,
    }
}

fn fill(grey: u8) -> Fill {
    Fill {
        paint: luma::Color::new(grey).into(),
        ..Fill::default()
    }
}

/// A ratio as the format has it.
fn single(ratio: f64) -> f32 {
    #[expect(clippy::cast_possible_truncation, reason = "a sine or cosine")]
    let single = ratio as f32;
    single
}
