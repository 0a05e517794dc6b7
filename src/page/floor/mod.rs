//! Floor sheets on paper: words find room on their drawing, and each page
//! bears a title block.

mod room;
mod title;

use std::collections::BTreeSet;

use kurbo::{Affine, Point, Rect};
use rayon::prelude::*;

use self::room::Room;
use self::title::{IN, across};
use super::ink::shape_path;
use super::model::{Block, Ink, Packet, Page, Pen, Role};
use crate::drawing::floor::{FloorSheet, Stand, Stroke};
use crate::geom::Vec2;

pub use title::Title;

/// Floor sheets on paper.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FloorPages {
    /// The pages.
    pub packet: Packet,
    /// Names that found no room, with the sheet that lacks them.
    pub left_out: Vec<(String, String)>,
}

impl FloorPages {
    /// A warning where names are left out.
    #[must_use]
    pub fn told(&self) -> Option<String> {
        let (name, sheet) = self.left_out.first()?;
        let others = match self.left_out.len() - 1 {
            0 => String::new(),
            n => format!(", nor for {n} more"),
        };
        Some(format!(
            "floor-sheets.pdf has no room for `{name}` on its sheet `{sheet}`{others}: \
             set paper.floor_sheets to a larger size"
        ))
    }
}

/// The packet of floor sheets; the job's paper lies with its long side across.
#[must_use]
pub fn floor_packet(sheets: &[FloorSheet], title: &Title<'_>) -> FloorPages {
    let mut out = FloorPages::default();
    out.packet.title = format!("{}: floor sheets", title.job.name);
    out.packet.date.clone_from(&title.job.date);
    let made: Vec<(Page, LeftOut)> = (sheets.par_iter().enumerate())
        .map(|(k, sheet)| page(sheet, title, (k + 1, sheets.len())))
        .collect();
    let mut without = Vec::new();
    for (sheet, (page, left_out)) in sheets.iter().zip(made) {
        out.packet.pages.push(page);
        let named = |(tag, must)| (tag, must, sheet.name.clone());
        without.extend(left_out.into_iter().map(named));
    }
    // What may be left out on a sheet is told where it stands on no other.
    let shown: BTreeSet<&str> = (out.packet.pages.iter().flat_map(Page::ink))
        .filter_map(|ink| match ink {
            Ink::Words { text, .. } => Some(text.as_str()),
            _ => None,
        })
        .collect();
    let lost = |(text, must, _): &(String, bool, String)| *must || !shown.contains(text.as_str());
    let told = without.into_iter().filter(lost);
    out.left_out = told.map(|(text, _, sheet)| (text, sheet)).collect();
    out
}

/// Words that found no room, and whether their sheet must have them.
type LeftOut = Vec<(String, bool)>;

/// A page, and the words that found no room on it.
fn page(sheet: &FloorSheet, title: &Title<'_>, number: (usize, usize)) -> (Page, LeftOut) {
    let (paper, printable) = across(&title.job.floor_paper);
    let mut blocks = title.blocks(sheet, number, printable);
    let size = title.room();
    let corner = Point::new(printable.x0 + IN, printable.y1 - IN - size.y);
    let edge = Rect::from_origin_size(corner, (size.x, size.y));
    let (drawn, left_out) = drawn(sheet, edge);
    blocks.extend(drawn);
    let page = Page {
        paper,
        printable,
        label: sheet.name.clone(),
        bookmarks: vec![(0, sheet.heading.clone())],
        blocks,
    };
    (page, left_out)
}

/// The drawing in its room: a figure, then its tables.
fn drawn(sheet: &FloorSheet, edge: Rect) -> (Vec<Block>, LeftOut) {
    let map = Affine::translate(edge.origin().to_vec2());
    let mut room = Room::new(edge);
    let mut figure = Vec::new();
    for (stroke, shape) in &sheet.lines {
        let Some(path) = shape_path(shape) else {
            continue;
        };
        let path = map * path;
        room.line(&path);
        figure.push(match stroke {
            Stroke::Solid => Ink::Area { path, grey: 0 },
            Stroke::Shade => Ink::Area { path, grey: 215 },
            _ => Ink::Line {
                path,
                pen: pen(*stroke),
            },
        });
    }
    let mut cells = Vec::new();
    let at = |p: Vec2| edge.origin() + kurbo::Vec2::new(p.x, p.y);
    for tag in &sheet.tags {
        match tag.stand {
            Stand::At => figure.push(room.fixed(tag, at(tag.at))),
            Stand::Cell(row, head) => {
                let ink = vec![room.fixed(tag, at(tag.at))];
                cells.push(Block::new(Role::Cell { row, head }, ink));
            }
            _ => {}
        }
    }
    let mut left_out = Vec::new();
    for rank in 0..3 {
        let of = |stand: Stand| match stand {
            Stand::On | Stand::Over => 0,
            Stand::By(_) => 1,
            Stand::MayBy(_) => 2,
            Stand::At | Stand::Cell(..) => 3,
        };
        for tag in sheet.tags.iter().filter(|t| of(t.stand) == rank) {
            let Some(placed) = room.find(tag, at(tag.at)) else {
                left_out.push((tag.text.clone(), rank < 2));
                continue;
            };
            if let Some([a, b]) = placed.leader {
                figure.push(Ink::line(a, b, Pen::black(0.13)));
            }
            let under = placed.words.bounds();
            let path = kurbo::Shape::to_path(&under, 0.1);
            figure.push(Ink::Area { path, grey: 255 });
            figure.push(placed.words);
        }
    }
    let mut out = vec![Block::new(Role::Figure(sheet.shows.clone()), figure)];
    out.extend(cells);
    (out, left_out)
}

