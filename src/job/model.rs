//! A whole job, resolved: millimetres and radians.

use super::bulwark::*;
use super::cutting::{Cutting, Remnants};
use super::output::Output;
use super::paper::Paper;
use super::places::Places;
use super::prices::{Choice, Prices};
use super::sheet::Sheet;
use super::surveyed::SurveyJob;
use crate::fault::{Fault, Place};
use crate::length::Show;
use crate::stock;
use crate::tolerance::Tolerance;

/// A whole job.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// The job file, as the user named it: the subject of errors.
    pub file: String,
    /// Where its keys stand in that file.
    pub places: Places,
    /// Name of the work, for title blocks.
    pub name: String,
    /// The date to print; the clock is never asked.
    pub date: String,
    /// A line for every report, such as that the hull is invented.
    pub note: String,
    /// Units in what people read.
    pub show: Show,
    /// The measured edge.
    pub survey: SurveyJob,
    /// Fairing of both lines.
    pub fairing: Fairing,
    /// The check of the tacked line.
    pub check: Check,
    /// Height and lean.
    pub bulwark: Bulwark,
    /// Base plate on the covering board.
    pub base: Plate,
    /// Bedding between covering board and base plate, thickness mm.
    pub bedding: f64,
    /// Top plate under the cap.
    pub top: Plate,
    /// How the top plate lies athwart.
    pub top_slope: TopSlope,
    /// Timber around the plates.
    pub section: Section,
    /// The wood cap made up of lengths.
    pub cap: Cap,
    /// Box stanchions.
    pub stanchions: Stanchions,
    /// Holes through the base plate into the covering board.
    pub base_fasteners: Option<Fasteners>,
    /// Holes through the top plate up into the cap.
    pub top_fasteners: Option<Fasteners>,
    /// Welded butts and lift joints.
    pub joints: Joints,
    /// Doublers, as in way of chain plates.
    pub doublers: Vec<Doubler>,
    /// Lengths that no butt, lift joint or fastener may enter (freeing ports,
    /// chain plates without doubler).
    pub keep_clear: Vec<KeepClear>,
    /// The lengths that carry a bulwark; empty: all that was surveyed.
    pub runs: Vec<Stretch>,
    /// Gates and other gaps.
    pub gaps: Vec<Stretch>,
    /// Sheets on offer.
    pub sheets: Vec<Sheet>,
    /// Kerf, gap, margin.
    pub cutting: Cutting,
    /// What is worth keeping of a sheet.
    pub remnants: Remnants,
    /// Prices of material by mass where a sheet states none, and of scrap.
    pub prices: Prices,
    /// Choices of stock to be estimated; empty: those of [`Job::choices`].
    pub estimate: Vec<Choice>,
    /// Formats and layers.
    pub output: Output,
    /// What patterns are printed on.
    pub paper: Paper,
    /// What floor sheets are printed on.
    pub floor_paper: Paper,
    /// Names of stanchions at which floor sheets show a section.
    pub floor_sections: Vec<String>,
    /// Tolerances, overridden where the job says so.
    pub tolerance: Tolerance,
}

impl Job {
    /// Where a key stands, by its full name such as `doubler[1].at`: its value,
    /// or what holds it. A fault of what the job says lies there, whichever
    /// stage finds it.
    #[must_use]
    pub fn place(&self, field: impl AsRef<str>) -> Place {
        self.places.of(&self.file, field.as_ref())
    }

    /// An alloy of the stock tables by its name.
    ///
    /// # Errors
    /// [`crate::fault::Kind::Unknown`] with the nearest name, where the tables have none.
    pub fn alloy(&self, name: &str) -> Result<&'static stock::Alloy, Fault> {
        stock::alloy(name).map_err(|e| Fault::new(e.kind, self.place("alloy"), e.what, e.mend))
    }
}
