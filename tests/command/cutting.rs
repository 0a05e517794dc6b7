//! Compensated paths, leads and remnants through the whole command.

use std::collections::BTreeMap;
use std::f64::consts::PI;
use std::fmt::Write;

use planksheer::geom::{Outline, Segment, Vertex, vec2};
use planksheer::job;
use planksheer::stock::read_remnant;

use super::shapes::exact_job;
use super::shop::{Built, Shop, command};

/// A level edge on port: straight, or an arc of 6 m radius.
pub(crate) fn edge(bend: bool) -> String {
    let mut csv = String::from("x,y,z,side,slope\n");
    for i in 0..25 {
        let f = f64::from(i) / 24.0;
        let (x, y) = if bend {
            let a = PI / 2.0 - 0.25 + 0.5 * f;
            (6000.0 * libm::cos(a), 6000.0 * libm::sin(a) - 4000.0)
        } else {
            (3000.0 * f, 1500.0)
        };
        let _ = writeln!(csv, "{x:.6},{y:.6},700,port,0");
    }
    csv
}

/// The job on a sheet of this size, with more at the end.
pub(crate) fn job(length: &str, width: &str, cutting: &str) -> String {
    exact_job("", "", "slope = \"level\"", "")
        .replace(
            "length = \"12 m\"\nwidth = \"12 m\"",
            &format!("length = \"{length}\"\nwidth = \"{width}\""),
        )
        .replace("gap = \"6 mm\"", &format!("gap = \"6 mm\"\n{cutting}"))
}

/// Polylines of a sheet by layer: vertices, and whether they are closed.
fn lines(built: &Built, file: &str) -> BTreeMap<String, Vec<(Outline, bool)>> {
    let text = built.text(file);
    let drawing = dxf::Drawing::load(&mut text.as_bytes()).expect("a DXF file");
    let mut out: BTreeMap<String, Vec<(Outline, bool)>> = BTreeMap::new();
    for e in drawing.entities() {
        if let dxf::entities::EntityType::LwPolyline(p) = &e.specific {
            let vertices = p
                .vertices
                .iter()
                .map(|v| Vertex {
                    at: vec2(v.x, v.y),
                    bulge: v.bulge,
                })
                .collect();
            out.entry(e.common.layer.clone())
                .or_default()
                .push((Outline { vertices }, p.is_closed()));
        }
    }
    out
}

// Steiner's formula: a path d off a profile bounds A + P d + pi d^2.
#[test]
fn sheets_show_paths_half_a_kerf_off_and_leads_by_themselves() {
    let cutting = "paths = \"compensated\"\nleads = \"arc\"";
    let job = job("4 m", "2 m", cutting);
    let shop = Shop::new(&[("job.toml", &job), ("edge.csv", &edge(true))]);
    let built = shop.build(&[]);
    assert_eq!(built.summary["cutting"]["paths"], "compensated");
    assert_eq!(built.summary["job"]["net_size"], false);
    let drawn = lines(&built, "sheets/sheet-1.dxf");
    let mut wanted: Vec<f64> = ["base-plate", "top-plate"]
        .iter()
        .flat_map(|kind| built.names(kind))
        .map(|name| {
            let net = built.profile(&name);
            net.area() + net.perimeter() * 0.5 + PI * 0.25
        })
        .collect();
    let mut got: Vec<f64> = drawn["CUT"]
        .iter()
        .inspect(|(_, closed)| assert!(closed))
        // With leads, outer profiles run clockwise.
        .map(|(path, _)| -path.area())
        .collect();
    wanted.sort_by(f64::total_cmp);
    got.sort_by(f64::total_cmp);
    assert_eq!(got.len(), wanted.len());
    for (g, w) in got.iter().zip(&wanted) {
        assert!((g - w).abs() < 0.05, "{g} {w}");
    }
    // The long edges are the arcs of the plate's edges, half a kerf off.
    let wide = |r: f64| (5_800.0..6_100.0).contains(&r);
    for (path, _) in &drawn["CUT"] {
        let arcs = path.segments().filter_map(|s| s.circle);
        assert!(arcs.filter(|c| wide(c.radius)).count() >= 2);
    }
    assert_eq!(drawn["LEAD"].len(), 2 * got.len());
    let pierces = built.summary["cutting"]["pierces"].as_u64();
    assert_eq!(pierces, Some(got.len() as u64));
    let order = built.text("lists/cutting-order.csv");
    assert_eq!(order.lines().count(), 1 + got.len());
}

