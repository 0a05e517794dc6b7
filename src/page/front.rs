//! The first sheets of a packet: what is in it, how it is measured and put
//! together, and of every pattern a map of its pages and the chords by which
//! it is checked.

use std::collections::BTreeMap;

use kurbo::{Point, Size};

use super::chords::{Chords, chords};
use super::face::words_width;
use super::flow::{Flowed, Group, Piece, column_width, flow, text, wrapped};
use super::map::Map;
use super::marks::{bars, upwards};
use super::model::{Block, Ink, Page, Role};
use super::print::Print;
use super::tile::{Pattern, Tiles, moved};
use crate::drawing::{Layer, Shape, Shows, bend_words, diameter};
use crate::geom::Vec2;
use crate::length::{Show, told, trimmed};

/// Heights of letters, mm.
const TITLE: f64 = 5.5;
const HEAD: f64 = 3.6;
const TEXT: f64 = 2.6;
/// Second lines of a step stand so far in, mm.
const HANG: f64 = 5.0;
/// Room for bars up the page, mm; what words beside them need; and the gap.
const UPRIGHT: f64 = 104.0;
const ROOM: f64 = 110.0;
const GAP: f64 = 8.0;

/// What the first sheets tell.
pub(super) struct Front<'a> {
    /// Job and date.
    pub(super) heading: &'a str,
    /// Said of a survey with doubtful figures.
    pub(super) notice: Option<&'a str>,
    pub(super) print: &'a Print,
    pub(super) show: Show,
    pub(super) shows: Shows,
    pub(super) patterns: &'a [(&'a Pattern, Tiles)],
}

