//! A folded plate against the member: the boundary by nearest places, both
//! ways, and the holes by their axes.

use super::error::RefoldError;
use crate::geom::banded::Banded;
use crate::geom::rigid::best;
use crate::geom::{Vec3, trig, vec3};

/// Most steps of the fit. It settles in three to five; one that has not
/// settled can only show a larger gap.
const STEPS_MOST: usize = 30;
/// A step of the fit that moves the plate by less, mm, is the last.
const SETTLED_MM: f64 = 1e-7;
/// Steps to the nearest place of a piece, from the foot on its chord.
const FOOT_STEPS: usize = 3;
/// A step shorter than this part of the piece changes nothing.
const FOOT_STANDS: f64 = 1e-12;

/// A closed boundary in space: smooth pieces, each through evenly spaced
/// places. Between two places it runs as the parabola through them with the
/// mean second difference there; at 10 mm apart that is within 1e-5 mm of
/// anything a plate does.
#[derive(Debug, Clone, PartialEq)]
pub struct Chain {
    places: Vec<Vec3>,
    /// Second difference of the step that begins at each place.
    bends: Vec<Vec3>,
}

/// A round hole: the middle of its axis, on the mid-thickness.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bore {
    /// Centre.
    pub centre: Vec3,
    /// Unit vector along the axis, up.
    pub axis: Vec3,
    /// Diameter, mm.
    pub diameter: f64,
}

/// A plate in space.
#[derive(Debug, Clone, PartialEq)]
pub struct Plate {
    /// Its boundary on the mid-thickness.
    pub boundary: Chain,
    /// Its holes.
    pub holes: Vec<Bore>,
}

/// Where two plates differ most.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gap {
    /// Distance, mm.
    pub mm: f64,
    /// On the folded plate.
    pub place: Where,
}

/// A place of a plate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Where {
    /// At or next to this place of the boundary, in its order.
    Boundary(usize),
    /// At this hole.
    Hole(usize),
}

/// The nearest place of a chain.
struct Foot {
    /// Place of the chain next to it.
    near: usize,
    at: Vec3,
    /// Unit direction of the chain there; `None` at the end of a step, where
    /// the chain may have a corner.
    along: Option<Vec3>,
}

impl Chain {
    /// A closed chain of pieces, in order: each at least three evenly spaced
    /// places, the last of one the first of the next.
    ///
    /// # Errors
    /// [`RefoldError::Boundary`] where there are fewer than two pieces, or
    /// one of fewer places.
    pub fn closed(pieces: &[Vec<Vec3>]) -> Result<Self, RefoldError> {
        if pieces.len() < 2 || pieces.iter().any(|p| p.len() < 3) {
            return Err(RefoldError::Boundary);
        }
        let mut out = Self {
            places: Vec::new(),
            bends: Vec::new(),
        };
        for piece in pieces {
            let last = piece.len() - 2;
            let second = |k: usize| {
                let k = k.clamp(1, last);
                piece[k - 1] - piece[k] * 2.0 + piece[k + 1]
            };
            out.places.extend(&piece[..=last]);
            out.bends
                .extend((0..=last).map(|k| (second(k) + second(k + 1)) * 0.5));
        }
        Ok(out)
    }

    fn next(&self, k: usize) -> usize {
        (k + 1) % self.places.len()
    }

    fn before(&self, k: usize) -> usize {
        (k + self.places.len() - 1) % self.places.len()
    }

    /// Place nearest to a point, of all.
    fn nearest_place(&self, p: Vec3) -> usize {
        let far = |k: &usize| self.places[*k].distance(p);
        let all = 0..self.places.len();
        all.min_by(|a, b| far(a).total_cmp(&far(b))).unwrap_or(0)
    }

    /// Nearest place to a point, downhill from one that is near: from a
    /// neighbour's. What it finds may be further than the nearest of all,
    /// never nearer.
    fn foot(&self, p: Vec3, from: usize) -> Foot {
        let far = |k: usize| self.places[k].distance(p);
        let mut near = from;
        for _ in 0..self.places.len() {
            let (a, b) = (self.before(near), self.next(near));
            let lower = if far(a) < far(b) { a } else { b };
            if far(lower) >= far(near) {
                break;
            }
            near = lower;
        }
        let (one, two) = (self.foot_on(p, self.before(near)), self.foot_on(p, near));
        let (at, along) = if one.0.distance(p) < two.0.distance(p) {
            one
        } else {
            two
        };
        Foot { near, at, along }
    }

