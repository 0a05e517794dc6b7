//! The bulwark cut square to its edge at chosen stanchions, every size and
//! angle told. The length between foot and head is broken out where it does
//! not fit.

use super::cut::{BOARD, Drawn, LEFT, RIGHT};
use super::input::Boat;
use super::model::{FloorSheet, LEAST_LETTER, LINE, NAME, Stand, Stroke, largest};
use crate::drawing::Shape;
use crate::geom::{Vec2, vec2};
use crate::length::show;
use crate::quantity::given;

/// Cuts on a sheet, side by side.
const ABREAST: usize = 2;
/// Mean advance of a letter of a floor sheet's words over its height: of the
/// condensed face figures have 0.79, small letters less.
const ADVANCE: f64 = 0.8;

/// The cuts' sheets for a room of this size, mm of paper.
pub(super) fn section_sheets(boat: &Boat<'_>, room: Vec2) -> Vec<FloorSheet> {
    let wide = room.x / ABREAST as f64;
    let size = vec2(wide, room.y);
    let narrow = |s: f64| {
        let width = |c| Drawn::new(boat.job, c, s, Vec2::default(), size).width();
        boat.sections
            .iter()
            .all(|c| width(c) <= wide - LEFT - RIGHT)
    };
    let scale = largest(boat.job.show, narrow);
    let sheets = boat.sections.chunks(ABREAST).enumerate();
    let drawn = sheets.map(|(k, cuts)| {
        let mut sheet = FloorSheet {
            name: format!("sections {}", k + 1),
            heading: "The bulwark cut square to its edge".to_owned(),
            scale: Some(scale),
            ..FloorSheet::default()
        };
        let mut names = Vec::new();
        for (i, cut) in cuts.iter().enumerate() {
            let left = wide * i as f64;
            Drawn::new(boat.job, cut, scale, vec2(left, 0.0), vec2(wide, room.y)).draw(&mut sheet);
            names.push(cut.stanchion.name.clone());
        }
        sheet.shows = format!(
            "Sections at stanchions {}: planking, inwale, cap, base plate, bedding, \
             stanchion and top plate with sizes and angles.",
            names.join(" and ")
        );
        sheet
    });
    drawn.collect()
}

