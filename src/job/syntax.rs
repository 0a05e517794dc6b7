//! What a person most likely meant where the text of a job is no TOML.

use super::keys::takes_number;
use super::text::Reader;
use crate::fault::{Fault, Kind, Place};
use crate::limits::Unsound;

/// Faults of a text that does not follow the format, at most one a line;
/// `errors` are the bytes where it does not, with the format's own words.
pub(super) fn faults(text: &str, reader: &Reader<'_>, errors: &[(usize, &str)]) -> Vec<Fault> {
    if errors.is_empty() {
        return Vec::new();
    }
    if let Some(fault) = another_file(text, reader) {
        return vec![fault];
    }
    let mut out = controls(text, reader);
    for &(byte, message) in errors {
        let place = reader.place(byte);
        if out.iter().any(|f| f.place.line == place.line) {
            continue;
        }
        let (what, mend) = meant(text, byte).unwrap_or_else(|| {
            (
                message.to_owned(),
                "mend the text there: a line is `key = value`, text stands in double quotes, a key stands once".to_owned(),
            )
        });
        out.push(Fault::new(Kind::Syntax, place, what, mend));
    }
    out
}

/// The first raw control character of every line: the format takes none but tabs.
fn controls(text: &str, reader: &Reader<'_>) -> Vec<Fault> {
    let mut start = 0;
    let mut out = Vec::new();
    for line in text.split_inclusive('\n') {
        let raw = |c: char| c.is_ascii_control() && !matches!(c, '\t' | '\n' | '\r');
        let found = line.char_indices().find(|(_, c)| raw(*c));
        let told = found.and_then(|(at, c)| {
            let (named, before) = held(line, at);
            let unsound = Unsound::unseen(c, before.chars().count() + 1)?;
            let place = reader.place(start + at);
            let what = format!("{named} {}", unsound.what);
            Some(Fault::new(Kind::Syntax, place, what, unsound.mend))
        });
        out.extend(told);
        start += line.len();
    }
    out
}

/// What holds a byte of a line, the text of a key or the line, and what of it
/// stands before.
fn held(line: &str, at: usize) -> (String, &str) {
    let own = || {
        let (key, value) = around(line, at)?;
        let start = line.find(value)? + 1;
        let before = line.get(start..at)?;
        let open = value.starts_with('"') && !before.contains('"');
        open.then(|| (format!("`{key}`"), before))
    };
    own().unwrap_or_else(|| ("the line".to_owned(), &line[..at]))
}

/// A table or a drawing given in the place of a job.
fn another_file(text: &str, reader: &Reader<'_>) -> Option<Fault> {
    let mut lines = text
        .lines()
        .map(str::trim)
        .filter(|l| !l.is_empty() && !l.starts_with('#'));
    let first = lines.next()?;
    let parted = first.matches([',', ';', '\t']).count() > 1;
    let what = if parted && !first.contains('=') && !first.starts_with('[') {
        "this is a table, not a job file"
    } else if first == "0" && lines.next() == Some("SECTION") {
        "this is a drawing, not a job file"
    } else {
        return None;
    };
    let place = Place {
        line: None,
        column: None,
        ..reader.place(0)
    };
    Some(Fault::new(
        Kind::Syntax,
        place,
        what,
        "give the job file, which names this file as a [[survey.file]]; `planksheer start DIR` writes one to begin with",
    ))
}

/// What is wrong at a byte and the line mended, where it is a value that
/// lacks its quotes, or itself.
fn meant(text: &str, byte: usize) -> Option<(String, String)> {
    let start = text.get(..byte)?.rfind('\n').map_or(0, |i| i + 1);
    let line = text.get(start..)?.lines().next()?;
    let (key, value) = around(line, byte - start)?;
    if value.is_empty() {
        return Some((
            format!("`{key}` has no value"),
            format!("write {key} = and its value, text in double quotes"),
        ));
    }
    if value.starts_with('"') {
        let inner = value.trim_matches('"');
        let open = value.matches('"').count() == 1;
        return open.then(|| {
            (
                format!("the text of `{key}` has no closing quote"),
                format!("write {key} = \"{inner}\""),
            )
        });
    }
    if value.starts_with(['\'', '[', '{']) {
        return None;
    }
    if let Some((whole, part)) = value.split_once(',')
        && [whole, part]
            .iter()
            .all(|p| p.bytes().all(|b| b.is_ascii_digit()))
    {
        return Some((
            format!("`{key}` has a comma in its number"),
            format!("write a point for decimals: {key} = {whole}.{part}"),
        ));
    }
    // A value that can stand as it is: the fault is another.
    if toml::de::DeTable::parse(&format!("v = {value}")).is_ok() {
        return None;
    }
    if let Some(number) = meant_number(key, value) {
        return Some((
            format!("`{key}` is not written as a number"),
            format!("write {key} = {number}, without a unit"),
        ));
    }
    let curly = [
        '\u{201c}', '\u{201d}', '\u{201e}', '\u{2018}', '\u{2019}', '`',
    ];
    let inner = value.trim_matches(curly);
    let quoted = inner.replace('\\', "\\\\").replace('"', "\\\"");
    Some((
        format!("`{key}` is text without its quotes"),
        format!("text stands in double quotes: write {key} = \"{quoted}\""),
    ))
}

/// The number that is meant: of a key that takes a plain number the figure
/// that its value begins with; of another one that is nothing else.
fn meant_number(key: &str, value: &str) -> Option<f64> {
    let figure = |c: char| c.is_ascii_digit() || matches!(c, '.' | '+' | '-');
    let end = value.find(|c| !figure(c)).unwrap_or(value.len());
    let whole = end == value.len();
    let number: f64 = value[..end].parse().ok()?;
    (whole || takes_number(key)).then_some(number)
}

/// Key and value about a place of a line: of the inline table it holds, if it
/// holds one, or of the line.
fn around(line: &str, at: usize) -> Option<(&str, &str)> {
    let (_, value) = line.split_once('=')?;
    let part = if value.trim_start().starts_with(['{', '[']) {
        let at = line.get(..at)?.len();
        let start = line[..at].rfind(['{', ',']).map_or(0, |i| i + 1);
        let end = line[at..].find([',', '}']).map_or(line.len(), |i| at + i);
        &line[start..end]
    } else if value.contains(['"', '\'']) {
        line
    } else {
        line.split('#').next()?
    };
    let (key, value) = part.split_once('=')?;
    let key = key.trim();
    let named = !key.is_empty() && !key.starts_with('[');
    named.then_some((key, value.trim()))
}
