//! Remnants taken from their drawings, and what a sheet's size rules out.

use super::model::Job;
use super::ranges::LONG_SHEET;
use super::sheet::Sheet;
use crate::fault::{Fault, Faults, Kind, Place};
use crate::length::{Show, show};
use crate::stock::{self, Remnant, read_remnant, same_thickness};

/// What the size of a sheet rules out: a margin that leaves nothing, a clamp
/// beside the sheet.
pub(super) fn size_faults(job: &Job, index: usize) -> Vec<Fault> {
    let Some(s) = job.sheets.get(index) else {
        return Vec::new();
    };
    let place = |key: &str| match &s.remnant {
        Some(r) => r.place.clone(),
        None => job.place(format!("sheet[{}].{key}", index + 1)),
    };
    let mut out = Vec::new();
    let margin = job.cutting.edge_margin;
    if margin * 2.0 >= s.width.min(s.length) {
        let what = format!(
            "a margin of {} leaves nothing of sheet `{}`",
            show(margin, job.show),
            s.name
        );
        let mend = "list a larger sheet, or lower cutting.edge_margin";
        out.push(Fault::new(Kind::Stock, place("width"), what, mend));
    }
    for (i, z) in s.clamps.iter().enumerate() {
        let beside = z.hi.x <= 0.0 || z.hi.y <= 0.0 || z.lo.x >= s.length || z.lo.y >= s.width;
        let over = z.lo.x <= 0.0 && z.lo.y <= 0.0 && z.hi.x >= s.length && z.hi.y >= s.width;
        let (what, mend) = match (over, beside) {
            (true, _) => (
                "covers all of",
                "give its corner and its size, or take the sheet out",
            ),
            (_, true) => (
                "lies beside",
                "measure from the sheet's lower left corner, length first",
            ),
            _ => continue,
        };
        out.push(Fault::new(
            Kind::Range,
            place(&format!("clamps[{}]", i + 1)),
            format!("clamp {} {what} sheet `{}`", i + 1, s.name),
            mend,
        ));
    }
    out
}

impl Job {
    /// Takes the remnants from their drawings: `texts` are the drawings'
    /// paths and texts. Size and shape of every such sheet are then known.
    ///
    /// # Errors
    /// Every fault of the drawings: what [`read_remnant`] refuses, a drawing
    /// that is not there, a thickness or alloy that is not the job's, a size
    /// out of range.
    pub fn take_remnants(&mut self, texts: &[(String, String)]) -> Result<(), Faults> {
        let mut faults = Vec::new();
        for i in 0..self.sheets.len() {
            let Some(drawing) = self.sheets[i].remnant.clone() else {
                continue;
            };
            let Some((_, text)) = texts.iter().find(|(path, _)| *path == drawing.path) else {
                let what = format!("the drawing {} is not there", drawing.path);
                let mend =
                    "check the name and the folder; paths in a job are relative to the job file";
                faults.push(Fault::new(Kind::File, drawing.place, what, mend));
                continue;
            };
            let read = read_remnant(&drawing.path, text, drawing.unit);
            let Ok(remnant) = read.map_err(|f| faults.push(f)) else {
                continue;
            };
            faults.extend(unlike(&self.sheets[i], &remnant, &drawing.path, self.show));
            let (_, size) = remnant.region.bounds();
            let sheet = &mut self.sheets[i];
            (sheet.length, sheet.width) = (size.x, size.y);
            sheet.shape = Some(remnant.region);
            if size.x.max(size.y) > LONG_SHEET || size.x.min(size.y) < 1.0 {
                let what = format!(
                    "the remnant measures {} by {}",
                    show(size.x, self.show),
                    show(size.y, self.show)
                );
                let mend = "check the drawing and its unit";
                faults.push(Fault::new(
                    Kind::Range,
                    Place::file(&drawing.path),
                    what,
                    mend,
                ));
                continue;
            }
            faults.extend(size_faults(self, i));
        }
        if faults.is_empty() {
            Ok(())
        } else {
            Err(Faults(faults))
        }
    }
}

/// Where a drawing says another thickness or alloy than the job.
fn unlike(sheet: &Sheet, remnant: &Remnant, path: &str, shown: Show) -> Vec<Fault> {
    let mut out = Vec::new();
    let mut add = |key: &str, drawn: String, said: String| {
        out.push(Fault::new(
            Kind::Conflict,
            Place::file(path),
            format!("the drawing says {drawn}, and the job says {said}"),
            format!("set `{key}` of this [[sheet]] to what the plate is"),
        ));
    };
    if let Some(t) = remnant.thickness
        && !same_thickness(t, sheet.thickness)
    {
        let text = |mm| show(mm, shown);
        add("thickness", text(t), text(sheet.thickness));
    }
    if let Some(a) = &remnant.alloy
        && stock::alloy(a).map_or(a.as_str(), |a| a.name) != sheet.alloy
    {
        add("alloy", a.clone(), sheet.alloy.clone());
    }
    out
}
