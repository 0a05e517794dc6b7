//! SVG in true size: one unit of the view box is one millimetre.
//!
//! y runs down in SVG, so every point is turned over here, one by one, and
//! text stays upright. The crate keeps path data as f32; the `d` strings are
//! therefore made here in f64.

use svg::Document;
use svg::node::element::{Circle, Group, Line, Path, Rectangle, Style, Text, Title};

use crate::drawing::{Drawing, Item, Layer, Shape, text_length};
use crate::fault::{Fault, Kind, Place};
use crate::geom::{Outline, Vec2, vec2};
use crate::length::number;

/// Paper around the drawing, mm: what a desk printer cannot reach.
const MARGIN: f64 = 10.0;
/// Decimals of coordinates: a nanometre; fewer would move an arc's ends off
/// its radius enough to show as a gap when enlarged.
const DECIMALS: usize = 6;
/// Height of capitals over the font size, about that of common sans faces.
/// Common practice, no source.
const CAPITAL: f64 = 0.72;
/// Lengths of the bars below a part, mm: 100 mm and 4 in.
const BARS: [(f64, &str); 2] = [(100.0, "100 mm"), (101.6, "4 in")];
/// Height of the letters below a part, over the part's length, and its range in mm.
const FOOT_LETTER: (f64, f64, f64) = (1.0 / 160.0, 4.0, 14.0);
/// Width of the cut's line over the drawing's length, and its range in mm:
/// thin on paper at full size, and still seen when a whole sheet is on a screen.
const CUT_LINE: (f64, f64, f64) = (1.0 / 2000.0, 0.3, 1.6);

/// A part in true size with its title, a 100 mm bar and a 4 in bar below.
///
/// # Errors
/// A coordinate that is not finite ([`Kind::Geometry`]).
pub fn part_svg(drawing: &Drawing) -> Result<String, Fault> {
    svg(drawing, Look::Part)
}

/// A sheet in true size.
///
/// # Errors
/// A coordinate that is not finite ([`Kind::Geometry`]).
pub fn sheet_svg(drawing: &Drawing) -> Result<String, Fault> {
    svg(drawing, Look::Sheet)
}

/// A picture for the eye, not to scale.
///
/// # Errors
/// A coordinate that is not finite ([`Kind::Geometry`]).
pub fn picture_svg(drawing: &Drawing) -> Result<String, Fault> {
    svg(drawing, Look::Picture)
}

/// A small picture to stand in a page: an element without the header of a
/// file and without styles of its own, which would reach over the page. It is
/// as wide as its place.
///
/// # Errors
/// A coordinate that is not finite ([`Kind::Geometry`]).
pub fn small_svg(drawing: &Drawing) -> Result<String, Fault> {
    finite(drawing)?;
    let (lo, hi) = drawing.bounds().unwrap_or_default();
    let page = Page {
        left: lo.x,
        top: hi.y,
    };
    let size = hi - lo + vec2(2.0 * MARGIN, 2.0 * MARGIN);
    let mut document = Document::new()
        .set("width", "100%")
        .set("viewBox", format!("0 0 {} {}", n(size.x), n(size.y)))
        .set("role", "img")
        .add(Title::new(drawing.title.clone()));
    for layer in drawing.layers() {
        let (class, fill, stroke, width) = match layer {
            Layer::Sheet => ("stock", "#fff", "#666", 14),
            _ => ("part", "#c9d6de", "#222", 7),
        };
        let mut group = Group::new()
            .set("class", class)
            .set("fill", fill)
            .set("stroke", stroke)
            .set("stroke-width", width);
        for item in on(drawing, layer) {
            group = shape(group, &item.shape, &page);
        }
        document = document.add(group);
    }
    Ok(document.to_string())
}

/// Refuses a coordinate that is not finite.
fn finite(drawing: &Drawing) -> Result<(), Fault> {
    if drawing.is_finite() {
        return Ok(());
    }
    Err(Fault::new(
        Kind::Geometry,
        Place::file(format!("{}.svg", drawing.name)),
        "a coordinate is not a finite number",
        "report this drawing: the stage before it must not let one through",
    ))
}

