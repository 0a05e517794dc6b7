//! Tables as they are read, and what is refused of them.

mod takeoff;

use proptest::prelude::*;

use super::*;
use crate::fault::{Faults, Kind, Place};
use crate::geom::vec3;
use crate::job::{
    Codes, Construction, EndStyle, RoundUp, Side, Stern, SurveyFile, SurveyJob, SurveyedLine,
    TableForm,
};
use crate::length::{Show, Unit};
use crate::tolerance::Tolerance;

pub(in crate::survey) fn job(stern: Stern) -> SurveyJob {
    SurveyJob {
        files: Vec::new(),
        unit: Unit::Mm,
        show: Show::Mm,
        stations_aft: false,
        accuracy: 1.0,
        estimate: None,
        line: SurveyedLine::CoveringBoardEdge,
        mirrored: false,
        stern,
        stem: EndStyle::Square,
        round_up: None,
        slope: None,
        datum: None,
        verdicts: Vec::new(),
    }
}

pub(super) fn table(form: TableForm, side: Option<Side>, text: &str) -> (SurveyFile, String) {
    let file = SurveyFile {
        path: "edge.csv".to_owned(),
        form,
        side,
        unit: None,
        codes: Codes::default(),
        layer: String::new(),
        place: Place::default(),
    };
    (file, text.to_owned())
}

pub(in crate::survey) fn run(
    job: &SurveyJob,
    tables: &[(SurveyFile, String)],
) -> Result<Survey, Faults> {
    read(tables, job, &Tolerance::default())
}

fn places(chain: &Chain) -> Vec<(f64, f64)> {
    chain.points.iter().map(|p| (p.at.x, p.at.y)).collect()
}

const PORT: &str = "station,half_breadth,height\n8000,300,1500\n5000,1200,1400\n1000,1000,1450\n";
const STARBOARD: &str =
    "station,half_breadth,height\n8000,310,1500\n5000,1210,1400\n1000,1010,1450\n";

fn both() -> [(SurveyFile, String); 2] {
    [
        table(TableForm::Offsets, Some(Side::Port), PORT),
        table(TableForm::Offsets, Some(Side::Starboard), STARBOARD),
    ]
}

const ROUND: [(f64, f64); 6] = [
    (8000.0, 300.0),
    (5000.0, 1200.0),
    (1000.0, 1000.0),
    (1000.0, -1010.0),
    (5000.0, -1210.0),
    (8000.0, -310.0),
];

#[test]
fn the_boat_lies_on_the_left_of_every_chain() {
    let round = run(&job(Stern::Round), &both()).unwrap();
    assert_eq!(places(&round.chains[0]), ROUND);
    assert!(round.chains[0].points.iter().all(|p| !p.knuckle));

    let transom = run(&job(Stern::Transom), &both()).unwrap();
    let knuckles: Vec<bool> = transom.chains[0].points.iter().map(|p| p.knuckle).collect();
    assert_eq!(knuckles, [false, false, true, true, false, false]);

    let open = run(&job(Stern::Open), &both()).unwrap();
    assert_eq!(places(&open.chains[0]), ROUND[..3]);
    assert_eq!(places(&open.chains[1]), ROUND[3..]);
    assert_eq!([open.chains[0].end, open.chains[1].start], [End::Square; 2]);
}

#[test]
fn mitres_lie_at_their_half_siding() {
    let mut j = job(Stern::Mitre);
    j.stem = EndStyle::Mitre { half_siding: 40.0 };
    let s = run(&j, &both()).unwrap();
    assert_eq!(s.chains[0].start, End::Centreline { y: 40.0 });
    assert_eq!(s.chains[0].end, End::Centreline { y: 0.0 });
    assert_eq!(s.chains[1].start, End::Centreline { y: 0.0 });
    assert_eq!(s.chains[1].end, End::Centreline { y: -40.0 });
}

#[test]
fn tables_may_run_either_way() {
    let reverse = |text: &str| {
        let mut lines: Vec<&str> = text.lines().collect();
        lines[1..].reverse();
        lines.join("\n")
    };
    let turned = [
        table(TableForm::Offsets, Some(Side::Port), &reverse(PORT)),
        table(TableForm::Offsets, Some(Side::Starboard), STARBOARD),
    ];
    assert_eq!(
        places(&run(&job(Stern::Round), &turned).unwrap().chains[0]),
        ROUND
    );
}

#[test]
fn stations_aft_are_turned_once() {
    let mut j = job(Stern::Open);
    j.stations_aft = true;
    j.mirrored = true;
    let text = "station,half_breadth,height\n0,300,1500\n3000,1200,1400\n";
    let s = run(&j, &[table(TableForm::Offsets, None, text)]).unwrap();
    assert_eq!(places(&s.chains[0]), [(0.0, 300.0), (-3000.0, 1200.0)]);
    assert_eq!(places(&s.chains[1]), [(-3000.0, -1200.0), (0.0, -300.0)]);
}

