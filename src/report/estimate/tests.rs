//! Ranking, sums and what is read, on made-up figures.

use super::*;
use crate::cut;
use crate::job::Effort;
use crate::length::Show;
use crate::report::facts::{Least, Sums};
use crate::sample;

/// Made-up figures: mass bought, plate, welding, cutting.
fn figures(bought: f64, plate: Option<f64>, welding: Option<f64>, cutting: Option<f64>) -> Figures {
    Figures {
        bought: [("5 x 12 ft", 2), ("6 x 20 ft", 1)]
            .map(|(stock, count)| Bought {
                stock: stock.into(),
                thickness: 12.7,
                count,
            })
            .to_vec(),
        total: Sums {
            sheets: 3,
            parts: 38,
            sheet_area: 20.0e6,
            used_area: 15.0e6,
            used_length_area: 18.0e6,
            mass_bought: bought,
            mass_used: 300.0,
            cost: plate,
            scrap_value: 50.0,
        },
        least: Least {
            sheets: 2,
            mass: 380.0,
            cost: plate.map(|p| 0.8 * p),
        },
        effort: Effort::Quick,
        largest_offcut: 1.5e6,
        welds: Welds {
            butts: 20,
            mitres: 2,
            length: 3_500.0,
            cost: welding,
        },
        cut: cut::Figures {
            pierces: 685,
            cut_length: 168_050.0,
            time_s: cutting.map(|_| 5_400.0),
            drilled: 24,
            drill_time_s: 1_080.0,
            mark_strokes: 900,
            mark_length: 61_000.0,
            mark_time_s: Some(1_500.0),
            ..cut::Figures::default()
        },
        cutting,
    }
}

fn tried(name: &str, outcome: Result<Figures, String>) -> Tried {
    Tried {
        name: name.into(),
        also: Vec::new(),
        supplier: String::new(),
        alloys: vec!["5086-H116".into()],
        process: "plasma".into(),
        kerf: 3.0,
        gap: 8.0,
        machine: [None; 6],
        outcome,
        pictures: Vec::new(),
        given: 0,
    }
}

fn names(estimate: &Estimate) -> Vec<&str> {
    estimate.choices.iter().map(|t| t.name.as_str()).collect()
}

#[test]
fn the_cheapest_is_first_and_what_cannot_be_made_is_last() {
    let f = |plate, welding| Ok(figures(400.0, Some(plate), Some(welding), None));
    let estimate = Estimate::ranked(
        vec![
            tried("never", Err("no sheet holds part B1".into())),
            tried("dear", f(5000.0, 100.0)),
            tried("welded", f(4000.0, 1200.0)),
            tried("cheap", f(4100.0, 100.0)),
            tried("as dear", f(5100.0, 0.0)),
        ],
        Efforts::all(Effort::Quick),
    );
    // 4100 + 100 - 50; 5000 + 100 - 50 twice, in the order given; 5150.
    assert_eq!(
        names(&estimate),
        ["cheap", "dear", "as dear", "welded", "never"]
    );
    let over: Vec<Option<f64>> = estimate
        .choices
        .iter()
        .map(|t| estimate.over_best(t.outcome.as_ref().ok()?))
        .collect();
    assert_eq!(
        over,
        [Some(0.0), Some(900.0), Some(900.0), Some(1000.0), None]
    );
}

#[test]
fn a_line_not_priced_for_all_is_in_no_cost_and_told() {
    let mut estimate = Estimate::ranked(
        vec![
            tried("timed", Ok(figures(400.0, Some(4000.0), None, Some(900.0)))),
            tried("untimed", Ok(figures(400.0, Some(4500.0), None, None))),
        ],
        Efforts::all(Effort::Normal),
    );
    assert_eq!(
        estimate.counted,
        Counted {
            plate: true,
            welding: false,
            cutting: false
        }
    );
    assert_eq!(
        estimate.best().unwrap().1.cost(estimate.counted),
        Some(3950.0)
    );
    estimate.add_notes(&sample::job());
    let told = estimate.notes.join("\n");
    assert!(told.contains("Ranked by cost: plate less scrap."), "{told}");
    assert!(
        told.contains("Not priced, and in no cost: welding"),
        "{told}"
    );
    assert!(
        told.contains("not priced for untimed: machine time"),
        "{told}"
    );
}

#[test]
fn without_prices_the_least_mass_bought_is_first() {
    let mut estimate = Estimate::ranked(
        vec![
            tried("heavy", Ok(figures(500.0, Some(1.0), None, None))),
            tried("light", Ok(figures(400.0, None, None, None))),
        ],
        Efforts::all(Effort::Quick),
    );
    assert_eq!(names(&estimate), ["light", "heavy"]);
    assert_eq!(estimate.best().unwrap().1.cost(estimate.counted), None);
    estimate.add_notes(&sample::job());
    assert!(estimate.notes[0].contains("Ranked by mass bought"));
    assert!(estimate.notes[1].contains("not priced for light: plate"));
}

