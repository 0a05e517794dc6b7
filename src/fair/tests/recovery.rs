//! Exact curves rounded to 1/16 in: how much of the rounding is taken out.

use super::*;
use crate::geom::Vec3;

/// 1/16 in, mm.
const STEP: f64 = 25.4 / 16.0;

/// A smooth side of a boat.
enum Shape {
    /// A circular arc in plan, its sheer a parabola over its length: radius, angle,
    /// rise at the ends.
    Simple(f64, f64, f64),
    /// Half-breadth and height by x.
    Side {
        breadth: [f64; 3],
        sheer: [f64; 4],
        length: f64,
    },
}

impl Shape {
    /// A side: breadth with an even fall fore and aft of a middle, sheer a
    /// cubic hollow upward.
    fn random(simple: bool, dice: &mut Dice) -> Self {
        if simple {
            let radius = dice.within(9000.0, 25_000.0);
            let angle = dice.within(8000.0, 16_000.0) / radius;
            return Self::Simple(radius, angle, dice.within(200.0, 900.0));
        }
        let length = dice.within(8000.0, 18_000.0);
        let middle = dice.within(0.4, 0.6);
        let fall = dice.within(700.0, 1600.0);
        Self::Side {
            breadth: [dice.within(1900.0, 2600.0), middle, fall],
            sheer: [
                dice.within(900.0, 1500.0),
                dice.within(0.35, 0.65),
                dice.within(600.0, 2400.0),
                dice.within(-0.25, 0.25),
            ],
            length,
        }
    }
    fn at(&self, q: f64) -> Vec3 {
        let (breadth, sheer, length) = match self {
            Self::Simple(radius, angle, rise) => {
                let a = angle * (q - 0.5);
                let (x, y) = (radius * trig::sin(-a), radius * (trig::cos(a) - 0.8));
                return vec3(x, y, 1000.0 + 4.0 * rise * (q - 0.45) * (q - 0.45));
            }
            Self::Side {
                breadth,
                sheer,
                length,
            } => (breadth, sheer, length),
        };
        let [beam, middle, fall] = *breadth;
        let d = (q - middle) / 0.6;
        let y = beam - fall * d * d * (0.85 + 0.15 * d * d);
        let [low, lowest, rise, skew] = *sheer;
        let e = q - lowest;
        let z = low + rise * e * e * (1.0 + skew * e);
        vec3(-q * length, y, z)
    }
}

/// What one rounded survey came back as.
struct Recovered {
    /// rms error over the rounding's own rms, in plan and in height.
    ratio: [f64; 2],
    /// Largest error of curvature over the largest curvature, in plan and in
    /// profile, between 15 and 85 % of the length.
    bend: [f64; 2],
}

fn recover(shape: &Shape, n: u32, offset: [f64; 2]) -> Recovered {
    let exact: Vec<Vec3> = steps(0.0, 1.0, n - 1)
        .map(|q| shape.at(q) + vec3(0.0, offset[0], offset[1]))
        .collect();
    let measured: Vec<Vec3> = exact
        .iter()
        .map(|p| vec3(p.x, rounded(p.y, STEP), rounded(p.z, STEP)))
        .collect();
    let edge = fair(&survey(measured.clone()), &job(0.5 * STEP, 2.0)).expect("fair");
    let l = only(&edge);
    let truth = fit_line(&exact, &vec![0.0; exact.len()], [false; 2], Rule::Likeliest)
        .expect("an exact line")
        .curve;
    let mut error_sq = [0.0; 2];
    let mut rounding_sq = [0.0; 2];
    for ((p, m), fit) in exact.iter().zip(&measured).zip(&edge.chains[0].points) {
        let n = l.inboard(fit.t);
        let off = l.base_point(fit.t) - *p;
        // Off the true curve, square to it; the foot lies within the rounding of it.
        error_sq[0] += off.plan().dot(n) * off.plan().dot(n);
        error_sq[1] += off.z * off.z;
        let by = *m - *p;
        rounding_sq[0] += by.plan().dot(n) * by.plan().dot(n);
        rounding_sq[1] += by.z * by.z;
    }
    let mut bend = [0.0_f64; 2];
    let mut most = [0.0_f64; 2];
    let (a, b) = l.range();
    let scale = truth.basis.range().1 / (b - a);
    for q in steps(0.15, 0.85, 100) {
        let t = a + (b - a) * q;
        let (p, z) = curvature(&l.base, t);
        let (tp, tz) = curvature(&truth, t * scale);
        for (k, (mine, true_one)) in [(p, tp), (z, tz)].into_iter().enumerate() {
            bend[k] = bend[k].max((mine - true_one).abs());
            most[k] = most[k].max(true_one.abs());
        }
    }
    Recovered {
        ratio: [0, 1].map(|k| (error_sq[k] / rounding_sq[k]).sqrt()),
        bend: [0, 1].map(|k| bend[k] / most[k]),
    }
}

/// Root mean square of the ratios, share at 0.6 or below, and 95th
/// percentile of the error of curvature.
fn statistic(simple: bool, n: u32, rounds: u64) -> ([f64; 2], [f64; 2], [f64; 2]) {
    let mut dice = Dice(u64::from(n));
    let all: Vec<Recovered> = (0..rounds)
        .map(|_| {
            let shape = Shape::random(simple, &mut dice);
            let offset = [dice.within(0.0, STEP), dice.within(0.0, STEP)];
            recover(&shape, n, offset)
        })
        .collect();
    let many = rounds as f64;
    let of = |k: usize| {
        let mean_sq = all.iter().map(|r| r.ratio[k] * r.ratio[k]).sum::<f64>() / many;
        let share = all.iter().filter(|r| r.ratio[k] <= 0.6).count() as f64 / many;
        let mut bends: Vec<f64> = all.iter().map(|r| r.bend[k]).collect();
        bends.sort_by(f64::total_cmp);
        (mean_sq.sqrt(), share, bends[bends.len() * 95 / 100])
    };
    let (a, b) = (of(0), of(1));
    ([a.0, b.0], [a.1, b.1], [a.2, b.2])
}

#[test]
fn rounding_to_a_sixteenth_comes_back_at_most_0_6_of_itself() {
    // Simple shapes (arc and parabola) from 15 points on, any side from 31 on. A side
    // with a bend that changes along it has some eight shapes' worth of freedom,
    // of which 21 points cannot average enough away: there the best balance for
    // each curve, chosen knowing the truth, still leaves 0.58 to 0.66.
    println!("shape   points  rms ratio plan, height   share <= 0.6    curvature error, 95 %");
    for (simple, n, most) in [
        (true, 15, 0.6),
        (true, 21, 0.5),
        (true, 31, 0.4),
        (true, 60, 0.3),
        (false, 15, 0.85),
        (false, 21, 0.72),
        (false, 31, 0.6),
        (false, 45, 0.55),
        (false, 60, 0.45),
    ] {
        let (rms, share, bend) = statistic(simple, n, 30);
        println!(
            "{}  {n:6}  {:.3}  {:.3}             {:.2}  {:.2}      {:.3}  {:.3}",
            if simple { "simple" } else { "side  " },
            rms[0],
            rms[1],
            share[0],
            share[1],
            bend[0],
            bend[1]
        );
        for k in 0..2 {
            assert!(rms[k] <= most, "{n} points: {}", rms[k]);
            assert!(bend[k] <= 0.15, "{n} points: {}", bend[k]);
        }
    }
}
