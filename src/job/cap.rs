//! The wood cap over the top plate, and the lengths that it is made up of.

use super::model::Job;
use crate::fault::{Fault, Kind};
use crate::length::{Round, told, told_unrounded};

/// Longest board where the job names none, mm: 12 ft.
const BOARD: f64 = 3657.6;
/// The same in scarfs: two, and as much between them.
const BOARD_SCARFS: f64 = 3.0;

impl Job {
    /// How far the cap reaches outboard of the top plate's edge, mm: its
    /// overhang, planking and set-back, and half of what it has to spare.
    #[must_use]
    pub fn cap_outboard(&self) -> f64 {
        let s = &self.section;
        let outboard = s.overhang_outboard + s.planking + s.weld_setback;
        let spare = s.cap_width - outboard - self.top.width - s.inwale - s.overhang_inboard;
        outboard + 0.5 * spare
    }

    /// Length of a scarf of the cap, mm.
    #[must_use]
    pub fn cap_scarf(&self) -> f64 {
        self.cap.scarf * self.section.cap_thickness
    }

    /// Greatest length of a piece of the cap, mm.
    #[must_use]
    pub fn cap_longest(&self) -> f64 {
        let usual = BOARD.max(BOARD_SCARFS * self.cap_scarf());
        self.cap.longest_piece.unwrap_or(usual)
    }
}

/// A piece holds a scarf at either end, and its board is wider than the cap.
pub(super) fn lengths_faults(job: &Job) -> Vec<Fault> {
    let mut out = Vec::new();
    let mm = |v: f64| told(v, job.show);
    let scarf = job.cap_scarf();
    if let Some(longest) = job.cap.longest_piece.filter(|&l| l < 2.0 * scarf) {
        let (long, scarf) = (mm(longest), mm(scarf));
        let what = format!("a piece of the cap {long} long does not hold two scarfs of {scarf}");
        let least = told_unrounded(2.0 * job.cap_scarf(), job.show, Round::Up);
        let mend = format!("allow {least} or more, or shorter scarfs (cap.scarf)");
        let place = job.place("cap.longest_piece");
        out.push(Fault::new(Kind::Range, place, what, mend));
    }
    if let Some(widest) = job.cap.widest_piece.filter(|&w| w <= job.section.cap_width) {
        let (board, cap) = (mm(widest), mm(job.section.cap_width));
        let what = format!("no board is wider than {board}, and the cap is {cap}");
        let mend = "a curved piece takes a board wider than the cap: give some more than its width";
        let place = job.place("cap.widest_piece");
        out.push(Fault::new(Kind::Range, place, what, mend));
    }
    out
}
