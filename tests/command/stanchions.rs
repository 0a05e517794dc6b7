//! Stanchions through the command: their numbers, the sense of their angles,
//! and their cuts, against closed forms and mirror images.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::fs;
use std::path::Path;

use serde_json::Value;

use super::shapes::exact_job;
use super::shop::{Built, Shop};
use crate::broken::folder;

/// The stanchions by name.
fn by_name(built: &Built) -> BTreeMap<String, Value> {
    let all = built.summary["stanchions"].as_array().expect("stanchions");
    let named = |s: &Value| (s["name"].as_str().expect("a name").to_owned(), s.clone());
    all.iter().map(named).collect()
}

fn figure(s: &Value, key: &str) -> f64 {
    let found = key.split('.').fold(s, |v, k| &v[k]);
    found.as_f64().unwrap_or_else(|| panic!("{key} of {s}"))
}

fn near(got: f64, want: f64, within: f64, what: &str) {
    assert!((got - want).abs() <= within, "{what}: {got}, not {want}");
}

/// Two straight sides with an even sheer and an even slope: rise forward per
/// unit `grade`, inboard `slope`.
fn straight_sides(grade: f64, slope: f64, lean: f64) -> Built {
    let files = "[[survey.file]]\npath = \"port.csv\"\nform = \"points\"\nside = \"port\"\n[[survey.file]]\npath = \"starboard.csv\"\nform = \"points\"\nside = \"starboard\"";
    let job = exact_job(
        "",
        &format!("lean_deg = {lean:.12}"),
        "slope = \"level\"",
        "",
    )
    .replace(
        "[[survey.file]]\npath = \"edge.csv\"\nform = \"points\"",
        files,
    );
    let side = |name: &str, y: f64| {
        let mut csv = String::from("x,y,z,side,slope\n");
        for i in 0..15 {
            let x = 3500.0 - 250.0 * f64::from(i);
            writeln!(csv, "{x},{y},{:.9},{name},{slope:.12}", 600.0 + grade * x).expect("text");
        }
        csv
    };
    Shop::new(&[
        ("job.toml", &job),
        ("port.csv", &side("port", 1500.0)),
        ("starboard.csv", &side("starboard", -1500.0)),
    ])
    .build(&[])
}

/// A foot on a plane sloping alpha fore-and-aft and beta athwart: saw mitre
/// alpha, blade tilt atan(tan beta cos alpha); 4/2.5 -> 4, 2.494 and 10/10 ->
/// 10, 9.851 degrees. The lean is such that the head stands right over the foot: the
/// plate's upper face lies h = 12.7 mm along its normal, which leans h s / K
/// outboard, K = sqrt(1 + g^2 + s^2).
#[test]
fn feet_are_cut_to_a_sloping_plane_with_the_same_sense_on_both_sides() {
    for (alpha, beta, tilt) in [
        (4.0_f64, 2.5_f64, 2.494),
        (10.0, 10.0, 9.851),
        (-4.0, -2.5, -2.494),
    ] {
        let (g, s) = (libm::tan(alpha.to_radians()), libm::tan(beta.to_radians()));
        let (h, height, side) = (12.7, 800.0, 101.6);
        let k = (1.0 + g * g + s * s).sqrt();
        let lean = libm::atan(h * s / (k * height));
        let built = straight_sides(g, s, lean.to_degrees());
        let all = by_name(&built);
        assert!(all.len() >= 8, "{}", all.len());
        // Upper face of the base plate to the lower face of the top plate, plumb, at the outboard
        // face; and from the low corner of the foot to the high corner of the head.
        let plumb = height - h * (1.0 + g * g).sqrt() + s * h * s / k - h * k;
        let low = s.min(0.0) * side - g.abs() * side / 2.0;
        let long = plumb + g.abs() * side / 2.0 - low;
        for (name, p) in &all {
            near(figure(p, "foot_rise_forward_deg"), alpha, 1e-4, name);
            near(figure(p, "foot_rise_inboard_deg"), beta, 1e-4, name);
            near(figure(p, "foot_saw_tilt_deg"), tilt, 5e-4, name);
            near(figure(p, "head_rise_forward_deg"), alpha, 1e-4, name);
            near(figure(p, "head_rise_inboard_deg"), 0.0, 1e-4, name);
            near(figure(p, "lean_outboard_deg"), 0.0, 1e-4, name);
            near(figure(p, "foot_gap_mm"), 0.0, 1e-5, name);
            near(figure(p, "head_gap_mm"), 0.0, 1e-5, name);
            near(figure(p, "length_mm"), long, 1e-3, name);
        }
        // 1P stands opposite 1S, both foremost.
        for n in 1..=all.len() / 2 {
            let (p, s) = (&all[&format!("{n}P")], &all[&format!("{n}S")]);
            for (key, sign) in [("foot_mm.x", 1.0), ("foot_mm.y", -1.0), ("foot_mm.z", 1.0)] {
                near(figure(p, key), sign * figure(s, key), 1e-3, key);
            }
            if n > 1 {
                assert!(figure(p, "foot_mm.x") < figure(&all[&format!("{}P", n - 1)], "foot_mm.x"));
            }
        }
    }
}

