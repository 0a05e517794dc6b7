//! What is left of a nested sheet, as pieces worth keeping.
//!
//! Free ground is the stock less the parts, grown by the gap. It is opened
//! (eroded and grown back) so that slivers and necks narrower than a stated
//! width fall away, and thinned to few corners. Every step errs inward: a
//! piece lies wholly in free ground, and the real offcut is a little larger.

use geo::buffer::{Buffer, BufferStyle, LineJoin};
use geo::{Area, BooleanOps, MultiPolygon, Polygon, Simplify};

use super::model::{NestJob, NestedSheet};
use crate::geom::{Outline, Region, Vec2, vec2};
use crate::job::Remnants;

/// Corners are thinned out where the edge moves by no more than this, mm;
/// parts are grown by twice as much before. Finer, and a curved edge keeps
/// dozens of corners that a measuring tape cannot tell apart; coarser, and
/// plate is given away.
const THIN: f64 = 1.0;
/// Arcs are taken as chords this close, mm, within [`THIN`].
const CHORD: f64 = 0.05;
/// Corners sharper than a right angle are cut off when an outline is grown,
/// rad: their points would reach far into good plate.
const SHARP: f64 = std::f64::consts::FRAC_PI_2;

fn ring(profile: &Outline) -> Vec<(f64, f64)> {
    profile.flatten(CHORD).iter().map(|p| (p.x, p.y)).collect()
}

fn grown(ground: &MultiPolygon, by: f64) -> MultiPolygon {
    ground.buffer_with_style(BufferStyle::new(by).line_join(LineJoin::Miter(SHARP)))
}

/// The stock's ground; one of a curved edge is drawn in by [`THIN`], so that
/// thinning its corners never leaves it.
fn stock(job: &NestJob, sheet: &NestedSheet) -> Option<MultiPolygon> {
    let stock = job.sheets.get(sheet.stock)?;
    Some(match &stock.shape {
        None => {
            let (l, w) = (stock.length, stock.width);
            let corners = vec![(0.0, 0.0), (l, 0.0), (l, w), (0.0, w)];
            Polygon::new(corners.into(), Vec::new()).into()
        }
        Some(region) => {
            let holes = region.holes.iter().map(|h| ring(h).into()).collect();
            let whole: MultiPolygon = Polygon::new(ring(&region.outer).into(), holes).into();
            grown(&whole, -(THIN + CHORD))
        }
    })
}

/// Pieces of a nested sheet worth keeping, in the sheet's frame, the largest
/// first: no neck narrower than `rules.narrowest`, the longer side of its box
/// `rules.least` or more. They keep the gap from every part, and what falls
/// out of a part's holes is not counted.
#[must_use]
pub fn remnants(job: &NestJob, sheet: &NestedSheet, rules: &Remnants) -> Vec<Region> {
    let Some(ground) = stock(job, sheet) else {
        return Vec::new();
    };
    let parts: MultiPolygon = sheet
        .placed
        .iter()
        .filter_map(|p| {
            let outline = job.parts.get(p.part)?.outline.placed(p.placement);
            Some(Polygon::new(ring(&outline).into(), Vec::new()))
        })
        .collect();
    let free = ground.difference(&grown(&parts, job.gap + 2.0 * (THIN + CHORD)));
    let half = 0.5 * rules.narrowest;
    let opened = grown(&grown(&free, -half), half).intersection(&free);
    let mut out: Vec<Region> = opened
        .iter()
        .flat_map(|p| piece(p, half))
        .filter(|r| {
            let (lo, hi) = r.bounds();
            (hi.x - lo.x).max(hi.y - lo.y) >= rules.least
        })
        .collect();
    out.sort_by(|a, b| b.area().total_cmp(&a.area()));
    out
}

/// A piece with few corners: thinned where that leaves it sound; nothing
/// where it is a crumb that the opening would have taken away.
fn piece(polygon: &Polygon, half: f64) -> Option<Region> {
    let crumb = grown(&polygon.clone().into(), -0.9 * half);
    if crumb.unsigned_area() <= 0.0 {
        return None;
    }
    region(&polygon.simplify(THIN)).or_else(|| region(polygon))
}

