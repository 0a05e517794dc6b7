//! The measured stanchions judged, a smooth length at a time.

use std::ops::Range;

use super::mark::Mark;
use super::model::{Checked, Judged, Stood};
use super::moves::Row;
use super::place::{Standing, standings};
use super::read::Measured;
use crate::fair::FairEdge;
use crate::fault::{Fault, Faults, Kind, Place};
use crate::job::{Job, TACKED_ACCURACY};
use crate::length::{INCH, Show, show};

/// Fewest stanchions in a row that can be judged: one, and two on each side of it.
pub const FEWEST: usize = 5;

/// Most that a stanchion of a fair line may stand out from the cubic through the two on each
/// side, mm. An invented sag of 20 mm over ten stanchions needs 0.24 mm; half a millimetre would let
/// a twentieth of the single faults of four times the accuracy pass, a quarter one in a hundred.
const SMOOTH_MM: f64 = 0.25;

/// The same as a share of the survey's accuracy, for rough ones.
const SMOOTH_SHARE: f64 = 1.0 / 6.0;

/// A figure that lies further than this, mm, off the middle of its row is a
/// doubtful booking, not a move: no tacked plate is two inches out, and tape readings slip by inches.
pub const DOUBTFUL_MM: f64 = 50.0;

/// Moves are told in steps of this, mm.
#[must_use]
pub fn step(as_shown: Show) -> f64 {
    match as_shown {
        Show::Mm => 0.5,
        Show::FeetInches => INCH / 16.0,
    }
}

/// Judges a survey of the tacked or welded line. The order of its rows does not matter.
///
/// # Errors
/// All figures that cannot belong to their stanchion ([`Kind::Survey`]), or too few
/// stanchions to judge anything.
pub fn check(
    job: &Job,
    edge: &FairEdge,
    marks: &[Mark],
    measured: &[Measured],
    file: &str,
) -> Result<Checked, Faults> {
    let standings = standings(edge, marks, measured, file, job.show)?;
    let rows = rows(&standings, marks);
    let mut faults = Vec::new();
    for row in &rows {
        doubtful(&standings[row.clone()], marks, job.show, &mut faults);
    }
    if !faults.is_empty() {
        return Err(Faults(faults));
    }
    if rows.iter().all(|r| r.len() < FEWEST) {
        return Err(Faults::from(Fault::new(
            Kind::Survey,
            Place::file(file),
            format!(
                "no smooth length of the line has {FEWEST} stanchions measured, too few to judge"
            ),
            format!("measure {FEWEST} or more stanchions that follow each other"),
        )));
    }
    let of_the_edge = || edge.accuracy.mm().max(TACKED_ACCURACY);
    let accuracy = job.check.accuracy.unwrap_or_else(of_the_edge);
    let smooth = SMOOTH_MM.max(SMOOTH_SHARE * accuracy);
    let mut stanchions: Vec<Stood> = standings
        .iter()
        .map(|s| Stood {
            name: marks[s.mark].name.clone(),
            side: marks[s.mark].side,
            place: marks[s.mark].place.clone(),
            out: s.out,
            up: s.up,
            limit: limit(job, marks, s),
            move_out: 0.0,
            move_up: 0.0,
        })
        .collect();
    let mut judged = Vec::new();
    for within in rows {
        let own = &mut stanchions[within.clone()];
        let at: Vec<f64> = standings[within.clone()].iter().map(|s| s.u).collect();
        let limits: Vec<Option<f64>> = own.iter().map(|s| s.limit).collect();
        let judge = |off: Vec<f64>| {
            (off.len() >= FEWEST).then(|| {
                Row::new(&at, off, limits.clone(), (accuracy, smooth)).judge(step(job.show))
            })
        };
        let plan = judge(own.iter().map(|s| s.out).collect());
        let height = judge(own.iter().map(|s| s.up).collect());
        for (i, by) in plan.iter().flat_map(|v| &v.moves) {
            own[*i].move_out = *by;
        }
        for (i, by) in height.iter().flat_map(|v| &v.moves) {
            own[*i].move_up = *by;
        }
        judged.push(Judged {
            within,
            plan,
            height,
        });
    }
    let missing = (0..marks.len())
        .filter(|i| standings.iter().all(|s| s.mark != *i))
        .map(|i| marks[i].name.clone())
        .collect();
    Ok(Checked {
        stanchions,
        rows: judged,
        missing,
        accuracy,
        smooth,
    })
}

/// How far a stanchion can be moved, mm.
fn limit(job: &Job, marks: &[Mark], s: &Standing) -> Option<f64> {
    let name = &marks[s.mark].name;
    let fixed = s.fixed || job.check.fixed.iter().any(|f| f.eq_ignore_ascii_case(name));
    (!fixed).then(|| s.limit.unwrap_or(job.check.limit))
}

/// Runs of standings on one smooth length each.
fn rows(standings: &[Standing], marks: &[Mark]) -> Vec<Range<usize>> {
    let on = |i: usize| {
        let mark = &marks[standings[i].mark];
        (mark.chain, mark.length)
    };
    let mut out: Vec<Range<usize>> = Vec::new();
    for i in 0..standings.len() {
        match out.last_mut() {
            Some(row) if on(row.start) == on(i) => row.end = i + 1,
            _ => out.push(i..i + 1),
        }
    }
    out
}

/// Figures far off the middle of their row; the middle of a short row is the planned line.
fn doubtful(row: &[Standing], marks: &[Mark], as_shown: Show, out: &mut Vec<Fault>) {
    let middle = |figure: fn(&Standing) -> f64| {
        if row.len() < FEWEST {
            return 0.0;
        }
        let mut all: Vec<f64> = row.iter().map(figure).collect();
        all.sort_by(f64::total_cmp);
        all[all.len() / 2]
    };
    let (out_middle, up_middle) = (middle(|s| s.out), middle(|s| s.up));
    for s in row {
        let views = [
            (s.out, out_middle, 0, ["outboard of", "inboard of"]),
            (s.up, up_middle, 1, ["above", "below"]),
        ];
        for (by, middle, view, words) in views {
            if (by - middle).abs() <= DOUBTFUL_MM {
                continue;
            }
            let word = if by >= 0.0 { words[0] } else { words[1] };
            let named = format!("stanchion {}", marks[s.mark].name);
            out.push(Fault::new(
                Kind::Survey,
                s.cells[view].clone().station(named),
                format!(
                    "the line is booked {} {word} the planned line here, and {} off the middle of its row: a doubtful booking rather than a plate out of place",
                    show(by.abs(), as_shown),
                    show((by - middle).abs(), as_shown)
                ),
                "measure it again and correct the figure, or leave the row out",
            ));
        }
    }
}
