//! The bulwark cut square to its edge at chosen stanchions, every size and
//! angle told. The length between foot and head is broken out where it does
//! not fit.

use super::Boat;
use super::model::{FloorSheet, LEAST_LETTER, NAME, Stand, Stroke, largest};
use crate::geom::{Vec2, trig, vec2};
use crate::job::Job;
use crate::layout::SectionCut;
use crate::length::show;
use crate::quantity::Quantity::Angle;
use crate::quantity::{given, thickness};

/// Cuts on a sheet, side by side.
const ABREAST: usize = 2;
/// Room for words on both sides of a cut, and over and under it, mm of paper.
const BESIDE: f64 = 54.0;
const OVER: f64 = 34.0;
const UNDER: f64 = 24.0;
/// Of the covering board and of the inwale, whose depths the job does not
/// tell, so much is drawn, mm of boat.
const BOARD: f64 = 45.0;
const INWALE: f64 = 90.0;
/// What a break leaves open, mm of paper.
const BREAK: f64 = 5.0;

/// The cuts' sheets for a room of this size, mm of paper.
pub(super) fn section_sheets(boat: &Boat<'_>, room: Vec2) -> Vec<FloorSheet> {
    let wide = room.x / ABREAST as f64;
    let extent = |c: &SectionCut| Figure::new(c, boat.job).extent();
    let widest = (boat.sections.iter().map(extent))
        .map(|(lo, hi)| hi.x - lo.x)
        .fold(1.0, f64::max);
    let scale = largest(boat.job.show, |s| widest * s <= wide - 2.0 * BESIDE);
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

/// A cut with its timber, mm of boat.
struct Figure<'a> {
    cut: &'a SectionCut,
    /// Cap and inwale, corners outboard below first, as those of the cut.
    cap: [Vec2; 4],
    inwale: [Vec2; 4],
}

impl<'a> Figure<'a> {
    fn new(cut: &'a SectionCut, job: &Job) -> Self {
        let s = &job.section;
        // The cap lies on the top plate: what it has to spare over the least
        // overhangs is drawn half on each side.
        let along = (cut.top[2] - cut.top[3]).unit();
        let up = along.left();
        let need = [
            s.overhang_outboard,
            s.planking,
            s.weld_setback,
            s.inwale,
            s.overhang_inboard,
        ];
        let spare = s.cap_width - job.top.width - need.iter().sum::<f64>();
        let out = s.overhang_outboard + s.planking + s.weld_setback + spare / 2.0;
        let from = cut.top[3] - along * out;
        let to = from + along * s.cap_width;
        let thick = up * s.cap_thickness;
        let (edge, wide) = (cut.top[2], vec2(s.inwale, 0.0));
        let down = vec2(0.0, -INWALE);
        Self {
            cut,
            cap: [from, to, to + thick, from + thick],
            inwale: [edge + down, edge + wide + down, edge + wide, edge],
        }
    }

    fn extent(&self) -> (Vec2, Vec2) {
        let c = self.cut;
        let board = [vec2(0.0, -BOARD), self.board_end()];
        let all = [c.base, c.top, c.planking, c.tube, self.cap];
        super::super::model::bounds(all.concat().into_iter().chain(board))
    }

    /// The covering board a little beyond the base plate.
    fn board_end(&self) -> Vec2 {
        let [edge, end] = self.cut.board;
        end + (end - edge).unit() * 25.0
    }
}

/// A cut in its place on paper.
struct Drawn<'a> {
    job: &'a Job,
    figure: Figure<'a>,
    scale: f64,
    corner: Vec2,
    size: Vec2,
    /// Lower left of what is drawn, mm of boat, and where it lies on paper.
    lo: Vec2,
    at: Vec2,
    /// Heights between which the cut is broken out, mm of boat.
    broken: Option<(f64, f64)>,
    /// By what the upper part is shifted down along the tube, mm of boat.
    shift: Vec2,
}