impl Drawn<'_> {
    fn draw(&self, sheet: &mut FloorSheet) {
        self.heading(sheet);
        self.members(sheet);
        self.lower_sizes(sheet);
        self.upper_sizes(sheet);
        self.height(sheet);
        self.reference(sheet);
        let (left, right) = (self.left_notes(), self.right_notes());
        let edge = vec2(self.corner.x + 2.0, self.at.x - 8.0);
        self.column(sheet, left, edge.x, edge.y);
        let from = self.at.x + self.width() + 5.0;
        self.column(sheet, right, from, from - 1.0);
        for (_, at, _) in &self.figure.cut.met {
            let ring = Shape::Circle {
                centre: self.on(*at),
                radius: 1.6,
            };
            sheet.lines.push((Stroke::Edge, ring));
        }
    }

    fn heading(&self, sheet: &mut FloorSheet) {
        let c = self.figure.cut;
        let upper = self.corner.y + self.size.y;
        let left = self.corner.x + 4.0;
        let at = |y: f64| vec2(left, upper - y);
        let head = format!("AT STANCHION {}", c.stanchion.name);
        sheet.tag(head, NAME, at(5.0), Stand::At);
        sheet.tag(c.stanchion.place.clone(), LEAST_LETTER, at(10.0), Stand::At);
        sheet.tag(c.why.join(", "), LEAST_LETTER, at(14.4), Stand::At);
    }

    /// What stands across the break in two parts, the rest whole.
    fn members(&self, sheet: &mut FloorSheet) {
        let c = self.figure.cut;
        let low =
            |corners: &[Vec2]| -> Vec<Vec2> { corners.iter().map(|&p| self.low(p)).collect() };
        let high =
            |corners: &[Vec2]| -> Vec<Vec2> { corners.iter().map(|&p| self.high(p)).collect() };
        // The board, whose depth the job does not tell.
        let end = self.figure.board_end();
        let down = vec2(0.0, -BOARD);
        sheet.stroke(Stroke::Thin, low(&[down, Vec2::default(), end, end + down]));
        sheet.stroke(Stroke::Dashed, low(&[down, end + down]));
        sheet.stroke(Stroke::Thin, closed(&low(&c.bedding)));
        for corners in [low(&c.base), high(&c.top)] {
            sheet.shape(Stroke::Shade, &corners);
            sheet.stroke(Stroke::Edge, closed(&corners));
        }
        sheet.stroke(Stroke::Thin, closed(&high(&self.figure.cap)));
        if self.job.section.inwale > 0.0 {
            let [a, b, c, d] = self.figure.inwale;
            sheet.stroke(Stroke::Thin, high(&[a, d, c, b]));
            sheet.stroke(Stroke::Dashed, high(&[a, b]));
        }
        let wall = self.job.stanchions.wall / self.job.stanchions.side;
        let [a, b, d, e] = c.tube;
        let mut lines = vec![
            (Stroke::Edge, a, e),
            (Stroke::Edge, b, d),
            (Stroke::Dashed, a.lerp(b, wall), e.lerp(d, wall)),
            (Stroke::Dashed, b.lerp(a, wall), d.lerp(e, wall)),
        ];
        if self.job.section.planking > 0.0 {
            let [outer, inner, above, outer_above] = c.planking;
            lines.extend([
                (Stroke::Thin, inner, above),
                (Stroke::Thin, outer, outer_above),
            ]);
            sheet.line(Stroke::Thin, self.low(outer), self.low(inner));
            sheet.line(Stroke::Thin, self.high(outer_above), self.high(above));
        }
        for (stroke, from, to) in lines {
            self.upright(sheet, stroke, from, to);
        }
        sheet.stroke(Stroke::Edge, low(&[a, b]));
        sheet.stroke(Stroke::Edge, high(&[e, d]));
    }

    /// A line from below the break to above it.
    fn upright(&self, sheet: &mut FloorSheet, stroke: Stroke, from: Vec2, to: Vec2) {
        let Some((lower, upper)) = self.broken else {
            sheet.line(stroke, self.low(from), self.high(to));
            return;
        };
        let at = |y: f64| from.lerp(to, (y - from.y) / (to.y - from.y));
        let (below, above) = (self.low(at(lower)), self.high(at(upper)));
        sheet.line(stroke, self.low(from), below);
        sheet.line(stroke, above, self.high(to));
        // Its ends are cut by a short stroke.
        for end in [below, above] {
            let across = vec2(1.6, 0.5);
            sheet.line(Stroke::Thin, end - across, end + across);
        }
    }

    /// Sizes one beside the other along a level line, from left to right, the
    /// words stacked so that no leader passes any: `way` 1 above it, -1 below.
    fn chain(&self, sheet: &mut FloorSheet, sizes: &[([Vec2; 2], String)], y: f64, way: f64) {
        let mut rows: Vec<usize> = vec![0; sizes.len()];
        let middle = |k: usize| 0.5 * (sizes[k].0[0].x + sizes[k].0[1].x);
        for k in (0..sizes.len().saturating_sub(1)).rev() {
            let long = sizes[k].1.chars().count() as f64 * LEAST_LETTER * ADVANCE;
            let free = middle(k + 1) - middle(k) > long + 2.0;
            rows[k] = rows[k + 1] + usize::from(!free);
        }
        for (k, (ends, words)) in sizes.iter().enumerate() {
            for end in ends {
                sheet.line(Stroke::Thin, *end + vec2(0.0, way), vec2(end.x, y + way));
                let slash = vec2(0.6, 0.6);
                let on = vec2(end.x, y);
                sheet.line(Stroke::Edge, on - slash, on + slash);
            }
            sheet.line(Stroke::Thin, vec2(ends[0].x, y), vec2(ends[1].x, y));
            let tip = y + way * (3.0 + LINE * rows[k] as f64);
            let x = middle(k);
            let below = if way < 0.0 { LEAST_LETTER } else { 0.0 };
            sheet.line(
                Stroke::Thin,
                vec2(x, y),
                vec2(x, tip + way * (LEAST_LETTER - 0.6)),
            );
            let at = vec2(x + 0.8, tip - below);
            sheet.tag(words.clone(), LEAST_LETTER, at, Stand::At);
        }
    }

    fn lower_sizes(&self, sheet: &mut FloorSheet) {
        let (s, c) = (&self.job.section, self.figure.cut);
        let told = |mm: f64| given(mm, self.job.show);
        let mut from = 0.0;
        let mut sizes = Vec::new();
        for (name, mm) in [
            ("inset", s.planking_inset),
            ("planking", s.planking),
            ("set-back", s.weld_setback),
        ] {
            if mm > 0.0 {
                let ends = [from, from + mm].map(|x| self.low(vec2(x, -BOARD)));
                sizes.push((ends, format!("{name} {}", told(mm))));
            }
            from += mm;
        }
        let ends = [c.bedding[0], c.base[1]].map(|p| self.low(vec2(p.x, p.y.min(0.0))));
        sizes.push((
            ends,
            format!("base plate {} wide", told(self.job.base.width)),
        ));
        let y = self.low(vec2(0.0, self.lo.y)).y - 5.0;
        self.chain(sheet, &sizes, y, -1.0);
    }

    fn upper_sizes(&self, sheet: &mut FloorSheet) {
        let (s, c, cap) = (&self.job.section, self.figure.cut, &self.figure.cap);
        let shown = self.job.show;
        let told = |mm: f64| given(mm, shown);
        let along = (cap[1] - cap[0]).unit();
        let out = (c.top[3] - cap[0]).dot(along);
        let spare = (cap[1] - c.top[2]).dot(along);
        let mut from = cap[3];
        let mut sizes = Vec::new();
        for (name, mm, drawn) in [
            ("overhang", out - s.planking - s.weld_setback, true),
            ("planking", s.planking, false),
            ("set-back", s.weld_setback, false),
            ("top plate", self.job.top.width, false),
            ("inwale", s.inwale, false),
            ("overhang", spare - s.inwale, true),
        ] {
            let to = from + along * mm;
            // Below half a hundredth there is nothing to tell.
            if mm > 0.005 {
                // The job tells the least overhang alone.
                let size = if drawn { show(mm, shown) } else { told(mm) };
                let ends = [from, to].map(|p| self.high(p));
                sizes.push((ends, format!("{name} {size}")));
            }
            from = to;
        }
        let y = self.high(self.hi + self.shift).y + 10.0;
        self.chain(sheet, &sizes, y, 1.0);
        let ends = [cap[3], cap[2]].map(|p| self.high(p));
        let level = y - 5.5;
        sheet.line(Stroke::Thin, vec2(ends[0].x, level), vec2(ends[1].x, level));
        for end in ends {
            let (on, slash) = (vec2(end.x, level), vec2(0.6, 0.6));
            sheet.line(Stroke::Edge, on - slash, on + slash);
        }
        let words = format!("cap {} wide", told(s.cap_width));
        let at = vec2(0.5 * (ends[0].x + ends[1].x), level);
        sheet.tag(words, LEAST_LETTER, at, Stand::On);
    }

    /// The line of the top plate's height over the board's edge.
    fn height(&self, sheet: &mut FloorSheet) {
        let c = self.figure.cut;
        let x = self.at.x - 6.0;
        let (foot, head) = (self.low(Vec2::default()), self.high(c.top[3]));
        let (a, b) = (vec2(x, foot.y), vec2(x, head.y));
        for (end, from) in [(a, foot.x - 1.0), (b, head.x - 1.0)] {
            sheet.line(Stroke::Thin, vec2(from, end.y), end - vec2(1.0, 0.0));
            let slash = vec2(0.6, 0.6);
            sheet.line(Stroke::Edge, end - slash, end + slash);
        }
        let Some((lower, upper)) = self.broken else {
            sheet.line(Stroke::Thin, a, b);
            return;
        };
        let (lo, hi) = (self.low(vec2(0.0, lower)).y, self.high(vec2(0.0, upper)).y);
        sheet.line(Stroke::Thin, a, vec2(x, lo));
        sheet.line(Stroke::Thin, vec2(x, hi), b);
        for y in [lo, hi] {
            sheet.line(Stroke::Thin, vec2(x - 1.6, y - 0.5), vec2(x + 1.6, y + 0.5));
        }
    }

    /// A level line beside the board and a plumb one beside the planking.
    fn reference(&self, sheet: &mut FloorSheet) {
        let c = self.figure.cut;
        let end = self.low(self.figure.board_end());
        sheet.line(Stroke::Dashed, end, end - vec2(22.0, 0.0));
        if self.job.section.planking > 0.0 {
            let foot = self.low(c.planking[0]);
            sheet.line(Stroke::Dashed, foot, foot + vec2(0.0, 26.0));
        }
    }
}

fn closed(corners: &[Vec2]) -> Vec<Vec2> {
    corners.iter().chain(corners.first()).copied().collect()
}
