//! An instrument's coordinates to the boat's, by reference points known in
//! both.

use super::model::{DatumFit, Point, Residual, SlopeGiven};
use super::passes::Near;
use super::taken::{RowKind, Taken};
use crate::fault::{Fault, Kind, Place};
use crate::geom::rigid::{Rigid, best, best_level, mean, spread};
use crate::geom::{Vec3, vec3};
use crate::job::{Datum, Reference, SurveyJob};
use crate::length::{Show, show, told};

/// Reference points off the line of the others by less than this part of
/// their spread are on one line: an error of theirs would be twenty times
/// larger as far off the line as they are apart.
const LEAST_OFF_LINE: f64 = 0.05;

/// Reference points stand at least this many limits apart: nearer, the turn
/// is all measuring error.
const LEAST_LIMITS_APART: f64 = 20.0;

/// Off one plane by fewer limits than this, references do not tell a frame
/// from its mirror image.
const PLANE_LIMITS: f64 = 2.0;

/// A reference point with all its shots.
struct Known<'a> {
    reference: &'a Reference,
    shots: Vec<Vec3>,
    row: Option<&'a Point>,
}

/// The best fit, if the job has a datum; every fault is added, and then there
/// is none. `fallback` is the file named where no row is to blame.
pub(super) fn fit(
    rows: &[Vec<Taken>],
    job: &SurveyJob,
    near: Near,
    fallback: &str,
    faults: &mut Vec<Fault>,
) -> Option<DatumFit> {
    let datum = job.datum.as_ref()?;
    let limit = datum.limit.unwrap_or(near.one_point);
    let before = faults.len();
    let known = gather(rows, datum, (limit, job.show), fallback, faults);
    if faults.len() > before {
        return None;
    }
    let measured: Vec<Vec3> = known.iter().map(|k| mean(&k.shots)).collect();
    let boat: Vec<Vec3> = known.iter().map(|k| k.reference.boat).collect();
    let place = || Place::file(fallback).field("survey.datum.reference");
    if let Some((what, mend)) = too_close(&measured, &boat, job, limit) {
        faults.push(Fault::new(Kind::Survey, place(), what, mend));
        return None;
    }
    let motion = motion(&measured, &boat, datum.level);
    let residuals: Vec<Residual> = (known.iter().zip(&measured))
        .map(|(k, &measured)| (k, measured, k.reference.boat))
        .map(|(k, measured, boat)| Residual {
            name: k.reference.name.clone(),
            measured,
            shots: k.shots.len(),
            boat,
            off: motion.apply(measured) - boat,
        })
        .collect();
    let squares: f64 = residuals.iter().map(|r| r.off.dot(r.off)).sum();
    let rms = (squares / residuals.len().max(1) as f64).sqrt();
    let off = |r: &&Residual| r.off.length();
    let worst = residuals.iter().max_by(|a, b| off(a).total_cmp(&off(b)));
    if let Some(worst) = worst.filter(|w| off(w) > limit) {
        let frames = (&measured[..], &boat[..]);
        faults.push(too_far(worst, &known, frames, job, limit, fallback));
        return None;
    }
    if motion.upright() < 0.0 && flat(&boat) <= PLANE_LIMITS * limit {
        let what = "the fit turns the instrument upside down: its x and y look swapped";
        let mend = "give the instrument's x and y the other way round, or add a reference well above the others";
        faults.push(Fault::new(Kind::Survey, place(), what, mend));
        return None;
    }
    Some(DatumFit {
        motion,
        references: residuals,
        rms,
        limit,
    })
}

fn motion(measured: &[Vec3], boat: &[Vec3], level: bool) -> Rigid {
    if level {
        best_level(measured, boat)
    } else {
        best(measured, boat)
    }
}

/// Every reference with its shots; faults where one has none, or where shots
/// of one point lie apart.
fn gather<'a>(
    rows: &'a [Vec<Taken>],
    datum: &'a Datum,
    (limit, shown): (f64, Show),
    fallback: &str,
    faults: &mut Vec<Fault>,
) -> Vec<Known<'a>> {
    let known = datum.references.iter().map(|reference| Known {
        reference,
        shots: reference.measured.into_iter().collect(),
        row: None,
    });
    let mut known: Vec<Known<'a>> = known.collect();
    for taken in rows.iter().flatten() {
        let RowKind::Reference(i) = taken.kind else {
            continue;
        };
        let Some(k) = known.get_mut(i) else { continue };
        if let Some(first) = k.shots.first() {
            let apart = first.distance(taken.point.at);
            if apart > limit {
                let (name, apart) = (&k.reference.name, show(apart, shown));
                let what = format!("`{name}` was measured before, {apart} away");
                let mend = "the instrument moved, or one shot is wrong: take the wrong one out";
                faults.push(taken.point.fault(what, mend));
            }
        }
        k.shots.push(taken.point.at);
        k.row = k.row.or(Some(&taken.point));
    }
    for k in known.iter().filter(|k| k.shots.is_empty()) {
        let name = &k.reference.name;
        let place = Place::file(fallback).field(format!("survey.datum.reference `{name}`"));
        let what = format!("the reference point `{name}` was not measured");
        let mend = "give it a row with a datum code and this name, or `measured` in the job, or take it out";
        faults.push(Fault::new(Kind::Missing, place, what, mend));
    }
    known
}

