mod reference;

use proptest::prelude::*;

use super::*;
use crate::fault::{Fault, Faults, Kind};
use crate::length::Unit;

const SMALL: &str = r#"name = "Small"
[survey]
stern = "round"
unit = "mm"
accuracy = "3 mm"
[[survey.file]]
path = "edge.csv"
side = "port"
[bulwark]
height = "400 mm"
[[sheet]]
length = "12 ft"
width = "5 ft"
"#;

fn faults(text: &str) -> Faults {
    parse(text, "job.toml", "jobs").unwrap_err()
}

/// One fault of a text: kind, line, column and field.
fn check(text: &str, kind: Kind, line: usize, column: usize, field: &str) {
    let faults = faults(text);
    let [f] = &faults.0[..] else {
        panic!("{text}\n{faults}");
    };
    let place = (f.place.line, f.place.column, f.place.field.as_deref());
    assert_eq!(
        (f.kind, place),
        (kind, (Some(line), Some(column), Some(field))),
        "{f}"
    );
}

#[test]
fn a_small_job_takes_its_defaults() {
    let job = parse(SMALL, "job.toml", "jobs").unwrap();
    assert_eq!(job.survey.unit, Unit::Mm);
    assert!(
        job.survey.files[0].path.ends_with("edge.csv")
            && job.survey.files[0].path.starts_with("jobs")
    );
    assert_eq!((job.fairing.base, job.fairing.top), (3.0, 12.0));
    assert_eq!(job.top_slope, TopSlope::Level);
    assert_eq!(job.stanchions.spacing, Spacing::Even(762.0));
    assert_eq!(
        (job.joints.closing_allowance, job.sheets[0].thickness),
        (50.0, 12.7)
    );
    assert_eq!((job.cutting.kerf, job.cutting.gap), (3.0, 8.0));
    assert_eq!(job.base_fasteners, None);
    assert_eq!(job.sheets[0].alloy, "5086-H116");
    assert_eq!(job.output.layers["CUT"].colour, 7);
    assert_eq!(section_faults(&job), []);
}

#[test]
fn a_sheet_without_a_name_is_named_by_its_width_and_length() {
    let more = "[[sheet]]\nlength = \"3 m\"\nwidth = \"1500 mm\"\nthickness = \"6 mm\"\nalloy = \"5083-H116\"\n";
    let names = |show: &str| {
        let text = format!("show = \"{show}\"\n{SMALL}{more}");
        let job = parse(&text, "job.toml", "jobs").unwrap();
        job.sheets.into_iter().map(|s| s.name).collect::<Vec<_>>()
    };
    let mm = ["1524 mm x 3657.6 mm", "1500 mm x 3000 mm x 6 mm, 5083-H116"];
    assert_eq!(names("mm"), mm);
    assert_eq!(names("feet-inches")[0], "5 ft x 12 ft");
}

#[test]
fn stations_follow_the_surveys_direction_and_the_only_side() {
    let text = format!(
        "{SMALL}[[keep_clear]]\nname = \"port\"\nat = {{ station = \"4 m\" }}\nlength = \"1 m\"\n"
    );
    let job = parse(&text, "job.toml", "").unwrap();
    assert_eq!(
        job.keep_clear[0].at,
        Position {
            side: Some(Side::Port),
            at: At::X(4000.0)
        }
    );
    let aft = text.replace("[survey]", "[survey]\nstations = \"aft\"");
    let job = parse(&aft, "job.toml", "").unwrap();
    assert_eq!(job.keep_clear[0].at.at, At::X(-4000.0));
    let along = text.replace("station = \"4 m\"", "side = \"starboard\", along = \"4 m\"");
    let job = parse(&along, "job.toml", "").unwrap();
    assert_eq!(job.keep_clear[0].at.at, At::Along(4000.0));
    assert_eq!(job.keep_clear[0].at.side, Some(Side::Starboard));
}

#[test]
fn accuracy_of_nought_fairs_nothing() {
    let job = parse(&SMALL.replace("3 mm", "0 mm"), "job.toml", "").unwrap();
    assert_eq!((job.fairing.base, job.fairing.top), (0.0, 0.0));
}