fn region(polygon: &Polygon) -> Option<Region> {
    let outline = |line: &geo::LineString| {
        let mut points: Vec<Vec2> = line.coords().map(|c| vec2(c.x, c.y)).collect();
        points.pop();
        Outline::polygon(&points)
    };
    let holes = polygon.interiors().iter().map(outline).collect();
    Region::new(outline(polygon.exterior()), holes).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Placement;
    use crate::nest::Placed;
    use crate::sample;

    const RULES: Remnants = Remnants {
        least: 300.0,
        narrowest: 100.0,
    };

    /// One rectangular part at a corner of the sheet of 2000 x 1000 mm.
    fn corner(length: f64, width: f64) -> (NestJob, NestedSheet) {
        let mut nested = sample::nested();
        let corners = [
            vec2(0.0, 0.0),
            vec2(length, 0.0),
            vec2(length, width),
            vec2(0.0, width),
        ];
        nested.nest_job.parts.truncate(1);
        nested.nest_job.parts[0].outline = Outline::polygon(&corners);
        let sheet = NestedSheet::new(
            0,
            vec![Placed {
                part: 0,
                placement: Placement {
                    turn: 0.0,
                    shift: vec2(10.0, 10.0),
                },
            }],
        );
        (nested.nest_job, sheet)
    }

    // What is left of a rectangle less a rectangle grown by the gap, closed
    // form, but for what errs inward.
    #[test]
    fn an_l_is_left_of_a_sheet_with_a_part_in_its_corner() {
        let (job, sheet) = corner(1200.0, 500.0);
        let left = remnants(&job, &sheet, &RULES);
        assert_eq!(left.len(), 1);
        let (x, y) = (1210.0 + job.gap, 510.0 + job.gap);
        let exact = 2000.0 * 1000.0 - x * y;
        let got = left[0].area();
        assert!(got <= exact && got > exact - 3.0 * (x + y), "{got} {exact}");
        assert_eq!(left[0].outer.vertices.len(), 6);
    }

    #[test]
    fn slivers_and_crumbs_are_not_kept() {
        // 60 mm beside the part, and a strip of 300 x 1000 mm.
        let (job, sheet) = corner(1680.0, 930.0);
        let left = remnants(&job, &sheet, &RULES);
        assert_eq!(left.len(), 1);
        let (lo, hi) = left[0].bounds();
        assert!(lo.x > 1690.0 && hi.x - lo.x > 290.0 && hi.y - lo.y > 999.0);
        let (job, sheet) = corner(1950.0, 950.0);
        assert!(remnants(&job, &sheet, &RULES).is_empty());
    }

    /// Every corner and side of every piece keeps the gap from every part and
    /// lies on the stock: measured along the piece by points, against arcs
    /// as they are.
    #[test]
    fn pieces_lie_in_free_ground_and_have_few_corners() {
        let nested = sample::nested();
        let sheet = &nested.nest.sheets[0];
        let left = remnants(&nested.nest_job, sheet, &RULES);
        assert!(!left.is_empty());
        for r in &left {
            assert!(r.outer.vertices.len() <= 40, "{}", r.outer.vertices.len());
            for placed in &sheet.placed {
                let part = nested.nest_job.parts[placed.part]
                    .outline
                    .placed(placed.placement);
                let flat = part.flatten(0.001);
                for profile in r.profiles() {
                    for s in profile.segments() {
                        for k in 0..=20 {
                            let p = s.at(f64::from(k) / 20.0);
                            assert!(!part.contains(p, 0.001));
                            let near = flat
                                .iter()
                                .zip(flat.iter().cycle().skip(1))
                                .map(|(&c, &d)| {
                                    let along = d - c;
                                    let f = ((p - c).dot(along) / along.dot(along)).clamp(0.0, 1.0);
                                    p.distance(c.lerp(d, f))
                                })
                                .fold(f64::INFINITY, f64::min);
                            assert!(near >= nested.nest_job.gap, "{near}");
                        }
                    }
                }
            }
            let (lo, hi) = r.bounds();
            assert!(
                lo.x >= -1e-6 && lo.y >= -1e-6 && hi.x <= 2000.0 + 1e-6 && hi.y <= 1000.0 + 1e-6
            );
        }
    }

    /// A part laid in the hole of another takes no more ground, and gives none back.
    #[test]
    fn a_part_within_another_changes_nothing() {
        let (mut job, mut sheet) = corner(1200.0, 500.0);
        let alone = remnants(&job, &sheet, &RULES);
        let mut inner = job.parts[0].clone();
        inner.outline = Outline::circle(vec2(600.0, 250.0), 200.0);
        job.parts.push(inner);
        let mut placed = sheet.placed[0];
        placed.part = 1;
        sheet.placed.push(placed);
        assert_eq!(remnants(&job, &sheet, &RULES), alone);
    }
}
