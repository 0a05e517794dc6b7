//! Areas, masses, costs and offcuts, worked out once for all reports.
//!
//! - Area of a part: that of its outline, arcs exact; net area: less its holes.
//! - Yield: net part area over sheet area bought.
//! - Used length of a sheet: the furthest that a part reaches along the
//!   sheet, and the edge margin beyond it, at most the sheet's length. Yield
//!   by used length: net part area over used length times width.
//! - Area of a remnant: what its drawing bounds; used length times width
//!   counts no more than that.
//! - Mass: area times thickness times density; wasted: bought less used.
//! - Cost: the sheet's price, or its mass at the job's price per kg, or of a
//!   remnant without a price its mass as scrap; net cost: less what the wasted
//!   mass brings as scrap.
//! - At least: what the parts' net area asks of sheets and of their cost,
//!   whatever the nest ([`crate::nest::least_of`]).
//! - Profile length of a part: outline and holes once round. What is cut of
//!   it, how often the table pierces and what the kerf takes are the plan's.

use std::collections::BTreeMap;
use std::f64::consts::PI;

use rayon::prelude::*;

use crate::fault::{Fault, Kind};
use crate::geom::Placement;
use crate::job::{Effort, Job, Sheet};
use crate::nest::{
    Nest, NestJob, NestPart, NestedSheet, Offcut, largest_offcut, least_of, least_sheets,
};
use crate::part::Part;

/// A nest of one alloy and thickness.
#[derive(Debug)]
pub struct Group {
    /// What was nested.
    pub job: NestJob,
    /// For each part of the nest job, its index into the job's parts.
    pub parts: Vec<usize>,
    /// How it came out; checked.
    pub nest: Nest,
    /// The same parts tried on each size of sheet alone.
    pub alone: Vec<Alone>,
    /// True where the search was ended early: the same job may nest better.
    pub stopped: bool,
}

/// The parts of a group tried on one size of sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Alone {
    /// The size.
    pub sheet: Sheet,
    /// All sheets of this size; `None` where it does not hold the parts.
    pub nest: Option<Nest>,
    /// Search effort of that nest.
    pub effort: Effort,
}

/// Name of a nested sheet, the stem of its files: `sheet-1` and on, through
/// all nests in order.
#[must_use]
pub fn sheet_name(number: usize) -> String {
    format!("sheet-{number}")
}

/// Name of a remnant, the stem of its file.
#[must_use]
pub fn remnant_name(sheet: &str, index: usize) -> String {
    format!("{sheet}-{}", index + 1)
}

/// Facts of a part.
#[derive(Debug, Clone, PartialEq)]
pub struct PartFacts {
    /// Area of the outline, mm2.
    pub area: f64,
    /// Area less holes, mm2.
    pub net_area: f64,
    /// Length of its box, mm.
    pub length: f64,
    /// Width of its box, mm.
    pub width: f64,
    /// Mass, kg.
    pub mass: f64,
    /// Length of outline and holes, mm.
    pub profile_length: f64,
    /// Sheet it lies on.
    pub sheet: Option<String>,
}

/// Facts of a nested sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetFacts {
    /// Name: the stem of its files.
    pub name: String,
    /// Stock.
    pub stock: Sheet,
    /// Parts: index into the input's parts, and where it lies.
    pub parts: Vec<(usize, Placement)>,
    /// Furthest part and margin, mm.
    pub used_length: f64,
    /// Largest rectangle left over.
    pub offcut: Option<Offcut>,
    /// Heaviest part: index into the input's parts.
    pub heaviest: Option<usize>,
    /// Sums.
    pub sums: Sums,
}

/// Sums over a sheet, or over several.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Sums {
    /// Sheets.
    pub sheets: usize,
    /// Parts.
    pub parts: usize,
    /// Area bought, mm2.
    pub sheet_area: f64,
    /// Net area of parts, mm2.
    pub used_area: f64,
    /// Used length times width, mm2.
    pub used_length_area: f64,
    /// Mass bought, kg.
    pub mass_bought: f64,
    /// Mass of parts, kg.
    pub mass_used: f64,
    /// Cost; `None` where a sheet has no price.
    pub cost: Option<f64>,
    /// What the wasted mass brings.
    pub scrap_value: f64,
}

impl Sums {
    /// Net part area over sheet area, 0 to 1.
    #[must_use]
    pub fn yield_ratio(&self) -> f64 {
        ratio(self.used_area, self.sheet_area)
    }
    /// Net part area over used length times width, 0 to 1.
    #[must_use]
    pub fn yield_by_used_length(&self) -> f64 {
        ratio(self.used_area, self.used_length_area)
    }
    /// Mass bought less mass used, kg.
    #[must_use]
    pub fn mass_wasted(&self) -> f64 {
        self.mass_bought - self.mass_used
    }
    /// Cost less scrap value.
    #[must_use]
    pub fn net_cost(&self) -> Option<f64> {
        self.cost.map(|c| c - self.scrap_value)
    }

