//! A survey that is doubted, through the command: what strict builds refuse, the
//! drawings' notice, what every report says first, verdicts to paste.

use std::fs;

use planksheer::length::FOOT;
use serde_json::Value;

use super::shop::{Shop, command};
use super::survey::{FIE, HEADER, boat, faults, job, joined, table, told};

/// The boat with a foot more in a height of port.
fn doubted(keys: &str) -> Shop {
    let starboard = table(HEADER, &boat(), FIE);
    let mut rows = boat();
    rows[5][2] += FOOT;
    let port = table(HEADER, &rows, FIE);
    let job = job(
        "feet-inches-eighths",
        "aft",
        &format!("stern = \"open\"\n{keys}"),
    );
    Shop::new(&[
        ("job.toml", &job),
        ("port.csv", &port),
        ("starboard.csv", &starboard),
    ])
}

#[test]
fn a_doubt_is_on_every_drawing_until_it_is_settled() {
    let notice = "SURVEY DOUBTED: port station 20-0-0 height 5-2-4";
    let settled = |verdict: &str| -> (bool, usize) {
        let shop = doubted("");
        let path = shop.path().join("job.toml");
        let job = fs::read_to_string(&path).expect("there") + verdict;
        fs::write(&path, job).expect("written");
        let built = shop.build(&[]);
        let names = |of: &str| -> Vec<String> {
            let all = built.summary[of].as_array().expect("a list").iter();
            all.map(|v| v["name"].as_str().expect("a name").to_owned())
                .collect()
        };
        let (mut with, mut all) = (0, 0);
        for (folder, name) in (names("parts").iter().map(|n| ("parts", n)))
            .chain(names("sheets").iter().map(|n| ("sheets", n)))
        {
            for ending in ["dxf", "svg"] {
                all += 1;
                let text = built.text(&format!("{folder}/{name}.{ending}"));
                with += usize::from(text.contains(notice));
            }
        }
        assert!(all >= 8 && (with == 0 || with == all), "{with} of {all}");
        (with > 0, all)
    };
    assert!(settled("").0);
    let verdict = |act: &str| {
        format!(
            "[[survey.verdict]]\npoint = \"20-0-0\"\nside = \"port\"\nfigure = \"height\"\n{act}\n"
        )
    };
    assert!(!settled(&verdict("do = \"accept\"")).0);
    assert!(!settled(&verdict("do = \"replace\"\nvalue = \"4-2-4\"")).0);
}

/// What a strict build says, which writes nothing.
fn strict(shop: &Shop) -> String {
    let out = shop.path().join("out");
    let done = command()
        .arg("build")
        .arg(shop.path().join("job.toml"))
        .arg("--out")
        .arg(&out)
        .args(["--quick", "--strict"])
        .assert()
        .code(1);
    assert!(!out.exists());
    String::from_utf8(done.get_output().stderr.clone()).expect("text")
}

#[test]
fn a_strict_build_refuses_a_doubt_before_it_writes() {
    let said = strict(&doubted(""));
    assert_eq!(faults(&said), 1, "{said}");
    assert!(
        said.contains("port.csv:7") && said.contains("height 5-2-4"),
        "{said}"
    );
}

/// The boat with the names of two columns exchanged, or its stations counted the
/// other way: only a suspicion, since it may be so.
#[test]
fn a_strict_build_refuses_a_survey_that_looks_misread() {
    let open = job("feet-inches-eighths", "aft", "stern = \"open\"");
    for (text, side, asks) in [
        (
            &open,
            table("station,height,half_breadth", &boat(), FIE),
            "are `half_breadth` and `height` exchanged?",
        ),
        (
            &open.replace("\"aft\"", "\"forward\""),
            table(HEADER, &boat(), FIE),
            "do stations count aft?",
        ),
    ] {
        let shop = Shop::new(&[
            ("job.toml", text),
            ("port.csv", &side),
            ("starboard.csv", &side),
        ]);
        let said = strict(&shop);
        let first = said.lines().next().expect("a line");
        assert!(first.starts_with(&*shop.path().join("port.csv").to_string_lossy()));
        assert!(first.contains(asks), "{said}");
        assert!(said.contains("build without --strict"), "{said}");
        // Without, it is built, and warned of.
        let built = shop.build(&[]);
        let first = built.summary["warnings"][0].as_str().expect("a warning");
        assert!(first.contains(asks), "{first}");
    }
}

