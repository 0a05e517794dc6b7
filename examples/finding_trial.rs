//! How small a fault of the sheer is found, and how often a fair one is
//! called unfair: invented edges with a bump of known height, length and
//! place, measured with errors, faired through the library.
//!
//!     cargo run --release --example finding_trial [TRIALS]
//!
//! A bump is h exp(-(s / w)^2 / 2), h its height, w half its length between
//! the places where it bends the other way; w is told in spacings of the
//! measured points. It is found where any finding of its view lies within
//! three spacings of its middle.

#![expect(clippy::print_stdout, reason = "a program that prints its findings")]

use std::error::Error;
use std::fmt::Write as _;

use planksheer::fair::{FindingKind, View, fair};
use planksheer::geom::trig;
use planksheer::job::{self, Job, SurveyFile};
use planksheer::survey;
use rayon::prelude::*;

/// Accuracy that the job states, mm: 1/16 in. Errors are even within it.
const ACCURACY: f64 = 1.6;
/// Heights of the bumps, mm.
const HEIGHTS: [f64; 9] = [2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0, 24.0, 32.0];
/// Half-lengths of the bumps, in spacings of the points.
const WIDTHS: [f64; 4] = [1.0, 1.5, 2.0, 3.0];

const JOB: &str = r#"
name = "trial"
[survey]
unit = "mm"
accuracy = "1.6 mm"
line = "covering-board-edge"
stern = "open"
slope = 0
[[survey.file]]
path = "edge.csv"
form = "points"
side = "port"
[fairing]
top = "6 mm"
[bulwark]
height = "800 mm"
[base]
width = "180 mm"
thickness = "12.7 mm"
alloy = "5086-H116"
bedding = "3 mm"
[top]
width = "130 mm"
thickness = "12.7 mm"
alloy = "5086-H116"
[section]
planking = "0 mm"
planking_inset = "0 mm"
weld_setback = "0 mm"
inwale = "20 mm"
cap_width = "200 mm"
cap_thickness = "44 mm"
overhang_outboard = "10 mm"
overhang_inboard = "10 mm"
[stanchions]
side = "4 in"
wall = "1/4 in"
alloy = "6061-T6"
spacing = "900 mm"
[[sheet]]
name = "sheet"
length = "6 m"
width = "2 m"
thickness = "12.7 mm"
alloy = "5086-H116"
[cutting]
process = "waterjet"
kerf = "1 mm"
gap = "6 mm"
edge_margin = "10 mm"
"#;

type Outcome<T> = Result<T, Box<dyn Error>>;

/// Even numbers in 0..1 (SplitMix64, Steele, Lea & Flood 2014).
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^= z >> 31;
        (z >> 11) as f64 / (1_u64 << 53) as f64
    }
    fn within(&mut self, a: f64, b: f64) -> f64 {
        a + (b - a) * self.next()
    }
}

/// A fair side of a boat, invented: bow to the right, x from 0 aft.
struct Side {
    length: f64,
    points: u32,
    beam: f64,
    middle: f64,
    fall: f64,
    full: f64,
    low: f64,
    lowest: f64,
    rise: f64,
    skew: f64,
}

impl Side {
    fn random(dice: &mut Dice) -> Self {
        let count = dice.within(25.0, 45.99).floor();
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "25 to 45"
        )]
        let points = count as u32;
        Self {
            length: dice.within(9000.0, 18_000.0),
            points,
            beam: dice.within(1800.0, 2600.0),
            middle: dice.within(0.4, 0.6),
            fall: dice.within(600.0, 1500.0),
            full: dice.within(0.0, 0.5),
            low: dice.within(900.0, 1500.0),
            lowest: dice.within(0.4, 0.65),
            rise: dice.within(700.0, 2400.0),
            skew: dice.within(-0.25, 0.25),
        }
    }
    /// Half-breadth and height at a share of the length from the bow.
    fn at(&self, q: f64) -> (f64, f64) {
        let d = (q - self.middle) / 0.6;
        let y = self.beam - self.fall * d * d * (1.0 - self.full + self.full * d * d);
        let e = q - self.lowest;
        (y, self.low + self.rise * e * e * (1.0 + self.skew * e))
    }
}

