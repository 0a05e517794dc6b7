//! Each nested sheet with its parts' names in large letters, the order in
//! which they are cut, and what to check on the first.

use super::model::{FloorSheet, LEAST_LETTER, NAME, Stand, Stroke, largest};
use crate::cut::Step;
use crate::drawing::{Shape, SheetView};
use crate::dxf::wrapped;
use crate::geom::outline::polygon_contains;
use crate::geom::{Outline, Placement, Vec2, Vertex, vec2};
use crate::length::show;
use crate::part::{BendLine, Caption, Part};
use crate::quantity::thickness;

/// A nested sheet as a floor sheet shows it.
#[derive(Debug, Clone)]
pub struct FloorNest<'a> {
    /// The sheet.
    pub view: SheetView<'a>,
    /// What to check on the part that is cut first, a sentence.
    pub check: String,
}

/// Most of the room that goes to the words below a sheet, mm.
const WORDS: f64 = 58.0;
/// Height of a name, mm: the most, and over its part's width.
const LARGE: f64 = 7.0;
const SHARE: f64 = 0.45;
/// How wide a letter is taken, in heights.
const ADVANCE: f64 = 0.8;
/// Letters in a line of the words below.
const LETTERS: usize = 180;

/// A sheet's drawing for a room of this size, mm.
pub(super) fn nest_sheet(nest: &FloorNest<'_>, room: Vec2) -> FloorSheet {
    let (view, stock) = (&nest.view, nest.view.stock);
    let scale = largest(view.job.show, |s| {
        stock.length * s <= room.x && stock.width * s <= room.y - WORDS
    });
    let mut sheet = FloorSheet {
        name: view.name.to_owned(),
        heading: format!(
            "Sheet {} of {}: {}, {} thick, {}",
            view.number.0,
            view.number.1,
            stock.name,
            thickness(stock.thickness, view.job.show),
            stock.alloy
        ),
        scale: Some(scale),
        shows: format!(
            "The nested sheet {} with the names of its parts.",
            view.name
        ),
        ..FloorSheet::default()
    };
    let corner = vec2(
        (room.x - stock.length * scale) / 2.0,
        room.y - stock.width * scale,
    );
    let place = |p: Vec2| corner + p * scale;
    let mut put = |stroke, shape| sheet.lines.push((stroke, scaled(shape, &place, scale)));
    let edges = match &stock.shape {
        Some(region) => region.profiles().cloned().collect(),
        None => vec![Outline::rectangle(
            Vec2::default(),
            vec2(stock.length, stock.width),
        )],
    };
    for edge in edges {
        put(Stroke::Thin, Shape::Profile(edge));
    }
    for clamp in &stock.clamps {
        put(
            Stroke::Dashed,
            Shape::Profile(Outline::rectangle(clamp.lo, clamp.hi)),
        );
    }
    for placed in 0..view.nested.placed.len() {
        let Some((part, at)) = part_at(view, placed) else {
            continue;
        };
        put(Stroke::Edge, Shape::Profile(part.outline.placed(at)));
        for hole in &part.holes {
            let hole = Shape::Circle {
                centre: at.apply(hole.centre),
                radius: hole.diameter / 2.0,
            };
            put(Stroke::Thin, hole);
        }
        // Letters would be too small to read.
        let lines = part.marks.iter().filter(|m| !m.kind.is_letters());
        for stroke in lines.flat_map(|m| &m.strokes) {
            let line = stroke.iter().map(|&p| at.apply(p)).collect();
            put(Stroke::Thin, Shape::Stroke(line));
        }
    }
    let order = order(view);
    for &placed in &order {
        let Some((part, placement)) = part_at(view, placed) else {
            continue;
        };
        let centre = place(placement.apply(middle(part, scale)));
        let height = (SHARE * width(part) * scale).clamp(NAME, LARGE);
        // A name that its part does not hold stands by it, and is led there.
        let half = vec2(ADVANCE * part.name.chars().count() as f64, 1.0) * (height / 2.0);
        let outline = part.outline.placed(placement).flatten(1.0);
        let holds = [vec2(1.0, 1.0), vec2(1.0, -1.0)].iter().all(|way| {
            let to = vec2(half.x * way.x, half.y * way.y);
            [centre + to, centre - to]
                .iter()
                .all(|p| polygon_contains(&outline, (*p - corner) * (1.0 / scale)))
        });
        let stand = if holds { Stand::Over } else { Stand::On };
        sheet.tag(part.name.clone(), height, centre, stand);
    }
    let listed: Vec<String> = (order.iter().enumerate())
        .filter_map(|(k, &placed)| Some((k, part_at(view, placed)?.0)))
        .map(|(k, part)| format!("{} {}", k + 1, part.name))
        .collect();
    let mut lines = wrapped(
        &format!("Order of the parts: {}", listed.join(",  ")),
        LETTERS,
    );
    if !nest.check.is_empty() {
        lines.extend(wrapped(&nest.check, LETTERS));
    }
    lines.push(format!(
        "The plate is {} by {}; its lower left corner here is the table's origin.",
        show(stock.length, view.job.show),
        show(stock.width, view.job.show)
    ));
    sheet.notes(vec2(0.0, corner.y - 4.0), LEAST_LETTER, &lines);
    sheet
}