#[test]
fn an_inboard_point_is_held_to_one_least_distance() {
    let j = job(Stern::Open);
    let read = |inboard: f64| {
        let text = format!(
            "x,y,z,inboard_x,inboard_y,inboard_z\n\
             5000,1200,1400,,,\n3000,1200,1400,3000,{},1401\n1000,1200,1400,,,\n",
            1200.0 - inboard
        );
        run(&j, &[table(TableForm::Points, Some(Side::Port), &text)])
    };
    assert!(read(LEAST_INBOARD + 0.1).is_ok());
    let faults = read(LEAST_INBOARD - 0.1).unwrap_err();
    assert_eq!(faults.0[0].place.field.as_deref(), Some("inboard"));
    assert!(faults.0[0].mend.contains("at least 10 mm"), "{faults}");
}

#[test]
fn mirrored_sides_are_exact_and_share_the_centreline() {
    let mut j = job(Stern::Round);
    j.mirrored = true;
    let text = "x,y,z,inboard_x,inboard_y,inboard_z,name\n\
        5000,1200.1,1400,5000,1000,1410,A\n1000,900,1400,,,,B\n300,0.2,1400,,,,C\n";
    let s = run(&j, &[table(TableForm::Points, None, text)]).unwrap();
    let points = &s.chains[0].points;
    assert_eq!(points.len(), 5);
    assert_eq!(points[2].at, vec3(300.0, 0.0, 1400.0));
    for (a, b) in points.iter().zip(points.iter().rev()) {
        assert_eq!((a.at.x, a.at.y, a.at.z), (b.at.x, -b.at.y, b.at.z));
        assert_eq!((&a.name, a.line), (&b.name, b.line));
    }
    assert_eq!(
        points[0].slope,
        Some(SlopeGiven::Inboard(vec3(5000.0, 1000.0, 1410.0)))
    );
    assert_eq!(
        points[4].slope,
        Some(SlopeGiven::Inboard(vec3(5000.0, -1000.0, 1410.0)))
    );
    assert_eq!(points[4].side, Side::Starboard);
}

#[test]
fn a_centreline_point_measured_on_both_sides_is_one() {
    let port = "x,y,z\n5000,1200,1400\n1000,900,1400\n300,0,1400\n";
    let starboard = "x,y,z\n301,0.5,1399\n1000,-905,1400\n5000,-1205,1400\n";
    let tables = [
        table(TableForm::Points, Some(Side::Port), port),
        table(TableForm::Points, Some(Side::Starboard), starboard),
    ];
    let s = run(&job(Stern::Round), &tables).unwrap();
    assert_eq!(s.chains[0].points.len(), 5);
    let away = [
        tables[0].clone(),
        table(
            TableForm::Points,
            Some(Side::Starboard),
            &starboard.replace("301,0.5", "290,-9"),
        ),
    ];
    assert_eq!(
        run(&job(Stern::Round), &away).unwrap().chains[0]
            .points
            .len(),
        6
    );
}

#[test]
fn a_row_keeps_what_it_gives() {
    let mut j = job(Stern::Open);
    j.round_up = Some(RoundUp {
        height: 80.0,
        half_beam: None,
        construction: Construction::Parabola,
    });
    let text = "# invented\n\nName, Station ,half-breadth,height,bulwark_height,lean_deg,slope,slope_athwart,round_up,knuckle,tolerance\n\
        bow,8000,300,1500,420,5,,,,,\n,5000,1200,1400,,,0.05,,,X,2\n,3000,1250,1400,,,,-0.02,,,\n# note\n,1000,1000,1450,,,,,60,no,\n";
    let s = run(&j, &[table(TableForm::Offsets, Some(Side::Port), text)]).unwrap();
    let p = &s.chains[0].points;
    assert_eq!(
        (p[0].name.as_str(), p[0].line, p[0].height),
        ("bow", 4, Some(420.0))
    );
    assert!((p[0].lean.unwrap() - 5f64.to_radians()).abs() < 1e-15);
    assert_eq!(
        (p[1].name.as_str(), p[1].slope, p[1].knuckle, p[1].tolerance),
        ("5000", Some(SlopeGiven::Square(0.05)), true, Some(2.0))
    );
    assert_eq!(p[2].slope, Some(SlopeGiven::Athwart(-0.02)));
    assert_eq!(
        (p[3].slope, p[3].line),
        (Some(SlopeGiven::RoundUp(60.0)), 8)
    );
}