/// What is written as a remnant is what a job reads.
#[test]
fn a_remnant_written_is_a_remnant_read() {
    let job = job("4 m", "2 m", "");
    for units in ["mm", "in"] {
        let job = job.replace("[output]", &format!("[output]\ndxf_units = \"{units}\""));
        let shop = Shop::new(&[("job.toml", &job), ("edge.csv", &edge(true))]);
        let built = shop.build(&[]);
        let rows = built.summary["sheets"][0]["remnants"]
            .as_array()
            .expect("remnants")
            .clone();
        assert!(!rows.is_empty());
        for row in rows {
            let file = row["file"].as_str().expect("a file");
            let read = read_remnant(file, &built.text(file), None).expect("a remnant");
            let number = |key: &str| row[key].as_f64().expect("a number");
            assert!((read.region.area() - number("area_mm2")).abs() < 1.0);
            let (_, size) = read.region.bounds();
            assert!((size.x - number("length_mm")).abs() < 1e-3);
            assert!((size.y - number("width_mm")).abs() < 1e-3);
            assert!((read.thickness.expect("said") - 12.7).abs() < 1e-9);
            assert_eq!(read.alloy.as_deref(), Some("5086-H116"));
        }
    }
}

/// A piece left of one build is the stock of the next: one cut straight, one
/// along curved parts; without and with a clamp on it.
#[test]
fn an_offcut_of_one_boat_makes_parts_of_the_next() {
    for (curved, length, width) in [(false, "3.1 m", "1 m"), (true, "4 m", "2 m")] {
        for clamped in [false, true] {
            offcut_used_again(curved, length, width, clamped);
        }
    }
}

/// Every drawn part keeps the margin from the remnant's edge and holes as
/// drawn, and from the clamp.
fn offcut_used_again(curved: bool, length: &str, width: &str, clamped: bool) {
    let first = job(length, width, "");
    let shop = Shop::new(&[("job.toml", &first), ("edge.csv", &edge(curved))]);
    let built = shop.build(&[]);
    let row = &built.summary["sheets"][0]["remnants"][0];
    let file = row["file"].as_str().expect("a file").to_owned();
    let area = row["area_mm2"].as_f64().expect("an area");
    let clamp = if clamped {
        "\nclamps = [[\"0 mm\", \"0 mm\", \"80 mm\", \"80 mm\"]]"
    } else {
        ""
    };
    let second = first.replace(
        &format!("length = \"{length}\"\nwidth = \"{width}\""),
        &format!("remnant = \"out/{file}\"{clamp}"),
    );
    std::fs::write(shop.path().join("second.toml"), &second).expect("written");
    let out = shop.path().join("second");
    command()
        .arg("build")
        .arg(shop.path().join("second.toml"))
        .arg("--out")
        .arg(&out)
        .arg("--quick")
        .assert()
        .success();
    let again = Built::read(&out);
    let sheets = again.summary["sheets"].as_array().expect("sheets");
    assert_eq!(sheets.len(), 1);
    let bought = sheets[0]["sheet_area_mm2"].as_f64().expect("an area");
    assert!((bought - area).abs() < 1.0, "{bought} {area}");
    let margin = job::parse(&second, "second.toml", "")
        .expect("a job")
        .cutting
        .edge_margin;
    let drawn = lines(&again, "sheets/sheet-1.dxf");
    let stock = &drawn["SHEET"][0].0;
    let sides = || {
        drawn["SHEET"]
            .iter()
            .flat_map(|(profile, _)| profile.segments())
    };
    for (part, _) in &drawn["CUT"] {
        for p in part.flatten(0.01) {
            assert!(stock.contains(p, 0.01), "{p:?}");
            let near = sides()
                .map(|Segment { a, b, bulge, .. }| {
                    assert!(bulge.abs() < 1e-12, "remnants are cut straight");
                    let f = ((p - a).dot(b - a) / (b - a).dot(b - a)).clamp(0.0, 1.0);
                    p.distance(a.lerp(b, f))
                })
                .fold(f64::INFINITY, f64::min);
            assert!(near > margin - 0.01, "{p:?} lies {near} mm from the edge");
            if clamped {
                let off = vec2((p.x - 80.0).max(0.0), (p.y - 80.0).max(0.0));
                assert!(off.length() > margin - 0.01, "{p:?} lies near the clamp");
            }
        }
    }
    // Its quantity is one: a boat twice as long has no stock.
    let job = job::parse(&second, "second.toml", "").expect("a job");
    assert_eq!(job.sheets[0].quantity, Some(1));
    assert!(job.sheets[0].shape.is_none());
}

