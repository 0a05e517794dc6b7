//! The floor sheets of a build.

use super::model::Shaped;
use crate::drawing::SheetView;
use crate::drawing::floor::{Boat, FloorNest, first_part, floor_sheets};
use crate::fault::Faults;
use crate::job::Job;
use crate::layout::{along, sections};
use crate::length::told;
use crate::page::{Chords, FloorPages, Title, chords, floor_packet};
use crate::report::fairness::doubted_notice;

/// Pages of the floor sheets.
///
/// # Errors
/// Where the edge cannot be followed.
pub(super) fn floor_pages(
    job: &Job,
    shaped: &Shaped,
    sheets: &[SheetView<'_>],
) -> Result<FloorPages, Faults> {
    let along = along(&shaped.edge, job)?;
    let sections = sections(&shaped.edge, job, &shaped.layout)?;
    let nests: Vec<FloorNest<'_>> = (sheets.iter())
        .map(|view| FloorNest {
            view: *view,
            check: check(view, job),
        })
        .collect();
    let boat = Boat {
        job,
        edge: &shaped.edge,
        layout: &shaped.layout,
        along: &along,
        sections: &sections,
        nests: &nests,
    };
    let title = Title {
        job,
        doubts: doubted_notice(&shaped.survey, &shaped.edge.doubts),
    };
    Ok(floor_packet(&floor_sheets(&boat, title.room()), &title))
}

/// What to check on the part that is cut first: its chords.
fn check(view: &SheetView<'_>, job: &Job) -> String {
    let Some(part) = first_part(view) else {
        return String::new();
    };
    let Some(Chords { corners, longest }) = chords(&part.outline) else {
        return String::new();
    };
    let of = |a: crate::geom::Vec2, b| told((a.distance(b) * 10.0).round() / 10.0, job.show);
    let diagonals = corners.map_or(String::new(), |[a, b, c, d]| {
        format!("corner to corner {} and {}, ", of(a, c), of(b, d))
    });
    format!(
        "Check the first part, {}, before the next is cut: {diagonals}longest chord {}. \
         Where they are off, look at the table's kerf and units.",
        part.name,
        of(longest[0], longest[1])
    )
}

#[cfg(test)]
mod tests;
