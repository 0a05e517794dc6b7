//! Patterns that share pages: laid on them by the nest's own packer, a page
//! as its sheet.

use std::f64::consts::FRAC_PI_2;
use std::sync::atomic::AtomicBool;

use super::nests::{checked, checked_as};
use crate::fault::Fault;
use crate::geom::{Outline, Placement, vec2};
use crate::job::{Effort, Rotation, Sheet};
use crate::length::Show;
use crate::nest::{Nest, NestJob, NestPart, NestedSheet, Placed, strip, work};
use crate::page::Print;

/// Between parts on a page, mm: scissors pass.
const APART: f64 = 6.0;
/// What a page keeps free along its edges for a line's width, mm.
const EDGE: f64 = 0.2;

/// Parts on pages, each page its parts' numbers and places: x across the feed. A part
/// that no page holds is on none.
///
/// # Errors
/// What the packer or its check refuses.
pub(super) fn shared(
    outlines: &[(String, Outline)],
    print: &Print,
    show: Show,
) -> Result<Vec<Vec<(usize, Placement)>>, Fault> {
    let page = print.printable();
    let (long, wide) = (page.height - 2.0 * EDGE, page.width - 2.0 * EDGE);
    let fits = |outline: &Outline| {
        let (lo, hi) = outline.bounds();
        let (x, y) = (hi.x - lo.x, hi.y - lo.y);
        (x <= long && y <= wide) || (y <= long && x <= wide)
    };
    let small: Vec<usize> = (0..outlines.len())
        .filter(|&i| fits(&outlines[i].1))
        .collect();
    let sheet = Sheet {
        name: print.paper.name.clone(),
        length: long,
        width: wide,
        thickness: 0.0,
        alloy: String::new(),
        quantity: None,
        price: None,
        remnant: None,
        clamps: Vec::new(),
        shape: None,
    };
    let of = |parts: &[usize]| NestJob {
        parts: (parts.iter())
            .map(|&i| NestPart {
                name: outlines[i].0.clone(),
                outline: outlines[i].1.clone(),
                holes: Vec::new(),
            })
            .collect(),
        sheets: vec![sheet.clone()],
        gap: APART,
        edge_margin: 0.0,
        rotation: Rotation::Free,
        effort: Effort::Quick,
        seed: 0,
        price_per_area: None,
        scrap_per_area: 0.0,
        slack: 1e-3,
        show,
    };
    let nest = checked(&of(&small), (&|_, _| (), &AtomicBool::new(false)))?;
    let mut pages = Vec::new();
    for sheet in &nest.sheets {
        let parts: Vec<usize> = sheet.placed.iter().map(|p| small[p.part]).collect();
        let shorter = match print.paper.roll {
            true => shortest(&of(&parts))?,
            false => None,
        };
        let (lie, numbers) = match &shorter {
            Some(all) => (all, &parts),
            None => (&sheet.placed, &small),
        };
        let mut page: Vec<_> = (lie.iter())
            .map(|p| (numbers[p.part], upright(p.placement)))
            .collect();
        page.sort_by_key(|&(part, _)| part);
        pages.push(page);
    }
    Ok(pages)
}

/// The parts of a page on as little of a roll's length as the search finds; `None`
/// where that finds nothing that passes the check.
fn shortest(job: &NestJob) -> Result<Option<Vec<Placed>>, Fault> {
    let most = work(job.effort, job.parts.len()) as f64;
    let found = strip(job, &mut |done| done as f64 / most)?;
    let sheets = found.map(|placed| NestedSheet::new(0, placed)).into_iter();
    let nest = checked_as(
        job,
        Nest {
            sheets: sheets.collect(),
        },
    );
    Ok(nest
        .ok()
        .and_then(|n| n.sheets.into_iter().next())
        .map(|s| s.placed))
}

/// A place along a sheet as one up a page.
fn upright(on_sheet: Placement) -> Placement {
    Placement {
        turn: on_sheet.turn + FRAC_PI_2,
        shift: vec2(-on_sheet.shift.y, on_sheet.shift.x),
    }
}
