//! What a survey says of itself, through the command: a stern that no point
//! carries, a table misread as a whole.

use planksheer::length::{FOOT, Unit, booked};

use super::shop::{Shop, command};

/// A row of the boat: station, half-breadth and height, mm.
pub(super) type Row = [f64; 3];

/// A boat of 36 ft, ten stations at 4 ft from the bow, wide at the stern.
pub(super) fn boat() -> Vec<Row> {
    let row = |k: i32| {
        let q = f64::from(k) / 9.0;
        let half = 0.4 + 13.0 * q * (1.0 - 0.62 * q);
        [4.0 * f64::from(k), half, 6.0 - 5.0 * q * (1.0 - q) - q].map(|ft| ft * FOOT)
    };
    (0..10).map(row).collect()
}

pub(super) const FIE: Unit = Unit::FeetInchesEighths;

/// An offset table of rows, under these names of its columns.
pub(super) fn table(header: &str, rows: &[Row], unit: Unit) -> String {
    let cells = |row: &Row| row.map(|mm| booked(mm, unit)).join(",");
    let lines: Vec<String> = rows.iter().map(cells).collect();
    format!("{header}\n{}\n", lines.join("\n"))
}

pub(super) const HEADER: &str = "station,half_breadth,height";

/// A job of two offset tables, `keys` among the survey's.
pub(super) fn job(unit: &str, stations: &str, keys: &str) -> String {
    format!(
        r#"
name = "thirty-six feet"
show = "feet-inches"
[survey]
unit = "{unit}"
stations = "{stations}"
accuracy = "1/8 in"
slope = 0.02
{keys}
[[survey.file]]
path = "port.csv"
form = "offsets"
side = "port"
[[survey.file]]
path = "starboard.csv"
form = "offsets"
side = "starboard"
[bulwark]
height = "20 in"
[[sheet]]
length = "20 ft"
width = "6 ft"
"#
    )
}

const TRANSOM: &str = "stern = \"transom\"";

/// Standard output or error of `fair`, by what it exits with. Lines that are
/// broken for width are joined.
fn fair(job: &str, port: &str, starboard: &str, status: i32) -> String {
    let shop = Shop::new(&[
        ("job.toml", job),
        ("port.csv", port),
        ("starboard.csv", starboard),
    ]);
    told(&shop, status)
}

pub(super) fn told(shop: &Shop, status: i32) -> String {
    let out = command()
        .arg("fair")
        .arg(shop.path().join("job.toml"))
        .output()
        .expect("it runs");
    let said = String::from_utf8(if status == 0 { out.stdout } else { out.stderr }).expect("text");
    assert_eq!(out.status.code(), Some(status), "{said}");
    said
}

