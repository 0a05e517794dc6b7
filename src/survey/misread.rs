//! A survey that is misread as a whole: in another unit or notation, counted
//! the other way, or with its columns exchanged. Told once, before what
//! follows from it.
//!
//! The limits of a boat here are common practice, no source.

use super::columns::Columns;
use super::lines::table;
use super::model::{Note, Point};
use super::order::{Portion, side_in_order};
use super::passes::Near;
use super::taken::Context;
use crate::fault::{Fault, Kind, Place};
use crate::job::{Stern, SurveyFile, SurveyJob, TableForm};
use crate::length::{Show, Unit, booked, parse_cell, show};

/// A deck edge is this long, mm: shorter or longer is looked at again.
const LONG: [f64; 2] = [2_000.0, 150_000.0];
/// No deck edge is shorter than this, mm, or longer.
const NEVER: [f64; 2] = [100.0, 500_000.0];
/// A unit that makes the edge this long, mm, is likely the one that was meant.
const USUAL: [f64; 2] = [3_000.0, 80_000.0];

/// Least figures that show a notation: two rows.
const LEAST_FIGURES: usize = 6;
/// Of ten figures this many read in the notation that was meant: the others are slips.
const OF_TEN: usize = 9;

/// A bow is narrower than this share of the greatest half-breadth, and wider than
/// the stern by less than [`FINER`]: both at once are a stern at the bow.
const WIDE_BOW: f64 = 0.5;
/// See [`WIDE_BOW`].
const FINER: f64 = 2.0;

/// An edge is narrower amidships than the mean of its ends, and higher, by less than
/// these shares of its length: both at once are heights in the place of half-breadths.
const WAIST: f64 = 0.002;
/// See [`WAIST`].
const HUMP: f64 = 0.02;

/// A table whose figures are of another notation than the job says.
pub(super) struct Misread<'a> {
    file: &'a SurveyFile,
    line: usize,
    example: String,
    stated: Unit,
    /// Units that read it.
    others: Vec<Unit>,
    /// Figures that they read, of how many.
    read: [usize; 2],
    /// True where the figures read as stated, and are longer than any boat.
    long: bool,
}

/// From the least to the greatest.
fn reach(values: impl Iterator<Item = f64>) -> f64 {
    let (least, most) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| {
        (a.min(v), b.max(v))
    });
    most - least
}

fn within(range: [f64; 2], mm: f64) -> bool {
    range[0] <= mm && mm <= range[1]
}

/// The notation of a table of which no figure reads as stated, or whose places
/// along the boat lie beyond what a length can be; `None` where it may be right.
pub(super) fn misread<'a>(context: &Context<'a>, text: &str) -> Option<Misread<'a>> {
    let (header, rows) = table(text, &context.file.path, "", &mut Vec::new())?;
    let columns = Columns::read(context.file, &header, &mut Vec::new());
    let needed = match context.file.form {
        TableForm::Offsets => ["station", "half_breadth", "height"],
        _ => ["x", "y", "z"],
    };
    let at = needed.map(|n| columns.index(n));
    let column = |k: usize| {
        rows.iter()
            .filter_map(move |l| Some((l, l.cells.get(at[k]?)?)))
            // Nought reads as nought in any.
            .filter(|(_, c)| c.text.contains(|c: char| ('1'..='9').contains(&c)))
    };
    let stated = context.unit();
    let all = || (0..3).flat_map(column);
    let count = all().count();
    if count < LEAST_FIGURES {
        return None;
    }
    let none = all().all(|(_, c)| parse_cell(&c.text, stated).is_err());
    let beyond = |c: &str| parse_cell(c, stated).is_err_and(|e| e.kind == Kind::Range);
    let far = column(0).filter(|(_, c)| beyond(&c.text)).count();
    let long = far * 2 > column(0).count();
    if !none && !long {
        return None;
    }
    let reads = |unit: Unit| {
        all()
            .filter(|(_, c)| parse_cell(&c.text, unit).is_ok())
            .count()
    };
    let good: Vec<(Unit, usize)> = (Unit::NAMES.iter().map(|(_, u)| *u))
        .filter(|u| *u != stated)
        .map(|u| (u, reads(u)))
        .filter(|(_, n)| n * 10 >= count * OF_TEN)
        .collect();
    let usual = |unit: Unit| {
        let mm = column(0).filter_map(|(_, c)| parse_cell(&c.text, unit).ok());
        within(LONG, reach(mm))
    };
    let mut others: Vec<Unit> = good.iter().map(|(u, _)| *u).collect();
    if others.iter().any(|u| usual(*u)) {
        others.retain(|u| usual(*u));
    }
    let (line, cell) = all().next()?;
    let read = good
        .iter()
        .find(|(u, _)| *u == *others.first().unwrap_or(&stated))?;
    Some(Misread {
        file: context.file,
        line: line.number,
        example: cell.text.clone(),
        stated,
        read: [read.1, count],
        others,
        long: long && !none,
    })
}

