//! The fit told against surveys drawn by lot: an invented edge, its points
//! measured with even errors, faired, and set against the edge.

use std::f64::consts::SQRT_2;

use super::super::{Accuracy, FairLength, fair, frame, settle};
use crate::geom::{Vec3, trig, vec3};
use crate::job::Job;
use crate::sample::{self, Dice};
use crate::survey::{Chain, End, Point, Survey};

/// Standard deviations that hold 95 % of a normal error, both ways.
const NORMAL_95: f64 = 1.96;

/// An invented port side of 14 m: quartic half-breadth, skewed sheer.
fn edge(q: f64) -> Vec3 {
    let d = (q - 0.52) / 0.6;
    let e = q - 0.6;
    let y = 2300.0 - 1300.0 * d * d * (0.85 + 0.15 * d * d);
    vec3(-14_000.0 * q, y, 1100.0 + 1700.0 * e * e * (1.0 - 0.2 * e))
}

fn job(accuracy: f64) -> Job {
    let mut job = sample::job();
    job.survey.accuracy = accuracy;
    job.survey.slope = Some(0.0);
    job.fairing.base = accuracy;
    job.fairing.top = 4.0 * accuracy;
    job
}

fn survey(places: &[Vec3]) -> Survey {
    let point = |(k, at): (usize, &Vec3)| Point {
        at: *at,
        side: crate::job::Side::Port,
        file: "survey.csv".to_owned(),
        line: k + 2,
        name: format!("point {k}"),
        height: None,
        lean: None,
        slope: None,
        tolerance: None,
        knuckle: false,
        pass: 0,
        booked: crate::survey::Booked::default(),
    };
    Survey {
        chains: vec![Chain {
            points: places.iter().enumerate().map(point).collect(),
            start: End::Square,
            end: End::Square,
        }],
        ..Survey::default()
    }
}

/// Even spacing: share of the length of each point.
fn shares(n: u32) -> Vec<f64> {
    (0..n).map(|k| f64::from(k) / f64::from(n - 1)).collect()
}

fn measured(shares: &[f64], accuracy: f64, dice: &mut Dice) -> Vec<Vec3> {
    let off = |dice: &mut Dice| vec3(0.0, dice.even(accuracy), dice.even(accuracy));
    shares.iter().map(|q| edge(*q) + off(dice)).collect()
}

/// Error of a faired length against the invented edge at t: square to the
/// line in plan, and in height.
fn error(length: &FairLength, t: f64) -> [f64; 2] {
    let f = frame(&length.base, t);
    let n = f.tangent.left();
    // The edge's share where it crosses the normal at t (Newton).
    let mut q = -f.at.x / 14_000.0;
    for _ in 0..20 {
        let off = (edge(q).plan() - f.at.plan()).dot(f.tangent);
        let per = (edge(q + 1e-6).plan() - edge(q).plan()).dot(f.tangent) / 1e-6;
        q -= off / per;
    }
    let by = edge(q) - f.at;
    [by.plan().dot(n), by.z]
}

/// Three parts of the side, in shares of its length.
const PARTS: [(f64, f64); 3] = [(0.02, 0.34), (0.34, 0.67), (0.67, 0.98)];

/// Where a piece laid to the true edge comes to lie at `t`: along, across.
fn laid_by_hand(length: &FairLength, from: f64, to: f64, t: f64) -> [f64; 2] {
    let count = 200;
    let at = |t: f64| frame(&length.base, t);
    let m = at(0.5 * (from + to));
    let (mut n, mut r) = ([[0.0; 2]; 2], [0.0; 2]);
    let mut shorter = 0.0;
    for k in 0..count {
        let u = from + (to - from) * (f64::from(k) + 0.5) / f64::from(count);
        let f = at(u);
        let c = [
            f.tangent.left().dot(m.tangent.left()),
            f.tangent.dot(f.at.plan() - m.at.plan()),
        ];
        let e = error(length, u)[0];
        for i in 0..2 {
            r[i] += c[i] * e;
            for j in 0..2 {
                n[i][j] += c[i] * c[j];
            }
        }
    }
    let det = n[0][0] * n[1][1] - n[0][1] * n[0][1];
    let p = (n[1][1] * r[0] - n[0][1] * r[1]) / det;
    let q = (n[0][0] * r[1] - n[0][1] * r[0]) / det;
    let f = at(t);
    let arm = f.at.plan() - m.at.plan();
    // Length of both profiles from the middle to the end, by chords.
    let middle = 0.5 * (from + to);
    let mut before: Option<(f64, [f64; 2])> = None;
    for k in 0..=100 {
        let u = middle + (t - middle) * f64::from(k) / 100.0;
        let z = at(u).at.z;
        let now = (u, [z, z + error(length, u)[1]]);
        if let Some(b) = before {
            let run = now.0 - b.0;
            let chord = |i: usize| run.signum() * trig::hypot(run, now.1[i] - b.1[i]);
            shorter += chord(1) - chord(0);
        }
        before = Some(now);
    }
    let across = p * f.tangent.left().dot(m.tangent.left()) + q * f.tangent.dot(arm);
    let along = p * m.tangent.left().dot(f.tangent) - q * f.tangent.left().dot(arm);
    [along - shorter, across]
}

