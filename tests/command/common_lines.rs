//! Cuts that two parts share, through the command.

use crate::placed::demo;
use crate::shop::command;

fn with(lines: &str) -> String {
    format!("[cutting]\npaths = \"compensated\"\n{lines}")
}

/// The demo's doublers have two straight ends of one width: they share cuts,
/// and nothing else does; the figures say how many.
#[test]
fn doublers_that_share_cuts_are_listed_and_counted() {
    let shop = demo("[cutting]", &with("common_lines = \"doublers\""));
    let built = shop.build(&[]);
    let mut listed = 0;
    for sheet in built.summary["sheets"].as_array().expect("sheets") {
        let lines = sheet["common_lines"].as_array().expect("a list");
        assert_eq!(sheet["cutting"]["common_lines"], lines.len());
        listed += lines.len();
        for name in lines.iter().flat_map(|l| l.as_array().expect("a pair")) {
            let name = name.as_str().expect("a name");
            assert!(name.starts_with('D'), "{name} is no doubler");
        }
    }
    assert!(listed > 0);
    let order = built.text("lists/cutting-order.csv");
    assert_eq!(order.matches("common line with D").count(), listed);
    assert!(order.contains("outer with D"), "{order}");
    assert!(built.text("yield.txt").contains("tabs  common"));
    // On the sheet's picture no filled outline lies over the common lines.
    let mut drawn = 0;
    for sheet in built.summary["sheets"].as_array().expect("sheets") {
        let file = format!("sheets/{}.svg", sheet["name"].as_str().expect("a name"));
        let text = built.text(&file);
        let cuts = text.split("<g class=\"cut\">").nth(1).expect("cuts");
        let cuts = cuts.split("</g>").next().expect("their end");
        let open: Vec<bool> = (cuts.lines())
            .filter(|l| l.starts_with("<path"))
            .map(|l| !l.contains("Z\""))
            .collect();
        assert!(open.is_sorted(), "{file}: {open:?}");
        drawn += open.iter().filter(|o| **o).count();
    }
    assert_eq!(drawn, listed);
    // By themselves they are cut further.
    let length = |b: &crate::shop::Built| b.summary["cutting"]["cut_length_mm"].as_f64();
    let alone = demo("[cutting]", &with("")).build(&[]);
    assert!(length(&built) < length(&alone));
    assert_eq!(alone.summary["cutting"]["common_lines"], 0);
    assert!(!alone.text("yield.txt").contains("tabs  common"));
}

/// Parts held by tabs are cut alone.
#[test]
fn parts_held_by_tabs_share_no_cut() {
    let tabs = "common_lines = \"doublers\"\ntabs = { below = \"400 mm\" }";
    let built = demo("[cutting]", &with(tabs)).build(&[]);
    assert_eq!(built.summary["cutting"]["common_lines"], 0);
    assert_eq!(built.summary["cutting"]["tabs"], 12);
}

#[test]
fn common_lines_at_net_size_are_refused() {
    for (keys, told) in [
        ("common_lines = \"all\"", "the table cuts both edges"),
        (
            "common_lines = \"all\"\npaths = \"net\"",
            "paths = \"compensated\"",
        ),
        ("common_lines = \"ends\"", "\"none\", \"doublers\", \"all\""),
    ] {
        let shop = demo("[cutting]", &format!("[cutting]\n{keys}"));
        let done = command()
            .arg("build")
            .arg(shop.path().join("job.toml"))
            .arg("--out")
            .arg(shop.path().join("out"))
            .assert()
            .code(1);
        let said = String::from_utf8(done.get_output().stderr.clone()).expect("text");
        assert!(said.contains("cutting.common_lines"), "{said}");
        assert!(said.contains(told) && said.contains("mend:"), "{said}");
    }
}
