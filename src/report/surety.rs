//! The fit to expect on the boat, part by part, and the points to measure
//! again. What each figure means is in `docs/method-fairing.md`, "How sure is
//! the fit".

use std::f64::consts::{PI, SQRT_2};

use rayon::prelude::*;

use super::csv_text;
use crate::fair::{Accuracy, Again, FairEdge, FairLength, Surety, frame};
use crate::fault::Fault;
use crate::geom::quadrature::GAUSS_5;
use crate::geom::{Vec2, trig};
use crate::job::Job;
use crate::layout::{Joint, JointForm, Layout, Member, MemberKind};
use crate::length::{Show, fine, number};
use crate::quantity::MM_PER_IN;

/// Part of all surveys whose fit is as good as told.
const SURE: f64 = 0.95;

/// Standard deviations that hold [`SURE`] of a normal error, both ways.
const NORMAL_95: f64 = 1.959_963_984_540_054;

/// Panels of five Gauss points along a piece: its edge turns little in a
/// panel, and the error's shortest wave is as long as the points' spacing.
const PANELS: u32 = 12;

/// Furthest apart that the gap is looked for along a part, mm, and the least
/// and most places: far below the points' spacing.
const LOOK_MM: f64 = 50.0;
const LOOK_PLACES: [f64; 2] = [16.0, 400.0];

/// Points listed to measure again.
const LISTED: usize = 20;

/// The fit of one part to expect.
#[derive(Debug, Clone, PartialEq)]
pub struct PartFit {
    /// Part.
    pub name: String,
    /// Plate.
    pub kind: MemberKind,
    /// With 95 % probability the covering board lies no further than this above
    /// or below where the plate takes it to be, anywhere along the part, mm.
    pub gap_95: f64,
    /// Nearest measured point to where it is least sure.
    pub at: String,
    /// t there, mm.
    pub at_t: f64,
    /// 95 % of how far a butt of the part opens or closes lengthwise, mm, the
    /// worse of its two; `None` where it has no butt.
    pub butt_along_95: Option<f64>,
    /// 95 % of the step square to the edge at a butt, mm.
    pub butt_across_95: Option<f64>,
}

/// What is told of the survey's accuracy.
#[derive(Debug, Clone, PartialEq)]
pub struct SuretyReport {
    /// The accuracy and where it comes from.
    pub accuracy: Accuracy,
    /// Base and top plates.
    pub parts: Vec<PartFit>,
    /// Points to measure again, best first.
    pub again: Vec<Again>,
}

impl SuretyReport {
    /// From the faired lines and the layout.
    #[must_use]
    pub fn of(edge: &FairEdge, layout: &Layout) -> Self {
        let plates = layout
            .members
            .par_iter()
            .filter(|m| m.kind != MemberKind::Doubler);
        Self {
            accuracy: edge.accuracy,
            parts: plates.filter_map(|m| part_fit(m, edge, layout)).collect(),
            again: edge.again.iter().take(LISTED).cloned().collect(),
        }
    }

    /// Sentence for people where the accuracy is estimated.
    #[must_use]
    pub fn warning(&self, job: &Job) -> Option<String> {
        let Accuracy::Estimated(mm) = self.accuracy else {
            return None;
        };
        let told = fine(mm, job.show);
        Some(format!(
            "survey.accuracy is not stated: plus or minus {told} is estimated from how the points scatter (cross-validation); state it if it is known"
        ))
    }

