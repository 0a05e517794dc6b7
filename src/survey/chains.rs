//! From tables to chains of points, the boat on their left.

use super::gaps::gaps;
use super::misread::{self, Odd};
use super::model::{Chain, DatumFit, End, Note, Point, SlopeGiven, Survey};
use super::order::{Portion, crossings, side_in_order};
use super::passes::Near;
use super::rows::{STEEP, read_table};
use super::taken::{Context, Taken};
use super::verdicts::Verdicts;
use super::{datum, dxf, settle};
use crate::fault::{Fault, Faults, Kind, Place};
use crate::geom::{Vec2, Vec3, vec3};
use crate::job::{EndStyle, Side, Stern, SurveyFile, SurveyJob, TableForm};
use crate::length::{Round, Show, number, show, told, told_unrounded};
use crate::tolerance::Tolerance;

/// An inboard point lies at least this far inboard of the edge, square to it, mm:
/// nearer, the slope is all measuring error.
pub const LEAST_INBOARD: f64 = 10.0;

/// A transom is at least this wide, mm: narrower, the sides meet.
const LEAST_TRANSOM: f64 = 50.0;

/// The measured edge from its tables, texts already loaded, in the job's
/// order of files. See [`super`] for how chains run.
///
/// # Errors
/// Every fault of every table in one pass, each with file, line, column,
/// field and mend. Checks that need the whole edge (sides missing, crossed
/// edges, inboard points) run once every row reads well.
pub fn read(
    texts: &[(SurveyFile, String)],
    job: &SurveyJob,
    tolerance: &Tolerance,
) -> Result<Survey, Faults> {
    let mut faults = Vec::new();
    let mut notes = Vec::new();
    let mut verdicts = Verdicts::new(job);
    let near = Near::of(job, tolerance);
    let mut rows = match rows_of(texts, job, near, &mut faults, &mut notes) {
        Ok(rows) => rows,
        Err(misread) => return Err(led(misread, faults, texts)),
    };
    let rows_clean = faults.is_empty();
    let mut datum = None;
    if rows_clean {
        datum = in_boat_frame(&mut rows, texts, job, near, &mut faults);
    }
    if datum.is_none() && job.datum.is_some() {
        return Err(sorted(faults, texts));
    }
    let lone = settle::lone_side(&rows, near.reach);
    let (mut port, mut starboard, mut suspects) = (Vec::new(), Vec::new(), Vec::new());
    for (rows, (file, _)) in rows.into_iter().zip(texts) {
        let (mut points, more) = settle::settle(rows, lone, near, &mut faults, &mut notes);
        suspects.extend(more);
        verdicts.apply(file, &mut points, &mut faults);
        portions(points, file.form, &mut port, &mut starboard);
    }
    let verdicts = verdicts.finish(rows_clean, &mut faults);
    let of_rows = faults.len();
    let both: Vec<&Portion> = port.iter().chain(&starboard).collect();
    let whole = || misread::columns(&both).or_else(|| misread::size(&both, job));
    let odd = match whole() {
        Some(o) if o.certain && rows_clean => return Err(led(vec![o.fault], Vec::new(), texts)),
        other => other,
    };
    let turned = misread::other_way([&port, &starboard]);
    let mut port = side_in_order(port, near, &mut faults, &mut notes);
    let mut starboard = side_in_order(starboard, near, &mut faults, &mut notes);
    let ordered = faults.len();
    if rows_clean
        && ordered > of_rows
        && let Some(fault) = turned.and_then(|t| misread::agree_turned(t, near, job))
    {
        faults.truncate(of_rows);
        return Err(led(vec![fault], faults, texts));
    }
    settle::convict(suspects, &port, &starboard, &mut faults);
    let rows_clean = rows_clean && faults.len() == ordered;
    if rows_clean {
        sides(texts, job, &port, &starboard, &mut faults);
    }
    if !faults.is_empty() {
        return Err(led(first(&odd), faults, texts));
    }
    let shape = |side: &[Point]| misread::shape(side, job);
    let odd = odd.or_else(|| shape(&port).or_else(|| shape(&starboard)));
    if job.mirrored {
        mirror(&mut port, &mut starboard, near.doubled);
    }
    let chains = join(port, starboard, job, near.one_point, &mut faults);
    if !faults.is_empty() && odd.is_some() {
        // How the sides meet follows from it.
        return Err(led(first(&odd), Vec::new(), texts));
    }
    check_chains(&chains, job.show, &mut faults);
    if faults.is_empty() {
        gaps(&chains, job.show, &mut notes);
        Ok(Survey {
            chains,
            datum,
            odd: odd.map(Odd::note),
            notes,
            verdicts,
        })
    } else {
        Err(led(first(&odd), faults, texts))
    }
}

