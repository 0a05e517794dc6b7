//! Runs: the lengths of edge that carry a bulwark, and their smooth bays.

use super::chain::Chain;
use super::divide::Spans;
use super::locate::locate;
use super::model::MemberKind;
use super::strip::{EndCut, Guide};
use crate::fault::{Fault, Kind, Place};
use crate::geom::steps::apart;
use crate::job::{Doubler, Job, Position, Side};
use crate::length::{show, told};

/// An uninterrupted length of bulwark on one chain, in t.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Segment {
    pub name: String,
    pub chain: usize,
    pub from: f64,
    pub to: f64,
    /// True where the segment lies on starboard alone: it is then divided
    /// from its fore end, which is its last, so that a mirrored boat gets
    /// mirrored pieces.
    pub flip: bool,
}

/// A smooth length of a segment, with the net ends of both plates.
#[derive(Debug, Clone)]
pub(super) struct Bay {
    pub length: usize,
    pub base: [EndCut; 2],
    pub top: [EndCut; 2],
    /// t between which both plates are whole over their width.
    pub from: f64,
    pub to: f64,
    /// True where the bay begins (ends) at a knuckle.
    pub mitred: [bool; 2],
}

/// A length that stanchions, joints or fasteners keep clear of.
#[derive(Debug, Clone)]
pub(super) struct Obstacle {
    pub chain: usize,
    pub from: f64,
    pub to: f64,
    /// Index into the job's doublers, if it is one.
    pub doubler: Option<usize>,
}

/// The obstacles that lie on a chain.
pub(super) fn on_chain<'o>(
    all: &'o [Obstacle],
    chain: &Chain<'_>,
) -> impl Iterator<Item = &'o Obstacle> + use<'o> {
    let index = chain.index;
    all.iter().filter(move |o| o.chain == index)
}

/// What was found; the faults of the others are added.
pub(super) fn kept<T>(
    found: impl IntoIterator<Item = Result<T, Fault>>,
    faults: &mut Vec<Fault>,
) -> Vec<T> {
    let well = |one: Result<T, Fault>| one.map_err(|f| faults.push(f)).ok();
    found.into_iter().filter_map(well).collect()
}

