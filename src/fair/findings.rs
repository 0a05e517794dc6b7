//! What an eye along the line would stop at: flats, hard spots, changes of
//! the side it bends to. Defined on the curvature of the smoothest line within
//! the tolerance: what that line still shows, the survey's errors cannot explain.

use super::curve;
use super::edge::{Finding, FindingKind, LineKind, Toward, View};
use crate::geom::bspline::Spline;
use crate::geom::vec3;
use crate::length::{Show, fine};

/// No wave of the line shallower than this, mm, is a finding: a batten would not show it.
const SEEN_MM: f64 = 0.5;

/// Nor is one shallower than this share of the tolerance. Chosen by trial: less finds little
/// more and calls more fair sides unfair (examples/finding_trial).
const SHARE: f64 = 0.25;

/// A flat lies between two places bent at least this many times as much, a
/// hard spot between two bent at most the inverse.
const FALL: f64 = 1.1;

/// The same where one of the two is the line's end, or the end of what the view
/// can judge: with points to one side only, curvature is least sure there.
const FALL_AT_END: f64 = 2.0;

/// A hard spot is narrower, at half its height, than this many spacings of
/// the measured points. A round stern is a peak of the curvature, but as wide as many points.
const NARROW_PEAK: f64 = 3.5;

/// A flat is narrower, at half its depth, than this many spacings. The long
/// side of a boat between bow and round stern is a dip of the curvature, but wider.
const NARROW_FLAT: f64 = 6.0;

/// Flats and hard spots are also narrower, at half their depth, than this share
/// of the line: what takes more of it is its shape.
const LOCAL: f64 = 0.15;

/// A place where the line turns through more than this, rad, within its width
/// is a corner of the boat, such as a round stern, not a hard spot.
const TURNS: f64 = 0.6;

/// The batten that tells how far a flat or a hard spot lies from fair reaches so
/// many of its widths at half depth to either side: to where a bump in the shape
/// of a bell has come down to a twentieth. What lies nearer an end than that cannot be
/// told: with points to one side only, curvature is least sure there.
const BRIDGE: f64 = 1.67;

/// A finding along the true line within so many spacings of one of the same
/// kind in plan or profile is that one.
const SAME_PLACE: f64 = 1.5;

/// Places per piece of the curve.
const PLACES: usize = 8;

/// A line to look along.
pub(super) struct Seen<'a> {
    /// Which line.
    pub(super) line: LineKind,
    /// Index of its chain.
    pub(super) chain: usize,
    /// The line.
    pub(super) curve: &'a Spline<3>,
    /// Its own parameter to t of the base line.
    pub(super) to_t: &'a dyn Fn(f64) -> f64,
    /// Parameters of the measured points, increasing.
    pub(super) feet: &'a [f64],
    /// Tolerance it was faired within, mm.
    pub(super) tolerance: f64,
    /// Units of the texts.
    pub(super) show: Show,
}

/// Findings in plan, in profile and along the true line, in the order they lie
/// along the line. What a view shows already is not told again of the true line.
pub(super) fn along(seen: &Seen<'_>) -> Vec<Finding> {
    let mut out = in_view(seen, View::Plan);
    out.extend(in_view(seen, View::Profile));
    let (first, last) = seen.curve.basis.range();
    let apart = SAME_PLACE * (last - first) / (seen.feet.len().max(2) - 1) as f64;
    let known = |f: &Finding| {
        out.iter()
            .any(|o| o.kind == f.kind && (o.t - f.t).abs() < apart)
    };
    let mut only_there = in_view(seen, View::True);
    only_there.retain(|f| !known(f));
    out.extend(only_there);
    out.sort_by(|a, b| a.t.total_cmp(&b.t));
    out
}

/// Curvature at a parameter.
#[derive(Debug, Clone, Copy)]
struct Bent {
    u: f64,
    by: f64,
}

/// The line as one view shows it, in the lengths that the view can judge alone.
fn lengths(curve: &Spline<3>, view: View) -> Vec<Vec<Bent>> {
    let mut out: Vec<Vec<Bent>> = Vec::new();
    let mut abeam = None;
    let mut look = |u: f64| {
        let (by, from_abeam) = match view {
            View::Plan => (curve::curvature(curve, u).0, true),
            View::Profile => seen_level(curve, u),
            View::True => (in_space(curve, u), true),
        };
        if abeam != Some(from_abeam) {
            abeam = Some(from_abeam);
            out.push(Vec::new());
        }
        if let Some(length) = out.last_mut() {
            length.push(Bent { u, by });
        }
    };
    for s in curve.basis.breaks().windows(2) {
        (0..PLACES).for_each(|k| look(s[0] + (s[1] - s[0]) * k as f64 / PLACES as f64));
    }
    look(curve.basis.range().1);
    out
}

