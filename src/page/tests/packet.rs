use std::collections::BTreeSet;

use kurbo::{BezPath, ParamCurve as _};

use super::super::model::{Ink, Pen};
use super::*;
use crate::drawing::{Drawing, Item, Layer, Shape, Shows, pattern_drawing};
use crate::geom::{Outline, Placement, Vec2};
use crate::job::Paper;
use crate::sample;

fn print(size: &str, scale: (f64, f64)) -> Print {
    Print {
        paper: Paper::of(size, 10.0, 10.0, Show::Mm).unwrap(),
        scale,
    }
}

fn made(print: &Print) -> Packet {
    let part = sample::ring_sector("B1");
    let about = part.told(Show::Mm, false).to_vec();
    let drawing = pattern_drawing(&part, &sample::job(), Shows::Part, Placement::IDENTITY);
    packet_of(about, drawing, print)
}

fn packet_of(about: Vec<String>, drawing: Drawing, print: &Print) -> Packet {
    let job = sample::job();
    let patterns = [Pattern {
        name: "B1".into(),
        about,
        drawing,
        shares: Vec::new(),
    }];
    let of = Patterns {
        job: &job.name,
        date: &job.date,
        notice: None,
        show: Show::Mm,
        shows: Shows::Part,
        patterns: &patterns,
    };
    packet(&of, print)
}

fn words(page: &Page) -> Vec<&str> {
    words_of(page).collect()
}

fn words_of(page: &Page) -> impl Iterator<Item = &str> {
    fn text(i: &Ink) -> Option<&str> {
        match i {
            Ink::Words { text, .. } => Some(text),
            _ => None,
        }
    }
    page.ink().filter_map(text)
}

/// Width and height of every line as wide as a cut's, mm.
fn lengths(page: &Page) -> Vec<(String, String)> {
    fn size(i: &Ink) -> Option<(String, String)> {
        match i {
            Ink::Line { path, pen } if *pen == Pen::black(0.25) => {
                let b = kurbo::Shape::bounding_box(path);
                Some((trimmed(b.width(), 6), trimmed(b.height(), 6)))
            }
            _ => None,
        }
    }
    page.ink().filter_map(size).collect()
}

#[test]
fn nothing_of_any_page_is_outside_its_printable_box() {
    for size in ["A4", "Letter", "A0", "36 in roll", "80 x 130 mm"] {
        for scale in [(1.0, 1.0), (1.09, 0.91)] {
            let print = print(size, scale);
            for page in made(&print)
                .pages
                .iter()
                .chain(&test_page("job", "", Show::Mm, &print).pages)
            {
                let inside = page.printable.inflate(1e-6, 1e-6);
                for ink in page.ink() {
                    let b = ink.bounds();
                    let within = b.x0 >= inside.x0
                        && b.y0 >= inside.y0
                        && b.x1 <= inside.x1
                        && b.y1 <= inside.y1;
                    assert!(within, "{size} {}: {ink:?}", page.label);
                }
            }
        }
    }
}

#[test]
fn pages_have_names_of_their_own_and_those_of_their_neighbours() {
    let packet = made(&print("A4", (1.0, 1.0)));
    let labels: BTreeSet<&str> = packet.pages.iter().map(|p| p.label.as_str()).collect();
    assert_eq!(labels.len(), packet.pages.len());
    assert_eq!(packet.pages[0].label, "front 1");
    let tiles = &packet.pages[1..];
    assert!(tiles.len() > 2, "{labels:?}");
    let text = |p: &Page| words(p).join("|");
    for page in tiles {
        assert!(text(page).contains(&page.label), "{}", text(page));
    }
    // A row or column of pages: each names those beside it.
    for pair in tiles.windows(2) {
        assert!(words(&pair[0]).contains(&pair[1].label.as_str()));
        assert!(words(&pair[1]).contains(&pair[0].label.as_str()));
    }
    let bookmarks: Vec<usize> = packet
        .pages
        .iter()
        .flat_map(|p| &p.bookmarks)
        .map(|b| b.0)
        .collect();
    assert_eq!(bookmarks[..3], [0, 0, 1]);
}

