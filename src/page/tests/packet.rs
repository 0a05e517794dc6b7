use std::collections::BTreeSet;

use super::super::model::{Ink, Pen};
use super::*;
use crate::drawing::{Drawing, Item, Layer, Shape, Shows, pattern_drawing};
use crate::geom::{Outline, Placement};
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
    let job = sample::job();
    let patterns = [Pattern {
        name: part.name.clone(),
        about: part.told(Show::Mm, false).to_vec(),
        drawing: pattern_drawing(&part, &job, Shows::Part, Placement::IDENTITY),
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
    fn text(i: &Ink) -> Option<&str> {
        match i {
            Ink::Words { text, .. } => Some(text),
            _ => None,
        }
    }
    page.ink().filter_map(text).collect()
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
