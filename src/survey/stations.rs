//! The stations of an offset table run one way, each once.
//!
//! The rows to blame are the fewest whose removal leaves the others in order:
//! what lies outside a longest run of stations one way. One slipped figure is
//! thus one fault, wherever it stands. Where several choices are equally few,
//! all their rows are named together.

use super::model::Point;
use crate::fault::{Fault, Kind};

/// Most lines that one message names.
const MOST_LINES: usize = 8;

/// Faults of stations that stand twice or against the order of the table.
pub(super) fn stations(points: &[Point], doubled_mm: f64, faults: &mut Vec<Fault>) {
    let all: Vec<&Point> = points.iter().collect();
    let order = Order::of(&all, doubled_mm);
    let mut twice = vec![false; all.len()];
    // By x, to find a station that stands twice anywhere in the table.
    let mut by_x: Vec<usize> = (0..all.len()).collect();
    by_x.sort_by(|&a, &b| all[a].at.x.total_cmp(&all[b].at.x).then(a.cmp(&b)));
    for pair in by_x.windows(2) {
        if (all[pair[0]].at.x - all[pair[1]].at.x).abs() > doubled_mm {
            continue;
        }
        let (early, late) = (pair[0].min(pair[1]), pair[0].max(pair[1]));
        // The later one, unless only it stands in order.
        let (one, other) = if order.stands(late) && !order.stands(early) {
            (early, late)
        } else {
            (late, early)
        };
        if !std::mem::replace(&mut twice[one], true) {
            let what = format!("this station is already on line {}", all[other].line);
            let mend = "keep one row a station and side, or correct the figure";
            faults.push(all[one].fault_of(Kind::Survey, "station", what, mend));
        }
    }
    let once = (all.iter().zip(&twice)).filter_map(|(p, twice)| (!twice).then_some(*p));
    let once: Vec<&Point> = once.collect();
    let order = Order::of(&once, doubled_mm);
    for i in (0..once.len()).filter(|i| !order.stands(*i)) {
        faults.push(out_of_order(&once, &order, i));
    }
    for rows in order.choices(&once, doubled_mm) {
        faults.push(undecided(&once, &order, &rows));
    }
}

/// How the rows of a table stand to its longest run of stations one way.
struct Order {
    /// Length of the longest run that ends at each row.
    upto: Vec<usize>,
    /// Length of the longest run through each row.
    through: Vec<usize>,
    longest: usize,
    /// 1 where the stations run forward, -1 where they run aft.
    sign: f64,
}

impl Order {
    /// By whichever way has the longer run; aft where neither has.
    fn of(points: &[&Point], doubled_mm: f64) -> Self {
        let [forward, aft] = [1.0, -1.0].map(|sign| Self::one_way(points, doubled_mm, sign));
        if forward.longest > aft.longest {
            forward
        } else {
            aft
        }
    }

    fn one_way(points: &[&Point], doubled_mm: f64, sign: f64) -> Self {
        let upto = runs(points.iter().map(|p| sign * p.at.x), doubled_mm);
        let mut from = runs(points.iter().rev().map(|p| -sign * p.at.x), doubled_mm);
        from.reverse();
        let through: Vec<usize> = upto.iter().zip(from).map(|(a, b)| a + b - 1).collect();
        Self {
            longest: through.iter().copied().max().unwrap_or(0),
            upto,
            through,
            sign,
        }
    }

    /// True for a row of some longest run.
    fn stands(&self, i: usize) -> bool {
        self.through[i] == self.longest
    }

    /// Rows of which some must go and none surely, in groups that have nothing
    /// to do with one another.
    fn choices(&self, points: &[&Point], doubled_mm: f64) -> Vec<Vec<usize>> {
        let mut places: Vec<Vec<usize>> = vec![Vec::new(); self.longest];
        for i in (0..points.len()).filter(|i| self.stands(*i)) {
            places[self.upto[i] - 1].push(i);
        }
        let x = |i: usize| self.sign * points[i].at.x;
        // Where every row of a place may be followed by every row of the next.
        let free = |a: &[usize], b: &[usize]| {
            let last = a.iter().map(|i| x(*i)).fold(f64::NEG_INFINITY, f64::max);
            let first = b.iter().map(|i| x(*i)).fold(f64::INFINITY, f64::min);
            a.last() < b.first() && first - last > doubled_mm
        };
        let groups = places.chunk_by(|a, b| !free(a, b));
        (groups.filter(|g| g.iter().any(|rows| rows.len() > 1)))
            .map(|g| {
                let mut rows = g.concat();
                rows.sort_unstable();
                rows
            })
            .collect()
    }
}

/// Length of the longest run that ends at each value, each more than `apart`
/// above the one before it: patience sorting.
fn runs(values: impl Iterator<Item = f64>, apart: f64) -> Vec<usize> {
    // The least end of a run of each length.
    let mut ends: Vec<f64> = Vec::new();
    values
        .map(|x| {
            let k = ends.partition_point(|end| x - end > apart);
            match ends.get_mut(k) {
                Some(end) => *end = end.min(x),
                None => ends.push(x),
            }
            k + 1
        })
        .collect()
}

/// A row that no choice keeps.
fn out_of_order(points: &[&Point], order: &Order, i: usize) -> Fault {
    let told = |k: usize| format!("{} (line {})", points[k].name, points[k].line);
    let before = (0..i).rev().find(|k| order.stands(*k)).map(told);
    let after = (i + 1..points.len()).find(|k| order.stands(*k)).map(told);
    let where_it_is = match (before, after) {
        (Some(a), Some(b)) => format!("between {a} and {b}"),
        (Some(a), None) => format!("after {a}"),
        (None, Some(b)) => format!("before {b}"),
        (None, None) => String::new(),
    };
    let what = format!("this station is against the order of the table {where_it_is}");
    let mend = "correct the figure, or move the row to where its station belongs";
    points[i].fault_of(Kind::Survey, "station", what, mend)
}

