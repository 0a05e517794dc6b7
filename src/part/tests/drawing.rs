use super::*;
use crate::layout::CrossKind;
use std::fmt::Write as _;

/// An SVG of a part, for looking at: y up.
fn svg(part: &Part) -> String {
    let (_, hi) = part.outline.bounds();
    let mut s = String::new();
    let path = |points: &[Vec2], closed: bool| {
        let mut d = String::new();
        for (i, p) in points.iter().enumerate() {
            let _ = write!(
                d,
                "{}{:.3} {:.3}",
                if i == 0 { "M" } else { "L" },
                p.x,
                hi.y - p.y
            );
        }
        d + if closed { "Z" } else { "" }
    };
    let _ = write!(
        s,
        "<svg xmlns='http://www.w3.org/2000/svg' viewBox='-20 -20 {:.1} {:.1}'><rect x='-20' y='-20' width='100%' height='100%' fill='white'/><g fill='none' stroke='black' stroke-width='0.6'><path d='{}'/>",
        hi.x + 40.0,
        hi.y + 40.0,
        path(&part.outline.flatten(0.01), true)
    );
    for v in &part.outline.vertices {
        let _ = write!(
            s,
            "<circle cx='{:.2}' cy='{:.2}' r='1.5' stroke='red'/>",
            v.at.x,
            hi.y - v.at.y
        );
    }
    for h in &part.holes {
        let _ = write!(
            s,
            "<circle cx='{:.2}' cy='{:.2}' r='{:.2}'/>",
            h.centre.x,
            hi.y - h.centre.y,
            h.diameter / 2.0
        );
    }
    for m in &part.marks {
        for k in &m.strokes {
            let _ = write!(s, "<path stroke='blue' d='{}'/>", path(k, false));
        }
    }
    for l in &part.labels {
        let _ = write!(
            s,
            "<text font-family='monospace' stroke='none' fill='green' font-size='{:.2}' transform='translate({:.2} {:.2}) rotate({:.3})'>{}</text>",
            l.height * 1.4,
            l.at.x,
            hi.y - l.at.y,
            -l.angle.to_degrees(),
            l.text
        );
    }
    s + "</g></svg>"
}

#[test]
fn draw_for_looking_at() {
    let length = 3400.0;
    let flat = Wave {
        rise: 160.0,
        length,
        width: 180.0,
    };
    let features = fit_out(length, 180.0, 6);
    let ends = |w: f64| (0.0, length + 40.0 * w);
    let part = detail(&input(&flat, &ends, &features), &Options::default()).expect("a part");
    std::fs::write("/tmp/part-a.svg", svg(&part)).expect("written");
    let flat = Wave {
        rise: 140.0,
        length: 2600.0,
        width: 130.0,
    };
    let mut features = fit_out(2600.0, 130.0, 4);
    features.push(Feature::CrossLine {
        t: 2550.0,
        name: "NET".into(),
        kind: CrossKind::Net,
    });
    let ends = |_: f64| (0.0, 2600.0);
    let mut given = input(&flat, &ends, &features);
    given.name = "T12";
    given.kind = MemberKind::TopPlate;
    given.marked = Face::Lower;
    given.runs_aft = true;
    let part = detail(&given, &Options::default()).expect("a part");
    std::fs::write("/tmp/part-b.svg", svg(&part)).expect("written");
    let flat = Ring::new(1.0 / 1800.0, 180.0);
    let mut features = fit_out(3600.0, 180.0, 6);
    features.push(Feature::CrossLine {
        t: 1800.0,
        name: "CL".into(),
        kind: CrossKind::Centreline,
    });
    let ends = |_: f64| (0.0, 3600.0);
    let part = detail(&input(&flat, &ends, &features), &Options::default()).expect("a part");
    std::fs::write("/tmp/part-c.svg", svg(&part)).expect("written");
    eprintln!("{:?}", part.left_out);
}
