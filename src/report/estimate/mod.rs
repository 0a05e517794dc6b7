//! Choices of stock set against each other: what each buys, wastes, welds,
//! cuts and costs, best first; and how the best one answers to gap, height
//! and width.
//!
//! - Plate, scrap, yield and masses are those of [`super::facts`].
//! - Welding: each butt and mitre at the job's [`crate::job::WeldPrice`].
//! - Cutting: the plans' time at the job's price of a machine hour.
//! - Cost: plate less scrap, and of welding and cutting what is priced for
//!   every choice that can be made: sums that leave out different things
//!   cannot be compared.

mod figures;
mod json;
mod page;
mod rows;
mod text;

#[cfg(test)]
mod tests;

pub use figures::{Figures, Welds};
pub use json::{SCHEMA, estimate_json};
pub use page::estimate_page;
pub use rows::{estimate_csv, variations_csv};
pub use text::estimate_text;

use crate::job::{Effort, Job};
use crate::length::{self, Show};
use crate::quantity;

/// A choice and what came of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Tried {
    /// Name.
    pub name: String,
    /// Who offers it; may be empty.
    pub supplier: String,
    /// Alloys of the parts, each once.
    pub alloys: Vec<String>,
    /// Process.
    pub process: String,
    /// Width of the cut, mm.
    pub kerf: f64,
    /// Gap between parts, mm.
    pub gap: f64,
    /// What it comes to, or why it cannot be made.
    pub outcome: Result<Figures, String>,
    /// Its sheets, small.
    pub picture: Option<Picture>,
    /// Its place in the order given, from 0.
    pub given: usize,
}

/// A picture to stand in a page.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// An `svg` element, without the header of a file.
    pub svg: String,
    /// Width of what it shows, mm: pictures of one page are to one scale.
    pub width: f64,
}

/// What is varied.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Varied {
    /// Gap between parts.
    Gap,
    /// Height of the bulwark: how much higher.
    Height,
    /// Width of the base plate.
    BaseWidth,
    /// Width of the top plate.
    TopWidth,
}

impl Varied {
    /// All, in the order of the report.
    pub const ALL: [Self; 4] = [Self::Gap, Self::Height, Self::BaseWidth, Self::TopWidth];

    /// In words.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Gap => "gap between parts",
            Self::Height => "bulwark height",
            Self::BaseWidth => "base plate width",
            Self::TopWidth => "top plate width",
        }
    }

    /// The figure as people read it; a height is told by its change.
    #[must_use]
    pub fn figure(self, mm: f64, show: Show) -> String {
        match self {
            Self::Gap => quantity::thickness(mm, show),
            Self::Height if mm.abs() < 1e-9 => "as it is".to_owned(),
            Self::Height if mm > 0.0 => format!("+{}", length::show(mm, show)),
            Self::Height | Self::BaseWidth | Self::TopWidth => length::show(mm, show),
        }
    }
}

/// The best choice with one figure changed.
#[derive(Debug, Clone, PartialEq)]
pub struct Variation {
    /// What is changed.
    pub of: Varied,
    /// To what, mm; of the height: by how much.
    pub value: f64,
    /// True where this is the job as it stands.
    pub own: bool,
    /// What it comes to, or why it cannot be made.
    pub outcome: Result<Figures, String>,
}

/// Which lines the cost counts beside plate and scrap.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counted {
    /// Plate has a price in every choice: there is a cost.
    pub plate: bool,
    /// Welding.
    pub welding: bool,
    /// Cutting.
    pub cutting: bool,
}

/// All choices, best first, those that cannot be made last.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimate {
    /// Choices.
    pub choices: Vec<Tried>,
    /// What the cost counts.
    pub counted: Counted,
    /// Variations of the best choice.
    pub variations: Vec<Variation>,
    /// Sentences for people.
    pub notes: Vec<String>,
    /// Effort of the nests.
    pub effort: Effort,
}