/// Bend of the height as it is seen from abeam where the line runs more fore-and-aft
/// (true) and from ahead where it runs more athwart: z'' - z' a''/a' with a
/// the coordinate across the view. The developed height alone would show a
/// reverse wherever a level-looking sheer turns round a stern.
fn seen_level(curve: &Spline<3>, u: f64) -> (f64, bool) {
    let [_, d, dd] = curve.jet::<3>(u);
    let abeam = d[0].abs() >= d[1].abs();
    let across = if abeam { 0 } else { 1 };
    let speed_sq = d[0] * d[0] + d[1] * d[1];
    if speed_sq <= 0.0 {
        return (0.0, true);
    }
    ((dd[2] - d[2] * dd[across] / d[across]) / speed_sq, abeam)
}

/// Curvature of the line in space, 1/mm, never below nought: |C' x C''| / |C'|^3.
fn in_space(curve: &Spline<3>, u: f64) -> f64 {
    let [_, d, dd] = curve.jet::<3>(u);
    let (d, dd) = (vec3(d[0], d[1], d[2]), vec3(dd[0], dd[1], dd[2]));
    let speed = d.length();
    if speed > 0.0 {
        d.cross(dd).length() / (speed * speed * speed)
    } else {
        0.0
    }
}

fn in_view(seen: &Seen<'_>, view: View) -> Vec<Finding> {
    let mut out = Vec::new();
    for bent in lengths(seen.curve, view) {
        let least = SEEN_MM.max(SHARE * seen.tolerance);
        let lobes = lobes(&bent, least);
        out.extend(
            lobes
                .windows(2)
                .filter_map(|pair| inflection(seen, view, &bent, pair[0], pair[1])),
        );
        for lobe in &lobes {
            let within = &bent[lobe.first..=lobe.last];
            let turns = turns(within, least);
            let found = turns.windows(3);
            out.extend(found.filter_map(|w| flat_or_hard(seen, view, within, [w[0], w[1], w[2]])));
        }
    }
    out
}

fn inflection(seen: &Seen<'_>, view: View, bent: &[Bent], a: Lobe, b: Lobe) -> Option<Finding> {
    if bent[a.peak].by * bent[b.peak].by >= 0.0 {
        return None;
    }
    let turn = bent[a.peak..=b.peak]
        .windows(2)
        .find(|w| w[0].by * w[1].by <= 0.0)
        .map_or(bent[b.peak].u, |w| crossing(w[0], w[1]));
    // The shallower of the two is the one that is not wanted.
    let lobe = if depth(bent, &a) < depth(bent, &b) {
        a
    } else {
        b
    };
    let text = format!(
        "{}: bends the other way {} here, {} before and {} after",
        seen.line.name(),
        view.words(),
        per_metre(bent[a.peak].by),
        per_metre(bent[b.peak].by)
    );
    // A lobe goes back against its own bend. In space nothing turns over.
    let by = bent[lobe.peak].by;
    let toward = match view {
        View::Profile => Toward::height(by),
        _ => Toward::plan(-by),
    };
    let told = (depth(bent, &lobe), toward);
    Some(seen.finding(FindingKind::Inflection, view, turn, told, text))
}

fn flat_or_hard(seen: &Seen<'_>, view: View, bent: &[Bent], turn: [usize; 3]) -> Option<Finding> {
    let [before, here, after] = turn.map(|i| bent[i]);
    let flat = here.by.abs() < before.by.abs();
    let (kind, verb, narrow) = if flat {
        (FindingKind::Flat, "falls to", NARROW_FLAT)
    } else {
        (FindingKind::HardSpot, "peaks at", NARROW_PEAK)
    };
    let last = bent.len() - 1;
    let at_end = |i: usize| i == 0 || i == last;
    let mild = |other: Bent| {
        let (a, b) = (other.by.abs(), here.by.abs());
        a.max(b) < FALL_AT_END * a.min(b)
    };
    if (at_end(turn[0]) && mild(before)) || (at_end(turn[2]) && mild(after)) {
        return None;
    }
    let wide = half_width(bent, turn);
    let length = bent[last].u - bent[0].u;
    let local = (narrow * spacing(seen.feet, here.u)).min(LOCAL * length);
    if wide >= local || wide * here.by.abs() > TURNS {
        return None;
    }
    let text = format!(
        "{}: curvature {} {verb} {} between {} and {}, {:.2} m apart",
        seen.line.name(),
        view.words(),
        per_metre(here.by),
        per_metre(before.by),
        per_metre(after.by),
        (after.u - before.u) / 1000.0
    );
    let reach = BRIDGE * wide;
    if here.u - reach < bent[0].u || here.u + reach > bent[last].u {
        return None;
    }
    let (size, toward) = seen.off_a_batten(view, here.u, reach);
    if size < SEEN_MM.max(SHARE * seen.tolerance) {
        return None;
    }
    Some(seen.finding(kind, view, here.u, (size, toward), text))
}

