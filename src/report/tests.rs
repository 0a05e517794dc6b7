//! Reports on the sample job, against closed forms and golden texts.

use std::collections::BTreeMap;
use std::f64::consts::PI;

use super::cuts::small_holes_warning;
use super::facts::{Alone, Basis, Facts, Group};
use super::lists::lists;
use super::summary::{SCHEMA, summary_json};
use super::yields::yield_text;
use super::{Input, SheetCut};
use crate::drawing::part_drawing;
use crate::fair::{
    Accuracy, Again, FairChain, FairEdge, Finding, FindingKind, LineKind, PointFit, Toward, View,
};
use crate::fault::{Fault, Kind};
use crate::geom::trig::{cos, sin};
use crate::geom::vec3;
use crate::job::{DxfUnits, DxfVersion, Effort, Sheet, Side};
use crate::layout::{
    BulwarkLength, ExpectedFit, Joint, JointForm, Layout, MemberKind, RunLength, Stanchion, TubeEnd,
};
use crate::length::Show;
use crate::part::Part;
use crate::sample;
use crate::survey::{End, Survey};
use crate::write::{dxf, svg};

/// Density of 5086, kg/mm3: 2.66 g/cm3 (aluminium handbooks).
const DENSITY: f64 = 2.66e-6;

/// Density of the sample's alloy.
fn densities() -> BTreeMap<String, f64> {
    BTreeMap::from([("5086-H116".to_owned(), DENSITY)])
}

fn facts_of(input: &Input<'_>, densities: &BTreeMap<String, f64>) -> Result<Facts, Fault> {
    super::facts::facts(&Basis {
        job: input.job,
        parts: input.parts,
        nests: input.nests,
        densities,
    })
}

fn facts(input: &Input<'_>) -> Facts {
    facts_of(input, &densities()).expect("facts")
}

/// How the sample's sheet is cut.
fn sample_cut(nested: &sample::Nested) -> SheetCut {
    let parts: Vec<&Part> = nested.parts.iter().collect();
    let sheet = &nested.nest.sheets[0];
    let plan = crate::cut::plan(&crate::cut::Input {
        name: "sheet-1",
        stock: &nested.nest_job.sheets[0],
        nested: sheet,
        parts: &parts,
        masses_kg: &[6.0, 6.0],
        gap: nested.nest_job.gap,
        rules: &crate::cut::Rules::of(&nested.job.cutting, 12.7),
    })
    .unwrap();
    SheetCut {
        plan,
        remnants: crate::nest::remnants(&nested.nest_job, sheet, &nested.job.remnants),
    }
}

/// The sample job with all that a report takes.
struct Case {
    nested: sample::Nested,
    alone: Vec<Alone>,
    layout: Layout,
    edge: FairEdge,
    cuts: Vec<SheetCut>,
    warnings: Vec<String>,
}

impl Case {
    fn new() -> Self {
        let nested = sample::nested();
        let small = Sheet {
            name: "1 x 1 m".into(),
            length: 1000.0,
            ..sample::sheet()
        };
        Self {
            alone: vec![
                Alone {
                    sheet: sample::sheet(),
                    nest: Some(nested.nest.clone()),
                    effort: Effort::Quick,
                },
                Alone {
                    sheet: small,
                    nest: None,
                    effort: Effort::Quick,
                },
            ],
            layout: sample_layout(),
            edge: sample_edge(),
            cuts: vec![sample_cut(&nested)],
            nested,
            warnings: vec!["A made-up warning.".into()],
        }
    }