impl Estimate {
    /// Ranks choices: by cost where plate is priced in all that can be made,
    /// else by mass bought; equals in the order given.
    #[must_use]
    pub fn ranked(tried: Vec<Tried>, effort: Effort) -> Self {
        let made: Vec<&Figures> = tried
            .iter()
            .filter_map(|t| t.outcome.as_ref().ok())
            .collect();
        let counted = Counted {
            plate: !made.is_empty() && made.iter().all(|f| f.plate.is_some()),
            welding: !made.is_empty() && made.iter().all(|f| f.welding.is_some()),
            cutting: !made.is_empty() && made.iter().all(|f| f.cutting.is_some()),
        };
        let key = |t: &Tried| match &t.outcome {
            Ok(f) => f.cost(counted).unwrap_or(f.mass_bought),
            Err(_) => f64::INFINITY,
        };
        let mut choices = tried;
        choices.sort_by(|a, b| key(a).total_cmp(&key(b)));
        Self {
            choices,
            counted,
            variations: Vec::new(),
            notes: Vec::new(),
            effort,
        }
    }

    /// The best choice and its figures, where one can be made.
    #[must_use]
    pub fn best(&self) -> Option<(&Tried, &Figures)> {
        let first = self.choices.first()?;
        Some((first, first.outcome.as_ref().ok()?))
    }

    /// What a choice costs more than the best.
    fn over_best(&self, figures: &Figures) -> Option<f64> {
        let best = self.best()?.1.cost(self.counted)?;
        Some(figures.cost(self.counted)? - best)
    }

    /// Says what the cost leaves out, and what else a reader must know.
    pub fn add_notes(&mut self, job: &Job) {
        let made: Vec<(&Tried, &Figures)> = self
            .choices
            .iter()
            .filter_map(|t| Some((t, t.outcome.as_ref().ok()?)))
            .collect();
        let mut notes = Vec::new();
        let ranked = if self.counted.plate {
            let mut lines = vec!["plate less scrap"];
            lines.extend(
                self.counted
                    .welding
                    .then_some("welding of butts and mitres"),
            );
            lines.extend(self.counted.cutting.then_some("machine time"));
            format!("Ranked by cost: {}.", lines.join(", "))
        } else {
            "Ranked by mass bought: plate is not priced for every choice.".to_owned()
        };
        notes.push(ranked);
        let mut left_out =
            |what: &str, counted: bool, priced: &dyn Fn(&Figures) -> bool, how: &str| {
                if counted || made.is_empty() {
                    return;
                }
                let without: Vec<&str> = made
                    .iter()
                    .filter(|(_, f)| !priced(f))
                    .map(|(t, _)| t.name.as_str())
                    .collect();
                notes.push(if without.len() == made.len() {
                    format!("Not priced, and in no cost: {what} ({how}).")
                } else {
                    format!(
                        "In no cost, as it is not priced for {}: {what} ({how}).",
                        without.join(", ")
                    )
                });
            };
        left_out(
            "plate",
            self.counted.plate,
            &|f| f.plate.is_some(),
            "prices.per_kg, or a sheet's price",
        );
        left_out(
            "welding",
            self.counted.welding,
            &|f| f.welding.is_some(),
            "[prices.weld]",
        );
        left_out(
            "machine time",
            self.counted.cutting,
            &|f| f.cutting.is_some(),
            "prices.cutting_per_hour, and the process's speeds under [cutting]",
        );
        let processes: std::collections::BTreeSet<&str> =
            made.iter().map(|(t, _)| t.process.as_str()).collect();
        if self.counted.cutting
            && processes.len() > 1
            && job.estimate.iter().any(|c| {
                c.cutting_per_hour.is_none()
                    && c.cutting
                        .as_ref()
                        .is_some_and(|k| k.process != job.cutting.process)
            })
        {
            notes.push(
                "A choice with another process and no cutting_per_hour of its own is priced at the job's machine hour.".to_owned(),
            );
        }
        if self.effort == Effort::Quick {
            notes.push(
                "Nests are of quick effort: a longer search may save a sheet here and there, so small differences mean little.".to_owned(),
            );
        }
        self.notes = notes;
    }
}

/// What goes with every estimate.
const CAUTIONS: [&str; 3] = [
    "Prices are the job's own; none is built in. Cut times are those of the process's figures: time a sheet of your own.",
    "Plate, its butts and mitres, and its cutting only: stanchions, their welds, doublers' welds, forming, fastenings, timber, freight and tax are not counted.",
    "Alloys, tempers and widths differ in strength, in the weld most of all, and in what filler they take; height is for the rules that apply. Have a change approved by someone qualified.",
];

/// Effort as the command names it.
fn effort_word(effort: Effort) -> &'static str {
    match effort {
        Effort::Quick => "quick",
        Effort::Normal => "normal",
        Effort::Long => "long",
    }
}
