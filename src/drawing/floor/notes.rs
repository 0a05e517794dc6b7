//! Notes in columns beside a cut: heights, thicknesses, angles, and corners
//! that lie in the planking.

use super::cut::{BOARD, Drawn};
use super::model::{FloorSheet, LEAST_LETTER, LINE, Stand, Stroke};
use crate::dxf::wrapped;
use crate::geom::{Vec2, trig, vec2};
use crate::job::Job;
use crate::length::show;
use crate::quantity::Quantity::Angle;
use crate::quantity::{given, thickness};

impl Drawn<'_> {
    pub(super) fn left_notes(&self) -> Vec<Note> {
        let (c, shown) = (self.figure.cut, self.job.show);
        let x = self.at.x - 6.0;
        let over = self.broken.map_or(0.35 * c.top[3].y, |b| b.0);
        let level = self.low(vec2(0.0, over)).y - 6.0;
        let mut out = vec![Note {
            on: vec2(x, level),
            lines: vec![
                format!("{} high as faired", show(c.top[3].y, shown)),
                "over the board's edge".to_owned(),
            ],
        }];
        if self.job.section.planking > 0.0 {
            let up = 20.0 / self.scale;
            let on = c.planking[0] + vec2(-up * trig::tan(c.lean), up);
            out.push(Note {
                on: self.low(on),
                lines: vec!["planking leans".to_owned(), leans(c.lean, self.job)],
            });
        }
        for (what, at, depth) in &c.met {
            let depth = thickness(*depth, shown);
            let mut lines = wrapped(what, 22);
            lines.push(format!("is {depth} in the planking"));
            out.push(Note {
                on: self.on(*at) - vec2(1.6, 0.0),
                lines,
            });
        }
        out
    }

    pub(super) fn right_notes(&self) -> Vec<Note> {
        let (c, job, cap) = (self.figure.cut, self.job, &self.figure.cap);
        let (shown, st) = (job.show, &self.figure.cut.stanchion);
        let mut out = Vec::new();
        let mut note = |on: Vec2, lines: &[String]| {
            out.push(Note {
                on,
                lines: lines.to_vec(),
            });
        };
        let between = |a: Vec2, b: Vec2| (a + b) * 0.5;
        note(
            self.high(between(cap[1], cap[2])),
            &[format!(
                "cap {} thick",
                given(job.section.cap_thickness, shown)
            )],
        );
        let level = if c.top_slope.abs() < 1e-9 {
            "level athwart".to_owned()
        } else {
            rises(c.top_slope, job)
        };
        let thick = thickness(job.top.thickness, shown);
        let top = [format!("top plate {thick} thick,"), level];
        note(self.high(between(c.top[1], c.top[2])), &top);
        let head = ["head cut".to_owned(), rises(st.head_cut.rise_inboard, job)];
        note(self.high(c.tube[2]), &head);
        let side = |f: f64| self.low(c.tube[1].lerp(c.tube[2], f));
        let up = 0.12;
        let (square, wall) = (
            given(job.stanchions.side, shown),
            given(job.stanchions.wall, shown),
        );
        let tube = [
            format!("tube {square} square,"),
            format!("wall {wall}, {} long", show(st.length, shown)),
            "between its long points,".to_owned(),
            format!("leans {}", leans(st.lean, job)),
        ];
        note(side(up), &tube);
        let foot = ["foot cut".to_owned(), rises(st.foot_cut.rise_inboard, job)];
        note(self.low(c.tube[1]), &foot);
        let thick = thickness(job.base.thickness, shown);
        note(
            self.low(between(c.base[1], c.base[2])),
            &[format!("base plate {thick} thick")],
        );
        if job.bedding > 0.0 {
            note(
                self.low(between(c.bedding[1], c.bedding[2])),
                &[format!("bedding {}", thickness(job.bedding, shown))],
            );
        }
        let board = ["covering board".to_owned(), rises(c.slope, job)];
        let end = self.figure.board_end() - vec2(0.0, 0.7 * BOARD);
        note(self.low(end), &board);
        out
    }

    /// Notes one below the other, in the order of what they are about, each
    /// with a line that leads there from `edge`.
    pub(super) fn column(&self, sheet: &mut FloorSheet, mut notes: Vec<Note>, x: f64, edge: f64) {
        notes.sort_by(|a, b| b.on.y.total_cmp(&a.on.y));
        let tall = |n: &Note| LINE * n.lines.len() as f64 + 1.4;
        // As high as what they are about, none over the one before it, and
        // what is left below has room.
        let mut below: Vec<f64> = vec![self.low(self.lo).y - 2.0; notes.len() + 1];
        for k in (0..notes.len()).rev() {
            below[k] = below[k + 1] + tall(&notes[k]);
        }
        let mut upper = self.corner.y + self.size.y - 14.0;
        for (k, n) in notes.iter().enumerate() {
            let top = (n.on.y + LEAST_LETTER / 2.0 + 0.4).max(below[k]).min(upper);
            let from = vec2(edge, top - LEAST_LETTER / 2.0 - 0.4);
            sheet.line(Stroke::Thin, from, n.on);
            for (i, line) in n.lines.iter().enumerate() {
                let y = top - LEAST_LETTER - 0.4 - LINE * i as f64;
                sheet.tag(line.clone(), LEAST_LETTER, vec2(x, y), Stand::At);
            }
            upper = top - tall(n);
        }
    }
}

/// A note beside a cut: what it is about, on paper, and its lines.
pub(super) struct Note {
    on: Vec2,
    lines: Vec<String>,
}

fn rises(angle: f64, job: &Job) -> String {
    let way = if angle < 0.0 { "falls" } else { "rises" };
    format!("{way} {} inboard", Angle.told(angle.abs(), job.show))
}

fn leans(angle: f64, job: &Job) -> String {
    let way = if angle < 0.0 { "inboard" } else { "outboard" };
    format!("{} {way}", Angle.told(angle.abs(), job.show))
}
