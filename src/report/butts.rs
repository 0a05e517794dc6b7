//! What was tried to choose the butts with the nest.

use serde_json::{Value, json};

use super::estimate::Figures;
use super::json::round;
use super::table::{Cell, Table};
use crate::job::Job;
use crate::quantity::Quantity::{Length, Money, Share};

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

impl ButtTrials {
    /// For the summary.
    pub(super) fn json(&self) -> Vec<Value> {
        let row = |(i, t): (usize, &ButtTrial)| {
            json!({
                "longest_piece_mm": t.longest.map(round),
                "widest_piece_mm": t.widest.map(round),
                "butts": t.figures.welds.butts,
                "sheets": t.figures.total.sheets,
                "yield": round(t.figures.total.yield_ratio()),
                "cost": t.cost.map(round),
                "taken": i == self.best,
            })
        };
        self.trials.iter().enumerate().map(row).collect()
    }

    /// The table of the yield report.
    pub(super) fn text(&self, job: &Job) -> String {
        let limit = |mm: Option<f64>| mm.map_or(Cell::from("stock"), Cell::from);
        Table::of(job, self.trials.iter().enumerate())
            .column("longest", Length, |(_, t)| limit(t.longest))
            .under("piece")
            .column("widest", Length, |(_, t)| limit(t.widest))
            .under("piece")
            .count("butts", |(_, t)| t.figures.welds.butts)
            .count("sheets", |(_, t)| t.figures.total.sheets)
            .column("yield", Share, |(_, t)| t.figures.total.yield_ratio())
            .column("cost", Money, |(_, t)| t.cost)
            .text("", |(i, _)| if i == self.best { "taken" } else { "" })
            .to_text()
    }
}