/// Brings the rows of lists and drawings to the boat's frame, where the job has a datum.
fn in_boat_frame(
    rows: &mut [Vec<Taken>],
    texts: &[(SurveyFile, String)],
    job: &SurveyJob,
    near: Near,
    faults: &mut Vec<Fault>,
) -> Option<DatumFit> {
    let loose = |file: &SurveyFile| matches!(file.form, TableForm::List | TableForm::Dxf);
    let first = texts.iter().find(|(f, _)| loose(f)).or(texts.first());
    let named = first.map_or("", |(f, _)| f.path.as_str());
    let fit = datum::fit(rows, job, near, named, faults)?;
    for (rows, (file, _)) in rows.iter_mut().zip(texts) {
        if loose(file) {
            datum::bring(rows, &fit.motion);
        }
    }
    Some(fit)
}

/// The rows of every file; or the faults of tables that are misread as a whole.
fn rows_of(
    texts: &[(SurveyFile, String)],
    job: &SurveyJob,
    near: Near,
    faults: &mut Vec<Fault>,
    notes: &mut Vec<Note>,
) -> Result<Vec<Vec<Taken>>, Vec<Fault>> {
    let mut rows = Vec::new();
    let mut misread = Vec::new();
    for (file, text) in texts {
        let context = Context { file, job, near };
        if file.form == TableForm::Dxf {
            rows.push(dxf::read_drawing(&context, text, faults, notes));
        } else if let Some(m) = misread::misread(&context, text) {
            misread.push(m);
        } else {
            rows.push(read_table(&context, text, faults));
        }
    }
    if misread.is_empty() {
        Ok(rows)
    } else {
        Err(misread::misread_faults(&misread))
    }
}

/// What looks wrong of the survey as a whole, to be told first.
fn first(odd: &Option<Odd>) -> Vec<Fault> {
    odd.iter().map(|o| o.fault.clone()).collect()
}

/// What is told first, then other faults in the order of files and lines: those that
/// can be read by themselves, then those that may follow from it.
fn led(mut first: Vec<Fault>, faults: Vec<Fault>, texts: &[(SurveyFile, String)]) -> Faults {
    if first.is_empty() {
        return sorted(faults, texts);
    }
    let follows = |f: &Fault| matches!(f.kind, Kind::Range | Kind::Conflict | Kind::Survey);
    let (later, own): (Vec<_>, Vec<_>) = faults.into_iter().partition(follows);
    first.extend(sorted(own, texts).0);
    sorted(later, texts).after(first)
}

/// A file's points by side and pass, in file order. Rows of a table, and
/// loose rows, are one pass a side; a line of a drawing that crosses the
/// centreline is another pass from there.
fn portions(
    points: Vec<Point>,
    form: TableForm,
    port: &mut Vec<Portion>,
    starboard: &mut Vec<Portion>,
) {
    let (from_port, from_starboard) = (port.len(), starboard.len());
    let mut last: Option<(usize, Side)> = None;
    for p in points {
        let loose = form == TableForm::List || (form == TableForm::Dxf && p.pass == 0);
        let (side, from) = match p.side {
            Side::Port => (&mut *port, from_port),
            Side::Starboard => (&mut *starboard, from_starboard),
        };
        let here = (p.pass, p.side);
        let open = side.len() > from && (p.pass == 0 || last == Some(here));
        last = Some(here);
        match side.last_mut() {
            Some(portion) if open => portion.points.push(p),
            _ => side.push(Portion {
                form,
                loose,
                points: vec![p],
            }),
        }
    }
}

