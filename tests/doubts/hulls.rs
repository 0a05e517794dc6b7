//! Invented edges with errors and planted slips, and what is found of them.
//! Everything comes from the seed: the same trial on every machine.

use planksheer::fair::{Doubt, Figure, doubtful};
use planksheer::fault::Place;
use planksheer::geom::{Vec3, trig, vec3};
use planksheer::job::{Codes, Job, STARTER, Side, Stern, SurveyFile, TableForm, parse};
use planksheer::length::{INCH, Unit, booked, parse_cell};
use planksheer::survey::{Booked, Chain, End, Point, Survey};

/// Even numbers (SplitMix64: Steele, Lea & Flood 2014).
#[derive(Debug)]
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// In a to b.
    pub(crate) fn within(&mut self, a: f64, b: f64) -> f64 {
        a + (b - a) * ((self.bits() >> 11) as f64 / (1_u64 << 53) as f64)
    }

    /// 0 to n - 1.
    pub(crate) fn below(&mut self, n: usize) -> usize {
        (0..n)
            .take_while(|k| *k as f64 <= self.peek() * n as f64)
            .last()
            .map_or(0, |k| {
                self.bits();
                k
            })
    }

    fn peek(&self) -> f64 {
        Dice(self.0).within(0.0, 1.0)
    }

    /// Normal, standard deviation 1: the sum of twelve even numbers would lack tails
    /// beyond six; this is Marsaglia's polar form.
    pub(crate) fn normal(&mut self) -> f64 {
        loop {
            let (u, v) = (self.within(-1.0, 1.0), self.within(-1.0, 1.0));
            let s = u * u + v * v;
            if s > 0.0 && s < 1.0 {
                return u * (-2.0 * trig::ln(s) / s).sqrt();
            }
        }
    }

    fn sign(&mut self) -> f64 {
        if self.within(0.0, 1.0) < 0.5 {
            -1.0
        } else {
            1.0
        }
    }
}

/// What kind of survey to invent.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Recipe {
    /// Points a side, least and most.
    pub(crate) points: (usize, usize),
    /// Most slips.
    pub(crate) slips: usize,
    /// Least size of a slip, inches.
    pub(crate) least_in: f64,
    /// Every slip is of this size, inches.
    pub(crate) exactly_in: Option<f64>,
    /// Standard deviation of the errors, mm.
    pub(crate) noise: f64,
    /// What the job states, mm.
    pub(crate) accuracy: f64,
    /// Greatest turn from point to point, degrees.
    pub(crate) turn_deg: f64,
    /// Plant slips in x or y of a point whichever way the edge runs there: one along the edge cannot
    /// show.
    pub(crate) along_too: bool,
    /// Plant slips of the station (or of the figure along the edge).
    pub(crate) stations: bool,
}

/// The recipe of the 10,000.
pub(crate) const USUAL: Recipe = Recipe {
    points: (25, 60),
    slips: 3,
    least_in: 1.0,
    exactly_in: None,
    noise: INCH / 16.0,
    accuracy: INCH / 16.0,
    turn_deg: 10.0,
    along_too: false,
    stations: false,
};

/// A planted slip.
#[derive(Debug, Clone)]
pub(crate) struct Planted {
    /// Index of the point.
    pub(crate) index: usize,
    /// Which figure.
    pub(crate) figure: Figure,
    /// What it was, mm, as booked.
    pub(crate) meant: f64,
    /// At the end of the run.
    pub(crate) at_end: bool,
}

/// An invented survey.
#[derive(Debug)]
pub(crate) struct Trial {
    /// The survey with its slips.
    pub(crate) survey: Survey,
    /// The job it belongs to.
    pub(crate) job: Job,
    /// What was planted.
    pub(crate) planted: Vec<Planted>,
}

/// Bend along the edge: a level, lobes at stern and bow, a hollow.
struct Shape {
    length: f64,
    heading: f64,
    lobes: Vec<(f64, f64, f64)>,
    level: f64,
}

impl Shape {
    fn bend(&self, s: f64) -> f64 {
        let f = s / self.length;
        let lobe = |(turn, at, wide): &(f64, f64, f64)| {
            let u = (f - at) / wide;
            // An integral of `turn` over the whole lobe.
            turn / (wide * self.length) * 0.564_19 * trig::pow(std::f64::consts::E, -u * u)
        };
        self.level / self.length + self.lobes.iter().map(lobe).sum::<f64>()
    }
}

