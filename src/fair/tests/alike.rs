//! Both sides faired to one line.

use super::*;
use crate::fault::Kind;
use crate::geom::Vec3;
use crate::geom::vec2;
use crate::job::Job;
use crate::survey::Chain;
use crate::survey::SlopeGiven;
use crate::survey::Survey;
use proptest::prelude::*;

/// The job with both sides to one line.
fn alike(mut job: Job) -> Job {
    job.fairing.sides = Sides::Alike;
    job
}

fn over(p: Vec3) -> Vec3 {
    vec3(p.x, -p.y, p.z)
}

fn lengths(edge: &FairEdge) -> Vec<&FairLength> {
    edge.chains.iter().flat_map(|c| &c.lengths).collect()
}

/// Every coefficient of starboard is port's turned over, to the last bit, and
/// places along the lines are within rounding.
fn assert_even(edge: &FairEdge) {
    let all = lengths(edge);
    for (p, s) in all.iter().zip(all.iter().rev()) {
        let bits = |c: &[f64; 3]| c.map(|v| (v + 0.0).to_bits());
        for (a, b) in [(&p.base, &s.base), (&p.top, &s.top)] {
            let there = b.coefficients.iter().rev();
            let there: Vec<_> = there.map(|c| bits(&[c[0], -c[1], c[2]])).collect();
            let here: Vec<_> = a.coefficients.iter().map(bits).collect();
            assert_eq!(here, there);
        }
        let slopes = s.slope.coefficients.iter().rev();
        assert!(p.slope.coefficients.iter().eq(slopes));
        let ((a, b), (c, d)) = (p.range(), s.range());
        for f in steps(0.0, 1.0, 137) {
            let (t, u) = (a + (b - a) * f, d - (d - c) * f);
            let base = p.base_point(t).distance(over(s.base_point(u)));
            let top = p.top_point(t).distance(over(s.top_point(u)));
            assert!(base.max(top) < 1e-8, "{base} {top} at {f}");
        }
    }
}

/// Furthest that base and top lines of an even edge lie from those of one faired as each
/// side is, mm, and their slopes, mm in 1 m, at even shares of their lengths: from
/// port, and from the mean of a length and its own image where it crosses the
/// centreline. That starboard is port's image is for [`assert_even`].
fn apart(one: &FairEdge, own: &FairEdge) -> [f64; 3] {
    let (one, own) = (lengths(one), lengths(own));
    let count = one.len();
    assert_eq!(count, own.len());
    let mut worst = [0.0_f64; 3];
    for (i, (p, q)) in one.iter().zip(&own).enumerate().take(count.div_ceil(2)) {
        let crossing = 2 * i + 1 == count;
        for f in steps(0.0, 1.0, 211) {
            let at = |l: &FairLength, f: f64| l.range().0 + (l.range().1 - l.range().0) * f;
            let (t, u) = (at(p, f), at(q, f));
            let (mut base, mut top, mut slope) = (q.base_point(u), q.top_point(u), q.slope_at(u));
            if crossing {
                let u = at(q, 1.0 - f);
                base = (base + over(q.base_point(u))) * 0.5;
                top = (top + over(q.top_point(u))) * 0.5;
                slope = 0.5 * (slope + q.slope_at(u));
            }
            let off = [
                p.base_point(t).distance(base),
                p.top_point(t).distance(top),
                1000.0 * (p.slope_at(t) - slope).abs(),
            ];
            worst = std::array::from_fn(|k| worst[k].max(off[k]));
        }
    }
    worst
}

fn sides(port: &[Vec3], starboard: &[Vec3]) -> Survey {
    let mut whole = survey(port.iter().chain(starboard).copied());
    let mut points = std::mem::take(&mut whole.chains[0].points);
    let second = points.split_off(port.len());
    whole.chains = [points, second]
        .map(|points| Chain {
            points,
            start: End::Square,
            end: End::Square,
        })
        .to_vec();
    whole
}

/// A side of half-breadth and height that are polynomials, from x = 8 m to -8 m.
fn mean_at(x: f64) -> Vec3 {
    let q = (x + 1000.0) / 10_000.0;
    vec3(x, 2300.0 * (1.0 - 0.8 * q * q), 1200.0 + 0.03 * x)
}

