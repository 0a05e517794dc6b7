//! Letters for the marker and text for people, each where there is room.
//!
//! Order: stanchions' names in their footprints, a small spot kept for the
//! label with the part's name, the part's name, names of doublers and of
//! lines across, forward arrow, face, outboard edge, side, then the labels,
//! and last the room for the name as a sheet's picture shows it. Each
//! is tried at falling heights from its favoured place outwards, along the
//! strip and reading left to right. Letters keep off the outline and holes
//! by 3 mm, off lines by 4 mm and off each other by 6 mm, and out of what a
//! doubler will hide. A minor text without room
//! becomes a small label; without room even for that, it is listed as left
//! out. A part whose name has no room is refused.

use crate::fault::Fault;
use crate::geom::{Vec2, letters, vec2};
use crate::job::Side;
use crate::layout::{CrossKind, Face, Feature, MemberKind};
use crate::length::{Show, told};
use crate::pairs::ascii;
use crate::quantity;

use super::lines::{EDGE_CLEAR, LINE_CLEAR, Named, Sheet, Tag};
use super::room::{Block, distance_to_line};
use super::way::{Search, Way, middle};
use super::{Caption, Label, Mark, MarkKind};

/// Heights of the part's name, mm, largest first, where letters are as high as
/// [`USUAL_HEIGHT`]: read from a few metres where there is room, and at 4 mm
/// still by a plasma scribe.
const NAME_HEIGHTS: [f64; 9] = [25.0, 20.0, 16.0, 12.0, 10.0, 8.0, 6.0, 5.0, 4.0];
/// Height of marked letters that the lists of heights are made for, mm.
pub(super) const USUAL_HEIGHT: f64 = NAME_HEIGHTS[0];
/// Heights of other words, mm.
const WORD_HEIGHTS: [f64; 4] = [12.0, 10.0, 8.0, 6.0];
/// Heights of the names of stations, mm.
const TAG_HEIGHTS: [f64; 3] = [8.0, 6.0, 5.0];
/// Heights of labels, mm.
const LABEL_HEIGHTS: [f64; 4] = [8.0, 6.0, 5.0, 4.0];
/// Heights of the label with the part's name, which must go somewhere, mm.
const NAME_LABEL_HEIGHTS: [f64; 4] = [6.0, 4.0, 3.0, 2.5];
/// Heights of the name on a sheet's picture, mm: a picture as wide as a screen
/// shows a sheet of 6 m at a quarter of a point to the millimetre.
const CAPTION_HEIGHTS: [f64; 11] = [
    100.0, 80.0, 64.0, 50.0, 40.0, 32.0, 25.0, 20.0, 16.0, 12.0, 10.0,
];
/// Heights of a label in place of letters that found no room, mm.
const SPARE_HEIGHTS: [f64; 2] = [5.0, 4.0];
/// Width kept for a character of a label, in heights: no common face of a
/// viewer is wider in the mean.
pub const LABEL_ADVANCE: f64 = 1.0;
/// Pitch of a label's lines, and what hangs below the line, in heights.
const LABEL_PITCH: f64 = 1.6;
const LABEL_BELOW: f64 = 0.35;
/// Places across the width, favoured first.
const ROWS: [f64; 7] = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8];
/// Length of the forward arrow's shaft and its gap, in heights of its letters.
const ARROW: f64 = 3.0;
const ARROW_GAP: f64 = 0.7;
/// Gap between words, mm: closer, two are read as one.
const WORD_GAP: f64 = 6.0;
/// Gap between a line across and its name, mm.
const NAME_GAP: f64 = 4.5;
/// Reach, mm, of the search for a place beside a line or a footprint.
const BESIDE: f64 = 90.0;