/// On a sheer of circular arc a seat is a cylinder across the boat: at its
/// lowest or highest place the cut is square and the gap the sagitta r -
/// sqrt(r^2 - 50.8^2), r of the face that the tube meets.
#[test]
fn a_curved_seat_leaves_its_sagitta_for_the_weld() {
    let radius = 3000.0;
    for hollow in [true, false] {
        let mut csv = String::from("x,y,z,side,slope\n");
        for i in 0..61 {
            let a = 0.3 * (1.0 - f64::from(i) / 30.0);
            let rise = radius * (1.0 - libm::cos(a));
            let z = if hollow { 500.0 + rise } else { 900.0 - rise };
            writeln!(csv, "{:.9},2000,{z:.9},port,0", radius * libm::sin(a)).expect("text");
        }
        let job = exact_job("", "", "slope = \"level\"", "").replace(
            "spacing = \"900 mm\"",
            "at = [{ side = \"port\", station = \"0 mm\" }]",
        );
        let built = Shop::new(&[("job.toml", &job), ("edge.csv", &csv)]).build(&[]);
        let all = by_name(&built);
        let p = &all["1P"];
        let towards = if hollow { -12.7 } else { 12.7 };
        for (end, r) in [("foot", radius + towards), ("head", radius - towards)] {
            let half: f64 = 50.8;
            let sagitta = r - (r * r - half * half).sqrt();
            near(figure(p, &format!("{end}_gap_mm")), sagitta, 1e-3, end);
            near(
                figure(p, &format!("{end}_rise_forward_deg")),
                0.0,
                1e-3,
                end,
            );
            near(
                figure(p, &format!("{end}_rise_inboard_deg")),
                0.0,
                1e-3,
                end,
            );
        }
    }
}

/// The sound job's boat, whose sides differ, and its mirror image: each
/// stanchion of one has the figures of its opposite in the other.
#[test]
fn a_mirrored_boat_has_the_other_sides_figures() {
    let good = folder("good");
    let text = |name: &str| good[name].clone();
    let swap = |t: &str| {
        t.replace("port", "?")
            .replace("starboard", "port")
            .replace('?', "starboard")
    };
    // y and inboard_y change sign; the column's place is known from the header.
    let turned = |t: &str| {
        let mut heads: Vec<String> = Vec::new();
        let lines = t.lines().map(|l| {
            let cells: Vec<&str> = l.split(',').map(str::trim).collect();
            if l.starts_with('#') || l.trim().is_empty() {
                return l.to_owned();
            }
            if heads.is_empty() {
                heads = cells.iter().map(|c| (*c).to_owned()).collect();
                return l.to_owned();
            }
            let cell = |(h, c): (&String, &&str)| match c.parse::<f64>() {
                Ok(v) if h.ends_with('y') => format!("{}", -v),
                _ => (*c).to_owned(),
            };
            heads
                .iter()
                .zip(&cells)
                .map(cell)
                .collect::<Vec<_>>()
                .join(",")
        });
        lines.collect::<Vec<_>>().join("\n")
    };
    // Spaced so that one stands on the centreline.
    let job = text("job.toml").replace("spacing = \"750 mm\"", "spacing = \"850 mm\"");
    let sides = ["port.csv", "stern.csv", "starboard.csv"].map(|n| (n, text(n)));
    let files = |job: &str, tables: &[(&str, String)]| {
        let mut all = vec![("job.toml", job)];
        all.extend(tables.iter().map(|(n, t)| (*n, t.as_str())));
        Shop::new(&all).build(&[])
    };
    let as_is = by_name(&files(&job, &sides));
    let mirror = sides.map(|(n, t)| {
        let other = match n {
            "port.csv" => "starboard.csv",
            "starboard.csv" => "port.csv",
            _ => n,
        };
        (other, swap(&turned(&t)))
    });
    let mirrored = by_name(&files(&swap(&job), &mirror));
    assert_eq!(as_is.len(), mirrored.len());
    assert!(as_is.contains_key("1C") && as_is.len() == 29);
    for (name, a) in &as_is {
        let other = match name.split_at(name.len() - 1) {
            (n, "P") => format!("{n}S"),
            (n, "S") => format!("{n}P"),
            _ => name.clone(),
        };
        let b = mirrored.get(&other).unwrap_or_else(|| panic!("no {other}"));
        let map = a.as_object().expect("an object");
        let mut compared = 0;
        for key in map
            .keys()
            .filter(|k| k.ends_with("_deg") || k.ends_with("gap_mm") || *k == "length_mm")
        {
            // On the centreline forward is to port, where there is no forward.
            let sign = if other == *name && key.contains("forward") {
                -1.0
            } else {
                1.0
            };
            near(
                figure(b, key),
                sign * figure(a, key),
                2e-4,
                &format!("{key} of {other}"),
            );
            compared += 1;
        }
        assert_eq!(compared, 10);
        for key in ["foot_mm", "head_mm"] {
            for (axis, sign) in [("x", 1.0), ("y", -1.0), ("z", 1.0)] {
                let of = |s: &Value| figure(&s[key], axis);
                near(
                    of(b),
                    sign * of(a),
                    1e-3,
                    &format!("{key}.{axis} of {other}"),
                );
            }
        }
    }
}

/// The senses stand in one text, which goes with the list.
#[test]
fn the_legend_goes_with_the_list() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let legend = fs::read_to_string(root.join("src/report/lists/stanchions-legend.txt"))
        .expect("the legend");
    let built = straight_sides(0.0, 0.0, 0.0);
    assert_eq!(built.text("lists/stanchions-legend.txt"), legend);
    let heads = built.text("lists/stanchions.csv");
    let heads = heads.lines().next().expect("a header");
    for word in [
        "rise_forward",
        "rise_inboard",
        "saw_tilt",
        "gap",
        "lean_outboard",
    ] {
        assert!(
            heads.contains(word) && legend.contains(&format!("\n  {word} ")),
            "{word}"
        );
    }
}
