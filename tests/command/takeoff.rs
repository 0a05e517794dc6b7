//! Every form of survey through the command: one edge, the same boat.

use std::fmt::Write;

use planksheer::geom::trig::{cos, sin};

use super::shapes::exact_job;
use super::shop::Shop;

/// An invented edge on port, bow to stern.
fn edge() -> Vec<[f64; 3]> {
    let thousandths = |v: f64| (v * 1000.0).round() / 1000.0;
    (0..24)
        .map(|i| {
            let f = f64::from(i) / 23.0;
            let a = 0.4 + 1.2 * f;
            [
                5200.0 * cos(a),
                1900.0 * sin(a),
                700.0 + 260.0 * (1.0 - f) * (1.0 - f),
            ]
            .map(thousandths)
        })
        .collect()
}

fn rows(points: &[[f64; 3]], last: &str) -> String {
    let mut text = String::new();
    for [x, y, z] in points {
        writeln!(text, "{x},{y},{z},{last}").expect("text");
    }
    text
}

/// Files of the parts and sheets of a job with this survey file.
fn cut(form: &str, survey: &str, datum: &str, text: &str) -> Vec<(String, Vec<u8>)> {
    let job = exact_job(
        &format!("slope = 0.04\n{datum}"),
        "",
        "slope = \"level\"",
        "",
    )
    .replace(
        "path = \"edge.csv\"\nform = \"points\"",
        &format!("path = \"edge\"\nform = \"{form}\"\n{survey}"),
    );
    let built = Shop::new(&[("job.toml", &job), ("edge", text)]).build(&[]);
    let mut files = built.files();
    files.retain(|(name, _)| name.starts_with("parts/") || name.starts_with("sheets/"));
    assert!(files.len() > 4);
    files
}

/// Every other row first, the rest from the other end.
fn mixed(points: &[[f64; 3]]) -> Vec<[f64; 3]> {
    let even = points.iter().step_by(2);
    let odd = points.iter().skip(1).step_by(2).rev();
    even.chain(odd).copied().collect()
}

fn drawing(points: &[[f64; 3]]) -> String {
    let mut text = String::from("0\nSECTION\n2\nENTITIES\n");
    let (fore, aft) = points.split_at(10);
    for w in points[9..].windows(2).rev().take(4) {
        let ([a, b, c], [d, e, f]) = (w[0], w[1]);
        write!(
            text,
            "0\nLINE\n8\nEDGE\n10\n{d}\n20\n{e}\n30\n{f}\n11\n{a}\n21\n{b}\n31\n{c}\n"
        )
        .expect("text");
    }
    for [x, y, z] in &aft[..10] {
        write!(text, "0\nPOINT\n8\nEDGE\n10\n{x}\n20\n{y}\n30\n{z}\n").expect("text");
    }
    text.push_str("0\nPOLYLINE\n8\nEDGE\n66\n1\n70\n8\n10\n0\n20\n0\n30\n0\n");
    for [x, y, z] in fore {
        write!(
            text,
            "0\nVERTEX\n8\nEDGE\n70\n32\n10\n{x}\n20\n{y}\n30\n{z}\n"
        )
        .expect("text");
    }
    text.push_str("0\nSEQEND\n0\nENDSEC\n0\nEOF\n");
    text
}

#[test]
fn points_list_and_drawing_of_one_edge_give_the_same_parts() {
    let edge = edge();
    let points = cut(
        "points",
        "",
        "",
        &format!("x,y,z,side\n{}", rows(&edge, "port")),
    );
    let list = cut(
        "list",
        "codes = { edge = [\"E\"], ignore = [\"X\"] }",
        "",
        &format!("x,y,z,code\n1,2,3,x\n{}", rows(&mixed(&edge), "e")),
    );
    assert_eq!(points, list);
    let drawn = cut("dxf", "layer = \"edge\"", "", &drawing(&edge));
    // A drawing's decimals are read by another parser: the last bit may differ.
    assert_eq!(points.len(), drawn.len());
    for ((name, a), (other, b)) in points.iter().zip(&drawn) {
        assert_eq!(name, other);
        let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).expect("text");
        let (a, b) = (text(a), text(b));
        let words = |t: &str| -> Vec<String> {
            t.split([' ', '\r', '\n', ',', '"'])
                .map(str::to_owned)
                .collect()
        };
        let (a, b) = (words(&a), words(&b));
        assert_eq!(a.len(), b.len(), "{name}");
        for (p, q) in a.iter().zip(&b) {
            match (p.parse::<f64>(), q.parse::<f64>()) {
                (Ok(x), Ok(y)) => assert!((x - y).abs() < 1e-5, "{name}: {x} {y}"),
                _ => assert_eq!(p, q, "{name}"),
            }
        }
    }
}

#[test]
fn an_instruments_coordinates_come_to_the_boats() {
    let edge = edge();
    let points = cut(
        "points",
        "",
        "",
        &format!("x,y,z,side\n{}", rows(&edge, "port")),
    );
    // A quarter turn to the left and a shift: exact in decimals.
    let seen = |[x, y, z]: [f64; 3]| [9000.0 - y, 3000.0 + x, z - 500.0];
    let references = [
        ("stem", [5000.0, 0.0, 900.0]),
        ("port", [0.0, 1900.0, 700.0]),
        ("starboard", [0.0, -1900.0, 650.0]),
    ];
    let mut datum = String::from("[survey.datum]\nlevel = true\nlimit = \"2 mm\"\n");
    let mut text = String::from("x,y,z,code\n");
    for (name, at) in references {
        let [x, y, z] = at;
        write!(datum, "[[survey.datum.reference]]\nname = \"{name}\"\nboat = {{ x = \"{x} mm\", y = \"{y} mm\", z = \"{z} mm\" }}\n").expect("text");
        text.push_str(&rows(&[seen(at)], name));
    }
    let turned: Vec<[f64; 3]> = mixed(&edge).into_iter().map(seen).collect();
    text.push_str(&rows(&turned, "edge"));
    let list = cut("list", "", &datum, &text);
    let names = |files: &[(String, Vec<u8>)]| -> Vec<String> {
        files.iter().map(|(n, _)| n.clone()).collect()
    };
    assert_eq!(names(&points), names(&list));
}
