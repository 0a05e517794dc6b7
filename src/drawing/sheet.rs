//! A nested sheet: stock edge, parts, and the notes above it.

use std::collections::BTreeMap;

use super::cuts::put_cuts;
use super::model::{Drawing, LETTER_ADVANCE, Layer, Shape};
use super::part::{put_marks, put_part, upright};
use crate::cut::Plan;
use crate::dxf::{ascii, wrapped};
use crate::geom::{Outline, Placement, Vec2, vec2};
use crate::job::{Job, Paths, Sheet};
use crate::length;
use crate::nest::NestedSheet;
use crate::part::Part;
use crate::quantity;

/// What a sheet's drawing shows.
#[derive(Debug, Clone, Copy)]
pub struct SheetView<'a> {
    /// The job.
    pub job: &'a Job,
    /// Name: the file's stem, such as `sheet-1`.
    pub name: &'a str,
    /// Which sheet this is, from 1, and how many there are.
    pub number: (usize, usize),
    /// The stock.
    pub stock: &'a Sheet,
    /// What lies on it; its part indices point into `parts`.
    pub nested: &'a NestedSheet,
    /// Parts of the nest, in the nest's order.
    pub parts: &'a [&'a Part],
    /// Masses of those parts, kg, in the same order.
    pub masses_kg: &'a [f64],
    /// How it is cut; `None` or a plain one: the parts' own profiles.
    pub cut: Option<&'a Plan>,
}

/// Height of the notes over the sheet's length: columns of [`COLUMN`] letters
/// then fill the width. Larger and three columns run past the sheet's end.
const NOTE_HEIGHT: f64 = 1.0 / 120.0;
/// Least and greatest height of the notes, mm: legible on a small plate, and
/// no taller than a hand on a large one.
const NOTE_RANGE: (f64, f64) = (8.0, 30.0);
/// Letters in a column of notes.
const COLUMN: usize = 52;
/// Line spacing over the height of capitals.
const LINE: f64 = 1.8;

/// A nested sheet, its lower left corner at the origin, nothing negative.
/// The notes stand above its upper edge, so that they never lie on a part.
#[must_use]
pub fn sheet_drawing(view: &SheetView<'_>) -> Drawing {
    let mut drawing = Drawing {
        name: view.name.to_owned(),
        title: ascii(&format!(
            "{}, sheet {} of {}: {}, {} thick, {}",
            view.job.name,
            view.number.0,
            view.number.1,
            view.stock.name,
            quantity::thickness(view.stock.thickness, view.job.show),
            view.stock.alloy,
        )),
        items: Vec::new(),
    };
    put_stock(&mut drawing, view.stock);
    let placed = || {
        (view.nested.placed.iter())
            .filter_map(|p| view.parts.get(p.part).map(|&part| (part, p.placement)))
    };
    match view.cut {
        Some(plan) => {
            for (part, placement) in placed() {
                put_marks(&mut drawing, part, placement);
            }
            let joined = (view.job.cutting.leads).is_some_and(|l| l.joined);
            put_cuts(&mut drawing, plan, view.nested, view.parts, joined);
        }
        None => placed().for_each(|(part, at)| put_part(&mut drawing, part, at)),
    }
    for (part, placement) in placed() {
        put_caption(&mut drawing, part, placement, view.stock.length);
    }
    put_notes(&mut drawing, view);
    drawing
}

fn rectangle(lo: Vec2, hi: Vec2) -> Shape {
    Shape::Profile(Outline::rectangle(lo, hi))
}

