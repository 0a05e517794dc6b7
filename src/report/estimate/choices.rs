//! Choices of stock set against each other: what each buys, wastes, welds,
//! cuts and costs, best first; and how the best one answers to gap, height
//! and width.
//!
//! - Plate, scrap, yield and masses are those of [`crate::report::facts`].
//! - Welding: each butt and mitre at the job's [`crate::job::WeldPrice`].
//! - Cutting: the plans' time at the job's price of a machine hour.
//! - Cost: plate less scrap, and of welding and cutting what is priced for
//!   every choice that can be made: sums that leave out different things
//!   cannot be compared.

use super::figures::{Counted, Figures};
use crate::job::{Effort, Job};
use crate::length::Show;
use crate::quantity::{given, thickness};

/// A choice and what came of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Tried {
    /// Name.
    pub name: String,
    /// Names of other choices that come to the same purchase.
    pub also: Vec<String>,
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
    /// Figures of the machine: price of an hour; speed of cutting, of travel and
    /// of marking, mm/min; seconds of a pierce and of a drilled hole.
    pub machine: [Option<f64>; 6],
    /// What it comes to, or why it cannot be made.
    pub outcome: Result<Figures, String>,
    /// Its sheets, small.
    pub pictures: Vec<Picture>,
    /// Its place in the order given, from 0.
    pub given: usize,
}

impl Tried {
    /// Its name, with those of the choices that come to the same.
    #[must_use]
    pub fn title(&self) -> String {
        let mut names = vec![self.name.as_str()];
        names.extend(self.also.iter().map(String::as_str));
        names.join("; ")
    }

    /// True where both are one purchase, of one supplier, cut alike on a machine
    /// of the same figures.
    fn same_purchase(&self, o: &Self) -> bool {
        let close = |a: f64, b: f64| (a - b).abs() < 1e-9;
        let (Ok(a), Ok(b)) = (&self.outcome, &o.outcome) else {
            return false;
        };
        (&self.supplier, &self.alloys, &self.process) == (&o.supplier, &o.alloys, &o.process)
            && close(self.kerf, o.kerf)
            && close(self.gap, o.gap)
            && self.machine == o.machine
            && a.same_purchase(b)
    }
}

/// A picture of a sheet, to stand in a page.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// An `svg` element, without the header of a file.
    pub svg: String,
    /// Width of what it shows, mm: pictures of one page are to one scale.
    pub width: f64,
    /// What it shows.
    pub caption: String,
}

/// Search efforts of an estimate's nests.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Efforts {
    /// Of the choices.
    pub choices: Effort,
    /// Of the variations of the best.
    pub variations: Effort,
}

impl Efforts {
    /// The same for all.
    #[must_use]
    pub fn all(effort: Effort) -> Self {
        Self {
            choices: effort,
            variations: effort,
        }
    }

    fn differ(self) -> bool {
        self.choices != self.variations
    }

    /// In a sentence.
    pub(super) fn told(self) -> String {
        let choices = self.choices.name();
        if self.differ() {
            format!(
                "Every choice is nested at {choices} effort, variations of the best at {}.",
                self.variations.name()
            )
        } else {
            format!("All nests are of {choices} effort.")
        }
    }

    /// What the row of the job as it stands is, among variations.
    pub(super) fn own_row(self) -> String {
        if self.differ() {
            format!(
                "the job as it stands, nested anew at {} effort: compare these rows with it, \
                 and not with the choices",
                self.variations.name()
            )
        } else {
            "the job as it stands".to_owned()
        }
    }
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
            Self::Gap => thickness(mm, show),
            Self::Height if mm.abs() < 1e-9 => "as it is".to_owned(),
            Self::Height if mm > 0.0 => format!("+{}", given(mm, show)),
            Self::Height | Self::BaseWidth | Self::TopWidth => given(mm, show),
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
    /// What is to be known of the survey first. Sentences.
    pub warnings: Vec<String>,
    /// Efforts of the nests.
    pub efforts: Efforts,
}