/// Share of parts whose largest gap is within the told one, and of butts within theirs along
/// and across, over `rounds` surveys of `n` points; then the share of single
/// places within 1.96 deviations in plan and in height.
fn coverage(n: u32, rounds: u32) -> [f64; 5] {
    let job = job(1.6);
    let mut dice = Dice(u64::from(n) * 1000 + 7);
    let (mut within, mut of) = ([0.0; 5], [0.0; 5]);
    for _ in 0..rounds {
        let edge = fair(&survey(&measured(&shares(n), 1.6, &mut dice)), &job).expect("fair");
        let length = &edge.chains[0].lengths[0];
        let (a, b) = length.range();
        let t = |q: f64| a + (b - a) * q;
        let ranges = PARTS.map(|(p, q)| (t(p), t(q)));
        let on = ranges.map(|(from, to)| edge.piece(0, 0, from, to).expect("known"));
        let mut count = |i: usize, real: f64, told: f64| {
            of[i] += 1.0;
            if real <= told {
                within[i] += 1.0;
            }
        };
        for k in 0..=30 {
            let t = t(f64::from(k) / 30.0);
            let (e, sd) = (error(length, t), length.base_sd(t).expect("known"));
            count(3, e[0].abs(), NORMAL_95 * sd.across);
            count(4, e[1].abs(), NORMAL_95 * sd.up);
        }
        for (piece, (from, to)) in on.iter().zip(ranges) {
            let (told, _) = piece.gap_95();
            let real = (0..=40)
                .map(|k| from + (to - from) * f64::from(k) / 40.0)
                .fold(0.0, |m: f64, t| m.max(error(length, t)[1].abs()));
            count(0, real, told);
        }
        for k in 0..2 {
            let t = ranges[k].1;
            let told = on[k].butt_95(&on[k + 1], t).expect("a joint");
            let ends = [k, k + 1].map(|i| laid_by_hand(length, ranges[i].0, ranges[i].1, t));
            for i in 0..2 {
                let real = (ends[1][i] - ends[0][i]).abs();
                count(1 + i, real, told[i]);
            }
        }
    }
    [0, 1, 2, 3, 4].map(|i| within[i] / of[i])
}

#[test]
fn nineteen_of_twenty_gaps_and_butts_are_within_what_was_told() {
    for (n, rounds) in [(21, 120), (31, 120), (60, 80)] {
        let got = coverage(n, rounds);
        let [gap, along, across, plan, height] = got;
        println!(
            "{n} points: gap {gap:.3}, butt along {along:.3}, across {across:.3}; places in plan {plan:.3}, in height {height:.3}"
        );
        for g in got {
            assert!((0.90..=0.995).contains(&g), "{n} points: {got:?}");
        }
    }
}

/// Mean square of the error in plan and height along the side, one survey.
fn mean_sq(points: &Survey, job: &Job) -> f64 {
    let edge = fair(points, job).expect("fair");
    let length = &edge.chains[0].lengths[0];
    let (a, b) = length.range();
    let sum: f64 = (0..60)
        .map(|k| {
            let [p, z] = error(length, a + (b - a) * (f64::from(k) + 0.5) / 60.0);
            p * p + z * z
        })
        .sum();
    sum / 60.0
}

#[test]
fn measuring_the_point_told_again_brings_more_than_measuring_any() {
    // Uneven stations, as a careless survey has them.
    let mut uneven = shares(21);
    for q in [9, 10, 12] {
        uneven.remove(q);
    }
    let job = job(1.6);
    let mut dice = Dice(11);
    let (mut before, mut told, mut any) = (0.0, 0.0, 0.0);
    let first = fair(&survey(&measured(&uneven, 1.6, &mut dice)), &job).expect("fair");
    let best = first.again[0].index;
    for round in 0..150 {
        let once = survey(&measured(&uneven, 1.6, &mut dice));
        before += mean_sq(&once, &job);
        let more = vec3(0.0, dice.even(1.6), dice.even(1.6));
        let twice = |i: usize| {
            let mut again = once.clone();
            let p = &mut again.chains[0].points[i];
            p.at = (p.at + edge(uneven[i]) + more) * 0.5;
            p.tolerance = Some(1.6 / SQRT_2);
            mean_sq(&again, &job)
        };
        told += twice(best);
        any += twice((round * 7 + 3) % uneven.len());
    }
    println!(
        "mean square error: once {before:.1}, told point {told:.1}, any {any:.1}; best {best}"
    );
    assert!(told < any, "{told} {any}");
    assert!(any < before, "{any} {before}");
}

#[test]
fn an_accuracy_that_is_not_stated_is_found_from_the_points() {
    let mut job = job(0.0);
    job.survey.estimate = Some(crate::job::Follow {
        base: true,
        top: true,
    });
    let mut dice = Dice(5);
    let mut ratios: Vec<f64> = (0..100)
        .map(|_| {
            let points = survey(&measured(&shares(60), 1.6, &mut dice));
            let (settled, accuracy) = settle(&points, &job).expect("enough points");
            assert_eq!(accuracy, Accuracy::Estimated(settled.fairing.base));
            assert!((settled.fairing.top / accuracy.mm() - 4.0).abs() < 1e-12);
            accuracy.mm() / 1.6
        })
        .collect();
    ratios.sort_by(f64::total_cmp);
    println!(
        "estimate over truth: {:.3} {:.3} {:.3}",
        ratios[2], ratios[50], ratios[97]
    );
    let near = ratios.iter().filter(|r| (0.8..=1.25).contains(*r)).count();
    assert!(near >= 95, "{ratios:?}");
    let edge = fair(&survey(&measured(&shares(60), 1.6, &mut dice)), &job).expect("fair");
    assert!(matches!(edge.accuracy, Accuracy::Estimated(_)));
    let few = survey(&measured(&shares(4), 1.6, &mut dice));
    let fault = fair(&few, &job).expect_err("too few points");
    assert_eq!(fault.0[0].place.field.as_deref(), Some("survey.accuracy"));
}
