//! DXF in text form, read: a survey, a remnant, a part read back for its proof.
//! One reader, which takes no figure for nought and tells every fault with its
//! line. The writer stands in [`crate::write::dxf`].

mod entity;
mod letters;
mod pairs;

use std::ops::Range;

use crate::fault::{Fault, Kind, Place};
use crate::length::{FOOT, INCH, Unit};
use pairs::{AGAIN, Pair, pairs};

pub use entity::{Entity, Vertex};
pub use letters::{ascii, drawing_text, wrapped};
pub use pairs::shortened;

/// Values of `$INSUNITS` that are taken, with their names and mm (DXF
/// reference, header variables). 0 says nothing.
const UNITS: [(&str, &str, f64); 5] = [
    ("1", "inches", INCH),
    ("2", "feet", FOOT),
    ("4", "millimetres", 1.0),
    ("5", "centimetres", 10.0),
    ("6", "metres", 1000.0),
];

/// A drawing: its entities, in the order of the text, and its unit.
#[derive(Debug)]
pub struct Drawing<'a> {
    file: &'a str,
    pairs: Vec<Pair<'a>>,
    /// Pairs of each entity, a polyline's vertices with it.
    entities: Vec<Range<usize>>,
    /// The value of `$INSUNITS`.
    unit: Option<Pair<'a>>,
}

impl<'a> Drawing<'a> {
    /// Reads a drawing's text. `file` is its name as people know it.
    ///
    /// # Errors
    /// A binary file, a code that is no number, something outside a section, a
    /// section that does not end, no section of entities, no end.
    pub fn read(file: &'a str, text: &'a str) -> Result<Self, Fault> {
        let mut out = Self {
            file,
            pairs: pairs(file, text)?,
            entities: Vec::new(),
            unit: None,
        };
        let pairs = &out.pairs;
        let broken = |line: usize, what: String| {
            Fault::new(Kind::Syntax, Place::file(file).line(line), what, AGAIN)
        };
        let (mut at, mut found) = (0, false);
        loop {
            let Some(pair) = pairs.get(at) else {
                let what = "the drawing breaks off without its end".to_owned();
                return Err(broken(text.lines().count(), what));
            };
            match (pair.code, pair.value) {
                (0, "EOF") => break,
                (999, _) => at += 1,
                (0, "SECTION") => {
                    let is_end = |p: &Pair<'_>| p.code == 0 && p.value == "ENDSEC";
                    let Some(length) = pairs[at..].iter().position(is_end) else {
                        return Err(broken(pair.line, "this section does not end".to_owned()));
                    };
                    let name = &pairs[at + 1];
                    let body = at + 2..at + length;
                    match (name.code, name.value) {
                        (2, "HEADER") => out.unit = insunits(&pairs[body]),
                        (2, "ENTITIES") => {
                            found = true;
                            out.entities.extend(entities(pairs, body));
                        }
                        _ => {}
                    }
                    at += length + 1;
                }
                (code, value) => {
                    let value = shortened(value);
                    let what = format!("code {code} with `{value}` stands outside a section");
                    return Err(broken(pair.line, what));
                }
            }
        }
        if !found {
            return Err(Fault::new(
                Kind::Syntax,
                Place::file(file),
                "the drawing has no entities",
                "check that this is the right drawing, as DXF",
            ));
        }
        Ok(out)
    }

    /// Its entities in the model; sheets of paper do not count.
    pub fn entities(&self) -> impl Iterator<Item = Entity<'_>> {
        let each = self.entities.iter().map(|range| Entity {
            file: self.file,
            pairs: &self.pairs[range.clone()],
        });
        each.filter(|e| !e.on_paper())
    }

    /// Millimetres in a unit of the drawing: by its header, and by the job,
    /// which gives `unit` in a table such as `[[sheet]]`.
    ///
    /// # Errors
    /// Neither says it, they do not agree, or the drawing's is none of ours.
    pub fn unit_mm(&self, given: Option<Unit>, table: &str) -> Result<f64, Fault> {
        let fault = |kind, what: String, mend: String| {
            let mut place = Place::file(self.file).field("$INSUNITS");
            place.line = self.unit.map(|p| p.line + 1);
            Err(Fault::new(kind, place, what, mend))
        };
        let given = given.and_then(|unit| Some((unit.name(), unit.mm()?)));
        let Some(stated) = self.unit.filter(|p| p.value != "0") else {
            return given.map_or_else(
                || {
                    fault(
                        Kind::Unit,
                        "the drawing does not say in what unit it is".to_owned(),
                        format!("add unit = \"mm\", \"m\", \"in\" or \"ft\" to this {table}"),
                    )
                },
                |(_, mm)| Ok(mm),
            );
        };
        let Some((_, name, mm)) = UNITS.iter().find(|u| u.0 == stated.value) else {
            return fault(
                Kind::Unit,
                format!("the drawing is in unit `{}`", shortened(stated.value)),
                "write it again in millimetres, metres, inches or feet".to_owned(),
            );
        };
        match given {
            Some((word, other)) if (mm - other).abs() > 1e-9 => fault(
                Kind::Conflict,
                format!("the drawing says that it is in {name}, and the job says {word}"),
                format!(
                    "set `unit` of this {table} to the drawing's, or write the drawing again in the job's unit"
                ),
            ),
            _ => Ok(*mm),
        }
    }
}

fn insunits<'a>(header: &[Pair<'a>]) -> Option<Pair<'a>> {
    let is = |w: &&[Pair<'a>]| w[0].code == 9 && w[0].value == "$INSUNITS" && w[1].code == 70;
    header.windows(2).find(is).map(|w| w[1])
}

/// Pairs of each entity of a section: vertices go with the entity before.
fn entities(pairs: &[Pair<'_>], section: Range<usize>) -> Vec<Range<usize>> {
    let begins = |&i: &usize| pairs[i].code == 0 && !matches!(pairs[i].value, "VERTEX" | "SEQEND");
    let end = section.end;
    let starts: Vec<usize> = section.filter(begins).collect();
    let ends = starts.iter().skip(1).copied().chain([end]);
    starts.iter().zip(ends).map(|(&a, b)| a..b).collect()
}

#[cfg(test)]
mod tests;