// Deck edge of a racing canoe, forward ten stations at 12 in: Stephens, Canoe
// and Boat Building, 1889, Plate XXX; inches and fractions as printed.
#[test]
fn a_printed_table_in_inches_is_read() {
    let heights = [
        "15 1/2", "14 1/4", "13 1/2", "12 5/8", "11 7/8", "11 1/4", "10 7/8", "10 1/2", "10 1/4",
        "10 1/8",
    ];
    let breadths = [
        "1/8", "3 3/8", "6 1/4", "8 1/2", "10 3/8", "11 7/8", "13 1/8", "14", "14 3/8", "14 1/2",
    ];
    let mut text = "station,half_breadth,height\n".to_owned();
    for (i, (h, b)) in heights.iter().zip(breadths).enumerate() {
        text.push_str(&format!("{},{b},{h}\n", i * 12));
    }
    let mut j = job(Stern::Open);
    (j.unit, j.stations_aft, j.mirrored) = (Unit::In, true, true);
    let s = run(&j, &[table(TableForm::Offsets, None, &text)]).unwrap();
    let last = s.chains[0].points.last().unwrap().at;
    assert!(
        (last.x + 2743.2).abs() < 1e-9
            && (last.y - 368.3).abs() < 1e-9
            && (last.z - 257.175).abs() < 1e-9
    );
}

fn kinds(result: Result<Survey, Faults>) -> Vec<(Kind, Option<usize>)> {
    result
        .unwrap_err()
        .0
        .iter()
        .map(|f| (f.kind, f.place.line))
        .collect()
}

#[test]
fn every_problem_is_told_at_once() {
    let text = "station,half_breadth,height,lean_deg\n8000,300,1500,\n7000,3/0,1500,\n6000,1000,abc,99\n5000,inf,,\n5000,1100,1400,,\n4000,1,1,\n8000,300,1500,\n";
    let got = kinds(run(
        &job(Stern::Open),
        &[table(TableForm::Offsets, Some(Side::Port), text)],
    ));
    assert_eq!(
        got,
        [
            (Kind::Syntax, Some(3)),
            (Kind::Syntax, Some(4)),
            (Kind::Range, Some(4)),
            (Kind::Range, Some(5)),
            (Kind::Missing, Some(5)),
            (Kind::Syntax, Some(6)),
            (Kind::Survey, Some(8)),
        ]
    );
}

#[test]
fn columns_of_cells_are_told() {
    let text = "station, half_breadth, height\n8000, 300, 15oo\n5000, 1200, 1400\n";
    let f = run(
        &job(Stern::Open),
        &[table(TableForm::Offsets, Some(Side::Port), text)],
    )
    .unwrap_err();
    assert_eq!(f.0.len(), 1, "{f}");
    assert_eq!(
        (f.0[0].place.column, f.0[0].place.field.as_deref()),
        (Some(12), Some("height"))
    );
    assert_eq!(f.0[0].place.station.as_deref(), Some("port, station 8000"));
}

#[test]
fn a_stern_needs_its_sides() {
    let port = || [table(TableForm::Offsets, Some(Side::Port), PORT)];
    assert_eq!(
        kinds(run(&job(Stern::Round), &port())),
        [(Kind::Missing, None)]
    );
    assert!(run(&job(Stern::Open), &port()).is_ok_and(|s| s.chains.len() == 1));
    let mut j = job(Stern::Open);
    j.mirrored = true;
    assert_eq!(kinds(run(&j, &both())), [(Kind::Conflict, None)]);
    assert_eq!(kinds(run(&job(Stern::Open), &[])), [(Kind::Missing, None)]);
}

#[test]
fn a_transom_has_width() {
    let mut j = job(Stern::Transom);
    j.mirrored = true;
    let text = "station,half_breadth,height\n8000,300,1500\n5000,1200,1400\n1000,10,1450\n";
    assert_eq!(
        kinds(run(&j, &[table(TableForm::Offsets, None, text)])),
        [(Kind::Survey, Some(4))]
    );
}

#[test]
fn one_point_is_no_side() {
    let text = "station,half_breadth,height\n8000,300,1500\n";
    assert_eq!(
        kinds(run(
            &job(Stern::Open),
            &[table(TableForm::Offsets, Some(Side::Port), text)]
        )),
        [(Kind::Survey, Some(2))]
    );
}

#[test]
fn a_side_is_named() {
    assert_eq!(
        kinds(run(
            &job(Stern::Open),
            &[table(TableForm::Offsets, None, PORT)]
        )),
        [(Kind::Missing, Some(1))]
    );
    let blank = "x,y,z,side\n8000,300,1500,port\n5000,1200,1400,\n";
    assert_eq!(
        kinds(run(
            &job(Stern::Open),
            &[table(TableForm::Points, None, blank)]
        )),
        [(Kind::Missing, Some(3))]
    );
    let other = "x,y,z,side\n8000,300,1500,port\n5000,1200,1400,starboard\n";
    assert_eq!(
        kinds(run(
            &job(Stern::Open),
            &[table(TableForm::Points, Some(Side::Port), other)]
        )),
        [(Kind::Conflict, Some(3))]
    );
}