/// One fault for all tables that are misread alike.
pub(super) fn misread_faults(all: &[Misread<'_>]) -> Vec<Fault> {
    let mut left: Vec<&Misread<'_>> = all.iter().collect();
    let mut out = Vec::new();
    while let Some(first) = left.first().copied() {
        let alike = |m: &&Misread<'_>| {
            let common = m.others.iter().any(|u| first.others.contains(u));
            common && m.stated == first.stated && m.file.unit == first.file.unit
        };
        let (same, rest): (Vec<_>, Vec<_>) = left.into_iter().partition(alike);
        let in_all = |u: &&Unit| same.iter().all(|m| m.others.contains(u));
        let mut units: Vec<&Unit> = first.others.iter().filter(in_all).collect();
        if units.is_empty() {
            units = first.others.iter().collect();
        }
        let units: Vec<&str> = units.iter().map(|u| u.name()).collect();
        let files: Vec<&str> = same.iter().map(|m| m.file.path.as_str()).collect();
        let read: usize = same.iter().map(|m| m.read[0]).sum();
        let count: usize = same.iter().map(|m| m.read[1]).sum();
        let figures = if read == count {
            "every figure reads".to_owned()
        } else {
            format!("{read} of {count} figures read")
        };
        let (units, stated) = (units.join(" or "), first.stated.name());
        let files = files.join(" and ");
        let none = if first.long {
            format!("as which most points of {files} lie beyond 1 km")
        } else {
            format!("and no figure of {files} reads as that")
        };
        let example = &first.example;
        let what =
            format!("the job says {stated}, {none}; {figures} as {units} (such as {example})");
        let quoted = units.replace(" or ", "\" or \"");
        let mend = match first.file.unit {
            None => format!("set survey.unit = \"{quoted}\" in the job"),
            Some(_) => format!("set unit = \"{quoted}\" in this [[survey.file]] of the job"),
        };
        let place = Place::file(first.file.path.as_str()).line(first.line);
        out.push(Fault::new(Kind::Unit, place, what, mend));
        left = rest;
    }
    out
}

/// What looks wrong of the survey as a whole.
pub(super) struct Odd {
    pub(super) fault: Fault,
    /// True where nothing can come of it.
    pub(super) certain: bool,
}

impl Odd {
    pub(super) fn note(self) -> Note {
        let Fault { what, mend, .. } = self.fault;
        let then = if what.ends_with('?') { " If" } else { "; if" };
        Note {
            place: self.fault.place,
            text: format!("{what}{then} so, {mend}"),
        }
    }
}

/// A width in the notation it was booked in, where that is a loftsman's.
fn booked_wide(mm: f64, unit: Unit, shown: Show) -> String {
    match unit.mm() {
        None => booked(mm, unit),
        Some(_) => show(mm, shown),
    }
}

