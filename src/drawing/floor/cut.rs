//! A cut in its place on paper: its timber, what stands where, and the break
//! between foot and head.

use crate::drawing::model::bounds;
use crate::geom::{Vec2, vec2};
use crate::job::Job;
use crate::layout::SectionCut;

/// Room for notes left and right of a cut, over and under it, mm of paper.
pub(super) const LEFT: f64 = 48.0;
pub(super) const RIGHT: f64 = 56.0;
const OVER: f64 = 57.0;
const UNDER: f64 = 34.0;
/// Of the covering board and of the inwale, whose depths the job does not
/// tell, so much is drawn, mm of boat.
pub(super) const BOARD: f64 = 45.0;
const INWALE: f64 = 90.0;
/// What a break leaves open, mm of paper.
const BREAK: f64 = 5.0;

/// A cut with its timber, mm of boat.
pub(super) struct Figure<'a> {
    pub(super) cut: &'a SectionCut,
    /// Cap and inwale, corners outboard below first, as those of the cut.
    pub(super) cap: [Vec2; 4],
    pub(super) inwale: [Vec2; 4],
}

impl<'a> Figure<'a> {
    pub(super) fn new(cut: &'a SectionCut, job: &Job) -> Self {
        let s = &job.section;
        // The cap lies on the top plate: what it has to spare over the least
        // overhangs is drawn half on each side.
        let along = (cut.top[2] - cut.top[3]).unit();
        let up = along.left();
        let from = cut.top[3] - along * job.cap_outboard();
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

    /// What stands on the board, and what is at the cap.
    fn lower(&self) -> Vec<Vec2> {
        let c = self.cut;
        let mut out = vec![vec2(0.0, -BOARD), self.board_end() + vec2(0.0, -BOARD)];
        out.extend(c.base.iter().chain(&c.planking[..2]).chain(&c.tube[..2]));
        out
    }

    fn upper(&self) -> Vec<Vec2> {
        let c = self.cut;
        let mut out = [c.top, self.cap, self.inwale].concat();
        out.extend(c.planking[2..].iter().chain(&c.tube[2..]));
        out
    }

    /// The covering board a little beyond the base plate.
    pub(super) fn board_end(&self) -> Vec2 {
        let [edge, end] = self.cut.board;
        end + (end - edge).unit() * 25.0
    }
}

/// A cut in its place on paper.
pub(super) struct Drawn<'a> {
    pub(super) job: &'a Job,
    pub(super) figure: Figure<'a>,
    pub(super) scale: f64,
    pub(super) corner: Vec2,
    pub(super) size: Vec2,
    /// Corners of what is drawn, mm of boat, and where the lower left one lies
    /// on paper.
    pub(super) lo: Vec2,
    pub(super) hi: Vec2,
    pub(super) at: Vec2,
    /// Heights between which the cut is broken out, mm of boat.
    pub(super) broken: Option<(f64, f64)>,
    /// By what the upper part is shifted down along the tube, mm of boat.
    pub(super) shift: Vec2,
}

impl<'a> Drawn<'a> {
    pub(super) fn new(
        job: &'a Job,
        cut: &'a SectionCut,
        scale: f64,
        corner: Vec2,
        size: Vec2,
    ) -> Self {
        let figure = Figure::new(cut, job);
        let (below, above) = (figure.lower(), figure.upper());
        let (lo, hi) = bounds(below.iter().chain(&above).copied());
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
        let shifted = above.iter().map(|&p| p - shift);
        let (lo, hi) = bounds(below.iter().copied().chain(shifted));
        let free = size.x - LEFT - RIGHT - (hi.x - lo.x) * scale;
        let at = corner + vec2(LEFT + free / 2.0, UNDER);
        Self {
            job,
            figure,
            scale,
            corner,
            size,
            lo,
            hi,
            at,
            broken,
            shift,
        }
    }

    /// Width of the cut on paper.
    pub(super) fn width(&self) -> f64 {
        (self.hi.x - self.lo.x) * self.scale
    }

    /// Paper of a place below the break.
    pub(super) fn low(&self, p: Vec2) -> Vec2 {
        self.at + (p - self.lo) * self.scale
    }

    /// Paper of a place above the break.
    pub(super) fn high(&self, p: Vec2) -> Vec2 {
        self.low(p - self.shift)
    }
    /// Paper of a place that lies not in the break.
    pub(super) fn on(&self, p: Vec2) -> Vec2 {
        let tube = &self.figure.cut.tube;
        if p.y > 0.5 * (tube[0].y + tube[3].y) {
            self.high(p)
        } else {
            self.low(p)
        }
    }
}
