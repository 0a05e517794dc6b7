//! Text for people: a part's label, which is always one block, and the room
//! for its name on a sheet's picture.
//!
//! The label has three lines: name, kind and face; material; place. Without
//! room for them at a usual height its words are folded into lines of other
//! lengths, the largest letters first; without room at the least height too,
//! the block is the name alone. Room for it is kept before the marked words
//! take theirs, and given back when it is written.

use crate::dxf::{ascii, wrapped};
use crate::geom::vec2;
use crate::layout::{Face, MemberKind};
use crate::length::Show;
use crate::quantity;

use super::detailed::{Caption, LABEL_ADVANCE, Label, Part};
use super::input::PartInput;
use super::room::Block;
use super::search::{ROWS, Search};
use super::sheet::{Sheet, WORD_GAP};

/// Usual heights of the label, mm.
const HEIGHTS: [f64; 4] = [8.0, 6.0, 5.0, 4.0];
/// Heights where there is little room, mm: lower than the last no letter is
/// read on a drawing (ISO 3098-1 has 2.5 mm, and 1.8 mm as its least; from
/// memory).
const SMALL_HEIGHTS: [f64; 3] = [4.0, 3.0, 2.5];
/// Letters in a line of words folded to find room: two long lines for a
/// narrow strip, many short ones for a short piece.
const FOLDS: [usize; 4] = [56, 30, 20, 14];
/// Its favoured place, over the strip's length from the after end.
const RUN: f64 = 0.6;
/// Places across the width for what keeps off the middle.
const ROWS_BY_EDGE: [f64; 7] = [0.8, 0.2, 0.7, 0.3, 0.6, 0.4, 0.5];
/// Heights of a line of text in place of letters that found no room, mm.
pub(super) const LINE_HEIGHTS: [f64; 2] = [5.0, 4.0];
/// Heights of the name on a sheet's picture, mm: a picture as wide as a screen
/// shows a sheet of 6 m at a quarter of a point to the millimetre.
const CAPTION_HEIGHTS: [f64; 11] = [
    100.0, 80.0, 64.0, 50.0, 40.0, 32.0, 25.0, 20.0, 16.0, 12.0, 10.0,
];
/// Clear ground round that name, in its heights: on a picture what is nearer
/// touches it.
const CAPTION_AIR: f64 = 0.3;

fn kind(kind: MemberKind) -> &'static str {
    match kind {
        MemberKind::BasePlate => "base plate",
        MemberKind::TopPlate => "top plate",
        MemberKind::Doubler => "doubler",
        MemberKind::Cap => "wood cap",
    }
}

fn face(face: Face) -> &'static str {
    match face {
        Face::Upper => "seen from above",
        Face::Lower => "seen from below",
    }
}

fn material(alloy: &str, thickness: f64, show: Show) -> String {
    let thickness = quantity::thickness(thickness, show);
    format!("{alloy} {thickness}, qty 1")
}

impl Part {
    /// What it is, what of, and where it goes: a line each; `other_face`: as
    /// it is seen from its other side.
    #[must_use]
    pub fn told(&self, show: Show, other_face: bool) -> [String; 3] {
        let seen = match (self.face, other_face) {
            (Face::Upper, false) | (Face::Lower, true) => Face::Upper,
            _ => Face::Lower,
        };
        [
            format!("{}, {}", kind(self.kind), face(seen)),
            material(&self.alloy, self.thickness, show),
            self.place.clone(),
        ]
    }
}

/// The words of a label in every form that it may take.
#[derive(Debug)]
pub(super) struct Words {
    /// Three lines, then folded.
    forms: Vec<Vec<String>>,
    /// The name alone.
    name: [Vec<String>; 1],
}

impl Words {
    pub(super) fn of(input: &PartInput, show: Show) -> Self {
        let lines = [
            format!(
                "{} {}, {}",
                input.name,
                kind(input.kind),
                face(input.marked)
            ),
            material(input.alloy, input.thickness, show),
            input.place.to_owned(),
        ]
        .map(|l| ascii(&l));
        let folded = FOLDS.map(|most| folded(&lines, most));
        Self {
            forms: [vec![lines.to_vec()], folded.to_vec()].concat(),
            name: [vec![ascii(input.name)]],
        }
    }