/// Edge and holes of the stock, and its clamps with their name.
fn put_stock(drawing: &mut Drawing, stock: &Sheet) {
    match &stock.shape {
        None => {
            let corner = vec2(stock.length, stock.width);
            drawing.put(Layer::Sheet, rectangle(vec2(0.0, 0.0), corner));
        }
        Some(region) => {
            for profile in region.profiles() {
                drawing.put(Layer::Sheet, Shape::Profile(profile.clone()));
            }
        }
    }
    for zone in &stock.clamps {
        // What overhangs the plate is the table's.
        let lo = vec2(zone.lo.x.max(0.0), zone.lo.y.max(0.0));
        let hi = vec2(zone.hi.x.min(stock.length), zone.hi.y.min(stock.width));
        drawing.put(Layer::Label, rectangle(lo, hi));
        let height = (0.5 * (hi.y - lo.y)).min((hi.x - lo.x) / 6.0);
        drawing.write(lo + vec2(0.2, 0.5) * height, height, "CLAMP");
    }
}

/// Height of a part's name over the sheet's length: read on a picture of the
/// whole sheet as wide as a screen.
const CAPTION: f64 = 1.0 / 90.0;
/// Mean advance of capitals and figures over their height in a plain sans
/// face, to stand a name in the middle of its room. Common practice, no source.
const CAPITAL_ADVANCE: f64 = 0.85;

/// The part's name in letters to be read on a picture of the whole sheet, or
/// as large as the part has room for them.
fn put_caption(drawing: &mut Drawing, part: &Part, placement: Placement, sheet: f64) {
    let Some(room) = part.caption else {
        return;
    };
    let text = ascii(&part.name);
    let height = room.height.min(sheet * CAPTION);
    let size = vec2(text.len() as f64 * CAPITAL_ADVANCE, 1.0) * height;
    let angle = room.angle + placement.turn;
    let corner = placement.apply(room.centre) - (size * 0.5).turned(angle);
    let (at, angle) = upright(corner, angle, size);
    drawing.put(
        Layer::Label,
        Shape::Text {
            at,
            height,
            angle,
            text,
        },
    );
}

fn put_notes(drawing: &mut Drawing, view: &SheetView<'_>) {
    let height = (view.stock.length * NOTE_HEIGHT).clamp(NOTE_RANGE.0, NOTE_RANGE.1);
    let columns = notes(view).map(|lines| {
        lines
            .iter()
            .flat_map(|l| wrapped(&ascii(l), COLUMN))
            .collect::<Vec<_>>()
    });
    let rows = columns.iter().map(Vec::len).max().unwrap_or(0);
    // Columns stand beside each other where the sheet is long enough.
    let pitch = (COLUMN as f64 + 3.0) * height * LETTER_ADVANCE;
    let abreast = pitch * 2.9 <= view.stock.length.max(1.0) * 1.05;
    let mut above = 0;
    for (c, lines) in columns.iter().enumerate() {
        let first = if abreast {
            rows
        } else {
            columns.iter().skip(c).map(Vec::len).sum()
        };
        above = above.max(first);
        let x = if abreast { c as f64 * pitch } else { 0.0 };
        for (r, text) in lines.iter().enumerate() {
            let y = view.stock.width + height * LINE * (first - r) as f64 - height * 0.3;
            drawing.write(vec2(x, y), height, text);
        }
    }
}

