//! Sheets on offer, sheets in use, and a plan of them.

use super::fill::Lay;
use super::room::Room;
use super::search::Trial;

/// Net areas over this share of the rooms are not tried whole: nothing here
/// has ever been laid so close.
pub(super) const CLOSEST: f64 = 0.97;

/// A sheet on offer.
#[derive(Debug, Clone)]
pub(super) struct Offer {
    pub room: Room,
    pub area: f64,
    pub cost: f64,
    pub quantity: Option<usize>,
    /// For each class, whether it fits.
    pub fits: Vec<bool>,
}

/// A sheet in use.
#[derive(Debug, Clone)]
pub(super) struct Used {
    pub stock: usize,
    pub lay: Lay,
    pub worth: f64,
    pub weight: f64,
}

/// Sheets in use, and the parts that found none.
#[derive(Debug, Clone)]
pub(super) struct Plan {
    pub sheets: Vec<Used>,
    pub left: Vec<usize>,
}

impl Offer {
    /// Something that a sheet holds, for what it costs.
    pub(super) fn for_cost(&self, held: f64) -> f64 {
        held / self.cost.max(f64::MIN_POSITIVE)
    }
}

impl Used {
    pub(super) fn of(stock: usize, trial: Trial) -> Self {
        Self {
            stock,
            lay: trial.lay,
            worth: trial.worth,
            weight: trial.weight,
        }
    }

    /// Worth for its cost.
    fn full(&self, offers: &[Offer]) -> f64 {
        offers[self.stock].for_cost(self.worth)
    }

    /// Net area of its parts, as a share of its room.
    pub(super) fn share(&self) -> f64 {
        self.lay.area / self.lay.room.area().max(f64::MIN_POSITIVE)
    }

    pub(super) fn parts(&self) -> Vec<usize> {
        self.lay.items.iter().map(|i| i.part).collect()
    }
}

impl Plan {
    /// No sheet yet.
    pub(super) fn bare(parts: &[usize]) -> Self {
        Self {
            sheets: Vec::new(),
            left: parts.to_vec(),
        }
    }

    pub(super) fn cost(&self, offers: &[Offer]) -> f64 {
        self.sheets.iter().map(|s| offers[s.stock].cost).sum()
    }

    /// Net area of the parts placed over the area of the sheets.
    pub(super) fn fill(&self, offers: &[Offer]) -> f64 {
        let bought: f64 = self.sheets.iter().map(|s| offers[s.stock].area).sum();
        let placed: f64 = self.sheets.iter().map(|s| s.lay.area).sum();
        if bought > 0.0 { placed / bought } else { 0.0 }
    }

    /// True where one more of a sheet is to be had.
    pub(super) fn available(&self, offers: &[Offer], stock: usize) -> bool {
        let used = self.sheets.iter().filter(|s| s.stock == stock).count();
        offers[stock].quantity.is_none_or(|q| used < q)
    }

    /// The sheet to be emptied: of the least worth for its cost; the last of equals.
    pub(super) fn last(&self, offers: &[Offer]) -> Option<usize> {
        let full: Vec<f64> = self.sheets.iter().map(|s| s.full(offers)).collect();
        (0..full.len()).min_by(|&i, &j| full[i].total_cmp(&full[j]).then(j.cmp(&i)))
    }

    /// The worth of the emptiest sheet for its cost.
    pub(super) fn least(&self, offers: &[Offer]) -> f64 {
        let full = self.sheets.iter().map(|s| s.full(offers));
        full.fold(f64::INFINITY, f64::min)
    }
}