/// An edge in fine steps: place and bend.
fn trace(shape: &Shape, sheer: &dyn Fn(f64) -> f64) -> Vec<(Vec3, f64)> {
    let steps = 2000;
    let ds = shape.length / f64::from(steps);
    let (mut x, mut y, mut heading) = (0.0, 0.0, shape.heading);
    let mut out = Vec::new();
    for k in 0..=steps {
        let s = f64::from(k) * ds;
        out.push((vec3(x, y, 0.0), shape.bend(s)));
        let mid = heading - 0.5 * ds * shape.bend(s + 0.5 * ds);
        x += ds * trig::cos(mid);
        y += ds * trig::sin(mid);
        heading -= ds * shape.bend(s + 0.5 * ds);
    }
    // The sheer is a height over a station: level across a round stern.
    let long = out.iter().fold(1.0, |m: f64, p| m.max(p.0.x));
    for (p, _) in &mut out {
        p.z = sheer(p.x / long);
    }
    out
}

fn sheer(dice: &mut Dice, length: f64) -> impl Fn(f64) -> f64 + use<> {
    let (aft, fore) = (
        dice.within(0.01, 0.04) * length,
        dice.within(0.03, 0.09) * length,
    );
    let low = dice.within(0.3, 0.5);
    let wave = dice.within(-0.006, 0.006) * length;
    let base = dice.within(700.0, 1500.0);
    move |f: f64| {
        let u = if f < low {
            (low - f) / low
        } else {
            (f - low) / (1.0 - low)
        };
        let rise = if f < low { aft } else { fore };
        // Third order at the low point: no step in the change of bend.
        base + rise * u * u * (0.6 + 0.4 * u) * 1.0 + wave * trig::sin(5.0 * f)
    }
}

/// Points along a traced edge: closer where it bends, uneven, at most `turn` apart.
fn pick(dice: &mut Dice, edge: &[(Vec3, f64)], n: usize, turn: f64) -> Option<Vec<Vec3>> {
    let bends: f64 = edge.iter().map(|e| e.1.abs()).sum();
    let lean = dice.within(0.2, 0.7);
    let uneven = dice.within(0.0, 0.35);
    let share = |e: &(Vec3, f64)| (1.0 - lean) / edge.len() as f64 + lean * e.1.abs() / bends;
    let mut along = vec![0.0];
    for e in edge {
        along.push(along[along.len() - 1] + share(e));
    }
    let total = along[along.len() - 1];
    let mut out: Vec<Vec3> = Vec::new();
    for k in 0..n {
        let jitter = if k == 0 || k + 1 == n {
            0.0
        } else {
            dice.within(-uneven, uneven)
        };
        let want = total * (k as f64 + jitter) / (n - 1) as f64;
        let at = along.partition_point(|a| *a < want).min(edge.len() - 1);
        out.push(edge[at].0);
    }
    let turns = out.windows(3).all(|w| {
        let (a, b) = (w[1].plan() - w[0].plan(), w[2].plan() - w[1].plan());
        trig::atan2(a.cross(b), a.dot(b)).abs() <= turn.to_radians()
    });
    turns.then_some(out)
}

/// The places of an invented edge: one side with an open end, or port, round the
/// stern and starboard.
fn places(dice: &mut Dice, recipe: &Recipe, n: usize) -> (Vec<Vec3>, bool) {
    loop {
        let length = dice.within(6000.0, 26_000.0);
        let round = dice.within(0.0, 1.0) < 0.5;
        let bow = (
            dice.within(0.2, 0.9),
            dice.within(0.75, 1.05),
            dice.within(0.12, 0.4),
        );
        let mut lobes = vec![bow];
        if dice.within(0.0, 1.0) < 0.3 {
            // A hollow in the flare.
            lobes.push((
                -dice.within(0.05, 0.25),
                dice.within(0.8, 0.95),
                dice.within(0.08, 0.2),
            ));
        }
        let mut heading = dice.within(0.02, 0.25);
        if round {
            let wide = dice.within(0.05, 0.12);
            lobes.push((std::f64::consts::PI - 2.0 * heading, 0.0, wide));
            heading = std::f64::consts::FRAC_PI_2;
        }
        let shape = Shape {
            length,
            heading,
            lobes,
            level: dice.within(0.0, 0.25),
        };
        let high = sheer(dice, length);
        let traced = trace(&shape, &high);
        let turn = recipe.turn_deg;
        if let Some(half) = pick(dice, &traced, n, turn) {
            let beam = if round {
                0.0
            } else {
                dice.within(0.08, 0.16) * length
            };
            let mut port: Vec<Vec3> = half.iter().map(|p| vec3(p.x, p.y + beam, p.z)).collect();
            if port.iter().any(|p| p.y < 0.0) {
                continue;
            }
            port.reverse();
            if round {
                let mut starboard: Vec<Vec3> =
                    half.iter().skip(1).map(|p| vec3(p.x, -p.y, p.z)).collect();
                port.append(&mut starboard);
            }
            return (port, round);
        }
    }
}