#[test]
fn every_page_bears_both_bars_both_ways_and_the_test_page_the_longest() {
    let named = |(a, b): (&str, &str)| (a.to_owned(), b.to_owned());
    let print = print("A4", (1.0, 1.0));
    for page in &made(&print).pages {
        for bar in [("100", "0"), ("101.6", "0"), ("0", "100"), ("0", "101.6")].map(named) {
            let count = lengths(page).iter().filter(|l| **l == bar).count();
            assert_eq!(count, 1, "{}: {bar:?}", page.label);
        }
    }
    let test = test_page("job", "", Show::Mm, &print);
    let all = lengths(&test.pages[0]);
    // Of 190 by 277 mm: 180 mm and 7 in across; above 20 mm 250 mm and 10 in.
    for bar in [("180", "0"), ("177.8", "0"), ("0", "250"), ("0", "254")].map(named) {
        assert!(all.contains(&bar), "{bar:?}: {all:?}");
    }
}

#[test]
fn the_first_sheet_tells_the_chords_of_the_part() {
    let packet = made(&print("A4", (1.0, 1.0)));
    let told = words(&packet.pages[0]).join(" ");
    // A sector of 2000 and 1800 mm over 0.5 rad: see the sample.
    let part = sample::ring_sector("B1");
    let v = &part.outline.vertices;
    let diagonal = v[0].at.distance(v[2].at);
    let longest = v[2].at.distance(v[3].at);
    for mm in [diagonal, longest] {
        let figure = format!("{} mm", trimmed((mm * 10.0).round() / 10.0, 3));
        assert!(told.contains(&figure), "{figure} in {told}");
    }
}

#[test]
fn a_part_that_fits_is_on_one_page_and_the_same_bytes_come_again() {
    let roll = print("36 in roll", (1.0, 1.0));
    let packet = made(&roll);
    assert_eq!(packet.pages.len(), 2);
    assert!(packet.pages.iter().all(|p| p.paper.height < 1100.0));
    assert_eq!(packet, made(&roll));
}

#[test]
fn an_arc_that_touches_the_edge_of_its_field_is_shown_whole() {
    // A disc as wide as the field: chords of it are narrower.
    let print = print("A4", (1.0, 1.0));
    let field = print.field();
    let radius = 0.5 * field.width + 0.004;
    let mut drawing = Drawing {
        name: "D".into(),
        ..Drawing::default()
    };
    let disc = Outline::circle(vec2(0.0, 0.0), radius);
    drawing.items.push(Item {
        layer: Layer::Cut,
        shape: Shape::Profile(disc),
    });
    let pattern = Pattern {
        name: "D".into(),
        about: Vec::new(),
        drawing,
        shares: Vec::new(),
    };
    let tiles = tiles(&pattern, &print, "job").unwrap();
    let shown: f64 = (tiles.pages.iter().flat_map(Page::ink))
        .filter_map(|i| match i {
            Ink::Line { path, pen } if *pen == Pen::black(0.25) && path.segments().count() > 3 => {
                Some(kurbo::Shape::perimeter(path, 1e-3))
            }
            _ => None,
        })
        .sum();
    assert_eq!(tiles.pages.len(), 1);
    assert!(
        (shown - std::f64::consts::TAU * radius).abs() < 0.01,
        "{shown}"
    );
}

/// Boxes of ink in blocks of a kind of role.
fn boxes<'a>(
    page: &'a Page,
    role: impl Fn(&Role) -> bool + 'a,
    ink: impl Fn(&Ink) -> bool + 'a,
) -> impl Iterator<Item = kurbo::Rect> + 'a {
    let blocks = page.blocks.iter().filter(move |b| role(&b.role));
    blocks
        .flat_map(|b| &b.ink)
        .filter(move |i| ink(i))
        .map(Ink::bounds)
}

