//! Fairing alone: the report, the table, the pictures.

use super::model::{Files, bytes};
use super::picture::edge_picture;
use crate::drawing::{Sighted, edge_drawing, sighting_drawing};
use crate::fair::compare::compare;
use crate::fair::{FairEdge, Rule, fair, fit_line};
use crate::fault::{Fault, Faults, Kind};
use crate::geom::steps::{apart, evenly};
use crate::geom::{Vec3, vec3};
use crate::job::{Job, Side, SurveyFile};
use crate::report::edge::faired_edge;
use crate::report::fairness::{Fairness, fairness_json, fairness_text, unsettled};
use crate::report::lists::fit;
use crate::survey::{self, Note, Survey};
use crate::write::svg::picture_svg;

/// Step along the top line in the sighting view, mm.
const SIGHT_STEP: f64 = 50.0;

/// Where the line runs more athwart than this cosine, it is round the stern
/// and out of sight.
const IN_SIGHT: f64 = 0.7;

/// Measured points and both faired lines.
#[derive(Debug)]
pub struct Faired {
    /// Measured points.
    pub survey: Survey,
    /// Faired lines.
    pub edge: FairEdge,
}

impl Faired {
    /// The faults of a later stage after what they may follow from: a survey
    /// that looks misread, and figures in doubt.
    pub(super) fn first(&self, job: &Job, later: impl Into<Faults>) -> Faults {
        let mut all = looked_at(&self.survey, FIRST);
        all.extend(self.open(job));
        later.into().after(all)
    }

    /// Figures in doubt that no verdict settles.
    fn open(&self, job: &Job) -> Vec<Fault> {
        let open = unsettled(&self.survey, &self.edge.doubts);
        open.iter().map(|d| d.fault(job.show)).collect()
    }
}

/// How to mend a survey that looks misread.
const FIRST: &str = "look at this first";

/// What of a survey should be looked at first.
fn looked_at(survey: &Survey, mend: &str) -> Vec<Fault> {
    let first =
        |note: &Note| Fault::new(Kind::Survey, note.place.clone(), note.text.as_str(), mend);
    survey.odd.iter().map(first).collect()
}

/// Reads and fairs a survey.
///
/// # Errors
/// All problems of the survey, or of its fairing.
pub fn faired(job: &Job, tables: &[(SurveyFile, String)]) -> Result<Faired, Faults> {
    let survey = survey::read(tables, &job.survey, &job.tolerance)?;
    let edge = fair(&survey, job).map_err(|later| later.after(looked_at(&survey, FIRST)))?;
    Ok(Faired { survey, edge })
}

/// Refuses a survey that looks misread as a whole, or with figures in doubt that no
/// verdict settles.
///
/// # Errors
/// What makes it look misread, then every such figure.
pub fn settled(job: &Job, faired: &Faired) -> Result<(), Faults> {
    let mend = format!("{FIRST}; where it is right as it stands, build without --strict");
    let all = Faults(faired.open(job)).after(looked_at(&faired.survey, &mend));
    if all.0.is_empty() { Ok(()) } else { Err(all) }
}

/// What is told of the fairing: every file.
///
/// # Errors
/// What could not be written.
pub fn fairness(job: &Job, faired: &Faired) -> Result<Files, Faults> {
    let Faired { survey, edge } = faired;
    let unlike = compare(edge, survey);
    let input = Fairness {
        job,
        survey,
        edge,
        unlike: &unlike,
    };
    let places = edge.places();
    let picture = edge_drawing(&edge_picture(&places, edge, survey), job);
    let sides = [Side::Port, Side::Starboard].map(|side| sighted(edge, side));
    Ok(bytes([
        ("fairness.txt".to_owned(), fairness_text(&input)),
        ("fairness.json".to_owned(), fairness_json(&input)?),
        fit("moves.csv", job, edge.fits())?,
        faired_edge(&places)?,
        ("plan-and-profile.svg".to_owned(), picture_svg(&picture)?),
        (
            "sighting.svg".to_owned(),
            picture_svg(&sighting_drawing(&sides, job))?,
        ),
    ]))
}

/// The top line of a side from aft forward, as far as it runs fore-and-aft.
fn sighted(edge: &FairEdge, side: Side) -> Sighted {
    let own = |y: f64| (y >= 0.0) == (side == Side::Port);
    let mut out = Sighted {
        side: side.name().to_owned(),
        ..Sighted::default()
    };
    for chain in &edge.chains {
        for length in &chain.lengths {
            let (a, b) = length.range();
            let seen = apart(a, b, SIGHT_STEP).map(|t| (length.top_point(t), length.frame(t)));
            let own = seen.filter(|(p, f)| own(p.y) && f.tangent.x.abs() > IN_SIGHT);
            out.after.extend(own.map(|(p, _)| p));
        }
        for p in &chain.points {
            let length = &chain.lengths[p.length];
            let frame = length.frame(p.t);
            if p.side == side && frame.tangent.x.abs() > IN_SIGHT {
                let inboard = length.inboard(p.t);
                let back = vec3(inboard.x * p.top_out, inboard.y * p.top_out, -p.top_up);
                out.measured.push(length.top_point(p.t) + back);
                out.moves.push([p.t, p.top_out, p.top_up]);
            }
        }
    }
    if let (Some(first), Some(last)) = (out.after.first(), out.after.last())
        && last.x < first.x
    {
        let end = out.moves.last().map_or(0.0, |m| m[0]);
        out.after.reverse();
        out.measured.reverse();
        out.moves.reverse();
        out.moves.iter_mut().for_each(|m| m[0] = end - m[0]);
    }
    out.before = through(&out.measured);
    out
}

/// A batten through all points, places a twentieth of their spacing apart;
/// straight between them where there are too few for a batten.
fn through(points: &[Vec3]) -> Vec<Vec3> {
    let exact = vec![0.0; points.len()];
    let Ok(line) = fit_line(points, &exact, [false; 2], Rule::Smoothest) else {
        return points.to_vec();
    };
    let (a, b) = line.curve.basis.range();
    let places = evenly(a, b - a, (20 * points.len()) as f64).map(|t| line.curve.at(t));
    places.map(|[x, y, z]| vec3(x, y, z)).collect()
}
