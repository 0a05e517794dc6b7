//! The job's verdicts on booked rows, applied as soon as a file's rows are read.

use std::collections::{BTreeMap, BTreeSet};

use super::model::{Applied, Point};
use super::rows::OUTBOARD;
use crate::fault::{Fault, Kind};
use crate::job::{Act, Figure, Side, SurveyFile, SurveyJob, TableForm, Verdict};
use crate::length::{booked, parse_cell};
use crate::stock::nearest;

/// A station named in a verdict is the row's if it lies this near, mm.
const SAME: f64 = 0.05;

/// The verdicts on their way through the files.
pub(super) struct Verdicts<'a> {
    job: &'a SurveyJob,
    /// What each verdict names.
    found: Vec<Found>,
    /// What was done.
    pub(super) applied: Vec<Applied>,
}

/// What a verdict names.
#[derive(Debug, Clone, Default)]
struct Found {
    /// Rows, as people find them.
    rows: Vec<String>,
    /// Of the rows that it does not name the one nearest by station, and how far, mm.
    by_station: Option<(f64, String)>,
    /// Of those the name nearest by its letters.
    by_letters: Option<String>,
}

impl Found {
    /// The name that was likely meant.
    fn near(&self) -> Option<&str> {
        let station = self.by_station.as_ref().map(|s| s.1.as_str());
        station.or(self.by_letters.as_deref())
    }
}

impl<'a> Verdicts<'a> {
    pub(super) fn new(job: &'a SurveyJob) -> Self {
        Self {
            job,
            found: vec![Found::default(); job.verdicts.len()],
            applied: Vec::new(),
        }
    }

    /// Applies what concerns a file to its points. Every verdict names its row as
    /// booked, whatever another one makes of it.
    pub(super) fn apply(
        &mut self,
        file: &SurveyFile,
        points: &mut Vec<Point>,
        faults: &mut Vec<Fault>,
    ) {
        let job = self.job;
        let mut on: Vec<(&Verdict, usize)> = Vec::new();
        for (verdict, found) in job.verdicts.iter().zip(&mut self.found) {
            if verdict.file.as_ref().is_some_and(|f| *f != file.path) {
                continue;
            }
            let first = found.rows.is_empty();
            let row = look(verdict, points, file, job, found);
            on.extend(row.filter(|_| first).map(|i| (verdict, i)));
        }
        let mut out = BTreeSet::new();
        for (verdict, i) in on {
            if verdict.act == Act::Exclude {
                out.insert(i);
            }
            self.one(verdict, file, &mut points[i], faults);
        }
        let mut index = 0..;
        points.retain(|_| index.next().is_none_or(|i| !out.contains(&i)));
    }

    /// Applies a verdict to the row it names.
    fn one(
        &mut self,
        verdict: &Verdict,
        file: &SurveyFile,
        p: &mut Point,
        faults: &mut Vec<Fault>,
    ) {
        let mut done = Applied {
            file: p.file.clone(),
            line: p.line,
            name: p.name.clone(),
            side: p.side,
            figure: verdict.figure,
            act: verdict.act,
            replaced: None,
        };
        if let Some(figure) = verdict.figure
            && figure.of_offsets() != (file.form == TableForm::Offsets)
        {
            let figures = Figure::all().filter(|f| f.of_offsets() != figure.of_offsets());
            let names: Vec<_> = figures.map(|f| f.name()).collect();
            let what = format!("a row of {} has no {}", p.file, figure.name());
            let mend = format!("its figures are {}", names.join(", "));
            faults.push(at(verdict, "figure", Kind::Conflict, what, mend));
            return;
        }
        match (verdict.act, verdict.figure) {
            (Act::Accept, Some(figure)) => p.booked.accepted[figure.axis()] = true,
            (Act::Accept, None) => p.booked.accepted = [true; 3],
            (Act::Replace, Some(figure)) => {
                let unit = self.job.unit_of(file);
                let text = verdict.value.as_deref().unwrap_or_default();
                match parse_cell(text, unit) {
                    Ok(mm) if figure == Figure::HalfBreadth && mm < 0.0 => {
                        let what = format!("the half-breadth that replaces it is {text}");
                        faults.push(at(verdict, "value", Kind::Range, what, OUTBOARD));
                        return;
                    }
                    Ok(mm) => {
                        let was = booked(replace(p, figure, mm, self.job), unit);
                        done.replaced = Some([was, text.to_owned()]);
                    }
                    Err(e) => {
                        faults.push(at(verdict, "value", e.kind, e.what, e.mend));
                        return;
                    }
                }
            }
            // A replacement without its figure is refused with the job.
            (Act::Replace, None) => return,
            // The row goes once all verdicts have found theirs.
            (Act::Exclude, _) => {}
        }
        self.applied.push(done);
    }