    fn of<'a>(all: impl Iterator<Item = &'a Self>) -> Self {
        let nothing = Self {
            cost: Some(0.0),
            ..Self::default()
        };
        all.fold(nothing, |a, b| Self {
            sheets: a.sheets + b.sheets,
            parts: a.parts + b.parts,
            sheet_area: a.sheet_area + b.sheet_area,
            used_area: a.used_area + b.used_area,
            used_length_area: a.used_length_area + b.used_length_area,
            mass_bought: a.mass_bought + b.mass_bought,
            mass_used: a.mass_used + b.mass_used,
            cost: a.cost.zip(b.cost).map(|(x, y)| x + y),
            scrap_value: a.scrap_value + b.scrap_value,
        })
    }
}

fn ratio(part: f64, whole: f64) -> f64 {
    if whole > 0.0 { part / whole } else { 0.0 }
}

/// What no nest can do with less, by the parts' area alone.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Least {
    /// Sheets.
    pub sheets: usize,
    /// Mass bought, kg.
    pub mass: f64,
    /// Cost; `None` where a sheet on offer has no price.
    pub cost: Option<f64>,
}

impl Least {
    /// Of parts of a net area, mm2, on sheets on offer.
    fn of(input: &Basis<'_>, group: &Group, sheets: &[Sheet]) -> Result<Self, Fault> {
        let area: f64 = group.job.parts.iter().map(NestPart::net_area).sum();
        let margin = group.job.edge_margin;
        let per = match sheets.first() {
            Some(s) => s.thickness * density(input, &s.alloy)?,
            None => 0.0,
        };
        let mass = |s: &Sheet| s.area() * per;
        let price = |s: &Sheet| price(input.job, s, mass(s));
        let priced = sheets.iter().all(|s| price(s).is_some());
        Ok(Self {
            sheets: least_sheets(area, sheets, margin),
            mass: least_of(area, sheets, margin, &mass),
            cost: priced.then(|| least_of(area, sheets, margin, &|s| price(s).unwrap_or_default())),
        })
    }

    fn and(self, o: Self) -> Self {
        Self {
            sheets: self.sheets + o.sheets,
            mass: self.mass + o.mass,
            cost: self.cost.zip(o.cost).map(|(a, b)| a + b),
        }
    }
}

/// What a sheet of a mass, kg, costs: its own price, or by its mass; a remnant
/// without a price is paid for, and could only be sold as scrap.
fn price(job: &Job, stock: &Sheet, mass: f64) -> Option<f64> {
    let prices = &job.prices;
    let by_mass = || prices.per_kg.get(&stock.alloy).map(|p| p * mass);
    let unpriced = || {
        if stock.remnant.is_some() {
            Some(prices.scrap_per_kg * mass)
        } else {
            by_mass()
        }
    };
    stock.price.or_else(unpriced)
}

/// The parts of a group on one size of sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct AloneFacts {
    /// The size.
    pub stock: Sheet,
    /// Sums; `None` where the size does not hold the parts.
    pub sums: Option<Sums>,
    /// What no nest on this size can do with less.
    pub least: Least,
    /// Search effort of the nest.
    pub effort: Effort,
}

/// All facts.
#[derive(Debug, Clone, PartialEq)]
pub struct Facts {
    /// In the order of the input's parts.
    pub parts: Vec<PartFacts>,
    /// Sheets through all nests.
    pub sheets: Vec<SheetFacts>,
    /// Over all sheets.
    pub total: Sums,
    /// What no nest on the sheets on offer can do with less.
    pub least: Least,
    /// Search effort of the nests.
    pub effort: Effort,
    /// Each size alone.
    pub alone: Vec<AloneFacts>,
}

/// What facts are worked out from.
#[derive(Debug, Clone, Copy)]
pub struct Basis<'a> {
    /// The job.
    pub job: &'a Job,
    /// Flat parts.
    pub parts: &'a [Part],
    /// Nests, one for each alloy and thickness.
    pub nests: &'a [Group],
    /// Densities by alloy and temper, kg/mm3.
    pub densities: &'a BTreeMap<String, f64>,
}

