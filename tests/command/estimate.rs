//! Choices of stock through the whole command.

use std::fs;

use serde_json::Value;

use super::shapes::exact_job;
use super::shop::{Built, Shop, command};

/// Density of 5086 as the stock table has it, 0.096 lb/in3, kg/mm3.
fn density() -> f64 {
    planksheer::stock::alloy("5086-H116")
        .expect("held")
        .density_kg_mm3()
}

/// A straight level edge of 3 m on port.
fn straight() -> String {
    let mut csv = String::from("x,y,z,side,slope\n");
    for i in 0..25 {
        csv.push_str(&format!("{:.6},1500,700,port,0\n", 125.0 * f64::from(i)));
    }
    csv
}

/// The sheets: 4 x 2 m and 1.6 x 1 m, the second in another alloy too.
const SHEETS: &str = r#"
[[sheet]]
name = "small"
length = "1.6 m"
width = "1 m"
thickness = "12.7 mm"
alloy = "5086-H116"
[[sheet]]
name = "small, 5083"
length = "1.6 m"
width = "1 m"
thickness = "12.7 mm"
alloy = "5083-H116"
"#;

/// Invented prices.
const PRICES: &str = r#"
[prices]
currency = "EUR"
per_kg = { "5086-H116" = 9.0, "5083-H116" = 10.0 }
scrap_per_kg = 1.5
cutting_per_hour = 90
weld = { filler_per_kg = 20, filler_kg_per_m = 0.5, labour_per_hour = 60, minutes_per_m = 30, prep_minutes_per_butt = 10 }
"#;

fn job(more: &str) -> String {
    let sound = exact_job("", "", "slope = \"level\"", "stagger = \"0 mm\"")
        .replace("name = \"test sheet\"", "name = \"large\"")
        .replace(
            "length = \"12 m\"\nwidth = \"12 m\"",
            "length = \"4 m\"\nwidth = \"2 m\"",
        );
    format!("{sound}{SHEETS}{PRICES}{more}")
}

fn shop(job: &str) -> Shop {
    Shop::new(&[("job.toml", job), ("edge.csv", &straight())])
}

/// The JSON of a quick estimate with further arguments.
fn told(shop: &Shop, more: &[&str]) -> Value {
    told_as_asked(shop, &[&["--quick"], more].concat())
}

/// The JSON of an estimate with these arguments alone.
fn told_as_asked(shop: &Shop, more: &[&str]) -> Value {
    let done = command()
        .arg("estimate")
        .arg(shop.path().join("job.toml"))
        .arg("--json")
        .args(more)
        .assert()
        .success();
    serde_json::from_slice(&done.get_output().stdout).expect("JSON")
}

fn choice<'a>(told: &'a Value, name: &str) -> &'a Value {
    let all = told["choices"].as_array().expect("choices");
    let also = |c: &Value| c["also"].as_array().expect("names").contains(&name.into());
    all.iter()
        .find(|c| c["name"] == name || also(c))
        .unwrap_or_else(|| panic!("no choice {name}: {told:#}"))
}

fn number(choice: &Value, key: &str) -> f64 {
    choice["figures"][key]
        .as_f64()
        .unwrap_or_else(|| panic!("no {key}: {choice:#}"))
}

fn near(got: f64, want: f64, within: f64) {
    assert!((got - want).abs() <= within, "{got} is not {want}");
}