    /// Faults of the verdicts that named no row, more than one, or one figure twice.
    /// No row is missed where rows are at fault: it may be one of them.
    pub(super) fn finish(self, rows_clean: bool, faults: &mut Vec<Fault>) -> Vec<Applied> {
        let mut on: BTreeMap<&str, Vec<&Verdict>> = BTreeMap::new();
        for (verdict, found) in self.job.verdicts.iter().zip(&self.found) {
            let files = || self.job.files.iter().map(|f| f.path.as_str());
            if let Some(file) = &verdict.file
                && !files().any(|f| f == file)
            {
                let near = nearest(file, files()).unwrap_or_default();
                let what = format!("no [[survey.file]] is `{file}`");
                let mend = format!("the nearest one listed is `{near}`");
                faults.push(at(verdict, "file", Kind::Unknown, what, mend));
                continue;
            }
            match &found.rows[..] {
                [] if rows_clean => faults.push(no_row(verdict, found)),
                [] => {}
                [row] => {
                    let others = on.entry(row).or_default();
                    let earlier = others.iter().find(|o| overlap(o, verdict));
                    faults.extend(earlier.map(|e| twice(e, verdict, row)));
                    others.push(verdict);
                }
                several => {
                    let (count, two) = (several.len(), several[..2].join(", "));
                    let what = format!("{count} rows are `{}`: {two}", verdict.point);
                    let mend = "say which with `side` or `file`, or give the rows names";
                    faults.push(at(verdict, "point", Kind::Conflict, what, mend));
                }
            }
        }
        self.applied
    }
}

/// The verdict names no row.
fn no_row(verdict: &Verdict, found: &Found) -> Fault {
    let side = verdict.side.map(|s| format!(" on {}", s.name()));
    let side = side.unwrap_or_default();
    let near = found.near();
    let near = near.map_or_else(String::new, |n| format!("; the nearest is `{n}`"));
    let what = format!("no row is `{}`{side}", verdict.point);
    let mend = format!("write a row's name or station as booked{near}");
    at(verdict, "point", Kind::Unknown, what, mend)
}

/// True where two verdicts on one row are on one of its figures.
fn overlap(a: &Verdict, b: &Verdict) -> bool {
    let whole = |v: &Verdict| v.figure.is_none() || v.act == Act::Exclude;
    whole(a) || whole(b) || a.figure == b.figure
}

/// Two verdicts on one figure of a row.
fn twice(earlier: &Verdict, verdict: &Verdict, row: &str) -> Fault {
    let told = |v: &Verdict| match v.figure {
        Some(f) => format!("`{}` of its {}", v.act.name(), f.name()),
        None => format!("`{}` of all of it", v.act.name()),
    };
    let line = earlier.place("point").line;
    let line = line.map_or_else(String::new, |n| format!(" on line {n}"));
    let what = format!(
        "two verdicts are on {row}: the one{line}, {}, and this one, {}",
        told(earlier),
        told(verdict)
    );
    let mend = "keep one of them: a figure takes one verdict, and a row that is left out no other";
    at(verdict, "point", Kind::Conflict, what, mend)
}

/// A fault at a key of a verdict.
fn at(verdict: &Verdict, key: &str, kind: Kind, what: String, mend: impl Into<String>) -> Fault {
    Fault::new(kind, verdict.place(key), what, mend)
}

/// Looks for the rows that a verdict names in a file; the first of them.
fn look(
    verdict: &Verdict,
    points: &[Point],
    file: &SurveyFile,
    job: &SurveyJob,
    found: &mut Found,
) -> Option<usize> {
    let unit = job.unit_of(file);
    let turned = file.form == TableForm::Offsets && job.stations_aft;
    let station = |p: &Point| if turned { -p.at.x } else { p.at.x };
    let given = parse_cell(&verdict.point, unit).ok();
    let off = |p: &Point| given.map(|mm| (mm - station(p)).abs());
    let own = |p: &Point| verdict.side.is_none_or(|s| s == p.side);
    let named = |p: &Point| verdict.point == p.name || off(p).is_some_and(|mm| mm <= SAME);
    let before = found.rows.len();
    let rows = points.iter().filter(|p| own(p) && named(p));
    let rows = rows.map(|p| format!("{} line {} ({})", p.file, p.line, p.side.name()));
    found.rows.extend(rows);
    if found.rows.len() > before {
        return points.iter().position(|p| own(p) && named(p));
    }
    let others = || points.iter().filter(|p| own(p));
    // A row that goes by a number which is not its station goes by its name alone.
    let by_station = |p: &Point| {
        let name = p.name.strip_prefix("x ").unwrap_or(&p.name);
        parse_cell(name, unit).is_ok_and(|mm| (mm - station(p)).abs() <= SAME)
            || parse_cell(name, unit).is_err()
    };
    let apart = |p: &&Point| off(p).unwrap_or(f64::INFINITY);
    let nearer = others().min_by(|a, b| apart(a).total_cmp(&apart(b)));
    if let Some(p) = nearer.filter(|p| by_station(p))
        && let Some(mm) = off(p)
        && found.by_station.as_ref().is_none_or(|s| mm < s.0)
    {
        found.by_station = Some((mm, p.name.clone()));
    }
    let names = found.by_letters.iter().map(String::as_str);
    let names = names.chain(others().map(|p| p.name.as_str()));
    found.by_letters = nearest(&verdict.point, names).map(str::to_owned);
    None
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