    /// Keeps room for the block by an edge at its least height: marked words,
    /// which are cut into the metal, come before a larger one.
    pub(super) fn keep(&self, sheet: &mut Sheet) {
        let least = &SMALL_HEIGHTS[SMALL_HEIGHTS.len() - 1..];
        let along = sheet.everywhere(sheet.favoured(RUN), &ROWS_BY_EDGE);
        let searches = [along, along.upright()];
        let found = find(sheet, least, &self.forms, &searches)
            .or_else(|| find(sheet, least, &self.name, &searches));
        sheet.field.kept = found.map(|(_, block)| (block, WORD_GAP));
    }

    /// Writes the block.
    pub(super) fn write(&self, sheet: &mut Sheet) {
        sheet.field.kept = None;
        let along = sheet.everywhere(sheet.favoured(RUN), &ROWS);
        let searches = [along, along.upright()];
        let whole = find(sheet, &HEIGHTS, &self.forms[..1], &searches[..1])
            .or_else(|| find(sheet, &SMALL_HEIGHTS, &self.forms, &searches));
        if whole.is_none() {
            sheet.left_out.push("its label".to_owned());
        }
        let found = whole.or_else(|| find(sheet, &SMALL_HEIGHTS, &self.name, &searches));
        if let Some((lines, block)) = found {
            put(sheet, block, lines);
        }
    }
}

/// The lines' phrases, as many on a line as it holds; a longer phrase is broken.
fn folded(lines: &[String], most: usize) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let phrases = lines.iter().flat_map(|l| l.split(", "));
    for phrase in phrases.flat_map(|p| wrapped(p, most)) {
        match out.last_mut() {
            Some(line) if line.len() + 2 + phrase.len() <= most => {
                line.push_str(", ");
                line.push_str(&phrase);
            }
            _ => out.push(phrase),
        }
    }
    out
}

/// The first of some forms that finds room, the largest letters first.
fn find<'a>(
    sheet: &Sheet,
    heights: &[f64],
    forms: &'a [Vec<String>],
    searches: &[Search],
) -> Option<(&'a [String], Block)> {
    let tries = searches.iter().flat_map(|&search| {
        heights.iter().flat_map(move |&h| {
            let sized = move |lines: &'a Vec<String>| (&lines[..], Label::room(lines, h), search);
            forms.iter().map(sized)
        })
    });
    sheet.first(tries)
}

/// Fills a box with lines of text.
fn put(sheet: &mut Sheet, block: Block, lines: &[String]) {
    sheet.field.add_block(block, WORD_GAP);
    sheet.labels.push(Label {
        at: block.place(vec2(0.0, 0.0)),
        height: 2.0 * block.half.y / Label::room(lines, 1.0).y,
        angle: block.along.angle(),
        lines: lines.to_vec(),
    });
}

/// A line of text in place of letters that found no room.
pub(super) fn line(sheet: &mut Sheet, text: &str, search: Search) {
    let lines = [text.to_owned()];
    let sized = |&h: &f64| ((), Label::room(&lines, h), search);
    match sheet.first(LINE_HEIGHTS.iter().map(sized)) {
        Some(((), block)) => put(sheet, block, &lines),
        None => sheet.left_out.push(text.to_owned()),
    }
}

/// The largest room that is left for the name.
pub(super) fn caption(sheet: &Sheet) -> Option<Caption> {
    let letters = sheet.input.name.chars().count() as f64 * LABEL_ADVANCE;
    let search = sheet.everywhere(sheet.favoured(0.5), &ROWS);
    let room = vec2(letters + 2.0 * CAPTION_AIR, 1.0 + 2.0 * CAPTION_AIR);
    let (height, block) = sheet.first(CAPTION_HEIGHTS.map(|h| (h, room * h, search)))?;
    Some(Caption {
        centre: block.centre,
        angle: block.along.angle(),
        height,
    })
}
