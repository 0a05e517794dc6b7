//! Stanchions as a saw cuts them: a table, and a sketch of what its angles are
//! and which way they count, as `lists/stanchions-legend.txt` says it.

use super::input::Boat;
use super::model::{FloorSheet, LEAST_LETTER, NAME, Stand, Stroke};
use crate::geom::{Vec2, trig, vec2};
use crate::layout::Stanchion;
use crate::length::show;
use crate::quantity::Quantity::Angle;

/// Height of a row, mm.
const ROW: f64 = 4.7;
/// Rows of the head of a table.
const HEAD: usize = 3;
/// Columns of a table, mm: number, length, three angles of foot and of head,
/// lean.
const COLUMNS: [f64; 9] = [13.0, 31.0, 15.0, 15.0, 15.0, 15.0, 15.0, 15.0, 15.0];
/// Width of the sketch, mm.
const SKETCH: f64 = 92.0;
/// The angle that the sketch shows, rad.
const SHOWN: f64 = 0.3;

/// Sheets of the table for a room of this size, mm.
pub(super) fn stanchion_sheets(boat: &Boat<'_>, room: Vec2) -> Vec<FloorSheet> {
    let all: Vec<&Stanchion> = boat.stanchions().collect();
    let wide: f64 = COLUMNS.iter().sum();
    let free = |w: f64| ((w / (wide + 4.0)).floor()).max(1.0);
    let tables = whole(free(room.x - SKETCH));
    let rows = whole(((room.y - 8.0) / ROW).floor()) - HEAD;
    let pages = all.chunks((tables * rows).max(1)).enumerate();
    let drawn = pages.map(|(k, some)| {
        let mut sheet = FloorSheet {
            name: format!("stanchions {}", k + 1),
            heading: "Stanchions: lengths and cuts".to_owned(),
            scale: None,
            shows: "A sketch of a tube's end, seen from outboard and from aft: angles count \
                    from a cut square across, above 0 where the cut rises towards forward \
                    and towards inboard."
                .to_owned(),
            ..FloorSheet::default()
        };
        // Even columns: a table no longer than the other.
        let each = some.len().div_ceil(tables).max(1);
        for (i, part) in some.chunks(each).enumerate() {
            let left = i as f64 * (wide + 4.0);
            table(&mut sheet, boat, part, vec2(left, room.y));
        }
        let on_centreline = all.iter().any(|s| s.side.is_none());
        let at = vec2(room.x - SKETCH + 4.0, room.y - 6.0);
        sketch(&mut sheet, at, on_centreline);
        sheet
    });
    drawn.collect()
}

fn whole(count: f64) -> usize {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to a small count"
    )]
    let n = count.clamp(1.0, 1000.0) as usize;
    n
}

/// A table from its upper left corner.
fn table(sheet: &mut FloorSheet, boat: &Boat<'_>, some: &[&Stanchion], at: Vec2) {
    let wide: f64 = COLUMNS.iter().sum();
    let shown = boat.job.show;
    let heads = [
        ["", "", "foot", "", "", "head", "", "", "lean"],
        [
            "", "length,", "rise", "rise", "saw", "rise", "rise", "saw", "out-",
        ],
        [
            "No.",
            "long points",
            "fwd",
            "inb'd",
            "tilt",
            "fwd",
            "inb'd",
            "tilt",
            "board",
        ],
    ];
    let mut y = at.y;
    let mut row = |sheet: &mut FloorSheet, index: usize, cells: [String; 9], head: bool| {
        y -= ROW;
        let mut x = at.x + 1.0;
        for (cell, wide) in cells.into_iter().zip(COLUMNS) {
            if !cell.is_empty() {
                let stand = Stand::Cell(index, head);
                sheet.tag(cell, LEAST_LETTER, vec2(x, y), stand);
            }
            x += wide;
        }
        y
    };
    for (k, cells) in heads.into_iter().enumerate() {
        row(sheet, k, cells.map(str::to_owned), true);
    }
    let under = at.y - HEAD as f64 * ROW - 1.3;
    sheet.line(Stroke::Edge, vec2(at.x, under), vec2(at.x + wide, under));
    let angle = |rad: f64| Angle.figure(rad, shown);
    for (k, s) in some.iter().enumerate() {
        let (f, h) = (&s.foot_cut, &s.head_cut);
        let cells = [
            s.name.clone(),
            show(s.length, shown),
            angle(f.rise_forward),
            angle(f.rise_inboard),
            angle(f.saw_tilt()),
            angle(h.rise_forward),
            angle(h.rise_inboard),
            angle(h.saw_tilt()),
            angle(s.lean),
        ];
        let below = row(sheet, HEAD + k, cells, false) - 1.3;
        sheet.line(Stroke::Thin, vec2(at.x, below), vec2(at.x + wide, below));
    }
    // Between foot and head.
    let (mut x, bottom) = (at.x, under - ROW * some.len() as f64);
    for (k, wide) in COLUMNS.into_iter().enumerate() {
        if [2, 5, 8].contains(&k) {
            let line = [vec2(x - 0.5, at.y - 1.0), vec2(x - 0.5, bottom)];
            sheet.line(Stroke::Thin, line[0], line[1]);
        }
        x += wide;
    }
}