fn pen(stroke: Stroke) -> Pen {
    match stroke {
        Stroke::Edge => Pen::black(0.4),
        Stroke::Dashed => Pen::black(0.2).dashed(&[2.0, 1.0]),
        Stroke::Centre => Pen::black(0.15).dashed(&[6.0, 1.0, 1.0, 1.0]),
        Stroke::Thin | Stroke::Solid | Stroke::Shade => Pen::black(0.2),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::floor::Tag;
    use crate::geom::vec2;
    use crate::sample;

    fn crowd(count: usize) -> FloorPages {
        let job = sample::job();
        let title = Title {
            job: &job,
            doubts: None,
        };
        let tag = |k: usize| Tag {
            text: format!("a name of some thirty letters, {k}"),
            height: 2.6,
            at: title.room() * 0.5,
            stand: Stand::On,
        };
        let sheet = FloorSheet {
            name: "boat".into(),
            heading: "The boat".into(),
            tags: (0..count).map(tag).collect(),
            ..FloorSheet::default()
        };
        floor_packet(&[sheet], &title)
    }

    #[test]
    fn names_that_find_no_room_are_told() {
        assert_eq!(crowd(20).told(), None);
        let all = crowd(400);
        assert!(!all.left_out.is_empty());
        let told = all.told().expect("a warning");
        assert!(told.contains("on its sheet `boat`, nor for"), "{told}");
        // The others are there.
        let shown = all.packet.pages[0].ink().filter(|i| match i {
            Ink::Words { text, .. } => text.starts_with("a name"),
            _ => false,
        });
        assert_eq!(shown.count() + all.left_out.len(), 400);
    }

    #[test]
    fn a_name_that_may_be_left_out_is_told_where_it_stands_on_no_sheet() {
        let job = sample::job();
        let title = Title {
            job: &job,
            doubts: None,
        };
        let tag = |text: &str, stand| Tag {
            text: text.to_owned(),
            height: 2.6,
            at: title.room() * 0.5,
            stand,
        };
        let may = Stand::MayBy(vec2(0.0, 1.0));
        // Nothing is free about the middle.
        let mut tags = vec![tag(&"x".repeat(40), Stand::On); 40];
        tags.extend([tag("P7", may), tag("P8", may)]);
        let crowded = FloorSheet {
            name: "boat".into(),
            tags,
            ..FloorSheet::default()
        };
        let free = FloorSheet {
            name: "strips".into(),
            tags: vec![tag("P7", may)],
            ..FloorSheet::default()
        };
        let all = floor_packet(&[crowded, free], &title);
        let may = all
            .left_out
            .iter()
            .filter(|(text, _)| text.starts_with('P'));
        assert_eq!(
            may.collect::<Vec<_>>(),
            [&("P8".to_owned(), "boat".to_owned())]
        );
    }

    #[test]
    fn a_title_block_says_what_the_sheet_is_and_that_nothing_is_cut_from_it() {
        let mut job = sample::job();
        job.note = "a note ".repeat(300);
        let title = Title {
            job: &job,
            doubts: Some("SURVEY DOUBTED: port 3 half-breadth".to_owned()),
        };
        let sheet = FloorSheet {
            name: "boat".into(),
            heading: "The boat".into(),
            scale: Some(1.0 / 40.0),
            ..FloorSheet::default()
        };
        let packet = floor_packet(&[sheet.clone(), sheet], &title).packet;
        let page = &packet.pages[1];
        let mut said = String::new();
        for ink in page.ink() {
            if let Ink::Words { text, .. } = ink {
                assert!(
                    page.printable.union(ink.bounds()) == page.printable,
                    "{text}"
                );
                said.push_str(text);
                said.push('\n');
            }
        }
        for want in [
            "The boat",
            "Sample boat, 2026-02-03",
            "scale 1:40 on A3",
            "lengths in mm",
            "sheet 2 of 2",
            "SURVEY DOUBTED: port 3 half-breadth",
            "not to cut or to measure from",
            " ...",
        ] {
            assert!(said.contains(want), "{want} is not in {said}");
        }
        // Three lines of the note, and room above.
        assert!(said.lines().count() < 12, "{said}");
        assert!(title.room().y > 230.0);
    }
}
