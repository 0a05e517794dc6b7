//! The proof of a part: its written file and its written bend schedule, read
//! back, folded, and set against the member's true boundary and holes in
//! space.

use std::collections::BTreeMap;

use super::truth;
use crate::develop::BendLine;
use crate::develop::refold::{Bore, Chain, Fold, Gap, Plate, RefoldError, Where, largest_gap};
use crate::drawing::Layer;
use crate::dxf::Drawing;
use crate::fault::{Fault, Kind, Place};
use crate::geom::{Outline, Segment, Vec2, Vec3, vec2};
use crate::job::{Job, Output};
use crate::layout::Member;
use crate::length::{place, told};
use crate::part::Part;
use crate::write::dxf::style;

/// Spacing of the places that are compared, mm.
const STEP_MM: f64 = 10.0;

/// Folds a part from its DXF text and its rows of the written schedule, and
/// gives the largest gap against the member, mm.
///
/// # Errors
/// Where the file or the rows cannot be folded, or the gap is more than the
/// outline tolerance and the schedule explain.
pub(super) fn prove(
    member: &Member,
    part: &Part,
    dxf: &str,
    schedule: &[BendLine],
    job: &Job,
) -> Result<f64, Fault> {
    let fault = |what: String| {
        Fault::new(
            Kind::Geometry,
            Place::file(&job.file).station(&member.place),
            format!("part {}: {what}", part.name),
            "look at the survey, slope and lean near this place",
        )
    };
    let (outline, circles) = drawn(&part.name, dxf, &job.output)
        .map_err(|f| fault(format!("its file does not read back: {}", f.what)))?;
    let outline = outline.ok_or_else(|| fault("its file has no outer profile".to_owned()))?;
    let (gap, at) = compare(member, &outline, &circles, schedule).map_err(|e| {
        let at = match e {
            RefoldError::Outside { x, y } => format!("at {}: ", place(vec2(x, y), job.show)),
            _ => String::new(),
        };
        fault(format!("{at}{e}"))
    })?;
    let allowed = job.tolerance.outline_mm + job.tolerance.refold_mm;
    if gap.mm <= allowed {
        return Ok(gap.mm);
    }
    let what = match gap.place {
        Where::Boundary(_) => "edge",
        Where::Hole(_) => "hole",
    };
    Err(fault(format!(
        "its drawing folded by its bend schedule lies {} off the member, at the {what} at {} of the \
         part; up to {} is explained",
        told(gap.mm, job.show),
        place(at, job.show),
        told(allowed, job.show),
    )))
}

/// Centres and radii of circles, mm.
type Circles = Vec<(Vec2, f64)>;

/// The largest profile and the holes of a written part, mm.
fn drawn(name: &str, text: &str, output: &Output) -> Result<(Option<Outline>, Circles), Fault> {
    let drawing = Drawing::read(name, text)?;
    let unit_mm = drawing.unit_mm(None, "[output]")?;
    let [cut, hole] = [Layer::Cut, Layer::Hole].map(|l| style(l, output).name);
    let (mut profiles, mut circles) = (Vec::new(), Vec::new());
    for e in drawing.entities() {
        let round = e.kind() == "CIRCLE";
        if round && e.layer() == hole {
            let centre = e.vertices(unit_mm)?[0].at.plan();
            circles.push((centre, e.radius(unit_mm)?));
        } else if !round && e.layer() == cut {
            profiles.extend(e.profile(unit_mm)?);
        }
    }
    let size = |o: &Outline| o.area().abs();
    let outer = profiles
        .into_iter()
        .max_by(|a, b| size(a).total_cmp(&size(b)));
    Ok((outer, circles))
}

/// The largest gap of a drawn outline and drawn holes, folded, and its place
/// on the drawing.
fn compare(
    member: &Member,
    outline: &Outline,
    circles: &[(Vec2, f64)],
    schedule: &[BendLine],
) -> Result<(Gap, Vec2), RefoldError> {
    let fold = Fold::new(schedule)?;
    let pieces = along(outline);
    let folded: Vec<Vec<Vec3>> = (pieces.iter())
        .map(|piece| piece.iter().map(|&p| fold.point(p)).collect())
        .collect::<Result<_, _>>()?;
    let holes: Vec<Bore> = (circles.iter())
        .map(|&(centre, radius)| {
            let (centre, axis) = fold.point_and_normal(centre)?;
            Ok(Bore {
                centre,
                axis,
                diameter: 2.0 * radius,
            })
        })
        .collect::<Result<_, RefoldError>>()?;
    let sides: Vec<Vec<Vec3>> = (truth::boundary(member, STEP_MM).into_iter())
        .map(|(_, places)| places)
        .collect();
    let drawn = Plate {
        boundary: Chain::closed(&folded)?,
        holes,
    };
    let real = Plate {
        boundary: Chain::closed(&sides)?,
        holes: truth::bores(member),
    };
    let (from, to) = fold.range();
    let (near, there): (Vec<Vec3>, Vec<Vec3>) = (truth::whole_edges(&member.strip).into_iter())
        .map(|(part, w, place)| (fold.at(from + (to - from) * part, w), place))
        .unzip();
    let gap = largest_gap(&drawn, &real, (&near, &there), member.thickness)?;
    let at = match gap.place {
        Where::Boundary(k) => {
            let each = pieces.iter().flat_map(|p| &p[..p.len() - 1]);
            each.copied().nth(k)
        }
        Where::Hole(k) => circles.get(k).map(|c| c.0),
    };
    Ok((gap, at.unwrap_or_default()))
}

/// Even places along each line and arc of an outline, its ends included.
fn along(outline: &Outline) -> Vec<Vec<Vec2>> {
    let places = |s: Segment| {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "2 to 100,000"
        )]
        let n = (s.length() / STEP_MM).ceil().clamp(2.0, 1e5) as usize;
        s.steps(n).chain([s.b]).collect()
    };
    outline.segments().map(places).collect()
}

/// Rows of a written schedule, by part.
pub(super) fn read_schedule(text: &str) -> Result<BTreeMap<String, Vec<BendLine>>, Fault> {
    let broken = |line: usize| {
        Fault::new(
            Kind::Syntax,
            Place::file("lists/bends.csv").line(line),
            "the written bend schedule does not read back",
            "report this job",
        )
    };
    let mut out: BTreeMap<String, Vec<BendLine>> = BTreeMap::new();
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
        let place = |k: usize| Ok::<_, Fault>(vec2(number(k)?, number(k + 1)?));
        out.entry(name.to_owned()).or_default().push(BendLine {
            along: number(1)?,
            places: [place(2)?, place(4)?, place(6)?, place(8)?, place(10)?],
            curvature: number(12)? / 1000.0,
            twist: (number(13)? / 1000.0).to_radians(),
            turn: (number(14)? / 1000.0).to_radians(),
            stretch: number(15)? / 1000.0,
            shift: place(16)?,
        });
    }
    Ok(out)
}

#[cfg(test)]
mod tests;