/// Writes all letters and labels.
pub(super) fn letter(sheet: &mut Sheet, show: Show) -> Result<(), Fault> {
    let way = Way::new(&sheet.ribs);
    let tags = std::mem::take(&mut sheet.tags);
    for tag in tags.iter().filter(|t| t.of == Named::Stanchion) {
        stanchion_name(sheet, &way, tag);
    }
    fill_footprints(sheet);
    let spot = names(sheet, &way, show)?;
    for tag in &tags {
        match tag.of {
            Named::Stanchion => {}
            Named::Doubler { t, w } => doubler_name(sheet, &way, tag, t, w),
            Named::Line => line_name(sheet, &way, tag),
        }
    }
    let halves = halves(sheet, &way);
    for half in &halves {
        arrow(sheet, &way, half);
    }
    let face = match sheet.input.marked {
        Face::Upper => "THIS FACE UP",
        Face::Lower => "UNDERSIDE",
    };
    word(sheet, &way, face, way.favoured(sheet, 0.3), &ROWS[..5]);
    outboard(sheet, &way);
    for half in &halves {
        side(sheet, &way, half);
    }
    labels(sheet, &way, spot, show);
    sheet.caption = caption(sheet, &way);
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

fn text_size(text: &str, h: f64) -> Vec2 {
    vec2(letters::width(text) * h, h)
}

fn mark(sheet: &mut Sheet, block: Block, strokes: &[Vec<Vec2>]) {
    sheet.field.add_block(block, WORD_GAP);
    sheet.marks.push(Mark {
        kind: MarkKind::Letters,
        strokes: strokes
            .iter()
            .map(|s| s.iter().map(|&p| block.place(p)).collect())
            .collect(),
    });
}

/// Writes a word at the first height that finds room.
fn write(sheet: &mut Sheet, way: &Way, text: &str, heights: &[f64], search: Search) -> bool {
    for &h in heights {
        if let Some(block) = way.find(sheet, text_size(text, h), search) {
            let strokes: Vec<Vec<Vec2>> = letters::strokes(text)
                .into_iter()
                .map(|s| s.into_iter().map(|p| p * h).collect())
                .collect();
            mark(sheet, block, &strokes);
            return true;
        }
    }
    false
}

/// A word that may become a label, or be left out.
fn word(sheet: &mut Sheet, way: &Way, text: &str, run: f64, rows: &[f64]) {
    let search = way.everywhere(run, rows);
    if !write(sheet, way, text, &heights(sheet, &WORD_HEIGHTS), search) {
        spare(sheet, way, text, search);
    }
}

fn spare(sheet: &mut Sheet, way: &Way, text: &str, search: Search) {
    if !label(sheet, way, &[text.to_owned()], &SPARE_HEIGHTS, search) {
        sheet.left_out.push(text.to_owned());
    }
}

/// The part's name, and the room kept for its label: under a doubler only
/// where it covers all the room that there is.
fn names(sheet: &mut Sheet, way: &Way, show: Show) -> Result<Block, Fault> {
    let write = |sheet: &mut Sheet| {
        let spot = name_spot(sheet, way, show)?;
        name(sheet, way, show)?;
        Ok(spot)
    };
    let clear = write(sheet);
    if clear.is_ok() || !sheet.input.features.iter().any(hides) {
        return clear;
    }
    sheet.field.under = true;
    let under = write(sheet);
    sheet.field.under = false;
    sheet
        .left_out
        .push("its name clear of the doubler".to_owned());
    under
}

fn hides(feature: &Feature) -> bool {
    matches!(feature, Feature::Doubler { .. })
}

fn name(sheet: &mut Sheet, way: &Way, show: Show) -> Result<(), Fault> {
    let text = sheet.input.name;
    if text.trim().is_empty() {
        return Err(sheet
            .input
            .fault("it has no name", "give every part a name"));
    }
    let search = way.everywhere(way.favoured(sheet, 0.5), &ROWS);
    let upright = Search {
        upright: true,
        ..search
    };
    let heights = heights(sheet, &NAME_HEIGHTS);
    if write(sheet, way, text, &heights, search) || write(sheet, way, text, &heights, upright) {
        return Ok(());
    }
    Err(sheet.input.fault(
        format!(
            "its name finds no room among holes and lines, even {} high",
            told(NAME_HEIGHTS[NAME_HEIGHTS.len() - 1], show)
        ),
        "give it a shorter name, or fewer holes",
    ))
}

/// In the middle of the footprint, else beside it.
fn stanchion_name(sheet: &mut Sheet, way: &Way, tag: &Tag) {
    let run = way.at_t(&sheet.ribs, tag.t);
    let inside = Search {
        run,
        reach: (0.0, 0.0),
        rows: &[tag.w],
        upright: false,
    };
    let beside = Search {
        reach: (BESIDE, 3.0 * BESIDE),
        rows: &ROWS,
        ..inside
    };
    let (words, tags) = (heights(sheet, &WORD_HEIGHTS), heights(sheet, &TAG_HEIGHTS));
    if !(write(sheet, way, &tag.text, &words, inside)
        || write(sheet, way, &tag.text, &tags, beside))
    {
        spare(sheet, way, &tag.text, beside);
    }
}

/// Beside the doubler at its middle, else beyond its ends.
fn doubler_name(sheet: &mut Sheet, way: &Way, tag: &Tag, t: (f64, f64), w: (f64, f64)) {
    let [from, to] = [t.0, t.1].map(|t| way.at_t(&sheet.ribs, t));
    let rows = [0.5 * w.0, 0.5 * (1.0 + w.1), 0.5, 0.3, 0.7];
    let search = Search {
        run: way.at_t(&sheet.ribs, tag.t),
        reach: (0.0, 0.5 * (to - from).abs() + 3.0 * BESIDE),
        rows: &rows,
        upright: false,
    };
    if !write(
        sheet,
        way,
        &tag.text,
        &heights(sheet, &WORD_HEIGHTS),
        search,
    ) {
        spare(sheet, way, &tag.text, search);
    }
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
fn line_name(sheet: &mut Sheet, way: &Way, tag: &Tag) {
    let run = way.at_t(&sheet.ribs, tag.t);
    for h in heights(sheet, &TAG_HEIGHTS) {
        let edge = edge_row(sheet, h);
        let by_tick = [edge, 1.0 - edge, 1.4 * edge, 1.0 - 1.4 * edge];
        let rows = if tag.w == 0.0 {
            &by_tick[..]
        } else {
            &ROWS[..]
        };
        let start = 0.5 * letters::width(&tag.text) * h + NAME_GAP;
        let search = Search {
            run,
            reach: (start, start + BESIDE),
            rows,
            upright: false,
        };
        if write(sheet, way, &tag.text, &[h], search) {
            return;
        }
    }
    let search = Search {
        run,
        reach: (BESIDE / 6.0, 2.0 * BESIDE),
        rows: &ROWS,
        upright: false,
    };
    spare(sheet, way, &tag.text, search);
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
fn halves(sheet: &Sheet, way: &Way) -> Vec<Half> {
    let centre = sheet.input.features.iter().find_map(|f| match f {
        Feature::CrossLine {
            t,
            kind: CrossKind::Centreline,
            ..
        } => Some(way.at_t(&sheet.ribs, *t)),
        _ => None,
    });
    let length = way.length();
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
        }
    }
}

/// Its side of the boat, which the part's name does not tell.
fn side(sheet: &mut Sheet, way: &Way, half: &Half) {
    let text = match half.side {
        Side::Port => "PORT",
        Side::Starboard => "STBD",
    };
    let search = half.about(0.6, &ROWS);
    if !write(sheet, way, text, &heights(sheet, &WORD_HEIGHTS), search) {
        spare(sheet, way, text, search);
    }
}

/// An arrow forward.
fn arrow(sheet: &mut Sheet, way: &Way, half: &Half) {
    let (text, back) = ("FWD", half.back);
    let search = half.about(0.72, &ROWS[..5]);
    for h in heights(sheet, &WORD_HEIGHTS) {
        let letters_width = letters::width(text) * h;
        let (gap, shaft) = (ARROW_GAP * h, ARROW * h);
        let size = vec2(letters_width + gap + shaft, h);
        let Some(block) = way.find(sheet, size, search) else {
            continue;
        };
        let at = block.centre;
        let grows = sheet
            .ribs
            .iter()
            .min_by(|a, b| middle(a).distance(at).total_cmp(&middle(b).distance(at)))
            .map_or(vec2(1.0, 0.0), |r| r.along);
        let right = (grows.dot(block.along) > 0.0) != back;
        let (text_x, tail, tip) = if right {
            (0.0, letters_width + gap, size.x)
        } else {
            (shaft + gap, shaft, 0.0)
        };
        let barb = if right { -0.7 * h } else { 0.7 * h };
        let mut strokes: Vec<Vec<Vec2>> = letters::strokes(text)
            .into_iter()
            .map(|s| s.into_iter().map(|p| p * h + vec2(text_x, 0.0)).collect())
            .collect();
        strokes.push(vec![vec2(tail, 0.5 * h), vec2(tip, 0.5 * h)]);
        strokes.push(vec![
            vec2(tip + barb, 0.85 * h),
            vec2(tip, 0.5 * h),
            vec2(tip + barb, 0.15 * h),
        ]);
        mark(sheet, block, &strokes);
        return;
    }
    sheet.left_out.push("forward arrow".to_owned());
}

/// Near the outboard edge and nowhere else: in the middle it would mislead.
fn outboard(sheet: &mut Sheet, way: &Way) {
    let text = "OUTB'D";
    let run = way.favoured(sheet, 0.5);
    for h in heights(sheet, &WORD_HEIGHTS[1..]) {
        let edge = edge_row(sheet, h);
        let rows = [edge, (1.3 * edge).min(0.3), (1.7 * edge).min(0.3)];
        if write(sheet, way, text, &[h], way.everywhere(run, &rows)) {
            return;
        }
    }
    let rows = [edge_row(sheet, SPARE_HEIGHTS[1])];
    spare(sheet, way, text, way.everywhere(run, &rows));
}

/// Box of lines of text, as wide as any viewer draws them.
fn label_size(lines: &[String], h: f64) -> Vec2 {
    let longest = lines.iter().map(|l| l.chars().count()).max().unwrap_or(0);
    vec2(
        longest as f64 * LABEL_ADVANCE * h,
        lines.len() as f64 * LABEL_PITCH * h,
    )
}

/// Lines of text for people in one box, at the first height with room.
fn label(sheet: &mut Sheet, way: &Way, lines: &[String], heights: &[f64], s: Search) -> bool {
    let found = heights
        .iter()
        .find_map(|&h| way.find(sheet, label_size(lines, h), s));
    if let Some(block) = found {
        sheet.field.add_block(block, WORD_GAP);
        put_label(sheet, block, lines);
    }
    found.is_some()
}

/// Fills a box with lines of text.
fn put_label(sheet: &mut Sheet, block: Block, lines: &[String]) {
    sheet.labels.push(Label {
        at: block.place(vec2(0.0, 0.0)),
        height: 2.0 * block.half.y / (lines.len() as f64 * LABEL_PITCH),
        angle: block.along.angle(),
        lines: lines.to_vec(),
    });
}

impl Label {
    /// Length and height of the box, mm.
    #[must_use]
    pub fn size(&self) -> Vec2 {
        label_size(&self.lines, self.height)
    }

    /// Every line from the top, and its lower left corner from that of the box
    /// before its turn, mm.
    pub fn placed(&self) -> impl Iterator<Item = (&str, Vec2)> {
        let below = (0..self.lines.len()).rev();
        self.lines.iter().zip(below).map(|(text, k)| {
            let y = (LABEL_PITCH * k as f64 + LABEL_BELOW) * self.height;
            (text.as_str(), vec2(0.0, y))
        })
    }
}

/// The largest room that is left for the name.
fn caption(sheet: &Sheet, way: &Way) -> Option<Caption> {
    let letters = sheet.input.name.chars().count() as f64;
    let search = way.everywhere(way.favoured(sheet, 0.5), &ROWS);
    CAPTION_HEIGHTS.iter().find_map(|&height| {
        let block = way.find(sheet, vec2(letters * LABEL_ADVANCE, 1.0) * height, search)?;
        Some(Caption {
            centre: block.centre,
            angle: block.along.angle(),
            height,
        })
    })
}

/// Keeps room for the label with the part's name, in case the box with all
/// lines finds none.
fn name_spot(sheet: &mut Sheet, way: &Way, show: Show) -> Result<Block, Fault> {
    let lines = [ascii(sheet.input.name)];
    let along = way.everywhere(way.favoured(sheet, 0.55), &ROWS);
    let upright = Search {
        upright: true,
        ..along
    };
    for h in NAME_LABEL_HEIGHTS {
        for search in [along, upright] {
            if let Some(block) = way.find(sheet, label_size(&lines, h), search) {
                sheet.field.add_block(block, LINE_CLEAR);
                return Ok(block);
            }
        }
    }
    Err(sheet.input.fault(
        format!(
            "the label with its name finds no room, even {} high",
            told(NAME_LABEL_HEIGHTS[NAME_LABEL_HEIGHTS.len() - 1], show)
        ),
        "give it a shorter name, or fewer holes",
    ))
}

/// Name, material, place and face: in one box, else each where it fits.
fn labels(sheet: &mut Sheet, way: &Way, spot: Block, show: Show) {
    let input = sheet.input;
    let kind = match input.kind {
        MemberKind::BasePlate => "base plate",
        MemberKind::TopPlate => "top plate",
        MemberKind::Doubler => "doubler",
    };
    let face = match input.marked {
        Face::Upper => "seen from above",
        Face::Lower => "seen from below",
    };
    let lines = [
        format!("{} {kind}, {face}", input.name),
        format!(
            "{} {}, qty 1",
            input.alloy,
            quantity::thickness(input.thickness, show)
        ),
        input.place.to_owned(),
    ]
    .map(|l| ascii(&l));
    let search = way.everywhere(way.favoured(sheet, 0.6), &ROWS);
    if label(sheet, way, &lines, &LABEL_HEIGHTS, search) {
        return;
    }
    put_label(sheet, spot, &[ascii(input.name)]);
    for line in [
        format!("{kind}, {face}"),
        lines[1].clone(),
        lines[2].clone(),
    ] {
        spare(sheet, way, &line, search);
    }
}