/// Why references cannot fix a frame: together, or on one line.
fn too_close(
    measured: &[Vec3],
    boat: &[Vec3],
    job: &SurveyJob,
    limit: f64,
) -> Option<(String, &'static str)> {
    let level = job.datum.as_ref().is_some_and(|d| d.level);
    for points in [measured, boat] {
        let points: Vec<Vec3> = if level {
            points.iter().map(|p| p.plan().at_height(0.0)).collect()
        } else {
            points.to_vec()
        };
        let (length, off) = spread(&points);
        let least = LEAST_LIMITS_APART * limit;
        if length < least {
            let what = format!(
                "the reference points lie within {} of each other",
                show(length, job.show)
            );
            return Some((what, "spread them over the length of the boat"));
        }
        let least = (LEAST_OFF_LINE * length).max(PLANE_LIMITS * limit);
        if !level && off < least {
            let what = format!(
                "the reference points lie on one line: {} off it, over {}",
                show(off, job.show),
                show(length, job.show)
            );
            let mend = "add one well off the line, or set survey.datum.level = true if the instrument stood plumb";
            return Some((what, mend));
        }
    }
    None
}

/// Greatest distance of a point from the plane of the three that spread most:
/// the two furthest apart, and the one furthest off their line.
fn flat(points: &[Vec3]) -> f64 {
    let (mut a, mut b) = (Vec3::default(), Vec3::default());
    for (i, &p) in points.iter().enumerate() {
        for &q in points.iter().skip(i + 1) {
            if p.distance(q) > a.distance(b) {
                (a, b) = (p, q);
            }
        }
    }
    // The cross product of the third point with the line is the plane's normal.
    let normal = points
        .iter()
        .map(|&p| (p - a).cross(b - a))
        .max_by(|p, q| p.length().total_cmp(&q.length()))
        .unwrap_or_default()
        .unit();
    points
        .iter()
        .map(|&p| (p - a).dot(normal).abs())
        .fold(0.0, f64::max)
}

fn too_far(
    worst: &Residual,
    known: &[Known<'_>],
    (measured, boat): (&[Vec3], &[Vec3]),
    job: &SurveyJob,
    limit: f64,
    fallback: &str,
) -> Fault {
    let level = job.datum.as_ref().is_some_and(|d| d.level);
    let swapped: Vec<Vec3> = measured.iter().map(|p| vec3(p.y, p.x, p.z)).collect();
    let fitted = motion(&swapped, boat, level);
    let mut pairs = swapped.iter().zip(boat);
    let left_handed = pairs.all(|(&p, &q)| fitted.apply(p).distance(q) <= limit);
    let bad = likely_bad(measured, boat, limit).filter(|_| !left_handed);
    let at = bad.and_then(|i| known.get(i));
    let mend = match at {
        _ if left_handed => {
            "the instrument's x and y look swapped: give them the other way round".to_owned()
        }
        Some(k) => {
            let name = &k.reference.name;
            format!("without `{name}` the others agree: check its figures")
        }
        None => {
            "no one point explains it: check every reference, or allow more with survey.datum.limit"
                .to_owned()
        }
    };
    let what = format!(
        "after the best fit the reference point `{}` lies {} off; {} is allowed",
        worst.name,
        show(worst.off.length(), job.show),
        told(limit, job.show)
    );
    let name = at.map_or(worst.name.as_str(), |k| k.reference.name.as_str());
    let place = match at.and_then(|k| k.row) {
        Some(row) => Place::file(row.file.as_str()).line(row.line),
        None => Place::file(fallback),
    };
    let place = place.field(format!("survey.datum.reference `{name}`"));
    Fault::new(Kind::Survey, place, what, mend)
}

/// The one reference without which all distances between the others agree in
/// both frames; `None` where there is no such point, or more than one.
/// Distances need no fit, so that three points can be told apart as well.
fn likely_bad(measured: &[Vec3], boat: &[Vec3], limit: f64) -> Option<usize> {
    let n = measured.len().min(boat.len());
    let agree = |without: usize| {
        (0..n).filter(|&i| i != without).all(|i| {
            (i + 1..n).filter(|&j| j != without).all(|j| {
                let apart = measured[i].distance(measured[j]) - boat[i].distance(boat[j]);
                apart.abs() <= limit
            })
        })
    };
    let mut found = (0..n).filter(|&i| agree(i));
    let first = found.next()?;
    found.next().is_none().then_some(first)
}

/// Brings rows to the boat's frame.
pub(super) fn bring(rows: &mut [Taken], motion: &Rigid) {
    for taken in rows {
        let p = &mut taken.point;
        p.at = motion.apply(p.at);
        if let Some(SlopeGiven::Inboard(v)) = &mut p.slope {
            *v = motion.apply(*v);
        }
    }
}
