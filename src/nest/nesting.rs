//! A job nested on sheets, or on an open strip.

use std::sync::atomic::AtomicBool;

use super::model::{Nest, NestJob, Placed};
use super::packer;
use crate::fault::{Fault, Kind, Place};
use crate::geom::Vertex;
use crate::job::{Effort, Rotation};
use crate::length::told;

/// Nests a job: every part once, on as little cost of sheet as the search
/// finds (price, or price by area, or area). `progress` hears the fraction of
/// the work done and the share of the sheets bought that is parts; it may be
/// called from any thread.
///
/// # Errors
/// [`Kind::Stock`] where a part fits no sheet or the sheets run out,
/// [`Kind::Range`] where a length of the job cannot be.
pub fn nest(job: &NestJob, progress: &(dyn Fn(f64, f64) + Sync)) -> Result<Nest, Fault> {
    nest_until(job, progress, &AtomicBool::new(false))
}

/// As [`nest`], and ends early with the best nest found where `stop` comes to
/// be true: what it is then depends on the moment.
///
/// # Errors
/// As [`nest`].
pub fn nest_until(
    job: &NestJob,
    progress: &(dyn Fn(f64, f64) + Sync),
    stop: &AtomicBool,
) -> Result<Nest, Fault> {
    let total = work(job.effort, job.parts.len());
    nest_within(job, &|_| total, progress, stop)
}

/// As [`nest_until`], with so many units of work, more or less, in place of
/// the effort's ([`work`]): `total` is asked again and again, with the units
/// done, for those to be done in all. With a clock in it the result depends on
/// the machine.
///
/// # Errors
/// As [`nest`].
pub fn nest_within(
    job: &NestJob,
    total: &(dyn Fn(u64) -> u64 + Sync),
    progress: &(dyn Fn(f64, f64) + Sync),
    stop: &AtomicBool,
) -> Result<Nest, Fault> {
    sound(job)?;
    if job.parts.is_empty() {
        return Ok(Nest::default());
    }
    packer::pack(job, progress, total, stop)
}

/// Units of work that an effort gives a job of so many parts.
#[must_use]
pub fn work(effort: Effort, parts: usize) -> u64 {
    packer::budget(effort, parts)
}

/// Lays every part on the first sheet on offer, its length as short as may
/// be, however many sheets are to be had. `spent` is asked often, with the
/// units of work done, what share of all that may be spent is spent: with a
/// clock in it the result depends on the machine, with a count of work it
/// does not. `None` where the sheet does not take the parts.
///
/// # Errors
/// [`Kind::Range`] where a length of the job cannot be.
pub fn strip(
    job: &NestJob,
    spent: &mut dyn FnMut(u64) -> f64,
) -> Result<Option<Vec<Placed>>, Fault> {
    sound(job)?;
    Ok(packer::strip(job, spent))
}

/// Refuses numbers that cannot be.
fn sound(job: &NestJob) -> Result<(), Fault> {
    let bad = |field: &str, what: String| {
        Err(Fault::new(
            Kind::Range,
            Place::default().field(field),
            what,
            "give a finite length that is not negative",
        ))
    };
    let length = |l: f64| l.is_finite() && l >= 0.0;
    if !length(job.gap) {
        return bad(
            "cutting.gap",
            format!("the gap between parts is {}", told(job.gap, job.show)),
        );
    }
    if !length(job.edge_margin) {
        return bad(
            "cutting.edge_margin",
            format!("the edge margin is {}", told(job.edge_margin, job.show)),
        );
    }
    for s in &job.sheets {
        if !(s.length.is_finite() && s.length > 0.0 && s.width.is_finite() && s.width > 0.0) {
            let [l, w] = [s.length, s.width].map(|mm| told(mm, job.show));
            let what = format!("the sheet measures {l} x {w}");
            return bad(&s.name, what);
        }
    }
    for p in &job.parts {
        let finite = |v: &Vertex| v.at.x.is_finite() && v.at.y.is_finite() && v.bulge.is_finite();
        let outline = &p.outline;
        for profile in std::iter::once(outline).chain(&p.holes) {
            if profile.vertices.len() < 2 || !profile.vertices.iter().all(finite) {
                let what = format!("a profile of {} is no profile", p.name);
                return bad(&p.name, what);
            }
        }
        let area = outline.area();
        if area.is_nan() || area <= 0.0 {
            let what = format!("the outline of {} bounds no area", p.name);
            return bad(&p.name, what);
        }
    }
    let turn = match job.rotation {
        Rotation::Free => 0.0,
        Rotation::Steps(a) | Rotation::Within(a) => a,
    };
    if !length(turn) {
        return bad(
            "cutting.rotation",
            format!("the rotation allowed is {turn} rad"),
        );
    }
    Ok(())
}
