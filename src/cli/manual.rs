//! `planksheer manual`: a page for the command, and one a verb.

use std::path::Path;
use std::{fs, io};

use clap::{Command, CommandFactory};
use clap_mangen::Man;
use roff::{Roff, bold, roman};
use serde::Deserialize;

use super::args::{Cli, ManualArgs};
use super::shell;
use crate::fault::{Fault, Faults, Kind, Place};

/// What the pages say beside what the command's own help says.
const PAGES: &str = include_str!("manual.toml");

#[derive(Deserialize)]
struct Pages {
    page: Vec<Page>,
}

/// A page's own.
#[derive(Deserialize)]
struct Page {
    /// The verb; empty for the command itself.
    verb: String,
    /// It reads a job file.
    #[serde(default)]
    reads_job: bool,
    /// Commands as they are typed, and what each does.
    #[serde(default)]
    examples: Vec<(String, String)>,
    /// Files read and written.
    #[serde(default)]
    files: Vec<(String, String)>,
}

/// The file that every verb of a job reads.
const JOB: (&str, &str) = (
    "job.toml",
    "The job: every length with its unit, every other file by its path from this one. docs/job-file.md has its keys.",
);

/// Exit statuses, of every page.
const EXITS: [(&str, &str); 4] = [
    ("0", "Done."),
    (
        "1",
        "The job cannot be made: the reason is on standard error.",
    ),
    ("2", "Wrong usage."),
    ("3", "The line that check was asked about is not fair."),
];

/// Prints a page, or writes them all.
pub(super) fn run(args: &ManualArgs) -> Result<(), Faults> {
    let Some(dir) = &args.out else {
        let verb = args.verb.as_deref().unwrap_or_default();
        let pages = pages().map_err(|e| fault(&e))?;
        let known = pages.iter().position(|(page, _)| page.verb == verb);
        let at = known.ok_or_else(|| unknown(verb, &pages))?;
        return shell::print(text(&pages, at).map_err(|e| fault(&e))?.as_bytes());
    };
    write(dir).map_err(|e| {
        Fault::new(
            Kind::File,
            Place::file(dir.display().to_string()),
            format!("the manual pages cannot be written: {e}"),
            "name a folder that can be written with --out",
        )
        .into()
    })
}

fn write(dir: &Path) -> io::Result<()> {
    fs::create_dir_all(dir)?;
    let pages = pages()?;
    for (at, (page, _)) in pages.iter().enumerate() {
        let name = format!("{}.1", name(&page.verb));
        fs::write(dir.join(name), text(&pages, at)?)?;
    }
    Ok(())
}

/// Name of a page: `planksheer-build`.
fn name(verb: &str) -> String {
    match verb {
        "" => "planksheer".to_owned(),
        verb => format!("planksheer-{verb}"),
    }
}

/// Every page with the command it is of.
fn pages() -> io::Result<Vec<(Page, Command)>> {
    let all: Pages = toml::from_str(PAGES).map_err(io::Error::other)?;
    let mut whole = Cli::command().disable_help_subcommand(true);
    whole.build();
    let of = |page: Page| {
        let command = match page.verb.as_str() {
            "" => Some(&whole),
            verb => whole.find_subcommand(verb),
        };
        Some((page, command?.clone()))
    };
    Ok(all.page.into_iter().filter_map(of).collect())
}

/// A page as text for `man`.
fn text(pages: &[(Page, Command)], at: usize) -> io::Result<String> {
    let (page, command) = &pages[at];
    let mut out = Vec::new();
    let verbs = command.has_subcommands();
    let man = Man::new(command.clone().override_usage(usage(command)))
        .title(name(&page.verb))
        .manual("Planksheer");
    man.render_title(&mut out)?;
    man.render_name_section(&mut out)?;
    man.render_synopsis_section(&mut out)?;
    man.render_description_section(&mut out)?;
    man.render_options_section(&mut out)?;
    if verbs {
        man.render_subcommands_section(&mut out)?;
    }
    let mut roff = Roff::new();
    let files = page
        .files
        .iter()
        .map(|(file, what)| (file.as_str(), what.as_str()));
    let job = page.reads_job.then_some(JOB);
    let examples = page
        .examples
        .iter()
        .map(|(typed, does)| (typed.as_str(), does.as_str()));
    section(&mut roff, "EXAMPLES", examples);
    section(&mut roff, "FILES", job.into_iter().chain(files));
    section(&mut roff, "EXIT STATUS", EXITS);
    roff.control("SH", ["SEE ALSO"]);
    let others = (pages.iter().map(|(p, _)| &p.verb)).filter(|v| **v != page.verb);
    let others: Vec<String> = others.map(|v| format!("{}(1)", name(v))).collect();
    roff.text([roman(others.join(", "))]);
    roff.to_writer(&mut out)?;
    String::from_utf8(out).map_err(io::Error::other)
}

/// Every option with its value, then what stands without one: `man` pages show
/// what can be typed.
fn usage(command: &Command) -> String {
    let mut out = command.get_bin_name().unwrap_or("planksheer").to_owned();
    for arg in command.get_arguments().filter(|a| !a.is_hide_set()) {
        let one_of: Vec<String> = (arg.get_possible_values().iter())
            .map(|v| v.get_name().to_owned())
            .collect();
        let named = || arg.get_value_names().unwrap_or_default().iter();
        let value = match &one_of[..] {
            [] => named().map(|n| n.to_string()).collect(),
            several => several.join("|"),
        };
        let takes = arg.get_action().takes_values();
        let typed = match arg.get_long() {
            Some(long) if takes => format!("--{long} {value}"),
            Some(long) => format!("--{long}"),
            None => value,
        };
        out.push_str(&if arg.is_required_set() {
            format!(" {typed}")
        } else {
            format!(" [{typed}]")
        });
    }
    if command.has_subcommands() {
        out.push_str(" VERB ...");
    }
    out
}

/// A section of terms, each with a sentence.
fn section<'a>(
    roff: &mut Roff,
    heading: &str,
    terms: impl IntoIterator<Item = (&'a str, &'a str)>,
) {
    for (k, (term, sentence)) in terms.into_iter().enumerate() {
        if k == 0 {
            roff.control("SH", [heading]);
        }
        roff.control("TP", []);
        roff.text([bold(term)]);
        roff.text([roman(sentence)]);
    }
}

fn unknown(verb: &str, pages: &[(Page, Command)]) -> Fault {
    let verbs = pages.iter().map(|(page, _)| page.verb.as_str());
    let verbs: Vec<&str> = verbs.filter(|v| !v.is_empty()).collect();
    let what = format!("there is no verb `{verb}`");
    let mend = format!("the verbs are {}", verbs.join(", "));
    Fault::new(Kind::Unknown, Place::file("manual"), what, mend)
}

fn fault(e: &io::Error) -> Fault {
    let what = format!("the page cannot be made: {e}");
    let mend = "run the command again";
    Fault::new(Kind::File, Place::file("manual"), what, mend)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_verb_has_its_page() {
        let command = Cli::command();
        let verbs: Vec<&str> = command.get_subcommands().map(Command::get_name).collect();
        let pages = pages().expect("pages that read");
        let pages: Vec<&str> = pages.iter().map(|(p, _)| p.verb.as_str()).skip(1).collect();
        assert_eq!(pages, verbs);
    }
}