/// A remnant whose box is larger than any sheet, and its plate far smaller, is
/// no reason for pieces that nothing holds.
#[test]
fn an_odd_remnant_beside_a_sheet_does_not_lengthen_the_pieces() {
    let ell = "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n\
               0\nLWPOLYLINE\n8\nSHEET\n90\n6\n70\n1\n10\n0\n20\n0\n10\n5000\n20\n0\n10\n5000\n20\n200\n\
               10\n200\n20\n200\n10\n200\n20\n2000\n10\n0\n20\n2000\n0\nENDSEC\n0\nEOF\n";
    let remnant = "[[sheet]]\nname = \"ell\"\nremnant = \"ell.dxf\"\n[cutting]";
    let job = job("1.6 m", "1 m", "").replace("[cutting]", remnant);
    let shop = Shop::new(&[
        ("job.toml", &job),
        ("edge.csv", &edge(true)),
        ("ell.dxf", ell),
    ]);
    let built = shop.build(&[]);
    for kind in ["base-plate", "top-plate"] {
        for name in built.names(kind) {
            assert!(built.number(&name, "length_mm") <= 1580.0, "{name}");
        }
    }
}

/// Rows of 14 mm holes in both plates, the top plate of 6 mm: sheets of both
/// thicknesses, cut by plasma.
fn bolted(small_holes: &str) -> String {
    let rows = |plate: &str, diameter: u32| {
        format!(
            "[{plate}.fasteners]\ndiameter = \"{diameter} mm\"\nspacing = \"300 mm\"\n\
             outboard_row = \"40 mm\"\ninboard_row = \"40 mm\"\n"
        )
    };
    let thin = "[[sheet]]\nname = \"thin\"\nlength = \"4 m\"\nwidth = \"2 m\"\nthickness = \"6 mm\"\n\
                alloy = \"5086-H116\"\n[cutting]";
    job(
        "4 m",
        "2 m",
        &format!("small_holes = \"{small_holes}\"\ndrill_s = 30"),
    )
    .replace("process = \"waterjet\"", "process = \"plasma\"")
    .replace("kerf = \"1 mm\"", "kerf = \"3 mm\"")
    .replace("gap = \"6 mm\"", "gap = \"8 mm\"")
    .replace(
        "width = \"130 mm\"\nthickness = \"12.7 mm\"",
        "width = \"130 mm\"\nthickness = \"6 mm\"",
    )
    .replace("[top]", &format!("{}[top]", rows("base", 14)))
    .replace("[section]", &format!("{}[section]", rows("top", 14)))
    .replace("[cutting]", thin)
}

/// Profiles, their length, strokes of the marker and their length, of all
/// sheets as drawn.
fn drawn_figures(built: &Built) -> (usize, f64, usize, f64) {
    let mut out = (0, 0.0, 0, 0.0);
    for sheet in built.summary["sheets"].as_array().expect("sheets") {
        let file = format!("sheets/{}.dxf", sheet["name"].as_str().expect("a name"));
        let drawn = lines(built, &file);
        for layer in ["CUT", "HOLE"] {
            for (path, closed) in drawn.get(layer).map_or(&[][..], Vec::as_slice) {
                assert!(closed);
                out.0 += 1;
                out.1 += path.perimeter();
            }
        }
        let text = built.text(&file);
        let drawing = dxf::Drawing::load(&mut text.as_bytes()).expect("a DXF file");
        for e in drawing.entities() {
            if let dxf::entities::EntityType::Circle(c) = &e.specific {
                out.0 += 1;
                out.1 += 2.0 * PI * c.radius;
            }
        }
        for (stroke, _) in &drawn["MARK"] {
            out.2 += 1;
            let way = stroke.vertices.windows(2);
            out.3 += way.map(|w| w[0].at.distance(w[1].at)).sum::<f64>();
        }
    }
    out
}

