//! The floor sheets of a build.

use super::model::Shaped;
use crate::drawing::floor::{Boat, floor_sheets};
use crate::fault::Faults;
use crate::job::Job;
use crate::layout::{along, sections};
use crate::page::{Packet, Title, floor_packet};
use crate::report::fairness::doubted_notice;

/// Pages of the floor sheets.
///
/// # Errors
/// Where the edge cannot be followed.
pub(super) fn floor_pages(job: &Job, shaped: &Shaped) -> Result<Packet, Faults> {
    let along = along(&shaped.edge, job)?;
    let sections = sections(&shaped.edge, job, &shaped.layout)?;
    let boat = Boat {
        job,
        edge: &shaped.edge,
        layout: &shaped.layout,
        along: &along,
        sections: &sections,
    };
    let title = Title {
        job,
        doubts: doubted_notice(&shaped.survey, &shaped.edge.doubts),
    };
    Ok(floor_packet(&floor_sheets(&boat, title.room()), &title))
}