/// A bump: where (share of the length), height, half-length in spacings, and
/// whether in plan.
#[derive(Clone, Copy)]
struct Bump {
    at: f64,
    height: f64,
    width: f64,
    plan: bool,
}

struct Seen {
    points: usize,
    findings: usize,
    found: bool,
}

fn trial(
    job: &Job,
    file: &SurveyFile,
    side: &Side,
    bump: Option<Bump>,
    dice: &mut Dice,
) -> Outcome<Seen> {
    let spacing = side.length / f64::from(side.points - 1);
    let mut text = String::from("x,y,z\n");
    for k in 0..side.points {
        let q = f64::from(k) / f64::from(side.points - 1);
        let (mut y, mut z) = side.at(q);
        if let Some(b) = bump {
            let s = (q - b.at) * side.length / (b.width * spacing);
            let by = b.height * trig::pow(std::f64::consts::E, -0.5 * s * s);
            *(if b.plan { &mut y } else { &mut z }) += by;
        }
        y += dice.within(-ACCURACY, ACCURACY);
        z += dice.within(-ACCURACY, ACCURACY);
        writeln!(text, "{:.2},{y:.2},{z:.2}", -q * side.length)?;
    }
    let survey = survey::read(&[(file.clone(), text)], &job.survey, &job.tolerance)?;
    let edge = fair(&survey, job)?;
    let told: Vec<_> = edge
        .findings
        .iter()
        .filter(|f| f.kind != FindingKind::Tolerance)
        .collect();
    let found = bump.is_some_and(|b| {
        told.iter().any(|f| {
            let view = match f.view {
                View::Plan => b.plan,
                View::Profile => !b.plan,
                View::True => true,
            };
            view && (f.at.x + b.at * side.length).abs() < 3.0 * spacing
        })
    });
    Ok(Seen {
        points: survey.chains[0].points.len(),
        findings: told.len(),
        found,
    })
}

fn main() -> Outcome<()> {
    let trials: u64 = std::env::args().nth(1).map_or(Ok(400), |a| a.parse())?;
    let job = job::parse(JOB, "trial.toml", "")?;
    let file = job.survey.files.first().ok_or("no file")?.clone();
    let run = |bump: Option<(f64, f64, bool)>, stream: u64| -> Vec<Seen> {
        (0..trials)
            .into_par_iter()
            .filter_map(|k| {
                let mut dice = Dice(stream.wrapping_mul(0x1000_0000).wrapping_add(k * 7919));
                let side = Side::random(&mut dice);
                let bump = bump.map(|(height, width, plan)| Bump {
                    at: dice.within(0.15, 0.85),
                    height: if dice.next() < 0.5 { height } else { -height },
                    width,
                    plan,
                });
                trial(&job, &file, &side, bump, &mut dice).ok()
            })
            .collect()
    };
    let share = |part: usize, of: usize| 100.0 * part as f64 / of.max(1) as f64;
    let fair = run(None, 1);
    let points: usize = fair.iter().map(|s| s.points).sum();
    let told: usize = fair.iter().map(|s| s.findings).sum();
    let any = fair.iter().filter(|s| s.findings > 0).count();
    println!(
        "fair sides: {} of {} called unfair ({:.1} %), {:.2} findings in 100 points",
        any,
        fair.len(),
        share(any, fair.len()),
        share(told, points)
    );
    for plan in [true, false] {
        println!(
            "\nbumps in {}, found in % of {trials} sides",
            if plan { "plan" } else { "height" }
        );
        let head = HEIGHTS.map(|h| format!("{h:>6.0}")).concat();
        println!("half-length, spacings \\ height, mm{head}");
        for width in WIDTHS {
            let row = HEIGHTS.map(|height| {
                let seen = run(Some((height, width, plan)), 2);
                let found = seen.iter().filter(|s| s.found).count();
                format!("{:>6.0}", share(found, seen.len()))
            });
            println!("{width:>33.1}{}", row.concat());
        }
    }
    Ok(())
}
