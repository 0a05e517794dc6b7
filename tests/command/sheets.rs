//! Sheets as the shop reads them: what is drawn on them, in what order, and
//! what is said of it.

use std::fmt::Write;

use planksheer::geom::{Outline, Vec2, Vertex, letters, vec2};

use super::cutting::{edge, job};
use super::shop::{Built, Shop};
use crate::broken::folder;

/// The sound job, which has a doubler and a round stern.
fn sound() -> Shop {
    Shop::of(&folder("good"))
}

/// An entity of a file: its layer and kind, and its text, turn and vertices
/// where it has them.
struct Drawn {
    layer: String,
    closed: bool,
    text: String,
    turn: f64,
    vertices: Vec<Vertex>,
}

impl Drawn {
    fn points(&self) -> Vec<Vec2> {
        self.vertices.iter().map(|v| v.at).collect()
    }
}

/// Entities of a file in its order.
fn drawn(built: &Built, file: &str) -> Vec<Drawn> {
    use dxf::entities::EntityType;
    let text = built.text(file);
    let drawing = dxf::Drawing::load(&mut text.as_bytes()).expect("a DXF file");
    drawing
        .entities()
        .map(|e| {
            let mut out = Drawn {
                layer: e.common.layer.clone(),
                closed: true,
                text: String::new(),
                turn: 0.0,
                vertices: vec![],
            };
            let vertex = |x, y, bulge| Vertex {
                at: vec2(x, y),
                bulge,
            };
            match &e.specific {
                EntityType::Text(t) => {
                    out.text.clone_from(&t.value);
                    out.turn = t.rotation;
                    out.vertices.push(vertex(t.location.x, t.location.y, 0.0));
                }
                EntityType::Circle(c) => out.vertices.push(vertex(c.center.x, c.center.y, 0.0)),
                EntityType::LwPolyline(p) => {
                    out.closed = p.is_closed();
                    let at = p.vertices.iter().map(|v| vertex(v.x, v.y, v.bulge));
                    out.vertices.extend(at);
                }
                other => panic!("{other:?} is not drawn"),
            }
            out
        })
        .collect()
}

fn sheets(built: &Built) -> Vec<String> {
    let sheets = built.summary["sheets"].as_array().expect("sheets");
    let name = |s: &serde_json::Value| s["name"].as_str().expect("a name").to_owned();
    sheets.iter().map(name).collect()
}

/// True where a part has these single-stroke letters among its marks: strokes
/// of the same proportions, one after the other.
fn marked(entities: &[Drawn], word: &str) -> bool {
    let want = letters::strokes(word);
    let lengths = |s: &[Vec2]| -> Vec<f64> { s.windows(2).map(|w| w[0].distance(w[1])).collect() };
    let want: Vec<Vec<f64>> = want.iter().map(|s| lengths(s)).collect();
    let marks: Vec<Vec<f64>> = entities
        .iter()
        .filter(|e| e.layer == "MARK")
        .map(|e| lengths(&e.points()))
        .collect();
    marks.windows(want.len()).any(|run| {
        let scale = run[0].first().zip(want[0].first()).map(|(a, b)| a / b);
        scale.is_some_and(|k| {
            run.iter().zip(&want).all(|(got, of)| {
                got.len() == of.len() && got.iter().zip(of).all(|(a, b)| (a - b * k).abs() < 1e-3)
            })
        })
    })
}