// A base plate of 3000 x 180 mm and a top plate of 3000 x 130 mm. On the large
// sheet each is one piece; on small ones of 1580 mm clear length each has one
// butt, which takes (2 - 1) mm of metal, and is welded over the plate's width.
#[test]
fn costs_are_those_worked_out_by_hand() {
    let shop = shop(&job(""));
    let told = told(&shop, &["--no-variations"]);
    let per_mm2 = 12.7 * density();
    for (name, sheet, butts, weld) in [
        ("large", 4000.0 * 2000.0, 0.0, 0.0),
        ("small", 1600.0 * 1000.0, 2.0, 310.0),
    ] {
        let c = choice(&told, name);
        let count = number(c, "sheets");
        near(count, 1.0, 0.0);
        near(number(c, "butts"), butts, 0.0);
        near(number(c, "mitres"), 0.0, 0.0);
        near(number(c, "weld_length_mm"), weld, 1e-3);
        let gone = if butts > 0.0 { 1.0 } else { 0.0 };
        let used = (3000.0 - gone) * 310.0;
        near(number(c, "used_area_mm2"), used, 1.0);
        near(number(c, "yield"), used / sheet, 1e-6);
        let (bought, parts) = (sheet * per_mm2, used * per_mm2);
        near(number(c, "mass_bought_kg"), bought, 1e-6);
        near(number(c, "mass_wasted_kg"), bought - parts, 1e-4);
        near(number(c, "plate"), bought * 9.0, 1e-6);
        near(number(c, "scrap_value"), (bought - parts) * 1.5, 1e-3);
        // 0.5 kg/m at 20, 30 min/m and 10 min a butt at 60 an hour.
        let metres = weld / 1000.0;
        let welding = metres * 0.5 * 20.0 + metres * 30.0 + butts * 10.0;
        near(number(c, "welding"), welding, 1e-4);
        let cut = 2.0 * 2.0 * (3000.0 - gone) + (2.0 + butts) * 310.0;
        near(number(c, "cut_length_mm"), cut, 0.1);
        near(number(c, "pierces"), 2.0 + butts, 0.0);
        near(number(c, "cutting"), number(c, "cut_time_s") / 40.0, 1e-9);
        let sum = number(c, "plate") - number(c, "scrap_value")
            + number(c, "welding")
            + number(c, "cutting");
        near(number(c, "cost"), sum, 1e-9);
    }
    // Best first; of equals the first given leads.
    let names: Vec<&str> = told["choices"]
        .as_array()
        .expect("choices")
        .iter()
        .filter_map(|c| c["name"].as_str())
        .collect();
    // With all on offer the plates are laid out in pieces of 3 m, for which
    // the large sheet is needed: it is the same purchase, named in one row.
    assert_eq!(names, ["small", "large"]);
    assert_eq!(
        choice(&told, "large")["also"],
        serde_json::json!(["all on offer"])
    );
}

/// Two plates on one sheet of 4 x 2 m, or of 1.6 x 1 m: one is the least.
#[test]
fn choices_are_nested_at_normal_effort_and_every_row_says_its_own() {
    let shop = shop(&job(""));
    for (asked, choices, variations) in [
        (&[][..], "normal", "quick"),
        (&["--quick"], "quick", "quick"),
    ] {
        let told = told_as_asked(&shop, asked);
        assert_eq!(
            (&told["effort"], &told["variations_effort"]),
            (&choices.into(), &variations.into())
        );
        for (rows, effort) in [("choices", choices), ("variations", variations)] {
            for row in told[rows].as_array().expect("rows") {
                let figures = &row["figures"];
                if !figures.is_null() {
                    assert_eq!(figures["effort"], effort, "{rows}");
                    assert_eq!(figures["sheets_at_least"], 1, "{rows}");
                    let number = |key: &str| figures[key].as_f64().expect("a number");
                    assert!(number("mass_at_least_kg") <= number("mass_bought_kg") + 1e-9);
                    assert!(number("plate_at_least") <= number("plate") + 1e-9);
                }
            }
        }
    }
    // A build says at which effort the sizes alone were nested.
    let out = shop.path().join("built");
    command()
        .args(["build", "--effort", "normal", "--out"])
        .arg(&out)
        .arg(shop.path().join("job.toml"))
        .assert()
        .success();
    let built = Built::read(&out);
    assert_eq!(built.summary["yield"]["effort"], "normal");
    for row in built.summary["one_size_alone"].as_array().expect("rows") {
        assert_eq!(
            (&row["effort"], &row["sheets_at_least"]),
            (&"quick".into(), &1.into())
        );
    }
    assert!(
        built
            .text("yield.txt")
            .contains("Nested at quick effort, the sheets above at normal")
    );
}

