//! Parts at full size on paper.

use std::sync::atomic::AtomicBool;

use super::fairness::Faired;
use super::model::{Files, Flattened, Shaped};
use super::shape::shape_until;
use crate::drawing::{Shows, part_drawing, pattern_drawing};
use crate::fault::{Fault, Faults, Kind, Place};
use crate::job::Job;
use crate::layout::MemberKind;
use crate::length::show;
use crate::page::{LOFT_LEAST, Loft, Packet, Pattern, Patterns, Print, lofts, packet, test_page};
use crate::part::Part;
use crate::report::fairness::doubted_notice;
use crate::stock::nearest;
use crate::write::pdf::pdf;
use rayon::prelude::*;

/// What is to be printed, and how.
#[derive(Debug, Clone, PartialEq)]
pub struct PatternsAsked {
    /// Names of parts; empty: all.
    pub parts: Vec<String>,
    /// Kinds of parts; empty: all.
    pub kinds: Vec<MemberKind>,
    /// All in one file, in place of one a part.
    pub one_file: bool,
    /// What of a part is shown; drilling is that of base plates alone.
    pub shows: Shows,
    /// Paper and printer.
    pub print: Print,
}

/// What was made.
#[derive(Debug)]
pub struct PatternsMade {
    /// Every file.
    pub files: Files,
    /// Name of each file, and how many pages it has.
    pub pages: Vec<(String, usize)>,
}

/// Patterns of a job's parts, from lines that are faired already; `stop` ends
/// the choice of butts where that is made with the nest.
///
/// # Errors
/// An unknown part, with the nearest known one; the first problem of a stage.
pub fn patterns(
    job: &Job,
    faired: Faired,
    asked: &PatternsAsked,
    stop: &AtomicBool,
) -> Result<PatternsMade, Faults> {
    let shaped = shape_until(job, faired, &|_| (), stop)?;
    let parts = wanted(&shaped, asked)?;
    let notice = doubted_notice(&shaped.survey, &shaped.edge.doubts);
    let all: Vec<Pattern> = (parts.par_iter())
        .map(|part| pattern(part, job, asked.shows))
        .collect();
    let of = |patterns: &[Pattern]| {
        let of = Patterns {
            job: &job.name,
            date: &job.date,
            notice: notice.as_deref(),
            show: job.show,
            shows: asked.shows,
            patterns,
        };
        packet(&of, &asked.print)
    };
    let packets: Vec<(String, Packet)> = if asked.one_file {
        vec![("patterns.pdf".to_owned(), of(&all))]
    } else {
        (all.par_iter())
            .map(|p| {
                let file = format!("{}.pdf", p.name.replace(' ', "-"));
                (file, of(std::slice::from_ref(p)))
            })
            .collect()
    };
    written(packets)
}

/// What is printed of a part.
fn pattern(part: &Part, job: &Job, shows: Shows) -> Pattern {
    let about = part.told(job.show, shows == Shows::OtherFace);
    let (name, about) = match shows {
        Shows::Drilling => {
            let what = "drilling of the covering board, seen from above";
            let [_, _, place] = about;
            (
                format!("{} drilling", part.name),
                vec![what.to_owned(), place],
            )
        }
        _ => (part.name.clone(), about.to_vec()),
    };
    let drawing = pattern_drawing(part, job, shows);
    Pattern {
        name,
        about,
        drawing,
    }
}

/// Ordinates of the parts that are asked for, on pages.
///
/// # Errors
/// As [`patterns`].
pub fn ordinates(
    job: &Job,
    faired: Faired,
    asked: &PatternsAsked,
    stop: &AtomicBool,
) -> Result<PatternsMade, Faults> {
    let wide = asked.print.printable().width;
    if wide < LOFT_LEAST {
        let what = format!(
            "a page is {} wide to print on, too narrow for a table of ordinates",
            show(wide, job.show)
        );
        let mend = format!(
            "take a paper with {} or more to print on",
            show(LOFT_LEAST, job.show)
        );
        return Err(Fault::new(Kind::Range, Place::file("--paper"), what, mend).into());
    }
    let shaped = shape_until(job, faired, &|_| (), stop)?;
    let loft = |part: &&Part| {
        let mut about = part.told(job.show, false).to_vec();
        about.extend(senses(part));
        Loft {
            name: part.name.clone(),
            about,
            drawing: part_drawing(part, job),
            rows: (part.ordinates.iter())
                .map(|o| ([o.x, o.lower, o.upper], o.corner()))
                .collect(),
        }
    };
    let strips: Vec<Loft> = wanted(&shaped, asked)?.iter().map(loft).collect();
    let pages = lofts(&job.name, &job.date, job.show, &strips, &asked.print);
    written(vec![("ordinates.pdf".to_owned(), pages)])
}