/// What a drawing is looked at for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Look {
    /// A pattern: true size, with bars to check the print.
    Part,
    /// A cutting plan in true size.
    Sheet,
    /// A picture.
    Picture,
}

/// Over the usual lines: in a picture the lines of the boat are drawn on the
/// stock-edge layer, strong, and what is measured off them is thin and red.
const PICTURE_STYLE: &str = "\n.sheet path{stroke:#000}\n.mark path{stroke:#b5533c;stroke-width:0.15}\n.hole circle{stroke:#1f5a8c;stroke-width:0.3}";

/// Over the usual lines, where a sheet has leads.
const LEAD_STYLE: &str = "\n.lead path{stroke:#b5533c;stroke-width:0.6}";

/// The page: turns the drawing's coordinates to the view box's.
struct Page {
    /// Left edge of the drawing, mm.
    left: f64,
    /// Upper edge of the drawing, mm.
    top: f64,
}

impl Page {
    fn at(&self, p: Vec2) -> Vec2 {
        vec2(p.x - self.left + MARGIN, self.top - p.y + MARGIN)
    }
}

fn svg(drawing: &Drawing, look: Look) -> Result<String, Fault> {
    finite(drawing)?;
    let (lo, hi) = drawing.bounds().unwrap_or_default();
    let page = Page {
        left: lo.x,
        top: hi.y,
    };
    let size = hi - lo;
    let letter = (size.x * FOOT_LETTER.0).clamp(FOOT_LETTER.1, FOOT_LETTER.2);
    let line = (size.x.max(size.y) * CUT_LINE.0).clamp(CUT_LINE.1, CUT_LINE.2);
    let mut width = size.x + 2.0 * MARGIN;
    let mut height = size.y + 2.0 * MARGIN;
    let foot = look == Look::Part;
    let leads = drawing.layers().any(|l| l == Layer::Lead);
    if foot {
        // Title, two bars with a line of text each, and air.
        let widest = text_length(&drawing.title, letter).max(BARS[1].0 + 12.0 * letter);
        width = width.max(widest + 2.0 * MARGIN);
        height += foot_height(letter);
    }
    let mut document = Document::new()
        .set("width", format!("{}mm", n(width)))
        .set("height", format!("{}mm", n(height)))
        .set("viewBox", format!("0 0 {} {}", n(width), n(height)))
        .add(Title::new(drawing.title.clone()))
        .add(Style::new(match look {
            Look::Picture => style(line) + PICTURE_STYLE,
            _ if leads => style(line) + LEAD_STYLE,
            _ => style(line),
        }))
        .add(
            Rectangle::new()
                .set("class", "paper")
                .set("width", n(width))
                .set("height", n(height)),
        );
    for layer in drawing.layers() {
        let mut group = Group::new().set("class", layer.name().to_lowercase());
        for item in on(drawing, layer) {
            group = shape(group, &item.shape, &page);
        }
        document = document.add(group);
    }
    if foot {
        document = document.add(foot_group(drawing, size.y + MARGIN, letter));
    }
    Ok(format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{document}\n"
    ))
}

/// What is on a layer; of cuts what is filled comes first, which would hide
/// the open lines across it.
fn on(drawing: &Drawing, layer: Layer) -> Vec<&Item> {
    let mut items: Vec<&Item> = (drawing.items.iter())
        .filter(|i| i.layer == layer)
        .collect();
    if layer == Layer::Cut {
        items.sort_by_key(|i| !matches!(i.shape, Shape::Profile(_)));
    }
    items
}

