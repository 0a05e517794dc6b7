//! The base line of each smooth length of a chain.

use super::ends;
use super::line::{Ends, Line, fit_line_to};
use super::no_line::{NoLine, no_line};
use super::smooth::Rule;
use super::uncertainty::Uncertainty;
use crate::fault::Faults;
use crate::geom::Vec3;
use crate::job::Job;
use crate::survey::{Chain, Point};

/// A length of a chain on its way: points `first` to `first + line.feet.len() - 1`.
pub(super) struct BaseLine {
    pub(super) first: usize,
    pub(super) ends: Ends,
    /// By t, counted along the chain.
    pub(super) line: Line,
    pub(super) uncertainty: Option<Uncertainty>,
}

impl BaseLine {
    /// Index into the chain of the measured point nearest t.
    pub(super) fn nearest(&self, t: f64) -> usize {
        let apart = |i: &usize| (self.line.feet[*i] - t).abs();
        let nearest = (0..self.line.feet.len()).min_by(|a, b| apart(a).total_cmp(&apart(b)));
        self.first + nearest.unwrap_or_default()
    }
}

/// Tolerance of a point of the base line, mm.
pub(super) fn tolerance(point: &Point, job: &Job) -> f64 {
    point.tolerance.unwrap_or(job.fairing.base)
}

/// Places of points and the tolerances that the base line has to them, mm.
fn wanted(points: &[Point], job: &Job) -> (Vec<Vec3>, Vec<f64>) {
    points.iter().map(|p| (p.at, tolerance(p, job))).unzip()
}

/// Indices of the points between which a chain is smooth: ends and knuckles.
pub(super) fn corners(chain: &Chain) -> Vec<usize> {
    let last = chain.points.len().saturating_sub(1);
    let mut corners = vec![0];
    corners.extend((1..last).filter(|i| chain.points[*i].knuckle));
    corners.push(last);
    corners
}

/// The base lines of a chain, one between any two knuckles.
pub(super) fn base_lines(chain: &Chain, job: &Job) -> Result<Vec<BaseLine>, Faults> {
    let points = &chain.points;
    if points.len() < 2 {
        return Err(Faults::from(no_line(NoLine::TooFew, points, "edge")));
    }
    let mut faults = Faults::default();
    let mut pieces: Vec<BaseLine> = Vec::new();
    let mut start = 0.0;
    for w in corners(chain).windows(2) {
        let within = &points[w[0]..=w[1]];
        let (places, tolerances) = wanted(within, job);
        let ends = ends::of_length(chain, w[0], w[1], job);
        match fit_line_to(&places, &tolerances, &ends, Rule::Likeliest) {
            Ok((mut line, system)) => {
                let uncertainty = Uncertainty::of(&line, &system, job.survey.accuracy, true);
                let uncertainty = uncertainty.map(|s| s.shifted(start));
                line.curve.basis = line.curve.basis.shifted(start);
                for t in &mut line.feet {
                    *t += start;
                }
                start = line.curve.basis.range().1;
                pieces.push(BaseLine {
                    first: w[0],
                    ends,
                    line,
                    uncertainty,
                });
            }
            Err(e) => faults.0.push(no_line(e, within, "edge")),
        }
    }
    if faults.0.is_empty() {
        Ok(pieces)
    } else {
        Err(faults)
    }
}

/// The smoothest base line within the tolerance, which shows only what the survey's errors
/// cannot explain; the base line itself where no smoother one can be had.
pub(super) fn smoothest(points: &[Point], piece: &BaseLine, job: &Job) -> Line {
    let within = &points[piece.first..piece.first + piece.line.feet.len()];
    let (places, tolerances) = wanted(within, job);
    let smoothest = fit_line_to(&places, &tolerances, &piece.ends, Rule::Smoothest);
    smoothest.map_or_else(|_| piece.line.clone(), |(line, _)| line)
}