/// A tube seen from one side, its foot and head cut so that they rise towards
/// the way by the angle shown: corners from the foot on the left, round.
fn tube(width: f64, height: f64, way: f64) -> [Vec2; 4] {
    let rise = width * trig::tan(SHOWN) * way;
    [
        vec2(0.0, (-rise).max(0.0)),
        vec2(width, rise.max(0.0)),
        vec2(width, height + rise.max(0.0)),
        vec2(0.0, height + (-rise).max(0.0)),
    ]
}

/// What the table's figures are, from an upper left corner.
fn sketch(sheet: &mut FloorSheet, at: Vec2, on_centreline: bool) {
    let views = [
        (
            "port side, seen from outboard",
            "forward",
            "aft",
            -1.0,
            "rise fwd above 0",
        ),
        (
            "port side, seen from aft",
            "outb'd",
            "inb'd",
            1.0,
            "rise inb'd above 0",
        ),
    ];
    sheet.tag("WHAT THE ANGLES ARE", NAME, at, Stand::At);
    let (width, height) = (20.0, 52.0);
    let mut y = at.y;
    for (seen, left, right, way, rises) in views {
        y -= 8.0;
        sheet.tag(seen, LEAST_LETTER, vec2(at.x, y), Stand::At);
        let foot = vec2(at.x + 28.0, y - height - 14.0);
        let corners = tube(width, height, way).map(|p| foot + p);
        let round = [corners[0], corners[1], corners[2], corners[3], corners[0]];
        sheet.stroke(Stroke::Edge, round.to_vec());
        // Square across, from the low corner of each cut.
        let low = if way > 0.0 { 0 } else { 1 };
        for (corner, up) in [(corners[low], 0.0), (corners[3 - low], 0.0)] {
            let far = if way > 0.0 { width + 5.0 } else { -width - 5.0 };
            sheet.line(Stroke::Dashed, corner, corner + vec2(far, up));
        }
        let mid = y - height / 2.0 - 9.0;
        let below = foot.y - 6.0;
        sheet.tag(left, LEAST_LETTER, vec2(at.x + 4.0, mid), Stand::At);
        sheet.tag(right, LEAST_LETTER, vec2(at.x + 56.0, mid), Stand::At);
        sheet.tag(rises, LEAST_LETTER, vec2(at.x + 20.0, below), Stand::At);
        if way < 0.0 {
            // From the lowest corner of the foot to the highest of the head.
            let x = foot.x + width + 4.0;
            let (lo, hi) = (foot.y, corners[3].y);
            sheet.line(Stroke::Thin, vec2(x, lo), vec2(x, hi));
            for (end, from) in [(lo, corners[1].x), (hi, corners[3].x)] {
                sheet.line(Stroke::Thin, vec2(from, end), vec2(x + 1.5, end));
            }
            let on = vec2(x, hi - 10.0);
            sheet.tag("length", LEAST_LETTER, on, Stand::By(vec2(1.0, 0.0)));
        }
        y = below;
    }
    let mut notes = vec![
        "Both cuts rise alike when foot and head have",
        "the same figures: parallel cuts.",
        "rise fwd: swing of the saw, the tube on its",
        "outboard face. saw tilt: of the blade with",
        "that swing. All in degrees from square.",
        "Starboard counts the same: forward and",
        "inboard are above 0 on both sides.",
    ];
    if on_centreline {
        notes.push("1C: forward is to port.");
    }
    let notes: Vec<String> = notes.into_iter().map(str::to_owned).collect();
    sheet.notes(vec2(at.x, y - 2.0), LEAST_LETTER, &notes);
}

#[cfg(test)]
mod tests {
    use super::*;

    /// As the legend draws it: seen from outboard on port forward is on the
    /// left, and a cut that rises forward is higher there; seen from aft
    /// inboard is on the right, and higher where it rises inboard.
    #[test]
    fn the_sketch_rises_the_way_that_the_legend_says() {
        let [left, right, ..] = tube(20.0, 50.0, -1.0);
        assert!(left.y > right.y);
        let rise = trig::atan2(left.y - right.y, 20.0);
        assert!((rise - SHOWN).abs() < 1e-12);
        let [left, right, above, _] = tube(20.0, 50.0, 1.0);
        assert!(right.y > left.y && (above.y - right.y - 50.0).abs() < 1e-12);
    }
}