/// What port is wider and higher by than the mean, and starboard less.
fn more_at(x: f64) -> (f64, f64) {
    let q = x / 8000.0;
    (5.0 - 3.0 * q * q + q, 2.5 + 2.0 * q)
}

fn two_sides(port: impl Iterator<Item = f64>, starboard: impl Iterator<Item = f64>) -> Survey {
    let by = |x: f64, way: f64| {
        let (wider, higher) = more_at(x);
        mean_at(x) + vec3(0.0, wider, higher) * way
    };
    let port: Vec<Vec3> = port.map(|x| by(x, 1.0)).collect();
    let starboard: Vec<Vec3> = starboard.map(|x| over(by(x, -1.0))).collect();
    sides(&port, &starboard)
}

fn open(job: Job) -> Job {
    let mut job = job;
    job.survey.stern = Stern::Open;
    job
}

#[test]
fn the_mean_of_both_sides_is_what_is_faired() {
    // Errors of the mean, so that the balance of the fit is not left to rounding.
    let mut dice = Dice(4);
    let rough = |x: f64, dice: &mut Dice| mean_at(x) + vec3(0.0, 0.0, dice.within(-0.8, 0.8));
    let mean: Vec<Vec3> = steps(8000.0, -8000.0, 30)
        .map(|x| rough(x, &mut dice) + vec3(0.0, dice.within(-0.8, 0.8), 0.0))
        .collect();
    let by = |p: &Vec3, way: f64| {
        let (wider, higher) = more_at(p.x);
        *p + vec3(0.0, wider, higher) * way
    };
    let port: Vec<Vec3> = mean.iter().map(|p| by(p, 1.0)).collect();
    let starboard: Vec<Vec3> = mean.iter().rev().map(|p| over(by(p, -1.0))).collect();
    let other: Vec<Vec3> = mean.iter().rev().copied().map(over).collect();
    for tolerance in [0.0, 0.8] {
        let j = open(job(tolerance, 4.0 * tolerance));
        let edge = fair(&sides(&port, &starboard), &alike(j.clone())).expect("fair");
        assert_even(&edge);
        let off = apart(&edge, &fair(&sides(&mean, &other), &j).expect("fair"));
        let same = off.iter().all(|o| *o < 1e-6);
        assert!(same, "{tolerance}: {off:?} mm off the faired mean");
    }
}

#[test]
fn each_side_is_told_half_of_a_known_difference() {
    let s = two_sides(steps(8000.0, -8000.0, 24), steps(-8000.0, 8000.0, 24));
    let edge = fair(&s, &alike(open(job(0.0, 0.0)))).expect("fair");
    assert_even(&edge);
    let mut count = 0;
    for (chain, way) in edge.chains.iter().zip([1.0, -1.0]) {
        for fit in &chain.points {
            // The mean line in closed form: square to it, the point is wider by
            // cos of its angle to the centreline, and its foot lies by sin aft or forward.
            let x = s.chains[usize::from(way < 0.0)].points[fit.index].at.x;
            let (wider, higher) = more_at(x);
            let grow = -2.0 * 2300.0 * 0.8 * (x + 1000.0) / 1e8;
            let run = vec2(1.0, grow).unit();
            let forward = wider * run.y * run.x;
            let (out, up) = (-way * wider * run.x, way * (0.03 * forward - higher));
            assert!((fit.base_out - out).abs() < 2e-3, "{fit:?} {out}");
            assert!((fit.base_up - up).abs() < 2e-3, "{fit:?} {up}");
            assert!((fit.top_out - out).abs() < 2e-3, "{fit:?} {out}");
            count += 1;
        }
    }
    assert_eq!(count, 50);
    // All are beyond a tolerance of nought, in plan and height, on both lines.
    assert_eq!(edge.findings.len(), 200);
    let amidships = edge
        .findings
        .iter()
        .find(|f| f.t > 7000.0 && f.t < 8800.0 && (f.line, f.view) == (LineKind::Base, View::Plan));
    let text = &amidships.expect("told").text;
    let differ = ["9.", "10."].map(|n| format!("port and starboard differ by {n}"));
    assert!(differ.iter().any(|d| text.contains(d)), "{text}");
}

