//! Figures that stand out: planted slips are found, honest tables are left alone.

mod hulls;

use hulls::{Count, Recipe, USUAL, trial};
use planksheer::fair::{Doubt, Figure, doubtful};
use planksheer::geom::{Vec3, vec3};
use planksheer::job::{Job, STARTER, Side, TableForm, parse};
use planksheer::length::{INCH, Unit, booked};
use planksheer::survey::{Survey, read};

fn job(unit: Unit, accuracy: f64) -> Job {
    hulls::job(TableForm::Offsets, unit, accuracy)
}

/// Doubts of one side of stations, half-breadths and heights, inches, accuracy 1/16 in.
fn doubts(rows: &[[f64; 3]]) -> Vec<Doubt> {
    let at: Vec<Vec3> = rows
        .iter()
        .map(|[x, y, z]| vec3(-x * INCH, y * INCH, z * INCH))
        .collect();
    doubtful(&hulls::survey(&at), &{
        let mut job = job(Unit::FeetInchesEighths, INCH / 16.0);
        job.survey.stations_aft = true;
        job
    })
}

fn eighth(inches: f64) -> f64 {
    (inches * 8.0).round() / 8.0
}

/// Stephens, *Canoe and Boat Building*, 1889, Plate XXX: deck edge of a 16 x 29 racing canoe,
/// forward ten stations at 12 in, inches.
fn canoe() -> Vec<[f64; 3]> {
    let heights = [
        15.5, 14.25, 13.5, 12.625, 11.875, 11.25, 10.875, 10.5, 10.25, 10.125,
    ];
    let halves = [
        0.125, 3.375, 6.25, 8.5, 10.375, 11.875, 13.125, 14.0, 14.375, 14.5,
    ];
    let rows = halves.into_iter().zip(heights).zip(0..);
    rows.map(|((y, z), k)| [12.0 * f64::from(k), y, z])
        .collect()
}

#[test]
fn published_tables_are_left_alone() {
    assert_eq!(doubts(&canoe()), []);
    // ICLL 1966 standard sheer, L 24 m, mm; over a straight side.
    let sheer = [450.0, 199.8, 50.4, 0.0, 100.8, 399.6, 900.0];
    let rows: Vec<[f64; 3]> = sheer
        .iter()
        .zip(0..)
        .map(|(z, k)| [4000.0 * f64::from(k) / INCH, 120.0, (3000.0 + z) / INCH])
        .collect();
    assert_eq!(doubts(&rows), []);
    // Parabolic waterline (Wigley): L 40, B 12, 2x/L 0 to 1 by 0.2, both halves, metres.
    let half = [
        0.0, 2.16, 3.84, 5.04, 5.76, 6.0, 5.76, 5.04, 3.84, 2.16, 0.0,
    ];
    let rows: Vec<[f64; 3]> = half
        .iter()
        .zip(0..)
        .map(|(y, k)| [4000.0 * f64::from(k) / INCH, y * 1000.0 / INCH, 80.0])
        .collect();
    assert_eq!(doubts(&rows), []);
}

#[test]
fn a_misprint_in_the_published_canoe_is_found() {
    for (row, figure, slip) in [(4, 1, 1.0), (6, 2, -1.0), (8, 1, -12.0), (7, 2, 12.0)] {
        let mut rows = canoe();
        rows[row][figure] += slip;
        let found = doubts(&rows);
        assert_eq!(found.len(), 1, "row {row}: {found:#?}");
        assert_eq!(found[0].index, row);
        let wanted = if figure == 1 {
            Figure::HalfBreadth
        } else {
            Figure::Height
        };
        assert_eq!(found[0].figure, wanted);
        assert!((found[0].out - slip * INCH).abs() < 1e-6, "{found:#?}");
        assert!(found[0].slip.is_some(), "{found:#?}");
    }
}

#[test]
fn an_unmarked_corner_is_named_as_one_that_may_be() {
    // Two straight sides that meet at 15 degrees, level; the corner stands at a station or
    // between two. Marked as a knuckle nothing is doubted.
    for at in [96.0, 104.0] {
        let rows: Vec<[f64; 3]> = (0..21)
            .map(|k| {
                let x = 12.0 * f64::from(k);
                let out = if x > at { 0.268 * (x - at) } else { 0.0 };
                [x, eighth(60.0 - out), 40.0]
            })
            .collect();
        let found = doubts(&rows);
        assert!(found.iter().all(|d| d.may_be_knuckle), "{found:#?}");
    }
    // A slip of a foot in a straight side is no corner.
    let rows: Vec<[f64; 3]> = (0..21)
        .map(|k| [12.0 * f64::from(k), if k == 9 { 72.0 } else { 60.0 }, 40.0])
        .collect();
    let found = doubts(&rows);
    assert!(found.len() == 1 && !found[0].may_be_knuckle, "{found:#?}");
}

