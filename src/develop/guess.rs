//! First guess of the flat map: the mid line rolled out, the lines across
//! laid at their true angle and length.

use super::grid::{Grid, Line, angle, upper};
use crate::geom::banded::Banded;
use crate::geom::{Vec2, trig, vec2};

/// Control points, those across the strip together.
///
/// The mid line is unrolled step by step: between two neighbouring lines the
/// surface is taken as its mean tangent plane, in which the turn of the
/// tangent is measured, so that a strip that goes round more than a full turn
/// comes out right. The lines across keep their angle to the mid line. The
/// spline is then the least-squares fit to the rolled-out lines.
pub(super) fn start(grid: &Grid) -> Vec<[f64; 2]> {
    let poses = roll(&grid.lines);
    let across = &grid.across;
    let count = across.len();
    let size = grid.along.len();
    let degree = grid.along.degree();
    let mut matrix = Banded::zeros(size, degree);
    // One right-hand side for each node across and each coordinate.
    let mut sides = vec![vec![0.0; size]; 2 * count];
    for (line, pose) in grid.lines.iter().zip(&poses) {
        let n = &line.basis[0];
        for i in 0..=degree {
            for k in 0..=i {
                matrix.add(line.first + i, line.first + k, line.weight * n[i] * n[k]);
            }
            let f = line.weight * n[i];
            for j in 0..count {
                // Straight lines: control points at the Greville places.
                let p = pose.at + pose.across * (across.greville(j) - 0.5);
                sides[2 * j][line.first + i] += f * p.x;
                sides[2 * j + 1][line.first + i] += f * p.y;
            }
        }
    }
    let mut out = vec![[0.0; 2]; size * count];
    if let Some(factor) = matrix.factor() {
        for (s, side) in sides.iter_mut().enumerate() {
            factor.solve(side);
            for (i, x) in side.iter().enumerate() {
                out[i * count + s / 2][s % 2] = *x;
            }
        }
    }
    out
}

/// Flat pose of a line across.
struct Pose {
    /// Its middle.
    at: Vec2,
    /// Vector from its outboard to its inboard end.
    across: Vec2,
}

/// Rolls the mid line out; its middle comes to the origin, heading along +x.
fn roll(lines: &[Line]) -> Vec<Pose> {
    let mut heading = 0.0;
    let mut at = Vec2::default();
    let mut tangents: Vec<(Vec2, f64)> = Vec::with_capacity(lines.len());
    for (k, line) in lines.iter().enumerate() {
        if k > 0 {
            let (a, b) = (&lines[k - 1].middle, &line.middle);
            let up = (upper(a) + upper(b)).unit();
            let flatten = |v: crate::geom::Vec3| v - up * v.dot(up);
            let (ta, tb) = (flatten(a.along), flatten(b.along));
            let turn = trig::atan2(ta.cross(tb).dot(up), ta.dot(tb));
            let chord = a.point.distance(b.point);
            // Arc over chord in space, then chord over arc in the plane.
            let length = chord * ratio(turn) / ratio(angle(a.along, b.along));
            at += vec2(length, 0.0).turned(heading + 0.5 * turn);
            heading += turn;
        }
        tangents.push((at, heading));
    }
    let (origin, zero) = tangents[tangents.len() / 2];
    lines
        .iter()
        .zip(&tangents)
        .map(|(line, &(p, h))| {
            let m = &line.middle;
            let skew = trig::atan2(m.along.cross(m.across).length(), m.along.dot(m.across));
            Pose {
                at: (p - origin).turned(-zero),
                across: vec2(m.across.length(), 0.0).turned(h - zero + skew),
            }
        })
        .collect()
}

/// Chord of a circular arc over its length, for the angle it turns through.
fn ratio(turn: f64) -> f64 {
    let half = 0.5 * turn;
    if half.abs() < 1e-4 {
        1.0 - half * half / 6.0
    } else {
        trig::sin(half) / half
    }
}
