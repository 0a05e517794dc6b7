//! The title block: what a sheet is, of which job, to which scale, and that
//! nothing is cut from it.

use kurbo::{Point, Rect, Size};

use crate::drawing::floor::{FloorSheet, LEAST_LETTER, scale_words};
use crate::geom::{Vec2, vec2};
use crate::job::{Job, Paper};
use crate::length::Show;
use crate::page::face::words_width;
use crate::page::flow::wrapped;
use crate::page::model::{Block, Ink, Pen, Role};

/// Height of the heading's letters, mm.
const HEADING: f64 = 4.0;
/// Height of a line, mm.
const LINE: f64 = 4.6;
/// Most lines of one text.
const MOST_LINES: usize = 3;
/// Between the block's edge and its words, mm.
const AIR: f64 = 2.0;
/// Between the drawing and the block, mm.
const OFF: f64 = 2.0;

/// What all title blocks of a job say.
#[derive(Debug, Clone)]
pub struct Title<'a> {
    /// The job.
    pub job: &'a Job,
    /// What the survey's doubts ask to be known, if there are any.
    pub doubts: Option<String>,
}

impl Title<'_> {
    /// Room for a drawing above the block, mm.
    #[must_use]
    pub fn room(&self) -> Vec2 {
        room_over(self.job, self.height() + OFF)
    }

    fn said(&self) -> Vec<String> {
        let caution = "To read beside the work, not to cut or to measure from: parts are cut \
                        from their own files and patterns at true size. Strength, freeing ports \
                        and rail height are for local rules and licensed practice.";
        let width = room_over(self.job, 0.0).x - 2.0 * AIR;
        let of = |text: &str| {
            let mut lines = wrapped(text, LEAST_LETTER, width);
            if lines.len() > MOST_LINES {
                lines.truncate(MOST_LINES);
                let room = width - words_width(" ...", LEAST_LETTER);
                let last = lines.pop().unwrap_or_default();
                let kept = wrapped(&last, LEAST_LETTER, room).into_iter().next();
                lines.extend(kept.map(|k| k + " ..."));
            }
            lines
        };
        let about = format!("{}.  {}", self.job.heading(), self.job.note);
        let doubts = self.doubts.as_deref().unwrap_or_default();
        [&about, doubts, caution].map(of).concat()
    }

    fn height(&self) -> f64 {
        AIR + 1.5 * HEADING + AIR + LINE * self.said().len() as f64
    }

    /// The block of a sheet, at the lower edge of the printable box.
    pub(super) fn blocks(
        &self,
        sheet: &FloorSheet,
        (number, of): (usize, usize),
        printable: Rect,
    ) -> Vec<Block> {
        let edge = Rect::new(
            printable.x0 + 0.2,
            printable.y0 + 0.2,
            printable.x1 - 0.2,
            printable.y0 + self.height(),
        );
        let show = self.job.show;
        let units = match show {
            Show::Mm => "lengths in mm",
            Show::FeetInches => "lengths in feet and inches",
        };
        let scale = match sheet.scale {
            Some(s) => format!("scale {}", scale_words(s, show)),
            None => "not to one scale".to_owned(),
        };
        let paper = &self.job.floor_paper.name;
        let facts = format!("{scale} on {paper}  |  {units}  |  sheet {number} of {of}");
        let upper = edge.y1 - AIR - HEADING;
        let right = edge.x1 - AIR - words_width(&facts, LEAST_LETTER);
        let words = |at: (f64, f64), height: f64, text: &str| Ink::words(at, height, text);
        let heading = fitted(&sheet.heading, HEADING, right - edge.x0 - 2.0 * AIR);
        let mut ruled = vec![Ink::frame(edge, Pen::black(0.35))];
        let under = upper - 0.5 * HEADING;
        ruled.push(Ink::line(
            Point::new(edge.x0, under),
            Point::new(edge.x1, under),
            Pen::black(0.2),
        ));
        let mut out = vec![
            Block::new(Role::Furniture, ruled),
            Block::new(
                Role::Heading(1),
                vec![words((edge.x0 + AIR, upper), heading, &sheet.heading)],
            ),
            Block::new(
                Role::Words,
                vec![words((right, upper), LEAST_LETTER, &facts)],
            ),
        ];
        let mut y = under - 1.4 * LEAST_LETTER;
        for line in self.said() {
            let ink = vec![words((edge.x0 + AIR, y), LEAST_LETTER, &line)];
            out.push(Block::new(Role::Words, ink));
            y -= LINE;
        }
        out
    }
}

/// A height of letters at which words are no longer than a room, the least at
/// the least.
fn fitted(text: &str, height: f64, room: f64) -> f64 {
    (height * room / words_width(text, height)).clamp(LEAST_LETTER, height)
}

/// The paper and what a printer reaches of it, the long side across.
pub(super) fn across(paper: &Paper) -> (Size, Rect) {
    let (long, short) = (paper.length.max(paper.width), paper.length.min(paper.width));
    let size = Size::new(long, short);
    (size, size.to_rect().inset(-paper.margin))
}

/// A drawing stays so far inside the printable box, mm: a line on its edge is
/// as wide as its pen.
pub(super) const IN: f64 = 0.5;

/// Room for a drawing on each page of a job's floor sheets, mm.
fn room_over(job: &Job, below: f64) -> Vec2 {
    let (_, printable) = across(&job.floor_paper);
    vec2(
        printable.width() - 2.0 * IN,
        printable.height() - below - IN,
    )
}
