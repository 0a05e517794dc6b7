//! Moving, turning, mirroring, reversing and scaling a survey does the same to its lines.

use super::*;
use crate::geom::Vec2;
use crate::geom::Vec3;
use crate::geom::bspline::Spline;
use crate::job::Job;
use proptest::prelude::*;

/// A hull with errors of up to 1/32 in, the same to port and starboard if `even`.
fn measured(seed: u64, n: u32, even: bool) -> Vec<Vec3> {
    let mut dice = Dice(seed);
    let mut places: Vec<Vec3> = hull(n)
        .into_iter()
        .map(|p| p + vec3(0.0, dice.within(-0.79, 0.79), dice.within(-0.79, 0.79)))
        .collect();
    if even {
        let last = places.len() - 1;
        for i in 0..places.len().div_ceil(2) {
            let p = places[i];
            places[last - i] = vec3(p.x, -p.y, p.z);
        }
        places[last / 2].y = 0.0;
    }
    places
}

/// Places along both lines of a survey, at even shares of the base line.
fn lines(places: Vec<Vec3>, j: &Job) -> Vec<[Vec3; 2]> {
    let edge = fair(&survey(places), j).expect("fair");
    let l = only(&edge);
    let (a, b) = l.range();
    steps(a, b, 200)
        .map(|t| [l.base_point(t), l.top_point(t)])
        .collect()
}

fn furthest(a: &[[Vec3; 2]], b: &[[Vec3; 2]]) -> f64 {
    let pairs = a.iter().flatten().zip(b.iter().flatten());
    pairs.fold(0.0, |m: f64, (a, b)| m.max(a.distance(*b)))
}

/// Furthest apart, mm, that lines of the same edge may come out when it is
/// moved or turned over. How many knots a line is taken over onto hangs on a
/// threshold that rounding may tip; either answer is within this of the other,
/// half of what flat sizes are held to.
const SAME_MM: f64 = 0.01;

/// A hull of another length, breadth, sheer and stern.
fn shaped(places: Vec<Vec3>, [long, wide, sheer, square]: [f64; 4]) -> Vec<Vec3> {
    let shape = |p: Vec3| {
        // Fuller aft: half-breadths that keep their breadth towards the stern.
        let fuller = 1.0 - square * (p.x / 8000.0);
        vec3(
            p.x * long,
            p.y * wide * fuller,
            1200.0 + (p.z - 1200.0) * sheer,
        )
    };
    places.into_iter().map(shape).collect()
}

fn shape() -> impl Strategy<Value = [f64; 4]> {
    (0.5..1.5_f64, 0.6..1.3_f64, 0.2..2.0_f64, 0.0..0.25_f64).prop_map(|s| [s.0, s.1, s.2, s.3])
}

/// Furthest that a line lies square to another that is `by` times larger, in
/// plan and in height, mm of the larger.
fn square_apart(a: &Spline<3>, b: &Spline<3>, by: f64) -> f64 {
    let (first, last) = a.basis.range();
    steps(first, last, 700).fold(0.0, |m: f64, t| {
        let here = frame(a, t).at * by;
        let there = frame(b, curve::foot(b, here.plan(), t * by)).at;
        m.max(here.distance(there))
    })
}

