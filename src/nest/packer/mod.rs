//! The packer: a nest by heuristic search. Nothing outside this folder
//! knows how it works, and the check shares no code with it.
//!
//! Parts are grown by half the gap and cut into pieces between an upper and
//! a lower chain ([`chain`]); each is dropped at many turns and places, to
//! the lowest exact position ([`fill`]); orders of placing are searched a
//! sheet at a time ([`search`]), long parts are shared out over fewer sheets
//! ([`sharing`]) by the odds of mixes ([`odds`]), long and middling ones are
//! passed between two sheets at a time ([`passing`]), which mixes are worth it
//! being learnt ([`loads`]), the others put beside them ([`topping`]), parts are
//! moved from the emptiest sheet to the others ([`plan`]), and laid over those
//! and the overlaps cleared ([`fewer`], [`clearing`]).
//! docs/method-nesting.md tells the whole.

mod chain;
mod clearing;
mod fewer;
mod fill;
mod loads;
#[cfg(test)]
mod made;
mod odds;
mod passing;
mod plan;
mod random;
mod room;
mod search;
mod shape;
mod sharing;
mod sheets;
mod strip;
mod topping;

use std::sync::atomic::AtomicBool;

use self::fill::{Lay, Spec, fitting_turn};
use self::room::Room;
use self::search::{Search, Total, stream};
use self::sheets::{Offer, Plan};
use super::model::{Nest, NestJob, NestedSheet, Placed};
use crate::fault::{Fault, Kind, Place};
use crate::job::{Effort, Sheet};
use crate::length::{show, told};

/// Units of work (points passed on a chain, some 5 to 12 ns each) for a job,
/// and for each part of it. Quick keeps some forty parts under a second and
/// Normal under twenty on two cores; five hundred parts take minutes at
/// Normal. More only helps; less leaves the last sheets poorly filled. Parts
/// beyond [`MOST`] add none: two thousand are to nest within five minutes at
/// Normal.
pub(super) fn budget(effort: Effort, parts: usize) -> u64 {
    let (job, part) = match effort {
        Effort::Quick => (4_000_000, 400_000),
        Effort::Normal => (300_000_000, 45_000_000),
        Effort::Long => (1_500_000_000, 225_000_000),
    };
    job + part * parts.min(MOST) as u64
}

/// Parts that add to the budget.
const MOST: usize = 800;

/// Distance of the shifts tried along a sheet, mm: a fifth of a strip's width
/// fills well; three times that, with the fewer turns of quick effort, is
/// several times as quick and may cost a sheet in twenty on a large job.
fn step(effort: Effort) -> f64 {
    match effort {
        Effort::Quick => 120.0,
        Effort::Normal | Effort::Long => 36.0,
    }
}

/// Without prices an area of a remnant counts as this share of a new sheet's:
/// it is paid for, and is to be used up first.
const PAID_FOR: f64 = 0.1;

/// Lays the job's parts on the first sheet on offer, as short as may be.
pub(super) fn strip(job: &NestJob, spent: &mut dyn FnMut(u64) -> f64) -> Option<Vec<Placed>> {
    let (classes, of) = shape::classes(job);
    let sheet = job.sheets.first()?;
    let spec = spec(job, classes, of);
    let parts: Vec<usize> = (0..job.parts.len()).collect();
    let room = Room::new(sheet, job.gap, job.edge_margin);
    strip::strip(&spec, &room, &parts, stream(job.seed), spent)
}

/// Packs the job's parts within so many units of work, more or less; `total`
/// is asked for them again and again with the units done.
///
/// # Errors
/// [`Kind::Stock`] where a part fits no sheet or the sheets run out.
pub(super) fn pack(
    job: &NestJob,
    news: &(dyn Fn(f64, f64) + Sync),
    total: Total,
    stop: &AtomicBool,
) -> Result<Nest, Fault> {
    let (mut classes, of) = shape::classes(job);
    let rooms: Vec<_> = job
        .sheets
        .iter()
        .map(|s| Room::new(s, job.gap, job.edge_margin))
        .collect();
    let mut fits = vec![Vec::new(); rooms.len()];
    for class in &mut classes {
        for (f, room) in fits.iter_mut().zip(&rooms) {
            let turn = fitting_turn(class, job.rotation, room);
            if let Some(turn) = turn {
                class.add_turn(turn);
            }
            f.push(turn.is_some());
        }
    }
    let spec = spec(job, classes, of);
    for (f, room) in fits.iter_mut().zip(&rooms) {
        // Where there are walls the box says too little.
        if !room.walls.is_empty() {
            let bare = Lay::new(room.clone());
            for (fits, class) in f.iter_mut().zip(&spec.classes) {
                *fits = *fits && bare.takes(&spec, class, &mut 0);
            }
        }
    }
    for k in 0..spec.classes.len() {
        if fits.iter().all(|f| !f[k]) {
            let part = spec.of.iter().position(|&o| o == k).unwrap_or(0);
            return Err(too_large(job, part));
        }
    }
    let cost = costs(job);
    let offers: Vec<Offer> = rooms
        .into_iter()
        .zip(fits)
        .zip(&job.sheets)
        .zip(cost)
        .map(|(((room, fits), sheet), cost)| Offer {
            room,
            area: sheet.area(),
            cost,
            quantity: sheet.quantity,
            fits,
        })
        .collect();
    let parts: Vec<usize> = (0..job.parts.len()).collect();
    let mut search = Search::new(&spec, total, job.seed, news, stop);
    let plan = search.plan(&offers, &parts);
    if plan.left.is_empty() {
        Ok(nest_of(&plan))
    } else {
        Err(run_out(job, &plan))
    }
}