/// Faults in the order of files and lines.
fn sorted(mut faults: Vec<Fault>, texts: &[(SurveyFile, String)]) -> Faults {
    let order = |f: &Fault| texts.iter().position(|(file, _)| file.path == f.place.file);
    faults.sort_by_key(|f| (order(f), f.place.line, f.place.column));
    Faults(faults)
}

/// Enough points, and the sides that the stern needs.
fn sides(
    texts: &[(SurveyFile, String)],
    job: &SurveyJob,
    port: &[Point],
    starboard: &[Point],
    faults: &mut Vec<Fault>,
) {
    for points in [port, starboard] {
        if let [only] = points {
            let mend = "measure at least two points of a side";
            faults.push(only.fault("this side has one point", mend));
        }
    }
    let place = || Place::file(texts.first().map_or("", |(f, _)| f.path.as_str())).field("side");
    match (port.is_empty(), starboard.is_empty()) {
        (true, true) => faults.push(Fault::new(
            Kind::Missing,
            place(),
            "no point was measured",
            "list the measured points of at least one side",
        )),
        (false, false) if job.mirrored => faults.push(Fault::new(
            Kind::Conflict,
            place(),
            "both sides are measured, and the job says that one stands for both",
            "take `mirrored` out of the job, or one side out of the tables",
        )),
        (false, false) => {}
        (no_port, _) if !job.mirrored && job.stern != Stern::Open => {
            let (mut have, mut lack) = ("port", "starboard");
            if no_port {
                (have, lack) = (lack, have);
            }
            let what = format!("only {have} was measured, and the stern needs both sides");
            let mend = format!(
                "measure {lack}, or set survey.mirrored = true, or survey.stern = \"open\" for one side alone"
            );
            faults.push(Fault::new(Kind::Missing, place(), what, mend));
        }
        _ => {}
    }
}

/// Makes the side that was not measured from the one that was, exactly. A
/// last point on the centreline is put on it, so that both sides share it.
fn mirror(port: &mut Vec<Point>, starboard: &mut Vec<Point>, doubled_mm: f64) {
    let (given, made) = if port.is_empty() {
        (starboard, port)
    } else {
        (port, starboard)
    };
    if let Some(last) = given.last_mut()
        && last.at.y.abs() <= doubled_mm
    {
        last.at.y = 0.0;
    }
    *made = given.iter().map(mirrored).collect();
}

fn mirrored(p: &Point) -> Point {
    let flip = |v: Vec3| vec3(v.x, -v.y, v.z);
    let mut out = p.clone();
    out.at = flip(p.at);
    out.side = match p.side {
        Side::Port => Side::Starboard,
        Side::Starboard => Side::Port,
    };
    if let Some(SlopeGiven::Inboard(v)) = &mut out.slope {
        *v = flip(*v);
    }
    out.booked.mirrored = true;
    out
}

/// Joins both sides, each from forward aft, into chains.
fn join(
    mut port: Vec<Point>,
    mut starboard: Vec<Point>,
    job: &SurveyJob,
    one_point: f64,
    faults: &mut Vec<Fault>,
) -> Vec<Chain> {
    starboard.reverse();
    let fore = |side| end(job.stem, side);
    let apart = match (port.last(), starboard.first()) {
        (Some(p), Some(s)) => p.at.distance(s.at),
        _ => f64::INFINITY,
    };
    match job.stern {
        Stern::Round => {
            if apart <= one_point {
                starboard.remove(0);
            } else if let (Some(p), Some(s)) = (port.last(), starboard.first())
                && [p, s].iter().all(|p| in_offsets(p, job))
            {
                faults.push(no_round(p, s, apart, job.show));
            }
        }
        Stern::Transom => {
            if let (Some(p), Some(s)) = (port.last_mut(), starboard.first_mut()) {
                p.knuckle = true;
                s.knuckle = true;
                if apart < LEAST_TRANSOM {
                    let what = format!(
                        "the aftermost points of both sides are {} apart: there is no transom",
                        show(apart, job.show)
                    );
                    let mend = "set survey.stern to \"round\" or \"mitre\"";
                    faults.push(p.fault(what, mend));
                }
            }
        }
        Stern::Open | Stern::Mitre => {
            let aft = |side| match job.stern {
                Stern::Mitre => end(EndStyle::Mitre { half_siding: 0.0 }, side),
                _ => End::Square,
            };
            let chains = [
                (port, fore(Side::Port), aft(Side::Port)),
                (starboard, aft(Side::Starboard), fore(Side::Starboard)),
            ];
            return chains
                .into_iter()
                .filter(|(points, ..)| !points.is_empty())
                .map(|(points, start, end)| Chain { points, start, end })
                .collect();
        }
    }
    port.append(&mut starboard);
    vec![Chain {
        points: port,
        start: fore(Side::Port),
        end: fore(Side::Starboard),
    }]
}