/// A long scan: slips far apart in 20,000 points are all found, and nothing else.
#[test]
fn a_long_scan_is_judged_in_blocks() {
    let mut dice = hulls::Dice(7);
    let mut at: Vec<Vec3> = (0..20_000)
        .map(|k| {
            let f = f64::from(k) / 20_000.0;
            let y = 2500.0 - 6000.0 * (f - 0.5) * (f - 0.5);
            vec3(
                20_000.0 * f,
                y + 0.8 * dice.normal(),
                1500.0 + 900.0 * f * f + 0.8 * dice.normal(),
            )
        })
        .collect();
    let slips: Vec<usize> = (0..100).map(|k| 37 + 199 * k).collect();
    for (k, i) in slips.iter().enumerate() {
        if k % 2 == 0 {
            at[*i].y += 25.4
        } else {
            at[*i].z -= 304.8
        }
    }
    let found = doubtful(&hulls::survey(&at), &job(Unit::Mm, 1.0));
    let indexes: Vec<usize> = found.iter().map(|d| d.index).collect();
    assert_eq!(indexes, slips);
}

/// Tables of kinds that are hard on the judgement, invented: 15 stations or so, in eighths.
/// Each by its name and its law of half-breadth and height over the length, 0 forward to 1 aft.
type Law = fn(f64) -> (f64, f64);

fn hard() -> Vec<(&'static str, f64, Vec<f64>, Law)> {
    let even = |n: u32| {
        (0..n)
            .map(|k| f64::from(k) / f64::from(n - 1))
            .collect::<Vec<f64>>()
    };
    // Half stations at the ends.
    let tenths = vec![
        0.0, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.95, 1.0,
    ];
    let full_bow: Law = |f| {
        (
            60.0 * f.sqrt() * (1.0 - 0.35 * f * f),
            60.0 - 40.0 * f * (1.2 - f),
        )
    };
    let double_ended: Law = |f| {
        (
            4.0 * 42.0 * f * (1.0 - f),
            40.0 + 60.0 * (f - 0.55) * (f - 0.55),
        )
    };
    let pinched: Law = |f| {
        let full = 48.0 * (1.0 - (1.0 - f) * (1.0 - f) * (1.0 - f));
        (full - 20.0 * f * f * f * f, 52.0 - 38.0 * f + 28.0 * f * f)
    };
    let hogged: Law = |f| {
        let u = f - 0.5;
        (
            50.0 - 120.0 * u * u,
            40.0 - 3.0 * (1.0 - 4.0 * u * u) + 16.0 * u * u * u,
        )
    };
    let barge: Law = |_| (96.0, 48.0);
    let tumblehome: Law = |f| {
        let u = 1.0 - f;
        (
            54.0 * (1.0 - u * u * u) - 9.0 * f * f * f * f,
            48.0 - 20.0 * f * (1.3 - f),
        )
    };
    vec![
        ("full bow", 300.0, tenths.clone(), full_bow),
        ("double-ended", 240.0, even(15), double_ended),
        ("pinched stern", 360.0, tenths.clone(), pinched),
        ("hogged", 300.0, even(13), hogged),
        ("barge", 480.0, even(15), barge),
        ("tumblehome", 420.0, tenths, tumblehome),
        ("ten stations", 240.0, even(11), pinched),
        ("twenty stations", 480.0, even(21), full_bow),
    ]
}

fn table(length: f64, stations: &[f64], law: Law) -> Vec<[f64; 3]> {
    let row = |f: &f64| {
        let (y, z) = law(*f);
        [f * length, eighth(y), eighth(z)]
    };
    stations.iter().map(row).collect()
}

#[test]
fn hard_tables_are_left_alone() {
    for (name, length, stations, law) in hard() {
        let found = doubts(&table(length, &stations, law));
        assert!(found.is_empty(), "{name}: {found:#?}");
    }
}

