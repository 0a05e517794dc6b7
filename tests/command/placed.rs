//! What a job places by hand: kept to its limits, and refused where it cannot be.

use std::fs;
use std::path::Path;

use crate::shop::{Shop, command};

/// The demo hull with one text of its job in place of another.
pub(crate) fn demo(text: &str, with: &str) -> Shop {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-hull");
    let read = |name: &str| fs::read_to_string(folder.join(name)).expect("a file of the demo");
    let job = read("job.toml");
    assert!(job.contains(text), "{text}");
    let mut files = vec![("job.toml".to_owned(), job.replacen(text, with, 1))];
    for entry in fs::read_dir(&folder).expect("the demo") {
        let name = entry.expect("an entry").file_name().into_string();
        let name = name.expect("a plain name");
        if name.ends_with(".csv") {
            let text = read(&name);
            files.push((name, text));
        }
    }
    let files: Vec<(&str, &str)> = (files.iter())
        .map(|(n, t)| (n.as_str(), t.as_str()))
        .collect();
    Shop::new(&files)
}

fn refused(shop: &Shop) -> String {
    let done = command()
        .arg("build")
        .arg(shop.path().join("job.toml"))
        .arg("--out")
        .arg(shop.path().join("out"))
        .arg("--quick")
        .assert()
        .code(1);
    String::from_utf8(done.get_output().stderr.clone()).expect("text")
}

fn butts(places: &str) -> Shop {
    demo("[joints]", &format!("[joints]\nbase_butts = [{places}]"))
}

#[test]
fn one_butt_by_hand_leaves_the_rules_to_the_rest() {
    let built = butts("{ side = \"port\", station = \"9 m\" }").build(&[]);
    let parts = built.summary["parts"].as_array().expect("parts");
    let long = parts
        .iter()
        .filter_map(|p| p["length_mm"].as_f64())
        .fold(0.0, f64::max);
    // The job's longest_piece is 2.9 m.
    assert!(long > 1000.0 && long < 2901.0, "{long}");
}

#[test]
fn what_stands_nowhere_or_over_another_is_refused() {
    for (shop, told) in [
        (
            butts("{ side = \"port\", station = \"11 m\" }"),
            "joints.base_butts[1]",
        ),
        (
            butts(
                "{ side = \"port\", station = \"9 m\" }, { side = \"port\", station = \"9.01 m\" }",
            ),
            "shorter than 50 mm",
        ),
        (
            demo("station = \"9.6 m\"", "station = \"11 m\""),
            "no bulwark stands where doubler `fore shroud P` is placed",
        ),
        (
            demo("station = \"9.6 m\"", "station = \"8.5 m\""),
            "lies over doubler",
        ),
    ] {
        let said = refused(&shop);
        assert!(said.contains(told) && said.contains("mend:"), "{said}");
    }
}

#[test]
fn an_output_that_holds_the_job_is_not_replaced() {
    let shop = demo("[joints]", "[joints]");
    shop.build(&[]);
    let out = shop.path().join("out");
    for name in ["job.toml", "port.csv", "starboard.csv"] {
        fs::copy(shop.path().join(name), out.join(name)).expect("copied");
    }
    let done = command()
        .arg("build")
        .arg(out.join("job.toml"))
        .arg("--out")
        .arg(&out)
        .arg("--quick")
        .assert()
        .code(1);
    let said = String::from_utf8(done.get_output().stderr.clone()).expect("text");
    assert!(said.contains("lies in it"), "{said}");
    assert!(out.join("job.toml").exists());
}
