//! Parts on one open strip, as short as may be.

use std::sync::Arc;

use super::clearing::{Body, Side, Spent, Table, shorten};
use super::fill::{Fall, Lay, Spec};
use super::random::Random;
use super::room::Room;
use super::search::fresh;
use crate::geom::Placement;
use crate::nest::model::Placed;

/// Starts tried before the best is shortened.
const STARTS: u64 = 8;

/// Lays all parts in a room, as short in x as the work allows. `None` where
/// the room does not take them.
pub(super) fn strip(
    spec: &Spec,
    room: &Room,
    parts: &[usize],
    seed: u64,
    spent: Spent<'_>,
) -> Option<Vec<Placed>> {
    let mut random = Random::new(seed);
    let mut work = 0;
    let mut best: Option<Lay> = None;
    for _ in 0..STARTS {
        let fall = Fall { x: 1.0, y: 0.1 };
        let trial = fresh(
            spec,
            room,
            parts.to_vec(),
            Some(fall),
            &mut random,
            &mut work,
        );
        let far = |l: &Lay| l.extent(spec).x;
        if trial.left.is_empty() && best.as_ref().is_none_or(|b| far(&trial.lay) < far(b)) {
            best = Some(trial.lay);
        }
    }
    let lay = best?;
    let bodies = bodies(spec, &lay, 0);
    let mut table = Table::new(spec, vec![room.clone()], bodies);
    shorten(&mut table, Side::Length(0), &mut random, spent, &mut work);
    Some(placed(&table.bodies))
}

/// The parts of a filled sheet as bodies.
pub(super) fn bodies(spec: &Spec, lay: &Lay, board: usize) -> Vec<Body> {
    lay.items
        .iter()
        .map(|i| {
            let class = spec.of[i.part];
            Body {
                part: i.part,
                class,
                board,
                turned: Arc::new(spec.classes[class].turned(i.placement.turn)),
                shift: i.placement.shift,
                barred: false,
            }
        })
        .collect()
}

/// The bodies on a board as a filled sheet.
pub(super) fn laid(spec: &Spec, room: &Room, bodies: &[Body], board: usize) -> Lay {
    let mut lay = Lay::new(room.clone());
    for b in bodies.iter().filter(|b| b.board == board) {
        lay.hold(spec, b.part, &b.turned, b.shift);
    }
    lay
}

/// Where bodies lie.
pub(super) fn placed(bodies: &[Body]) -> Vec<Placed> {
    bodies
        .iter()
        .map(|b| Placed {
            part: b.part,
            placement: Placement {
                turn: b.turned.turn,
                shift: b.shift,
            },
        })
        .collect()
}
