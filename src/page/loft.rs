//! Ordinates on paper: a page a strip for a shop that lofts straight on the
//! plate, with a batten through the points.

use kurbo::{Affine, BezPath, Point, Shape as _, Size};

use super::face::words_width;
use super::flow::{Group, Piece, column_width, flow, text, wrapped};
use super::ink::shape_path;
use super::laid::FINE;
use super::marks::SMALL;
use super::model::{Block, Ink, Packet, Pen, Role};
use super::print::Print;
use crate::drawing::{Drawing, Layer};
use crate::length::{Show, show};

/// A strip and its ordinates.
#[derive(Debug, Clone)]
pub struct Loft {
    /// Its name.
    pub name: String,
    /// What it is, a line each.
    pub about: Vec<String>,
    /// What is drawn of it.
    pub drawing: Drawing,
    /// Distance along the straight line, lower and upper edge from it, mm, and
    /// which edge has a corner there, in a word.
    pub rows: Vec<([f64; 3], &'static str)>,
}

/// Heights of letters, mm.
const HEAD: f64 = 5.5;
const TEXT: f64 = 2.8;
/// From one row of numbers over the drawing to the next, mm.
const NUMBERS: f64 = SMALL + 1.0;
/// Highest drawing, mm.
const HIGHEST: f64 = 70.0;
/// Columns of the table, mm from the left.
const COLUMNS: [f64; 5] = [0.0, 12.0, 46.0, 80.0, 114.0];
/// Least width that a page must have to print on, mm: the table's.
pub const LOFT_LEAST: f64 = 130.0;
/// How it is done.
const HOW: &str = "Strike a straight line on the plate and mark the distances along it from its left \
                   end. Square to the line at each mark set off both figures: minus is below the \
                   line. Spring a batten through the points of each edge from its first corner to its \
                   last; the ends are straight from corner to corner.";

/// Every strip on pages of its own.
#[must_use]
pub fn lofts(job: &str, date: &str, shown: Show, strips: &[Loft], print: &Print) -> Packet {
    let whole = print.printable();
    let heading = match date {
        "" => job.to_owned(),
        date => format!("{job}, {date}"),
    };
    let mut pages = Vec::new();
    for strip in strips.iter().filter(|s| !s.rows.is_empty()) {
        let group = strip.group(&heading, shown, column_width(whole.width));
        let filled: f64 = group.iter().map(|p| p.height).sum();
        let height = print.height(filled.min(whole.height));
        for (k, on) in flow(vec![group], Size::new(whole.width, height))
            .into_iter()
            .enumerate()
        {
            let mut page = print.page(height, format!("{} {}", strip.name, k + 1), on.blocks);
            if k == 0 {
                page.bookmarks.push((0, strip.name.clone()));
            }
            pages.push(page);
        }
    }
    Packet {
        title: format!("{job}: ordinates"),
        date: date.to_owned(),
        pages,
    }
}

impl Loft {
    fn group(&self, heading: &str, shown: Show, width: f64) -> Group {
        let title = format!("{}, ordinates", self.name);
        let lines = wrapped(&title, HEAD, width).into_iter();
        let mut out: Group = lines
            .map(|l| Piece::line(Role::Heading(1), HEAD, l))
            .collect();
        for line in [self.about.join("; "), heading.to_owned(), HOW.to_owned()] {
            out.extend(text(TEXT, &line, width, 0.0));
        }
        out.extend(self.picture(width));
        out.extend(self.table(shown));
        out
    }

    /// The strip with its straight line and a numbered line square to it at
    /// every ordinate.
    fn picture(&self, width: f64) -> Option<Piece> {
        let paths: Vec<BezPath> = (self.drawing.items.iter())
            .filter(|i| i.layer == Layer::Cut)
            .filter_map(|i| shape_path(&i.shape))
            .collect();
        let bounds = paths
            .iter()
            .map(BezPath::bounding_box)
            .reduce(|a, b| a.union(b))?;
        let (low, high) = (bounds.y0.min(0.0), bounds.y1.max(0.0));
        let scale = ((width - 2.0) / bounds.width()).min(HIGHEST / (high - low));
        let numbers = self.numbers(|x| 1.0 + scale * (x - bounds.x0), width);
        let rows = numbers.iter().map(|n| n.1 + 1).max().unwrap_or(1);
        let top = 2.0 + NUMBERS * rows as f64;
        let to_page = Affine::translate((1.0, -top))
            * Affine::scale(scale)
            * Affine::translate((-bounds.x0, -high));
        let at = |x: f64, y: f64| to_page * Point::new(x, y);
        let mut ink: Vec<Ink> = Vec::new();
        let line = Pen::black(FINE);
        let (from, to) = (at(bounds.x0, 0.0), at(bounds.x1, 0.0));
        ink.push(Ink::line(from, to, Pen::black(FINE).dashed(&[4.0, 1.0])));
        for (([x, lower, upper], _), (left, row, name)) in self.rows.iter().zip(numbers) {
            let (a, b) = (at(*x, lower.min(0.0)), at(*x, upper.max(0.0)));
            let foot = -1.0 - SMALL - NUMBERS * row as f64;
            ink.push(Ink::line(a, b, line.clone()));
            ink.push(Ink::words((left, foot), SMALL, name));
        }
        for path in paths {
            let pen = Pen::black(0.25);
            ink.push(Ink::Line {
                path: to_page * path,
                pen,
            });
        }
        let shows = format!(
            "{} over its straight line, with a line at every ordinate",
            self.name
        );
        Some(Piece {
            blocks: vec![Block::new(Role::Figure(shows), ink)],
            height: top + scale * (high - low) + 4.0,
        })
    }

