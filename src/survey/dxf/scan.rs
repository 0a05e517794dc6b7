//! Where things stand in the text of a drawing.
//!
//! The `dxf` crate gives an entity's figures without its line, takes a
//! coordinate that is missing for nought, and drops an entity that it cannot
//! read without a word. So the text is split into its pairs (a code on one
//! line, its value on the next) once by us: for places, to count what the
//! crate must return, and to hand it only what is asked for.

use crate::pairs::{Broken, Pair, broken, pairs, shortened, unescaped};

/// Kinds of entity that hold measured points.
pub(super) const READ: [&str; 4] = ["POINT", "LINE", "LWPOLYLINE", "POLYLINE"];

/// An entity of the drawing.
#[derive(Debug, Clone)]
pub(super) struct Entity<'a> {
    pub(super) kind: &'a str,
    /// Line it begins on.
    pub(super) line: usize,
    /// Its handle, as written; empty in a file without handles.
    pub(super) handle: &'a str,
    /// Its layer, escapes read.
    pub(super) layer: String,
    /// True where it lies on a sheet of paper, not in the model.
    pub(super) paper: bool,
    /// Line of each of its points: of a polyline's vertices, a line's ends.
    pub(super) points: Vec<usize>,
    /// Line of a point without an x or a y.
    pub(super) lacks: Option<usize>,
}

/// What was found.
#[derive(Debug, Default)]
pub(super) struct Scan<'a> {
    pub(super) entities: Vec<Entity<'a>>,
    /// Text for the crate: the header's version and unit, and the entities
    /// that are read, in ASCII.
    pub(super) extract: String,
    /// Line in the file of each pair of the extract.
    pub(super) lines: Vec<usize>,
}

/// Splits a drawing.
///
/// # Errors
/// A binary file, a code that is no number, a section that does not end, no
/// entities, no end of file.
pub(super) fn scan(text: &str) -> Result<Scan<'_>, Broken> {
    let pairs = pairs(text)?;
    let mut out = Scan::default();
    let mut i = 0;
    let (mut ended, mut found) = (false, false);
    while let Some(pair) = pairs.get(i) {
        match (pair.code, pair.value) {
            (0, "EOF") => {
                ended = true;
                break;
            }
            (0, "SECTION") => {
                let name = pairs.get(i + 1).filter(|p| p.code == 2);
                let from = (i + 2).min(pairs.len());
                let body = &pairs[from..];
                let Some(length) = body.iter().position(|p| p.code == 0 && p.value == "ENDSEC")
                else {
                    return broken(pair.line, "this section does not end");
                };
                match name.map(|p| p.value) {
                    Some("HEADER") => header(&body[..length], &mut out),
                    Some("ENTITIES") => {
                        found = true;
                        entities(&body[..length], &mut out)?;
                    }
                    _ => {}
                }
                i = from + length + 1;
            }
            (999, _) => i += 1,
            (code, value) => {
                return broken(
                    pair.line,
                    format!(
                        "code {code} with `{}` stands outside a section",
                        shortened(value)
                    ),
                );
            }
        }
    }
    if !found {
        return Err(Broken {
            line: None,
            what: "the drawing has no entities".to_owned(),
            mend: "check that this is the drawing with the measured edge, as DXF",
        });
    }
    if !ended {
        return broken(
            text.lines().count(),
            "the drawing breaks off without its end",
        );
    }
    out.put(0, "EOF", 0);
    Ok(out)
}

impl Scan<'_> {
    /// Adds a pair to the extract. Letters beyond ASCII stand in names only,
    /// which are read from our own pairs.
    fn put(&mut self, code: i32, value: &str, line: usize) {
        let plain = |c: char| {
            if c.is_ascii() && !c.is_control() {
                c
            } else {
                '?'
            }
        };
        self.extract.push_str(&format!("{code}\n"));
        self.extract.extend(value.chars().map(plain));
        self.extract.push('\n');
        self.lines.push(line);
    }
}