fn spec(job: &NestJob, classes: Vec<shape::Class>, of: Vec<usize>) -> Spec {
    let longest = classes
        .iter()
        .map(|c| c.diameter)
        .fold(f64::MIN_POSITIVE, f64::max);
    Spec {
        classes,
        of,
        rotation: job.rotation,
        longest,
        step: step(job.effort),
    }
}

/// What each sheet costs: its price; or by area, at the job's price (a
/// remnant's its scrap value), or at one (a remnant's at [`PAID_FOR`]) where
/// not all can be priced alike.
fn costs(job: &NestJob) -> Vec<f64> {
    let priced = job.price_per_area.is_some() || job.sheets.iter().all(|s| s.price.is_some());
    let cost = |s: &Sheet| {
        let per_area = match (s.remnant.is_some(), priced) {
            (true, true) => job.scrap_per_area,
            (true, false) => PAID_FOR,
            (false, true) => job.price_per_area.unwrap_or(0.0),
            (false, false) => 1.0,
        };
        let own = s.price.filter(|_| priced);
        own.unwrap_or(per_area * s.area())
    };
    job.sheets.iter().map(cost).collect()
}

fn nest_of(plan: &Plan) -> Nest {
    Nest {
        sheets: plan
            .sheets
            .iter()
            .map(|used| {
                let mut placed: Vec<Placed> = used
                    .lay
                    .items
                    .iter()
                    .map(|i| Placed {
                        part: i.part,
                        placement: i.placement,
                    })
                    .collect();
                placed.sort_by_key(|p| p.part);
                NestedSheet::new(used.stock, placed)
            })
            .collect(),
    }
}

/// The sheets on offer in words.
fn stock(job: &NestJob) -> String {
    let one = |s: &Sheet| {
        let count = s
            .quantity
            .map_or(String::new(), |q| format!(", {q} to be had"));
        let odd = if s.shape.is_some() {
            ", of odd shape"
        } else {
            ""
        };
        let clamps = match s.clamps.len() {
            0 => String::new(),
            n => format!(", less {n} clamped"),
        };
        let [l, w] = [s.length, s.width].map(|mm| show(mm, job.show));
        format!("{} ({l} x {w}{odd}{clamps}{count})", s.name)
    };
    job.sheets.iter().map(one).collect::<Vec<_>>().join(", ")
}

fn too_large(job: &NestJob, part: usize) -> Fault {
    let (lo, hi) = job.parts[part].outline.bounds();
    let size = hi - lo;
    Fault::new(
        Kind::Stock,
        Place::default().field("sheet"),
        format!(
            "part {} ({} x {} as drawn) fits no sheet on offer with an edge margin of {}: {}",
            job.parts[part].name,
            show(size.x, job.show),
            show(size.y, job.show),
            told(job.edge_margin, job.show),
            stock(job),
        ),
        "offer a larger sheet, shorten the longest piece, allow more rotation, or move the clamps",
    )
}

fn run_out(job: &NestJob, plan: &Plan) -> Fault {
    let name = plan
        .left
        .first()
        .map_or("", |&p| job.parts[p].name.as_str());
    Fault::new(
        Kind::Stock,
        Place::default().field("sheet"),
        format!(
            "the sheets on offer run out: {} of {} parts find no room, {name} the first: {}",
            plan.left.len(),
            job.parts.len(),
            stock(job),
        ),
        if job.sheets.iter().all(|s| s.quantity == Some(0)) {
            "give a quantity above 0, or leave it out for as many as are needed"
        } else {
            "offer more sheets, or raise the nesting effort"
        },
    )
}
