//! The proof of a part: its written file and its written bend schedule, read
//! back, folded, and set against the member in space.

use std::collections::BTreeMap;

use super::Sketched;
use crate::develop::refold::{Row, gap, refold};
use crate::drawing::Layer;
use crate::fault::{Fault, Kind, Place};
use crate::geom::outline::arc_of;
use crate::geom::patch::Patch;
use crate::geom::{Outline, Vec2, Vec3, vec2};
use crate::job::Job;
use crate::layout::Member;
use crate::part::Part;
use crate::write::dxf::{read_profiles, style};

/// Points taken along each arc of an outline, beside its ends.
const POINTS_ON_ARC: u32 = 3;

/// What folding a part showed.
#[derive(Debug)]
pub(super) struct Proof {
    /// Largest gap against the member, mm.
    pub gap: f64,
    /// Places on the part's outline and where they lie in space.
    pub places: Vec<(Vec2, Vec3)>,
}

/// Folds a part from its DXF text and its rows of the written schedule.
pub(super) fn prove(
    member: &Member,
    sketched: &Sketched,
    schedule: &[Row],
    job: &Job,
) -> Result<Proof, Fault> {
    let part = &sketched.part;
    let fault = |what: String| {
        Fault::new(
            Kind::Geometry,
            Place::file(&job.file).station(&member.place),
            format!("part {}: {what}", part.name),
            "look at the survey, slope and lean near this place",
        )
    };
    let read = read_profiles(&part.name, &sketched.dxf)?;
    let outline = read
        .layers
        .get(&style(Layer::Cut, &job.output).name)
        .and_then(|l| l.profiles.first())
        .ok_or_else(|| fault("its file has no outer profile".to_owned()))?;
    let drawn = along(outline);
    let points: Vec<Vec2> = drawn.iter().map(|&p| part.frame.undo(p)).collect();
    let rows: Vec<Row> = schedule
        .iter()
        .map(|r| Row {
            outboard: part.frame.undo(r.outboard),
            inboard: part.frame.undo(r.inboard),
            ..*r
        })
        .collect();
    let folded = refold(&rows, &points).map_err(|e| fault(e.to_string()))?;
    let mut member_points = Vec::new();
    let mut guess = (member.strip.cuts[0].at(0.0), 0.0);
    for &p in &points {
        guess = locate(sketched, p, guess)
            .ok_or_else(|| fault("a point of its outline is not on the plate".to_owned()))?;
        member_points.push(member.strip.jet(guess.0, guess.1).point);
    }
    Ok(Proof {
        gap: gap(&folded, &member_points).map_err(|e| fault(e.to_string()))?,
        places: drawn.into_iter().zip(member_points).collect(),
    })
}

fn along(outline: &Outline) -> Vec<Vec2> {
    let mut out = Vec::new();
    for (a, b, bulge) in outline.pieces() {
        out.push(a);
        if let Some(arc) = arc_of(a, b, bulge) {
            let n = f64::from(POINTS_ON_ARC + 1);
            out.extend((1..=POINTS_ON_ARC).map(|k| arc.point(f64::from(k) / n)));
        }
    }
    out
}

/// (t, w) of a flat place: Newton on the flat map, from a neighbour's.
fn locate(sketched: &Sketched, p: Vec2, guess: (f64, f64)) -> Option<(f64, f64)> {
    let (mut t, mut w) = guess;
    // From the neighbour a few centimetres away a handful of steps settles it.
    for _ in 0..30 {
        let [at, dt, dw] = sketched.flat.map.jet(t, w);
        let rest = p - at;
        let det = dt.cross(dw);
        let (step_t, step_w) = (rest.cross(dw) / det, dt.cross(rest) / det);
        t += step_t;
        w += step_w;
        if !(t.is_finite() && w.is_finite()) {
            return None;
        }
        if step_t.abs() < 1e-9 && step_w.abs() < 1e-11 {
            return Some((t, w));
        }
    }
    None
}

/// Rows of a written schedule, by part.
pub(super) fn read_schedule(text: &str) -> Result<BTreeMap<String, Vec<Row>>, Fault> {
    let broken = |line: usize| {
        Fault::new(
            Kind::Syntax,
            Place::file("lists/bends.csv").line(line),
            "the written bend schedule does not read back",
            "report this job",
        )
    };
    let mut out: BTreeMap<String, Vec<Row>> = BTreeMap::new();
    for (i, record) in csv::Reader::from_reader(text.as_bytes())
        .records()
        .enumerate()
    {
        let line = i + 2;
        let record = record.map_err(|_| broken(line))?;
        let number = |k: usize| -> Result<f64, Fault> {
            record
                .get(k)
                .and_then(|f| f.parse().ok())
                .ok_or_else(|| broken(line))
        };
        let name = record.get(0).ok_or_else(|| broken(line))?;
        out.entry(name.to_owned()).or_default().push(Row {
            along: number(1)?,
            outboard: vec2(number(2)?, number(3)?),
            inboard: vec2(number(4)?, number(5)?),
            curvature: number(6)? / 1000.0,
            twist: (number(7)? / 1000.0).to_radians(),
        });
    }
    Ok(out)
}