/// Line widths by layer from the width of the cut, mm.
fn style(cut: f64) -> String {
    let w = |k: f64| n(cut * k);
    [
        ".paper{fill:#fff}".to_owned(),
        "path,circle,line{fill:none;stroke-linejoin:round;stroke-linecap:round}".to_owned(),
        format!(".sheet path{{stroke:#777;stroke-width:{}}}", w(1.2)),
        format!(
            ".cut path{{stroke:#000;stroke-width:{}}}\n.cut .closed{{fill:#eceff1}}",
            w(1.0)
        ),
        format!(
            ".hole path,.hole circle{{stroke:#000;stroke-width:{}}}\n.hole .closed,.hole circle{{fill:#fff}}",
            w(0.8)
        ),
        format!(".mark path{{stroke:#444;stroke-width:{}}}", w(0.8)),
        format!(".label path{{stroke:#222;stroke-width:{}}}", w(0.8)),
        format!(".foot line{{stroke:#000;stroke-width:{}}}", w(1.0)),
        "text{font-family:Arial,\"Liberation Sans\",Helvetica,sans-serif;fill:#222}".to_owned(),
    ]
    .join("\n")
}

fn shape(group: Group, shape: &Shape, page: &Page) -> Group {
    match shape {
        Shape::Profile(outline) => group.add(
            Path::new()
                .set("class", "closed")
                .set("d", path(outline, page)),
        ),
        Shape::Stroke(points) => {
            let mut d = String::new();
            for (i, &p) in points.iter().enumerate() {
                d.push_str(if i == 0 { "M" } else { "L" });
                d.push_str(&xy(page.at(p)));
            }
            group.add(open(d))
        }
        Shape::Line(vertices) => {
            let profile = Outline {
                vertices: vertices.clone(),
            };
            let count = vertices.len().saturating_sub(1);
            group.add(open(pieces(&profile, page, count)))
        }
        Shape::Circle { centre, radius } => {
            let c = page.at(*centre);
            group.add(
                Circle::new()
                    .set("cx", n(c.x))
                    .set("cy", n(c.y))
                    .set("r", n(*radius)),
            )
        }
        Shape::Text {
            at,
            height,
            angle,
            text,
        } => {
            let p = page.at(*at);
            let mut node = words(text, p, *height);
            if *angle != 0.0 {
                // Clockwise on the page, whose y runs down.
                let turn = format!("rotate({} {})", n(360.0 - angle.to_degrees()), xy(p));
                node = node.set("transform", turn);
            }
            group.add(node)
        }
    }
}

/// An open line encloses nothing: it is never filled.
fn open(d: String) -> Path {
    Path::new().set("fill", "none").set("d", d)
}

/// A line of text, its capitals `height` mm high.
fn words(text: &str, at: Vec2, height: f64) -> Text {
    Text::new(text)
        .set("x", n(at.x))
        .set("y", n(at.y))
        .set("font-size", n(height / CAPITAL))
}

/// Path data of a closed profile. An arc that turns left in the drawing turns
/// left on the page too, which SVG calls sweep 0 as its y runs down.
fn path(outline: &Outline, page: &Page) -> String {
    pieces(outline, page, outline.vertices.len()) + "Z"
}

/// Path data of the first pieces of a profile.
fn pieces(outline: &Outline, page: &Page, count: usize) -> String {
    let mut d = String::new();
    for (i, s) in outline.segments().take(count).enumerate() {
        if i == 0 {
            d.push('M');
            d.push_str(&xy(page.at(s.a)));
        }
        let to = xy(page.at(s.b));
        match s.circle {
            Some(circle) => {
                let large = u8::from(s.bulge.abs() > 1.0);
                let sweep = u8::from(s.bulge < 0.0);
                let r = n(circle.radius);
                d.push_str(&format!("A{r} {r} 0 {large} {sweep} {to}"));
            }
            None => {
                d.push('L');
                d.push_str(&to);
            }
        }
    }
    d
}

/// Height of the space below a part, mm.
fn foot_height(letter: f64) -> f64 {
    letter * 9.0
}

