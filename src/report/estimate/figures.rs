//! What one choice of stock comes to.

use crate::cut;
use crate::job::{Effort, Job, Sheet, WeldPrice};
use crate::layout::{JointForm, Layout};
use crate::report::facts::{Facts, Least, SheetFacts, Sums};

/// Share by which figures of one purchase may differ: far below what is told.
const SAME: f64 = 1e-9;

/// Welds across the plates.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Welds {
    /// Butts.
    pub butts: usize,
    /// Mitres at knuckles and corners.
    pub mitres: usize,
    /// Length of all of them, mm, one side.
    pub length: f64,
    /// What they cost; `None`: not priced.
    pub cost: Option<f64>,
}

impl Welds {
    /// The welded joints of a layout. Lift joints are not welded; a mitre is
    /// priced as a butt of its length.
    #[must_use]
    pub fn of(layout: &Layout, price: Option<&WeldPrice>) -> Self {
        let mut welds = Self {
            cost: price.map(|_| 0.0),
            ..Self::default()
        };
        for joint in &layout.joints {
            match joint.form {
                JointForm::Butt => welds.butts += 1,
                JointForm::Mitre => welds.mitres += 1,
                JointForm::Lift => continue,
            }
            let length = layout.joint_length(joint).unwrap_or(0.0);
            welds.length += length;
            welds.cost = welds.cost.zip(price).map(|(c, p)| c + p.butt(length));
        }
        welds
    }
}

/// Sheets of one kind.
#[derive(Debug, Clone, PartialEq)]
pub struct Bought {
    /// Name of the sheet.
    pub stock: String,
    /// Its thickness, mm.
    pub thickness: f64,
    /// How many.
    pub count: usize,
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

/// What a choice comes to: mm, mm2, kg, s, and the job's currency.
#[derive(Debug, Clone, PartialEq)]
pub struct Figures {
    /// Sheets bought, in the job's order.
    pub bought: Vec<Bought>,
    /// Sums over all sheets: plate, scrap, masses, areas.
    pub total: Sums,
    /// What no nest on the sheets on offer can do with less.
    pub least: Least,
    /// Search effort of the nests.
    pub effort: Effort,
    /// Largest rectangle left over on a sheet; 0: none.
    pub largest_offcut: f64,
    /// Butts and mitres, and what they cost.
    pub welds: Welds,
    /// How all of it is cut, drilled and marked.
    pub cut: cut::Figures,
    /// Cost of machine time; `None`: not priced, or the time is not known.
    pub cutting: Option<f64>,
}

impl Figures {
    /// Figures of a job that is nested and cut.
    #[must_use]
    pub fn of(job: &Job, facts: &Facts, cut: &cut::Figures, welds: Welds) -> Self {
        let count = |sheet: &Sheet| {
            let same = |s: &&SheetFacts| s.stock.name == sheet.name;
            facts.sheets.iter().filter(same).count()
        };
        let bought = job
            .sheets
            .iter()
            .map(|s| Bought {
                stock: s.name.clone(),
                thickness: s.thickness,
                count: count(s),
            })
            .filter(|b| b.count > 0)
            .collect();
        Self {
            bought,
            total: facts.total.clone(),
            least: facts.least,
            effort: facts.effort,
            largest_offcut: facts
                .sheets
                .iter()
                .filter_map(|s| s.offcut)
                .map(|o| o.size.x * o.size.y)
                .fold(0.0, f64::max),
            welds,
            cut: *cut,
            cutting: job
                .prices
                .cutting_per_hour
                .zip(cut.time_s)
                .map(|(price, s)| price * s / 3600.0),
        }
    }

    /// True where both buy the same sheets for the same money and have them
    /// welded and cut alike. How the parts lie on them, and with it the way
    /// between cuts, may differ.
    #[must_use]
    pub fn same_purchase(&self, o: &Self) -> bool {
        let near = |a: f64, b: f64| (a - b).abs() <= SAME * a.abs().max(1.0);
        let money = |a: Option<f64>, b: Option<f64>| match (a, b) {
            (Some(a), Some(b)) => near(a, b),
            (a, b) => a == b,
        };
        self.bought == o.bought
            && money(self.total.cost, o.total.cost)
            && near(self.total.scrap_value, o.total.scrap_value)
            && (self.welds.butts, self.welds.mitres) == (o.welds.butts, o.welds.mitres)
            && near(self.welds.length, o.welds.length)
            && money(self.welds.cost, o.welds.cost)
            && (self.cut.pierces, self.cut.drilled) == (o.cut.pierces, o.cut.drilled)
            && near(self.cut.cut_length, o.cut.cut_length)
    }

    /// The sum of the lines that count; `None` where plate is not priced, or
    /// a line that counts is not.
    #[must_use]
    pub fn cost(&self, counted: Counted) -> Option<f64> {
        if !counted.plate {
            return None;
        }
        let mut sum = self.total.net_cost()?;
        if counted.welding {
            sum += self.welds.cost?;
        }
        if counted.cutting {
            sum += self.cutting?;
        }
        Some(sum)
    }
}
