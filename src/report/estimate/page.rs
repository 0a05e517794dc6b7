//! The estimate as one self-contained page, for a screen and for paper.

use super::choices::{CAUTIONS, Estimate, Tried, Varied};
use super::figures::Figures;
use super::tables::{choices_table, cost_table, made, vary_table};
use super::text::bought;
use crate::job::Job;
use crate::length::trimmed;
use crate::report::prose::escaped;

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
    out.push_str(&choices_table(estimate, job).to_html(""));
    out.push_str(&cost_table(estimate, job).to_html("Cost"));
    out.push_str(&list("Cannot be made", estimate.cannot()));
    out.push_str("<h2>Sheets of each choice</h2>\n<p>All to one scale. Shapes only: holes and marks are left out.</p>\n");
    let pictures = made(estimate).flat_map(|(t, _)| &t.pictures);
    let widest = pictures.map(|p| p.width).fold(0.0, f64::max);
    for (t, f) in made(estimate) {
        out.push_str(&sheets_of(t, f, job, widest));
    }
    out.push_str(&variations(estimate, job));
    out.push_str(&list("Notes", &estimate.notes));
    out.push_str(&list("Cautions", CAUTIONS));
    out.push_str("</body>\n</html>\n");
    out
}

/// The sheets of a choice that can be made, with what is bought.
fn sheets_of(t: &Tried, f: &Figures, job: &Job, widest: f64) -> String {
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
            trimmed(share, 2),
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
    let tables = Varied::ALL.map(|of| vary_table(estimate, of, job));
    out.extend(tables.iter().flatten().map(|t| t.to_html("")));
    out.push_str(&format!("<p>* {}.</p>\n", estimate.efforts.own_row()));
    out
}

/// A list under a title; nothing where there is nothing.
fn list<S: AsRef<str>>(title: &str, items: impl IntoIterator<Item = S>) -> String {
    let items: Vec<String> = (items.into_iter())
        .map(|item| format!("<li>{}</li>\n", escaped(item.as_ref())))
        .collect();
    if items.is_empty() {
        return String::new();
    }
    format!("<h2>{title}</h2>\n<ul>\n{}</ul>\n", items.concat())
}