/// Greatest turn in plan from one chord to the next, degrees.
fn turn(places: &[Vec3]) -> f64 {
    let chords: Vec<Vec2> = (places.windows(2))
        .map(|w| (w[1].plan() - w[0].plan()).unit())
        .collect();
    let between = |w: &[Vec2]| trig::atan2(w[0].cross(w[1]).abs(), w[0].dot(w[1])).to_degrees();
    chords.windows(2).fold(0.0, |m: f64, w| m.max(between(w)))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    #[test]
    fn a_faired_curve_comes_back_at_no_tolerance(
        seed in any::<u64>(),
        // Twelve points may be so few round a narrow stern that no line is drawn.
        n in 14..60_u32,
        s in shape(),
        dense in any::<bool>(),
        between in any::<bool>(),
    ) {
        // One more half way between: at most 10 degrees of turn from point to point. Where a
        // stern is measured more sparsely than it bends, the points half way are not enough to
        // say what the curve does between them, but its own points are.
        let mut n = n;
        let between = dense && between;
        while dense && turn(&shaped(hull(n), s)) > 9.0 {
            n += 4;
        }
        let places = shaped(measured(seed, n, false), s);
        prop_assume!(!dense || turn(&places) <= 10.0);
        let first = fair(&survey(places), &job(0.8, 2.0)).expect("fair");
        let line = only(&first);
        let feet: Vec<f64> = first.chains[0].points.iter().map(|p| p.t).collect();
        // The points as they were moved, or with one more half way between any two.
        let mut t = vec![feet[0]];
        for w in feet.windows(2) {
            if between {
                t.push(0.5 * (w[0] + w[1]));
            }
            t.push(w[1]);
        }
        let again = fair(&survey(t.iter().map(|t| line.base_point(*t))), &job(0.0, 0.0));
        let again = again.expect("fair");
        let off = square_apart(&line.base, &only(&again).base, 1.0);
        prop_assert!(off < 0.01, "{} at {} points", off, n);
    }

    #[test]
    fn scaled_with_its_tolerance(
        seed in any::<u64>(),
        n in 20..60_u32,
        s in shape(),
        by in 0.3..3.0_f64,
        exact in any::<bool>(),
    ) {
        let plain = if exact { job(0.0, 0.0) } else { job(0.8, 2.0) };
        let mut scaled = plain.clone();
        scaled.fairing.base *= by;
        scaled.fairing.top *= by;
        scaled.survey.accuracy *= by;
        scaled.bulwark.height *= by;
        let places = shaped(measured(seed, n, false), s);
        let large = fair(&survey(places.iter().map(|p| *p * by)), &scaled).expect("fair");
        let small = fair(&survey(places), &plain).expect("fair");
        let (large, small) = (only(&large), only(&small));
        let base = square_apart(&small.base, &large.base, by);
        let top = square_apart(&small.top, &large.top, by);
        prop_assert!(base.max(top) < SAME_MM * by.max(1.0), "{} {}", base, top);
    }

    #[test]
    fn moved_and_turned(
        seed in any::<u64>(),
        n in 20..60_u32,
        angle in -3.0..3.0_f64,
        by in (-3e4..3e4_f64, -3e4..3e4_f64, -3e3..3e3_f64),
        exact in any::<bool>(),
    ) {
        let j = if exact { job(0.0, 0.0) } else { job(0.8, 2.0) };
        let places = measured(seed, n, false);
        let go = |p: Vec3| (p.plan().turned(angle)).at_height(p.z) + vec3(by.0, by.1, by.2);
        let plain = lines(places.clone(), &j);
        let gone = lines(places.into_iter().map(go).collect(), &j);
        let plain: Vec<[Vec3; 2]> = plain.iter().map(|p| p.map(go)).collect();
        let off = furthest(&plain, &gone);
        prop_assert!(off < SAME_MM, "{}", off);
    }

    #[test]
    fn mirrored_and_reversed(seed in any::<u64>(), n in 20..60_u32, exact in any::<bool>()) {
        // Mirroring alone puts the boat on the right of travel; reversed as
        // well it is on the left again.
        let j = if exact { job(0.0, 0.0) } else { job(0.8, 2.0) };
        let places = measured(seed, n, false);
        let over = |p: Vec3| vec3(p.x, -p.y, p.z);
        let plain = lines(places.clone(), &j);
        let back = lines(places.into_iter().rev().map(over).collect(), &j);
        let plain: Vec<[Vec3; 2]> = plain.iter().rev().map(|p| p.map(over)).collect();
        let off = furthest(&plain, &back);
        prop_assert!(off < SAME_MM, "{}", off);
    }

    #[test]
    fn an_even_survey_gives_even_sides(seed in any::<u64>(), n in 10..30_u32, exact in any::<bool>()) {
        let j = if exact { job(0.0, 0.0) } else { job(0.8, 2.0) };
        let all = lines(measured(seed, 2 * n, true), &j);
        let over: Vec<[Vec3; 2]> = all
            .iter()
            .rev()
            .map(|p| p.map(|p| vec3(p.x, -p.y, p.z)))
            .collect();
        let off = furthest(&all, &over);
        prop_assert!(off < SAME_MM, "{}", off);
    }
}

#[test]
fn resampling_an_exact_edge_gives_the_same_lines() {
    let j = job(0.0, 0.0);
    let off = furthest(&lines(hull(80), &j), &lines(hull(113), &j));
    assert!(off < 0.02, "{off}");
}