/// Works out all facts.
///
/// # Errors
/// [`Kind::Missing`] where no density is given for an alloy.
pub fn facts(input: &Basis<'_>) -> Result<Facts, Fault> {
    let mut parts = input
        .parts
        .iter()
        .map(|p| part_facts(p, input))
        .collect::<Result<Vec<_>, _>>()?;
    let nested: Vec<_> = (input.nests.iter())
        .flat_map(|g| g.nest.sheets.iter().map(move |s| (&g.job, s)))
        .collect();
    let offcuts: Vec<_> = (nested.par_iter())
        .map(|(job, nested)| largest_offcut(job, nested))
        .collect();
    let mut offcuts = offcuts.into_iter();
    let mut sheets = Vec::new();
    let mut alone = Vec::new();
    let mut least = Least {
        cost: Some(0.0),
        ..Least::default()
    };
    for group in input.nests {
        least = least.and(Least::of(input, group, &group.job.sheets)?);
        for nested in &group.nest.sheets {
            let offcut = offcuts.next().flatten();
            let Some(stock) = group.job.sheets.get(nested.stock) else {
                continue;
            };
            let mut sheet = sheet_facts(input, &parts, group, nested, stock)?;
            sheet.name = sheet_name(sheets.len() + 1);
            sheet.offcut = offcut;
            for &(part, _) in &sheet.parts {
                parts[part].sheet = Some(sheet.name.clone());
            }
            sheets.push(sheet);
        }
        for tried in &group.alone {
            let unlimited = Sheet {
                quantity: None,
                ..tried.sheet.clone()
            };
            let sums = match &tried.nest {
                Some(nest) => Some(alone_sums(input, &parts, group, nest, &tried.sheet)?),
                None => None,
            };
            alone.push(AloneFacts {
                stock: tried.sheet.clone(),
                sums,
                least: Least::of(input, group, std::slice::from_ref(&unlimited))?,
                effort: tried.effort,
            });
        }
    }
    Ok(Facts {
        parts,
        total: Sums::of(sheets.iter().map(|s| &s.sums)),
        least,
        effort: (input.nests.first()).map_or(input.job.cutting.effort, |g| g.job.effort),
        sheets,
        alone,
    })
}

/// Density of an alloy, kg/mm3.
fn density(input: &Basis<'_>, alloy: &str) -> Result<f64, Fault> {
    input.densities.get(alloy).copied().ok_or_else(|| {
        Fault::new(
            Kind::Missing,
            input.job.place("alloy"),
            format!("no density is known for the alloy `{alloy}`"),
            "name an alloy of the stock tables, or give its density in the job",
        )
    })
}

fn part_facts(part: &Part, input: &Basis<'_>) -> Result<PartFacts, Fault> {
    let area = part.outline.area();
    let holes: f64 = part
        .holes
        .iter()
        .map(|h| PI * h.diameter * h.diameter / 4.0)
        .sum();
    let (lo, hi) = part.outline.bounds();
    let net_area = area - holes;
    let round_holes: f64 = part.holes.iter().map(|h| PI * h.diameter).sum();
    Ok(PartFacts {
        area,
        net_area,
        length: hi.x - lo.x,
        width: hi.y - lo.y,
        mass: net_area * part.thickness * density(input, &part.alloy)?,
        profile_length: part.outline.perimeter() + round_holes,
        sheet: None,
    })
}

fn sheet_facts(
    input: &Basis<'_>,
    facts: &[PartFacts],
    group: &Group,
    nested: &NestedSheet,
    stock: &Sheet,
) -> Result<SheetFacts, Fault> {
    let mut sums = Sums {
        sheets: 1,
        sheet_area: stock.area(),
        ..Sums::default()
    };
    let mut reach = 0.0_f64;
    let mut parts = Vec::new();
    let mut heaviest: Option<usize> = None;
    for placed in &nested.placed {
        let Some(&index) = group.parts.get(placed.part) else {
            continue;
        };
        let (Some(part), Some(fact)) = (input.parts.get(index), facts.get(index)) else {
            continue;
        };
        reach = reach.max(part.outline.placed(placed.placement).bounds().1.x);
        sums.parts += 1;
        sums.used_area += fact.net_area;
        sums.mass_used += fact.mass;
        if heaviest.is_none_or(|h| facts[h].mass < fact.mass) {
            heaviest = Some(index);
        }
        parts.push((index, placed.placement));
    }
    let used_length = (reach + group.job.edge_margin).min(stock.length);
    sums.used_length_area = (used_length * stock.width).min(sums.sheet_area);
    sums.mass_bought = sums.sheet_area * stock.thickness * density(input, &stock.alloy)?;
    sums.cost = price(input.job, stock, sums.mass_bought);
    sums.scrap_value = sums.mass_wasted() * input.job.prices.scrap_per_kg;
    Ok(SheetFacts {
        name: String::new(),
        stock: stock.clone(),
        parts,
        used_length,
        offcut: None,
        heaviest,
        sums,
    })
}

fn alone_sums(
    input: &Basis<'_>,
    facts: &[PartFacts],
    group: &Group,
    nest: &Nest,
    stock: &Sheet,
) -> Result<Sums, Fault> {
    let sheets = nest
        .sheets
        .iter()
        .map(|nested| sheet_facts(input, facts, group, nested, stock))
        .collect::<Result<Vec<_>, _>>()?;
    Ok(Sums::of(sheets.iter().map(|s| &s.sums)))
}