/// The segments of all chains, in order; what bounds none of them is added to
/// the faults.
pub(super) fn segments(chains: &[Chain<'_>], job: &Job, faults: &mut Vec<Fault>) -> Vec<Segment> {
    let mut whole: Vec<(usize, f64, f64, String)> = Vec::new();
    if job.runs.is_empty() {
        for w in chains {
            let (a, b) = w.range();
            let name = match (w.side(a), w.side(b)) {
                (Side::Port, Side::Port) => "port",
                (Side::Starboard, Side::Starboard) => "starboard",
                _ => "port, round the stern, starboard",
            };
            whole.push((w.index, a, b, name.to_owned()));
        }
    }
    let runs = job.runs.iter().enumerate().map(|(i, run)| {
        let (chain, a, b) = stretch(chains, &run.from, &run.to, &format!("run[{}]", i + 1), job)?;
        Ok((chain, a, b, run.name.clone()))
    });
    whole.extend(kept(runs, faults));
    let gaps = job
        .gaps
        .iter()
        .enumerate()
        .map(|(i, gap)| stretch(chains, &gap.from, &gap.to, &format!("gap[{}]", i + 1), job));
    let cuts = kept(gaps, faults);
    let mut out = Vec::new();
    for (chain, a, b, name) in whole {
        let gaps = cuts.iter().filter(|c| c.0 == chain).map(|c| (c.1, c.2));
        let free = Spans::union(gaps.collect()).free(a, b);
        let several = free.len() > 1;
        for (k, (from, to)) in free.into_iter().enumerate() {
            let side = |t: f64| chains[chain].side(t);
            out.push(Segment {
                name: match several {
                    true => format!("{name}, part {}", k + 1),
                    false => name.clone(),
                },
                chain,
                from,
                to,
                flip: side(from) == Side::Starboard && side(to) == Side::Starboard,
            });
        }
    }
    faults.extend(overlap(&out, chains, job));
    out
}

/// The first two runs that overlap.
fn overlap(segments: &[Segment], chains: &[Chain<'_>], job: &Job) -> Option<Fault> {
    let over = |a: &Segment, b: &Segment| {
        a.chain == b.chain && a.from < b.to - 1e-6 && b.from < a.to - 1e-6
    };
    segments.iter().enumerate().find_map(|(i, a)| {
        let b = segments[i + 1..].iter().find(|b| over(a, b))?;
        let at = chains[a.chain].name(a.from.max(b.from));
        Some(Fault::new(
            Kind::Conflict,
            job.place("run").station(at),
            format!("the runs `{}` and `{}` overlap", a.name, b.name),
            "end one run where the other begins",
        ))
    })
}

pub(super) fn stretch(
    chains: &[Chain<'_>],
    from: &Position,
    to: &Position,
    field: &str,
    job: &Job,
) -> Result<(usize, f64, f64), Fault> {
    let (c1, a) = locate(
        chains,
        from,
        ("its beginning", &format!("{field}.from")),
        job,
    )?;
    let (c2, b) = locate(chains, to, ("its end", &format!("{field}.to")), job)?;
    if c1 != c2 || (a - b).abs() < 1.0 {
        let what = "from and to do not bound a length of one edge";
        let mend = "give two different places on the same side";
        return Err(Fault::new(Kind::Conflict, job.place(field), what, mend));
    }
    Ok((c1, a.min(b), a.max(b)))
}

/// The smooth bays of a segment. At a knuckle both plates are mitred, `back`
/// mm short of the bisecting plane.
pub(super) fn bays(chain: &Chain<'_>, segment: &Segment, back: f64) -> Result<Vec<Bay>, Fault> {
    let first = chain.length_at(segment.from + 1e-6);
    let last = chain.length_at(segment.to - 1e-6);
    let mut out = Vec::new();
    for length in first..=last {
        let (base_start, top_start) = if length == first {
            chain.end_cuts(segment.from)?
        } else {
            chain.mitre_cuts(length - 1, true, back)?
        };
        let (base_end, top_end) = if length == last {
            chain.end_cuts(segment.to)?
        } else {
            chain.mitre_cuts(length, false, back)?
        };
        let bay = Bay {
            length,
            from: base_start.innermost(false),
            to: base_end.innermost(true),
            base: [base_start, base_end],
            top: [top_start, top_end],
            mitred: [length != first, length != last],
        };
        if bay.to - bay.from < chain.job.stanchions.side {
            return Err(Fault::new(
                Kind::Geometry,
                Place::file(&chain.job.file).station(chain.name(bay.from.min(segment.to))),
                "the bulwark between two corners or ends is too short to build",
                "join it to its neighbour: drop a knuckle, or move the end of the run",
            ));
        }
        out.push(bay);
    }
    Ok(out)
}

/// A doubler's own surface: on the base plate, in the middle of its width.
pub(super) fn doubler_guide(base: &Guide, job: &Job, d: &Doubler) -> Guide {
    Guide {
        inset: base.inset + (base.width - d.width) / 2.0,
        lift: base.lift + (job.base.thickness + d.thickness) / 2.0,
        width: d.width,
        ..base.clone()
    }
}

/// Doublers and lengths to keep clear, or why one lies nowhere.
pub(super) fn obstacles(chains: &[Chain<'_>], job: &Job) -> Vec<Result<Obstacle, Fault>> {
    let doublers = job.doublers.iter().enumerate().map(|(i, d)| {
        let field = format!("doubler[{}].at", i + 1);
        let (chain, t) = locate(
            chains,
            &d.at,
            (&format!("doubler `{}`", d.name), &field),
            job,
        )?;
        let base = &chains[chain].guides[chains[chain].length_at(t)].base;
        let guide = doubler_guide(base, job, d);
        Ok(Obstacle {
            chain,
            from: guide.advance(t, -d.length / 2.0),
            to: guide.advance(t, d.length / 2.0),
            doubler: Some(i),
        })
    });
    let keep_clear = job.keep_clear.iter().enumerate().map(|(i, k)| {
        let field = format!("keep_clear[{}].at", i + 1);
        let (chain, t) = locate(chains, &k.at, (&format!("`{}`", k.name), &field), job)?;
        Ok(Obstacle {
            chain,
            from: t - k.length / 2.0,
            to: t + k.length / 2.0,
            doubler: None,
        })
    });
    doublers.chain(keep_clear).collect()
}

/// Refuses an edge whose inboard side is bent tighter than twice the plate's
/// thickness.
pub(super) fn check_radius(chain: &Chain<'_>, bay: &Bay) -> Result<(), Fault> {
    let (g, job) = (&chain.guides[bay.length], chain.job);
    for kind in MemberKind::PLATES {
        let (guide, cuts) = kind.pick((&g.base, &bay.base), (&g.top, &bay.top));
        let thickness = kind.pick(&job.base, &job.top).thickness;
        // A place every 25 mm sees any bend that a 180 mm plate can follow.
        for t in apart(cuts[0].at(0.0), cuts[1].at(0.0), 25.0) {
            let curvature = guide.plan_curvature(t);
            let inner = 1.0 / curvature - guide.offset - guide.inset - guide.width;
            if curvature > 0.0 && inner < 2.0 * thickness {
                let word = kind.pick("base", "top");
                let what = format!(
                    "the {word} plate's inside edge would be bent to a radius of {}, less than twice its thickness of {}",
                    show(inner.max(0.0), job.show),
                    told(thickness, job.show)
                );
                let mend = "make the plate narrower, ease the curve, or mark a knuckle here so that the plates mitre";
                let at = t.min(g.range().1);
                return Err(chain.fault(format!("{word}.width"), at, what, mend));
            }
        }
    }
    Ok(())
}