const CHOICES: &str = r#"
[[estimate.choice]]
name = "too few"
sheets = ["tiny"]
[[estimate.choice]]
name = "large, plasma"
sheets = ["large"]
process = "plasma"
cutting_per_hour = 60
[[estimate.choice]]
name = "5083"
alloy = "5083-H116"
supplier = "Harbour <Plate> (invented)"
per_sheet = { "small, 5083" = 300 }
[[estimate.choice]]
name = "short pieces"
sheets = ["large"]
longest_piece = "1.1 m"
per_kg = { "5086-H116" = 8.0 }
[[sheet]]
name = "tiny"
quantity = 1
length = "1.2 m"
width = "250 mm"
thickness = "12.7 mm"
alloy = "5086-H116"
"#;

#[test]
fn choices_change_alloy_process_length_and_price() {
    let shop = shop(&job(CHOICES));
    let out = shop.path().join("est");
    let told = told(
        &shop,
        &["--no-variations", "--out", out.to_str().expect("a path")],
    );
    let c = choice(&told, "large, plasma");
    assert_eq!(c["process"], "plasma");
    near(c["kerf_mm"].as_f64().expect("a kerf"), 3.0, 0.0);
    near(c["gap_mm"].as_f64().expect("a gap"), 8.0, 0.0);
    near(number(c, "cutting"), number(c, "cut_time_s") / 60.0, 1e-9);
    let c = choice(&told, "5083");
    assert_eq!(c["alloys"][0], "5083-H116");
    near(number(c, "plate"), 300.0, 0.0);
    assert_eq!(c["figures"]["bought"][0]["stock"], "small, 5083");
    // Three pieces of at most 1.1 m in each plate.
    let c = choice(&told, "short pieces");
    near(number(c, "butts"), 4.0, 0.0);
    near(number(c, "weld_length_mm"), 620.0, 1e-3);
    near(number(c, "plate"), 8.0e6 * 12.7 * density() * 8.0, 1e-6);
    // One sheet of 1.2 m does not hold 3 m of plate.
    let last = told["choices"]
        .as_array()
        .expect("choices")
        .last()
        .expect("one");
    assert_eq!(last["name"], "too few");
    assert!(last["rank"].is_null() && last["figures"].is_null());
    assert!(
        !last["cannot_be_made"]
            .as_str()
            .expect("a reason")
            .is_empty()
    );
    let page = fs::read_to_string(out.join("estimate.html")).expect("a page");
    assert!(page.contains("Harbour &lt;Plate&gt;") && !page.contains("<Plate>"));
    assert_eq!(page.matches("<svg").count(), 3);
    for name in ["estimate.txt", "estimate.csv", "estimate.json"] {
        assert!(out.join(name).is_file(), "{name}");
    }
    assert!(!out.join("variations.csv").exists());
}

#[test]
fn one_thread_and_two_tell_the_same_with_variations() {
    let shop = shop(&job(""));
    let mut texts = Vec::new();
    for n in ["1", "2"] {
        let out = shop.path().join(n);
        told(
            &shop,
            &["--threads", n, "--out", out.to_str().expect("a path")],
        );
        let files = [
            "estimate.txt",
            "estimate.csv",
            "estimate.json",
            "estimate.html",
            "variations.csv",
        ];
        texts.push(files.map(|f| fs::read_to_string(out.join(f)).expect("written")));
    }
    assert_eq!(texts[0], texts[1]);
    let json: Value = serde_json::from_str(&texts[0][2]).expect("JSON");
    let rows = json["variations"].as_array().expect("variations");
    let of = |what: &str| -> Vec<&Value> { rows.iter().filter(|r| r["of"] == what).collect() };
    // Gaps of 3, 6, 9 and 12 mm.
    let gaps: Vec<f64> = of("gap")
        .iter()
        .filter_map(|r| r["value_mm"].as_f64())
        .collect();
    assert_eq!(gaps, [3.0, 6.0, 9.0, 12.0]);
    // A base plate 15 mm wider is 15 x 2999 mm2 more.
    let widths = of("base-width");
    let area = |r: &Value| r["figures"]["used_area_mm2"].as_f64().expect("an area");
    near(area(widths[2]) - area(widths[1]), 15.0 * 2999.0, 1.0);
    near(area(widths[1]) - area(widths[0]), 15.0 * 2999.0, 1.0);
    assert_eq!(widths[1]["as_it_stands"], true);
    // Plumb stanchions on a straight level edge: the height changes no plate.
    for r in of("height") {
        near(area(r), area(widths[1]), 1.0);
    }
    // The cap of 200 mm covers a top plate of 160 mm and no more: 145 is well.
    assert!(
        of("top-width")
            .iter()
            .all(|r| r["cannot_be_made"].is_null())
    );
}