#[test]
fn misprints_of_hard_tables_are_found() {
    let (mut inside, mut ends) = ((0, 0), (0, 0));
    let (mut alarms, mut tables) = (0, 0);
    for (_, length, stations, law) in hard() {
        for i in 0..stations.len() {
            let end = i == 0 || i + 1 == stations.len();
            let slips = [1.0, -1.0, 3.0, 12.0, -12.0];
            for (figure, slip) in [1, 2].into_iter().flat_map(|f| slips.map(|s| (f, s))) {
                let mut rows = table(length, &stations, law);
                rows[i][figure] += slip;
                if rows[i][1] < 0.0 {
                    continue;
                }
                let doubts = doubts(&rows);
                let tally = if end { &mut ends } else { &mut inside };
                tally.0 += 1;
                tally.1 += usize::from(doubts.iter().any(|d| d.index == i));
                tables += 1;
                alarms += doubts.iter().filter(|d| d.index != i).count();
            }
        }
    }
    println!("inside {inside:?}, ends {ends:?}, {alarms} alarms in {tables} tables");
    assert!(inside.1 * 100 >= inside.0 * 90, "{inside:?}");
    assert!(ends.1 * 100 >= ends.0 * 60, "{ends:?}");
    assert!(alarms * 20 < tables, "{alarms} in {tables}");
}

/// Kinds of survey by name: the one that is judged first, then those that are
/// measured beside it.
fn recipes() -> Vec<(&'static str, Recipe)> {
    let sparse = |points| Recipe {
        points: (points, points),
        turn_deg: 25.0,
        ..USUAL
    };
    let exactly = |inches| Recipe {
        exactly_in: Some(inches),
        ..USUAL
    };
    let noisy = |recipe| Recipe {
        noise: INCH / 8.0,
        ..recipe
    };
    let clean = |recipe| Recipe { slips: 0, ..recipe };
    let stations = Recipe {
        stations: true,
        ..USUAL
    };
    let along = Recipe {
        along_too: true,
        ..USUAL
    };
    vec![
        ("usual", USUAL),
        ("one inch", exactly(1.0)),
        ("half inch", exactly(0.5)),
        ("station", stations),
        ("no slips", clean(USUAL)),
        ("half-breadth at a stern too", along),
        ("errors twice the stated", noisy(USUAL)),
        ("20 points, turns to 25", sparse(20)),
        ("15 points, turns to 25", sparse(15)),
        ("  errors twice the stated", noisy(sparse(15))),
        ("  no slips", clean(sparse(15))),
        ("10 points, turns to 25", sparse(10)),
        ("  no slips", clean(sparse(10))),
    ]
}

fn counted(surveys: u32, recipe: &Recipe) -> Count {
    let mut count = Count::default();
    for seed in 0..surveys {
        count.add(&trial(u64::from(seed), recipe));
    }
    count
}

fn share(part: usize, whole: usize) -> f64 {
    part as f64 / whole.max(1) as f64
}

/// With `TRIALS`, so many surveys of every kind, and a table of what was found.
#[test]
fn planted_slips_are_found_and_good_figures_left_alone() {
    let trials = super::number("TRIALS");
    let usual = counted(trials.unwrap_or(300).max(300), &USUAL);
    assert!(usual.inside.0 > 200 && usual.ends.0 > 50, "{usual:?}");
    assert!(share(usual.inside.1, usual.inside.0) >= 0.95, "{usual:?}");
    assert!(share(usual.ends.1, usual.ends.0) >= 0.75, "{usual:?}");
    assert!(usual.alarms * 100 < usual.points, "{usual:?}");
    let found = usual.inside.1 + usual.ends.1;
    assert!(usual.named * 100 >= found * 95, "{usual:?}");

    let Some(surveys) = trials else { return };
    let heads = ["inside", "ends", "named", "likely", "alarms"];
    let heads = heads.map(|h| format!("{h:>7}")).join(" ");
    println!(
        "{surveys} surveys each; shares in per cent\n{:28} {heads}",
        ""
    );
    for (name, recipe) in recipes() {
        let c = counted(surveys, &recipe);
        println!(
            "{name:28} {:7.2} {:7.2} {:7.2} {:7.2} {:7.3}",
            100.0 * share(c.inside.1, c.inside.0),
            100.0 * share(c.ends.1, c.ends.0),
            100.0 * share(c.named, c.inside.1 + c.ends.1),
            100.0 * share(c.likely, c.named),
            100.0 * share(c.alarms, c.points),
        );
    }
}

