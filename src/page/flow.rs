//! Text and pictures one below the other, in columns, over as many pages as
//! they take.

use kurbo::{Point, Size};

use super::face::words_width;
use super::model::{Block, Ink, Role};
use super::tile::moved;

/// Widest column, mm: a line of some ninety letters.
const COLUMN: f64 = 190.0;
/// Space between columns, mm.
const GUTTER: f64 = 12.0;
/// From one line to the next, in heights of capitals.
const LEADING: f64 = 1.9;

/// What stands together, from its upper left corner; y is nought there and
/// falls.
#[derive(Debug, Clone)]
pub(super) struct Piece {
    pub(super) blocks: Vec<Block>,
    /// mm.
    pub(super) height: f64,
}

/// Pieces that stay on one page if they can.
pub(super) type Group = Vec<Piece>;

/// A page of pieces.
pub(super) struct Flowed {
    pub(super) blocks: Vec<Block>,
    /// Height taken, mm.
    pub(super) height: f64,
}

/// Width of a column on a page that is so wide, mm.
pub(super) fn column_width(page: f64) -> f64 {
    COLUMN.min(page)
}

impl Piece {
    /// Empty space.
    pub(super) fn space(height: f64) -> Self {
        let blocks = Vec::new();
        Self { blocks, height }
    }

    /// A line of text.
    pub(super) fn line(role: Role, height: f64, text: String) -> Self {
        let ink = vec![Ink::words((0.0, -1.35 * height), height, text)];
        Self {
            blocks: vec![Block::new(role, ink)],
            height: LEADING * height,
        }
    }
}

/// A text as lines no wider than a column, each line a piece of its own; the
/// first begins at the left, the others further in by `hang` mm.
pub(super) fn text(height: f64, text: &str, width: f64, hang: f64) -> Group {
    let mut out = Group::new();
    for line in wrapped(text, height, width - hang) {
        let mut piece = Piece::line(Role::Words, height, line);
        if !out.is_empty() {
            for ink in piece.blocks.iter_mut().flat_map(|b| &mut b.ink) {
                *ink = ink.mapped(kurbo::Affine::translate((hang, 0.0)));
            }
        }
        out.push(piece);
    }
    out
}

/// Lines of a text no wider than this, mm; a word that is wider is broken.
pub(super) fn wrapped(text: &str, height: f64, width: f64) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let fits = |t: &str| words_width(t, height) <= width;
    for word in text.split_whitespace() {
        if let Some(line) = out.last_mut() {
            let longer = format!("{line} {word}");
            if fits(&longer) {
                *line = longer;
                continue;
            }
        }
        let mut line = String::new();
        for c in word.chars() {
            let longer = format!("{line}{c}");
            if !line.is_empty() && !fits(&longer) {
                out.push(std::mem::take(&mut line));
            }
            line.push(c);
        }
        out.push(line);
    }
    out
}

/// Puts groups on pages of a size, from the top of the first column; a page's
/// ink is counted from its lower left corner.
pub(super) fn flow(groups: Vec<Group>, page: Size) -> Vec<Flowed> {
    let width = column_width(page.width);
    let columns = ((page.width + GUTTER) / (width + GUTTER)).floor().max(1.0);
    let mut pages: Vec<Flowed> = Vec::new();
    // Column, and how far down it is full.
    let (mut column, mut down) = (columns, 0.0);
    for group in groups {
        let whole: f64 = group.iter().map(|p| p.height).sum();
        let together = whole <= page.height;
        let mut first = true;
        for piece in group {
            let needs = if first && together {
                whole
            } else {
                piece.height
            };
            let empty = piece.blocks.is_empty();
            first = false;
            if column >= columns || down + needs > page.height + 1e-9 {
                column += 1.0;
                down = 0.0;
                if column >= columns {
                    column = 0.0;
                    let blocks = Vec::new();
                    pages.push(Flowed {
                        blocks,
                        height: 0.0,
                    });
                }
            }
            // A column does not begin with space.
            if empty && down == 0.0 {
                continue;
            }
            let Some(on) = pages.last_mut() else { continue };
            let corner = Point::new(column * (width + GUTTER), page.height - down);
            for block in piece.blocks {
                let ink = moved(&block.ink, corner);
                on.blocks.push(Block { ink, ..block });
            }
            down += piece.height;
            on.height = on.height.max(down);
        }
    }
    pages
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_no_wider_than_their_column_and_lose_no_word() {
        let text = "Lay the pages by row and column as the map shows, Donaudampfschiff";
        for width in [12.0, 30.0, 80.0] {
            let lines = wrapped(text, 3.0, width);
            assert!(
                lines.iter().all(|l| words_width(l, 3.0) <= width),
                "{lines:?}"
            );
            let kept = |t: &str| t.chars().filter(|c| !c.is_whitespace()).collect::<String>();
            assert_eq!(kept(&lines.concat()), kept(text));
        }
    }

    #[test]
    fn groups_go_down_columns_and_stay_together() {
        let group = |n: usize| -> Group {
            (0..n)
                .map(|k| Piece::line(Role::Words, 5.0, format!("{n}.{k}")))
                .collect()
        };
        // Ten lines of 9.5 mm a column, two columns.
        let page = Size::new(400.0, 95.1);
        let pages = flow(vec![group(6), group(6), group(8), group(30)], page);
        let at: Vec<Vec<Point>> = pages
            .iter()
            .map(|p| {
                p.blocks
                    .iter()
                    .map(|b| b.ink[0].bounds().origin())
                    .collect()
            })
            .collect();
        // Six; six in the second column; eight on the next page; the rest as it comes.
        assert_eq!(at[0].len(), 12);
        assert!(at[0][0].x < 1.0 && at[0][6].x > COLUMN);
        assert!((at[0][0].y - at[0][6].y).abs() < 1e-9);
        assert_eq!(at.iter().map(Vec::len).sum::<usize>(), 50);
        let lowest = at
            .iter()
            .flatten()
            .map(|p| p.y)
            .fold(f64::INFINITY, f64::min);
        assert!(lowest >= 0.0);
    }
}