/// An edge that is too short or too long for a boat, and another unit makes a
/// usual one of it. Nothing is said of files in different units.
pub(super) fn size(portions: &[&Portion], job: &SurveyJob) -> Option<Odd> {
    let points = || portions.iter().flat_map(|p| &p.points);
    let first = points().next()?;
    let long = reach(points().map(|p| p.at.x)).max(reach(points().map(|p| p.at.y)));
    let unit = job.files.first().map_or(job.unit, |f| job.unit_of(f));
    let alike = job.files.iter().all(|f| job.unit_of(f) == unit);
    if within(LONG, long) || !alike || points().count() < 3 {
        return None;
    }
    let per = unit.mm()?;
    let others: Vec<String> = (Unit::NAMES.iter())
        .filter_map(|(name, u)| Some((*name, long / per * u.mm()?)))
        .filter(|(_, mm)| within(USUAL, *mm))
        .map(|(name, mm)| format!("{name} ({} long)", show(mm, job.show)))
        .collect();
    let what = format!(
        "the boat would be {} long: the figures look like {}, the job says {}",
        show(long, job.show),
        others.join(" or "),
        unit.name()
    );
    let mend = "correct survey.unit, or the unit of the [[survey.file]], in the job";
    (!others.is_empty()).then(|| Odd {
        fault: Fault {
            kind: Kind::Unit,
            ..first.fault(what, mend)
        },
        certain: !within(NEVER, long),
    })
}

/// Rows whose stations do not run one way, while another column does and reaches
/// further: the columns' names are exchanged.
pub(super) fn columns(portions: &[&Portion]) -> Option<Odd> {
    let offsets = portions.iter().filter(|p| p.form == TableForm::Offsets);
    offsets.filter(|p| p.points.len() > 3).find_map(|p| {
        let by = |k: usize| -> Vec<f64> {
            let figure = |p: &Point| [p.at.x, p.at.y.abs(), p.at.z][k];
            p.points.iter().map(figure).collect()
        };
        let reach = |v: &[f64]| reach(v.iter().copied());
        let one_way = |v: &[f64]| {
            v.windows(2).all(|w| w[0] < w[1]) || v.windows(2).all(|w| w[0] > w[1])
        };
        let stations = by(0);
        let taken = [(1, "half_breadth"), (2, "height")];
        let (_, other) = taken.into_iter().find(|(k, _)| {
            let v = by(*k);
            one_way(&v) && !one_way(&stations) && reach(&v) > 2.0 * reach(&stations)
        })?;
        let what = format!(
            "`station` goes back and forth and `{other}` runs one way, over more than twice as much: are the two columns exchanged?"
        );
        let mend = format!("exchange the names `station` and `{other}` in the header");
        Some(Odd {
            fault: (p.points.first()?).fault_of(Kind::Survey, "station", what, mend),
            certain: true,
        })
    })
}

/// Both sides with the stations of offset tables counted the other way; `None` where no
/// other file lies beside them, or the boat would be longer so.
pub(super) fn other_way(sides: [&[Portion]; 2]) -> Option<[Vec<Portion>; 2]> {
    let offsets = |p: &&Portion| p.form == TableForm::Offsets;
    let all = || sides.iter().flat_map(|s| s.iter());
    if all().all(|p| offsets(&p)) || !all().any(|p| offsets(&p)) {
        return None;
    }
    let turned = sides.map(|side| {
        let mut side = side.to_vec();
        let booked = side.iter_mut().filter(|p| p.form == TableForm::Offsets);
        for p in booked.flat_map(|p| &mut p.points) {
            p.at.x = -p.at.x;
        }
        side
    });
    let long = |sides: [&[Portion]; 2]| {
        let points = sides.into_iter().flatten().flat_map(|p| &p.points);
        reach(points.map(|p| p.at.x))
    };
    (long([&turned[0], &turned[1]]) < long(sides)).then_some(turned)
}