    /// Nearest place on the step from k to the next place.
    fn foot_on(&self, p: Vec3, k: usize) -> (Vec3, Option<Vec3>) {
        let (a, b) = (self.places[k], self.places[self.next(k)]);
        let (chord, half) = (b - a, self.bends[k] * 0.5);
        let at = |x: f64| a + chord * x - half * (x * (1.0 - x));
        let by = |x: f64| chord - half * (1.0 - 2.0 * x);
        let mut x = 0.0;
        for _ in 0..=FOOT_STEPS {
            let (d, before) = (by(x), x);
            x = (x + (p - at(x)).dot(d) / d.dot(d)).clamp(0.0, 1.0);
            if (x - before).abs() < FOOT_STANDS {
                break;
            }
        }
        let inside = x > 0.0 && x < 1.0;
        (at(x), inside.then(|| by(x).unit()))
    }

    /// Feet of another chain's places, each sought from its neighbour's.
    fn feet(&self, of: &Self) -> Vec<Foot> {
        let mut near = of.places.first().map_or(0, |&p| self.nearest_place(p));
        let each = of.places.iter().map(|&p| {
            let foot = self.foot(p, near);
            near = foot.near;
            foot
        });
        each.collect()
    }

    fn moved(&self, point: impl Fn(Vec3) -> Vec3, vector: impl Fn(Vec3) -> Vec3) -> Self {
        Self {
            places: self.places.iter().map(|&p| point(p)).collect(),
            bends: self.bends.iter().map(|&v| vector(v)).collect(),
        }
    }
}

impl Plate {
    fn moved(&self, point: impl Fn(Vec3) -> Vec3) -> Self {
        let zero = point(Vec3::default());
        let vector = |v: Vec3| point(v) - zero;
        let bore = |b: &Bore| Bore {
            centre: point(b.centre),
            axis: vector(b.axis),
            ..*b
        };
        Self {
            boundary: self.boundary.moved(&point, vector),
            holes: self.holes.iter().map(bore).collect(),
        }
    }
}

impl Bore {
    /// Furthest that the rims of two holes through plate lie apart, mm.
    fn apart(&self, other: &Self, half_thickness: f64) -> f64 {
        let face = |side: f64| {
            let rim = |b: &Self| b.centre + b.axis * (side * half_thickness);
            rim(self).distance(rim(other))
        };
        face(1.0).max(face(-1.0)) + 0.5 * (self.diameter - other.diameter).abs()
    }

    fn nearest<'a>(&self, of: &'a [Self]) -> Option<&'a Self> {
        let far = |b: &Self| b.centre.distance(self.centre);
        of.iter().min_by(|a, b| far(a).total_cmp(&far(b)))
    }
}

/// Largest gap between a folded plate and the member, mm, after the rigid fit
/// that makes the squares of the folded boundary's distances from the
/// member's nearest places, and of the holes' centres, least. The boundary is
/// measured from both sides, holes at both faces with their rims.
///
/// The fit starts from the pairs `start` (folded, member), which need only be
/// within a few millimetres, and goes on by Gauss-Newton steps on the
/// distances square to the member's boundary. It finds the fit next to the
/// start; a wrong one can only show a larger gap. No step is random.
///
/// # Errors
/// [`RefoldError::Count`] for pairs without partner, [`RefoldError::Holes`]
/// where the holes differ in number.
pub fn largest_gap(
    folded: &Plate,
    member: &Plate,
    start: (&[Vec3], &[Vec3]),
    thickness: f64,
) -> Result<Gap, RefoldError> {
    if start.0.len() != start.1.len() || start.0.is_empty() {
        return Err(RefoldError::Count {
            refolded: start.0.len(),
            member: start.1.len(),
        });
    }
    if folded.holes.len() != member.holes.len() {
        return Err(RefoldError::Holes {
            drawn: folded.holes.len(),
            member: member.holes.len(),
        });
    }
    let motion = best(start.0, start.1);
    let mut plate = folded.moved(|p| motion.apply(p));
    for _ in 0..STEPS_MOST {
        let Some((moved, by)) = fitted(&plate, member) else {
            break;
        };
        plate = moved;
        if by < SETTLED_MM {
            break;
        }
    }
    Ok(measured(&plate, member, 0.5 * thickness))
}