    /// `expected-fit.csv`.
    ///
    /// # Errors
    /// The table could not be written.
    pub fn expected_csv(&self, job: &Job) -> Result<String, Fault> {
        let (unit, each) = unit(job);
        let header = [
            "part".to_owned(),
            "plate".to_owned(),
            format!("gap_95_{unit}"),
            "least_sure_at".to_owned(),
            format!("butt_along_95_{unit}"),
            format!("butt_across_95_{unit}"),
        ];
        let maybe = |v: Option<f64>| v.map_or_else(String::new, &each);
        let row = |p: &PartFit| {
            vec![
                p.name.clone(),
                plate(p.kind).to_owned(),
                each(p.gap_95),
                p.at.clone(),
                maybe(p.butt_along_95),
                maybe(p.butt_across_95),
            ]
        };
        let rows: Vec<Vec<String>> = self.parts.iter().map(row).collect();
        csv_text("expected-fit.csv", &header, &rows)
    }

    /// `measure-again.csv`.
    ///
    /// # Errors
    /// The table could not be written.
    pub fn again_csv(&self, job: &Job) -> Result<String, Fault> {
        let (unit, _) = unit(job);
        let per = if unit == "mm" { 1.0 } else { MM_PER_IN };
        let header = [
            "rank".to_owned(),
            "side".to_owned(),
            "point".to_owned(),
            format!("t_{unit}"),
            "variance_off_in_height_percent".to_owned(),
            "variance_off_in_plan_percent".to_owned(),
        ];
        let row = |(k, a): (usize, &Again)| {
            vec![
                (k + 1).to_string(),
                if a.both { "both" } else { a.side.name() }.to_owned(),
                a.name.clone(),
                number(a.t / per, 1),
                number(a.height_share * 100.0, 2),
                number(a.plan_share * 100.0, 2),
            ]
        };
        let rows: Vec<Vec<String>> = self.again.iter().enumerate().map(row).collect();
        csv_text("measure-again.csv", &header, &rows)
    }
}

fn plate(kind: MemberKind) -> &'static str {
    match kind {
        MemberKind::TopPlate => "top",
        _ => "base",
    }
}

fn unit(job: &Job) -> (&'static str, impl Fn(f64) -> String) {
    let (name, per, places) = match job.show {
        Show::Mm => ("mm", 1.0, 2),
        Show::FeetInches => ("in", MM_PER_IN, 3),
    };
    (name, move |mm: f64| number(mm / per, places))
}

/// A piece of edge on one length, within the line's range.
#[derive(Debug, Clone, Copy)]
struct On<'a> {
    length: &'a FairLength,
    surety: &'a Surety,
    from: f64,
    to: f64,
}

impl<'a> On<'a> {
    fn of(member: &Member, edge: &'a FairEdge) -> Option<Self> {
        let s = member.stretch;
        let length = edge.chains.get(s.chain)?.lengths.get(s.length)?;
        let (a, b) = length.range();
        Some(Self {
            length,
            surety: length.surety.as_ref()?,
            from: s.from.clamp(a, b),
            to: s.to.clamp(a, b),
        })
    }
}

fn part_fit(member: &Member, edge: &FairEdge, layout: &Layout) -> Option<PartFit> {
    let on = On::of(member, edge)?;
    let (gap_95, at_t) = largest_gap(on.surety, on.from, on.to);
    let points = &edge.chains.get(member.stretch.chain)?.points;
    let nearest = points
        .iter()
        .min_by(|a, b| (a.t - at_t).abs().total_cmp(&(b.t - at_t).abs()))?;
    let mut butts: Option<[f64; 2]> = None;
    for joint in &layout.joints {
        let ours = joint.form != JointForm::Mitre && joint.between.contains(&member.name);
        let Some(own) = ours.then(|| at_joint(joint, layout, edge)).flatten() else {
            continue;
        };
        let so_far = butts.get_or_insert([0.0; 2]);
        for (a, b) in so_far.iter_mut().zip(own) {
            *a = a.max(b);
        }
    }
    Some(PartFit {
        name: member.name.clone(),
        kind: member.kind,
        gap_95,
        at: format!("{}, {}", member.side.name(), nearest.name),
        at_t,
        butt_along_95: butts.map(|b| b[0]),
        butt_across_95: butts.map(|b| b[1]),
    })
}