#[test]
fn a_sheet_is_worked_and_read_in_its_order() {
    let built = sound().build(&[]);
    let (mut holes, mut blocks) = (0, 0);
    for file in sheets(&built).iter().map(|s| format!("sheets/{s}.dxf")) {
        let all = drawn(&built, &file);
        let profiles: Vec<&Drawn> = (all.iter())
            .filter(|e| e.layer == "CUT" || e.layer == "HOLE")
            .collect();
        // Holes before the outline that they lie in: after an outline nothing
        // is cut inside it.
        let mut outlines: Vec<Outline> = vec![];
        for e in profiles {
            if e.layer == "CUT" {
                outlines.push(Outline {
                    vertices: e.vertices.clone(),
                });
            } else {
                holes += 1;
                let late = outlines.iter().any(|o| o.contains(e.vertices[0].at, 0.01));
                assert!(!late, "{file}: a hole after its outline");
            }
        }
        assert!(!outlines.is_empty(), "{file}");
        for e in all.iter().filter(|e| !e.text.is_empty()) {
            assert!((0.0..360.0).contains(&e.turn), "{}: {}", e.text, e.turn);
        }
        // The lines of a part's label under its name, however the part lies.
        let texts: Vec<&Drawn> = all.iter().filter(|e| !e.text.is_empty()).collect();
        for w in texts.windows(2) {
            let name = w[0].text.split(' ').next().unwrap_or_default();
            let named = name.ends_with(|c: char| c.is_ascii_digit());
            if !named || !w[0].text.contains(", seen from") {
                continue;
            }
            blocks += 1;
            let off = w[1].vertices[0].at - w[0].vertices[0].at;
            let down = off.turned(-w[0].turn.to_radians());
            assert!(down.x.abs() < 1e-3 && down.y < 0.0, "{file}: {}", w[0].text);
        }
        let said: String = texts.iter().map(|e| e.text.clone() + "\n").collect();
        let svg = built.text(&file.replace(".dxf", ".svg"));
        let title = svg.split("<title>").nth(1).expect("a title");
        let title = title.split("</title>").next().expect("its end");
        for words in ["Sound job", "12.7 mm thick", "5086-H116"] {
            assert!(said.contains(words) && title.contains(words), "{title}");
        }
    }
    assert!(holes > 10 && blocks > 2, "{holes} holes, {blocks} labels");
}

#[test]
fn parts_bear_their_side_and_nothing_is_written_under_a_doubler() {
    let built = sound().build(&[]);
    let (mut both, mut port, mut starboard) = (0, 0, 0);
    for kind in ["base-plate", "top-plate", "doubler"] {
        for name in built.names(kind) {
            let all = drawn(&built, &format!("parts/{name}.dxf"));
            let place = built.entry(&name)["place"].as_str().expect("a place");
            let sides = (marked(&all, "PORT"), marked(&all, "STBD"));
            match (place.contains("port"), place.contains("stbd")) {
                (true, true) => {
                    both += 1;
                    assert_eq!(sides, (true, true), "{name}: {place}");
                }
                (false, true) => {
                    starboard += 1;
                    assert_eq!(sides, (false, true), "{name}: {place}");
                }
                // The doubler of the job lies on port.
                _ => {
                    port += 1;
                    assert_eq!(sides, (true, false), "{name}: {place}");
                }
            }
        }
    }
    assert!(both > 0 && port > 0 && starboard > 0);
    // The doubler's outline: 12 steps along both of its edges.
    let mut found = 0;
    for name in built.names("base-plate") {
        let all = drawn(&built, &format!("parts/{name}.dxf"));
        let Some(at) = all
            .iter()
            .position(|e| e.layer == "MARK" && e.vertices.len() == 27)
        else {
            continue;
        };
        found += 1;
        let print = Outline {
            vertices: all[at].vertices[..26].to_vec(),
        };
        assert!(
            marked(&all, "D1"),
            "{name}: the doubler's name stands beside it"
        );
        for (k, e) in all.iter().enumerate() {
            if k != at && (e.layer == "MARK" || e.layer == "LABEL") {
                let inside = e.points().iter().any(|&p| print.contains(p, 0.01));
                // Ticks of stations may run under it; letters do not.
                let points = e.points();
                let tick = points.len() == 2 && points[0].distance(points[1]) > 15.0;
                assert!(!inside || tick, "{name}: {} under the doubler", e.text);
            }
        }
    }
    assert_eq!(found, 1);
}