/// Height, mm, of a wave whose curvature swings by `swing` over the length
/// from a crest to the next hollow: half the swing times (length / pi)^2.
fn wave(swing: f64, length: f64) -> f64 {
    let part = length / std::f64::consts::PI;
    0.5 * swing.abs() * part * part
}

/// Depth of a lobe, mm: half a wave of peak curvature k and length l is
/// k (l / pi)^2 deep.
fn depth(bent: &[Bent], lobe: &Lobe) -> f64 {
    let length = (bent[lobe.last].u - bent[lobe.first].u) / std::f64::consts::PI;
    bent[lobe.peak].by.abs() * length * length
}

impl Seen<'_> {
    fn finding(
        &self,
        kind: FindingKind,
        view: View,
        u: f64,
        (size, toward): (f64, Toward),
        text: String,
    ) -> Finding {
        let at = self.curve.at(u);
        Finding {
            chain: self.chain,
            t: (self.to_t)(u),
            kind,
            line: self.line,
            view,
            size,
            toward,
            unlike: None,
            text: format!(
                "{text}; {} from fair, the line would have to go {}",
                fine(size, self.show),
                toward.words()
            ),
            at: vec3(at[0], at[1], at[2]),
        }
    }

    /// How far the line lies from a batten that bridges a place from `reach`
    /// before it to `reach` after, mm, and which way the batten lies. The
    /// batten meets the line at both ends with its direction and its bend:
    /// the polynomial of the fifth degree through both.
    fn off_a_batten(&self, view: View, u: f64, reach: f64) -> (f64, Toward) {
        let (a, b) = (u - reach, u + reach);
        let ends = [a, b].map(|u| self.curve.jet::<3>(u));
        let at = self.curve.at(u);
        let by: [f64; 3] = std::array::from_fn(|c| {
            let of = |k: usize| [ends[k][0][c], ends[k][1][c], ends[k][2][c]];
            hermite(of(0), of(1), b - a, (u - a) / (b - a)) - at[c]
        });
        let inboard = curve::frame(self.curve, u).tangent.left();
        let across = by[0] * inboard.x + by[1] * inboard.y;
        let plan = (across.abs(), Toward::plan(-across));
        let height = (by[2].abs(), Toward::height(by[2]));
        match view {
            View::Plan => plan,
            View::Profile => height,
            View::True if plan.0 >= height.0 => plan,
            View::True => height,
        }
    }
}

/// The polynomial of the fifth degree with value, first and second derivative
/// `a` at one end and `b` at the other, `length` on, at a share s of the way.
fn hermite(a: [f64; 3], b: [f64; 3], length: f64, s: f64) -> f64 {
    let (l, q) = (length, 1.0 - s);
    // Mirrored from the far end: its first derivative changes sign.
    let half = |d: [f64; 3], s: f64, q: f64| {
        let rest = q * q * q;
        rest * ((1.0 + 3.0 * s + 6.0 * s * s) * d[0]
            + s * (1.0 + 3.0 * s) * l * d[1]
            + 0.5 * s * s * l * l * d[2])
    };
    half(a, s, q) + half([b[0], -b[1], b[2]], q, s)
}

fn per_metre(by: f64) -> String {
    format!("{:.4} per m", by.abs() * 1000.0)
}

fn crossing(a: Bent, b: Bent) -> f64 {
    let rise = b.by - a.by;
    if rise.abs() > 0.0 {
        a.u - a.by * (b.u - a.u) / rise
    } else {
        a.u
    }
}

/// A length that bends to one side, by indices of places.
#[derive(Debug, Clone, Copy)]
struct Lobe {
    first: usize,
    last: usize,
    peak: usize,
}

