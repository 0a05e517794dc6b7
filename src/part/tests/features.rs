use super::*;
use crate::geom::outline::polygon_contains;
use crate::layout::CrossKind;
use crate::length::Show;
use proptest::prelude::*;

fn segment_gap(a: [Vec2; 2], b: [Vec2; 2]) -> f64 {
    let to_line = |p: Vec2, l: [Vec2; 2]| {
        let d = l[1] - l[0];
        let f = (p - l[0]).dot(d) / d.dot(d);
        p.distance(l[0] + d * if f > 0.0 { f.min(1.0) } else { 0.0 })
    };
    let side = |l: [Vec2; 2], p: Vec2| (l[1] - l[0]).cross(p - l[0]);
    if side(a, b[0]) * side(a, b[1]) < 0.0 && side(b, a[0]) * side(b, a[1]) < 0.0 {
        return 0.0;
    }
    to_line(a[0], b)
        .min(to_line(a[1], b))
        .min(to_line(b[0], a))
        .min(to_line(b[1], a))
}

fn lines(strokes: &[Vec<Vec2>]) -> Vec<[Vec2; 2]> {
    strokes
        .iter()
        .flat_map(|s| s.windows(2).map(|w| [w[0], w[1]]))
        .collect()
}

/// Boxes of a label's lines at their widest: four sides and a middle line.
fn label_lines(l: &Label) -> Vec<[Vec2; 2]> {
    l.placed()
        .flat_map(|(text, at)| {
            let size = vec2(text.len() as f64, 1.0) * l.height;
            box_lines(l.at + at.turned(l.angle), size, l.angle)
        })
        .collect()
}

fn box_lines(at: Vec2, size: Vec2, angle: f64) -> Vec<[Vec2; 2]> {
    let u = vec2(1.0, 0.0).turned(angle);
    let (right, up) = (u * size.x, u.left() * size.y);
    let [a, b, c, d] = [at, at + right, at + right + up, at + up];
    vec![
        [a, b],
        [b, c],
        [c, d],
        [d, a],
        [a.lerp(d, 0.5), b.lerp(c, 0.5)],
    ]
}

/// By brute force (outline flattened within 0.05 mm when the room was
/// sought): letters, labels and the name on a picture inside, 3 mm off outline
/// and holes, off lines and each other, that name by 0.3 of its height more;
/// other marks inside and off the holes.
pub(super) fn badly_placed(part: &Part) -> Vec<String> {
    let border = part.outline.flatten(0.01);
    let n = border.len();
    let edges: Vec<[Vec2; 2]> = (0..n).map(|i| [border[i], border[(i + 1) % n]]).collect();
    // What, gap to the outline, gap to what comes before, lines.
    let mut words: Vec<(String, [f64; 2], Vec<[Vec2; 2]>)> = Vec::new();
    for m in &part.marks {
        let gaps = match m.kind {
            MarkKind::Letters | MarkKind::Face => [2.94, 3.9],
            _ => [0.94, 0.0],
        };
        words.push((format!("{:?}", m.kind), gaps, lines(&m.strokes)));
    }
    for l in &part.labels {
        words.push((l.lines.join("/"), [2.94, 3.9], label_lines(l)));
    }
    if let Some(c) = part.caption {
        let size = vec2(part.name.len() as f64, 1.0) * c.height;
        let at = c.centre - (size * 0.5).turned(c.angle);
        let air = 0.3 * c.height;
        let own = box_lines(at, size, c.angle);
        words.push(("picture".into(), [air + 2.94, air + 3.9], own));
    }
    let mut out = Vec::new();
    for (i, (what, [keep, apart], own)) in words.iter().enumerate() {
        for l in own {
            if !(polygon_contains(&border, l[0]) && polygon_contains(&border, l[1]))
                || edges.iter().any(|e| segment_gap(*e, *l) < *keep)
            {
                out.push(format!("{what}: at the outline"));
            }
            for h in &part.holes {
                let gap = segment_gap([h.centre, h.centre + vec2(1e-9, 0.0)], *l);
                if gap < h.diameter / 2.0 + 2.99 {
                    out.push(format!("{what}: {gap} mm from a hole"));
                }
            }
        }
        for (before, [_, least], other) in &words[..i] {
            let least = least.max(*apart);
            let near = |a: &[Vec2; 2]| other.iter().any(|b| segment_gap(*a, *b) < least);
            if own.iter().any(near) {
                out.push(format!("{what}: on {before}"));
            }
        }
    }
    for l in part.labels.iter().flat_map(|l| &l.lines) {
        if !l.is_ascii() {
            out.push(format!("{l}: not ASCII"));
        }
    }
    out
}