/// Pages but the first sheets.
fn tiled(packet: &Packet) -> impl Iterator<Item = &Page> {
    let pages = packet.pages.iter();
    pages.filter(|p| !p.label.starts_with("front"))
}

const PAPERS: [&str; 4] = ["A4", "Letter", "36 in roll", "150 x 150 mm"];

#[test]
fn no_bar_and_no_name_lies_over_an_outline() {
    for size in PAPERS {
        for page in tiled(&made(&print(size, (1.0, 1.0)))) {
            let over: Vec<kurbo::Rect> = boxes(
                page,
                |r| !matches!(r, Role::Figure(_)),
                |i| {
                    matches!(i, Ink::Words { .. })
                        || matches!(i, Ink::Line { pen, .. } if *pen == Pen::black(0.25))
                },
            )
            .collect();
            assert!(over.len() > 2, "{size} {}", page.label);
            let outline = page.ink().filter_map(|i| match i {
                Ink::Line { path, pen } if *pen == Pen::black(0.25) => Some(path),
                _ => None,
            });
            // Bars are as wide: an outline is longer than any.
            let long = |p: &&BezPath| kurbo::Shape::perimeter(*p, 0.1) > 102.0;
            for segment in outline.filter(long).flat_map(BezPath::segments) {
                for k in 0..=200 {
                    let p = segment.eval(f64::from(k) / 200.0);
                    let free = over.iter().all(|r| !r.contains(p));
                    assert!(free, "{size} {}: {p}", page.label);
                }
            }
        }
    }
}

#[test]
fn words_stand_between_trim_lines_and_corners_have_the_letters_of_the_map() {
    for size in PAPERS {
        let packet = made(&print(size, (1.0, 1.0)));
        let mut letters: Vec<&str> = Vec::new();
        for page in tiled(&packet) {
            let is_trim = |i: &Ink| matches!(i, Ink::Line { pen, .. } if !pen.dash.is_empty());
            let trims: Vec<kurbo::Rect> = boxes(page, |_| true, is_trim).collect();
            let words = |i: &Ink| matches!(i, Ink::Words { .. });
            for edge in boxes(page, |_| true, words) {
                let clear = trims.iter().all(|t| !t.overlaps(edge));
                assert!(clear, "{size} {}: {edge}", page.label);
            }
            letters.extend(words_of(page).filter(|t| ["A", "B", "C", "D"].contains(t)));
        }
        letters.sort_unstable();
        assert_eq!(letters, ["A", "B", "C", "D"], "{size}");
        let front = packet.pages.iter().filter(|p| p.label.starts_with("front"));
        let map: Vec<&str> = front.flat_map(words_of).collect();
        assert!(letters.iter().all(|l| map.contains(l)), "{size}: {map:?}");
    }
}

#[test]
fn holes_that_lack_their_figure_are_told() {
    let told = |packet: &Packet| words(&packet.pages[0]).join(" ");
    let roomy = told(&made(&print("A4", (1.0, 1.0))));
    assert!(!roomy.contains("without a figure"), "{roomy}");
    assert!(roomy.contains("Twist: what the plate turns"), "{roomy}");
    // As many holes as letters beside them have no room for.
    let mut part = sample::ring_sector("B1");
    let hole = part.holes[0];
    for k in 0..9 {
        let mut near = hole;
        near.centre.x += 13.0 * f64::from(k % 3 + 1);
        near.centre.y += 13.0 * f64::from(k / 3 - 1);
        part.holes.push(near);
    }
    let drawing = pattern_drawing(&part, &sample::job(), Shows::Part, Placement::IDENTITY);
    let crowded = told(&packet_of(Vec::new(), drawing, &print("A4", (1.0, 1.0))));
    let count = crowded.split("Holes without a figure: ").nth(1);
    let count = count.and_then(|t| t.split(' ').next()?.parse::<usize>().ok());
    assert!(count.is_some_and(|n| n > 0 && n < 10), "{crowded}");
    assert!(crowded.contains("of dia 12.0 mm."), "{crowded}");
}