#[test]
fn stations_that_differ_are_averaged_by_what_the_sides_differ_by() {
    // Starboard measured half way between port's stations, at fewer, and at more.
    let mean: Vec<Vec3> = steps(8000.0, -8000.0, 160).map(mean_at).collect();
    let truth = fit_line(&mean, &[0.0; 161], [false; 2], Rule::Likeliest).expect("a line");
    for n in [11, 23, 25, 37, 79] {
        let s = two_sides(steps(8000.0, -8000.0, 24), steps(-8000.0, 8000.0, n));
        let edge = fair(&s, &alike(open(job(0.0, 0.0)))).expect("fair");
        assert_even(&edge);
        let port = &edge.chains[0].lengths[0];
        let (a, b) = port.range();
        let mut most = 0.0_f64;
        for t in steps(a, b, 200) {
            let here = port.base_point(t);
            let u = curve::foot(&truth.curve, here.plan(), t - a);
            let f = frame(&truth.curve, u);
            most = most.max((here.plan() - f.at.plan()).length());
            most = most.max((here.z - f.at.z).abs());
        }
        // What the sides differ by is taken straight between stations up to h =
        // 1455 mm apart, which leaves (h^2 / 8) (6 / 8000^2) = 0.025 mm, and the curve
        // through such points swings a little more between them.
        println!("{n} to starboard: {most:.4} mm");
        assert!(most < 0.04, "{n}: {most} mm off the mean");
    }
}

#[test]
fn where_one_side_alone_is_measured_it_differs_as_at_the_end_of_the_other() {
    let s = two_sides(steps(8000.0, -8000.0, 32), steps(-7000.0, 7500.0, 29));
    let edge = fair(&s, &alike(open(job(0.0, 0.0)))).expect("fair");
    assert_even(&edge);
    for (index, end) in [(0, 7500.0), (32, -7000.0)] {
        let fit = &edge.chains[0].points[index];
        let x = s.chains[0].points[index].at.x;
        let (wider, higher) = more_at(end);
        let grow = |x: f64| vec2(1.0, -2.0 * 2300.0 * 0.8 * (x + 1000.0) / 1e8).unit();
        let (there, here) = (grow(end), grow(x));
        // Square to the line there and here.
        let (across, along) = (wider * there.x, wider * there.y);
        assert!((fit.base_out + across).abs() < 0.01, "{fit:?} {across}");
        let up = 0.03 * along * here.x - higher;
        assert!((fit.base_up - up).abs() < 0.01, "{fit:?} {up}");
    }
}

/// Errors, and starboard 8 mm wider and 5 mm lower than port amidships.
fn lopsided(places: impl IntoIterator<Item = Vec3>, seed: u64, error: f64) -> Vec<Vec3> {
    let mut dice = Dice(seed);
    let mut places: Vec<Vec3> = places.into_iter().collect();
    for p in &mut places {
        *p += vec3(0.0, dice.within(-error, error), dice.within(-error, error));
        if p.y < 0.0 {
            let f = p.y / 2300.0;
            *p += vec3(0.0, -8.0 * f * f, -5.0 * f * f);
        }
    }
    places
}

/// A survey with slopes, heights and leans on some rows, on both sides of the same
/// stations; heights of port are more than starboard's by `uneven`, mm.
fn with_rows(mut s: Survey, uneven: f64) -> Survey {
    let count = s.chains.iter().map(|c| c.points.len()).sum::<usize>();
    for (i, p) in s.chains.iter_mut().flat_map(|c| &mut c.points).enumerate() {
        let x = p.at.x / 8000.0;
        let i = i.min(count - 1 - i);
        if i % 2 == 0 {
            p.slope = Some(SlopeGiven::Square(0.04 + 0.02 * x));
        }
        if i % 3 == 0 {
            p.height = Some(700.0 + 60.0 * x + uneven * p.at.y / 4600.0);
            p.lean = Some(0.05 - 0.01 * x);
        }
    }
    s
}

/// Port and starboard as chains of their own, as with an open stern.
fn parted(places: &[Vec3]) -> Survey {
    let (port, starboard): (Vec<Vec3>, Vec<Vec3>) = (places.iter())
        .filter(|p| p.y.abs() > 10.0)
        .partition(|p| p.y > 0.0);
    sides(&port, &starboard)
}