/// The level that the error in height keeps within over a stretch with 95 %
/// probability, and where it is least sure.
///
/// The error is taken as a normal random function of standard deviation s(t).
/// It passes level g where it passes a = g / s measured in its own deviations,
/// upward at the rate phi(a) (w phi(a'/w) - a' Phi(-a'/w)), w the deviation of
/// the change of error over s (Rice 1944; Cramer & Leadbetter, Stationary and
/// Related Stochastic Processes, 1967, chapter 13, from memory). Beyond the
/// level at the start, or passing it either way later, bounds the probability
/// from above; g is where that bound is 5 %.
fn largest_gap(surety: &Surety, from: f64, to: f64) -> (f64, f64) {
    let count = ((to - from) / LOOK_MM)
        .ceil()
        .clamp(LOOK_PLACES[0], LOOK_PLACES[1]);
    let step = (to - from) / count;
    let mut places = Vec::new();
    let mut k = 0.0;
    let mut worst = (0.0, from);
    while k <= count {
        let t = from + step * k;
        let [v, c, d] = surety.height_error(t);
        if v > worst.0 {
            worst = (v, t);
        }
        if v > 0.0 {
            let sd = v.sqrt();
            let w = ((d - c * c / v) / v).max(0.0).sqrt();
            let half = if k == 0.0 || k >= count { 0.5 } else { 1.0 };
            places.push((sd, c / sd, w, half * step));
        }
        k += 1.0;
    }
    let Some(&(first, ..)) = places.first() else {
        return (0.0, worst.1);
    };
    let beyond = |g: f64| {
        let mut sum = 2.0 * tail(g / first);
        for &(sd, change, w, dt) in &places {
            let (a, turn) = (g / sd, -g * change / (sd * sd));
            let rise = if w > 0.0 {
                w * density(turn / w) - turn * tail(turn / w)
            } else {
                (-turn).max(0.0)
            };
            sum += 2.0 * density(a) * rise * dt;
        }
        sum
    };
    let (mut low, mut high) = (0.0, 10.0 * worst.0.sqrt());
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if beyond(middle) > 1.0 - SURE {
            low = middle;
        } else {
            high = middle;
        }
    }
    (high, worst.1)
}

/// Density of the standard normal.
fn density(x: f64) -> f64 {
    trig::exp(-0.5 * x * x) / (2.0 * PI).sqrt()
}

/// Probability that a standard normal lies above x.
fn tail(x: f64) -> f64 {
    0.5 * trig::erfc(x / SQRT_2)
}

/// 95 % figures at a joint: lengthwise, and square to the edge.
fn at_joint(joint: &Joint, layout: &Layout, edge: &FairEdge) -> Option<[f64; 2]> {
    let named = |name: &String| layout.members.iter().find(|m| m.name == *name);
    let [a, b] = [named(&joint.between[0])?, named(&joint.between[1])?];
    if (a.stretch.chain, a.stretch.length) != (b.stretch.chain, b.stretch.length) {
        return None;
    }
    let (a, b) = (On::of(a, edge)?, On::of(b, edge)?);
    let variances = joint_variances(&a, &b, joint.t)?;
    Some(variances.map(|v| NORMAL_95 * v.sqrt()))
}

/// Variances of the opening and of the step between two pieces at `t`.
///
/// Each piece is laid by itself: its middle at its place along the edge, then
/// shifted square to the edge there and turned until it lies as near as it will
/// go (least squares) to the true edge; upward it bends to the board. An error e
/// of the edge square to it shifts a piece by p and turns it by q, the least
/// squares of e - p n.n_m - q T.(r - r_m) (n, T normal and tangent, r place, m the
/// middle). Its end then lies p n.n_e + q T_e.(r_e - r_m) square to the edge and
/// p n_m.T_e - q n_e.(r_e - r_m) along it, and where the board rises otherwise
/// than faired, its plan length changes by the integral of g / sqrt(1 + g^2)
/// times the change of rise, g the grade.
fn joint_variances(a: &On<'_>, b: &On<'_>, t: f64) -> Option<[f64; 2]> {
    let (mut along, mut across, mut up) = (Vec::new(), Vec::new(), Vec::new());
    for (piece, sign) in [(a, -1.0), (b, 1.0)] {
        laid(piece, t, sign, &mut along, &mut across)?;
        shortened(piece, t, sign, &mut up);
    }
    let (s, curve) = (a.surety, &a.length.base);
    Some([
        s.across_sum(curve, &along) + s.up_sum(&up),
        s.across_sum(curve, &across),
    ])
}

