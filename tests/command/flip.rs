//! Parts laid with their other face up: what the written sheet shows of them.

use std::fs;
use std::path::Path;
use std::sync::atomic::AtomicBool;

use planksheer::geom::{Placement, Vec2, Vertex, letters, vec2};
use planksheer::job::{self, Effort, Job};
use planksheer::layout::{Face, MemberKind};
use planksheer::nest::{self, NestedSheet, Placed};
use planksheer::pipeline::{self, Group, Shaped};

use crate::shop::Shop;

const FILES: [&str; 4] = ["job.toml", "port.csv", "stern.csv", "starboard.csv"];

fn good() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/good")
}

fn with_flips(text: &str) -> String {
    let with = text.replace("[cutting]\n", "[cutting]\nflip = \"doublers\"\n");
    assert_ne!(with, text);
    with
}

/// The sound job with flips allowed, its parts, and their nest.
fn nested() -> (Job, Shaped, Vec<Group>) {
    let text = fs::read_to_string(good().join(FILES[0])).expect("the sound job");
    let folder = good().display().to_string();
    let job = job::parse(&with_flips(&text), "job.toml", &folder).expect("sound");
    let tables: Vec<_> = job
        .survey
        .files
        .iter()
        .map(|f| (f.clone(), fs::read_to_string(&f.path).expect("a table")))
        .collect();
    let shaped = pipeline::shape(&job, &tables).expect("it is shaped");
    let stop = AtomicBool::new(false);
    let groups =
        pipeline::nest(&job, &shaped, Effort::Quick, &|_, _| (), &stop).expect("it is nested");
    (job, shaped, groups)
}

/// Takes a part off its sheet and lays it alone on one more, flipped.
fn lay_alone(group: &mut Group, part: usize, placement: Placement) {
    let stock = group.nest.sheets[0].stock;
    for sheet in &mut group.nest.sheets {
        sheet.placed.retain(|p| p.part != part);
    }
    group
        .nest
        .sheets
        .push(NestedSheet::new(stock, vec![Placed { part, placement }]));
    group.nest.sheets.retain(|s| !s.placed.is_empty());
    nest::check(&group.job, &group.nest).expect("a sound nest by hand");
}

/// Open lines on a layer, and closed profiles.
fn lines(drawing: &dxf::Drawing, layer: &str) -> Vec<Vec<Vertex>> {
    let mut out = Vec::new();
    for e in drawing.entities().filter(|e| e.common.layer == layer) {
        match &e.specific {
            dxf::entities::EntityType::LwPolyline(p) => out.push(
                p.vertices
                    .iter()
                    .map(|v| Vertex {
                        at: vec2(v.x, v.y),
                        bulge: v.bulge,
                    })
                    .collect(),
            ),
            dxf::entities::EntityType::Line(l) => out.push(
                [&l.p1, &l.p2]
                    .into_iter()
                    .map(|p| Vertex {
                        at: vec2(p.x, p.y),
                        bulge: 0.0,
                    })
                    .collect(),
            ),
            _ => {}
        }
    }
    out
}

/// True where a word stands among strokes: turned, shifted and of any size,
/// but never mirrored (`hand` 1), or mirrored (`hand` -1).
fn written(strokes: &[Vec<Vec2>], word: &str, hand: f64) -> bool {
    let glyphs: Vec<Vec<Vec2>> = letters::strokes(word)
        .into_iter()
        .map(|s| s.into_iter().map(|p| vec2(p.x, hand * p.y)).collect())
        .collect();
    let first = &glyphs[0];
    (0..strokes.len().saturating_sub(glyphs.len() - 1)).any(|k| {
        let drawn = &strokes[k..k + glyphs.len()];
        if drawn[0].len() < 2 || drawn[0].len() != first.len() {
            return false;
        }
        let (from, to) = (first[1] - first[0], drawn[0][1] - drawn[0][0]);
        let (size, turn) = (to.length() / from.length(), to.angle() - from.angle());
        glyphs.iter().zip(drawn).all(|(glyph, line)| {
            glyph.len() == line.len()
                && glyph.iter().zip(line).all(|(g, p)| {
                    let want = drawn[0][0] + (*g - first[0]).turned(turn) * size;
                    want.distance(*p) < 0.02
                })
        })
    })
}