/// A refusal of a later stage may follow from the survey: what is known of that
/// comes first.
#[test]
fn a_later_refusal_tells_what_of_the_survey_comes_first() {
    let after = |shop: &Shop, first: &str, then: &str| {
        let path = shop.path().join("job.toml");
        let doubler = "[[doubler]]\nname = \"far\"\nat = { side = \"port\", station = \"90 ft\" }\nlength = \"1 ft\"\nwidth = \"3 in\"\n";
        let job = fs::read_to_string(&path).expect("there") + doubler;
        fs::write(&path, job).expect("written");
        let done = command()
            .arg("build")
            .arg(&path)
            .arg("--out")
            .arg(shop.path().join("out"))
            .arg("--quick")
            .assert()
            .code(1);
        let said = String::from_utf8(done.get_output().stderr.clone()).expect("text");
        let place = |what: &str| said.find(what).unwrap_or_else(|| panic!("{what}: {said}"));
        assert!(place(first) < place(then), "{said}");
        let follows = place("; it may follow from what is told first");
        assert!(place(then) < follows, "{said}");
        assert_eq!(faults(&said), 2, "{said}");
    };
    let refusal = "doubler `far` at port, station 90 ft lies off";
    after(&doubted(""), "height 5-2-4", refusal);
    let mut rows = boat();
    rows.reverse();
    for (row, from) in rows.iter_mut().zip(boat()) {
        row[0] = from[0];
    }
    let side = table(HEADER, &rows, FIE);
    let turned = Shop::new(&[
        (
            "job.toml",
            &job("feet-inches-eighths", "aft", "stern = \"open\""),
        ),
        ("port.csv", &side),
        ("starboard.csv", &side),
    ]);
    after(&turned, "do stations count forward?", refusal);
}

/// The verdicts that `fair` prints: refused as they stand, and settling the
/// doubt with one choice or the other.
#[test]
fn doubts_come_first_with_verdicts_to_paste() {
    let shop = doubted("");
    let said = told(&shop, 0);
    let at = |words: &str| {
        said.find(words)
            .unwrap_or_else(|| panic!("{words}: {said}"))
    };
    assert!(at("DOUBTFUL FIGURES") < at("MOVES"));
    assert!(at("[[survey.verdict]]") < at("MOVES"));
    let words = joined(&said);
    let follows = "this follows from port station 20-0-0 height if that figure is wrong";
    assert!(words.contains(follows), "{said}");
    let from = &said[at("[[survey.verdict]]")..at("MOVES")];
    let path = shop.path().join("job.toml");
    let job = fs::read_to_string(&path).expect("there");
    let paste = |text: &str| fs::write(&path, format!("{job}{text}")).expect("written");
    paste(from);
    assert!(told(&shop, 1).contains("survey.verdict[1].do"));
    let accept = from.replacen("# do = \"accept\"", "do = \"accept\"", 1);
    paste(&accept);
    let said = told(&shop, 0);
    assert!(joined(&said).contains("height accepted"), "{said}");
    let replace = from
        .replacen("# do = \"replace\"", "do = \"replace\"", 1)
        .replacen("# value", "value", 1);
    paste(&replace);
    let said = told(&shop, 0);
    assert!(
        joined(&said).contains("DOUBTFUL FIGURES OF THE SURVEY None."),
        "{said}"
    );
    // Both in the notation of the table.
    assert!(
        joined(&said).contains("height 5-2-4 replaced by 4-2-4"),
        "{said}"
    );
}

#[test]
fn the_json_names_what_a_finding_follows_from() {
    let out = command()
        .arg("fair")
        .arg(doubted("").path().join("job.toml"))
        .arg("--json")
        .output()
        .expect("it runs");
    let json: Value = serde_json::from_slice(&out.stdout).expect("JSON");
    let found = json["findings"].as_array().expect("findings");
    let follows = |f: &&Value| f["follows_from"] == "port station 20-0-0 height";
    // A foot at 1/8 in swings the whole side, and nothing of the other.
    let port = |f: &&Value| f["place"].as_str().is_some_and(|p| p.contains("(port)"));
    let (mine, others): (Vec<&Value>, Vec<&Value>) = found.iter().partition(port);
    assert!(mine.len() > 4 && mine.iter().all(follows), "{mine:#?}");
    assert!(others.iter().all(|f| f.get("follows_from").is_none()));
}

