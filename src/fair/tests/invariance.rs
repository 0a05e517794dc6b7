//! Moving, turning, mirroring and reversing a survey does the same to its lines.

use super::*;
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

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

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