impl<'a> Drawn<'a> {
    fn new(job: &'a Job, cut: &'a SectionCut, scale: f64, corner: Vec2, size: Vec2) -> Self {
        let figure = Figure::new(cut, job);
        let (lo, hi) = figure.extent();
        let tall = (size.y - OVER - UNDER) / scale;
        let too_much = (hi.y - lo.y) - tall;
        let axis = cut.tube[3] - cut.tube[0];
        let (broken, shift) = if too_much > 0.0 {
            let middle = 0.5 * (cut.tube[0].y + cut.tube[3].y);
            let out = too_much + BREAK / scale;
            let bounds = (middle - out / 2.0, middle + out / 2.0);
            (Some(bounds), axis * (too_much / axis.y))
        } else {
            (None, Vec2::default())
        };
        let (lo_x, hi_x) = (lo.x, hi.x - shift.x.min(0.0));
        let at = vec2(
            corner.x + (size.x - (hi_x - lo_x) * scale) / 2.0,
            corner.y + UNDER,
        );
        Self {
            job,
            figure,
            scale,
            corner,
            size,
            lo: vec2(lo_x, lo.y),
            at,
            broken,
            shift,
        }
    }

    /// Paper of a place below the break.
    fn low(&self, p: Vec2) -> Vec2 {
        self.at + (p - self.lo) * self.scale
    }

    /// Paper of a place above the break.
    fn high(&self, p: Vec2) -> Vec2 {
        self.low(p - self.shift)
    }

    fn draw(&self, sheet: &mut FloorSheet) {
        self.heading(sheet);
        self.members(sheet);
        self.lower_sizes(sheet);
        self.upper_sizes(sheet);
        self.heights(sheet);
        self.angles(sheet);
        self.met(sheet);
    }