/// The check of the tacked line and the estimate say it before anything else.
#[test]
fn every_report_says_first_that_the_survey_is_doubted() {
    let shop = doubted("");
    let built = shop.build(&[]);
    // In one place the height is told, and before what may follow from it.
    let warnings = built.summary["warnings"].as_array().expect("a list").iter();
    let warnings: Vec<&str> = warnings.map(|w| w.as_str().expect("text")).collect();
    let at = |words: &str| {
        let found = warnings.iter().position(|w| w.contains(words));
        found.unwrap_or_else(|| panic!("{words}: {warnings:#?}"))
    };
    let height = at("(port, 20-0-0): height 5-2-4 stands out");
    let follow = at("may follow from what is doubted of the survey");
    assert!(height < follow && follow < at("places of the lines are not fair"));
    for finding in built.summary["fairness"].as_array().expect("a list") {
        let text = finding["text"].as_str().expect("text");
        assert!(
            text.contains(" in from fair") && !text.contains("mm"),
            "{text}"
        );
    }
    let list = built.text("lists/stanchions.csv");
    let mut names = list.lines().skip(1).filter_map(|l| l.split(',').next());
    let mut tacked = "stanchion,out,up\n".to_owned();
    for (i, name) in names.by_ref().enumerate() {
        let up = if i == 5 { "0.6 in" } else { "0 in" };
        tacked.push_str(&format!("{name},0 in,{up}\n"));
    }
    fs::write(shop.path().join("tacked.csv"), &tacked).expect("written");
    let said = |args: &[&str], code: i32| {
        let done = command()
            .args(args)
            .current_dir(shop.path())
            .assert()
            .code(code);
        String::from_utf8(done.get_output().stdout.clone()).expect("text")
    };
    let doubt = "port station 20-0-0 height 5-2-4";
    let check = ["check", "job.toml", "--tacked", "tacked.csv"];
    let text = joined(&said(&check, 3));
    let at = |what: &str| text.find(what).unwrap_or_else(|| panic!("{what}: {text}"));
    assert!(at("warning: the survey is doubted") < at(doubt) && at(doubt) < at("AS TACKED"));
    // By how much more than the eighth that each may be off.
    assert!(
        at("within 1/8 in of every stanchion; the nearest leaves some by 0.") < at(" in more.")
    );
    // One that may go no further than a limit: others have to meet it.
    let limited = |(i, row): (usize, &str)| match i {
        0 => format!("{row},limit\n"),
        6 => format!("{row},0.2 in\n"),
        _ => format!("{row},1 in\n"),
    };
    let limited: String = tacked.lines().enumerate().map(limited).collect();
    fs::write(shop.path().join("tacked.csv"), limited).expect("written");
    let text = joined(&said(&check, 3));
    assert!(
        text.contains("The limits make more stanchions move: without them it would take 6P down"),
        "{text}"
    );
    let json: Value =
        serde_json::from_str(&said(&[&check[..], &["--json"]].concat(), 3)).expect("JSON");
    let alone = &json["tacked"]["lengths"][0]["height"]["without_limits"];
    assert_eq!(alone.as_array().expect("a list").len(), 1, "{json:#}");
    fs::write(shop.path().join("tacked.csv"), tacked).expect("written");
    let estimate = ["estimate", "job.toml", "--quick", "--no-variations"];
    let text = joined(&said(&[&estimate[..], &["--out", "priced"]].concat(), 0));
    assert!(text.find(doubt) < text.find("CHOICES"), "{text}");
    let page = fs::read_to_string(shop.path().join("priced/estimate.html")).expect("a page");
    assert!(page.contains(doubt), "{page}");
    for args in [&check[..], &estimate[..]] {
        let code = if args == check { 3 } else { 0 };
        let json = said(&[args, &["--json"]].concat(), code);
        let json: Value = serde_json::from_str(&json).expect("JSON");
        let first = json["warnings"][0].as_str().expect("a warning");
        assert!(first.contains(doubt), "{json:#}");
    }
}