/// Two choices and one that cannot be made, with variations.
fn sample_estimate() -> Estimate {
    let mut second = tried(
        "5 x 12 ft <plasma> & co",
        Ok(figures(450.0, Some(4600.0), Some(310.5), Some(150.0))),
    );
    second.supplier = "Quay \"Metals\" (invented)".into();
    let best = figures(400.0, Some(4000.0), Some(310.5), Some(150.0));
    let mut estimate = Estimate::ranked(
        vec![
            tried(
                "4 x 8 ft",
                Err("part B1 fits no sheet; list a longer one".into()),
            ),
            second,
            tried("all on offer", Ok(best.clone())),
        ],
        Efforts::all(Effort::Quick),
    );
    let vary = |of, value, own, outcome| Variation {
        of,
        value,
        own,
        outcome,
    };
    let wider = figures(430.0, Some(4300.0), Some(310.5), Some(150.0));
    estimate.variations = vec![
        vary(Varied::Gap, 8.0, true, Ok(best.clone())),
        vary(Varied::Gap, 12.0, false, Ok(wider)),
        vary(Varied::Height, -50.8, false, Ok(best.clone())),
        vary(Varied::Height, 0.0, true, Ok(best)),
        vary(
            Varied::TopWidth,
            145.0,
            false,
            Err("the cap is too narrow; widen it".into()),
        ),
    ];
    estimate.add_notes(&sample::job());
    estimate
}

#[test]
fn estimate_as_read_in_millimetres() {
    insta::assert_snapshot!(estimate_text(&sample_estimate(), &sample::job()));
}

#[test]
fn estimate_as_read_in_feet() {
    let mut job = sample::job();
    job.show = Show::FeetInches;
    insta::assert_snapshot!(estimate_text(&sample_estimate(), &job));
}

/// Rows of a CSV text by heading.
fn csv_rows(text: &str) -> Vec<std::collections::BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let heads = reader.headers().unwrap().clone();
    reader
        .records()
        .map(|r| {
            let r = r.unwrap();
            let own = |c: &str| c.to_owned();
            heads.iter().map(own).zip(r.iter().map(own)).collect()
        })
        .collect()
}

#[test]
fn json_csv_text_and_page_tell_the_same() {
    let (estimate, job) = (sample_estimate(), sample::job());
    let json: serde_json::Value =
        serde_json::from_str(&estimate_json(&estimate, &job).unwrap()).unwrap();
    let rows = csv_rows(&estimate_csv(&estimate, &job).unwrap().1);
    let text = estimate_text(&estimate, &job);
    let page = estimate_page(&estimate, &job);
    let choices = json["choices"].as_array().unwrap();
    assert_eq!((choices.len(), rows.len()), (3, 3));
    for (c, row) in choices.iter().zip(&rows) {
        assert_eq!(c["name"], row["choice"].as_str());
        let Some(f) = c["figures"].as_object() else {
            assert_eq!(c["cannot_be_made"], row["cannot_be_made"].as_str());
            assert!(text.contains(&row["cannot_be_made"]) && page.contains(&row["cannot_be_made"]));
            continue;
        };
        for (key, head, per) in [
            ("yield", "yield_percent", 0.01),
            ("mass_bought_kg", "bought_kg", 1.0),
            ("mass_wasted_kg", "wasted_kg", 1.0),
            ("weld_length_mm", "weld_m", 1000.0),
            ("cut_time_s", "cut_time_min", 60.0),
            ("plate", "plate", 1.0),
            ("plate_at_least", "plate_at_least", 1.0),
            ("sheets_at_least", "sheets_at_least", 1.0),
            ("holes_to_drill", "holes_to_drill", 1.0),
            ("drill_time_s", "drill_time_min", 60.0),
            ("mark_strokes", "mark_strokes", 1.0),
            ("mark_length_mm", "mark_m", 1000.0),
            ("mark_time_s", "mark_time_min", 60.0),
            ("scrap_value", "scrap_value", 1.0),
            ("welding", "welding", 1.0),
            ("cutting", "cutting", 1.0),
            ("cost", "cost", 1.0),
        ] {
            let cell: f64 = row[head].parse().unwrap();
            assert!(
                (f[key].as_f64().unwrap() - cell * per).abs() < 0.006 * per,
                "{key}"
            );
        }
        let lines = ["plate", "welding", "cutting"].map(|k| f[k].as_f64().unwrap());
        let sum = lines.iter().sum::<f64>() - f["scrap_value"].as_f64().unwrap();
        assert!((sum - f["cost"].as_f64().unwrap()).abs() < 1e-9);
        assert!(text.contains(&row["cost"]) && page.contains(&row["cost"]));
    }
    let varied = csv_rows(&variations_csv(&estimate, &job).unwrap().1);
    let told = json["variations"].as_array().unwrap();
    assert_eq!((varied.len(), told.len()), (5, 5));
    for (v, row) in told.iter().zip(&varied) {
        let value: f64 = row["value_mm"].parse().unwrap();
        assert!((v["value_mm"].as_f64().unwrap() - value).abs() < 1e-9);
        assert_eq!(
            v["as_it_stands"].as_bool().unwrap(),
            row["as_it_stands"] == "yes"
        );
    }
}