impl Front<'_> {
    /// The sheets.
    pub(super) fn pages(&self) -> Vec<Page> {
        let whole = self.print.printable();
        let width = column_width(whole.width);
        let mut groups = self.opening(width);
        for (pattern, tiles) in self.patterns {
            groups.push(self.pattern(pattern, tiles, width, whole.height));
        }
        let height = self.height(&groups, whole);
        let pages = flow(groups, Size::new(whole.width, height));
        let label = |k: usize| format!("front {}", k + 1);
        let page = |(k, on): (usize, Flowed)| {
            let mut page = self.print.page(height, label(k), on.blocks);
            if k == 0 {
                page.bookmarks.push((0, "First sheet".to_owned()));
            }
            page
        };
        pages.into_iter().enumerate().map(page).collect()
    }

    /// Height of the printable box: of a roll no more than is filled.
    fn height(&self, groups: &[Group], whole: Size) -> f64 {
        if !self.print.paper.roll {
            return whole.height;
        }
        let mut height = self.print.height(0.0);
        while height < whole.height {
            let size = Size::new(whole.width, height);
            if flow(groups.to_vec(), size).len() == 1 {
                break;
            }
            height *= 1.1;
        }
        height.min(whole.height)
    }

    /// Title, bars, and how it is done.
    fn opening(&self, width: f64) -> Vec<Group> {
        let title = match self.shows {
            Shows::OtherFace => "Patterns at full size, other face",
            Shows::Drilling => "Drilling of the covering board at full size",
            Shows::Part | Shows::Footprints => "Patterns at full size",
        };
        let lines = wrapped(title, TITLE, width).into_iter();
        let mut first: Group = lines
            .map(|l| Piece::line(Role::Heading(1), TITLE, l))
            .collect();
        first.extend(text(TEXT, self.heading, width, 0.0));
        first.extend(text(TEXT, &self.paper(), width, 0.0));
        if let Some(words) = self.notice {
            first.extend(text(TEXT, words, width, 0.0));
        }
        let mut out = vec![first];
        if self.patterns.len() > 1 {
            out.push(vec![heading("In this packet")]);
            out.push(self.contents(width));
        }
        out.push(self.how(width));
        if self.says("hollow") {
            let mut read = vec![heading("Read")];
            read.extend(text(TEXT, &bend_words(self.show), width, 0.0));
            out.push(read);
        }
        out
    }

    /// How the pages are measured and put together, with bars up the page
    /// beside the words where there is room.
    fn how(&self, width: f64) -> Group {
        let up = bars(UPRIGHT).next();
        let up = up.map(|(ink, size)| (upwards(&ink, size.height), size));
        let beside = up.filter(|(_, size)| size.height + ROOM <= width);
        let text_width = beside
            .as_ref()
            .map_or(width, |(_, s)| width - s.height - GAP);
        let mut out = vec![Piece::space(1.5)];
        if let Some((ink, size)) = beside {
            let at = Point::new(width - size.height - 0.5, -size.width);
            let blocks = vec![Block::new(Role::Furniture, moved(&ink, at))];
            out.push(Piece {
                blocks,
                height: 0.0,
            });
        }
        out.extend(steps("Measure", &self.measure(), text_width));
        if let Some((ink, size)) = bars(text_width).next() {
            let blocks = vec![Block::new(
                Role::Furniture,
                moved(&ink, Point::new(0.0, -size.height - 1.5)),
            )];
            out.push(Piece {
                blocks,
                height: size.height + 3.0,
            });
        }
        out.extend(steps("Put together", &self.assemble(), text_width));
        // What stands beside the words reaches as far down as they do.
        let words: f64 = out.iter().map(|p| p.height).sum();
        out.push(Piece::space((UPRIGHT + 2.0 - words).max(0.0)));
        out
    }

    fn paper(&self) -> String {
        let (paper, of) = (&self.print.paper, |mm: f64| told(mm, self.show));
        let size = match paper.roll {
            true => format!("{} wide", of(paper.width)),
            false => format!("{} by {}", of(paper.width), of(paper.length)),
        };
        let (across, along) = self.print.scale;
        let (across, along) = (trimmed(across, 6), trimmed(along, 6));
        let scale = if across == "1" && along == "1" {
            "Not corrected for a printer.".to_owned()
        } else {
            format!(
                "Corrected for a printer that gives {across} across the feed and {along} along it."
            )
        };
        format!(
            "Paper {}: {size}, margins {}, overlap {}. {scale}",
            paper.name,
            of(paper.margin),
            of(paper.overlap)
        )
    }

    /// True where a page says something that begins so.
    fn says(&self, words: &str) -> bool {
        let mut pages = self.patterns.iter().flat_map(|(_, tiles)| &tiles.pages);
        pages.any(|p| told_on(p).any(|t| t.starts_with(words)))
    }

    fn measure(&self) -> Vec<String> {
        let within = match self.show {
            Show::Mm => "0.2 mm",
            Show::FeetInches => "1/64 in",
        };
        [
            "Print at 100 %, without fitting to the page, in one run and on dry paper."
                .to_owned(),
            format!(
                "Measure the bars here and on each page with a steel rule, across and up the page: \
                 off by more than {within}, the page is not at full size."
            ),
            "If it is off: print the test page, measure its long bars, and give what each measures \
             over what it says, across and along the feed, as --print-scale."
                .to_owned(),
        ]
        .to_vec()
    }

    fn assemble(&self) -> Vec<String> {
        let off = match self.show {
            Show::Mm => "1 mm",
            Show::FeetInches => "1/32 in",
        };
        let chords = format!(
            "Check the whole against the chords listed here: off by more than {off}, it is laid again. \
             Paper grows and shrinks with damp: check, and mark from it, on the same day. The \
             corners have their letters on the map and on the pages."
        );
        let cut = "Cut to the middle of the outer line: it is the edge of the part. A line inside it \
                   that is marked NET is where a closing piece ends once it is fitted.";
        let [line, face] = match self.shows {
            Shows::Part => [
                cut,
                "The pattern lies as the part is marked: the face that it names is up.",
            ],
            Shows::OtherFace => [
                cut,
                "These are mirrored: they lie on the face that is not marked on the cut parts.",
            ],
            Shows::Drilling => [
                "The outer line is the edge of the base plate on the covering board. Lay it on the \
                 stations and its edge, then mark the middles of the holes through the paper.",
                "It is seen from above, as the board lies.",
            ],
            Shows::Footprints => [
                "The thin outer line is the edge of the plate: lay it on the plate's own edge, or \
                 mark it on the board first, and prick the footprints through.",
                "The pattern lies as the part is marked: the face that it names is up.",
            ],
        };
        [
            "Lay the pages out as the map shows. A page is named by its part, its row from the top \
             and its column from the left; beyond each trim line stands the page that joins there.",
            "At a joint cut one page along its dashed trim line and lay it over the other, so that \
             both crosses fall on crosses. Tape it flat, from the middle of the part outwards.",
            &chords,
            line,
            face,
        ]
        .map(str::to_owned)
        .to_vec()
    }

    /// A row a pattern.
    fn contents(&self, width: f64) -> Group {
        let name_width = (self.patterns.iter())
            .map(|(p, _)| words_width(&p.name, TEXT))
            .fold(words_width("part", TEXT), f64::max);
        let columns = [0.0, name_width + 5.0, name_width + 22.0];
        let mut rows = vec![["part", "pages", "what"].map(str::to_owned)];
        for (pattern, tiles) in self.patterns {
            let what = [
                &pattern.about[..1],
                &pattern.about[pattern.about.len().min(2)..],
            ];
            rows.push([
                pattern.name.clone(),
                tiles.pages.len().to_string(),
                what.concat().join(", "),
            ]);
        }
        let piece = |(row, cells): (usize, [String; 3])| {
            let mut blocks = Vec::new();
            for (x, words) in columns.into_iter().zip(cells) {
                let line = wrapped(&words, TEXT, (width - x).max(10.0));
                let shown = line.into_iter().next().unwrap_or_default();
                let ink = vec![Ink::words((x, -1.35 * TEXT), TEXT, shown)];
                let head = row == 0;
                blocks.push(Block::new(Role::Cell { row, head }, ink));
            }
            Piece {
                blocks,
                height: 1.8 * TEXT,
            }
        };
        rows.into_iter().enumerate().map(piece).collect()
    }

    /// Map and chords of a pattern.
    fn pattern(&self, pattern: &Pattern, tiles: &Tiles, width: f64, high: f64) -> Group {
        let mut out = vec![Piece::space(HEAD)];
        let (pages, cover) = (tiles.pages.len(), &tiles.cover);
        out.push(heading(&pattern.name));
        out.extend(text(TEXT, &pattern.about.join("; "), width, 0.0));
        let count = match pages {
            1 => "One page.".to_owned(),
            n => match (cover.rows(), cover.columns()) {
                (1, _) => format!("{n} pages in one row."),
                (_, 1) => format!("{n} pages in one column."),
                (rows, columns) => format!("{n} pages in {rows} rows and {columns} columns."),
            },
        };
        out.extend(text(TEXT, &count, width, 0.0));
        let found: Vec<(Option<&str>, Chords)> = (pattern.edges())
            .filter_map(|(name, outline)| Some((name, chords(outline)?)))
            .collect();
        let alone = found.first().filter(|(name, _)| name.is_none());
        out.push(Piece::space(1.0));
        let map = Map::new(pattern, tiles, Size::new(width, 0.5 * high));
        out.push(map.piece(alone.map(|(_, chords)| chords)));
        if map.sideways {
            let words = "The pages lie on their side on the map: their top is to the right.";
            out.extend(text(TEXT, words, width, 0.0));
        }
        for (name, found) in &found {
            let named = name.map_or(String::new(), |n| format!("{n}: "));
            let words = format!("{named}{}", self.checked(found));
            out.extend(text(TEXT, &words, width, 0.0));
        }
        if let Some(words) = self.without_figure(pattern, tiles) {
            out.extend(text(TEXT, &words, width, 0.0));
        }
        out
    }

    /// The diameters of holes for which no page had room.
    fn without_figure(&self, pattern: &Pattern, tiles: &Tiles) -> Option<String> {
        let mut left: BTreeMap<String, usize> = BTreeMap::new();
        for item in pattern
            .drawing
            .items
            .iter()
            .filter(|i| i.layer == Layer::Hole)
        {
            if let Shape::Circle { radius, .. } = item.shape {
                *left.entry(diameter(2.0 * radius, self.show)).or_default() += 1;
            }
        }
        for words in tiles.pages.iter().flat_map(told_on) {
            if let Some(count) = left.get_mut(words) {
                *count = count.saturating_sub(1);
            }
        }
        left.retain(|_, count| *count > 0);
        let of = |(words, count): (&String, &usize)| format!("{count} of {words}");
        let each: Vec<String> = left.iter().map(of).collect();
        (!each.is_empty()).then(|| format!("Holes without a figure: {}.", each.join(", ")))
    }

    /// The chords in words.
    fn checked(&self, found: &Chords) -> String {
        let of = |a: Vec2, b: Vec2| {
            let mm = (a.distance(b) * 10.0).round() / 10.0;
            told(mm, self.show)
        };
        let [from, to] = found.longest;
        let longest = of(from, to);
        match found.corners {
            Some([a, b, c, d]) => format!(
                "Check before cutting: corner A to C {}, corner B to D {}, longest chord {longest}.",
                of(a, c),
                of(b, d)
            ),
            None => format!("Check before cutting: longest chord {longest}."),
        }
    }
}

/// What a page says, text by text.
fn told_on(page: &Page) -> impl Iterator<Item = &str> {
    page.ink().filter_map(|ink| match ink {
        Ink::Words { text, .. } => Some(text.as_str()),
        _ => None,
    })
}

fn heading(words: &str) -> Piece {
    Piece::line(Role::Heading(2), HEAD, words.to_owned())
}

/// A heading with numbered steps.
fn steps(head: &str, all: &[String], width: f64) -> Group {
    let mut out = vec![heading(head)];
    for (k, step) in all.iter().enumerate() {
        out.extend(text(TEXT, &format!("{}. {step}", k + 1), width, HANG));
    }
    out
}