/// Title and bars below a part whose lower edge is at `below`.
fn foot_group(drawing: &Drawing, below: f64, letter: f64) -> Group {
    let mut group = Group::new().set("class", "foot").add(words(
        &drawing.title,
        vec2(MARGIN, below + letter * 3.0),
        letter,
    ));
    let tick = letter * 0.5;
    for (i, (length, name)) in BARS.iter().enumerate() {
        let y = below + letter * (5.5 + 2.5 * i as f64);
        let x = MARGIN;
        let line = |x1: f64, y1: f64, x2: f64, y2: f64| {
            Line::new()
                .set("x1", n(x1))
                .set("y1", n(y1))
                .set("x2", n(x2))
                .set("y2", n(y2))
        };
        group = group
            .add(line(x, y, x + length, y).set("data-length-mm", n(*length)))
            .add(line(x, y - tick, x, y + tick))
            .add(line(x + length, y - tick, x + length, y + tick))
            .add(words(
                &format!("{name} when printed 1:1"),
                vec2(x + BARS[1].0 + letter, y + letter * 0.45),
                letter * 0.9,
            ));
    }
    group
}

/// A number without useless zeros.
fn n(value: f64) -> String {
    let text = number(value, DECIMALS);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn xy(p: Vec2) -> String {
    format!("{} {}", n(p.x), n(p.y))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::part_drawing;
    use crate::sample;

    /// The value of an attribute of the first element that has it.
    fn attribute<'a>(text: &'a str, name: &str) -> &'a str {
        let from = text.find(&format!("{name}=\"")).unwrap() + name.len() + 2;
        &text[from..from + text[from..].find('"').unwrap()]
    }

    #[test]
    fn the_page_is_in_mm_and_a_unit_is_a_millimetre() {
        let drawing = sample::nested().sheet_drawing(0);
        let text = sheet_svg(&drawing).unwrap();
        let (_, hi) = drawing.bounds().unwrap();
        let width: f64 = attribute(&text, "width")
            .trim_end_matches("mm")
            .parse()
            .unwrap();
        assert!((width - hi.x - 2.0 * MARGIN).abs() < 1e-5);
        let view: Vec<&str> = attribute(&text, "viewBox").split(' ').collect();
        assert_eq!(format!("{}mm", view[2]), attribute(&text, "width"));
        assert_eq!(format!("{}mm", view[3]), attribute(&text, "height"));
    }

    #[test]
    fn arcs_turn_the_same_way_on_the_page() {
        // Half circle over its chord: from (10, 0) left round to (-10, 0).
        let half = Outline {
            vertices: vec![
                crate::geom::Vertex {
                    at: vec2(10.0, 0.0),
                    bulge: 1.0,
                },
                crate::geom::Vertex {
                    at: vec2(-10.0, 0.0),
                    bulge: 0.0,
                },
            ],
        };
        let page = Page {
            left: -10.0,
            top: 10.0,
        };
        assert_eq!(path(&half, &page), "M30 20A10 10 0 0 0 10 20L30 20Z");
        assert_eq!(
            path(&half.reversed(), &page),
            "M10 20A10 10 0 0 1 30 20L10 20Z"
        );
    }

    #[test]
    fn a_part_carries_both_bars_and_its_title() {
        let drawing = part_drawing(&sample::ring_sector("B1"), &sample::job());
        let text = part_svg(&drawing).unwrap();
        assert!(
            text.contains("data-length-mm=\"100\"") && text.contains("data-length-mm=\"101.6\"")
        );
        assert!(text.contains("100 mm when printed 1:1") && text.contains("4 in when printed 1:1"));
        assert!(text.contains("part B1, 5086-H116, 12.7 mm thick"));
        assert_eq!(text, part_svg(&drawing).unwrap());
    }

    #[test]
    fn names_are_escaped_and_numbers_checked() {
        let mut part = sample::ring_sector("A&<B>");
        let mut job = sample::job();
        job.name = "Fish & \"chips\"".into();
        let text = part_svg(&part_drawing(&part, &job)).unwrap();
        assert!(text.contains("A&amp;&lt;B&gt;") && !text.contains("A&<"));
        part.outline.vertices[1].bulge = f64::INFINITY;
        let fault = part_svg(&part_drawing(&part, &job)).unwrap_err();
        assert_eq!(fault.kind, Kind::Geometry);
    }
}