#[test]
fn faults_stand_at_their_line_and_column() {
    let change = |from: &str, to: &str| SMALL.replace(from, to);
    check(
        &change("height = \"400 mm\"", "height = 400"),
        Kind::Unit,
        10,
        10,
        "bulwark.height",
    );
    check(
        &change("accuracy = \"3 mm\"", "accuracy = 3.0"),
        Kind::Unit,
        5,
        12,
        "survey.accuracy",
    );
    check(
        &change("side = \"port\"", "  sid = \"port\""),
        Kind::Unknown,
        8,
        3,
        "survey.file[1].sid",
    );
    check(
        &change("unit = \"mm\"\n", ""),
        Kind::Missing,
        2,
        1,
        "survey.unit",
    );
    check(
        &change("length = \"12 ft\"", "length = \"12 furlongs\""),
        Kind::Syntax,
        12,
        10,
        "sheet[1].length",
    );
    check(
        &change(
            "[[sheet]]",
            "[cutting]\nkerf = \"5 mm\"\ngap = \"4 mm\"\n[[sheet]]",
        ),
        Kind::Range,
        13,
        7,
        "cutting.gap",
    );
}

#[test]
fn unknown_keys_are_named_with_the_nearest() {
    let f = faults(&SMALL.replace("accuracy", "acuracy"));
    assert!(
        f.0.iter()
            .any(|f| f.kind == Kind::Unknown && f.mend.contains("survey.accuracy")),
        "{f}"
    );
    assert_eq!(f.0.len(), 1, "{f}");
}

#[test]
fn an_accuracy_that_is_not_stated_is_left_to_be_estimated() {
    let without = SMALL.replace("accuracy = \"3 mm\"\n", "");
    let job = parse(&without, "job.toml", "").expect("a job");
    let follow = |base, top| Some(Follow { base, top });
    assert_eq!(job.survey.estimate, follow(true, true));
    let given = format!("{without}[fairing]\nbase = \"2 mm\"\n");
    let job = parse(&given, "job.toml", "").expect("a job");
    assert_eq!(job.survey.estimate, follow(false, true));
    assert!((job.fairing.base - 2.0).abs() < 1e-12);
}

#[test]
fn angles_at_stem_and_stern_are_read_and_a_round_stern_has_none() {
    let text = format!("{SMALL}[fairing]\nstem_angle_deg = 30\n");
    let job = parse(&text, "job.toml", "").expect("a job");
    let angle = job.fairing.stem_angle.expect("an angle");
    assert!((angle.to_degrees() - 30.0).abs() < 1e-12);
    let f = faults(&format!("{SMALL}[fairing]\nstern_angle_deg = 5\n"));
    assert_eq!(f.0[0].kind, Kind::Conflict, "{f}");
    let f = faults(&format!("{SMALL}[fairing]\nstem_angle_deg = 95\n"));
    assert_eq!(f.0[0].kind, Kind::Range, "{f}");
}

#[test]
fn all_faults_come_in_one_pass_in_order() {
    let text = SMALL
        .replace("name = \"Small\"", "name = \"\"\nshow = \"inches\"")
        .replace("height = \"400 mm\"", "height = 400\nleen = 3")
        .replace("width = \"5 ft\"", "width = \"5/0 ft\"\ncolour = 2");
    let f = faults(&text);
    let kinds: Vec<_> = f.0.iter().map(|f| f.kind).collect();
    assert_eq!(
        kinds,
        [
            Kind::Missing,
            Kind::Unknown,
            Kind::Unit,
            Kind::Unknown,
            Kind::Syntax,
            Kind::Unknown
        ],
        "{f}"
    );
    assert!(f.0.windows(2).all(|w| w[0].place.line <= w[1].place.line));
}

#[test]
fn an_empty_job_names_everything_it_needs() {
    let f = faults("");
    let fields: Vec<_> =
        f.0.iter()
            .filter_map(|f| f.place.field.as_deref())
            .collect();
    for need in ["name", "survey.unit", "survey.file", "bulwark.height"] {
        assert!(fields.contains(&need), "{need}: {fields:?}");
    }
}

#[test]
fn the_section_check_gives_its_figures() {
    // 12.7 + 25.4 + 3.175 + 127 + 19.05 + 12.7 = 200.025 mm against 7 in.
    let f = faults(&format!("{SMALL}[section]\ncap_width = \"7 in\"\n"));
    assert_eq!(f.0[0].kind, Kind::Section);
    assert!(
        f.0[0]
            .what
            .contains("177.8 mm wide and must cover 200.025 mm"),
        "{f}"
    );
    assert!(f.0[0].mend.contains("22.225 mm"), "{f}");
}

#[test]
fn section_faults_see_a_job_made_by_hand() {
    let mut job = parse(SMALL, "job.toml", "").unwrap();
    job.stanchions.side = 150.0;
    job.base_fasteners = Some(Fasteners {
        diameter: 14.0,
        spacing: 40.0,
        outboard_row: 20.0,
        inboard_row: 150.0,
        clear_of_stanchion: 0.0,
        clear_of_butt: 20.0,
    });
    job.bulwark.height = 50.0;
    let fields: Vec<_> = section_faults(&job)
        .into_iter()
        .filter_map(|f| f.place.field)
        .collect();
    assert_eq!(
        fields,
        [
            "stanchions.side",
            "bulwark.height",
            "base.fasteners.outboard_row",
            "base.fasteners.clear_of_butt",
            "base.fasteners.inboard_row",
            "base.fasteners.spacing",
        ]
    );
}