#[test]
fn a_flipped_doubler_is_cut_mirrored_and_lettered_for_the_face_that_is_up() {
    let (job, shaped, mut groups) = nested();
    let kinds = || shaped.parts.iter().map(|f| f.part.kind);
    for (kind, other) in kinds().zip(&shaped.over) {
        assert_eq!(other.is_some(), kind == MemberKind::Doubler);
    }
    let index = kinds()
        .position(|k| k == MemberKind::Doubler)
        .expect("a doubler");
    let group = groups
        .iter_mut()
        .find(|g| g.parts.contains(&index))
        .expect("nested");
    let part = group.parts.iter().position(|&p| p == index).expect("in it");
    assert!(group.job.parts[part].flip);
    let placement = Placement {
        turn: 0.3,
        shift: vec2(900.0, 700.0),
        flipped: true,
    };
    lay_alone(group, part, placement);
    let expected = group.job.parts[part].outline.placed(placement);
    let name = group.job.parts[part].name.clone();
    let output = pipeline::files(&job, &shaped, &groups).expect("it is written");

    let sheet = output.facts.parts[index].sheet.clone().expect("on a sheet");
    let text = &output.files[&format!("sheets/{sheet}.dxf")];
    let drawing = dxf::Drawing::load(&mut text.as_bytes()).expect("a DXF file");
    // The outline, where the flipped part lies.
    let cut = lines(&drawing, "CUT");
    assert_eq!(cut.len(), 1);
    let drawn = planksheer::geom::Outline {
        vertices: cut[0].clone(),
    };
    assert_eq!(drawn.vertices.len(), expected.vertices.len());
    for v in &expected.vertices {
        let near = |w: &&Vertex| v.at.distance(w.at) < 1e-3 && (v.bulge - w.bulge).abs() < 1e-6;
        assert!(drawn.vertices.iter().any(|w| near(&w)), "{v:?}");
    }
    assert!((drawn.area() - expected.area()).abs() < 1.0);
    // The letters: of the face that is up, and no mirror writing.
    let strokes: Vec<Vec<Vec2>> = lines(&drawing, "MARK")
        .into_iter()
        .map(|l| l.into_iter().map(|v| v.at).collect())
        .collect();
    for word in [name.as_str(), "UNDERSIDE", "FWD", "OUTB'D"] {
        assert!(written(&strokes, word, 1.0), "{word}");
    }
    assert!(!written(&strokes, "THIS FACE UP", 1.0));
    for word in ["UNDERSIDE", "FWD", "OUTB'D", "THIS FACE UP"] {
        assert!(!written(&strokes, word, -1.0), "{word} is mirrored");
    }
    for stroke in &strokes {
        assert!(stroke.iter().all(|&p| drawn.contains(p, 0.01)));
    }
    // Forward and outboard are where they were on the part.
    let (own, other) = (
        &shaped.parts[index].part,
        shaped.over[index].as_ref().expect("marked on both"),
    );
    assert_eq!((own.face, other.part.face), (Face::Upper, Face::Lower));
    assert!(other.refold_gap < 0.5, "{}", other.refold_gap);

    // Lists and reports say so.
    let list = &output.files["lists/parts.csv"];
    let row = list.lines().find(|l| l.starts_with(&name)).expect("a row");
    assert!(row.contains("\"lower, flipped\""), "{row}");
    let flipped = format!("Flipped, cut and marked on their lower face: {name}\n");
    assert!(output.files["yield.txt"].contains(&flipped));
    let summary: serde_json::Value =
        serde_json::from_str(&output.files["summary.json"]).expect("JSON");
    for (i, row) in summary["parts"]
        .as_array()
        .expect("parts")
        .iter()
        .enumerate()
    {
        assert_eq!(row["flipped"], i == index);
        if i == index {
            assert_eq!(row["face"], "lower");
        }
    }
    assert_eq!(output.files[&format!("parts/{name}.dxf")], other.dxf);
}

/// Through the command: what is flipped is a doubler, and where nothing may be
/// the output says of no part that it is.
#[test]
fn only_doublers_are_flipped() {
    let read = |name: &str| fs::read_to_string(good().join(name)).expect("a file");
    let mut texts: Vec<String> = FILES.iter().map(|f| read(f)).collect();
    for allowed in [false, true] {
        if allowed {
            texts[0] = with_flips(&texts[0]);
        }
        let files: Vec<(&str, &str)> = FILES
            .iter()
            .zip(&texts)
            .map(|(n, t)| (*n, t.as_str()))
            .collect();
        let built = Shop::new(&files).build(&[]);
        for part in built.summary["parts"].as_array().expect("parts") {
            let flipped = part["flipped"].as_bool().expect("said of every part");
            assert!(!flipped || (allowed && part["kind"] == "doubler"), "{part}");
        }
    }
}