    /// The numbers of the ordinates over the strip, from where each stands along
    /// it: its left edge, its row from the top, and itself. The lowest row that has
    /// room is taken.
    fn numbers(&self, at: impl Fn(f64) -> f64, width: f64) -> Vec<(f64, usize, String)> {
        let mut full: Vec<f64> = Vec::new();
        let mut put = |(k, row): (usize, &([f64; 3], &'static str))| {
            let name = (k + 1).to_string();
            let wide = words_width(&name, SMALL);
            let left = (at(row.0[0]) - 0.5 * wide).clamp(0.0, (width - wide).max(0.0));
            let free = full.iter().position(|right| left > *right);
            let level = free.unwrap_or(full.len());
            if free.is_none() {
                full.push(0.0);
            }
            full[level] = left + wide + 1.5;
            (left, level, name)
        };
        let mut out: Vec<_> = self.rows.iter().enumerate().map(&mut put).collect();
        let last = full.len().saturating_sub(1);
        for number in &mut out {
            number.1 = last - number.1;
        }
        out
    }

    fn table(&self, shown: Show) -> Group {
        let head = [
            "no.",
            "along the line",
            "lower edge",
            "upper edge",
            "corner",
        ]
        .map(str::to_owned);
        let rows = self.rows.iter().enumerate().map(|(k, (row, corner))| {
            let [x, lower, upper] = row.map(|mm| show(mm, shown));
            [(k + 1).to_string(), x, lower, upper, (*corner).to_owned()]
        });
        let piece = |(row, cells): (usize, [String; 5])| {
            let head = row == 0;
            let blocks = COLUMNS.into_iter().zip(cells).map(|(x, words)| {
                let ink = vec![Ink::words((x, -1.35 * TEXT), TEXT, words)];
                Block::new(Role::Cell { row, head }, ink)
            });
            Piece {
                blocks: blocks.collect(),
                height: 1.9 * TEXT,
            }
        };
        let all = [head].into_iter().chain(rows);
        all.enumerate().map(piece).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::part_drawing;
    use crate::job::Paper;
    use crate::sample;

    #[test]
    fn a_strip_has_its_figures_in_the_jobs_units_inside_the_page() {
        let part = sample::ring_sector("B1");
        let rows = part
            .ordinates
            .iter()
            .map(|o| ([o.x, o.lower, o.upper], o.corner()));
        let strip = Loft {
            name: part.name.clone(),
            about: part.told(Show::Mm, false).to_vec(),
            drawing: part_drawing(&part, &sample::job()),
            rows: rows.collect(),
        };
        for (shown, figure) in [(Show::Mm, "12.5 mm"), (Show::FeetInches, "7 1/2 in")] {
            let print = Print {
                paper: Paper::usual(shown),
                scale: (1.0, 1.0),
            };
            let strips = [strip.clone()];
            let packet = lofts("job", "", shown, &strips, &print);
            assert_eq!(packet.pages.len(), 1);
            let page = &packet.pages[0];
            let inside = page.printable.inflate(1e-6, 1e-6);
            assert!(page.ink().all(|i| inside.contains_rect(i.bounds())));
            let words = |i: &Ink| matches!(i, Ink::Words { text, .. } if text == figure);
            assert!(page.ink().any(words), "{figure}");
        }
    }

    #[test]
    fn numbers_that_stand_close_are_all_there_and_lie_on_no_other() {
        let part = sample::ring_sector("B1");
        let print = Print {
            paper: Paper::usual(Show::Mm),
            scale: (1.0, 1.0),
        };
        // Nine in the length of three letters.
        let strip = Loft {
            name: part.name.clone(),
            about: Vec::new(),
            drawing: part_drawing(&part, &sample::job()),
            rows: (0..9)
                .map(|k| ([100.0 + 10.0 * f64::from(k), 0.0, 50.0], ""))
                .collect(),
        };
        let packet = lofts("job", "", Show::Mm, &[strip], &print);
        let blocks = packet.pages.iter().flat_map(|p| &p.blocks);
        let figure = blocks.filter(|b| matches!(b.role, Role::Figure(_)));
        let numbers: Vec<(&str, kurbo::Rect)> = figure
            .flat_map(|b| &b.ink)
            .filter_map(|i| match i {
                Ink::Words { text, .. } => Some((text.as_str(), i.bounds())),
                _ => None,
            })
            .collect();
        assert_eq!(numbers.len(), 9);
        for (k, (name, edge)) in numbers.iter().enumerate() {
            assert_eq!(*name, (k + 1).to_string());
            assert!(numbers[..k].iter().all(|(_, e)| !e.overlaps(*edge)));
        }
    }
}
