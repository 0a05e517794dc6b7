//! Butts chosen with the nest, and pieces kept narrow, through the command.

use super::cutting::{edge, job};
use super::shop::{Built, Shop};

/// Two arcs of 3 m on sheets that hold one of them whole; cut at their
/// middles, which stand a quarter as high, one sheet holds both.
fn arcs(joints: &str, labour_per_hour: f64) -> Built {
    let job = job("3.2 m", "0.45 m", "").replace(
        "[output]",
        &format!(
            "[prices]\ncurrency = \"USD\"\nper_kg = {{ \"5086-H116\" = 10 }}\nweld = {{ filler_per_kg = 20, \
             filler_kg_per_m = 0.5, labour_per_hour = {labour_per_hour}, minutes_per_m = 30, \
             prep_minutes_per_butt = 10 }}\n[output]"
        ),
    );
    let job = job.replace("[joints]\n", &format!("[joints]\n{joints}\n"));
    let shop = Shop::new(&[("job.toml", &job), ("edge.csv", &edge(true))]);
    shop.build(&[])
}

fn butts(built: &Built) -> usize {
    let joints = built.summary["joints"].as_array().expect("joints");
    joints.iter().filter(|j| j["form"] == "butt").count()
}

fn sheets(built: &Built) -> usize {
    built.summary["sheets"].as_array().expect("sheets").len()
}

#[test]
fn a_sheet_is_saved_by_two_butts_where_welds_are_cheap() {
    let few = arcs("", 60.0);
    assert_eq!((butts(&few), sheets(&few)), (0, 2));
    let nested = arcs("butts = \"nested\"", 60.0);
    assert_eq!((butts(&nested), sheets(&nested)), (2, 1));
    // A sheet of 3.2 x 0.45 m is 48.6 kg at 2660 kg/m3: 486 at 10 a kg. Welds
    // of 180 and 130 mm: 0.31 m of 0.5 kg/m at 20, and 0.31 m of 30 min/m and
    // twice 10 min at 60 an hour.
    let rows = nested.summary["butt_trials"].as_array().expect("trials");
    let taken = rows
        .iter()
        .find(|r| r["taken"] == true)
        .expect("one is taken");
    let sheet = &nested.summary["yield"];
    let plate = sheet["cost"].as_f64().expect("a cost");
    let weld = 0.31 * 0.5 * 20.0 + (0.31 * 30.0 + 20.0) / 60.0 * 60.0;
    let cost = taken["cost"].as_f64().expect("a cost");
    assert!((cost - plate - weld).abs() < 0.01, "{cost} {plate} {weld}");
    assert!(
        (plate - 10.0 * 3.2 * 0.45 * 12.7 * 2.66).abs() < 1.0,
        "{plate}"
    );
    let first = &rows[0];
    assert_eq!((&first["butts"], &first["sheets"]), (&0.into(), &2.into()));
    assert!(
        nested
            .text("yield.txt")
            .contains("BUTTS CHOSEN WITH THE NEST")
    );
}

#[test]
fn the_sheet_is_bought_where_welds_are_dear() {
    let nested = arcs("butts = \"nested\"", 60_000.0);
    assert_eq!((butts(&nested), sheets(&nested)), (0, 2));
}

/// An arc of a chord c is deeper than the plate by about c^2 / 8 R.
#[test]
fn a_limit_of_width_cuts_curved_plates_short() {
    let limited = arcs("widest_piece = \"220 mm\"", 60.0);
    for (kind, plate) in [("base-plate", 180.0), ("top-plate", 130.0)] {
        let names = limited.names(kind);
        for name in &names {
            let width = limited.number(name, "width_mm");
            assert!(width <= 220.0 && width > plate, "{name} is {width} mm wide");
        }
        let fewest = if plate > 150.0 { 3 } else { 2 };
        assert_eq!(names.len(), fewest, "{kind}");
    }
}