impl Estimate {
    /// Ranks choices: by cost where plate is priced in all that can be made,
    /// else by mass bought; equals in the order given. Choices that come to one
    /// purchase are one, which bears the first one's figures and all names.
    #[must_use]
    pub fn ranked(tried: Vec<Tried>, efforts: Efforts) -> Self {
        let made: Vec<&Figures> = tried
            .iter()
            .filter_map(|t| t.outcome.as_ref().ok())
            .collect();
        let counted = Counted {
            plate: !made.is_empty() && made.iter().all(|f| f.total.cost.is_some()),
            welding: !made.is_empty() && made.iter().all(|f| f.welds.cost.is_some()),
            cutting: !made.is_empty() && made.iter().all(|f| f.cutting.is_some()),
        };
        let key = |t: &Tried| match &t.outcome {
            Ok(f) => f.cost(counted).unwrap_or(f.total.mass_bought),
            Err(_) => f64::INFINITY,
        };
        let mut choices = tried;
        choices.sort_by(|a, b| key(a).total_cmp(&key(b)));
        let mut merged: Vec<Tried> = Vec::new();
        for t in choices {
            match merged.iter_mut().find(|m| m.same_purchase(&t)) {
                Some(same) => same.also.push(t.name),
                None => merged.push(t),
            }
        }
        Self {
            choices: merged,
            counted,
            variations: Vec::new(),
            notes: Vec::new(),
            warnings: Vec::new(),
            efforts,
        }
    }

    /// The best choice and its figures, where one can be made.
    #[must_use]
    pub fn best(&self) -> Option<(&Tried, &Figures)> {
        let first = self.choices.first()?;
        Some((first, first.outcome.as_ref().ok()?))
    }

    /// True for the best choice.
    pub(super) fn is_best(&self, choice: &Tried) -> bool {
        self.best()
            .is_some_and(|(best, _)| std::ptr::eq(best, choice))
    }

    /// Choices that cannot be made, each with its reason.
    pub(super) fn cannot(&self) -> impl Iterator<Item = String> {
        let why = |t: &Tried| Some(format!("{}: {}", t.name, t.outcome.as_ref().err()?));
        self.choices.iter().filter_map(why)
    }

    /// What a choice costs more than the best.
    pub(super) fn over_best(&self, figures: &Figures) -> Option<f64> {
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
            &|f| f.total.cost.is_some(),
            "prices.per_kg, or a sheet's price",
        );
        left_out(
            "welding",
            self.counted.welding,
            &|f| f.welds.cost.is_some(),
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
        let small: Vec<String> = (made.iter())
            .filter(|(_, f)| f.cut.small_holes > 0)
            .map(|(t, f)| format!("{} in {}", f.cut.small_holes, t.title()))
            .collect();
        if !small.is_empty() {
            notes.push(format!(
                "Holes below the smallest that the process cuts well, cut all the same: {}; cutting.small_holes = \"drill\" has them drilled.",
                small.join(", ")
            ));
        }
        notes.push(
            "At least: what the parts' net area asks of sheets, and of the price of plate, whatever the nest.".to_owned(),
        );
        if self.efforts.choices == Effort::Quick || self.efforts.variations == Effort::Quick {
            notes.push(
                "Nests of quick effort: a longer search may save a sheet here and there, so small differences mean little.".to_owned(),
            );
        }
        self.notes = notes;
    }
}

/// What goes with every estimate.
pub(super) const CAUTIONS: [&str; 4] = [
    "Prices are the job's own; none is built in. Cut times are those of the process's figures: time a sheet of your own.",
    "Machine time is cutting, piercing and travel. Drilling and marking are listed, and are in no cost.",
    "Plate, its butts and mitres, and its cutting only: stanchions, their welds, doublers' welds, forming, fastenings, timber, freight and tax are not counted.",
    "Alloys, tempers and widths differ in strength, in the weld most of all, and in what filler they take; height is for the rules that apply. Have a change approved by someone qualified.",
];