/// A slip of a figure that was meant to be `mm`.
fn slip(dice: &mut Dice, recipe: &Recipe, mm: f64, unit: Unit) -> f64 {
    if let Some(inches) = recipe.exactly_in {
        return mm + dice.sign() * inches * INCH;
    }
    let least = recipe.least_in * INCH;
    loop {
        let slipped = match dice.below(5) {
            0 => mm + dice.sign() * 12.0 * INCH,
            1 => mm + dice.sign() * INCH * (1 + dice.below(11)) as f64,
            2 => changed(dice, mm, unit, true),
            3 => changed(dice, mm, unit, false),
            _ => mm + dice.sign() * dice.within(least, 12.0 * INCH),
        };
        // A slip that turns the edge over is refused elsewhere, with its row.
        if (slipped - mm).abs() >= least && (slipped - mm).abs() <= 24.0 * INCH {
            return slipped;
        }
    }
}

/// Two digits swapped, or one misread, in the figure's own notation.
fn changed(dice: &mut Dice, mm: f64, unit: Unit, swap: bool) -> f64 {
    let mut letters: Vec<char> = booked(mm, unit).chars().collect();
    let digits: Vec<usize> = (0..letters.len())
        .filter(|i| letters[*i].is_ascii_digit())
        .collect();
    let k = dice.below(digits.len());
    if swap && k + 1 < digits.len() {
        letters.swap(digits[k], digits[k + 1]);
    } else {
        letters[digits[k]] = char::from(b'0' + u8::try_from(dice.below(10)).unwrap_or(0));
    }
    let text: String = letters.iter().collect();
    parse_cell(&text, unit).unwrap_or(mm)
}

/// The starter's job over a survey of this form.
pub(crate) fn job(form: TableForm, unit: Unit, accuracy: f64) -> Job {
    let mut job = parse(STARTER, "job.toml", "").expect("the starter is sound");
    job.survey.files = vec![SurveyFile {
        path: "edge.csv".to_owned(),
        form,
        side: None,
        unit: None,
        codes: Codes::default(),
        layer: String::new(),
        place: Place::default(),
    }];
    job.survey.unit = unit;
    job.survey.accuracy = accuracy;
    job.survey.stern = Stern::Open;
    job.survey.mirrored = false;
    job.survey.stations_aft = false;
    job
}

/// The `seed`th survey of a recipe.
pub(crate) fn trial(seed: u64, recipe: &Recipe) -> Trial {
    let mut dice = Dice(seed.wrapping_mul(0x2545_F491_4F6C_DD1D) ^ 0x5EED);
    let n = recipe.points.0 + dice.below(recipe.points.1 - recipe.points.0 + 1);
    let (mut at, round) = places(&mut dice, recipe, n);
    let form = if round {
        TableForm::Points
    } else {
        TableForm::Offsets
    };
    let unit = if dice.within(0.0, 1.0) < 0.5 {
        Unit::Mm
    } else {
        Unit::FeetInchesEighths
    };
    let round_off = |mm: f64| parse_cell(&booked(mm, unit), unit).unwrap_or(mm);
    for p in &mut at {
        let x = if round {
            recipe.noise * dice.normal()
        } else {
            0.0
        };
        p.x = round_off(p.x + x);
        p.y = round_off(p.y + recipe.noise * dice.normal());
        p.z = round_off(p.z + recipe.noise * dice.normal());
    }
    let mut planted: Vec<Planted> = Vec::new();
    for _ in 0..dice.below(recipe.slips + 1) {
        let index = match dice.below(8) {
            0 => 0,
            1 => at.len() - 1,
            2 if !planted.is_empty() => (planted[0].index + 1).min(at.len() - 1),
            _ => 1 + dice.below(at.len() - 2),
        };
        if planted.iter().any(|p| p.index == index) {
            continue;
        }
        let figure = plant(&mut dice, recipe, &mut at, index, round, unit);
        planted.push(Planted {
            at_end: index == 0 || index + 1 == at.len(),
            index,
            ..figure
        });
    }
    Trial {
        survey: survey(&at),
        job: job(form, unit, recipe.accuracy),
        planted,
    }
}