    fn heading(&self, sheet: &mut FloorSheet) {
        let c = self.figure.cut;
        let upper = self.corner.y + self.size.y;
        let left = self.corner.x + 4.0;
        let at = |y: f64| vec2(left, upper - y);
        let head = format!("AT STANCHION {}", c.stanchion.name);
        sheet.tag(head, NAME, at(5.0), Stand::At);
        let place = format!("{}: {}", c.stanchion.place, c.why.join(", "));
        sheet.tag(place, LEAST_LETTER, at(10.0), Stand::At);
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
        let name = self.low(end * 0.55 + down * 0.6);
        sheet.tag("covering board", LEAST_LETTER, name, Stand::On);
        sheet.shape(Stroke::Shade, &low(&c.bedding));
        sheet.stroke(Stroke::Edge, closed(&low(&c.base)));
        sheet.stroke(Stroke::Edge, closed(&high(&c.top)));
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

    /// A dimension: ends on paper, how far off and which way it stands, words.
    fn size(&self, sheet: &mut FloorSheet, ends: [Vec2; 2], off: Vec2, words: String) {
        let [a, b] = ends.map(|p| p + off);
        let way = off.unit();
        for (end, on) in ends.into_iter().zip([a, b]) {
            sheet.line(Stroke::Thin, end + way * 0.8, on + way * 0.8);
            let slash = (b - a).unit().turned(0.8) * 0.9;
            sheet.line(Stroke::Edge, on - slash, on + slash);
        }
        sheet.line(Stroke::Thin, a, b);
        sheet.tag(words, LEAST_LETTER, (a + b) * 0.5, Stand::By(way));
    }

    fn lower_sizes(&self, sheet: &mut FloorSheet) {
        let (s, c) = (&self.job.section, self.figure.cut);
        let told = |mm: f64| given(mm, self.job.show);
        let level = |x: f64| self.low(vec2(x, -BOARD));
        let mut from = 0.0;
        let sizes = [
            ("inset", s.planking_inset),
            ("planking", s.planking),
            ("set-back", s.weld_setback),
        ];
        for (name, mm) in sizes.into_iter().filter(|s| s.1 > 0.0) {
            let ends = [level(from), level(from + mm)];
            self.size(sheet, ends, vec2(0.0, -5.0), format!("{name} {}", told(mm)));
            from += mm;
        }
        let ends = [self.low(c.base[0]), self.low(c.base[1])];
        let under = vec2(0.0, level(0.0).y - ends[0].y - 5.0);
        self.size(
            sheet,
            ends,
            under,
            format!("base plate {} wide", told(self.job.base.width)),
        );
        let right = vec2(1.0, 0.0);
        let mut note = |words: String, at: Vec2| {
            sheet.tag(words, LEAST_LETTER, self.low(at), Stand::By(right));
        };
        let show = self.job.show;
        note(
            format!(
                "base plate {} thick",
                thickness(self.job.base.thickness, show)
            ),
            (c.base[1] + c.base[2]) * 0.5,
        );
        if self.job.bedding > 0.0 {
            note(
                format!("bedding {}", thickness(self.job.bedding, show)),
                (c.bedding[1] + c.bedding[2]) * 0.5,
            );
        }
    }

    fn upper_sizes(&self, sheet: &mut FloorSheet) {
        let (s, c, cap) = (&self.job.section, self.figure.cut, &self.figure.cap);
        let told = |mm: f64| given(mm, self.job.show);
        let along = (cap[1] - cap[0]).unit();
        let up = along.left();
        let out = (c.top[3] - cap[0]).dot(along);
        let spare = (cap[1] - c.top[2]).dot(along);
        let sizes = [
            ("overhang", out - s.planking - s.weld_setback),
            ("planking", s.planking),
            ("set-back", s.weld_setback),
            ("top plate", self.job.top.width),
            ("inwale", s.inwale),
            ("overhang", spare - s.inwale),
        ];
        let mut from = cap[3];
        for (name, mm) in sizes {
            let to = from + along * mm;
            if mm > 0.005 {
                let ends = [self.high(from), self.high(to)];
                let words = format!("{name} {}", told((mm * 1e3).round() / 1e3));
                self.size(sheet, ends, up * 5.0, words);
            }
            from = to;
        }
        let ends = [self.high(cap[3]), self.high(cap[2])];
        self.size(
            sheet,
            ends,
            up * 15.0,
            format!("cap {} wide", told(s.cap_width)),
        );
        let right = Stand::By(vec2(1.0, 0.0));
        let show = self.job.show;
        let words = format!("cap {} thick", told(s.cap_thickness));
        sheet.tag(
            words,
            LEAST_LETTER,
            self.high((cap[1] + cap[2]) * 0.5),
            right,
        );
        let words = format!(
            "top plate {} thick",
            thickness(self.job.top.thickness, show)
        );
        let at = c.top[1].lerp(c.top[2], 0.5) - along * 4.0;
        sheet.tag(words, LEAST_LETTER, self.high(at), right);
    }

    /// Height of the top plate over the board's edge, and the tube.
    fn heights(&self, sheet: &mut FloorSheet) {
        let (c, shown) = (self.figure.cut, self.job.show);
        let x = self.at.x - 6.0;
        let (foot, head) = (self.low(Vec2::default()), self.high(c.top[3]));
        let (a, b) = (vec2(x, foot.y), vec2(x, head.y));
        let left = self.low(self.lo).x;
        for (end, from) in [(a, foot.x - 1.0), (b, left.min(head.x) - 1.0)] {
            sheet.line(Stroke::Thin, vec2(from, end.y), end - vec2(1.0, 0.0));
            let slash = vec2(0.6, 0.6);
            sheet.line(Stroke::Edge, end - slash, end + slash);
        }
        match self.broken {
            None => sheet.line(Stroke::Thin, a, b),
            Some((lower, upper)) => {
                let (lo, hi) = (self.low(vec2(0.0, lower)).y, self.high(vec2(0.0, upper)).y);
                sheet.line(Stroke::Thin, a, vec2(x, lo));
                sheet.line(Stroke::Thin, vec2(x, hi), b);
                for y in [lo, hi] {
                    sheet.line(Stroke::Thin, vec2(x - 1.6, y - 0.5), vec2(x + 1.6, y + 0.5));
                }
            }
        }
        let words = format!("{} high", show(c.top[3].y, shown));
        let low = self
            .broken
            .map_or((a + b) * 0.5, |b| vec2(x, self.low(vec2(0.0, b.0)).y - 8.0));
        sheet.tag(words, LEAST_LETTER, low, Stand::By(vec2(-1.0, 0.0)));
        let tube = &self.job.stanchions;
        let right = Stand::By(vec2(1.0, 0.0));
        let on = self.low(c.tube[1].lerp(c.tube[2], 0.12));
        let words = format!(
            "tube {} square, wall {}",
            given(tube.side, shown),
            given(tube.wall, shown)
        );
        sheet.tag(words, LEAST_LETTER, on, right);
        let on = on + vec2(0.0, 7.0);
        let words = format!("{} long, long points", show(c.stanchion.length, shown));
        sheet.tag(words, LEAST_LETTER, on, right);
    }

    fn angles(&self, sheet: &mut FloorSheet) {
        let (c, shown) = (self.figure.cut, self.job.show);
        let told = |angle: f64| Angle.told(angle.abs(), shown);
        let rises = |angle: f64| if angle < 0.0 { "falls" } else { "rises" };
        let leans = |angle: f64| if angle < 0.0 { "inboard" } else { "outboard" };
        let right = Stand::By(vec2(1.0, 0.0));
        let left = Stand::By(vec2(-1.0, 0.0));
        // A level line where the board's slope is told, a plumb one at lean.
        let end = self.figure.board_end();
        let level = [self.low(end), self.low(vec2(end.x - 60.0, end.y))];
        sheet.line(Stroke::Dashed, level[0], level[1]);
        let words = format!("board {} {} inboard", rises(c.slope), told(c.slope));
        sheet.tag(words, LEAST_LETTER, self.low(end), right);
        let words = match c.top_slope.abs() < 1e-9 {
            true => "top plate level athwart".to_owned(),
            false => format!(
                "top plate {} {} inboard",
                rises(c.top_slope),
                told(c.top_slope)
            ),
        };
        let top = c.top[0].lerp(c.top[1], 0.85);
        sheet.tag(words, LEAST_LETTER, self.high(top), right);
        if self.job.section.planking > 0.0 {
            let foot = c.planking[0];
            let plumb = [self.low(foot), self.low(foot) + vec2(0.0, 28.0)];
            sheet.line(Stroke::Dashed, plumb[0], plumb[1]);
            let words = format!("planking leans {} {}", told(c.lean), leans(c.lean));
            let on = self.low(foot + vec2(-trig::tan(c.lean), 1.0) * (24.0 / self.scale));
            sheet.tag(words, LEAST_LETTER, on, left);
        }
        let st = &c.stanchion;
        let words = format!("stanchion leans {} {}", told(st.lean), leans(st.lean));
        let on = self.low(c.tube[1].lerp(c.tube[2], 0.12)) + vec2(0.0, 14.0);
        sheet.tag(words, LEAST_LETTER, on, right);
        for (end, cut, at) in [
            ("foot", st.foot_cut, self.low(c.tube[1])),
            ("head", st.head_cut, self.high(c.tube[2])),
        ] {
            let angle = cut.rise_inboard;
            let words = format!("{end} cut {} {} inboard", rises(angle), told(angle));
            sheet.tag(words, LEAST_LETTER, at, right);
        }
    }

    /// Corners that lie in the planking.
    fn met(&self, sheet: &mut FloorSheet) {
        let c = self.figure.cut;
        let middle = 0.5 * (c.tube[0].y + c.tube[3].y);
        for (what, at, depth) in &c.met {
            let on = if at.y > middle {
                self.high(*at)
            } else {
                self.low(*at)
            };
            let ring = crate::drawing::Shape::Circle {
                centre: on,
                radius: 1.6,
            };
            sheet.lines.push((Stroke::Edge, ring));
            let depth = thickness(*depth, self.job.show);
            let words = [what.clone(), format!("is {depth} in the planking")];
            for (k, words) in words.into_iter().enumerate() {
                let at = on - vec2(1.6, 4.0 * k as f64);
                sheet.tag(words, LEAST_LETTER, at, Stand::By(vec2(-1.0, 0.0)));
            }
        }
    }
}

fn closed(corners: &[Vec2]) -> Vec<Vec2> {
    corners.iter().chain(corners.first()).copied().collect()
}