    /// Calls `f` with the input of the reports.
    fn with<T>(&self, f: impl FnOnce(&Input<'_>) -> T) -> T {
        let group = [Group {
            job: self.nested.nest_job.clone(),
            parts: vec![0, 1],
            nest: self.nested.nest.clone(),
            alone: self.alone.clone(),
            stopped: false,
        }];
        f(&Input {
            job: &self.nested.job,
            survey: &Survey::default(),
            edge: &self.edge,
            layout: &self.layout,
            expected: &[sample_fit()],
            parts: &self.nested.parts,
            refold_gaps: &[0.004],
            nests: &group,
            cuts: &self.cuts,
            butts: None,
            notes: &[],
            warnings: &self.warnings,
        })
    }
}

fn sample_layout() -> Layout {
    Layout {
        members: vec![],
        stanchions: vec![Stanchion {
            name: "1P".into(),
            chain: 0,
            t: 900.0,
            number: 1,
            side: Some(Side::Port),
            place: "port, station 0.90 m".into(),
            foot: vec3(-900.0, 1500.0, 1200.0),
            head: vec3(-900.0, 1500.0, 1860.0),
            length: 663.25,
            foot_cut: TubeEnd {
                rise_forward: 0.07,
                rise_inboard: 0.035,
                gap: 0.31,
            },
            head_cut: TubeEnd {
                rise_forward: -0.01,
                rise_inboard: 0.0,
                gap: 0.04,
            },
            lean: 0.02,
            mass_kg: 4.36,
        }],
        joints: vec![Joint {
            kind: MemberKind::BasePlate,
            chain: 0,
            t: 1000.0,
            between: ["B1".into(), "B2".into()],
            form: JointForm::Butt,
            place: "port, station 2.00 m".into(),
        }],
        bulwarks: vec![BulwarkLength {
            side: Some(Side::Port),
            length: 10_000.0,
            height: 600.0,
        }],
        runs: vec![RunLength {
            name: "port".into(),
            kind: MemberKind::BasePlate,
            edge_length_mm: 2094.395,
        }],
        warnings: vec![],
    }
}

fn sample_edge() -> FairEdge {
    FairEdge {
        chains: vec![FairChain {
            lengths: vec![],
            ends: [End::Square; 2],
            points: vec![PointFit {
                chain: 0,
                index: 0,
                name: "4200".into(),
                side: Side::Port,
                t: 800.0,
                length: 0,
                base_out: -0.4,
                base_up: 0.75,
                top_out: 2.0,
                top_up: -3.5,
            }],
        }],
        findings: vec![Finding {
            chain: 0,
            t: 500.0,
            kind: FindingKind::HardSpot,
            line: LineKind::Base,
            view: View::Plan,
            size: 2.4,
            toward: Toward::Out,
            unlike: None,
            text: "Curvature peaks at 0.9 per m.".into(),
            at: vec3(1.0, 2.0, 3.0),
        }],
        doubts: vec![],
        accuracy: Accuracy::Stated(1.6),
        fairing: sample::job().fairing,
        again: vec![Again {
            chain: 0,
            index: 0,
            name: "1".into(),
            side: Side::Port,
            both: true,
            t: 0.0,
            plan_share: 0.04,
            height_share: 0.05,
        }],
    }
}

fn sample_fit() -> ExpectedFit {
    ExpectedFit {
        name: "B1".into(),
        kind: MemberKind::BasePlate,
        gap_95: 0.91,
        at: "port, 3".into(),
        at_t: 800.0,
        butt_along_95: Some(0.12),
        butt_across_95: None,
    }
}

fn near(got: f64, want: f64) {
    assert!(
        (got - want).abs() <= 1e-9 * want.abs().max(1.0),
        "{got} is not {want}"
    );
}

#[test]
fn a_ring_sector_has_its_closed_form_area_cut_length_and_mass() {
    let (outer, inner, angle) = sample::RING;
    // (R^2 - r^2) a / 2; (R + r) a + 2 (R - r); two holes of 12 mm.
    let area = (outer * outer - inner * inner) * angle / 2.0;
    let net = area - 2.0 * PI * 36.0;
    let profile = (outer + inner) * angle + 2.0 * (outer - inner) + 2.0 * PI * 12.0;
    Case::new().with(|input| {
        let all = facts(input);
        let f = &all.parts[0];
        near(f.area, area);
        near(f.net_area, net);
        near(f.profile_length, profile);
        near(f.mass, net * 12.7 * DENSITY);
        // Chord of the outer arc, and from the inner corners to the crown.
        near(f.length, 2.0 * outer * sin(angle / 2.0));
        near(f.width, outer - inner * cos(angle / 2.0));
        assert_eq!(f.sheet.as_deref(), Some("sheet-1"));

        let s = &all.sheets[0].sums;
        near(s.sheet_area, 2e6);
        near(s.used_area, 2.0 * net);
        near(s.yield_ratio(), net / 1e6);
        near(s.mass_bought, 2e6 * 12.7 * DENSITY);
        near(s.cost.unwrap(), 9.0 * 2e6 * 12.7 * DENSITY);
        let wasted = (2e6 - 2.0 * net) * 12.7 * DENSITY;
        near(s.mass_wasted(), wasted);
        near(s.net_cost().unwrap(), s.cost.unwrap() - 1.5 * wasted);
        let cut = SheetCut::total(input.cuts);
        near(cut.cut_length, 2.0 * profile);
        near(cut.kerf_loss, 2.0 * profile * 2.0);
        assert_eq!(cut.pierces, 6);
        // Two parts on a sheet of 1.98 x 0.98 m inside its margins.
        assert_eq!((all.least.sheets, all.alone[0].least.sheets), (1, 1));
        near(all.least.mass, s.mass_bought);
        near(all.least.cost.unwrap(), s.cost.unwrap());
        near(all.sheets[0].used_length, 10.0 + f.length + 10.0);
        near(
            s.yield_by_used_length(),
            2.0 * net / (all.sheets[0].used_length * 1000.0),
        );
        assert_eq!(all.total, s.clone());
        assert_eq!(all.alone[0].sums.as_ref(), Some(s));
        assert!(all.alone[1].sums.is_none());
    });
}

#[test]
fn a_sheet_price_goes_before_the_price_by_mass_and_none_is_said() {
    let mut case = Case::new();
    case.nested.nest_job.sheets[0].price = Some(700.0);
    case.with(|input| {
        near(facts(input).total.cost.unwrap(), 700.0);
    });
    case.nested.nest_job.sheets[0].price = None;
    case.nested.job.prices.per_kg.clear();
    case.with(|input| {
        let all = facts(input);
        assert_eq!(all.total.cost, None);
        assert!(yield_text(input, &all).contains("no price given for sheet-1"));
    });
}

#[test]
fn an_alloy_without_density_is_a_fault_and_a_stray_index_is_no_panic() {
    let mut case = Case::new();
    case.nested.nest.sheets[0].placed[1].part = 77;
    case.nested
        .nest
        .sheets
        .push(crate::nest::NestedSheet::new(9, vec![]));
    case.with(|input| {
        let all = facts(input);
        assert_eq!(all.total.parts, 1);
        assert_eq!(all.parts[1].sheet, None);
    });
    let fault = case.with(|input| facts_of(input, &BTreeMap::new()).unwrap_err());
    assert_eq!(fault.kind, Kind::Missing);
    assert!(fault.what.contains("5086-H116"));
}

#[test]
fn the_yield_report_reads_well_in_both_systems() {
    let mut case = Case::new();
    insta::assert_snapshot!("yield_mm", case.with(|i| yield_text(i, &facts(i))));
    case.nested.job.show = Show::FeetInches;
    insta::assert_snapshot!("yield_feet", case.with(|i| yield_text(i, &facts(i))));
}

#[test]
fn lists_carry_their_units_and_first_rows() {
    let mut case = Case::new();
    for show in [Show::Mm, Show::FeetInches] {
        case.nested.job.show = show;
        let heads = case.with(|input| {
            let mut out = String::new();
            let all = lists(input, &facts(input)).unwrap();
            for (name, text) in all {
                let head: Vec<&str> = text.lines().take(3).collect();
                out.push_str(&format!("{name}\n{}\n\n", head.join("\n")));
            }
            out
        });
        insta::assert_snapshot!(format!("lists_{show:?}"), heads);
    }
}

#[test]
fn the_summary_holds_the_keys_of_its_schema() {
    Case::new().with(|input| {
        let text = summary_json(input, &facts(input)).unwrap();
        let value: serde_json::Value = serde_json::from_str(&text).unwrap();
        assert_eq!(value["schema"], SCHEMA);
        let part = &value["parts"][0];
        assert_eq!(part["kind"], "base-plate");
        assert_eq!(part["face"], "upper");
        assert_eq!(part["refold_gap_mm"], 0.004);
        assert!(value["parts"][1]["refold_gap_mm"].is_null());
        assert_eq!(part["stretch_max"], 1.2e-5);
        assert_eq!(part["stretch_signed"], -1.2e-5);
        assert_eq!(part["sheet"], "sheet-1");
        let sheet = &value["sheets"][0];
        assert_eq!(sheet["parts"][1]["name"], "B2");
        assert_eq!(sheet["parts"][1]["turn_deg"], 180.0);
        assert_eq!(sheet["yield"], value["yield"]["overall"]);
        assert_eq!(value["one_size_alone"][1]["fits"], false);
        assert_eq!(value["fit"]["largest_pull_down_mm"], 0.75);
        assert_eq!(value["fairness"][0]["kind"], "hard-spot");
        assert_eq!(value["warnings"][0], "A made-up warning.");
        assert!(value["cautions"].as_array().unwrap().len() >= 6);
        // Every key of the summary is in its documentation.
        let documented = include_str!("../../docs/summary.md");
        let mut keys = Vec::new();
        keys_of(&value, &mut keys);
        for key in keys {
            assert!(documented.contains(&format!("`{key}`")), "{key}");
        }
    });
}

fn keys_of(value: &serde_json::Value, out: &mut Vec<String>) {
    match value {
        serde_json::Value::Object(map) => {
            for (key, inner) in map {
                out.push(key.clone());
                keys_of(inner, out);
            }
        }
        serde_json::Value::Array(all) => all.iter().for_each(|v| keys_of(v, out)),
        _ => {}
    }
}

/// The files of the sample job as the command lays them out.
fn files(release: DxfVersion, units: DxfUnits) -> Vec<(String, String)> {
    let case = Case::new();
    let output = sample::output(release, units);
    let mut all = Vec::new();
    let mut drawn = |folder: &str, d: &crate::drawing::Drawing, svg: String| {
        let stem = format!("{folder}/{}", d.name);
        all.push((format!("{stem}.dxf"), dxf::dxf(d, &output).unwrap()));
        all.push((format!("{stem}.svg"), svg));
    };
    for part in &case.nested.parts {
        let d = part_drawing(part, &case.nested.job);
        drawn("parts", &d, svg::part_svg(&d).unwrap());
    }
    let d = case.nested.sheet_drawing(0);
    drawn("sheets", &d, svg::sheet_svg(&d).unwrap());
    case.with(|input| {
        let facts = facts(input);
        all.push(("summary.json".into(), summary_json(input, &facts).unwrap()));
        all.push(("yield.txt".into(), yield_text(input, &facts)));
        for (file, text) in lists(input, &facts).unwrap() {
            all.push((format!("lists/{file}"), text));
        }
    });
    all
}

/// Same job, same bytes. With SAMPLE_OUT naming a folder the files are also
/// written there, for the checks in `tests/outside`.
#[test]
fn the_same_job_gives_the_same_files() {
    for (name, release, units) in [
        ("r12-mm", DxfVersion::R12, DxfUnits::Mm),
        ("r12-in", DxfVersion::R12, DxfUnits::In),
        ("r2000-mm", DxfVersion::R2000, DxfUnits::Mm),
        ("r2000-in", DxfVersion::R2000, DxfUnits::In),
    ] {
        let all = files(release, units);
        assert_eq!(all, files(release, units));
        for one in [
            "parts/B2.dxf",
            "sheets/sheet-1.svg",
            "summary.json",
            "lists/fit.csv",
        ] {
            assert!(all.iter().any(|(file, _)| file == one), "{one}");
        }
        let Ok(folder) = std::env::var("SAMPLE_OUT") else {
            continue;
        };
        for (file, text) in all {
            let path = std::path::Path::new(&folder).join(name).join(file);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, text).unwrap();
        }
    }
}

