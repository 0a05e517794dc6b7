//! Figures of the survey that stand out against their neighbours: a foot or an inch
//! misread, digits swapped, a wrong eighth. They are told, never changed or dropped.
//! The method is in `docs/method-fairing.md`.

mod corner;
mod judge;
mod plan;
mod search;
mod slip;
#[cfg(test)]
mod tests;
mod walk;

use crate::fault::{Fault, Kind, Place};
pub use crate::job::Figure;
use crate::job::{Job, Side, TableForm};
use crate::length::{Show, booked, show};
use crate::survey::{Chain, Point, Survey, guessed};
use judge::{Stretch, Suspect};

/// A figure that stands out against its neighbours.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// Index of the chain.
    pub chain: usize,
    /// Index of the point in the chain.
    pub index: usize,
    /// File, line, field and station.
    pub place: Place,
    /// Station or point as booked.
    pub name: String,
    /// Side as booked.
    pub side: Side,
    /// Which figure.
    pub figure: Figure,
    /// As booked, mm.
    pub booked: f64,
    /// The same in the notation of the file's unit.
    pub booked_text: String,
    /// Booked less likely, mm.
    pub out: f64,
    /// What it likely was, mm: by the slip that explains it, else by the neighbours.
    pub likely: f64,
    /// The same in the notation of the file's unit.
    pub likely_text: String,
    /// Standard deviation of what the neighbours say of it, its own error included, mm.
    pub spread: f64,
    /// The slip that explains it, in words.
    pub slip: Option<String>,
    /// True at the end of a run between knuckles, where there are neighbours on one side only.
    pub at_end: bool,
    /// True where a corner that is not marked explains the points as well.
    pub may_be_knuckle: bool,
    /// How sure it is.
    pub sure: Sure,
}

/// How sure a doubt is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sure {
    /// Look at it again: likelier a slip than not.
    Perhaps,
    /// A hundred to one and more, or a slip explains it.
    Likely,
    /// Ten thousand to one and more.
    NearlyCertain,
}

impl Sure {
    /// In words.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Perhaps => "perhaps",
            Self::Likely => "likely",
            Self::NearlyCertain => "nearly certain",
        }
    }
}

/// Twice the log of a hundred.
const HUNDRED_TO_ONE: f64 = 9.2;

/// A likely figure agrees with its neighbours within this many of its spreads.
const AGREES: f64 = 2.5;

/// Every figure of a survey that stands out against its neighbours, in the order of the
/// chains. A point of a mirrored survey is told once; a figure that a verdict of the job
/// accepts is not told, nor one whose likely value could not be on the boat.
///
/// Guarantee: no panic, time in proportion to the number of points. Runs of fewer than
/// six points between knuckles are left alone: nothing can be told there.
#[must_use]
pub fn doubtful(survey: &Survey, job: &Job) -> Vec<Doubt> {
    let mut out: Vec<Doubt> = Vec::new();
    for (index, chain) in survey.chains.iter().enumerate() {
        let mut found = of_chain(index, chain, job);
        found.sort_by_key(|d| (d.index, d.figure));
        // A knuckle ends two runs: the surer word on it stays.
        found.dedup_by(|later, first| {
            let same = (later.index, later.figure) == (first.index, first.figure);
            if same && later.sure > first.sure {
                std::mem::swap(later, first);
            }
            same
        });
        out.extend(found);
    }
    if job.survey.mirrored {
        out.retain(|d| !survey.chains[d.chain].points[d.index].booked.mirrored);
    }
    out
}

fn of_chain(index: usize, chain: &Chain, job: &Job) -> Vec<Doubt> {
    let points = &chain.points;
    if points.is_empty() {
        return Vec::new();
    }
    let mut out = Vec::new();
    for (first, last) in runs(chain) {
        let run = &points[first..=last];
        let finite = |p: &Point| p.at.x.is_finite() && p.at.y.is_finite() && p.at.z.is_finite();
        if !run.iter().all(finite) {
            continue;
        }
        let stretch = Stretch {
            points: run,
            accuracy: job.survey.accuracy,
            athwart: run
                .iter()
                .map(|p| form(p, job) == TableForm::Offsets)
                .collect(),
        };
        for suspect in judge::suspects(&stretch) {
            let at = first + suspect.index;
            if points[at].booked.accepted[suspect.axis] {
                continue;
            }
            let Some(range) = possible(run, &suspect) else {
                continue;
            };
            let mut doubt = told(index, at, points, &suspect, range, job);
            doubt.at_end = suspect.index == 0 || suspect.index + 1 == run.len();
            out.push(doubt);
        }
    }
    out
}

/// First and last point of every run that is judged by itself: between knuckles, and
/// to either side of a stern that no point carries, where the line is a guess.
fn runs(chain: &Chain) -> Vec<(usize, usize)> {
    let guess = guessed(chain);
    let mut out = Vec::new();
    for w in super::base::corners(chain).windows(2) {
        match guess {
            Some(g) if w[0] <= g && g < w[1] => out.extend([(w[0], g), (g + 1, w[1])]),
            _ => out.push((w[0], w[1])),
        }
    }
    out
}