pub(super) fn joined(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn two_offset_tables_need_a_stern_and_a_round_one_needs_its_points() {
    let port = table(HEADER, &boat(), FIE);
    let said = fair(&job("feet-inches-eighths", "aft", ""), &port, &port, 1);
    assert!(said.contains("survey.stern"), "{said}");
    for choice in ["\"transom\"", "\"open\"", "\"mitre\"", "\"round\""] {
        assert!(said.contains(choice), "{choice}: {said}");
    }
    let round = job("feet-inches-eighths", "aft", "stern = \"round\"");
    let said = fair(&round, &port, &port, 1);
    assert!(
        said.contains("port.csv:11") && said.contains("survey.stern"),
        "{said}"
    );
    // Points that close at the centreline are a round stern.
    let mut closed = boat();
    closed.push([36.6 * FOOT, 4.0 * FOOT, 5.02 * FOOT]);
    closed.push([37.0 * FOOT, 2.5 * FOOT, 5.03 * FOOT]);
    closed.push([37.2 * FOOT, 0.0, 5.04 * FOOT]);
    let closed = table(HEADER, &closed, FIE);
    fair(&round, &closed, &closed, 0);
}

/// As points the stern may be left out, and the line round it is a guess: no
/// station beside it is doubted.
#[test]
fn no_figure_is_doubted_across_a_stern_that_no_point_carries() {
    let mut csv = String::from("x,y,z,side\n");
    for (side, sign) in [("port", 1.0), ("starboard", -1.0)] {
        for [x, y, z] in boat() {
            csv.push_str(&format!("{:.1},{:.1},{z:.1},{side}\n", -x, sign * y));
        }
    }
    let job =
        job("mm", "aft", "").replace("form = \"offsets\"\nside = \"port\"", "form = \"points\"");
    let (head, rest) = job
        .split_once("[[survey.file]]\npath = \"starboard.csv\"")
        .expect("two");
    let tail = rest.split_once("[bulwark]").expect("a bulwark").1;
    let said = fair(&format!("{head}[bulwark]{tail}"), &csv, "", 0);
    let words = joined(&said);
    assert!(
        words.contains("DOUBTFUL FIGURES OF THE SURVEY None."),
        "{said}"
    );
    assert!(words.contains("the line is a guess"), "{said}");
}

/// Faults on standard error.
pub(super) fn faults(said: &str) -> usize {
    said.matches("mend:").count()
}

#[test]
fn a_table_in_another_notation_is_told_once() {
    let stern = TRANSOM;
    let port = table(HEADER, &boat(), FIE);
    let said = fair(&job("mm", "aft", stern), &port, &port, 1);
    assert_eq!(faults(&said), 1, "{said}");
    for words in [
        "the job says mm, and no figure of port.csv and starboard.csv reads as that; every figure reads as feet-inches-eighths (such as 4-0-0)",
        "survey.unit = \"feet-inches-eighths\"",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
    // The other way: decimals, of which only millimetres make a boat.
    let metric = table(HEADER, &boat(), Unit::Mm);
    let said = fair(
        &job("feet-inches-eighths", "aft", stern),
        &metric,
        &metric,
        1,
    );
    assert_eq!(faults(&said), 1, "{said}");
    assert!(said.contains("survey.unit = \"mm\""), "{said}");
    // Millimetres read as metres lie beyond a kilometre.
    let said = fair(&job("m", "aft", stern), &metric, &metric, 1);
    assert_eq!(faults(&said), 1, "{said}");
    let clauses = "the job says m, as which most points of port.csv and starboard.csv lie beyond 1 km; every figure reads as mm (such as ";
    assert!(said.contains(clauses), "{said}");
    assert!(said.contains("survey.unit = \"mm\""), "{said}");
    // One bad cell is that cell's fault.
    let one = port.replacen("0-4-6", "0-4-9", 1);
    let said = fair(&job("feet-inches-eighths", "aft", stern), &one, &port, 1);
    assert!(
        said.contains("9 eighths") && !said.contains("survey.unit"),
        "{said}"
    );
}

#[test]
fn a_boat_of_no_length_is_a_unit_misread() {
    let metres = table(HEADER, &boat(), Unit::M);
    let said = fair(&job("mm", "aft", TRANSOM), &metres, &metres, 1);
    assert_eq!(faults(&said), 1, "{said}");
    assert!(
        said.contains("the boat would be 7/16 in long") && said.contains("m (36 ft long)"),
        "{said}"
    );
    // As inches it may be: told before all else.
    let inches = table(HEADER, &boat(), Unit::In);
    let said = fair(&job("mm", "aft", "stern = \"open\""), &inches, &inches, 0);
    let first = said.lines().nth(2).expect("a third line");
    assert_eq!(first, "LOOK AT THIS FIRST", "{said}");
    assert!(
        joined(&said).contains("in (36 ft long), the job says mm"),
        "{said}"
    );
}

#[test]
fn stations_counted_the_other_way_are_asked_for() {
    let port = table(HEADER, &boat(), FIE);
    let said = fair(
        &job("feet-inches-eighths", "forward", "stern = \"open\""),
        &port,
        &port,
        0,
    );
    let words = joined(&said);
    assert!(words.contains("LOOK AT THIS FIRST"), "{said}");
    assert!(
        words.contains("the bow end of port is 5-4-0+ wide at 36-0-0 and the stern end 0-4-6+")
            && words.contains("do stations count aft?")
            && words.contains("survey.stations = \"aft\""),
        "{said}"
    );
    // A sharp stem taken for a transom is no fault of its own.
    let mut sharp = boat();
    sharp[0][1] = 0.0;
    let sharp = table(HEADER, &sharp, FIE);
    let said = fair(
        &job("feet-inches-eighths", "forward", TRANSOM),
        &sharp,
        &sharp,
        1,
    );
    assert_eq!(faults(&said), 1, "{said}");
    assert!(said.contains("do stations count aft?"), "{said}");
    let right = fair(&job("feet-inches-eighths", "aft", TRANSOM), &port, &port, 0);
    assert!(!right.contains("LOOK AT THIS FIRST"), "{right}");
}

#[test]
fn exchanged_columns_are_asked_for() {
    let job = job("feet-inches-eighths", "aft", "stern = \"open\"");
    let wrong = table("station,height,half_breadth", &boat(), FIE);
    let said = fair(&job, &wrong, &wrong, 0);
    let words = joined(&said);
    assert!(
        words.contains("LOOK AT THIS FIRST")
            && words.contains("are `half_breadth` and `height` exchanged?"),
        "{said}"
    );
    let wrong = table("height,half_breadth,station", &boat(), FIE);
    let said = fair(&job, &wrong, &wrong, 1);
    assert_eq!(faults(&said), 1, "{said}");
    assert!(
        said.contains("exchange the names `station` and `height`"),
        "{said}"
    );
}

/// Points with the sign of y turned, or y and z exchanged, are one fault.
#[test]
fn a_column_of_points_that_is_wrong_is_told_once() {
    let points = |row: &dyn Fn(f64, f64, f64) -> [f64; 3]| -> String {
        let rows: Vec<String> = [(1.0, "port"), (-1.0, "starboard")]
            .iter()
            .flat_map(|(sign, side)| {
                boat().into_iter().map(move |[x, y, z]| {
                    let [x, y, z] = row(9000.0 - x, sign * y, z);
                    format!("{x:.1},{y:.1},{z:.1},{side}")
                })
            })
            .collect();
        format!("x,y,z,side\n{}\n", rows.join("\n"))
    };
    let job = job("mm", "forward", "stern = \"open\"");
    let (from, to) = (job.find("[[survey.file]]"), job.find("[bulwark]"));
    let (Some(from), Some(to)) = (from, to) else {
        panic!("no files")
    };
    let one = "[[survey.file]]\npath = \"edge.csv\"\nform = \"points\"\n";
    let job = format!("{}{one}{}", &job[..from], &job[to..]);
    let said = |edge: String| told(&Shop::new(&[("job.toml", &job), ("edge.csv", &edge)]), 1);
    let turned = said(points(&|x, y, z| [x, -y, z]));
    assert_eq!(faults(&turned), 1, "{turned}");
    assert!(
        turned.contains("20 of 20 rows lie over the centreline"),
        "{turned}"
    );
    let exchanged = said(points(&|x, y, z| [x, z, y]));
    assert_eq!(faults(&exchanged), 1, "{exchanged}");
    assert!(
        exchanged.contains("are `y` and `z` exchanged?"),
        "{exchanged}"
    );
}