fn header<'a>(pairs: &[Pair<'a>], out: &mut Scan<'a>) {
    out.put(0, "SECTION", 0);
    out.put(2, "HEADER", 0);
    for w in pairs.windows(2) {
        let wanted = match (w[0].code, w[0].value) {
            (9, "$ACADVER") => w[1].code == 1,
            (9, "$INSUNITS") => w[1].code == 70,
            _ => false,
        };
        if wanted {
            out.put(9, w[0].value, w[0].line);
            out.put(w[1].code, w[1].value, w[1].line);
        }
    }
    out.put(0, "ENDSEC", 0);
}

fn entities<'a>(pairs: &[Pair<'a>], out: &mut Scan<'a>) -> Result<(), Broken> {
    out.put(0, "SECTION", 0);
    out.put(2, "ENTITIES", 0);
    let starts: Vec<usize> = (0..pairs.len()).filter(|&i| pairs[i].code == 0).collect();
    let mut within = "";
    for (k, &start) in starts.iter().enumerate() {
        let end = starts.get(k + 1).copied().unwrap_or(pairs.len());
        let body = &pairs[start..end];
        let kind = body[0].value;
        match kind {
            "VERTEX" | "SEQEND" => {
                if within != "POLYLINE" {
                    continue;
                }
                if kind == "SEQEND" {
                    within = "";
                } else if let Some(polyline) = out.entities.last_mut() {
                    let (mut points, lacks) = points(body, &[(10, 20)]);
                    polyline.points.push(points.pop().unwrap_or(body[0].line));
                    polyline.lacks = polyline.lacks.or(lacks);
                }
            }
            _ => {
                within = kind;
                out.entities.push(entity(body));
            }
        }
        if READ.contains(&kind) || kind == "VERTEX" || kind == "SEQEND" {
            copy(body, out)?;
        }
    }
    out.put(0, "ENDSEC", 0);
    Ok(())
}

fn entity<'a>(body: &[Pair<'a>]) -> Entity<'a> {
    let kind = body[0].value;
    let value = |code: i32| body.iter().find(|p| p.code == code).map(|p| p.value);
    let (points, lacks) = match kind {
        "LINE" => points(body, &[(10, 20), (11, 21)]),
        // A polyline's vertices follow it, each by itself.
        "POLYLINE" => (Vec::new(), None),
        _ => points(body, &[(10, 20)]),
    };
    Entity {
        kind,
        line: body[0].line,
        handle: value(5).unwrap_or_default(),
        layer: unescaped(value(8).unwrap_or("0")),
        paper: value(67).is_some_and(|v| v == "1"),
        points,
        lacks,
    }
}

/// Lines of the points that begin with each pair of codes, and the first
/// place where one of a pair stands without the other, or none stands.
fn points(body: &[Pair<'_>], codes: &[(i32, i32)]) -> (Vec<usize>, Option<usize>) {
    let (mut found, mut lacks) = (Vec::new(), None);
    for &(x, y) in codes {
        let count = |code: i32| body.iter().filter(|p| p.code == code).count();
        if count(x) == 0 || count(x) != count(y) {
            lacks = lacks.or(Some(body[0].line));
        }
        found.extend(body.iter().filter(|p| p.code == x).map(|p| p.line));
    }
    (found, lacks)
}

/// Gives the crate an entity's geometry alone: other codes (names, colours,
/// data of other programs) cannot then stop it.
fn copy<'a>(body: &[Pair<'a>], out: &mut Scan<'a>) -> Result<(), Broken> {
    for p in body {
        let sound = match p.code {
            0 => true,
            10 | 20 | 30 | 11 | 21 | 31 | 38 | 42 | 66 | 70 | 90 | 210 | 220 | 230 => {
                p.value.parse::<f64>().is_ok()
            }
            _ => continue,
        };
        if !sound {
            let what = format!("`{}` is not a number", shortened(p.value));
            return broken(p.line + 1, what);
        }
        out.put(p.code, p.value, p.line);
    }
    Ok(())
}
