//! Letters for the marker, each where there is room.
//!
//! Order: stanchions' names in their footprints, room kept for the label, the
//! part's name, names of doublers and of lines across, forward arrow, face,
//! outboard edge, side, then the label, and last the room for the name as a
//! sheet's picture shows it. Each is tried at falling heights from its favoured
//! place outwards, along the strip and reading left to right. Letters keep off
//! the outline and holes by 3 mm, off lines by 4 mm and off each other by 6 mm,
//! and out of what a doubler will hide. A minor text without room becomes a
//! line of text; without room even for that, it is listed as left out. A part
//! whose name has no room is refused.

use crate::fault::Fault;
use crate::geom::{Vec2, letters, vec2};
use crate::job::Side;
use crate::layout::{CrossKind, Face, Feature};
use crate::length::{Show, told};

use super::detailed::{Mark, MarkKind};
use super::input::{PartInput, USUAL_HEIGHT};
use super::label::{self, Words};
use super::room::{Block, distance_to_line};
use super::search::{ROWS, Search};
use super::sheet::{EDGE_CLEAR, LINE_CLEAR, Named, Rib, Sheet, Tag, WORD_GAP};

/// Heights of the part's name, mm, largest first, where letters are as high as
/// [`USUAL_HEIGHT`]: at 4 mm a plasma scribe still writes them.
const NAME_HEIGHTS: [f64; 9] = [USUAL_HEIGHT, 20.0, 16.0, 12.0, 10.0, 8.0, 6.0, 5.0, 4.0];
/// Heights of other words, mm.
const WORD_HEIGHTS: [f64; 4] = [12.0, 10.0, 8.0, 6.0];
/// Heights of the names of stations, mm.
const TAG_HEIGHTS: [f64; 3] = [8.0, 6.0, 5.0];
/// Length of the forward arrow's shaft and its gap, in heights of its letters.
const ARROW: f64 = 3.0;
const ARROW_GAP: f64 = 0.7;
/// What is marked on an upper and on a lower face.
const FACES: [&str; 2] = ["THIS FACE UP", "UNDERSIDE"];
/// Gap between a line across and its name, mm.
const NAME_GAP: f64 = 4.5;
/// Places across a footprint from its middle, in halves of its diagonal.
const IN_FOOTPRINT: [f64; 9] = [0.0, 0.15, -0.15, 0.3, -0.3, 0.45, -0.45, 0.6, -0.6];
/// Reach, mm, of the search for a place beside a line or a footprint.
const BESIDE: f64 = 90.0;

/// Writes all letters and the label.
pub(super) fn letter(sheet: &mut Sheet, show: Show) -> Result<(), Fault> {
    let tags = std::mem::take(&mut sheet.tags);
    for tag in &tags {
        if let Named::Stanchion(corners) = &tag.of {
            stanchion_name(sheet, tag, corners);
        }
    }
    fill_footprints(sheet);
    let label = Words::of(sheet.input, show);
    names(sheet, &label, show)?;
    for tag in &tags {
        match &tag.of {
            Named::Stanchion(_) => {}
            Named::Doubler { t, w } => doubler_name(sheet, tag, *t, *w),
            Named::Line => line_name(sheet, tag),
        }
    }
    let halves = halves(sheet);
    for half in &halves {
        arrow(sheet, half);
    }
    let face = match sheet.input.marked {
        Face::Upper => FACES[0],
        Face::Lower => FACES[1],
    };
    word(sheet, face, sheet.everywhere(sheet.favoured(0.3), &ROWS));
    outboard(sheet);
    for half in &halves {
        let side = half.side.short().to_uppercase();
        word(sheet, &side, half.about(0.6, &ROWS));
    }
    label.write(sheet);
    sheet.caption = label::caption(sheet);
    Ok(())
}