#[test]
fn a_row_s_own_height_is_raised_with_the_job_s() {
    let lean = straight().replace("side,slope", "side,slope,bulwark_height,lean_deg");
    let csv = lean.replace("port,0\n", "port,0,700,10\n");
    let shop = Shop::new(&[("job.toml", &job("")), ("edge.csv", &csv)]);
    let told = told(&shop, &[]);
    let rows = told["variations"].as_array().expect("variations");
    assert!(
        rows.iter()
            .filter(|r| r["of"] == "height")
            .all(|r| r["cannot_be_made"].is_null())
    );
    assert_eq!(rows.iter().filter(|r| r["of"] == "height").count(), 4);
}

// Two straight legs that meet at 40 degrees: a mitre on the bisector is
// w / cos 20 degrees long, 310 / cos 20 for both plates.
#[test]
fn a_mitre_is_a_weld_of_its_own_length() {
    let mut csv = String::from("x,y,z,side,slope,knuckle\n");
    for i in 0..=16 {
        let knuckle = if i == 16 { "yes" } else { "" };
        csv.push_str(&format!("{},1500,700,port,0,{knuckle}\n", 2000 - 125 * i));
    }
    let turn = 40.0_f64.to_radians();
    for i in 1..=12 {
        let along = 125.0 * f64::from(i);
        let (x, y) = (-along * libm::cos(turn), 1500.0 - along * libm::sin(turn));
        csv.push_str(&format!("{x:.9},{y:.9},700,port,0,\n"));
    }
    let shop = Shop::new(&[("job.toml", &job("")), ("edge.csv", &csv)]);
    let told = told(&shop, &["--no-variations"]);
    let c = choice(&told, "large");
    near(number(c, "mitres"), 2.0, 0.0);
    near(number(c, "butts"), 0.0, 0.0);
    let length = 310.0 / libm::cos(turn / 2.0);
    near(number(c, "weld_length_mm"), length, 0.01);
    // 0.5 kg/m at 20, 30 min/m and 10 min each at 60 an hour.
    near(number(c, "welding"), length * 0.04 + 20.0, 1e-3);
}

fn refused(shop: &Shop, more: &[&str]) -> String {
    let done = command()
        .arg("estimate")
        .arg(shop.path().join("job.toml"))
        .args(more)
        .assert()
        .code(1);
    String::from_utf8(done.get_output().stderr.clone()).expect("text")
}

#[test]
fn what_cannot_be_estimated_is_refused_with_its_reason() {
    // No choice can be made.
    let none = job(CHOICES)
        .replace("sheets = [\"large\"]", "sheets = [\"tiny\"]")
        .replace(
            "alloy = \"5083-H116\"\nsupplier",
            "sheets = [\"tiny\"]\nsupplier",
        );
    let s = shop(&none);
    let said = refused(&s, &[]);
    assert!(
        said.contains("choice `too few` cannot be made") && said.contains("mend:"),
        "{said}"
    );
    assert!(said.contains("choice `5083` cannot be made"), "{said}");
    // Wrong input: a sheet that is not there, a folder of something else.
    let s = shop(&job(
        &CHOICES.replace("sheets = [\"tiny\"]", "sheets = [\"tinny\"]")
    ));
    let said = refused(&s, &[]);
    assert!(
        said.contains("estimate.choice[1].sheets") && said.contains("did you mean `tiny`"),
        "{said}"
    );
    let s = shop(&job(""));
    fs::create_dir(s.path().join("other")).expect("made");
    fs::write(s.path().join("other/letters.txt"), "mine").expect("written");
    let other = s.path().join("other");
    assert!(
        refused(&s, &["--out", other.to_str().expect("a path")]).contains("not an earlier output")
    );
    command().arg("estimate").assert().code(2);
    command()
        .args(["estimate", "x.toml", "--quick", "--effort", "long"])
        .assert()
        .code(2);
}