#[test]
fn a_lead_its_path_and_the_way_out_are_one_line_where_asked_for() {
    for tabs in ["", "\ntabs = { below_kg = 50 }"] {
        let build = |paths: &str| {
            let cutting = format!("paths = \"compensated\"\nleads = \"arc\"{paths}{tabs}");
            let job = job("4 m", "2 m", &cutting);
            Shop::new(&[("job.toml", &job), ("edge.csv", &edge(true))]).build(&[])
        };
        let (apart, joined) = (build(""), build("\nlead_paths = \"joined\""));
        assert_eq!(apart.summary["sheets"], joined.summary["sheets"]);
        let file = "sheets/sheet-1.dxf";
        let cuts = |built: &Built| -> Vec<Drawn> {
            let all = drawn(built, file);
            let cut = |e: &Drawn| ["CUT", "HOLE", "LEAD"].contains(&e.layer.as_str());
            all.into_iter().filter(cut).collect()
        };
        let mut pieces = cuts(&apart).into_iter().peekable();
        let mut count = 0;
        for line in cuts(&joined) {
            count += 1;
            assert_ne!(line.layer, "LEAD");
            let mut vertices: Vec<Vec2> = vec![];
            let mut take = |e: &Drawn| {
                if vertices.last() == Some(&e.vertices[0].at) {
                    vertices.pop();
                }
                vertices.extend(e.points());
                if e.closed {
                    vertices.push(e.vertices[0].at);
                }
            };
            // Lead-in, path, lead-out, as they follow one another when apart.
            if let Some(e) = pieces.next_if(|e| e.layer == "LEAD") {
                take(&e);
            }
            let path = pieces.next().expect("its path");
            assert_eq!(
                (&path.layer, path.closed),
                (&line.layer, tabs.is_empty() || path.layer == "HOLE")
            );
            take(&path);
            let end = *vertices.last().expect("points");
            if let Some(e) = pieces.next_if(|e| e.layer == "LEAD" && e.vertices[0].at == end) {
                vertices.pop();
                vertices.extend(e.points());
            }
            assert!(!line.closed);
            assert_eq!(line.points(), vertices);
        }
        assert!(pieces.next().is_none());
        assert_eq!(apart.summary["sheets"][0]["cutting"]["pierces"], count);
        // What is open encloses nothing: it is not filled.
        let svg = joined.text("sheets/sheet-1.svg");
        let group = svg.split("class=\"cut\"").nth(1).expect("cuts");
        let group = group.split("</g>").next().expect("its end");
        for path in group.split("<path").skip(1) {
            assert!(
                path.contains("fill=\"none\"") && !path.contains("closed"),
                "{path}"
            );
        }
    }
}

/// The edge of a job as a dense table, a point every so many mm.
fn dense(step: f64) -> String {
    let mut csv = String::from("x,y,z,side,slope\n");
    let mut k = 0.0;
    while k * step <= 3000.0 {
        let _ = writeln!(csv, "{:.6},1500,700,port,0", 0.000_318 + k * step);
        k += 1.0;
    }
    csv
}

#[test]
fn stations_are_marked_at_the_surveys_accuracy_and_those_without_room_counted_once() {
    for (accuracy, word) in [
        ("2 mm", "X 600"),
        ("0.5 mm", "X 600.3"),
        ("0 mm", "X 600.300318"),
    ] {
        let text = job("4 m", "2 m", "")
            .replace("accuracy = \"0 mm\"", &format!("accuracy = \"{accuracy}\""));
        let shop = Shop::new(&[("job.toml", &text), ("edge.csv", &dense(200.1))]);
        let built = shop.build(&[]);
        let name = &built.names("base-plate")[0];
        assert!(
            marked(&drawn(&built, &format!("parts/{name}.dxf")), word),
            "{accuracy}"
        );
    }
    let shop = Shop::new(&[
        ("job.toml", &job("4 m", "2 m", "")),
        ("edge.csv", &dense(3.1)),
    ]);
    let built = shop.build(&[]);
    let warnings = built.summary["warnings"].as_array().expect("warnings");
    let told: Vec<&str> = (warnings.iter().filter_map(|w| w.as_str()))
        .filter(|w| w.starts_with("no room for "))
        .collect();
    assert_eq!(told.len(), 1, "{told:?}");
    let count = told[0]
        .strip_prefix("no room for ")
        .and_then(|r| r.split(' ').next());
    let count: usize = count.and_then(|n| n.parse().ok()).expect("a count");
    assert!(count > 500 && told[0].len() < 400, "{}", told[0]);
}
