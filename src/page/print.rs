//! Paper as a printer feeds it, and what the printer makes of a length.

use kurbo::{Affine, Rect, Size};

use super::cover::Field;
use super::model::{Block, Ink, Page};
use crate::job::Paper;

/// A page shows so much beyond its field, mm: twice what chords leave of arcs.
pub(super) const BEYOND: f64 = 0.02;
/// A field keeps so far from the edge of what is printable, mm: that, and half
/// the width of a line, which a printer that is a tenth off makes wider.
pub(super) const SAFE: f64 = 0.16;
/// Shortest page off a roll between the margins, mm: a bar of 4 in stands on it.
const SHORTEST: f64 = 125.0;

/// How pages are printed.
#[derive(Debug, Clone, PartialEq)]
pub struct Print {
    /// The paper.
    pub paper: Paper,
    /// What comes out of the printer over what was asked for, across and along
    /// the feed.
    pub scale: (f64, f64),
}

impl Print {
    /// What of the paper is printable, in mm as they come out; of a roll at
    /// its longest.
    #[must_use]
    pub fn printable(&self) -> Size {
        let side = |mm: f64, scale: f64| (mm - 2.0 * self.paper.margin) * scale;
        Size::new(
            side(self.paper.width, self.scale.0),
            side(self.paper.length, self.scale.1),
        )
    }

    /// What a page shows of a drawing.
    pub(super) fn field(&self) -> Field {
        let size = self.printable();
        Field {
            width: size.width - 2.0 * SAFE,
            length: size.height - 2.0 * SAFE,
            overlap: self.paper.overlap,
            roll: self.paper.roll,
        }
    }

    /// Height of a page's printable box that shows so much, mm as they come out.
    pub(super) fn height(&self, shown: f64) -> f64 {
        let whole = self.printable().height;
        if self.paper.roll {
            (shown + 2.0 * SAFE).max(SHORTEST).min(whole)
        } else {
            whole
        }
    }

    /// A page whose printable box is so high, in mm as they come out; so is
    /// its ink, from the box's lower left corner.
    #[must_use]
    pub fn page(&self, height: f64, label: String, blocks: Vec<Block>) -> Page {
        let (margin, (across, along)) = (self.paper.margin, self.scale);
        let box_of = Size::new(self.printable().width / across, height / along);
        let mut page = Page {
            paper: Size::new(box_of.width + 2.0 * margin, box_of.height + 2.0 * margin),
            printable: Rect::from_origin_size((margin, margin), box_of),
            label,
            bookmarks: Vec::new(),
            blocks,
        };
        page.map(Affine::new([
            1.0 / across,
            0.0,
            0.0,
            1.0 / along,
            margin,
            margin,
        ]));
        // Letters come out no larger than they were laid out for, either way.
        let letters = 1.0 / across.max(along);
        for ink in page.blocks.iter_mut().flat_map(|b| &mut b.ink) {
            if let Ink::Words { height, .. } = ink {
                *height *= letters;
            }
        }
        page
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::length::Show;
    use crate::page::{Pen, Role};

    #[test]
    fn a_page_is_the_paper_and_its_ink_is_corrected() {
        let print = Print {
            paper: Paper::usual(Show::Mm),
            scale: (1.004, 0.998),
        };
        let size = print.printable();
        assert!((size.width - 190.0 * 1.004).abs() < 1e-9);
        let pen = Pen::black(0.0);
        let ink = vec![
            Ink::line((0.0, 0.0), (100.4, 0.0), pen.clone()),
            Ink::line((0.0, 0.0), (0.0, size.height), pen),
        ];
        let blocks = vec![Block::new(Role::Furniture, ink)];
        let page = print.page(print.height(50.0), "x".into(), blocks);
        assert!((page.paper.width - 210.0).abs() < 1e-9);
        assert!((page.paper.height - 297.0).abs() < 1e-9);
        let boxes: Vec<Rect> = page.ink().map(Ink::bounds).collect();
        // 100.4 mm are asked for as 100 of a printer that makes them larger.
        assert!((boxes[0].x0 - 10.0).abs() < 1e-9 && (boxes[0].x1 - 110.0).abs() < 1e-9);
        assert!((boxes[1].y1 - 287.0).abs() < 1e-9);
    }
}
