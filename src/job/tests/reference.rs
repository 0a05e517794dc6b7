//! The tables of `docs/job-file.md`, made from `job::keys`; and that the page, the
//! keys, the reader and the starter say the same.

use std::fs;

use crate::fault::{Fault, Kind};
use crate::job::key_kind::{Absent, BILLION, Key, Quantity, Range, quoted};
use crate::job::keys::JOB;
use crate::job::{STARTER, parse};
use crate::length::{trimmed, unrounded};
use crate::stock::{ALLOYS, PROCESSES};

const PAGE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/job-file.md");

/// A key with the names that lead to it; true for a list, of which the first is meant.
type Named = (Vec<(&'static str, bool)>, Key);

/// Every key below these, tables before what they hold.
fn every(keys: &[Key], above: &[(&'static str, bool)]) -> Vec<Named> {
    let mut out = Vec::new();
    for key in keys {
        let list = matches!(key.quantity, Quantity::Tables(..) | Quantity::Places(_));
        let path = [above, &[(key.name, list)]].concat();
        let below = every(key.quantity.keys().unwrap_or_default(), &path);
        out.push((path, *key));
        out.extend(below);
    }
    out
}

/// Name of a key as the page has it, `survey.file.path`.
fn plain(path: &[(&str, bool)]) -> String {
    let names: Vec<&str> = path.iter().map(|(name, _)| *name).collect();
    names.join(".")
}

/// What a key holds and its range, as the page tells it.
fn told(quantity: Quantity) -> String {
    let ranged = |what: &str, range: Range, figure: fn(f64) -> String| {
        let most = if range.most < BILLION {
            range.most
        } else {
            f64::INFINITY
        };
        let words = Range { most, ..range }.words(|v, _| figure(v));
        let words = words.strip_prefix("from ").unwrap_or(&words);
        let parts = [what, words].into_iter().filter(|p| !p.is_empty());
        parts.collect::<Vec<_>>().join(", ")
    };
    let plain = quantity.plain().unwrap_or_default();
    let plain = plain.trim_start_matches("a ").trim_start_matches("plain ");
    match quantity {
        Quantity::Text | Quantity::Note => "text".to_owned(),
        Quantity::Path => "path".to_owned(),
        Quantity::Date => "date".to_owned(),
        Quantity::Flag => "`true` or `false`".to_owned(),
        Quantity::Choice(words) => quoted(&words(), "`", " or "),
        Quantity::Alloy => "alloy".to_owned(),
        Quantity::Process => {
            let names = quoted(&PROCESSES.map(|p| p.name), "`", ", ");
            format!("{names}, or a name of your own")
        }
        Quantity::Texts => "list of texts".to_owned(),
        Quantity::Length(range) => ranged("length", range, metric),
        Quantity::Angle(range) | Quantity::Number(range, _) => ranged(plain, range, unrounded),
        Quantity::Price(_) => plain.to_owned(),
        Quantity::Count(least, most) => format!("{plain}, {least} to {most}"),
        Quantity::Prices(name) => format!("price by {name}"),
        Quantity::Rectangles => "list of rectangles".to_owned(),
        Quantity::Place(_) => "[place](#places)".to_owned(),
        Quantity::Places(_) => "list of [places](#places)".to_owned(),
        Quantity::Table(_) => "table".to_owned(),
        Quantity::Tables(_, most) => format!("list of tables, at most {most}"),
    }
}

/// A length of a range, mm, as the reference tells it.
fn metric(mm: f64) -> String {
    match mm.abs() {
        0.0 => "0".to_owned(),
        1000.0.. => format!("{} m", trimmed(mm / 1000.0, 3)),
        _ => format!("{} mm", trimmed(mm, 3)),
    }
}

fn table(keys: &[Key]) -> String {
    let mut out = "| key | value | default | meaning |\n|---|---|---|---|\n".to_owned();
    for key in keys {
        let default = match (key.absent, key.quantity) {
            (Absent::Required, _) => "required".to_owned(),
            (Absent::Is(text), Quantity::Length(_)) => text.to_owned(),
            (Absent::Is(text), quantity) if quantity.plain().is_some() => text.to_owned(),
            (Absent::Is(text), _) => format!("`{text}`"),
            (Absent::Else(words), _) => words.to_owned(),
            (Absent::Told(words), _) => words(),
        };
        let value = told(key.quantity);
        let row = format!(
            "| `{}` | {value} | {default} | {} |\n",
            key.name, key.meaning
        );
        out.push_str(&row);
    }
    out
}

/// The page with the table of its keys after every mark, `<!-- keys: base -->`, and
/// the alloys after theirs.
fn current(page: &str) -> String {
    let keys = every(JOB, &[]);
    let made = |name: &str| match name {
        "alloys" => quoted(&ALLOYS.map(|a| a.name), "`", " and ") + "\n",
        "job" => table(JOB),
        _ => {
            let found = keys.iter().find(|(path, _)| plain(path) == name);
            let below = found.and_then(|(_, key)| key.quantity.keys());
            table(below.unwrap_or_else(|| panic!("no table `{name}` in the keys")))
        }
    };
    let mut out = String::new();
    let mut within = false;
    for line in page.lines() {
        within &= !line.is_empty();
        if !within {
            out.push_str(line);
            out.push('\n');
        }
        if let Some(name) = line.strip_prefix("<!-- keys: ") {
            out.push_str(&made(name.trim_end_matches(" -->")));
            within = true;
        }
    }
    out
}

#[test]
fn the_page_has_the_tables_of_the_keys() {
    let page = fs::read_to_string(PAGE).expect("the page");
    let want = current(&page);
    if page != want && std::env::var("INSTA_UPDATE").is_ok_and(|v| v == "always") {
        fs::write(PAGE, want).expect("written");
        return;
    }
    let odd = page.lines().zip(want.lines()).find(|(a, b)| a != b);
    assert!(
        page == want,
        "docs/job-file.md does not say what the keys of src/job do; INSTA_UPDATE=always cargo test writes it: {odd:?}"
    );
    for (path, key) in every(JOB, &[]) {
        let below = key.quantity.keys();
        // A table of tables alone needs none.
        let below = below.filter(|keys| keys.iter().any(|k| k.quantity.keys().is_none()));
        assert!(
            below.is_none_or(|keys| page.contains(&table(keys))),
            "the page has no table of {}",
            plain(&path)
        );
    }
}

#[test]
fn a_page_that_is_not_current_is_seen() {
    let page = current("<!-- keys: remnants -->\n\nOn.\n");
    assert!(page.contains("| `least` | length, 20 mm to 50 m | 500 mm |"));
    assert!(page.ends_with(" |\n\nOn.\n"), "{page}");
    let spoilt = page.replace("500 mm", "400 mm");
    assert_ne!(page, spoilt);
    assert_eq!(current(&spoilt), page);
}

/// The page's example of a job.
fn example() -> String {
    let page = fs::read_to_string(PAGE).expect("the page");
    let whole = page.split("```toml\n").nth(1);
    let whole = whole.and_then(|s| s.split("```").next());
    whole.expect("an example").to_owned()
}

#[test]
fn the_page_s_example_is_read() {
    let job = parse(&example(), "job.toml", "").expect("a job");
    assert_eq!(job.doublers.len(), 1);
}

/// Faults that the example has at a key once it says this there.
fn with(path: &[(&'static str, bool)], value: toml::Value) -> Vec<Fault> {
    let mut job: toml::Table = example().parse().expect("an example");
    let mut field = String::new();
    let mut at = &mut job;
    let Some(((last, _), above)) = path.split_last() else {
        return Vec::new();
    };
    for &(name, list) in above {
        let empty = toml::Value::Table(toml::Table::new());
        let new = if list {
            toml::Value::Array(vec![empty])
        } else {
            empty
        };
        let held = at.entry(name).or_insert(new);
        let held = match held {
            toml::Value::Array(items) => &mut items[0],
            other => other,
        };
        at = held.as_table_mut().expect("a table");
        field.push_str(&format!("{name}{}.", if list { "[1]" } else { "" }));
    }
    field.push_str(last);
    at.insert((*last).to_owned(), value);
    let text = toml::to_string(&job).expect("a text");
    let faults = parse(&text, "job.toml", "").err().map_or(vec![], |f| f.0);
    let here = |f: &Fault| f.place.field.as_deref() == Some(&*field);
    faults.into_iter().filter(here).collect()
}

#[test]
fn every_key_is_read_as_what_it_is() {
    for (path, key) in every(JOB, &[]) {
        let wrong = match key.quantity {
            Quantity::Flag => toml::Value::String("so".to_owned()),
            _ => toml::Value::Boolean(true),
        };
        let faults = with(&path, wrong);
        assert!(
            faults
                .iter()
                .any(|f| matches!(f.kind, Kind::Syntax | Kind::Unit)),
            "{} takes anything: {faults:?}",
            plain(&path)
        );
    }
}

#[test]
fn every_range_holds_at_both_ends() {
    let mut count = 0;
    for (path, key) in every(JOB, &[]) {
        let (least, most) = match key.quantity {
            Quantity::Length(r) | Quantity::Angle(r) | Quantity::Number(r, _) => (r.least, r.most),
            Quantity::Price(_) => (0.0, 1e9),
            Quantity::Count(least, most) => (f64::from(least), f64::from(most)),
            _ => continue,
        };
        for beyond in [least - 1.0, most * 1.5] {
            let value = match key.quantity {
                Quantity::Length(_) => toml::Value::String(format!("{beyond} mm")),
                _ => toml::Value::Float(beyond),
            };
            let faults = with(&path, value);
            let told = faults.iter().any(|f| f.kind == Kind::Range);
            assert!(
                told || beyond.is_infinite(),
                "{} takes {beyond}: {faults:?}",
                plain(&path)
            );
            count += 1;
        }
    }
    assert!(count > 100, "{count}");
}

#[test]
fn every_default_is_what_its_key_takes() {
    for (path, key) in every(JOB, &[]) {
        let Absent::Is(text) = key.absent else {
            continue;
        };
        let figure = || toml::Value::Float(text.parse().expect("a figure"));
        let word = || toml::Value::String(text.to_owned());
        let value = match key.quantity {
            Quantity::Flag => toml::Value::Boolean(text.parse().expect("true or false")),
            Quantity::Texts => toml::Value::Array(vec![word()]),
            quantity if quantity.plain().is_some() => figure(),
            _ => word(),
        };
        let faults = with(&path, value);
        let sound = faults.iter().all(|f| f.kind == Kind::Conflict);
        assert!(sound, "{} does not take {text}: {faults:?}", plain(&path));
    }
}

#[test]
fn what_must_be_given_is_told_in_words_without_links() {
    for (path, key) in every(JOB, &[]) {
        let linked = matches!(key.absent, Absent::Required) && key.meaning.contains("](");
        assert!(!linked, "{}", plain(&path));
    }
}

#[test]
fn what_the_starter_offers_is_taken() {
    let mut offered = 0;
    for line in STARTER.lines() {
        let Some((key, (_, comment))) = line
            .split_once(" = ")
            .and_then(|(key, rest)| Some((key, rest.split_once('#')?)))
        else {
            continue;
        };
        for word in comment.split('"').skip(1).step_by(2) {
            let other = STARTER.replacen(line, &format!("{key} = \"{word}\""), 1);
            let job = parse(&other, "job.toml", "");
            assert!(job.is_ok(), "{key} = \"{word}\": {}", job.unwrap_err());
            offered += 1;
        }
    }
    assert!(offered > 2);
}
