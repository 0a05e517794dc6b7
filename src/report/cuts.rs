//! How the sheets are cut, and what is left of them: text and table.

use super::lists::{fine, fine_unit, head};
use super::table::{Table, wrapped};
use super::{Input, csv_text, sheet_name};
use crate::cut::{Figures, Plan, Rules};
use crate::fault::Fault;
use crate::geom::Region;
use crate::job::{Job, Paths, SmallHoles};
use crate::length::{self, Show, number};
use crate::quantity;
use crate::stock::same_thickness;

/// Letters in a line of running text.
const LINE: usize = 88;

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

/// The sections of `yield.txt` on cutting, drilling and marking.
pub(super) fn cutting_text(input: &Input<'_>) -> String {
    format!(
        "\nORDER AND TIME OF CUTTING\n{}\nDRILLING AND MARKING\n{}",
        cut_text(input),
        bench_text(input)
    )
}

/// A table with a row a sheet and one of all.
fn by_sheet(
    input: &Input<'_>,
    columns: &[(&str, &str)],
    cells: &dyn Fn(&Figures) -> Vec<String>,
) -> String {
    let mut table = Table::new(columns);
    let mut row = |name: String, f: &Figures| {
        let mut row = vec![name];
        row.extend(cells(f));
        table.row(row);
    };
    for (i, cut) in input.cuts.iter().enumerate() {
        row(sheet_name(i + 1), &cut.plan.figures);
    }
    row("in all".to_owned(), &total(input.cuts));
    table.text()
}

/// A long length's unit, and how many mm it has.
fn long(show: Show) -> (&'static str, f64) {
    match show {
        Show::Mm => ("m", 1000.0),
        Show::FeetInches => ("ft", 304.8),
    }
}

fn cut_text(input: &Input<'_>) -> String {
    let job = input.job;
    let (unit, per) = long(job.show);
    let columns = [
        ("sheet", ""),
        ("pierces", ""),
        ("cut", unit),
        ("kerf loss", quantity::area_unit(job.show)),
        ("travel", unit),
        ("as listed", unit),
        ("time", ""),
        ("holes", "too small"),
        ("tabs", ""),
    ];
    let mut out = by_sheet(input, &columns, &|f| {
        vec![
            f.pierces.to_string(),
            number(f.cut_length / per, 1),
            number(quantity::area_in(f.kerf_loss, job.show), 3),
            number(f.travel / per, 1),
            number(f.travel_as_listed / per, 1),
            time(f.time_s),
            f.small_holes.to_string(),
            f.tabs.to_string(),
        ]
    });
    out.push_str(&format!(
        "  Profiles {}, as the sheet files hold them.\n",
        paths_word(job.cutting.paths)
    ));
    out.push_str(&process_text(input));
    out
}

/// The process's figures in every thickness of the sheets.
fn process_text(input: &Input<'_>) -> String {
    let (job, show) = (input.job, input.job.show);
    let known_or = |v: Option<f64>, told: &dyn Fn(f64) -> String| {
        v.map_or_else(|| "not known".to_owned(), told)
    };
    let speed = |v| known_or(v, &|v| quantity::speed(v, show));
    let mut table = Table::new(&[
        ("in plate of", ""),
        ("cut at", ""),
        ("pierce", ""),
        ("travel at", ""),
        ("mark at", ""),
        ("holes too", "small under"),
    ]);
    let mut known = false;
    for thickness in thicknesses(input) {
        let rules = Rules::of(&job.cutting, thickness);
        known |= rules.speed.or(rules.pierce_s).or(rules.travel).is_some();
        table.row(vec![
            quantity::thickness(thickness, show),
            speed(rules.speed),
            known_or(rules.pierce_s, &|s| format!("{} s", length::trimmed(s, 2))),
            speed(rules.travel),
            speed(rules.marking),
            match rules.smallest_hole {
                d if d > 0.0 => quantity::thickness(d, show),
                _ => "not known".to_owned(),
            },
        ]);
    }
    if !known {
        let text = format!(
            "Nothing is known of the process `{}`: for times, give speed_mm_min, pierce_s, \
             travel_mm_min and marking_mm_min under [cutting].",
            job.cutting.process
        );
        return format!("  {}\n", wrapped(&text, LINE, "  "));
    }
    format!(
        "{}  What the job does not give is from memory: time a sheet of your own. The table's\n  \
         operator decides.\n",
        table.text()
    )
}

/// Thicknesses of the sheets that are cut, mm, each once, in their order.
fn thicknesses(input: &Input<'_>) -> Vec<f64> {
    let mut out: Vec<f64> = Vec::new();
    for group in input.nests {
        for sheet in &group.nest.sheets {
            if let Some(stock) = group.job.sheets.get(sheet.stock)
                && !out.iter().any(|&t| same_thickness(t, stock.thickness))
            {
                out.push(stock.thickness);
            }
        }
    }
    out
}

fn bench_text(input: &Input<'_>) -> String {
    let job = input.job;
    let (unit, per) = long(job.show);
    let columns = [
        ("sheet", ""),
        ("holes", "to drill"),
        ("time", ""),
        ("strokes", "to mark"),
        ("marking", unit),
        ("time", ""),
    ];
    let mut out = by_sheet(input, &columns, &|f| {
        vec![
            f.drilled.to_string(),
            time(Some(f.drill_time_s)),
            f.mark_strokes.to_string(),
            number(f.mark_length / per, 1),
            time(f.mark_time_s),
        ]
    });
    let drilled = if job.cutting.small_holes == SmallHoles::Drill {
        format!(
            "Holes are drilled after cutting, {} s each. ",
            length::trimmed(job.cutting.drill_s, 1)
        )
    } else {
        String::new()
    };
    let text = format!(
        "{drilled}Marks are lines, letters and the crosses of holes to drill, with the way between \
         them; neither time is in the time of cutting."
    );
    out.push_str(&format!("  {}\n", wrapped(&text, LINE, "  ")));
    out
}

/// Warns once of holes that are cut smaller than the process cuts well; in
/// every thickness, with its own limit.
#[must_use]
pub fn small_holes_warning(job: &Job, plans: &[(f64, &Plan)]) -> Option<String> {
    let count: usize = plans.iter().map(|(_, p)| p.figures.small_holes).sum();
    if count == 0 {
        return None;
    }
    let mut limits: Vec<(f64, String)> = Vec::new();
    for (thickness, plan) in plans {
        if plan.figures.small_holes > 0
            && !limits.iter().any(|(t, _)| same_thickness(*t, *thickness))
        {
            let least = Rules::of(&job.cutting, *thickness).smallest_hole;
            let told = format!(
                "{} in plate of {}",
                quantity::thickness(least, job.show),
                quantity::thickness(*thickness, job.show)
            );
            limits.push((*thickness, told));
        }
    }
    let limits: Vec<String> = limits.into_iter().map(|(_, told)| told).collect();
    let (holes, are) = if count == 1 {
        ("hole", "is")
    } else {
        ("holes", "are")
    };
    Some(format!(
        "{count} {holes} {are} cut by {} below its smallest hole of {}: set cutting.small_holes = \
         \"drill\", or cutting.smallest_hole to what the table cuts well",
        job.cutting.process,
        limits.join(" and ")
    ))
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
                let whole = match step.hole {
                    Some(h) => format!("hole {}", h + 1),
                    None => "outer".to_owned(),
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