/// Plants a slip in the figure that the edge shows there, or in a height.
fn plant(
    dice: &mut Dice,
    recipe: &Recipe,
    at: &mut [Vec3],
    index: usize,
    round: bool,
    unit: Unit,
) -> Planted {
    let (a, b) = (
        at[index.saturating_sub(1)],
        at[(index + 1).min(at.len() - 1)],
    );
    let mut steep = (b.y - a.y).abs() > (b.x - a.x).abs();
    if recipe.along_too {
        // A half-breadth as it is, wherever it is.
        steep = false;
    }
    let height = !recipe.stations && dice.within(0.0, 1.0) < 0.5;
    let (figure, value) = match (height, round, steep != recipe.stations) {
        (true, true, _) => (Figure::Z, &mut at[index].z),
        (true, false, _) => (Figure::Height, &mut at[index].z),
        (false, true, true) => (Figure::X, &mut at[index].x),
        (false, true, false) => (Figure::Y, &mut at[index].y),
        (false, false, true) if recipe.stations => (Figure::Station, &mut at[index].x),
        (false, false, _) => (Figure::HalfBreadth, &mut at[index].y),
    };
    let meant = *value;
    *value = slip(dice, recipe, meant, unit);
    Planted {
        index,
        figure,
        meant,
        at_end: false,
    }
}

/// A survey of one chain through places.
pub(crate) fn survey(at: &[Vec3]) -> Survey {
    let point = |(i, p): (usize, &Vec3)| Point {
        at: *p,
        side: if p.y >= 0.0 {
            Side::Port
        } else {
            Side::Starboard
        },
        file: "edge.csv".to_owned(),
        line: i + 2,
        name: format!("row {}", i + 2),
        height: None,
        lean: None,
        slope: None,
        tolerance: None,
        knuckle: false,
        pass: 0,
        booked: Booked::default(),
    };
    Survey {
        chains: vec![Chain {
            points: at.iter().enumerate().map(point).collect(),
            start: End::Square,
            end: End::Square,
        }],
        ..Survey::default()
    }
}

/// Counts over many trials.
#[derive(Debug, Default, Clone)]
pub(crate) struct Count {
    /// Slips planted and found, inside.
    pub(crate) inside: (usize, usize),
    /// Slips planted and found, at the two ends.
    pub(crate) ends: (usize, usize),
    /// Of those found, the right figure was named.
    pub(crate) named: usize,
    /// Of those, the likely figure lies within an eighth of an inch.
    pub(crate) likely: usize,
    /// Points, and points doubted for nothing.
    pub(crate) points: usize,
    /// Points doubted that have no slip.
    pub(crate) alarms: usize,
}

impl Count {
    /// Adds a trial's outcome.
    pub(crate) fn add(&mut self, trial: &Trial) {
        let doubts = doubtful(&trial.survey, &trial.job);
        self.points += trial.survey.chains[0].points.len();
        let planted = |d: &Doubt| trial.planted.iter().any(|p| p.index == d.index);
        let mut alarms: Vec<usize> = doubts
            .iter()
            .filter(|d| !planted(d))
            .map(|d| d.index)
            .collect();
        alarms.dedup();
        self.alarms += alarms.len();
        for p in &trial.planted {
            let of: Vec<&Doubt> = doubts.iter().filter(|d| d.index == p.index).collect();
            let tally = if p.at_end {
                &mut self.ends
            } else {
                &mut self.inside
            };
            tally.0 += 1;
            if of.is_empty() {
                continue;
            }
            tally.1 += 1;
            if let Some(d) = of.iter().find(|d| d.figure == p.figure) {
                self.named += 1;
                let starboard = d.figure == Figure::HalfBreadth && d.side == Side::Starboard;
                let meant = if starboard { -p.meant } else { p.meant };
                self.likely += usize::from((d.likely - meant).abs() <= INCH / 8.0);
            }
        }
    }
}
