use kurbo::{Point, Rect, Size};

use super::*;
use crate::job::Paper;
use crate::length::Show;
use crate::page::{Block, Ink, Pen, Role};

/// A packet of a heading, a table, a figure and furniture, on two pages.
fn packet() -> Packet {
    let heading = Ink::words((20.0, 270.0), 6.0, "Patterns of Ø 12");
    let cell = |row: usize, column: usize| {
        let at = (20.0 + 30.0 * column as f64, 200.0 - 6.0 * row as f64);
        let role = Role::Cell {
            row,
            head: row == 0,
        };
        Block::new(role, vec![Ink::words(at, 3.0, format!("{row}.{column}"))])
    };
    let mut blocks = vec![Block::new(Role::Heading(1), vec![heading])];
    blocks.extend((0..6).map(|k| cell(k / 3, k % 3)));
    let bar = Ink::line((20.0, 100.0), (120.0, 100.0), Pen::black(0.25));
    let name = Ink::Words {
        at: Point::new(15.0, 50.0),
        height: 3.0,
        angle: 1.0,
        text: "B4".into(),
    };
    let page = |label: &str, blocks: Vec<Block>| Page {
        paper: Size::new(210.0, 297.0),
        printable: Rect::new(10.0, 10.0, 200.0, 287.0),
        label: label.into(),
        bookmarks: vec![(0, format!("page {label}")), (1, "its part".into())],
        blocks,
    };
    let figure = Role::Figure("a bar of 100 mm".into());
    Packet {
        title: "Patterns of a job".into(),
        date: "2026-03-01".into(),
        pages: vec![
            page("first", blocks),
            page(
                "B4 1-1",
                vec![
                    Block::new(figure, vec![bar]),
                    Block::new(Role::Furniture, vec![name]),
                ],
            ),
        ],
    }
}

/// How often some bytes are in a file.
fn count(file: &[u8], what: &str) -> usize {
    file.windows(what.len())
        .filter(|w| *w == what.as_bytes())
        .count()
}

#[test]
fn a_packet_becomes_a_tagged_file_with_its_face_in_it() {
    let packet = packet();
    let file = pdf(&packet).unwrap();
    assert!(file.starts_with(b"%PDF-1.7"));
    // 210 x 297 mm in points, to the digits of the format, and no unit of the
    // page's own.
    let text = String::from_utf8_lossy(&file);
    let boxes: Vec<f64> = text
        .split("/MediaBox[0 0 ")
        .skip(1)
        .flat_map(|rest| rest.split(']').next())
        .flat_map(|sides| sides.split(' '))
        .filter_map(|side| side.parse().ok())
        .collect();
    assert_eq!(boxes.len(), 4);
    for (side, mm) in boxes.iter().zip([210.0, 297.0, 210.0, 297.0]) {
        assert!((side - mm / 25.4 * 72.0).abs() < 1e-4, "{side} points");
    }
    assert_eq!(count(&file, "/UserUnit"), 0);
    for part in [
        "/FontFile2",
        "/StructTreeRoot",
        "/PageLabels",
        "/Outlines",
        "pdfuaid:part",
        "pdfaid:part",
        "/Alt",
        "/TH",
    ] {
        assert!(count(&file, part) > 0, "no {part}");
    }
    assert!(file.len() < 40_000, "{} bytes", file.len());
    assert_eq!(file, pdf(&packet).unwrap());
}

#[test]
fn a_file_without_a_date_claims_no_archive() {
    let mut packet = packet();
    packet.date = "next spring".into();
    let file = pdf(&packet).unwrap();
    assert_eq!(count(&file, "pdfaid:part"), 0);
    assert!(count(&file, "pdfuaid:part") > 0);
}

#[test]
fn a_date_is_told_only_as_it_is_written() {
    assert_eq!(day("2026-03-01"), Some(DateTime::new(2026).month(3).day(1)));
    assert!(day("2026-03-01T10:00:00Z").is_some());
    for other in [
        "",
        "2026",
        "1 March 2026",
        "2026-13-01",
        "2026-1-001",
        "é026-03-0",
    ] {
        assert!(day(other).is_none(), "{other}");
    }
}

#[test]
fn the_longest_roll_page_is_a_page() {
    let paper = Paper::of("36 in roll", 10.0, 10.0, Show::Mm).expect("a roll");
    let mut packet = packet();
    packet.pages[0].paper.height = paper.length;
    assert!(pdf(&packet).is_ok());
}

#[test]
fn what_cannot_be_a_page_is_refused() {
    let broken = |change: fn(&mut Page)| {
        let mut packet = packet();
        change(&mut packet.pages[0]);
        pdf(&packet).unwrap_err().kind
    };
    assert_eq!(broken(|p| p.paper.width = 0.0), Kind::Geometry);
    assert_eq!(
        broken(|p| p.paper.height = LONGEST_MM + 1.0),
        Kind::Geometry
    );
    let nan = Ink::line((f64::NAN, 0.0), (1.0, 1.0), Pen::black(0.3));
    let block = move || Block::new(Role::Words, vec![nan.clone()]);
    let mut packet = packet();
    packet.pages[1].blocks.push(block());
    assert_eq!(pdf(&packet).unwrap_err().kind, Kind::Geometry);
    // What the standard for readers of all kinds asks for is asked for here.
    packet.pages[1].blocks.pop();
    packet.pages[1].blocks[0].role = Role::Figure(String::new());
    packet.title.clear();
    assert_eq!(pdf(&packet).unwrap_err().kind, Kind::Geometry);
}
