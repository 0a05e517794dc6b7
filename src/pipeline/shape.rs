//! From measured points to detailed flat parts, each with its proof.

use std::sync::atomic::AtomicBool;

use super::fairness::{Faired, faired};
use super::first::every;
use super::model::{Flattened, Shaped};
use super::{butts, refold};
use crate::drawing::{Drawing, part_drawing};
use crate::fault::{Fault, Faults};
use crate::job::{Job, SurveyFile};
use crate::layout::{Layout, check_places, layout};
use crate::part::Part;
use crate::report::butts::ButtTrials;
use crate::report::fairness::doubted_notice;
use crate::report::lists;
use crate::write::dxf::dxf;

/// From measured points to the bulwark in space.
///
/// # Errors
/// All problems of the survey, or the first of a later stage.
pub fn lay(job: &Job, tables: &[(SurveyFile, String)]) -> Result<(Faired, Layout), Faults> {
    let faired = faired(job, tables)?;
    let layout = layout(&faired.edge, job).map_err(|f| faired.first(job, f))?;
    Ok((faired, layout))
}

/// Refuses what the job places where no bulwark can stand: what is known of it
/// once the edge is faired.
///
/// # Errors
/// All of it, as [`check_places`] tells it.
pub fn placed(job: &Job, faired: &Faired) -> Result<(), Faults> {
    check_places(&faired.edge, job)
}

/// From measured points to detailed flat parts.
///
/// # Errors
/// All problems of the survey, or the first of a later stage.
pub fn shape(job: &Job, tables: &[(SurveyFile, String)]) -> Result<Shaped, Faults> {
    shape_until(job, faired(job, tables)?, &|_| (), &AtomicBool::new(false))
}

/// As [`shape`], from lines that are faired already. Where butts are chosen
/// with the nest, which takes a while, `progress` hears the fraction of that
/// which is done, from any thread, and `stop` ends it with the best found.
///
/// # Errors
/// The first problem of a stage after the fairing.
pub fn shape_until(
    job: &Job,
    faired: Faired,
    progress: &(dyn Fn(f64) + Sync),
    stop: &AtomicBool,
) -> Result<Shaped, Faults> {
    let shape = shape_faired(job, &faired, (progress, stop));
    let (layout, parts, bends, butts) = shape.map_err(|f| faired.first(job, f))?;
    let Faired { survey, edge } = faired;
    Ok(Shaped {
        survey,
        edge,
        layout,
        parts,
        bends,
        butts,
    })
}

/// What a faired survey gives: the bulwark, its parts, their bend schedule, and
/// what was tried for the butts.
type FromFaired = (Layout, Vec<Flattened>, String, Option<ButtTrials>);

/// Who hears of the choice of butts, and what ends it early.
type Choosing<'a> = (&'a (dyn Fn(f64) + Sync), &'a AtomicBool);

fn shape_faired(job: &Job, faired: &Faired, choosing: Choosing<'_>) -> Result<FromFaired, Faults> {
    let Faired { survey, edge } = faired;
    let (flat, butts) = butts::chosen(job, edge, choosing.0, choosing.1)?;
    let parts = flat.parts()?;
    let notice = doubted_notice(survey, &edge.doubts);
    let (drawn, schedule) = rayon::join(
        || every(parts, |part| draw(part, notice.as_deref(), job)),
        || {
            let (_, bends) = lists::bend_schedule(&parts.iter().collect::<Vec<_>>())?;
            Ok::<_, Fault>((refold::read_schedule(&bends)?, bends))
        },
    );
    let (drawn, (schedule, bends)) = (drawn?, schedule?);
    let places: Vec<usize> = (0..parts.len()).collect();
    let gaps = every(&places, |&i| {
        let rows = schedule.get(&parts[i].name).map_or(&[][..], Vec::as_slice);
        refold::prove(&flat.layout.members[i], &parts[i], &drawn[i].1, rows, job)
    })?;
    let flattened = (parts.iter().zip(drawn).zip(gaps))
        .map(|((part, (drawing, dxf)), refold_gap)| Flattened {
            part: part.clone(),
            drawing,
            dxf,
            refold_gap,
        })
        .collect();
    Ok((flat.layout, flattened, bends, butts))
}

/// A part's drawing, and its file.
pub(super) fn draw(
    part: &Part,
    notice: Option<&str>,
    job: &Job,
) -> Result<(Drawing, String), Fault> {
    let mut drawing = part_drawing(part, job);
    if let Some(words) = notice {
        drawing.notice(words);
    }
    let dxf = dxf(&drawing, &job.output)?;
    Ok((drawing, dxf))
}