#[test]
fn semicolons_are_not_commas() {
    let f = run(
        &job(Stern::Open),
        &[table(
            TableForm::Offsets,
            Some(Side::Port),
            "station;half_breadth;height\n1;2;3\n",
        )],
    )
    .unwrap_err();
    assert!(
        f.0.len() == 1 && f.0[0].what == "the cells are parted by semicolons",
        "{f}"
    );
}

/// A fair half-breadth curve for properties: port outboard, bow to stern.
fn boat(count: usize, beam: f64) -> Vec<(f64, f64, f64)> {
    (0..count)
        .map(|i| {
            let f = i as f64 / (count - 1) as f64;
            (
                10_000.0 * (1.0 - f),
                beam * (0.2 + 0.8 * f * (2.0 - f)),
                1400.0 + 300.0 * (1.0 - f) * (1.0 - f),
            )
        })
        .collect()
}

fn offsets(points: &[(f64, f64, f64)]) -> String {
    let mut text = "station,half_breadth,height\n".to_owned();
    for (x, y, z) in points {
        text.push_str(&format!("{x:.3},{y:.3},{z:.3}\n"));
    }
    text
}

proptest! {
    #[test]
    fn the_form_of_the_table_and_its_direction_change_nothing(count in 3usize..30, beam in 800.0..3000.0f64, turn: bool) {
        let mut points = boat(count, beam);
        let straight = run(&job(Stern::Open), &[table(TableForm::Offsets, Some(Side::Port), &offsets(&points))]).unwrap();
        if turn {
            points.reverse();
        }
        let mut text = "z,side,y,x\n".to_owned();
        for (x, y, z) in &points {
            text.push_str(&format!("{z:.3},port,{y:.3},{x:.3}\n"));
        }
        let listed = run(&job(Stern::Open), &[table(TableForm::Points, None, &text)]).unwrap();
        prop_assert_eq!(places(&straight.chains[0]), places(&listed.chains[0]));
    }

    #[test]
    fn either_side_of_a_mirrored_survey_gives_one_boat(count in 3usize..20, beam in 800.0..3000.0f64) {
        let mut j = job(Stern::Transom);
        j.mirrored = true;
        let text = offsets(&boat(count, beam));
        let port = run(&j, &[table(TableForm::Offsets, Some(Side::Port), &text)]).unwrap();
        let mut starboard = run(&j, &[table(TableForm::Offsets, Some(Side::Starboard), &text)]).unwrap();
        // The same boat; only which side was made from the other differs.
        for p in starboard.chains.iter_mut().flat_map(|c| &mut c.points) {
            p.booked.mirrored = !p.booked.mirrored;
        }
        prop_assert_eq!(port, starboard);
    }

    #[test]
    fn two_stations_swapped_are_one_fault(count in 5usize..20, at in 1usize..18) {
        let mut points = boat(count, 1500.0);
        let at = 1 + at % (count - 3);
        points.swap(at, at + 1);
        let got = kinds(run(&job(Stern::Open), &[table(TableForm::Offsets, Some(Side::Port), &offsets(&points))]));
        prop_assert_eq!(got, vec![(Kind::Survey, Some(at + 3))]);
    }

    #[test]
    fn any_text_is_a_survey_or_faults(text in "(station|x|[a-z,\"#\n]|[0-9.,'/-]){0,60}", offsets: bool) {
        let form = if offsets { TableForm::Offsets } else { TableForm::Points };
        let _ = run(&job(Stern::Open), &[table(form, Some(Side::Port), &text)]).map_err(|f| assert!(!f.0.is_empty()));
    }

    #[test]
    fn any_cells_are_a_survey_or_faults(cells in proptest::collection::vec("[0-9]{1,5}|-?[0-9]{1,3}-[0-9]{1,2}-[0-9][+-]?|nan|1/2|", 0..40)) {
        let mut text = "x,y,z\n".to_owned();
        for row in cells.chunks(3) {
            text.push_str(&row.join(","));
            text.push('\n');
        }
        for unit in [Unit::Mm, Unit::FeetInchesEighths] {
            let mut j = job(Stern::Open);
            j.unit = unit;
            if let Ok(s) = run(&j, &[table(TableForm::Points, Some(Side::Port), &text)]) {
                prop_assert!(s.chains.iter().flat_map(|c| &c.points).all(|p| p.at.x.is_finite() && p.at.y.is_finite()));
            }
        }
    }
}