/// Lengths between changes of sign that bend deep enough to be seen. Shallow
/// ones go, and what they part is one.
fn lobes(bent: &[Bent], least: f64) -> Vec<Lobe> {
    let mut all: Vec<Lobe> = Vec::new();
    for (i, b) in bent.iter().enumerate() {
        match all.last_mut() {
            Some(l) if (bent[l.peak].by >= 0.0) == (b.by >= 0.0) => {
                l.last = i;
                if b.by.abs() > bent[l.peak].by.abs() {
                    l.peak = i;
                }
            }
            _ => all.push(Lobe {
                first: i,
                last: i,
                peak: i,
            }),
        }
    }
    let deep = |l: &Lobe| depth(bent, l) > least;
    let mut out: Vec<Lobe> = Vec::new();
    for lobe in all.into_iter().filter(deep) {
        match out.last_mut() {
            Some(l) if bent[l.peak].by * bent[lobe.peak].by > 0.0 => {
                l.last = lobe.last;
                if bent[lobe.peak].by.abs() > bent[l.peak].by.abs() {
                    l.peak = lobe.peak;
                }
            }
            _ => out.push(lobe),
        }
    }
    out
}

/// Turning points of the amount of bend, ends included, without those that do not count:
/// neighbours must differ [`FALL`] times over, and by a wave deep enough to be seen.
/// The pair that counts least goes first.
fn turns(bent: &[Bent], least: f64) -> Vec<usize> {
    // Against the lobe's own side, so that a shallow dip through nought inside it counts as one.
    let sign = bent
        .iter()
        .fold(0.0, |s: f64, b| if b.by.abs() > s.abs() { b.by } else { s });
    let amount = |i: usize| if sign < 0.0 { -bent[i].by } else { bent[i].by };
    let last = bent.len() - 1;
    let mut kept = vec![0];
    for i in 1..last {
        let (before, after) = (amount(i) - amount(i - 1), amount(i + 1) - amount(i));
        if (before > 0.0) != (after > 0.0) {
            kept.push(i);
        }
    }
    kept.push(last);
    loop {
        let mut shallowest: Option<(f64, usize)> = None;
        for (k, w) in kept.windows(2).enumerate() {
            let (a, b) = (amount(w[0]), amount(w[1]));
            let depth = wave(a - b, bent[w[1]].u - bent[w[0]].u);
            let counts = depth > least && a.max(b) > FALL * a.min(b).max(0.0);
            if !counts && kept.len() > 2 && shallowest.is_none_or(|(d, _)| depth < d) {
                shallowest = Some((depth, k));
            }
        }
        match shallowest {
            None => return kept,
            Some((_, 0)) => {
                kept.remove(1);
            }
            Some((_, k)) if k + 2 == kept.len() => {
                kept.remove(k);
            }
            Some((_, k)) => {
                kept.drain(k..=k + 1);
            }
        }
    }
}

/// Width of a peak or dip where it has come half way to the nearer of its two neighbours.
fn half_width(bent: &[Bent], turn: [usize; 3]) -> f64 {
    let [a, here, b] = turn;
    let nearer = if (bent[a].by - bent[here].by).abs() < (bent[b].by - bent[here].by).abs() {
        bent[a].by
    } else {
        bent[b].by
    };
    let half = 0.5 * (nearer - bent[here].by).abs();
    let beyond = |i: &usize| (bent[*i].by - bent[here].by).abs() > half;
    let left = (a..here).rev().find(beyond);
    let right = (here..=b).find(beyond);
    bent[right.unwrap_or(b)].u - bent[left.unwrap_or(a)].u
}

/// Spacing of the measured points about a place.
fn spacing(feet: &[f64], u: f64) -> f64 {
    let last = feet.len().saturating_sub(1);
    let k = feet.partition_point(|f| *f <= u).clamp(1, last.max(1));
    match (feet.get(k - 1), feet.get(k)) {
        (Some(a), Some(b)) => b - a,
        _ => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::hermite;

    #[test]
    fn a_batten_through_a_polynomial_of_the_fifth_degree_is_that_polynomial() {
        let p = |x: f64| 3.0 + x * (2.0 + x * (-1.0 + x * (0.5 + x * (0.25 - 0.125 * x))));
        let d = |x: f64| 2.0 + x * (-2.0 + x * (1.5 + x * (1.0 - 0.625 * x)));
        let dd = |x: f64| -2.0 + x * (3.0 + x * (3.0 - 2.5 * x));
        let (a, b) = (-0.7, 1.9);
        let of = |x: f64| [p(x), d(x), dd(x)];
        for s in [0.0, 0.2, 0.5, 0.9, 1.0] {
            let want = p(a + (b - a) * s);
            assert!((hermite(of(a), of(b), b - a, s) - want).abs() < 1e-12);
        }
    }
}