pub(super) fn check_room(part: &Part) {
    let wrong = badly_placed(part);
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn everything_is_where_the_map_puts_it() {
    let flat = Ring::new(0.0, 180.0);
    let features = fit_out(3400.0, 180.0, 6);
    for (face, runs_aft) in [
        (Face::Upper, false),
        (Face::Upper, true),
        (Face::Lower, false),
        (Face::Lower, true),
    ] {
        let ends = |_: f64| (0.0, 3400.0);
        let mut given = input(&flat, &ends, &features);
        (given.marked, given.runs_aft) = (face, runs_aft);
        let part = detail(&given, &FINE).expect("a part");
        check_room(&part);
        assert!(part.left_out.is_empty(), "{:?}", part.left_out);
        // Forward right: x is t, or what is left of it.
        let place = |t: f64, w: f64| {
            let x = if runs_aft { 3400.0 - t } else { t };
            let up = (face == Face::Lower) != runs_aft;
            vec2(x, 180.0 * if up { 1.0 - w } else { w })
        };
        let mut holes = part.holes.iter();
        for f in &features {
            if let Feature::Hole { t, w, diameter } = *f {
                let h = holes.next().expect("a hole for each");
                assert!(h.centre.distance(place(t, w)) < 1e-9);
                assert!((h.diameter - diameter).abs() < 1e-12);
            }
        }
        let prints: Vec<&Mark> = part
            .marks
            .iter()
            .filter(|m| m.kind == MarkKind::Footprint)
            .collect();
        assert_eq!(prints.len(), 6);
        for p in prints {
            let s = &p.strokes[0];
            assert_eq!((p.strokes.len(), s.len()), (1, 5));
            assert_eq!(s[0], s[4]);
            assert!((Outline::polygon(&s[..4]).area().abs() - 101.6 * 101.6).abs() < 1e-6);
        }
    }
}

/// The letters of the name as drawn, laid back on the x axis, are those of
/// the alphabet: turned and shifted but never mirrored.
#[test]
fn letters_are_never_mirrored() {
    let flat = Ring::new(0.001, 180.0);
    for face in [Face::Upper, Face::Lower] {
        for runs_aft in [false, true] {
            let ends = |_: f64| (0.0, 1500.0);
            let mut given = input(&flat, &ends, &[]);
            (given.marked, given.runs_aft) = (face, runs_aft);
            let part = detail(&given, &FINE).expect("a part");
            let drawn = crate::geom::letters::strokes("B3");
            let points: Vec<Vec2> = drawn.iter().flatten().copied().collect();
            let found = part.marks.iter().any(|m| {
                let q: Vec<Vec2> = m.strokes.iter().flatten().copied().collect();
                if q.len() != points.len() {
                    return false;
                }
                // The turn and scale that take the first side across take all.
                let (u, v) = (points[1] - points[0], q[1] - q[0]);
                let k = v.length() / u.length();
                let turn = trig::atan2(u.cross(v), u.dot(v));
                assert!(trig::cos(turn) > 0.0, "reads from left to right");
                points
                    .iter()
                    .zip(&q)
                    .all(|(p, q0)| ((*p - points[0]).turned(turn) * k + q[0]).distance(*q0) < 1e-9)
            });
            assert!(found, "{face:?}");
        }
    }
}

/// Tip of the forward arrow: the middle point of the last stroke.
fn arrows(part: &Part) -> Vec<Vec2> {
    part.marks
        .iter()
        .filter_map(|m| {
            let [.., shaft, barbs] = &m.strokes[..] else {
                return None;
            };
            let is_arrow =
                m.kind.is_letters() && shaft.len() == 2 && barbs.len() == 3 && shaft[1] == barbs[1];
            is_arrow.then(|| shaft[1] - shaft[0])
        })
        .collect()
}

#[test]
fn the_arrow_points_forward() {
    let flat = Ring::new(-0.0002, 180.0);
    for runs_aft in [false, true] {
        let ends = |_: f64| (0.0, 2500.0);
        let mut given = input(&flat, &ends, &[]);
        given.runs_aft = runs_aft;
        let part = detail(&given, &FINE).expect("a part");
        let arrows = arrows(&part);
        assert_eq!(arrows.len(), 1);
        assert!(arrows[0].x > 0.0);
    }
    // A round stern in one piece: forward is away from the centreline.
    let across = [Feature::CrossLine {
        t: 1200.0,
        name: "CL".into(),
        kind: CrossKind::Centreline,
    }];
    let ends = |_: f64| (0.0, 2500.0);
    let part = detail(&input(&flat, &ends, &across), &FINE).expect("a part");
    let arrows = arrows(&part);
    assert_eq!(arrows.len(), 2);
    assert!(arrows[0].x * arrows[1].x < 0.0);
}

/// The outboard word lies in the outboard third, whichever way up.
#[test]
fn lines_across_and_words_are_at_their_place() {
    let flat = Ring::new(0.0002, 180.0);
    let features = [
        Feature::CrossLine {
            t: 1950.0,
            name: "NET".into(),
            kind: CrossKind::Net,
        },
        Feature::Hole {
            t: 1950.0,
            w: 0.6,
            diameter: 20.0,
        },
    ];
    let ends = |_: f64| (0.0, 2000.0);
    let part = detail(&input(&flat, &ends, &features), &FINE).expect("a part");
    check_room(&part);
    let net = part
        .marks
        .iter()
        .find(|m| m.kind == MarkKind::Net)
        .expect("net line");
    // Broken once, by the hole: 16 mm clear on either side of 6 mm beyond the rim.
    assert_eq!(net.strokes.len(), 2);
    let length: f64 = lines(&net.strokes)
        .iter()
        .map(|l| l[0].distance(l[1]))
        .sum();
    assert!((length - (180.0 - 6.0 - 26.0)).abs() < 0.01, "{length}");
}

/// Strokes of a word's letters at a height, as long as those of any mark.
pub(super) fn bears(part: &Part, word: &str) -> Option<Vec2> {
    let lengths = |strokes: &[Vec<Vec2>]| -> Vec<f64> {
        let all = strokes
            .iter()
            .flat_map(|s| s.windows(2).map(|w| w[0].distance(w[1])));
        all.collect()
    };
    let want = lengths(&crate::geom::letters::strokes(word));
    part.marks
        .iter()
        .filter(|m| m.kind.is_letters())
        .find_map(|m| {
            let got = lengths(&m.strokes);
            let k = got[0] / want[0];
            let same = got.len() == want.len()
                && got.iter().zip(&want).all(|(a, b)| (a - b * k).abs() < 1e-6);
            same.then(|| m.strokes[0][0])
        })
}

#[test]
fn letters_keep_off_a_doubler_unless_it_covers_the_piece() {
    let flat = Ring::new(0.0002, 180.0);
    let ends = |_: f64| (0.0, 900.0);
    let doubler = |t: (f64, f64), w: (f64, f64)| {
        let name = "D1".into();
        [Feature::Doubler { t, w, name }]
    };
    for (t, w) in [((300.0, 650.0), (0.25, 0.75)), ((200.0, 700.0), (0.0, 1.0))] {
        let features = doubler(t, w);
        let part = detail(&input(&flat, &ends, &features), &FINE).expect("a part");
        check_room(&part);
        assert!(part.left_out.is_empty(), "{:?}", part.left_out);
        for word in ["B3", "D1", "PORT", "THIS FACE UP", "OUTB'D"] {
            assert!(bears(&part, word).is_some(), "{word}");
        }
        let strokes = part.marks.iter().filter(|m| m.kind.is_letters());
        let places = strokes.flat_map(|m| m.strokes.iter().flatten().copied());
        let texts = part
            .labels
            .iter()
            .flat_map(|l| label_lines(l).into_iter().flatten());
        let name = part.caption.map(|c| c.centre);
        for p in places.chain(texts).chain(name) {
            let flat_place = part.frame.undo(p);
            // Back on the ring: t and w of the place.
            let q = flat_place - vec2(0.0, 5000.0);
            let (along, across) = (
                5000.0 * trig::atan2(q.x, -q.y),
                (5000.0 - q.length()) / 180.0,
            );
            let hidden = along > t.0 && along < t.1 && across > w.0 && across < w.1;
            assert!(!hidden, "{along} {across}");
        }
    }
    let features = doubler((10.0, 890.0), (0.0, 1.0));
    let part = detail(&input(&flat, &ends, &features), &FINE).expect("a part");
    assert!(bears(&part, "B3").is_some());
    assert!(
        part.left_out
            .contains(&"its name clear of the doubler".to_owned())
    );
}

#[test]
fn a_part_bears_its_side_and_round_the_stern_both() {
    let flat = Ring::new(-0.0002, 180.0);
    let ends = |_: f64| (0.0, 2500.0);
    for (side, word, other) in [
        (crate::job::Side::Port, "PORT", "STBD"),
        (crate::job::Side::Starboard, "STBD", "PORT"),
    ] {
        let mut given = input(&flat, &ends, &[]);
        given.side = side;
        let part = detail(&given, &FINE).expect("a part");
        assert!(bears(&part, word).is_some() && bears(&part, other).is_none());
        assert!(part.caption.is_some_and(|c| c.height >= 64.0));
    }
    let across = [Feature::CrossLine {
        t: 1200.0,
        name: "CL".into(),
        kind: CrossKind::Centreline,
    }];
    let part = detail(&input(&flat, &ends, &across), &FINE).expect("a part");
    // Port is where t is less; t grows with x here.
    let (port, starboard) = (bears(&part, "PORT"), bears(&part, "STBD"));
    assert!(port.expect("port").x < 1150.0 && starboard.expect("starboard").x > 1250.0);
}

/// A stanchion's face on the edge itself: the line stops short of the cut.
#[test]
fn a_footprint_over_the_edge_is_left_open() {
    let flat = Ring::new(-0.0005, 180.0);
    let features = [Feature::Footprint {
        corners: vec![(700.0, -0.02), (800.0, -0.02), (800.0, 0.5), (700.0, 0.5)],
        name: "S1".into(),
    }];
    let ends = |_: f64| (0.0, 1500.0);
    let part = detail(&input(&flat, &ends, &features), &FINE).expect("a part");
    check_room(&part);
    let print = part
        .marks
        .iter()
        .find(|m| m.kind == MarkKind::Footprint)
        .expect("drawn");
    let length: f64 = lines(&print.strokes)
        .iter()
        .map(|l| l[0].distance(l[1]))
        .sum();
    // Two sides of 90 mm less 1 mm, and the inboard one, shorter or longer
    // than 100 mm by the curvature: chord at 90 mm inside a radius of 2 m.
    let chord = 2.0 * 2090.0 * trig::sin(0.025);
    assert!((length - (2.0 * 89.0 + chord)).abs() < 0.2, "{length}");
}

#[test]
fn the_bend_schedule_goes_with_the_part() {
    use crate::develop::{Bend, BendLine};
    let flat = Ring::new(0.0003, 180.0);
    let bends = [Bend {
        t: 400.0,
        line: BendLine {
            along: 400.0,
            places: [0.0, 0.25, 0.5, 0.75, 1.0].map(|w| flat.jet(400.0, w)[0]),
            curvature: -2e-4,
            twist: 1e-5,
            turn: 1e-9,
            stretch: 2e-8,
            shift: Vec2::default(),
        },
    }];
    let ends = |_: f64| (0.0, 1000.0);
    let mut given = input(&flat, &ends, &[]);
    given.bends = &bends;
    given.marked = Face::Lower;
    given.stretch.at = (400.0, 1.0);
    let part = detail(&given, &FINE).expect("a part");
    let b = part.bends[0];
    assert!((b.outboard().distance(b.inboard()) - 180.0).abs() < 1e-9);
    assert!(b.inboard().distance(part.stretch_at) < 1e-12);
    assert!((b.curvature + 2e-4).abs() < 1e-15 && (b.twist - 1e-5).abs() < 1e-15);
    assert!(
        part.outline
            .contains(b.outboard().lerp(b.inboard(), 0.01), 0.001)
    );
}

#[test]
fn a_name_without_room_is_refused_and_bad_parts_are_named() {
    let flat = Ring::new(0.0, 30.0);
    let crowd: Vec<Feature> = (1..=10)
        .map(|k| Feature::Hole {
            t: f64::from(k) * 22.0 - 11.0,
            w: 0.5,
            diameter: 18.0,
        })
        .collect();
    let ends = |_: f64| (0.0, 220.0);
    let refused = detail(&input(&flat, &ends, &crowd), &FINE).expect_err("no room");
    assert!(refused.what.contains("name") && refused.what.contains("B3"));

    let mut nameless = input(&flat, &ends, &[]);
    nameless.name = " ";
    assert!(detail(&nameless, &FINE).is_err());

    let out = [Feature::Hole {
        t: 100.0,
        w: 0.1,
        diameter: 12.0,
    }];
    let refused = detail(&input(&flat, &ends, &out), &FINE).expect_err("breaks out");
    assert!(refused.what.contains("hole"), "{}", refused.what);

    let good = detail(&input(&flat, &ends, &[]), &FINE).expect("a part");
    assert!(validate(&good, Show::Mm).is_empty());
    let mut bad = good.clone();
    bad.outline = bad.outline.reversed();
    assert!(validate(&bad, Show::Mm)[0].contains("counter-clockwise"));
    let mut bad = good.clone();
    bad.outline = Outline::polygon(&[
        vec2(0.0, 0.0),
        vec2(100.0, 60.0),
        vec2(100.0, 0.0),
        vec2(0.0, 40.0),
    ]);
    bad.outline.vertices[1].at.y = 90.0;
    assert!(!validate(&bad, Show::Mm).is_empty());
    let mut bad = good.clone();
    bad.marks[0].strokes[0][0].x -= 1000.0;
    assert!(validate(&bad, Show::Mm)[0].contains("leaves"));
    let feet = &validate(&bad, Show::FeetInches)[0];
    assert!(
        feet.contains("near x -") && feet.contains(" in, y "),
        "{feet}"
    );
    let mut bad = good;
    bad.holes = vec![
        Hole {
            centre: vec2(50.0, 15.0),
            diameter: 10.0,
        },
        Hole {
            centre: vec2(58.0, 15.0),
            diameter: 10.0,
        },
    ];
    assert!(
        validate(&bad, Show::Mm)
            .iter()
            .any(|w| w.contains("two holes"))
    );
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 16, ..ProptestConfig::default() })]

    #[test]
    fn fitted_out_strips_have_clear_marks(
        rise in -200.0..200.0_f64, width in 130.0..200.0_f64,
        stanchions in 1..6_usize, lower: bool, runs_aft: bool,
    ) {
        let length = 600.0 * stanchions as f64;
        let flat = Wave { rise: rise * length / 3600.0, length, width };
        let features = fit_out(length, width, stanchions);
        let ends = |_: f64| (0.0, length);
        let mut given = input(&flat, &ends, &features);
        given.marked = if lower { Face::Lower } else { Face::Upper };
        given.runs_aft = runs_aft;
        let part = detail(&given, &Options::default()).expect("a part");
        check_room(&part);
        prop_assert!(part.left_out.is_empty(), "{:?}", part.left_out);
    }
}