/// A straight transom between two knuckles.
fn transom(places: &[Vec3]) -> Survey {
    let kept = places.iter().filter(|p| p.x > -6500.0);
    let mut s = survey(kept.copied());
    let points = &mut s.chains[0].points;
    let first = points.iter().position(|p| p.side == Side::Starboard);
    let first = first.expect("both sides");
    points[first - 1].knuckle = true;
    points[first].knuckle = true;
    s
}

/// Surveys of every kind of stern and row, and their jobs.
fn kinds(places: &[Vec3], accuracy: f64, uneven: f64) -> Vec<(Survey, Job)> {
    let plain = || alike(job(accuracy, 4.0 * accuracy));
    let mut at_transom = plain();
    at_transom.survey.stern = Stern::Transom;
    let mut exact = alike(job(0.0, 0.0));
    exact.survey.accuracy = accuracy;
    let mut angled = plain();
    angled.fairing.stem_angle = Some(0.9);
    let mut estimated = plain();
    estimated.survey.estimate = Some(crate::job::Follow {
        base: true,
        top: true,
    });
    let mut at_centre = survey(places.iter().copied());
    let middle = places.iter().position(|p| p.y.abs() < 10.0);
    if let Some(middle) = middle {
        at_centre.chains[0].points[middle].knuckle = true;
    }
    vec![
        (survey(places.iter().copied()), plain()),
        (with_rows(survey(places.iter().copied()), uneven), plain()),
        (survey(places.iter().copied()), exact),
        (survey(places.iter().copied()), angled),
        (survey(places.iter().copied()), estimated),
        (with_rows(parted(places), uneven), open(plain())),
        (with_rows(transom(places), uneven), at_transom),
        (at_centre, plain()),
    ]
}

#[test]
fn an_uneven_survey_gives_exactly_even_lines_and_tells_every_point() {
    for (seed, n) in [(0, 40), (1, 41), (2, 44)] {
        let places = lopsided(hull(n), seed, 0.8);
        for (k, (s, j)) in kinds(&places, 0.8, 2.0).into_iter().enumerate() {
            let edge = fair(&s, &j).unwrap_or_else(|f| panic!("case {k}: {f:?}"));
            assert_even(&edge);
            for (chain, measured) in edge.chains.iter().zip(&s.chains) {
                let told: Vec<usize> = chain.points.iter().map(|p| p.index).collect();
                let all: Vec<usize> = (0..measured.points.len()).collect();
                assert_eq!(told, all, "case {k}: every measured point is told once");
                for p in &chain.points {
                    // Half of 8 and 5 mm, twice the error, and what the fit may move a mean by.
                    assert!(p.base_out.abs() < 4.0 + 2.4, "case {k}: {p:?}");
                    assert!(p.base_up.abs() < 2.5 + 2.4, "case {k}: {p:?}");
                    let length = &chain.lengths[p.length];
                    let at = length.base_point(p.t) - measured.points[p.index].at;
                    let out = -at.plan().dot(length.inboard(p.t));
                    assert!((out - p.base_out).abs() < 0.05, "case {k}: {p:?} {out}");
                }
            }
            assert!(!edge.again.is_empty(), "case {k}");
            for a in &edge.again {
                assert_eq!(a.name, s.chains[a.chain].points[a.index].name);
            }
            let sure = lengths(&edge).into_iter().all(|l| l.uncertainty.is_some());
            assert!(sure, "case {k}");
        }
    }
}

