//! How the sheets are cut, and what is left of them: text and table.

use super::lists::{fine, fine_unit, head};
use super::table::Table;
use super::{Input, csv_text, sheet_name};
use crate::cut::{Figures, Plan, Rules};
use crate::fault::Fault;
use crate::geom::Region;
use crate::job::{CommonLines, Paths};
use crate::length::{self, Show, number};
use crate::quantity;

/// How a sheet is cut, and what is left of it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SheetCut {
    /// Cuts in order.
    pub plan: Plan,
    /// Pieces worth keeping, in the sheet's frame, the largest first.
    pub remnants: Vec<Region>,
}

/// Name of a remnant, the stem of its file.
#[must_use]
pub fn remnant_name(sheet: &str, index: usize) -> String {
    format!("{sheet}-{}", index + 1)
}

/// What the cutting of all sheets comes to.
#[must_use]
pub fn total(cuts: &[SheetCut]) -> Figures {
    cuts.iter()
        .map(|c| c.plan.figures)
        .fold(Figures::none(), Figures::and)
}

/// What the paths show, as the job says it.
pub(super) fn paths_word(paths: Paths) -> &'static str {
    match paths {
        Paths::Net => "net",
        Paths::Compensated => "compensated",
    }
}

/// Hours and minutes as people read them.
pub(super) fn time(seconds: Option<f64>) -> String {
    let Some(s) = seconds else {
        return "-".to_owned();
    };
    let minutes = (s / 60.0).round();
    if minutes < 60.0 {
        return format!("{} min", number(s / 60.0, 1));
    }
    let hours = (minutes / 60.0).floor();
    format!(
        "{} h {} min",
        number(hours, 0),
        number(minutes - 60.0 * hours, 0)
    )
}

/// The section of `yield.txt` on cutting time and order.
pub(super) fn cutting_text(input: &Input<'_>) -> String {
    let job = input.job;
    let (unit, per) = match job.show {
        Show::Mm => ("m", 1000.0),
        Show::FeetInches => ("ft", 304.8),
    };
    let long = |mm: f64| number(mm / per, 1);
    let common = job.cutting.common_lines != CommonLines::None;
    let mut columns = vec![
        ("sheet", ""),
        ("pierces", ""),
        ("cut", unit),
        ("travel", unit),
        ("as listed", unit),
        ("time", ""),
        ("holes", "to drill"),
        ("holes", "too small"),
        ("tabs", ""),
    ];
    if common {
        columns.push(("common", "lines"));
    }
    let mut table = Table::new(&columns);
    let mut row = |name: &str, f: &Figures| {
        let mut cells = vec![
            name.to_owned(),
            f.pierces.to_string(),
            long(f.cut_length),
            long(f.travel),
            long(f.travel_as_listed),
            time(f.time_s),
            f.drilled.to_string(),
            f.small_holes.to_string(),
            f.tabs.to_string(),
        ];
        if common {
            cells.push(f.common_lines.to_string());
        }
        table.row(cells);
    };
    for (i, cut) in input.cuts.iter().enumerate() {
        row(&sheet_name(i + 1), &cut.plan.figures);
    }
    row("in all", &total(input.cuts));
    let rules = Rules::of(&job.cutting, job.base.thickness);
    let figure = |v: Option<f64>, unit: &str| match v {
        Some(v) => format!("{} {unit}", length::trimmed(v, 2)),
        None => "not known".to_owned(),
    };
    let mut out = table.text();
    if rules.speed.or(rules.pierce_s).or(rules.travel).is_none() {
        out.push_str(&format!(
            "  Profiles {}. Nothing is known of the process `{}`: for times, give speed_mm_min,\n  pierce_s and travel_mm_min under [cutting].\n",
            paths_word(job.cutting.paths),
            job.cutting.process,
        ));
        return out;
    }
    out.push_str(&format!(
        "  Profiles {}. In plate of {}: cut at {}, pierce {}, travel at\n  {}; holes too small for the process: under {}. What the job does not\n  give is from memory: time a sheet of your own. The table's operator decides.\n",
        paths_word(job.cutting.paths),
        quantity::thickness(job.base.thickness, job.show),
        figure(rules.speed, "mm/min"),
        figure(rules.pierce_s, "s"),
        figure(rules.travel, "mm/min"),
        quantity::thickness(rules.smallest_hole, job.show),
    ));
    out
}