/// A list of heights in proportion to the height of letters asked for, falling;
/// below, the list's own smaller ones, and none smaller than its least.
fn heights(sheet: &Sheet, list: &[f64]) -> Vec<f64> {
    let scale = sheet.letter_height / USUAL_HEIGHT;
    let least = list.iter().copied().fold(sheet.letter_height, f64::min);
    let scaled = list.iter().map(|h| (h * scale).max(least));
    let mut out: Vec<f64> = scaled.collect();
    let lowest = out.iter().copied().fold(f64::INFINITY, f64::min);
    out.extend(list.iter().filter(|&&h| h < lowest));
    out.dedup();
    out
}

/// Each height of a list, with where to look.
fn at<'s>(sheet: &Sheet, list: &[f64], search: Search<'s>) -> Vec<(f64, Search<'s>)> {
    let heights = heights(sheet, list).into_iter();
    heights.map(|h| (h, search)).collect()
}

/// Strokes of letters of a height, their lower left at the origin.
fn strokes(text: &str, h: f64) -> Vec<Vec<Vec2>> {
    let scaled = |s: Vec<Vec2>| s.into_iter().map(|p| p * h).collect();
    letters::strokes(text).into_iter().map(scaled).collect()
}

fn mark(sheet: &mut Sheet, kind: MarkKind, block: Block, strokes: &[Vec<Vec2>]) {
    sheet.field.add_block(block, WORD_GAP);
    let placed = |s: &Vec<Vec2>| s.iter().map(|&p| block.place(p)).collect();
    sheet.marks.push(Mark {
        kind,
        strokes: strokes.iter().map(placed).collect(),
        along: block.along,
    });
}

/// Writes a word at the first height that finds room.
fn write(sheet: &mut Sheet, text: &str, tries: Vec<(f64, Search)>) -> bool {
    let width = letters::width(text);
    let sized = |(h, search)| (h, vec2(width, 1.0) * h, search);
    let found = sheet.first(tries.into_iter().map(sized));
    if let Some((h, block)) = found {
        let kind = if FACES.contains(&text) {
            MarkKind::Face
        } else {
            MarkKind::Letters
        };
        mark(sheet, kind, block, &strokes(text, h));
    }
    found.is_some()
}

/// A word that may become a line of text, or be left out.
fn word(sheet: &mut Sheet, text: &str, search: Search) {
    let tries = at(sheet, &WORD_HEIGHTS, search);
    if !write(sheet, text, tries) {
        label::line(sheet, text, search);
    }
}

/// The part's name, and room kept for its label, if there is for both. Under
/// a doubler only where it covers all the room that there is.
fn names(sheet: &mut Sheet, label: &Words, show: Show) -> Result<(), Fault> {
    if sheet.input.name.trim().is_empty() {
        let fault = |i: &PartInput| i.fault("it has no name", "give every part a name");
        return Err(fault(sheet.input));
    }
    label.keep(sheet);
    if name(sheet) {
        return Ok(());
    }
    sheet.field.kept = None;
    if name(sheet) {
        return Ok(());
    }
    sheet.field.under = true;
    let under = name(sheet);
    sheet.field.under = false;
    if !under {
        return Err(sheet.input.fault(
            format!(
                "its name finds no room among holes and lines, even {} high",
                told(NAME_HEIGHTS[NAME_HEIGHTS.len() - 1], show)
            ),
            "give it a shorter name, or fewer holes",
        ));
    }
    let told = "its name clear of the doubler";
    sheet.left_out.push(told.to_owned());
    Ok(())
}

fn name(sheet: &mut Sheet) -> bool {
    let along = sheet.everywhere(sheet.favoured(0.5), &ROWS);
    let searches = [along, along.upright()];
    let tries = searches.map(|s| at(sheet, &NAME_HEIGHTS, s)).concat();
    write(sheet, sheet.input.name, tries)
}

