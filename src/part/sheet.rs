//! The part while it is being marked: what there is to write, what stands in
//! the way, and the strip's ribs.

use crate::geom::Vec2;

use super::detailed::{Caption, Hole, Label, Mark, PartFrame};
use super::input::PartInput;
use super::room::{Field, Profile};

/// Gap between any line or letter and the outline or a hole, mm: the cut's
/// heat and burr spoil a mark that lies closer.
pub(super) const EDGE_CLEAR: f64 = 3.0;
/// Gap between letters and lines, mm: closer, a line is read as a stroke.
pub(super) const LINE_CLEAR: f64 = 4.0;
/// Gap between words, mm: closer, two are read as one.
pub(super) const WORD_GAP: f64 = 6.0;
/// Most of the width that the marked name's height takes, and the height that
/// is always tried, mm: larger letters leave no room for the other words.
const NAME_SHARE: (f64, f64) = (0.25, 10.0);
/// Distance between ribs, mm: the strip's direction hardly turns within it.
const RIB: f64 = 20.0;

/// A line across the strip where its middle has a given t.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rib {
    pub(super) t: f64,
    pub(super) outboard: Vec2,
    pub(super) inboard: Vec2,
    /// Unit direction of growing t at the middle.
    pub(super) along: Vec2,
    /// Length along the middle of the strip to here, mm.
    pub(super) run: f64,
}

impl Rib {
    pub(super) fn middle(&self) -> Vec2 {
        self.outboard.lerp(self.inboard, 0.5)
    }
}

/// A name to be written near a place on the strip.
#[derive(Debug, Clone)]
pub(super) struct Tag {
    pub(super) text: String,
    pub(super) t: f64,
    pub(super) w: f64,
    pub(super) of: Named,
}

/// What a name belongs to.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Named {
    /// A stanchion with the corners of its footprint: its name stands in it.
    Stanchion(Vec<Vec2>),
    /// A doubler between two t and two fractions of the width: its name stands
    /// beside it.
    Doubler { t: (f64, f64), w: (f64, f64) },
    /// A line across.
    Line,
}

/// The part while it is being marked.
#[derive(Debug)]
pub(super) struct Sheet<'a> {
    pub(super) input: &'a PartInput<'a>,
    pub(super) frame: &'a PartFrame,
    pub(super) profile: &'a Profile,
    pub(super) holes: &'a [Hole],
    /// Height of the part's name where there is room, mm.
    pub(super) letter_height: f64,
    pub(super) field: Field,
    pub(super) ribs: Vec<Rib>,
    pub(super) tags: Vec<Tag>,
    pub(super) marks: Vec<Mark>,
    pub(super) labels: Vec<Label>,
    pub(super) caption: Option<Caption>,
    pub(super) left_out: Vec<String>,
}

impl<'a> Sheet<'a> {
    pub(super) fn new(
        input: &'a PartInput<'a>,
        frame: &'a PartFrame,
        profile: &'a Profile,
        holes: &'a [Hole],
        letter_height: f64,
    ) -> Self {
        let mut field = Field::new(profile);
        for h in holes {
            field.add_disc(h.centre, h.diameter / 2.0 + EDGE_CLEAR);
        }
        let mut sheet = Self {
            input,
            frame,
            profile,
            holes,
            letter_height,
            field,
            ribs: Vec::new(),
            tags: Vec::new(),
            marks: Vec::new(),
            labels: Vec::new(),
            caption: None,
            left_out: Vec::new(),
        };
        sheet.lay_ribs();
        let most = (NAME_SHARE.0 * sheet.width()).max(NAME_SHARE.1);
        sheet.letter_height = letter_height.min(most);
        sheet
    }

    fn lay_ribs(&mut self) {
        let (a, b) = self.input.range();
        let size = self.profile.bounds.1 - self.profile.bounds.0;
        // The middle is no longer than both sides of the box, twice over for a horseshoe.
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "clamped to a small positive number"
        )]
        let n = ((size.x + size.y) / RIB).ceil().clamp(8.0, 4000.0) as usize;
        self.ribs = (0..=n)
            .map(|k| self.rib(a + (b - a) * (k as f64 / n as f64)))
            .collect();
        for k in 1..self.ribs.len() {
            let [before, here] = [k - 1, k].map(|k| self.ribs[k].middle());
            self.ribs[k].run = self.ribs[k - 1].run + before.distance(here);
        }
    }

    /// The rib at t, from the flat map.
    fn rib(&self, t: f64) -> Rib {
        let [outboard, ..] = self.input.flat.jet(t, 0.0);
        let [_, along, _] = self.input.flat.jet(t, 0.5);
        let [inboard, ..] = self.input.flat.jet(t, 1.0);
        Rib {
            t,
            outboard: self.frame.apply(outboard),
            inboard: self.frame.apply(inboard),
            along: self.frame.turn(along).unit(),
            run: 0.0,
        }
    }

    /// The strip's width near its middle, mm.
    pub(super) fn width(&self) -> f64 {
        self.ribs
            .get(self.ribs.len() / 2)
            .map_or(0.0, |r| r.outboard.distance(r.inboard))
    }
}