/// True for a point booked in an offset table.
fn in_offsets(p: &Point, job: &SurveyJob) -> bool {
    let own = job.files.iter().find(|f| f.path == p.file);
    own.is_some_and(|f| f.form == TableForm::Offsets)
}

/// A round stern that no point carries: offset tables end at their last stations.
fn no_round(p: &Point, s: &Point, apart: f64, shown: Show) -> Fault {
    let what = format!(
        "the offset tables end {} apart, at {} (port) and {} (starboard): no point says how a round stern runs between",
        show(apart, shown),
        p.name,
        s.name
    );
    let mend = "set survey.stern to \"transom\", \"open\" or \"mitre\", or measure round the stern into a file of form = \"points\", or to the centreline on both sides";
    p.fault(what, mend)
}

fn end(style: EndStyle, side: Side) -> End {
    match style {
        EndStyle::Square => End::Square,
        // A half-siding of nought is nought on both sides, not minus nought.
        EndStyle::Mitre { half_siding } => End::Centreline {
            y: 0.0 + side.outboard(half_siding),
        },
    }
}

fn check_chains(chains: &[Chain], shown: Show, faults: &mut Vec<Fault>) {
    let points: Vec<&[Point]> = chains.iter().map(|c| c.points.as_slice()).collect();
    crossings(&points, faults);
    for chain in chains {
        for (i, p) in chain.points.iter().enumerate() {
            if let Some(SlopeGiven::Inboard(inboard)) = p.slope {
                check_inboard(p, inboard, along(&chain.points, i), shown, faults);
            }
        }
    }
}

/// Direction of the edge in plan at a point: the mean of the pieces that
/// meet there.
fn along(points: &[Point], i: usize) -> Vec2 {
    let piece = |a: Option<&Point>, b: Option<&Point>| match (a, b) {
        (Some(a), Some(b)) => (b.at.plan() - a.at.plan()).unit(),
        _ => Vec2::default(),
    };
    let before = i.checked_sub(1).and_then(|k| points.get(k));
    let here = points.get(i);
    (piece(before, here) + piece(here, points.get(i + 1))).unit()
}

fn check_inboard(p: &Point, inboard: Vec3, along: Vec2, shown: Show, faults: &mut Vec<Fault>) {
    let across = (inboard.plan() - p.at.plan()).dot(along.left());
    if across < LEAST_INBOARD {
        let what = format!(
            "the inboard point lies {} inboard of the edge, square to it",
            told(across, shown)
        );
        let mend = format!(
            "it must lie at least {} inboard: correct the point, or leave its cells empty",
            told_unrounded(LEAST_INBOARD, shown, Round::Up)
        );
        faults.push(p.fault_of(Kind::Survey, "inboard", what, mend));
        return;
    }
    let slope = (inboard.z - p.at.z) / across;
    if slope.abs() > STEEP {
        let slope = number(slope, 2);
        let what = format!("the inboard point makes a slope of {slope} in 1");
        let mend = "a covering board lies flatter than 1 in 1: correct the heights";
        faults.push(p.fault_of(Kind::Range, "inboard", what, mend));
    }
}