/// What a figure can be, least and most in the boat's own coordinates, mm: on its own
/// side of the centreline, and no further beyond the run's other points than two
/// neighbours of it lie apart. `None` where its neighbours do not agree with any such
/// figure: then they say nothing of it.
fn possible(run: &[Point], suspect: &Suspect) -> Option<[f64; 2]> {
    let others = || (run.iter().zip(0..)).filter(|(_, k)| *k != suspect.index);
    let apart = |w: &[Point]| w[0].at.distance(w[1].at);
    let step = (run.windows(2).zip(0..))
        .filter(|(_, k)| *k != suspect.index && k + 1 != suspect.index)
        .fold(0.0, |most: f64, (w, _)| most.max(apart(w)));
    let (mut least, mut most) = others()
        .map(|(p, _)| axis_of(p, suspect.axis))
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| {
            (a.min(v), b.max(v))
        });
    (least, most) = (least - step, most + step);
    if suspect.axis == 1 {
        match run[suspect.index].side {
            Side::Port => least = least.max(0.0),
            Side::Starboard => most = most.min(0.0),
        }
    }
    let reach = AGREES * suspect.spread;
    let some = least <= most && suspect.likely >= least - reach && suspect.likely <= most + reach;
    some.then_some([least, most])
}

/// Form of the table that a point was booked in.
fn form(point: &Point, job: &Job) -> TableForm {
    let file = job.survey.files.iter().find(|f| f.path == point.file);
    file.map_or(TableForm::Points, |f| f.form)
}

/// A figure as it was booked, from its place on the boat.
fn as_booked(mm: f64, figure: Figure, side: Side, job: &Job) -> f64 {
    let turned = match figure {
        Figure::Station => job.survey.stations_aft,
        Figure::HalfBreadth => side == Side::Starboard,
        _ => false,
    };
    // Nought less nought is nought, not minus nought.
    if turned { 0.0 - mm } else { mm }
}

fn told(
    chain: usize,
    index: usize,
    points: &[Point],
    suspect: &Suspect,
    range: [f64; 2],
    job: &Job,
) -> Doubt {
    let point = &points[index];
    let offsets = form(point, job) == TableForm::Offsets;
    let figure = match (suspect.axis, offsets) {
        (0, true) => Figure::Station,
        (1, true) => Figure::HalfBreadth,
        (2, true) => Figure::Height,
        (0, false) => Figure::X,
        (1, false) => Figure::Y,
        _ => Figure::Z,
    };
    let files = &job.survey.files;
    let own = files.iter().find(|f| f.path == point.file);
    let unit = own.and_then(|f| f.unit).unwrap_or(job.survey.unit);
    let here = as_booked(suspect.booked, figure, point.side, job);
    let turned = |mm: f64| as_booked(mm, figure, point.side, job);
    let likely = turned(suspect.likely.clamp(range[0], range[1]));
    let near = [index.checked_sub(1), Some(index + 1)].map(|k| {
        let p = points.get(k?)?;
        (p.side == point.side).then(|| as_booked(axis_of(p, suspect.axis), figure, p.side, job))
    });
    let slip = slip::explain(
        &slip::Figure {
            booked: here,
            likely,
            within: AGREES * suspect.spread,
            range: [turned(range[0]), turned(range[1])],
            near,
        },
        unit,
    );
    let likely_text = booked(slip.as_ref().map_or(likely, |s| s.meant), unit);
    let likely = slip.as_ref().map_or(likely, |s| s.meant);
    let sure = match suspect.score {
        g if suspect.may_be_knuckle || g < 0.5 * HUNDRED_TO_ONE => Sure::Perhaps,
        g if g > 2.0 * HUNDRED_TO_ONE => Sure::NearlyCertain,
        g if g > HUNDRED_TO_ONE || slip.is_some() => Sure::Likely,
        _ => Sure::Perhaps,
    };
    Doubt {
        chain,
        index,
        place: super::no_line::place_of(point).field(figure.name()),
        name: point.name.clone(),
        side: point.side,
        figure,
        booked: here,
        booked_text: booked(here, unit),
        out: here - likely,
        likely,
        likely_text,
        spread: suspect.spread,
        slip: slip.map(|s| s.words),
        at_end: false,
        may_be_knuckle: suspect.may_be_knuckle,
        sure,
    }
}

fn axis_of(p: &Point, axis: usize) -> f64 {
    match axis {
        0 => p.at.x,
        1 => p.at.y,
        _ => p.at.z,
    }
}

impl Doubt {
    /// One sentence for people, to follow its place; lengths as the job shows them.
    #[must_use]
    pub fn sentence(&self, shown: Show) -> String {
        let figure = self.figure.name().replace('_', "-");
        let way = if self.out > 0.0 { "more" } else { "less" };
        let out = show(self.out.abs(), shown);
        let mut text = format!(
            "{figure} {} stands out by {out}, {way} than its neighbours say; likely {}",
            self.booked_text, self.likely_text
        );
        if let Some(slip) = &self.slip {
            text.push_str(&format!(" ({slip})"));
        }
        if self.may_be_knuckle {
            text.push_str("; or a corner here that is not marked");
        }
        if self.at_end {
            text.push_str("; at the end of a run");
        }
        text.push_str(&format!("; {}", self.sure.name()));
        text
    }

    /// As a fault, where nothing can be faired before it is settled.
    #[must_use]
    pub fn fault(&self, shown: Show) -> Fault {
        Fault::new(
            Kind::Survey,
            self.place.clone(),
            self.sentence(shown),
            "measure it again, or settle it with a [[survey.verdict]] in the job",
        )
    }
}
