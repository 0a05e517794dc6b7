//! What was tried to choose the butts with the nest.

use serde::Serialize;

use super::estimate::Figures;
use super::table::Table;
use crate::length::{Show, number, show};

/// A cutting that was tried.
#[derive(Debug, Clone, PartialEq)]
pub struct ButtTrial {
    /// Greatest length of a piece, mm; `None`: what stock holds.
    pub longest: Option<f64>,
    /// Greatest width of a flat piece, mm; `None`: what stock holds.
    pub widest: Option<f64>,
    /// Plate less scrap, welds, and cutting where it is priced.
    pub cost: Option<f64>,
    /// All that it comes to, nested at quick effort.
    pub figures: Figures,
}

/// All that were tried.
#[derive(Debug, Clone, PartialEq)]
pub struct ButtTrials {
    /// The fewest pieces first; those that cannot be made are left out.
    pub trials: Vec<ButtTrial>,
    /// Index of the one taken.
    pub best: usize,
}

/// A row of the summary.
#[derive(Debug, Serialize)]
pub(super) struct ButtRow {
    longest_piece_mm: Option<f64>,
    widest_piece_mm: Option<f64>,
    butts: usize,
    sheets: usize,
    #[serde(rename = "yield")]
    yield_ratio: f64,
    cost: Option<f64>,
    taken: bool,
}

impl ButtTrials {
    pub(super) fn rows(&self) -> Vec<ButtRow> {
        let round = super::summary::round;
        let row = |(i, t): (usize, &ButtTrial)| ButtRow {
            longest_piece_mm: t.longest.map(round),
            widest_piece_mm: t.widest.map(round),
            butts: t.figures.welds.butts,
            sheets: t.figures.sheets,
            yield_ratio: round(t.figures.yield_ratio()),
            cost: t.cost.map(round),
            taken: i == self.best,
        };
        self.trials.iter().enumerate().map(row).collect()
    }

    /// The table of the yield report.
    pub(super) fn text(&self, currency: &str, units: Show) -> String {
        let mut table = Table::new(&[
            ("longest", "piece"),
            ("widest", "piece"),
            ("butts", ""),
            ("sheets", ""),
            ("yield", "%"),
            ("cost", currency),
            ("", ""),
        ]);
        let length = |l: Option<f64>| l.map_or_else(|| "stock".to_owned(), |l| show(l, units));
        for (i, t) in self.trials.iter().enumerate() {
            table.row(vec![
                length(t.longest),
                length(t.widest),
                t.figures.welds.butts.to_string(),
                t.figures.sheets.to_string(),
                number(t.figures.yield_ratio() * 100.0, 1),
                t.cost.map_or_else(String::new, |c| number(c, 2)),
                if i == self.best { "taken" } else { "" }.to_owned(),
            ]);
        }
        table.text()
    }
}