/// In the middle of the footprint, else elsewhere in it: a line across, such
/// as the centreline, may take the middle. Else beside it, and that is told.
fn stanchion_name(sheet: &mut Sheet, tag: &Tag, corners: &[Vec2]) {
    let middle = Search {
        run: sheet.at_t(tag.t),
        reach: (0.0, 0.0),
        rows: &[tag.w],
        upright: false,
        within: corners,
    };
    let across = |a: &Vec2| corners.iter().map(|c| c.distance(*a)).fold(0.0, f64::max);
    let half = 0.5 * corners.iter().map(across).fold(0.0, f64::max);
    let inside = Search {
        reach: (0.0, half),
        rows: &IN_FOOTPRINT.map(|part| tag.w + part * half / sheet.width().max(1.0)),
        ..middle
    };
    let mut tries = at(sheet, &WORD_HEIGHTS, middle);
    for search in [inside, inside.upright()] {
        tries.extend(at(sheet, &WORD_HEIGHTS, search));
    }
    if write(sheet, &tag.text, tries) {
        return;
    }
    let told = sheet.left_out.len();
    let beside = Search {
        reach: (BESIDE, 3.0 * BESIDE),
        rows: &ROWS,
        within: &[],
        ..middle
    };
    let tries = at(sheet, &TAG_HEIGHTS, beside);
    if !write(sheet, &tag.text, tries) {
        label::line(sheet, &tag.text, beside);
    }
    if sheet.left_out.len() == told {
        let outside = format!("{} in its footprint", tag.text);
        sheet.left_out.push(outside);
    }
}

/// Beside the doubler at its middle, else beyond its ends.
fn doubler_name(sheet: &mut Sheet, tag: &Tag, t: (f64, f64), w: (f64, f64)) {
    let [from, to] = [t.0, t.1].map(|t| sheet.at_t(t));
    let search = Search {
        run: sheet.at_t(tag.t),
        reach: (0.0, 0.5 * (to - from).abs() + 3.0 * BESIDE),
        rows: &[0.5 * w.0, 0.5 * (1.0 + w.1), 0.5, 0.3, 0.7],
        upright: false,
        within: &[],
    };
    word(sheet, &tag.text, search);
}

/// Keeps other words out of the footprints, where a stanchion hides them.
fn fill_footprints(sheet: &mut Sheet) {
    for feature in sheet.input.features {
        if let Feature::Footprint { corners, .. } = feature {
            let at = |c: &(f64, f64)| sheet.frame.apply(sheet.input.flat.jet(c.0, c.1)[0]);
            let points: Vec<Vec2> = corners.iter().map(at).collect();
            let n = points.len();
            for k in 0..n / 2 {
                sheet
                    .field
                    .add_line(points[k], points[k + n / 2], LINE_CLEAR);
            }
            // With the diagonals, the largest disc from the middle leaves no
            // room for a word between them and the sides.
            let middle = points
                .iter()
                .fold(vec2(0.0, 0.0), |m, &p| m + p * (1.0 / n as f64));
            let radius = (0..n)
                .map(|k| distance_to_line(middle, points[k], points[(k + 1) % n]))
                .fold(f64::INFINITY, f64::min);
            if radius.is_finite() {
                sheet.field.add_disc(middle, radius);
            }
        }
    }
}

/// Close to its line; a station's near an edge, by the tick.
fn line_name(sheet: &mut Sheet, tag: &Tag) {
    let aside = Search {
        run: sheet.at_t(tag.t),
        reach: (BESIDE / 6.0, 2.0 * BESIDE),
        rows: &ROWS,
        upright: false,
        within: &[],
    };
    let width = letters::width(&tag.text);
    let close = |h: f64| {
        let edge = edge_row(sheet, h);
        let rows = [edge, 1.0 - edge, 1.4 * edge, 1.0 - 1.4 * edge];
        let start = 0.5 * width * h + NAME_GAP;
        (h, (start, start + BESIDE), rows)
    };
    let places: Vec<_> = heights(sheet, &TAG_HEIGHTS)
        .into_iter()
        .map(close)
        .collect();
    let tries = places.iter().map(|(h, reach, by_tick)| {
        let rows = if tag.w == 0.0 {
            &by_tick[..]
        } else {
            &ROWS[..]
        };
        let reach = *reach;
        (
            *h,
            Search {
                reach,
                rows,
                ..aside
            },
        )
    });
    if !write(sheet, &tag.text, tries.collect()) {
        label::line(sheet, &tag.text, aside);
    }
}