/// The canoe's table with a slip at the sixth station, and a job with this verdict.
fn judged(verdict: &str) -> Result<Survey, String> {
    let mut csv = String::from("station,half_breadth,height\n");
    for (k, [x, y, z]) in canoe().iter().enumerate() {
        let y = if k == 5 { y + 1.0 } else { *y };
        let cells = [*x, y, *z].map(|v| booked(v * INCH, Unit::FeetInchesEighths));
        csv.push_str(&(cells.join(",") + "\n"));
    }
    let mut job = job(Unit::FeetInchesEighths, INCH / 16.0);
    job.survey.stations_aft = true;
    job.survey.files[0].side = Some(Side::Port);
    let text = STARTER.to_owned() + "\n[[survey.verdict]]\n" + verdict;
    let read_job = parse(&text, "job.toml", "").map_err(|f| f.to_string())?;
    job.survey.verdicts = read_job.survey.verdicts;
    let tables = [(job.survey.files[0].clone(), csv)];
    read(&tables, &job.survey, &job.tolerance).map_err(|f| f.to_string())
}

#[test]
fn a_verdict_accepts_replaces_or_excludes() {
    let mut job = job(Unit::FeetInchesEighths, INCH / 16.0);
    job.survey.stations_aft = true;
    // Doubted without a verdict on it.
    let survey = judged("point = \"0-0-0\"\ndo = \"accept\"\n").unwrap();
    let found = doubtful(&survey, &job);
    assert_eq!((found.len(), found[0].index), (1, 5));
    assert_eq!(
        (found[0].name.as_str(), found[0].place.line),
        ("5-0-0", Some(7))
    );

    let accepted =
        judged("point = \"5-0-0\"\nfigure = \"half_breadth\"\ndo = \"accept\"\n").unwrap();
    assert_eq!(doubtful(&accepted, &job), []);
    assert!((accepted.chains[0].points[5].at.y - 12.875 * INCH).abs() < 1e-9);
    // Another figure of the row accepted: the half-breadth stays doubted.
    let other = judged("point = \"5-0-0\"\nfigure = \"height\"\ndo = \"accept\"\n").unwrap();
    assert_eq!(doubtful(&other, &job).len(), 1);

    let replaced =
        "point = \"5-0-0\"\nfigure = \"half_breadth\"\ndo = \"replace\"\nvalue = \"0-11-7\"\n";
    let replaced = judged(replaced).unwrap();
    assert_eq!(doubtful(&replaced, &job), []);
    assert!((replaced.chains[0].points[5].at.y - 11.875 * INCH).abs() < 1e-9);
    let done = &replaced.verdicts[0];
    assert_eq!((done.line, done.figure), (7, Some(Figure::HalfBreadth)));
    assert_eq!(done.replaced.as_ref().map(|r| &*r[0]), Some("1-0-7"));

    let excluded = judged("point = \"5-0-0\"\nside = \"port\"\ndo = \"exclude\"\n").unwrap();
    assert_eq!(excluded.chains[0].points.len(), 9);
    assert_eq!(doubtful(&excluded, &job), []);

    // Two verdicts name their rows as booked: the first renames none for the second.
    let moved = "point = \"5-0-0\"\nfigure = \"station\"\ndo = \"replace\"\nvalue = \"5-1-0\"\n\n[[survey.verdict]]\npoint = \"5 ft\"\nfigure = \"height\"\ndo = \"accept\"\n";
    assert_eq!(judged(moved).unwrap().verdicts.len(), 2);

    let none = judged("point = \"5-0-0\"\nside = \"starboard\"\ndo = \"exclude\"\n").unwrap_err();
    assert!(none.contains("no row is `5-0-0`"), "{none}");
}

#[test]
fn a_mirrored_survey_is_told_once() {
    let csv = judged("point = \"0-0-0\"\ndo = \"accept\"\n").unwrap();
    let mut both = csv.clone();
    let mut other = csv.chains[0].clone();
    for p in &mut other.points {
        p.at.y = -p.at.y;
        p.side = Side::Starboard;
        p.booked.mirrored = true;
    }
    other.points.reverse();
    both.chains.push(other);
    let mut job = job(Unit::FeetInchesEighths, INCH / 16.0);
    job.survey.mirrored = true;
    let found = doubtful(&both, &job);
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!(found[0].chain, 0);
}

#[test]
fn the_text_of_a_likely_figure_is_the_tables_own() {
    let mut rows = canoe();
    rows[5][1] += 1.0;
    let found = doubts(&rows);
    assert_eq!(found[0].booked_text, "1-0-7");
    assert_eq!(
        found[0].likely_text,
        booked(11.875 * INCH, Unit::FeetInchesEighths)
    );
    assert_eq!(found[0].likely_text, "0-11-7");
}
