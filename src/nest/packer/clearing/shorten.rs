//! A board made shorter while its parts still find room.

use super::table::{Body, Table};
use crate::nest::packer::random::Random;

/// Share of the length taken off at a time while exploring: less finds the
/// same by more steps, more leaves overlaps that seldom clear.
const CUT: f64 = 0.01;
/// Shares taken off the best at the end, at first and at last.
const SMALL: (f64, f64) = (0.001, 0.0002);
/// Rounds without getting better after which a length is given up: half as
/// many give up what would clear, twice as many wait for nothing.
const PATIENCE: usize = 100;
/// Share of the work that explores; the rest takes off ever smaller cuts.
const EXPLORE: f64 = 0.8;
/// States kept that could not be cleared.
const KEPT: usize = 20;

/// What share of all that may be spent is spent, after so many units of work.
pub(in crate::nest::packer) type Spent<'a> = &'a mut dyn FnMut(u64) -> f64;

/// A board and which of its sides is to be made shorter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::nest::packer) enum Side {
    /// Its length, along x.
    Length(usize),
    /// Its width, along y.
    Width(usize),
}

impl Table<'_> {
    /// Furthest extent of the parts on a board, from its lower left corner.
    pub(in crate::nest::packer) fn extent(&self, side: Side) -> f64 {
        let (Side::Length(board) | Side::Width(board)) = side;
        let lo = self.boards[board].lo;
        self.bodies
            .iter()
            .filter(|b| b.board == board)
            .map(|b| b.turned.net.1 + b.shift - lo)
            .map(|far| match side {
                Side::Length(_) => far.x,
                Side::Width(_) => far.y,
            })
            .fold(0.0, f64::max)
    }

    /// Sets a board's extent.
    fn set(&mut self, side: Side, extent: f64) {
        match side {
            Side::Length(b) => self.boards[b].hi.x = self.boards[b].lo.x + extent,
            Side::Width(b) => self.boards[b].hi.y = self.boards[b].lo.y + extent,
        }
    }

    /// Sets a board's extent and pushes its parts inside.
    fn cut(&mut self, side: Side, extent: f64, work: &mut u64) {
        self.set(side, extent);
        self.inside(work);
    }
}

/// Makes a side of a board as short as may be, until `spent` says that all
/// is spent, and leaves the best state found.
pub(in crate::nest::packer) fn shorten(
    table: &mut Table<'_>,
    side: Side,
    random: &mut Random,
    spent: Spent<'_>,
    work: &mut u64,
) {
    let mut best: (f64, Vec<Body>) = (table.extent(side), table.bodies.clone());
    explore(table, side, &mut best, random, spent, work);
    // Ever smaller cuts off the best.
    loop {
        let done = spent(*work);
        if done >= 1.0 {
            break;
        }
        let over = ((done - EXPLORE) / (1.0 - EXPLORE)).clamp(0.0, 1.0);
        let share = SMALL.0 + (SMALL.1 - SMALL.0) * over;
        table.restore(&best.1, work);
        table.level();
        *work += table.bodies.len() as u64;
        table.cut(side, best.0 * (1.0 - share), work);
        if table.separate(PATIENCE, random, &mut |w| spent(w) >= 1.0, work) {
            best = (table.extent(side), table.bodies.clone());
            if best.0 <= 0.0 {
                break;
            }
        }
    }
    table.set(side, best.0);
    table.restore(&best.1, work);
}

/// Takes whole cuts off; where one fails, goes on from one of the states that
/// came near, two of its parts changing places.
fn explore(
    table: &mut Table<'_>,
    side: Side,
    best: &mut (f64, Vec<Body>),
    random: &mut Random,
    spent: Spent<'_>,
    work: &mut u64,
) {
    // States that could not be cleared at the length now tried, least overlap first.
    let mut failed: Vec<(f64, Vec<Body>)> = Vec::new();
    let mut target = best.0 * (1.0 - CUT);
    table.cut(side, target, work);
    while best.0 > 0.0 && spent(*work) < EXPLORE {
        table.level();
        if table.separate(PATIENCE, random, &mut |w| spent(w) >= EXPLORE, work) {
            *best = (table.extent(side), table.bodies.clone());
            failed.clear();
            target = best.0 * (1.0 - CUT);
        } else {
            let at = failed.partition_point(|f| f.0 <= table.total);
            failed.insert(at, (table.total, table.bodies.clone()));
            failed.truncate(KEPT);
            // The better ones more often.
            let pick = random.below(failed.len()).min(random.below(failed.len()));
            table.restore(&failed[pick].1, work);
            table.swap(random, work);
        }
        table.cut(side, target, work);
    }
}
