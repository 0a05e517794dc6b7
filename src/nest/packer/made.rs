//! What the tests of several stages of the packer set up alike.

use super::fill::{Lay, Spec};
use super::random::Random;
use super::room::Room;
use super::search::{Trial, leaning};
use super::sheets::{Offer, Used};
use super::{shape, spec};
use crate::nest::NestJob;

/// What is known of a job's parts, and the room of its first sheet.
pub(super) fn set(job: &NestJob) -> (Spec, Room) {
    let (classes, of) = shape::classes(job);
    let room = Room::new(&job.sheets[0], job.gap, job.edge_margin);
    (spec(job, classes, of), room)
}

/// As many of a sheet as are wanted, on which all parts fit.
pub(super) fn offer(spec: &Spec, room: &Room) -> Offer {
    Offer {
        room: room.clone(),
        area: room.area(),
        cost: 1.0,
        quantity: None,
        fits: vec![true; spec.classes.len()],
    }
}

/// A sheet on which some parts are dropped, which takes them all.
pub(super) fn used(spec: &Spec, room: &Room, parts: &[usize]) -> Used {
    let mut lay = Lay::new(room.clone());
    let left = lay.fill(spec, parts, leaning(&mut Random::new(1)), &mut 0);
    assert!(left.is_empty());
    Used::of(0, Trial::new(spec, lay, left))
}