/// Indices of the placed parts, the first cut first.
fn order(view: &SheetView<'_>) -> Vec<usize> {
    let mut out: Vec<usize> = Vec::new();
    let steps = view.cut.map_or(&[] as &[Step], |p| &p.steps);
    let whole = steps.iter().filter(|s| s.hole.is_none()).map(|s| s.placed);
    for placed in whole.chain(0..view.nested.placed.len()) {
        if !out.contains(&placed) {
            out.push(placed);
        }
    }
    out
}

/// The part that is cut first.
#[must_use]
pub fn first_part<'a>(view: &SheetView<'a>) -> Option<&'a Part> {
    let first = order(view).first().copied()?;
    part_at(view, first).map(|(part, _)| part)
}

fn part_at<'a>(view: &SheetView<'a>, placed: usize) -> Option<(&'a Part, Placement)> {
    let placed = view.nested.placed.get(placed)?;
    Some((*view.parts.get(placed.part)?, placed.placement))
}

/// The line across a part that is nearest to half way.
fn half_way(part: &Part) -> Option<&BendLine> {
    let (first, last) = (part.bends.first()?, part.bends.last()?);
    let half = 0.5 * (first.along + last.along);
    let off = |b: &BendLine| (b.along - half).abs();
    part.bends.iter().min_by(|a, b| off(a).total_cmp(&off(b)))
}

/// Where a part has room for its name on paper of this scale, or its middle.
fn middle(part: &Part, scale: f64) -> Vec2 {
    let roomy = |c: &&Caption| c.height * scale >= NAME;
    match (part.caption.as_ref().filter(roomy), half_way(part)) {
        (Some(room), _) => room.centre,
        (None, Some(b)) => (b.places[0] + b.places[4]) * 0.5,
        (None, None) => {
            let (lo, hi) = part.outline.bounds();
            (lo + hi) * 0.5
        }
    }
}

/// Width of a part across its middle, mm.
fn width(part: &Part) -> f64 {
    half_way(part).map_or(0.0, |b| b.places[0].distance(b.places[4]))
}

/// A shape on paper.
fn scaled(shape: Shape, place: &dyn Fn(Vec2) -> Vec2, scale: f64) -> Shape {
    let at = |mut run: Vec<Vertex>| {
        for v in &mut run {
            v.at = place(v.at);
        }
        run
    };
    match shape {
        Shape::Profile(outline) => Shape::Profile(Outline {
            vertices: at(outline.vertices),
        }),
        Shape::Circle { centre, radius } => Shape::Circle {
            centre: place(centre),
            radius: radius * scale,
        },
        Shape::Stroke(points) => Shape::Stroke(points.into_iter().map(place).collect()),
        Shape::Line(run) => Shape::Line(at(run)),
        Shape::Text {
            at,
            height,
            angle,
            text,
        } => Shape::Text {
            at: place(at),
            height: height * scale,
            angle,
            text,
        },
    }
}