/// The section of `yield.txt` on what is worth keeping; empty where nothing is.
pub(super) fn remnants_text(input: &Input<'_>) -> String {
    let show = input.job.show;
    let mut table = Table::new(&[
        ("remnant", ""),
        ("box", ""),
        ("area", quantity::area_unit(show)),
    ]);
    let mut any = false;
    for (i, cut) in input.cuts.iter().enumerate() {
        for (k, region) in cut.remnants.iter().enumerate() {
            any = true;
            let (lo, hi) = region.bounds();
            table.row(vec![
                remnant_name(&sheet_name(i + 1), k),
                format!(
                    "{} x {}",
                    length::show(hi.x - lo.x, show),
                    length::show(hi.y - lo.y, show)
                ),
                number(quantity::area_in(region.area(), show), 3),
            ]);
        }
    }
    if !any {
        return String::new();
    }
    format!(
        "\nOFFCUTS TO KEEP\n{}  Drawn in remnants/, to be named in a later job: [[sheet]] remnant = \"FILE.dxf\".\n",
        table.text()
    )
}

/// `cutting-order.csv`: every cut in order, then the holes to drill; places
/// on the sheet from its lower left corner, in mm or inches.
///
/// # Errors
/// The table could not be written.
pub fn cutting_order(input: &Input<'_>) -> Result<String, Fault> {
    let show = input.job.show;
    let unit = fine_unit(show);
    let header = head(&[
        ("sheet", ""),
        ("order", ""),
        ("part", ""),
        ("profile", ""),
        ("pierce_x", unit),
        ("pierce_y", unit),
        ("cut_length", unit),
        ("lead", ""),
        ("drill_diameter", unit),
    ]);
    let mut rows: Vec<Vec<String>> = Vec::new();
    let sheets = input
        .nests
        .iter()
        .flat_map(|g| g.nest.sheets.iter().map(move |s| (g, s)));
    for (i, ((group, nested), cut)) in sheets.zip(input.cuts).enumerate() {
        let part = |placed: usize| {
            let index = nested
                .placed
                .get(placed)
                .and_then(|p| group.parts.get(p.part));
            index
                .and_then(|&i| input.parts.get(i))
                .map_or_else(String::new, |p| p.name.clone())
        };
        let mut order = 0;
        let mut row = |placed: usize, profile: String, at: crate::geom::Vec2, rest: [String; 3]| {
            order += 1;
            let mut cells = vec![
                sheet_name(i + 1),
                order.to_string(),
                part(placed),
                profile,
                fine(at.x, show),
                fine(at.y, show),
            ];
            cells.extend(rest);
            rows.push(cells);
        };
        for step in &cut.plan.steps {
            let profile = |k: usize| {
                let with = step.with.iter().map(|&w| part(w)).collect::<Vec<_>>();
                let whole = match step.hole {
                    Some(h) => format!("hole {}", h + 1),
                    None if step.common => format!("common line with {}", with.join(", ")),
                    None if with.is_empty() => "outer".to_owned(),
                    None => format!("outer with {}", with.join(", ")),
                };
                if step.cuts.len() > 1 {
                    format!("{whole}, cut {} of {}", k + 1, step.cuts.len())
                } else {
                    whole
                }
            };
            for (k, c) in step.cuts.iter().enumerate() {
                let lead = if c.lead_in.is_empty() {
                    "none"
                } else {
                    "lead-in"
                };
                let rest = [fine(c.length(), show), lead.to_owned(), String::new()];
                row(step.placed, profile(k), c.pierce(), rest);
            }
        }
        for d in &cut.plan.drills {
            let rest = [String::new(), String::new(), fine(d.diameter, show)];
            row(
                d.placed,
                format!("drill hole {}", d.hole + 1),
                d.centre,
                rest,
            );
        }
    }
    csv_text("cutting-order.csv", &header, &rows)
}