/// Gauss places and weights along a stretch.
fn places(from: f64, to: f64) -> Vec<(f64, f64)> {
    let mut out = Vec::new();
    let half = 0.5 * (to - from) / f64::from(PANELS);
    for k in 0..PANELS {
        let middle = from + half * f64::from(2 * k + 1);
        out.extend(GAUSS_5.map(|(x, w)| (middle + half * x, w * half)));
    }
    out
}

/// Adds where an end of a piece comes to lie, as sums over the error.
fn laid(
    on: &On<'_>,
    t: f64,
    sign: f64,
    along: &mut Vec<(f64, f64)>,
    across: &mut Vec<(f64, f64)>,
) -> Option<()> {
    let at = |t: f64| -> (Vec2, Vec2) {
        let f = frame(&on.length.base, t);
        (f.at.plan(), f.tangent)
    };
    let (middle, heading) = at(0.5 * (on.from + on.to));
    let columns = |t: f64| {
        let (r, tangent) = at(t);
        [tangent.left().dot(heading.left()), tangent.dot(r - middle)]
    };
    let nodes = places(on.from, on.to);
    let mut normal = [[0.0; 2]; 2];
    for (u, w) in &nodes {
        let c = columns(*u);
        for i in 0..2 {
            for j in 0..2 {
                normal[i][j] += w * c[i] * c[j];
            }
        }
    }
    let [[a, b], [_, d]] = normal;
    let determinant = a * d - b * b;
    if determinant.is_nan() || determinant <= 0.0 {
        return None;
    }
    let (end, tangent) = at(t);
    let ends = [
        (columns(t), &mut *across),
        (
            [
                heading.left().dot(tangent),
                -tangent.left().dot(end - middle),
            ],
            &mut *along,
        ),
    ];
    for (e, out) in ends {
        let shift = (d * e[0] - b * e[1]) / determinant;
        let turn = (a * e[1] - b * e[0]) / determinant;
        for (u, w) in &nodes {
            let c = columns(*u);
            out.push((*u, sign * w * (shift * c[0] + turn * c[1])));
        }
    }
    Some(())
}

/// Adds how far a piece's end at `t` moves along the edge because the piece bends
/// to another rise, as a sum over the error in height: minus the integral of
/// G dz' from its middle, G = g / sqrt(1 + g^2); by parts, - [G dz] + integral of
/// G' dz, G' = z'' / (1 + g^2)^(3/2).
fn shortened(on: &On<'_>, t: f64, sign: f64, up: &mut Vec<(f64, f64)>) {
    let middle = 0.5 * (on.from + on.to);
    let grade = |t: f64| frame(&on.length.base, t).grade;
    let slant = |g: f64| g / (1.0 + g * g).sqrt();
    up.push((t, -sign * slant(grade(t))));
    up.push((middle, sign * slant(grade(middle))));
    // From the middle to the end, whichever way: the weights carry the sign.
    for (u, w) in places(middle, t) {
        let g = grade(u);
        let (_, bend) = crate::fair::curvature(&on.length.base, u);
        let cube = (1.0 + g * g) * (1.0 + g * g).sqrt();
        up.push((u, sign * w * bend / cube));
    }
}

#[cfg(test)]
mod tests;