/// One Gauss-Newton step: the plate moved, and by how much, mm. `None` where
/// the distances do not fix a motion.
fn fitted(plate: &Plate, member: &Plate) -> Option<(Plate, f64)> {
    let feet = member.boundary.feet(&plate.boundary);
    let edge = (plate.boundary.places.iter().zip(feet)).map(|(&p, foot)| (p, foot.at, foot.along));
    let holes = (plate.holes.iter()).filter_map(|b| {
        let to = b.nearest(&member.holes)?;
        Some((b.centre, to.centre, None))
    });
    let pairs: Vec<(Vec3, Vec3, Option<Vec3>)> = edge.chain(holes).collect();
    let sum = pairs.iter().fold(Vec3::default(), |s, pair| s + pair.0);
    let centre = sum * (1.0 / pairs.len() as f64);
    let far = |p: &Vec3| (*p - centre).length();
    let reach = pairs.iter().map(|pair| far(&pair.0)).fold(0.0, f64::max);
    // Unknowns: the turn times the reach, so that all are in mm, and the shift.
    let mut normal = Banded::zeros(6, 5);
    let mut rhs = [0.0; 6];
    for (p, to, along) in pairs {
        let lever = (p - centre) * (1.0 / reach);
        let square = |v: Vec3| along.map_or(v, |u| v - u * u.dot(v));
        let rest = square(to - p);
        let axes = [
            vec3(1.0, 0.0, 0.0),
            vec3(0.0, 1.0, 0.0),
            vec3(0.0, 0.0, 1.0),
        ];
        let turns = axes.map(|e| square(e.cross(lever)));
        let shifts = axes.map(square);
        let columns = [turns, shifts].concat();
        for (i, a) in columns.iter().enumerate() {
            rhs[i] += a.dot(rest);
            for (j, b) in columns.iter().enumerate().take(i + 1) {
                normal.add(i, j, a.dot(*b));
            }
        }
    }
    normal.factor()?.solve(&mut rhs);
    let turn = vec3(rhs[0], rhs[1], rhs[2]) * (1.0 / reach);
    let shift = vec3(rhs[3], rhs[4], rhs[5]);
    let by = turn.length() * reach + shift.length();
    let moved = plate.moved(|p| turned(p - centre, turn) + centre + shift);
    by.is_finite().then_some((moved, by))
}

/// A vector turned about an axis by the axis' length, rad (Rodrigues).
fn turned(v: Vec3, turn: Vec3) -> Vec3 {
    let angle = turn.length();
    if angle == 0.0 {
        return v;
    }
    let u = turn * (1.0 / angle);
    let (s, c) = (trig::sin(angle), trig::cos(angle));
    v * c + u.cross(v) * s + u * (u.dot(v) * (1.0 - c))
}

fn measured(plate: &Plate, member: &Plate, half_thickness: f64) -> Gap {
    let (drawn, real) = (&plate.boundary, &member.boundary);
    let out = (drawn.places.iter().zip(real.feet(drawn)).enumerate())
        .map(|(k, (p, foot))| (p.distance(foot.at), Where::Boundary(k)));
    let back = (real.places.iter().zip(drawn.feet(real)))
        .map(|(p, foot)| (p.distance(foot.at), Where::Boundary(foot.near)));
    let holes = plate.holes.iter().enumerate().filter_map(|(k, b)| {
        let to = b.nearest(&member.holes)?;
        Some((b.apart(to, half_thickness), Where::Hole(k)))
    });
    let missed = member.holes.iter().filter_map(|b| {
        let to = b.nearest(&plate.holes)?;
        let k = plate.holes.iter().position(|h| h == to)?;
        Some((b.apart(to, half_thickness), Where::Hole(k)))
    });
    let none = Gap {
        mm: 0.0,
        place: Where::Boundary(0),
    };
    let all = out.chain(back).chain(holes).chain(missed);
    all.fold(none, |worst, (mm, place)| {
        // What cannot be measured is no small gap.
        if mm.is_nan() {
            let mm = f64::INFINITY;
            Gap { mm, place }
        } else if mm > worst.mm {
            Gap { mm, place }
        } else {
            worst
        }
    })
}
