use proptest::prelude::*;

use super::super::cover::groups;
use super::*;

const A4: Field = Field {
    width: 190.0,
    length: 277.0,
    overlap: 10.0,
    roll: false,
};

/// A closed polygon as lines to cover.
fn lines(points: &[Vec2]) -> Lines {
    let n = points.len();
    Lines {
        chords: (0..n).map(|k| [points[k], points[(k + 1) % n]]).collect(),
        holes: Vec::new(),
    }
}

fn rectangle(w: f64, h: f64) -> Lines {
    lines(&[vec2(0.0, 0.0), vec2(w, 0.0), vec2(w, h), vec2(0.0, h)])
}

/// Every place of every chord is on a page.
fn covered(lines: &Lines, cover: &Cover) -> bool {
    let inside = |p: Vec2| {
        let p = p.turned(cover.turn);
        cover.cells.iter().any(|&cell| {
            let d = p - cover.corner(cell);
            let tiny = 1e-4;
            d.x >= -tiny
                && d.y >= -tiny
                && d.x <= cover.field.width + tiny
                && d.y <= cover.field.length + tiny
        })
    };
    let along = |c: &[Vec2; 2]| (0..=100).all(|k| inside(c[0].lerp(c[1], f64::from(k) / 100.0)));
    lines.chords.iter().all(along)
}

#[test]
fn a_strip_takes_the_pages_that_its_length_says() {
    // n pages in a row show n (277 - 10) + 10 mm.
    for (length, pages) in [
        (100.0, 1),
        (277.0, 1),
        (278.0, 2),
        (544.0, 2),
        (545.0, 3),
        (2680.0, 10),
    ] {
        let strip = rectangle(length, 150.0);
        let cover = cover(&strip, A4).unwrap();
        assert!(covered(&strip, &cover));
        assert_eq!(cover.cells.len(), pages, "{length}");
    }
    assert!(cover(&Lines::default(), A4).is_none());
}

#[test]
fn a_page_without_ink_is_left_out() {
    // A frame of 3 by 3 pages: nothing is drawn on the one in the middle.
    let frame = rectangle(560.0, 800.0);
    let cover = cover(&frame, A4).unwrap();
    assert!(covered(&frame, &cover));
    assert_eq!(cover.cells.len(), 10);
    assert_eq!(groups(&cover.cells).len(), 1);
}

#[test]
fn joints_keep_off_holes_where_the_count_allows() {
    let mut strip = rectangle(500.0, 100.0);
    // The joint may lie anywhere from 223 to 277 mm but where the holes are.
    for k in 0..5 {
        strip
            .holes
            .push((vec2(232.0 + 10.0 * f64::from(k), 50.0), 3.0));
    }
    let on_holes = |cover: &Cover| {
        let at = |&(c, r): &(Vec2, f64)| (c.turned(cover.turn), r);
        let holes: Vec<(Vec2, f64)> = strip.holes.iter().map(at).collect();
        cover.score(&holes).joints_on_holes
    };
    let found = cover(&strip, A4).unwrap();
    assert_eq!((found.cells.len(), on_holes(&found)), (2, 0));
    let mut through = found.clone();
    // A joint through the third hole, on a page turned as this is.
    let middle = strip.holes[2].0.turned(found.turn).y;
    through.origin.y = middle - 277.0 + 5.0;
    assert_eq!(on_holes(&through), 1);
}

#[test]
fn a_roll_is_cut_where_the_drawing_ends() {
    let roll = Field {
        width: 894.4,
        length: 5060.0,
        overlap: 10.0,
        roll: true,
    };
    let cover = cover(&rectangle(3000.0, 160.0), roll).unwrap();
    assert_eq!(cover.cells.len(), 1);
    // Aslant across the roll it is shorter than along it.
    assert!(cover.field.length < 2950.0, "{}", cover.field.length);
    assert!(covered(&rectangle(3000.0, 160.0), &cover));
}

#[test]
fn what_hangs_apart_is_joined_by_pages_between() {
    // Two squares, far from each other both ways.
    let mut two = rectangle(50.0, 50.0);
    let far = rectangle(50.0, 50.0).chords;
    let away = vec2(900.0, 1300.0);
    two.chords.extend(far.iter().map(|c| c.map(|p| p + away)));
    let cover = cover(&two, A4).unwrap();
    assert_eq!(groups(&cover.cells).len(), 1);
    assert!(covered(&two, &cover));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    /// Whatever is drawn is on a page, and no more pages are taken than by
    /// a plain count of fields with ink at any of many turns and shifts.
    #[test]
    fn all_ink_is_covered_by_no_more_pages_than_a_plain_count(
        length in 100.0..1500.0f64,
        width in 60.0..300.0f64,
        camber in -120.0..120.0f64,
    ) {
        let bent = |k: usize, y: f64| {
            let f = k as f64 / 20.0;
            vec2(f * length, y + camber * 4.0 * f * (1.0 - f))
        };
        let mut points: Vec<Vec2> = (0..=20).map(|k| bent(k, 0.0)).collect();
        points.extend((0..=20).rev().map(|k| bent(k, width)));
        let strip = lines(&points);
        let found = cover(&strip, A4).unwrap();
        prop_assert!(covered(&strip, &found));
        prop_assert!(found.cells.len() <= plain_count(&points));
    }
}

/// Fewest fields that hold a place of the outline, at every ninth degree and
/// 11 by 11 shifts, the drawing's lower left corner in the first field; the
/// places are close together.
fn plain_count(points: &[Vec2]) -> usize {
    let n = points.len();
    let dense: Vec<Vec2> = (0..n)
        .flat_map(|k| (0..20).map(move |i| (k, f64::from(i) / 20.0)))
        .map(|(k, f)| points[k].lerp(points[(k + 1) % n], f))
        .collect();
    let mut fewest = usize::MAX;
    for degrees in (0..360).step_by(9) {
        let turned: Vec<Vec2> = dense
            .iter()
            .map(|p| p.turned(f64::from(degrees).to_radians()))
            .collect();
        let lo = turned
            .iter()
            .fold(turned[0], |l, p| vec2(l.x.min(p.x), l.y.min(p.y)));
        for i in 0..11 {
            for j in 0..11 {
                let pitch = A4.pitch();
                let shift = vec2(f64::from(i) / 11.0 * pitch.x, f64::from(j) / 11.0 * pitch.y);
                let cells: BTreeSet<(usize, usize)> = turned
                    .iter()
                    .map(|&p| {
                        let d = p - lo + shift;
                        (
                            count((d.y / pitch.y).floor()),
                            count((d.x / pitch.x).floor()),
                        )
                    })
                    .collect();
                fewest = fewest.min(cells.len());
            }
        }
    }
    fewest
}