#[test]
fn the_starter_builds_a_job_and_a_survey() {
    let job = parse(STARTER, "job.toml", "").unwrap();
    assert_eq!(job.survey.files[0].path, STARTER_EDGE_NAME);
    assert_eq!(section_faults(&job), []);
    let texts = [(job.survey.files[0].clone(), STARTER_EDGE.to_owned())];
    let survey = crate::survey::read(&texts, &job.survey, &job.tolerance).unwrap();
    assert_eq!(survey.chains.len(), 2);
    let length = survey.chains[0].points.first().unwrap().at.x
        - survey.chains[0].points.last().unwrap().at.x;
    assert!((8000.0..9000.0).contains(&length), "{length}");
}

proptest! {
    #[test]
    fn any_text_is_a_job_or_faults(text in "\\PC{0,80}") {
        if let Err(f) = parse(&text, "job.toml", "") {
            prop_assert!(!f.0.is_empty());
        }
    }

    #[test]
    fn a_job_with_a_damaged_byte_is_read_or_refused(at in 0usize..4000, with in "[\\[\\]{}\"=.,#a-z0-9\n -]") {
        let mut text: String = STARTER.to_owned();
        let at = at.min(text.len());
        if text.is_char_boundary(at) && at < text.len() && text.is_char_boundary(at + 1) {
            text.replace_range(at..=at, &with);
        }
        match parse(&text, "job.toml", "") {
            Ok(job) => prop_assert!(section_faults(&job).is_empty()),
            Err(f) => prop_assert!(f.0.iter().all(|f| !f.what.is_empty() && !f.mend.is_empty())),
        }
    }
}

/// What a refusal asks for, typed in, is taken: of every length of the starter.
#[test]
fn a_limit_that_is_printed_is_taken_when_it_is_typed() {
    let text = STARTER.replace("show = \"mm\"", "show = \"feet-inches\"");
    let lengths: Vec<&str> = (text.lines())
        .filter(|l| {
            let value = l
                .split_once(" = \"")
                .map(|(_, v)| v.split('"').next().unwrap_or(""));
            value.is_some_and(|v| crate::length::parse(v).is_ok())
        })
        .collect();
    let of_range = |text: &str, key: &str| -> Option<Fault> {
        let found = parse(text, "job.toml", "").err()?;
        let here = |f: &Fault| {
            f.kind == Kind::Range && f.mend.starts_with("it must be") && f.what.contains(key)
        };
        found.0.into_iter().find(here)
    };
    let mut tried = 0;
    for line in lengths {
        let key = line.split(" = ").next().unwrap_or_default().trim();
        let with = |value: &str| text.replacen(line, &format!("{key} = \"{value}\""), 1);
        for wrong in ["-900 m", "900 m"] {
            let Some(refused) = of_range(&with(wrong), key) else {
                continue;
            };
            let limits: Vec<&str> = (refused.mend.trim_start_matches("it must be "))
                .split_inclusive(')')
                .map(|l| l.trim_start_matches(" to ").trim_start_matches("from "))
                .filter(|l| !l.contains("above"))
                .collect();
            for limit in limits {
                let figure = limit.trim_start_matches(" and at most ");
                let (inches, mm) = figure.split_once(" (").expect("both units");
                for typed in [
                    inches,
                    mm.trim_end_matches(" or more").trim_end_matches(')'),
                ] {
                    let again = of_range(&with(typed), key);
                    assert!(again.is_none(), "{line}: {typed}: {again:?}");
                    tried += 1;
                }
            }
        }
    }
    assert!(tried > 40, "{tried}");
}

#[test]
fn a_key_that_is_read_and_not_stated_is_told_in_every_job() {
    let reader = text::Reader::new("job.toml", "", "");
    let table = table::Table::new(
        &reader,
        "codes".to_owned(),
        <Codes as stated::Stated>::KEYS,
        None,
    );
    assert_eq!(table.texts("edge"), Some(vec!["edge".to_owned()]));
    assert!(reader.clean());
    assert_eq!(table.texts("beam"), None);
    // `ignore` has no fixed default, and is no flag.
    assert!(!table.flag("ignore"));
    let faults = reader.into_faults();
    let fields: Vec<_> = (faults.0.iter())
        .filter_map(|f| f.place.field.as_deref())
        .collect();
    assert_eq!(fields, ["codes.beam", "codes.ignore"], "{faults}");
}
