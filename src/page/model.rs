//! What a page is: paper, a printable box and ink, in mm from the paper's
//! lower left corner, y up.

use kurbo::{Affine, BezPath, Point, Rect, Shape as _, Size, Vec2 as Along};

use super::face::words_width;

/// The pages of one file.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Packet {
    /// What it is, for the window's title.
    pub title: String,
    /// The job's date, as the job tells it; may be empty.
    pub date: String,
    /// In order.
    pub pages: Vec<Page>,
}

/// One page.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Page {
    /// Width and height of the paper, mm.
    pub paper: Size,
    /// Where the printer reaches, mm.
    pub printable: Rect,
    /// What a viewer calls the page in place of a number, as `B4 1-3`; none
    /// is the same twice in a packet.
    pub label: String,
    /// Bookmarks that lead here: depth from 0, and its words. A bookmark is
    /// at most one deeper than the one before it.
    pub bookmarks: Vec<(usize, String)>,
    /// What is on it, in the order in which it is read.
    pub blocks: Vec<Block>,
}

/// Ink that belongs together, and what it is to one who cannot see the page.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    /// What it is.
    pub role: Role,
    /// In the order in which it is drawn.
    pub ink: Vec<Ink>,
}

/// What a block is to a reader.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Role {
    /// A heading of a level from 1; no level is left out on the way down.
    Heading(u16),
    /// A paragraph.
    Words,
    /// A picture, and what it shows in words.
    Figure(String),
    /// A cell of a table; cells one after the other are one table.
    Cell {
        /// Row, counted from 0 in its table: a cell of row 0 after one of
        /// another row begins a table.
        row: usize,
        /// It names its column.
        head: bool,
    },
    /// What belongs to the page and not to what it tells: bars, crosses, page names.
    Furniture,
}

/// A line's look.
#[derive(Debug, Clone, PartialEq)]
pub struct Pen {
    /// Width, mm.
    pub width: f64,
    /// 0 black to 255 white.
    pub grey: u8,
    /// Lengths of dash and gap, mm; empty: a full line.
    pub dash: Vec<f64>,
}

impl Pen {
    /// A full black line, mm wide.
    #[must_use]
    pub fn black(width: f64) -> Self {
        Self::grey(width, 0)
    }

    /// A full grey line, mm wide.
    #[must_use]
    pub fn grey(width: f64, grey: u8) -> Self {
        let dash = Vec::new();
        Self { width, grey, dash }
    }

    /// The same in dashes, mm.
    #[must_use]
    pub fn dashed(mut self, dash: &[f64]) -> Self {
        self.dash = dash.to_vec();
        self
    }
}

/// A thing drawn on a page.
#[derive(Debug, Clone, PartialEq)]
pub enum Ink {
    /// A line, open or closed, centred on its path.
    Line {
        /// Where, mm.
        path: BezPath,
        /// Its look.
        pen: Pen,
    },
    /// A filled area.
    Area {
        /// Its edge, mm.
        path: BezPath,
        /// 0 black to 255 white.
        grey: u8,
    },
    /// A line of text in black, in the one face that pages have.
    Words {
        /// Where its base line begins, mm.
        at: Point,
        /// Height of capitals, mm.
        height: f64,
        /// Turn, rad.
        angle: f64,
        /// The text.
        text: String,
    },
}

impl Ink {
    /// A straight line.
    #[must_use]
    pub fn line(a: impl Into<Point>, b: impl Into<Point>, pen: Pen) -> Self {
        let mut path = BezPath::new();
        path.move_to(a.into());
        path.line_to(b.into());
        Self::Line { path, pen }
    }

    /// The edge of a box.
    #[must_use]
    pub fn frame(edge: Rect, pen: Pen) -> Self {
        let path = edge.to_path(0.1);
        Self::Line { path, pen }
    }

    /// Upright words.
    #[must_use]
    pub fn words(at: impl Into<Point>, height: f64, text: impl Into<String>) -> Self {
        Self::Words {
            at: at.into(),
            height,
            angle: 0.0,
            text: text.into(),
        }
    }