#[test]
fn an_even_survey_is_left_as_it_is() {
    let mut wrong = Vec::new();
    for n in [40, 41] {
        let mut places = lopsided(hull(n), 5, 0.8);
        let last = places.len() - 1;
        for i in 0..places.len() / 2 {
            places[last - i] = over(places[i]);
        }
        if last.is_multiple_of(2) {
            places[last / 2].y = 0.0;
        }
        for (k, (s, j)) in kinds(&places, 0.8, 0.0).into_iter().enumerate() {
            let mut own = j.clone();
            own.fairing.sides = Sides::Own;
            let (one, own) = (fair(&s, &j).expect("fair"), fair(&s, &own).expect("fair"));
            assert_even(&one);
            let off = apart(&one, &own);
            // Heights and leans by row are averaged, which rounds: where a point of the top
            // line lies at its very tolerance, that may tip its weight.
            let mut points = s.chains.iter().flat_map(|c| &c.points);
            let rows = points.any(|p| p.height.is_some());
            let most = [1e-6, if rows { 0.01 } else { 1e-6 }, 1e-5];
            if (0..3).any(|i| off[i] > most[i]) || one.findings.len() != own.findings.len() {
                wrong.push((n, k, off, one.findings.len(), own.findings.len()));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:?}");
}

#[test]
fn a_point_of_tolerance_0_holds_the_mean_there() {
    let mut s = survey(lopsided(hull(40), 9, 0.8));
    // Port's row; then starboard's of another station.
    s.chains[0].points[8].tolerance = Some(0.0);
    s.chains[0].points[27].tolerance = Some(0.0);
    let edge = fair(&s, &alike(job(1.6, 6.0))).expect("fair");
    for (a, b) in [(8, 32), (13, 27)] {
        let points = &s.chains[0].points;
        let mean = (points[a].at + over(points[b].at)) * 0.5;
        let l = only(&edge);
        let t = curve::foot(&l.base, mean.plan(), edge.chains[0].points[a].t);
        let off = l.base_point(t).distance(mean);
        assert!(off < 0.01, "{off} mm at {a}");
    }
    let told = |i: usize| {
        let name = format!("point {} is left", i + 2);
        edge.findings.iter().any(|f| f.text.contains(&name))
    };
    assert!(told(8) && told(27), "{:?}", edge.findings);
}

#[test]
fn a_side_alone_and_knuckles_of_one_side_are_refused() {
    let places = lopsided(hull(40), 1, 0.8);
    let port: Vec<Vec3> = places.iter().copied().filter(|p| p.y > 1.0).collect();
    let f = fair(&survey(port), &alike(job(0.8, 3.0))).expect_err("one side");
    assert_eq!(f.0[0].kind, Kind::Conflict);
    assert_eq!(f.0[0].place.field.as_deref(), Some("fairing.sides"));
    assert!(f.0[0].what.contains("starboard was not measured"), "{f}");
    for at in [[8].as_slice(), &[8, 33], &[8, 31, 32]] {
        let mut s = survey(places.iter().copied());
        for i in at {
            s.chains[0].points[*i].knuckle = true;
        }
        let f = fair(&s, &alike(job(0.8, 3.0)));
        if at.len() == 2 {
            // A station beside: the same corner would be 32.
            let f = f.expect("one station beside is near enough");
            assert_even(&f);
        } else {
            let f = f.expect_err("no fellow");
            assert_eq!(f.0[0].kind, Kind::Conflict);
            assert!(f.0[0].what.contains("knuckle"), "{f}");
            assert!(f.0[0].place.line.is_some(), "{f}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn any_two_sides_give_one_line_between_them(
        seed in any::<u64>(),
        n in 16..50_u32,
        m in 16..50_u32,
        wide in -15.0..15.0_f64,
        high in -15.0..15.0_f64,
        kind in 0..3_u32,
    ) {
        // Port of one hull and starboard of another, each measured at its own places.
        let port = hull(2 * n).into_iter().take(n as usize);
        let starboard = hull(2 * m).into_iter().skip(m as usize + 1);
        let starboard = starboard.map(|p| p + vec3(0.0, wide * p.y / 2300.0, high));
        let mut dice = Dice(seed);
        let both = port.chain(starboard);
        let both: Vec<Vec3> = both
            .map(|p| p + vec3(0.0, dice.within(-0.8, 0.8), dice.within(-0.8, 0.8)))
            .collect();
        let (s, j) = match kind {
            0 => (survey(both), job(0.8, 3.0)),
            1 => (parted(&both), open(job(0.8, 3.0))),
            _ => (survey(both), job(0.0, 0.0)),
        };
        let edge = fair(&s, &alike(j)).expect("fair");
        assert_even(&edge);
        for (c, chain) in edge.chains.iter().enumerate() {
            for p in &chain.points {
                // No point is left by more than half the difference, both
                // errors, and what the fit may move a mean by.
                let by = 0.5 * wide.abs() + 3.2;
                prop_assert!(p.base_out.abs() < by, "{:?}", p);
                prop_assert!(p.base_up.abs() < 0.5 * high.abs() + 3.2, "{:?}", p);
                prop_assert_eq!(&p.name, &s.chains[c].points[p.index].name);
            }
        }
    }
}