/// Fraction of the width at which a word of a height stands clear of the edge.
fn edge_row(sheet: &Sheet, h: f64) -> f64 {
    ((EDGE_CLEAR + 0.5 * h + 1.0) / sheet.width().max(1.0)).min(0.5)
}

/// A length of the piece on one side of the boat.
struct Half {
    side: Side,
    from: f64,
    to: f64,
    /// True where forward is at its first end.
    back: bool,
}

/// The piece, or its halves where it crosses the boat's centreline: forward is
/// away from that on both.
fn halves(sheet: &Sheet) -> Vec<Half> {
    let centre = sheet.input.features.iter().find_map(|f| match f {
        Feature::CrossLine {
            t,
            kind: CrossKind::Centreline,
            ..
        } => Some(sheet.at_t(*t)),
        _ => None,
    });
    let length = sheet.length();
    let half = |side, from, to, back| Half {
        side,
        from,
        to,
        back,
    };
    match centre {
        Some(c) if c > 0.0 && c < length => vec![
            half(Side::Port, 0.0, c, true),
            half(Side::Starboard, c, length, false),
        ],
        _ => vec![half(sheet.input.side, 0.0, length, sheet.input.runs_aft)],
    }
}

impl Half {
    /// About a fraction of it from its after end, and within it.
    fn about(&self, fraction: f64, rows: &'static [f64]) -> Search<'static> {
        let f = if self.back { 1.0 - fraction } else { fraction };
        let run = self.from + (self.to - self.from) * f;
        Search {
            run,
            reach: (0.0, (run - self.from).min(self.to - run)),
            rows,
            upright: false,
            within: &[],
        }
    }
}

/// An arrow forward.
fn arrow(sheet: &mut Sheet, half: &Half) {
    let (text, back) = ("FWD", half.back);
    let width = letters::width(text);
    let tries = at(sheet, &WORD_HEIGHTS, half.about(0.72, &ROWS)).into_iter();
    let sized = |(h, search)| (h, vec2(width + ARROW_GAP + ARROW, 1.0) * h, search);
    let Some((h, block)) = sheet.first(tries.map(sized)) else {
        sheet.left_out.push("forward arrow".to_owned());
        return;
    };
    let nearness = |r: &&Rib| r.middle().distance(block.centre);
    let grows = (sheet.ribs.iter())
        .min_by(|a, b| nearness(a).total_cmp(&nearness(b)))
        .map_or(vec2(1.0, 0.0), |r| r.along);
    let right = (grows.dot(block.along) > 0.0) != back;
    let (text_x, tail, tip) = if right {
        (0.0, width + ARROW_GAP, width + ARROW_GAP + ARROW)
    } else {
        (ARROW + ARROW_GAP, ARROW, 0.0)
    };
    let barb = if right { -0.7 } else { 0.7 };
    let of_height = |x: f64, y: f64| vec2(x, y) * h;
    let mut drawn = strokes(text, h);
    for p in drawn.iter_mut().flatten() {
        *p += of_height(text_x, 0.0);
    }
    drawn.push(vec![of_height(tail, 0.5), of_height(tip, 0.5)]);
    drawn.push(vec![
        of_height(tip + barb, 0.85),
        of_height(tip, 0.5),
        of_height(tip + barb, 0.15),
    ]);
    mark(sheet, MarkKind::Letters, block, &drawn);
}

/// Near the outboard edge and nowhere else: in the middle it would mislead.
fn outboard(sheet: &mut Sheet) {
    let text = "OUTB'D";
    let run = sheet.favoured(0.5);
    let by_edge = |h: f64| {
        let edge = edge_row(sheet, h);
        (h, [edge, (1.3 * edge).min(0.3), (1.7 * edge).min(0.3)])
    };
    let places: Vec<_> = heights(sheet, &WORD_HEIGHTS[1..])
        .into_iter()
        .map(by_edge)
        .collect();
    let tries = places
        .iter()
        .map(|(h, rows)| (*h, sheet.everywhere(run, rows)));
    if !write(sheet, text, tries.collect()) {
        let rows = [edge_row(sheet, label::LINE_HEIGHTS[1])];
        label::line(sheet, text, sheet.everywhere(run, &rows));
    }
}