    /// The box that holds it, with the width of its line, mm; of words from
    /// the base line's descent to above the capitals.
    #[must_use]
    pub fn bounds(&self) -> Rect {
        match self {
            Self::Line { path, pen } => {
                let half = pen.width / 2.0;
                path.bounding_box().inflate(half, half)
            }
            Self::Area { path, .. } => path.bounding_box(),
            Self::Words {
                at,
                height,
                angle,
                text,
            } => {
                let edge = Rect::new(
                    0.0,
                    -DESCENT * height,
                    words_width(text, *height),
                    ASCENT * height,
                );
                turned(at.to_vec2(), *angle).transform_rect_bbox(edge)
            }
        }
    }

    /// True where every figure of it is finite.
    #[must_use]
    pub fn is_finite(&self) -> bool {
        match self {
            Self::Line { path, pen } => path.is_finite() && pen.width.is_finite(),
            Self::Area { path, .. } => path.is_finite(),
            Self::Words {
                at, height, angle, ..
            } => at.is_finite() && height.is_finite() && angle.is_finite(),
        }
    }

    /// The same, every place of it mapped; letters keep their size and turn.
    #[must_use]
    pub fn mapped(&self, map: Affine) -> Self {
        let mut out = self.clone();
        match &mut out {
            Self::Line { path, .. } | Self::Area { path, .. } => path.apply_affine(map),
            Self::Words { at, .. } => *at = map * *at,
        }
        out
    }
}

/// How far letters hang below their base line and reach above it, in heights
/// of a capital: brackets and accents of the face, by its own figures.
const DESCENT: f64 = 0.33;
const ASCENT: f64 = 1.05;

/// A turn about the origin, then a shift; by the trigonometry that is the same
/// everywhere.
fn turned(shift: Along, angle: f64) -> Affine {
    let (c, s) = (crate::geom::trig::cos(angle), crate::geom::trig::sin(angle));
    Affine::new([c, s, -s, c, shift.x, shift.y])
}

impl Block {
    /// A block.
    #[must_use]
    pub fn new(role: Role, ink: Vec<Ink>) -> Self {
        Self { role, ink }
    }
}

impl Page {
    /// Everything mapped, but the paper and its printable box.
    pub fn map(&mut self, map: Affine) {
        for ink in self.blocks.iter_mut().flat_map(|b| &mut b.ink) {
            *ink = ink.mapped(map);
        }
    }

    /// Everything drawn.
    pub fn ink(&self) -> impl Iterator<Item = &Ink> {
        self.blocks.iter().flat_map(|b| &b.ink)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_box_holds_the_line_with_its_width_and_turned_words() {
        let line = Ink::line((10.0, 20.0), (30.0, 20.0), Pen::black(0.5));
        assert_eq!(line.bounds(), Rect::new(9.75, 19.75, 30.25, 20.25));
        let words = Ink::Words {
            at: Point::new(50.0, 60.0),
            height: 4.0,
            angle: std::f64::consts::FRAC_PI_2,
            text: "FWD".into(),
        };
        let edge = words.bounds();
        // Upwards from the base line, which runs up.
        assert!((edge.y0 - 60.0).abs() < 1e-9);
        assert!((edge.y1 - 60.0 - words_width("FWD", 4.0)).abs() < 1e-9);
        assert!(edge.x0 < 50.0 - 4.0 && edge.x1 > 50.0 && edge.x1 < 52.0);
    }

    #[test]
    fn a_map_moves_lines_and_words_and_leaves_letters_their_size() {
        let mut page = Page {
            paper: Size::new(210.0, 297.0),
            blocks: vec![Block::new(
                Role::Furniture,
                vec![
                    Ink::line((0.0, 0.0), (100.0, 0.0), Pen::black(0.3)),
                    Ink::words((10.0, 20.0), 3.0, "A"),
                ],
            )],
            ..Page::default()
        };
        page.map(Affine::scale_non_uniform(1.0 / 1.004, 1.0 / 0.998));
        let ink: Vec<&Ink> = page.ink().collect();
        assert!((ink[0].bounds().x1 - 0.15 - 100.0 / 1.004).abs() < 1e-12);
        let Ink::Words { at, height, .. } = ink[1] else {
            panic!("words stay words")
        };
        assert!((at.y - 20.0 / 0.998).abs() < 1e-12 && (*height - 3.0).abs() < 1e-12);
        assert_eq!(page.paper, Size::new(210.0, 297.0));
    }
}