/// Files that lie beside each other once the stations of [`other_way`] are turned.
pub(super) fn agree_turned(
    turned: [Vec<Portion>; 2],
    near: Near,
    job: &SurveyJob,
) -> Option<Fault> {
    let offsets = |p: &&Portion| p.form == TableForm::Offsets;
    let first = turned.iter().flatten().find(offsets)?;
    let first = first.points.first()?.clone();
    let mut faults = Vec::new();
    for side in turned {
        side_in_order(side, near, &mut faults, &mut Vec::new());
    }
    let (way, other) = if job.stations_aft {
        ("aft", "forward")
    } else {
        ("forward", "aft")
    };
    let what = format!(
        "with stations counted {way} the offset tables lie away from the other files; counted {other}, all agree"
    );
    let mend = format!("set survey.stations = \"{other}\"");
    let fault = || first.fault_of(Kind::Survey, "station", what, mend);
    faults.is_empty().then(fault)
}

/// A side, from forward aft, that looks counted the other way, or with heights in
/// the place of half-breadths.
pub(super) fn shape(side: &[Point], job: &SurveyJob) -> Option<Odd> {
    let fore = side.first()?;
    let file = job.files.iter().find(|f| f.path == fore.file)?;
    let offsets = match file.form {
        TableForm::Offsets => true,
        TableForm::Points => false,
        // Their axes are an instrument's or a draughtsman's.
        TableForm::List | TableForm::Dxf => return None,
    };
    let unit = job.unit_of(file);
    exchanged(side, offsets, job.show).or_else(|| turned(side, offsets, unit, job))
}

/// Narrow and high amidships: heights and half-breadths in each other's place.
fn exchanged(side: &[Point], offsets: bool, shown: Show) -> Option<Odd> {
    let (fore, aft) = (side.first()?, side.last()?);
    let third = side.len() / 3;
    let middle = side
        .get(third..side.len() - third)
        .filter(|m| third > 0 && !m.is_empty())?;
    let bulge = |v: &dyn Fn(&Point) -> f64| {
        let mean = middle.iter().map(v).sum::<f64>() / middle.len() as f64;
        mean - 0.5 * (v(fore) + v(aft))
    };
    let long = fore.at.plan().distance(aft.at.plan());
    let (wide, high) = (bulge(&|p| p.at.y.abs()), bulge(&|p| p.at.z));
    if wide > -WAIST * long || high < HUMP * long {
        return None;
    }
    let [y, z] = if offsets {
        ["half_breadth", "height"]
    } else {
        ["y", "z"]
    };
    let what = format!(
        "{} is narrower amidships than at its ends by {}, and higher by {}: are `{y}` and `{z}` exchanged?",
        fore.side.name(),
        show(-wide, shown),
        show(high, shown)
    );
    let file = &fore.file;
    let mend = format!("exchange the names `{y}` and `{z}` in the header of {file}");
    Some(Odd {
        fault: fore.fault_of(Kind::Survey, y, what, mend),
        certain: false,
    })
}

/// Wide forward and fine aft: counted the other way.
fn turned(side: &[Point], offsets: bool, unit: Unit, job: &SurveyJob) -> Option<Odd> {
    let (fore, aft) = (side.first()?, side.last()?);
    let wide = |p: &Point| p.at.y.abs();
    let beam = side.iter().map(wide).fold(0.0, f64::max);
    let round = job.stern == Stern::Round && !offsets;
    if round || wide(fore) <= WIDE_BOW * beam || wide(fore) < FINER * wide(aft) {
        return None;
    }
    let text = |p: &Point| {
        let width = booked_wide(wide(p), unit, job.show);
        format!("{width} wide at {}", p.name)
    };
    let (way, mend) = match (offsets, job.stations_aft) {
        (true, false) => ("do stations count aft?", "set survey.stations = \"aft\""),
        (true, true) => (
            "do stations count forward?",
            "set survey.stations = \"forward\"",
        ),
        (false, _) => ("does x count aft?", "turn the sign of x: it counts forward"),
    };
    let what = format!(
        "the bow end of {} is {} and the stern end {}: {way}",
        fore.side.name(),
        text(fore),
        text(aft)
    );
    let field = if offsets { "station" } else { "x" };
    Some(Odd {
        fault: fore.fault_of(Kind::Survey, field, what, mend),
        certain: false,
    })
}