#[test]
fn figures_of_another_effort_are_not_told_without_it() {
    let mut case = Case::new();
    case.nested.nest_job.effort = Effort::Normal;
    case.with(|input| {
        let text = yield_text(input, &facts(input));
        assert!(
            text.contains("Nested at normal effort: 1 sheet, 1 at least by area."),
            "{text}"
        );
        assert!(
            text.contains("Nested at quick effort, the sheets above at normal"),
            "{text}"
        );
    });
}

/// Holes of 12 mm: plasma cuts them well below 8 mm of plate, 1.5 t.
#[test]
fn holes_below_the_rule_are_counted_in_every_thickness_and_warned_of_once() {
    let case = Case::new();
    let plan = &case.cuts[0].plan;
    let job = &case.nested.job;
    assert_eq!(plan.figures.small_holes, 4);
    let none = crate::cut::Plan::default();
    assert_eq!(small_holes_warning(job, &[(6.0, &none)]), None);
    let told = small_holes_warning(job, &[(6.0, &none), (12.7, plan), (10.0, plan)]);
    let told = told.expect("a warning");
    let limit = |thickness: f64| crate::quantity::thickness(1.5 * thickness, job.show);
    let start = format!(
        "8 holes are cut by plasma below its smallest hole of {} in plate of 12.7 mm and {} in \
         plate of 10.0 mm: set cutting.small_holes = \"drill\"",
        limit(12.7),
        limit(10.0)
    );
    assert!(told.starts_with(&start), "{told}");
}