#[test]
fn a_map_shows_the_pages_as_it_says_that_they_lie() {
    let made = |size: &str| {
        let packet = made(&print(size, (1.0, 1.0)));
        let count = tiled(&packet).count();
        let front = &packet.pages[..packet.pages.len() - count];
        let named = |name: &str| {
            let words = |i: &&Ink| matches!(i, Ink::Words { text, .. } if text == name);
            let found = front.iter().flat_map(Page::ink).find(words);
            found.map(Ink::bounds).unwrap()
        };
        let said: Vec<&str> = front.iter().flat_map(words_of).collect();
        let said = said.join(" ").contains("their top is to the right");
        let name = packet.pages.last().unwrap().label.trim_start_matches("B1 ");
        (said, named("1-1"), named(name))
    };
    // Pages higher than the strip is wide stand in a row, others in a column that
    // makes a larger map on its side.
    let (said, first, last) = made("A4");
    assert!(!said && first.x1 < last.x0, "{first} {last}");
    let (said, first, last) = made("297 x 210 mm");
    assert!(said && first.x0 > last.x1, "{first} {last}");
}

#[test]
fn a_packet_of_drilling_speaks_of_no_cutting() {
    let part = sample::ring_sector("B1");
    let drawing = pattern_drawing(&part, &sample::job(), Shows::Drilling, Placement::IDENTITY);
    let patterns = [Pattern {
        name: "B1 drilling".into(),
        about: Vec::new(),
        drawing,
        shares: Vec::new(),
    }];
    let of = Patterns {
        job: "job",
        date: "",
        notice: None,
        show: Show::Mm,
        shows: Shows::Drilling,
        patterns: &patterns,
    };
    let packet = packet(&of, &print("A4", (1.0, 1.0)));
    let said = words(&packet.pages[0]).join(" ");
    assert!(said.contains("Drilling of the covering board"), "{said}");
    assert!(
        !said.contains("Cut to the middle") && !said.contains("Twist"),
        "{said}"
    );
}

#[test]
fn a_neighbours_name_keeps_off_an_outline_that_runs_along_the_joint() {
    // Two pages wide and one high; an edge runs beside the trim line.
    let print = print("A4", (1.0, 1.0));
    let field = print.field();
    let wide = 2.0 * field.width - field.overlap;
    let mut drawing = Drawing {
        name: "B1".into(),
        ..Drawing::default()
    };
    let mut cut = |lo: Vec2, hi: Vec2| {
        let shape = Shape::Profile(Outline::rectangle(lo, hi));
        drawing.items.push(Item {
            layer: Layer::Cut,
            shape,
        });
    };
    cut(vec2(0.0, 0.0), vec2(wide, 277.0 - 1.0));
    cut(
        vec2(field.width - 2.5, 1.0),
        vec2(field.width + 60.0, 275.0),
    );
    let packet = packet_of(Vec::new(), drawing, &print);
    assert_eq!(tiled(&packet).count(), 2);
    let first = tiled(&packet).next().unwrap();
    let name = |i: &Ink| matches!(i, Ink::Words { text, .. } if text == "B1 1-2");
    let named = boxes(first, |r| *r == Role::Furniture, name)
        .next()
        .unwrap();
    let outline = first.ink().filter_map(|i| match i {
        Ink::Line { path, pen } if *pen == Pen::black(0.25) => Some(path),
        _ => None,
    });
    for segment in outline.flat_map(BezPath::segments) {
        for k in 0..=400 {
            assert!(!named.contains(segment.eval(f64::from(k) / 400.0)));
        }
    }
}
