//! The estimate as one self-contained page, for a screen and for paper.

use super::text::{bought, cells, cost_cells, cost_heads, heads, vary_cells, vary_heads};
use super::{CAUTIONS, Estimate, Tried, Varied};
use crate::job::Job;

/// The page's look: thin rules, dark where the reader's system is, black on
/// white on paper. Wide tables scroll under a first column that stays, and are
/// kept whole on paper; captions stand outside what scrolls.
const STYLE: &str = "\
:root{color-scheme:light dark;--ink:#1b1b1b;--paper:#fff;--faint:#555;--rule:#ccc;--strong:#444;--best:#eef3ee;--stock:#fff;--stock-edge:#666;--part:#c9d6de;--part-edge:#222}
@media screen and (prefers-color-scheme:dark){:root{--ink:#e6e6e6;--paper:#16181a;--faint:#a8adb2;--rule:#3c4146;--strong:#8b9198;--best:#23302a;--stock:#22262a;--stock-edge:#8b9198;--part:#4d6577;--part-edge:#dfe6ec}}
body{font:15px/1.45 Arial,\"Liberation Sans\",Helvetica,sans-serif;color:var(--ink);background:var(--paper);margin:2em auto;max-width:84em;padding:0 1em}
h1{font-size:1.5em;margin:0}
h2{font-size:1.1em;margin:2em 0 .4em}
p{margin:.2em 0}
.caption{font-weight:bold;margin:1em 0 .2em}
.wide{overflow-x:auto;margin-bottom:1em}
table{border-collapse:separate;border-spacing:0;font-variant-numeric:tabular-nums}
th,td{padding:.25em .7em;text-align:right;vertical-align:top;white-space:nowrap;border-bottom:1px solid var(--rule);background:var(--paper)}
th:first-child{text-align:left;position:sticky;left:0;z-index:1;border-right:1px solid var(--rule);white-space:normal;min-width:6.5em;max-width:14em}
thead th{border-bottom:2px solid var(--strong);vertical-align:bottom}
thead span{font-weight:normal;color:var(--faint)}
tbody th{font-weight:normal}
tr.best th,tr.best td{font-weight:bold;background:var(--best)}
td.why{text-align:left;white-space:normal;min-width:16em;max-width:36em}
section{margin:1.4em 0;break-inside:avoid}
.sheets{display:flex;flex-wrap:wrap;gap:.8em 1.2em;margin:.5em 0}
figure{margin:0;width:27em;max-width:100%;break-inside:avoid}
figcaption{color:var(--faint);font-size:.93em}
figure svg{display:block;height:auto}
.stock{fill:var(--stock);stroke:var(--stock-edge)}
.part{fill:var(--part);stroke:var(--part-edge)}
li{margin:.2em 0}
@media print{body{margin:0;max-width:none;font-size:10pt}.wide{overflow:visible}table{break-inside:avoid}}";

/// Text for a page: what would be read as markup is escaped.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            // Control characters that a page may not hold.
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

/// `estimate.html`.
#[must_use]
pub fn estimate_page(estimate: &Estimate, job: &Job) -> String {
    let title = escaped(&format!("Estimate: {}", job.name));
    let mut out = format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width,initial-scale=1\">\n<title>{title}</title>\n<style>\n{STYLE}\n</style>\n</head>\n<body>\n<h1>{title}</h1>\n"
    );
    let mut under = vec![job.date.clone(), job.note.clone()];
    under.push(estimate.efforts.told());
    under.extend(estimate.warnings.iter().map(|w| format!("Warning: {w}")));
    for text in under.iter().filter(|t| !t.is_empty()) {
        out.push_str(&format!("<p>{}</p>\n", escaped(text)));
    }
    out.push_str("<h2>Choices, best first</h2>\n");
    let made = || estimate.choices.iter().filter(|t| t.outcome.is_ok());
    let rows =
        made().filter_map(|t| Some(row(&t.title(), cells(t.outcome.as_ref().ok()?, job.show))));
    out.push_str(&table("", &heads(job.show), &best_first(rows)));
    let rows = made().filter_map(|t| {
        Some(row(
            &t.title(),
            cost_cells(estimate, t.outcome.as_ref().ok()?),
        ))
    });
    out.push_str(&table("Cost", &cost_heads(job), &best_first(rows)));
    out.push_str(&refused(estimate));
    out.push_str("<h2>Sheets of each choice</h2>\n<p>All to one scale. Shapes only: holes and marks are left out.</p>\n");
    let widest = made()
        .flat_map(|t| t.pictures.iter().map(|p| p.width))
        .fold(0.0, f64::max);
    for t in made() {
        out.push_str(&sheets_of(t, job, widest));
    }
    out.push_str(&variations(estimate, job));
    out.push_str(&list("Notes", estimate.notes.iter().map(String::as_str)));
    out.push_str(&list("Cautions", CAUTIONS.into_iter()));
    out.push_str("</body>\n</html>\n");
    out
}

/// A row of a table: a class, its heading, its cells.
struct Row {
    class: &'static str,
    head: String,
    cells: Vec<String>,
    /// A sentence over all columns in place of cells.
    why: Option<String>,
}

fn row(head: &str, cells: Vec<String>) -> Row {
    Row {
        class: "",
        head: head.to_owned(),
        cells,
        why: None,
    }
}

/// Rows, the first marked.
fn best_first(rows: impl Iterator<Item = Row>) -> Vec<Row> {
    let mut rows: Vec<Row> = rows.collect();
    if let Some(first) = rows.first_mut() {
        first.class = "best";
    }
    rows
}

fn table(caption: &str, heads: &[(&str, &str)], rows: &[Row]) -> String {
    let mut out = String::new();
    if !caption.is_empty() {
        out.push_str(&format!("<p class=\"caption\">{}</p>\n", escaped(caption)));
    }
    out.push_str("<div class=\"wide\"><table>\n<thead><tr>");
    for (head, unit) in heads {
        out.push_str(&format!("<th scope=\"col\">{}", escaped(head)));
        if !unit.is_empty() {
            out.push_str(&format!(" <span>{}</span>", escaped(unit)));
        }
        out.push_str("</th>");
    }
    out.push_str("</tr></thead>\n<tbody>\n");
    for row in rows {
        let class = if row.class.is_empty() {
            String::new()
        } else {
            format!(" class=\"{}\"", row.class)
        };
        out.push_str(&format!(
            "<tr{class}><th scope=\"row\">{}</th>",
            escaped(&row.head)
        ));
        for cell in &row.cells {
            out.push_str(&format!("<td>{}</td>", escaped(cell)));
        }
        if let Some(why) = &row.why {
            let span = heads.len().saturating_sub(1);
            out.push_str(&format!(
                "<td class=\"why\" colspan=\"{span}\">{}</td>",
                escaped(why)
            ));
        }
        out.push_str("</tr>\n");
    }
    out.push_str("</tbody>\n</table></div>\n");
    out
}

fn refused(estimate: &Estimate) -> String {
    let rows: Vec<Row> = estimate
        .choices
        .iter()
        .filter_map(|t| {
            Some(Row {
                class: "",
                head: t.name.clone(),
                cells: Vec::new(),
                why: Some(t.outcome.as_ref().err()?.clone()),
            })
        })
        .collect();
    if rows.is_empty() {
        return String::new();
    }
    table("Cannot be made", &[("choice", ""), ("why", "")], &rows)
}

/// The sheets of a choice that can be made, with what is bought.
fn sheets_of(t: &Tried, job: &Job, widest: f64) -> String {
    let Ok(f) = &t.outcome else {
        return String::new();
    };
    let mut out = format!(
        "<section>\n<p><b>{}</b>: {}</p>\n<div class=\"sheets\">\n",
        escaped(&t.title()),
        escaped(&bought(f, t, job.show))
    );
    for picture in &t.pictures {
        let share = if widest > 0.0 {
            picture.width / widest * 100.0
        } else {
            100.0
        };
        out.push_str(&format!(
            "<figure>\n<div style=\"width:{}%\">\n{}\n</div>\n<figcaption>{}</figcaption>\n</figure>\n",
            crate::length::trimmed(share, 2),
            picture.svg,
            escaped(&picture.caption)
        ));
    }
    out + "</div>\n</section>\n"
}

fn variations(estimate: &Estimate, job: &Job) -> String {
    let (Some((best, _)), false) = (estimate.best(), estimate.variations.is_empty()) else {
        return String::new();
    };
    let mut out = format!(
        "<h2>The best choice, {}, changed</h2>\n<p>Nested at {} effort.</p>\n",
        escaped(&best.title()),
        estimate.efforts.variations.name()
    );
    for of in Varied::ALL {
        let rows: Vec<Row> = estimate
            .variations
            .iter()
            .filter(|v| v.of == of)
            .map(|v| {
                let made = v.outcome.as_ref();
                Row {
                    class: if v.own { "best" } else { "" },
                    head: of.figure(v.value, job.show),
                    cells: made.map_or_else(|_| Vec::new(), |f| vary_cells(estimate, f, job.show)),
                    why: made.err().map(|why| format!("cannot be made: {why}")),
                }
            })
            .collect();
        if !rows.is_empty() {
            out.push_str(&table("", &vary_heads(of, job), &rows));
        }
    }
    out.push_str(&format!("<p>Shaded: {}.</p>\n", estimate.efforts.own_row()));
    out
}

fn list<'a>(title: &str, items: impl Iterator<Item = &'a str>) -> String {
    let mut out = format!("<h2>{title}</h2>\n<ul>\n");
    for item in items {
        out.push_str(&format!("<li>{}</li>\n", escaped(item)));
    }
    out + "</ul>\n"
}