#[test]
fn every_report_tells_the_cuts_and_marks_that_the_sheet_files_hold() {
    for small in ["cut", "drill"] {
        let shop = Shop::new(&[("job.toml", &bolted(small)), ("edge.csv", &edge(true))]);
        let built = shop.build(&[]);
        let told = &built.summary["cutting"];
        let count = |key: &str| {
            usize::try_from(told[key].as_u64().expect("a count")).expect("a small count")
        };
        let number = |key: &str| told[key].as_f64().expect("a number");
        let (profiles, length, strokes, marked) = drawn_figures(&built);
        assert_eq!(count("pierces"), profiles, "{small}");
        assert!((number("cut_length_mm") - length).abs() < 0.05, "{small}");
        assert!(
            (number("kerf_loss_mm2") - 3.0 * length).abs() < 0.2,
            "{small}"
        );
        assert_eq!(count("mark_strokes"), strokes, "{small}");
        assert!((number("mark_length_mm") - marked).abs() < 0.5, "{small}");
        assert!(number("mark_time_s") > marked / 5000.0 * 60.0, "{small}");
        let seconds = 30.0 * count("holes_to_drill") as f64;
        assert!((number("drill_time_s") - seconds).abs() < 1e-9, "{small}");
        // No other figure of cutting stands beside these.
        for place in [&built.summary["yield"], &built.summary["sheets"][0]] {
            assert!(place["pierces"].is_null() && place["cut_length_mm"].is_null());
        }
        let report = built.text("yield.txt");
        assert_eq!(report.matches("pierces").count(), 1, "{report}");
        // The estimate's choice is the same job.
        let done = command()
            .args(["estimate", "--quick", "--no-variations", "--json"])
            .arg(shop.path().join("job.toml"))
            .assert()
            .success();
        let estimate: serde_json::Value =
            serde_json::from_slice(&done.get_output().stdout).expect("JSON");
        let figures = &estimate["choices"][0]["figures"];
        for key in [
            "pierces",
            "holes_to_drill",
            "holes_too_small",
            "mark_strokes",
        ] {
            assert_eq!(figures[key], told[key], "{small}: {key}");
        }
    }
}

/// By the plasma rule, 1.5 t: 14 mm is below 19.05 mm in the base plate and
/// above 9 mm in the top plate.
#[test]
fn small_holes_are_judged_in_every_thickness_and_warned_of_once() {
    let build = |small: &str| {
        let shop = Shop::new(&[("job.toml", &bolted(small)), ("edge.csv", &edge(true))]);
        shop.build(&[])
    };
    let cut = build("cut");
    let holes: u64 = (cut.names("base-plate").iter())
        .map(|name| cut.entry(name)["holes"].as_u64().expect("a count"))
        .sum();
    assert!(holes > 4);
    assert_eq!(cut.summary["cutting"]["holes_too_small"], holes);
    let told: Vec<&str> = (cut.summary["warnings"].as_array().expect("warnings").iter())
        .filter_map(|w| w.as_str())
        .filter(|w| w.contains("below its smallest hole"))
        .collect();
    assert_eq!(told.len(), 1, "{told:?}");
    let start = format!("{holes} holes are cut by plasma below its smallest hole of 19");
    assert!(told[0].starts_with(&start), "{told:?}");
    assert!(
        told[0].contains(" in plate of 12.7 mm: set cutting.small_holes"),
        "{told:?}"
    );
    // The rules of both thicknesses stand in the report.
    let report = cut.text("yield.txt");
    for row in ["12.7 mm", "6.0 mm"] {
        assert!(
            report
                .lines()
                .any(|l| l.trim_start().starts_with(row) && l.contains("mm/min"))
        );
    }
    let drilled = build("drill");
    let cutting = &drilled.summary["cutting"];
    assert_eq!(cutting["holes_to_drill"], holes);
    assert_eq!(cutting["holes_too_small"], 0);
    assert!(
        !drilled
            .text("yield.txt")
            .contains("below its smallest hole")
    );
}
