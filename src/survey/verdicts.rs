//! The job's verdicts on booked rows, applied as soon as a file's rows are read.

use super::model::{Applied, Point};
use crate::fault::{Fault, Kind};
use crate::job::{Act, Figure, Side, SurveyFile, SurveyJob, TableForm, Verdict, length_kind};
use crate::length::parse_cell;
use crate::stock::nearest;

/// A station named in a verdict is the row's if it lies this near, mm.
const SAME: f64 = 0.05;

/// The verdicts on their way through the files.
pub(super) struct Verdicts<'a> {
    job: &'a SurveyJob,
    /// Rows that each verdict names, as people find them.
    hits: Vec<Vec<String>>,
    /// The nearest name to each that named none yet.
    near: Vec<String>,
    /// What was done.
    pub(super) applied: Vec<Applied>,
}

impl<'a> Verdicts<'a> {
    pub(super) fn new(job: &'a SurveyJob) -> Self {
        Self {
            job,
            hits: vec![Vec::new(); job.verdicts.len()],
            near: vec![String::new(); job.verdicts.len()],
            applied: Vec::new(),
        }
    }

    /// Applies what concerns a file to its points.
    pub(super) fn apply(
        &mut self,
        file: &SurveyFile,
        points: &mut Vec<Point>,
        faults: &mut Vec<Fault>,
    ) {
        let job = self.job;
        for (k, verdict) in job.verdicts.iter().enumerate() {
            if verdict.file.as_ref().is_some_and(|f| *f != file.path) {
                continue;
            }
            let named: Vec<usize> = (0..points.len())
                .filter(|i| names(verdict, &points[*i], file, job))
                .collect();
            if named.is_empty() {
                let names = points.iter().map(|p| p.name.as_str());
                self.near[k] = nearest(&verdict.point, names)
                    .unwrap_or_default()
                    .to_owned();
            }
            let first = self.hits[k].is_empty();
            for p in named.iter().map(|i| &points[*i]) {
                self.hits[k].push(format!("{} line {} ({})", p.file, p.line, p.side.name()));
            }
            if let (true, Some(i)) = (first, named.first()) {
                self.one(verdict, file, points, *i, faults);
            }
        }
    }

    /// Applies a verdict to the row it names.
    fn one(
        &mut self,
        verdict: &Verdict,
        file: &SurveyFile,
        points: &mut Vec<Point>,
        i: usize,
        faults: &mut Vec<Fault>,
    ) {
        let p = &mut points[i];
        let mut done = Applied {
            file: p.file.clone(),
            line: p.line,
            name: p.name.clone(),
            side: p.side,
            figure: verdict.figure,
            act: verdict.act.clone(),
            was: None,
        };
        if let Some(figure) = verdict.figure
            && figure.of_offsets() != (file.form == TableForm::Offsets)
        {
            let figures = Figure::all().filter(|f| f.of_offsets() != figure.of_offsets());
            let names: Vec<_> = figures.map(|f| f.name()).collect();
            faults.push(at(
                verdict,
                "figure",
                Kind::Conflict,
                format!("a row of {} has no {}", p.file, figure.name()),
                format!("its figures are {}", names.join(", ")),
            ));
            return;
        }
        match (&verdict.act, verdict.figure) {
            (Act::Accept, Some(figure)) => p.booked.accepted[figure.axis()] = true,
            (Act::Accept, None) => p.booked.accepted = [true; 3],
            (Act::Replace(text), Some(figure)) => {
                match parse_cell(text, file.unit.unwrap_or(self.job.unit)) {
                    Ok(mm) if figure == Figure::HalfBreadth && mm < 0.0 => {
                        faults.push(at(
                        verdict,
                        "value",
                        Kind::Range,
                        format!("the half-breadth that replaces it is {text}"),
                        "a half-breadth is measured outboard from the centreline, on both sides"
                            .to_owned(),
                    ));
                        return;
                    }
                    Ok(mm) => done.was = Some(replace(p, figure, mm, self.job)),
                    Err(e) => {
                        faults.push(at(verdict, "value", length_kind(e.wrong), e.what, e.mend));
                        return;
                    }
                }
            }
            // A replacement without its figure is refused with the job.
            (Act::Replace(_), None) => return,
            (Act::Exclude, _) => {
                points.remove(i);
            }
        }
        self.applied.push(done);
    }

    /// Faults of the verdicts that named no row, or more than one.
    pub(super) fn finish(self, faults: &mut Vec<Fault>) -> Vec<Applied> {
        let all = self.job.verdicts.iter().zip(&self.hits).zip(&self.near);
        for ((verdict, hits), near) in all {
            let files = || self.job.files.iter().map(|f| f.path.as_str());
            if let Some(file) = &verdict.file
                && !files().any(|f| f == file)
            {
                let near = nearest(file, files()).unwrap_or_default();
                faults.push(at(
                    verdict,
                    "file",
                    Kind::Unknown,
                    format!("no [[survey.file]] is `{file}`"),
                    format!("the nearest one listed is `{near}`"),
                ));
                continue;
            }
            match &hits[..] {
                [] => faults.push(at(
                    verdict,
                    "point",
                    Kind::Unknown,
                    format!("no row is `{}`", verdict.point),
                    format!("write a row's name or station as booked; the nearest is `{near}`"),
                )),
                [_] => {}
                several => faults.push(at(
                    verdict,
                    "point",
                    Kind::Conflict,
                    format!(
                        "{} rows are `{}`: {}",
                        several.len(),
                        verdict.point,
                        several[..2].join(", ")
                    ),
                    "say which with `side` or `file`, or give the rows names".to_owned(),
                )),
            }
        }
        self.applied
    }
}

/// A fault at a key of a verdict.
fn at(verdict: &Verdict, key: &str, kind: Kind, what: String, mend: String) -> Fault {
    Fault::new(kind, verdict.place(key), what, mend)
}

/// True where a verdict names a row.
fn names(verdict: &Verdict, p: &Point, file: &SurveyFile, job: &SurveyJob) -> bool {
    if verdict.side.is_some_and(|s| s != p.side) {
        return false;
    }
    if verdict.point == p.name {
        return true;
    }
    let offsets = file.form == TableForm::Offsets;
    let station = if offsets && job.stations_aft {
        -p.at.x
    } else {
        p.at.x
    };
    parse_cell(&verdict.point, file.unit.unwrap_or(job.unit))
        .is_ok_and(|mm| (mm - station).abs() <= SAME)
}

/// Sets a figure as its table books it; returns what it was.
fn replace(p: &mut Point, figure: Figure, mm: f64, job: &SurveyJob) -> f64 {
    let turned = match figure {
        Figure::Station => job.stations_aft,
        Figure::HalfBreadth => p.side == Side::Starboard,
        _ => false,
    };
    let sign = if turned { -1.0 } else { 1.0 };
    let value = match figure.axis() {
        0 => &mut p.at.x,
        1 => &mut p.at.y,
        _ => &mut p.at.z,
    };
    let was = sign * *value;
    *value = sign * mm;
    was
}