/// Rows of which any may be the wrong ones.
fn undecided(points: &[&Point], order: &Order, rows: &[usize]) -> Fault {
    let (last, others) = match rows {
        [others @ .., last] => (*last, others),
        [] => (0, rows),
    };
    if let [other] = others {
        let what = format!(
            "this row and that of {} on line {} have changed places, or one of the two stations is wrong",
            points[*other].name, points[*other].line
        );
        let mend = "put the two rows in order, or correct the figure that is wrong";
        return points[last].fault_of(Kind::Survey, "station", what, mend);
    }
    let mut kept: Vec<usize> = rows.iter().map(|i| order.upto[*i]).collect();
    kept.sort_unstable();
    kept.dedup();
    let wrong = rows.len() - kept.len();
    let shown: Vec<String> = (rows.iter().take(MOST_LINES))
        .map(|i| points[*i].line.to_string())
        .collect();
    let more = match rows.len() - shown.len() {
        0 => String::new(),
        n => format!(" and {n} more"),
    };
    let what = format!(
        "{wrong} of the {} stations on lines {}{more} must be against the order of the table",
        rows.len(),
        shown.join(", ")
    );
    let mend = "put these rows in order of their stations, or correct the figures that are wrong";
    points[last].fault_of(Kind::Survey, "station", what, mend)
}

#[cfg(test)]
mod tests {
    use crate::job::{Side, Stern, TableForm};
    use crate::survey::tests::{job, run, table};

    /// Line and text of every fault of a table with these stations, in feet.
    fn told(stations: &[&str], aft: bool) -> Vec<(usize, String)> {
        let mut text = "station,half_breadth,height\n".to_owned();
        for s in stations {
            text.push_str(&format!("{s},4-0-0,5-0-0\n"));
        }
        let mut j = job(Stern::Open);
        j.unit = crate::length::Unit::FeetInchesEighths;
        j.show = crate::length::Show::FeetInches;
        j.stations_aft = aft;
        match run(&j, &[table(TableForm::Offsets, Some(Side::Port), &text)]) {
            Ok(_) => Vec::new(),
            Err(faults) => (faults.0.into_iter())
                .map(|f| {
                    assert_eq!(f.place.field.as_deref(), Some("station"), "{f:?}");
                    let line = f.place.line.expect("a line");
                    let name = f.place.station.expect("a station");
                    let station = stations[line - 2];
                    assert!(name.ends_with(station), "{name}: {station}");
                    (line, format!("{}: {}", f.what, f.mend))
                })
                .collect(),
        }
    }

    /// Stations 2-0-0 to 12-0-0 with some slipped: each as (index, text).
    fn slipped(slips: &[(usize, &str)]) -> Vec<(usize, String)> {
        let right: Vec<String> = (2..=12).map(|ft| format!("{ft}-0-0")).collect();
        let mut booked: Vec<&str> = right.iter().map(String::as_str).collect();
        for (i, text) in slips {
            booked[*i] = text;
        }
        let one_way = told(&booked, false);
        assert_eq!(one_way, told(&booked, true), "counted aft");
        one_way
    }

    #[test]
    fn one_slipped_station_is_the_fault_wherever_it_stands() {
        assert_eq!(slipped(&[]), []);
        // High, low, at the first row and at the last.
        for (i, booked, between) in [
            (6, "18-0-0", "between 7-0-0 (line 7) and 9-0-0 (line 9)"),
            (6, "0-8-0", "between 7-0-0 (line 7) and 9-0-0 (line 9)"),
            (0, "20-0-0", "before 3-0-0 (line 3)"),
            (10, "1-2-0", "after 11-0-0 (line 11)"),
        ] {
            let faults = slipped(&[(i, booked)]);
            let [(line, text)] = &faults[..] else {
                panic!("{booked}: {faults:?}");
            };
            assert_eq!(*line, i + 2);
            assert!(text.contains(between), "{text}");
            assert!(
                text.contains("correct the figure, or move the row"),
                "{text}"
            );
        }
    }

    #[test]
    fn two_slipped_stations_are_two_faults() {
        let lines = |slips: &[(usize, &str)]| -> Vec<usize> {
            slipped(slips).into_iter().map(|f| f.0).collect()
        };
        assert_eq!(lines(&[(3, "15-0-0"), (7, "0-9-0")]), [5, 9]);
        assert_eq!(lines(&[(4, "16-0-0"), (5, "17-0-0")]), [6, 7]);
        // The slip is on the station of a good row further on.
        assert_eq!(lines(&[(3, "9-0-0")]), [5]);
    }

    #[test]
    fn equally_likely_rows_are_told_together() {
        let neighbours = slipped(&[(4, "7-0-0"), (5, "6-0-0")]);
        let [(7, text)] = &neighbours[..] else {
            panic!("{neighbours:?}");
        };
        assert!(
            text.contains("this row and that of 7-0-0 on line 6 have changed places, or one"),
            "{text}"
        );
        // A slip by less than the row before is as likely as that row's.
        let near = slipped(&[(10, "10-6-0")]);
        assert!(
            matches!(&near[..], [(12, text)] if text.contains("line 11 have")),
            "{near:?}"
        );
        // Two pairs of rows that have changed places.
        let pairs = slipped(&[(4, "8-0-0"), (5, "9-0-0"), (6, "6-0-0"), (7, "7-0-0")]);
        assert!(
            matches!(&pairs[..], [(9, text)] if text.contains("2 of the 4 stations on lines 6, 7, 8, 9 must")),
            "{pairs:?}"
        );
    }
}
