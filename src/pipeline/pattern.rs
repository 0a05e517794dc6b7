//! Parts at full size on paper.

use std::sync::atomic::AtomicBool;

use super::cap::{cap_parts, file_stem, sawn_from};
use super::fairness::Faired;
use super::model::{Files, Flattened, Shaped};
use super::shape::shape_until;
use super::share::shared;
use crate::drawing::{Drawing, Shows, part_drawing, pattern_drawing, pattern_outline};
use crate::fault::{Fault, Faults, Kind, Place};
use crate::geom::{Outline, Placement, Vec2, vec2};
use crate::job::Job;
use crate::layout::{CAP, MemberKind};
use crate::length::{Show, show};
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
    /// What of a part is shown; drilling is that of base plates alone, footprints
    /// are on plates.
    pub shows: Shows,
    /// Parts that fit a page share pages.
    pub share: bool,
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
    let cap = asked.cap(job, &shaped)?;
    let parts = wanted(&shaped, &cap, asked)?;
    let notice = doubted_notice(&shaped.survey, &shaped.edge.doubts);
    let pages = if asked.share {
        on_shared_pages(&parts, asked, job.show)?
    } else {
        each_alone(0..parts.len())
    };
    let alone = pages.iter().filter(|page| page.len() == 1).count();
    let number = |k: usize| (k + 1).saturating_sub(alone);
    let named = |(k, page): (usize, &OnPage)| pattern(page, &parts, number(k), job, asked.shows);
    let all: Vec<Pattern> = (pages.par_iter().enumerate()).map(named).collect();
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
        let (shared, alone): (Vec<Pattern>, Vec<Pattern>) =
            all.into_iter().partition(|p| !p.shares.is_empty());
        let file = |p: &Pattern| format!("{}.pdf", file_stem(&p.name));
        (alone.par_chunks(1).map(|p| (file(&p[0]), of(p))))
            .chain(
                shared
                    .par_chunks(shared.len().max(1))
                    .map(|p| (SHARED.to_owned() + ".pdf", of(p))),
            )
            .collect()
    };
    written(packets)
}

/// What pages that parts share are called, and their file.
const SHARED: &str = "shared";

/// Parts by their numbers that are printed as one, and where each lies.
type OnPage = Vec<(usize, Placement)>;

/// Every part by itself.
fn each_alone(parts: impl Iterator<Item = usize>) -> Vec<OnPage> {
    parts.map(|i| vec![(i, Placement::IDENTITY)]).collect()
}

/// Parts that need pages of their own, then those that share.
fn on_shared_pages(
    parts: &[&Part],
    asked: &PatternsAsked,
    show: Show,
) -> Result<Vec<OnPage>, Fault> {
    let outlines: Vec<(String, Outline)> = (parts.iter())
        .map(|p| (p.name.clone(), pattern_outline(p, asked.shows)))
        .collect();
    let mut shared = shared(&outlines, &asked.print, show)?;
    shared.retain(|page| page.len() > 1);
    let on_one = |i: &usize| shared.iter().flatten().any(|(k, _)| k == i);
    let mut out = each_alone((0..parts.len()).filter(|i| !on_one(i)));
    out.extend(shared);
    Ok(out)
}

/// What is printed of a part, or of several on the page of a number.
fn pattern(on: &OnPage, parts: &[&Part], number: usize, job: &Job, shows: Shows) -> Pattern {
    let each: Vec<(&Part, Placement)> = on.iter().map(|&(i, at)| (parts[i], at)).collect();
    if let [(part, at)] = each[..] {
        return of_part(part, at, job, shows);
    }
    let names: Vec<&str> = each.iter().map(|(p, _)| p.name.as_str()).collect();
    let items = |&(p, at): &(&Part, Placement)| pattern_drawing(p, job, shows, at).items;
    let share = |(p, at): &(&Part, Placement)| (p.name.clone(), at.apply(middle(p, shows)));
    Pattern {
        name: format!("{SHARED} {number}"),
        about: vec![names.join(", ")],
        drawing: Drawing {
            items: each.iter().flat_map(items).collect(),
            ..Drawing::default()
        },
        shares: each.iter().map(share).collect(),
    }
}

/// Where a part's name has room on its pattern.
fn middle(part: &Part, shows: Shows) -> Vec2 {
    let (lo, hi) = part.outline.bounds();
    let at = part.caption.map_or(lo.lerp(hi, 0.5), |c| c.centre);
    match shows {
        Shows::OtherFace => vec2(at.x, -at.y),
        _ => at,
    }
}

/// What is printed of a part.
fn of_part(part: &Part, at: Placement, job: &Job, shows: Shows) -> Pattern {
    let mut about = part.told(job.show, shows == Shows::OtherFace).to_vec();
    if part.kind == MemberKind::Cap {
        about.extend(sawn_from(part, job));
    }
    let of = |what: &str, told: &str| {
        let place = &part.place;
        (
            format!("{} {what}", part.name),
            vec![told.to_owned(), place.clone()],
        )
    };
    let (name, about) = match shows {
        Shows::Drilling => of(
            "drilling",
            "drilling of the covering board, seen from above",
        ),
        Shows::Footprints => {
            let told = format!("footprints on the {}", about[0]);
            of("footprints", &told)
        }
        _ => (part.name.clone(), about),
    };
    Pattern {
        name,
        about,
        drawing: pattern_drawing(part, job, shows, at),
        shares: Vec::new(),
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
    let cap = asked.cap(job, &shaped)?;
    let strips: Vec<Loft> = wanted(&shaped, &cap, asked)?.iter().map(loft).collect();
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

impl PatternsAsked {
    /// The cap's lengths where some are asked for.
    fn cap(&self, job: &Job, shaped: &Shaped) -> Result<Vec<Part>, Faults> {
        let named = self.parts.iter().any(|name| name.starts_with(CAP));
        if named || self.kinds.contains(&MemberKind::Cap) {
            return cap_parts(job, shaped);
        }
        Ok(Vec::new())
    }
}

/// The parts that are asked for, in the order of the layout; the cap's lengths
/// after the others.
fn wanted<'a>(
    shaped: &'a Shaped,
    cap: &'a [Part],
    asked: &PatternsAsked,
) -> Result<Vec<&'a Part>, Faults> {
    let all = || shaped.parts.iter().map(|f: &Flattened| &f.part).chain(cap);
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
        let plate = matches!(p.kind, MemberKind::BasePlate | MemberKind::TopPlate);
        let shown = match asked.shows {
            Shows::Drilling => p.kind == MemberKind::BasePlate,
            Shows::Footprints => plate,
            Shows::Part | Shows::OtherFace => true,
        };
        named && shown && (asked.kinds.is_empty() || asked.kinds.contains(&p.kind))
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
                Shows::Footprints => "stanchions stand on plates alone, and none is asked for",
                _ => "no part is both of the names and of the kinds asked for",
            },
            "ask for another kind, or for other parts",
        )
        .into());
    }
    Ok(parts)
}