/// Which way a strip lies on its drawing; `None` for a plate without bends.
pub(super) fn senses(part: &Part) -> Option<String> {
    let (first, last) = (part.bends.first()?, part.bends.last()?);
    let chord = last.outboard() - first.outboard();
    let across = first.inboard() - first.outboard();
    // A part is laid with its forward end to the right, one wider than long upwards.
    let (end, edge) = if chord.x.abs() >= chord.y.abs() {
        let edge = if across.y < 0.0 { "upper" } else { "lower" };
        ("to the right", edge)
    } else {
        let edge = if across.x < 0.0 { "right" } else { "left" };
        ("up", edge)
    };
    Some(format!("forward is {end}, the {edge} edge is outboard"))
}

/// The test page of a paper.
///
/// # Errors
/// It could not be written.
pub fn printer_test(job: &Job, print: &Print) -> Result<PatternsMade, Faults> {
    let page = test_page(&job.name, &job.date, job.show, print);
    written(vec![("test-page.pdf".to_owned(), page)])
}

fn written(packets: Vec<(String, Packet)>) -> Result<PatternsMade, Faults> {
    let files: Vec<Result<(String, Vec<u8>), Fault>> = (packets.par_iter())
        .map(|(name, packet)| Ok((name.clone(), pdf(packet)?)))
        .collect();
    let count = |(name, packet): &(String, Packet)| (name.clone(), packet.pages.len());
    Ok(PatternsMade {
        files: files.into_iter().collect::<Result<_, Fault>>()?,
        pages: packets.iter().map(count).collect(),
    })
}

/// The parts that are asked for, in the order of the layout.
fn wanted<'a>(shaped: &'a Shaped, asked: &PatternsAsked) -> Result<Vec<&'a Part>, Faults> {
    let all = || shaped.parts.iter().map(|f: &Flattened| &f.part);
    let unknown = |name: &String| {
        let known = |name: &str| all().any(|p| p.name == name);
        let several: Vec<&str> = name.split([',', ';', ' ']).map(str::trim).collect();
        let mend = if name.trim().is_empty() {
            "name a part, or leave --part out: all are printed then".to_owned()
        } else if several.len() > 1 && several.iter().all(|n| known(n)) {
            format!("name each on its own: --part {}", several.join(" --part "))
        } else {
            let near = nearest(name, all().map(|p| p.name.as_str())).unwrap_or_default();
            format!("did you mean {near}? The parts are listed by `planksheer build`")
        };
        let what = format!("there is no part `{name}`");
        Fault::new(Kind::Unknown, Place::file("--part"), what, mend)
    };
    let missing: Vec<Fault> = (asked.parts.iter())
        .filter(|name| all().all(|p| p.name != **name))
        .map(unknown)
        .collect();
    if !missing.is_empty() {
        return Err(Faults(missing));
    }
    let asked_for = |p: &&Part| {
        let named = asked.parts.is_empty() || asked.parts.contains(&p.name);
        let drilled = asked.shows != Shows::Drilling || p.kind == MemberKind::BasePlate;
        named && drilled && (asked.kinds.is_empty() || asked.kinds.contains(&p.kind))
    };
    let parts: Vec<&Part> = all().filter(asked_for).collect();
    if parts.is_empty() {
        return Err(Fault::new(
            Kind::Missing,
            Place::file(if asked.parts.is_empty() {
                "--kind"
            } else {
                "--part"
            }),
            match asked.shows {
                Shows::Drilling => {
                    "the covering board is drilled through base plates alone, and none is asked for"
                }
                _ => "no part is both of the names and of the kinds asked for",
            },
            "ask for another kind, or for other parts",
        )
        .into());
    }
    Ok(parts)
}