#[test]
fn names_on_the_page_are_text_and_not_markup() {
    let page = estimate_page(&sample_estimate(), &sample::job());
    assert!(page.contains("5 x 12 ft &lt;plasma&gt; &amp; co"));
    assert!(!page.contains("<plasma>"));
}

#[test]
fn equal_purchases_are_one_row_that_names_them_all() {
    let f = |plate| figures(400.0, Some(plate), Some(310.5), Some(150.0));
    // The same sheets for the same money, laid out otherwise: the torch travels further.
    let mut laid_out_otherwise = f(4000.0);
    laid_out_otherwise.cutting = Some(150.3);
    laid_out_otherwise.cut.time_s = Some(5_410.0);
    let mut more_welds = f(4000.0);
    more_welds.welds.butts += 1;
    let mut other_sheets = f(4000.0);
    other_sheets.bought.truncate(1);
    let mut other_cut = f(4000.0);
    other_cut.cut.pierces += 1;
    let mut waterjet = tried("another process", Ok(f(4000.0)));
    waterjet.process = "waterjet".into();
    let mut supplier = tried("another supplier", Ok(f(4000.0)));
    supplier.supplier = "Quay".into();
    let mut dearer_hour = tried("dearer hour", Ok(f(4000.0)));
    dearer_hour.machine[0] = Some(150.0);
    let estimate = Estimate::ranked(
        vec![
            tried("all on offer", Ok(laid_out_otherwise)),
            tried("long", Ok(f(4000.0))),
            tried("dearer", Ok(f(4000.01))),
            tried("more welds", Ok(more_welds)),
            tried("other sheets", Ok(other_sheets)),
            tried("other cuts", Ok(other_cut)),
            waterjet,
            supplier,
            dearer_hour,
        ],
        Efforts::all(Effort::Quick),
    );
    let titles: Vec<String> = estimate.choices.iter().map(Tried::title).collect();
    assert_eq!(titles.len(), 8, "{titles:?}");
    assert!(
        titles.contains(&"long; all on offer".to_owned()),
        "{titles:?}"
    );
    let text = estimate_text(&estimate, &sample::job());
    let json: serde_json::Value =
        serde_json::from_str(&estimate_json(&estimate, &sample::job()).unwrap()).unwrap();
    let also = json["choices"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|c| c["also"] != serde_json::json!([]));
    assert_eq!(also.count(), 1);
    assert!(text.contains("  long; all on offer "), "{text}");
}

#[test]
fn of_two_thicknesses_what_is_bought_tells_which() {
    let mut f = figures(400.0, None, None, None);
    f.bought[1].thickness = 6.0;
    let t = tried("two", Ok(f.clone()));
    assert_eq!(
        text::bought(&f, &t, Show::Mm),
        "3 sheets, 2 at least by area, nested at quick effort: 2 of 5 x 12 ft (12.7 mm), 1 of \
         6 x 20 ft (6.0 mm); 5086-H116; plasma, kerf 3.0 mm, gap 8.0 mm"
    );
}

#[test]
fn two_efforts_are_never_told_as_one() {
    let mut estimate = sample_estimate();
    estimate.efforts.choices = Effort::Normal;
    let job = sample::job();
    let text = estimate_text(&estimate, &job);
    let page = estimate_page(&estimate, &job);
    for told in [
        "Every choice is nested at normal effort, variations of the best at quick.",
        "nested anew at quick effort",
    ] {
        let one_line = text.replace("\n  ", " ");
        assert!(
            one_line.contains(told) && page.contains(told),
            "{told}: {text}"
        );
    }
    assert!(text.contains("CHANGED (NESTED AT QUICK EFFORT)"), "{text}");
}

/// On a small screen, and where the reader's system is dark.
#[test]
fn the_page_is_read_at_night_and_on_a_telephone() {
    let page = estimate_page(&sample_estimate(), &sample::job());
    let (_, dark) = page
        .split_once("prefers-color-scheme:dark")
        .expect("a dark look");
    let dark = &dark[..dark.find("}}").expect("its end")];
    let all = &page[..page.find("</style>").expect("a style")];
    // Every colour has its dark one, and none stands outside the two lists.
    for name in [
        "ink", "paper", "faint", "rule", "strong", "best", "stock", "part",
    ] {
        assert!(dark.contains(&format!("--{name}:#")), "{name}");
        assert!(all.contains(&format!("var(--{name})")), "{name}");
    }
    let rules = &all[all.find("\nbody{").expect("rules")..];
    assert!(
        !rules.contains('#'),
        "a colour that the dark look does not change"
    );
    assert!(all.contains("th:first-child{text-align:left;position:sticky;left:0"));
    // Captions are text of the page, outside what scrolls and what is scaled.
    assert!(page.contains("<p class=\"caption\">Cost</p>\n<div class=\"wide\">"));
    assert!(!page.contains("<caption>") && !page.contains("<text"));
}