/// Three columns: the job, the stock and the cut, the parts.
fn notes(view: &SheetView<'_>) -> [Vec<String>; 3] {
    let (job, stock) = (view.job, view.stock);
    let size = |mm| quantity::thickness(mm, job.show);
    let mut about = vec![
        job.heading(),
        format!("Sheet {} of {}", view.number.0, view.number.1),
    ];
    if !job.note.is_empty() {
        about.push(job.note.clone());
    }
    let paths = match (job.cutting.paths, view.cut) {
        (Paths::Compensated, Some(_)) => {
            "KERF IN THE PATHS: they run half the kerf in the waste; set no offset at the table"
        }
        _ => "NET SIZE: profiles are not offset for the kerf",
    };
    let mut stock_lines = vec![
        paths.to_owned(),
        format!(
            "Stock {}: {} x {}",
            stock.name,
            length::show(stock.length, job.show),
            length::show(stock.width, job.show),
        ),
        format!("{} thick, {}", size(stock.thickness), stock.alloy),
        format!(
            "{}: kerf {}, gap {}, margin {}",
            job.cutting.process,
            size(job.cutting.kerf),
            size(job.cutting.gap),
            size(job.cutting.edge_margin),
        ),
    ];
    if let Some(plan) = view.cut.filter(|p| !p.drills.is_empty()) {
        stock_lines.push(format!(
            "{} holes to drill, marked by a cross: lists/cutting-order.csv",
            plan.drills.len()
        ));
    }
    // Short names first, so that B2 comes before B10.
    let mut count: BTreeMap<(usize, &str), usize> = BTreeMap::new();
    let mut heaviest: Option<(&str, f64)> = None;
    for placed in &view.nested.placed {
        let Some(part) = view.parts.get(placed.part) else {
            continue;
        };
        *count.entry((part.name.len(), &part.name)).or_default() += 1;
        if let Some(&kg) = view.masses_kg.get(placed.part)
            && heaviest.is_none_or(|(_, most)| kg > most)
        {
            heaviest = Some((&part.name, kg));
        }
    }
    let list: Vec<String> = count
        .iter()
        .map(|((_, n), k)| format!("{n} x {k}"))
        .collect();
    let total: usize = count.values().sum();
    let mut parts = vec![format!("Parts, {total} in all: {}", list.join(", "))];
    if let Some((name, kg)) = heaviest {
        parts.push(format!(
            "Heaviest part: {name}, {}",
            quantity::mass(kg, job.show)
        ));
    }
    [about, stock_lines, parts]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::Item;
    use crate::geom::Vertex;
    use crate::sample;

    fn texts(d: &Drawing) -> String {
        let mut out = String::new();
        for Item { shape, .. } in &d.items {
            if let Shape::Text { text, .. } = shape {
                out.push_str(text);
                out.push('\n');
            }
        }
        out
    }

    #[test]
    fn a_sheet_says_what_it_is_and_nothing_is_negative() {
        let s = sample::nested();
        let d = s.sheet_drawing(0);
        let (lo, _) = d.bounds().unwrap();
        assert!(lo.x >= 0.0 && lo.y >= 0.0);
        let all = texts(&d);
        for said in [
            "NET SIZE",
            "2 x 1 m",
            "2000 mm x 1000 mm",
            "12.7 mm thick, 5086-H116",
            "kerf 2.0 mm, gap 8.0 mm, margin 10.0 mm",
            "B1 x 1",
            "Heaviest part: B1",
            "Sheet 1 of 1",
            "2026-02-03",
        ] {
            assert!(all.contains(said), "{said} is not in\n{all}");
        }
        assert!(all.is_ascii());
    }

    #[test]
    fn notes_never_lie_on_the_sheet_nor_on_each_other() {
        for (length, many) in [(2000.0, 2), (3657.6, 40), (1250.0, 12), (500.0, 30)] {
            let mut s = sample::nested();
            s.job.note = "An invented hull, for a test of how long notes are broken.".into();
            s.nest_job.sheets[0].length = length;
            let parts = (0..many).map(|i| sample::ring_sector(&format!("B{}", i + 1)));
            s.parts = parts.collect();
            let first = s.nest.sheets[0].placed[0];
            s.nest.sheets[0].placed = (0..many)
                .map(|part| crate::nest::Placed { part, ..first })
                .collect();
            let d = s.sheet_drawing(0);
            let notes: Vec<_> = d
                .items
                .iter()
                .filter(|i| matches!(&i.shape, Shape::Text { .. }))
                .filter_map(|i| i.shape.bounds())
                .filter(|(lo, _)| lo.y >= s.job.sheets[0].width)
                .collect();
            assert!(notes.len() >= 7);
            for (i, a) in notes.iter().enumerate() {
                assert!(a.0.x >= 0.0 && a.1.x <= length.max(800.0) * 1.02);
                for b in &notes[i + 1..] {
                    let apart =
                        a.1.x <= b.0.x || b.1.x <= a.0.x || a.1.y <= b.0.y || b.1.y <= a.0.y;
                    assert!(apart, "{a:?} lies on {b:?}");
                }
            }
        }
    }

    /// The sample's sheet as planned under changed cutting settings.
    fn planned(change: impl Fn(&mut crate::job::Cutting)) -> (Drawing, Plan) {
        let mut s = sample::nested();
        change(&mut s.job.cutting);
        let parts: Vec<&Part> = s.parts.iter().collect();
        let nested = &s.nest.sheets[0];
        let plan = crate::cut::plan(&crate::cut::Input {
            name: "sheet-1",
            stock: &s.nest_job.sheets[0],
            nested,
            parts: &parts,
            masses_kg: &[6.0, 6.0],
            gap: 8.0,
            rules: &crate::cut::Rules::of(&s.job.cutting, 12.7),
        })
        .unwrap();
        let drawing = sheet_drawing(&SheetView {
            job: &s.job,
            name: "sheet-1",
            number: (1, 1),
            stock: &s.nest_job.sheets[0],
            nested,
            parts: &parts,
            masses_kg: &[6.0, 6.0],
            cut: Some(&plan),
        });
        (drawing, plan)
    }

    #[test]
    fn a_plain_plan_changes_no_line_and_another_says_what_it_draws() {
        // The parts' own lines, in the order of cutting instead of the nest's.
        let (plain, plan) = planned(|_| ());
        let none = sample::nested().sheet_drawing(0);
        assert_eq!(plain.items.len(), none.items.len());
        assert!(none.items.iter().all(|i| plain.items.contains(i)));
        assert_eq!(layers_of_cuts(&plain), steps(&plan));
        let (drawn, plan) = planned(|c| {
            c.paths = Paths::Compensated;
            c.small_holes = crate::job::SmallHoles::Drill;
            c.leads = Some(crate::job::Leads {
                form: crate::job::LeadForm::Arc,
                length: 6.0,
                off_corner: 10.0,
                clearance: 1.0,
                joined: false,
            });
        });
        let count = |l: Layer| drawn.items.iter().filter(|i| i.layer == l).count();
        assert_eq!(count(Layer::Cut), 2);
        // Holes of 12 mm are drilled: a cross of two strokes for each.
        assert_eq!((count(Layer::Hole), plan.drills.len()), (0, 4));
        assert_eq!(count(Layer::Mark), 4 + 8);
        assert_eq!(count(Layer::Lead), 4);
        let on = |l: Layer| move |i: &Item| i.layer == l;
        let first_cut = drawn.items.iter().position(on(Layer::Lead));
        assert!(drawn.items.iter().rposition(on(Layer::Mark)) < first_cut);
        let said = texts(&drawn);
        assert!(said.contains("KERF IN THE PATHS") && said.contains("4 holes to drill"));
        assert!(!said.contains("NET SIZE"));
    }

    /// Layers of cuts and leads in the order of the drawing.
    fn layers_of_cuts(d: &Drawing) -> Vec<Layer> {
        (d.items.iter().map(|i| i.layer))
            .filter(|l| matches!(l, Layer::Cut | Layer::Hole | Layer::Lead))
            .collect()
    }

    /// Layers of the steps of a plan without leads.
    fn steps(plan: &Plan) -> Vec<Layer> {
        let layer = |s: &crate::cut::Step| s.hole.map_or(Layer::Cut, |_| Layer::Hole);
        plan.steps.iter().map(layer).collect()
    }

    /// Length of an open line, mm.
    fn length(line: &[Vertex]) -> f64 {
        let mut vertices = line.to_vec();
        vertices.last_mut().unwrap().bulge = 0.0;
        let points = Outline { vertices }.flatten(1e-4);
        points.windows(2).map(|w| w[0].distance(w[1])).sum()
    }

    #[test]
    fn leads_stand_about_their_path_or_are_one_line_with_it() {
        for tabs in [false, true] {
            let with = |joined: bool| {
                planned(|c| {
                    c.paths = Paths::Compensated;
                    c.leads = Some(crate::job::Leads {
                        form: crate::job::LeadForm::Arc,
                        length: 3.0,
                        off_corner: 10.0,
                        clearance: 1.0,
                        joined,
                    });
                    c.tabs = tabs.then_some(crate::job::Tabs {
                        below_kg: Some(50.0),
                        below: None,
                        count: 2,
                        width: 4.0,
                    });
                })
            };
            let ((apart, plan), (joined, same)) = (with(false), with(true));
            assert_eq!(plan, same);
            let cuts: Vec<&crate::cut::Cut> = plan.steps.iter().flat_map(|s| &s.cuts).collect();
            let on = |d: &Drawing| -> Vec<Item> {
                (d.items.iter())
                    .filter(|i| matches!(i.layer, Layer::Cut | Layer::Hole | Layer::Lead))
                    .cloned()
                    .collect()
            };
            // Lead-in, path, lead-out, one after the other.
            let mut items = on(&apart).into_iter();
            for cut in &cuts {
                if cut.lead_in.len() > 1 {
                    let item = items.next().unwrap();
                    assert_eq!(item.shape, Shape::Line(cut.lead_in.clone()));
                    assert_eq!(item.layer, Layer::Lead);
                }
                assert_ne!(items.next().unwrap().layer, Layer::Lead);
                if cut.lead_out.len() > 1 {
                    let item = items.next().unwrap();
                    assert_eq!(item.shape, Shape::Line(cut.lead_out.clone()));
                }
            }
            assert!(items.next().is_none());
            // One line for each: from pierce to end, as long as its pieces.
            let items = on(&joined);
            assert_eq!(items.len(), cuts.len());
            assert!(items.iter().all(|i| i.layer != Layer::Lead));
            for (item, cut) in items.iter().zip(&cuts) {
                let Shape::Line(line) = &item.shape else {
                    panic!("{item:?} is closed");
                };
                assert_eq!(line.first().map(|v| v.at), Some(cut.pierce()));
                assert_eq!(line.last().map(|v| v.at), Some(cut.end()));
                assert!((length(line) - cut.length()).abs() < 0.05);
                // A whole profile is met where it is left.
                let start = cut.lead_in.last().map(|v| v.at);
                let times = line.iter().filter(|v| Some(v.at) == start).count();
                let whole = matches!(cut.path, crate::cut::CutPath::Closed(_));
                assert_eq!(times, if whole { 2 } else { 1 });
                assert!(line.windows(2).all(|w| w[0].at.distance(w[1].at) > 1e-9));
            }
        }
    }

    #[test]
    fn a_remnant_with_a_clamp_is_drawn_as_it_is() {
        let mut s = sample::nested();
        let corners = [(0.0, 0.0), (2000.0, 0.0), (2000.0, 600.0), (0.0, 1000.0)];
        let outer = Outline::polygon(&corners.map(|(x, y)| vec2(x, y)));
        let hole = Outline::circle(vec2(1900.0, 300.0), 20.0);
        let stock = &mut s.nest_job.sheets[0];
        stock.shape = crate::geom::Region::new(outer, vec![hole]).ok();
        stock.clamps = vec![crate::job::Zone {
            lo: vec2(-50.0, 400.0),
            hi: vec2(80.0, 500.0),
        }];
        let d = s.sheet_drawing(0);
        assert_eq!(
            d.items.iter().filter(|i| i.layer == Layer::Sheet).count(),
            2
        );
        assert!(texts(&d).contains("CLAMP"));
        assert!(d.bounds().unwrap().0.x >= 0.0);
    }
}
