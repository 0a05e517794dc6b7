//! `planksheer manual`: a page for the command, and one a verb.

use std::path::Path;
use std::{fs, io};

use clap::{Command, CommandFactory};
use clap_mangen::Man;
use roff::{Roff, bold, roman};

use super::args::{Cli, ManualArgs};
use super::shell;
use crate::fault::{Fault, Faults, Kind, Place};

/// What a page says beside what the command's own help says.
struct Page {
    /// The verb; empty for the command itself.
    verb: &'static str,
    /// Commands as they are typed, and what each does.
    examples: &'static [(&'static str, &'static str)],
    /// Files read and written.
    files: &'static [(&'static str, &'static str)],
}

/// The file that every verb of a job reads.
const JOB: (&str, &str) = (
    "job.toml",
    "The job: every length with its unit, every other file by its path from this one. docs/job-file.md has its keys.",
);

const PAGES: [Page; 9] = [
    Page {
        verb: "",
        examples: &[
            ("planksheer start bulwark", "Write a starter job to change."),
            (
                "planksheer fair bulwark/job.toml",
                "See what of the survey is doubtful before anything is cut.",
            ),
            (
                "planksheer build bulwark/job.toml --out bulwark/out",
                "Do the whole job.",
            ),
        ],
        files: &[JOB],
    },
    Page {
        verb: "build",
        examples: &[
            (
                "planksheer build job.toml --out out --quick",
                "A first look, in a second or two.",
            ),
            (
                "planksheer build job.toml --out out --effort long",
                "The nest to cut from; Ctrl-C ends the search and keeps the best found.",
            ),
        ],
        files: &[
            JOB,
            (
                "out/summary.json",
                "Every number, with its unit in the key.",
            ),
            (
                "out/yield.txt",
                "Yield, cost, warnings and cautions, to be read first.",
            ),
            ("out/sheets/*.dxf, *.svg", "Sheets as they are cut."),
            ("out/parts/*.dxf, *.svg", "Parts at net size, 1:1."),
            ("out/cap/*.dxf", "The wood cap's lengths, 1:1."),
            (
                "out/lists/*.csv, *.txt",
                "Parts, stanchions, bends, fasteners, ordinates, fit, order of cutting.",
            ),
            (
                "out/remnants/*.dxf",
                "Offcuts to keep, to be named in a later job.",
            ),
            ("out/faired-edge.csv, .svg", "Both lines as faired."),
            (
                "out/manifest.sha256",
                "What was written; `sha256sum --check` reads it.",
            ),
        ],
    },
    Page {
        verb: "estimate",
        examples: &[
            (
                "planksheer estimate job.toml",
                "Print the choices of stock, best first.",
            ),
            (
                "planksheer estimate job.toml --effort normal --out estimate",
                "Nest the variations of the best as for cutting too, and write a page with pictures.",
            ),
        ],
        files: &[
            JOB,
            ("estimate/estimate.txt, .csv, .html, .json", "The choices."),
            (
                "estimate/variations.csv",
                "How the best answers to gap, height and width.",
            ),
        ],
    },
    Page {
        verb: "fair",
        examples: &[(
            "planksheer fair job.toml --out fair",
            "Print what moves, and write the pictures.",
        )],
        files: &[
            JOB,
            (
                "fair/fairness.txt, .json",
                "Moves, findings, doubtful figures.",
            ),
            ("fair/moves.csv, faired-edge.csv", "The lines as tables."),
            (
                "fair/plan-and-profile.svg, sighting.svg",
                "The lines with their curvature, and as the eye sees them along the rail.",
            ),
        ],
    },
    Page {
        verb: "check",
        examples: &[
            (
                "planksheer check job.toml --tacked tacked.csv",
                "Is the tacked line fair, and what moves make it so?",
            ),
            (
                "planksheer check job.toml --tacked tacked.csv --welded welded.csv",
                "How far did the welds pull it, and is it still fair?",
            ),
        ],
        files: &[
            JOB,
            (
                "tacked.csv, welded.csv",
                "A row a stanchion: its name and where the top plate stands. docs/tacked-check.md has the columns.",
            ),
        ],
    },
    Page {
        verb: "pattern",
        examples: &[
            (
                "planksheer pattern job.toml --test-page --out test",
                "A page of long bars, to learn what the printer makes of a length.",
            ),
            (
                "planksheer pattern job.toml --out patterns",
                "Every part on the shop's paper, a file a part.",
            ),
            (
                "planksheer pattern job.toml --part B4 --paper \"36 in roll\" --print-scale 1.004,0.998 --out b4",
                "One part on a roll, corrected for the printer.",
            ),
            (
                "planksheer pattern job.toml --kind cap --share --paper \"36 in roll\" --out cap",
                "The wood cap's lengths, side by side on a roll.",
            ),
        ],
        files: &[
            JOB,
            (
                "DIR/NAME.pdf",
                "First sheet and pages of a part; with --one-file patterns.pdf has them all.",
            ),
            (
                "DIR/NAME-drilling.pdf",
                "What --drilling writes of a base plate.",
            ),
            (
                "DIR/NAME-footprints.pdf",
                "What --footprints writes of a plate.",
            ),
            (
                "DIR/shared.pdf",
                "Pages of several parts each, with --share.",
            ),
            ("DIR/ordinates.pdf", "What --ordinates writes."),
            ("DIR/test-page.pdf", "What --test-page writes."),
        ],
    },
    Page {
        verb: "start",
        examples: &[("planksheer start bulwark", "Begin a job in a new folder.")],
        files: &[
            (
                "bulwark/job.toml",
                "The starter job, with a comment on every key.",
            ),
            (
                "bulwark/edge.csv",
                "The survey of its boat, which is invented.",
            ),
        ],
    },
    Page {
        verb: "completions",
        examples: &[(
            "planksheer completions bash > ~/.local/share/bash-completion/completions/planksheer",
            "Complete verbs and options in bash.",
        )],
        files: &[],
    },
    Page {
        verb: "manual",
        examples: &[
            (
                "planksheer manual build | man -l -",
                "Read the page of a verb.",
            ),
            (
                "planksheer manual --out ~/.local/share/man/man1",
                "Install every page: `man planksheer-build` then finds its own.",
            ),
        ],
        files: &[(
            "DIR/planksheer.1, planksheer-VERB.1",
            "The pages that --out writes.",
        )],
    },
];

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
        let page = pages().into_iter().find(|(page, _)| page.verb == verb);
        return match page {
            Some((page, command)) => {
                shell::print(text(&page, command).map_err(|e| fault(&e))?.as_bytes())
            }
            None => Err(unknown(verb).into()),
        };
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
    for (page, command) in pages() {
        let name = format!("{}.1", name(page.verb));
        fs::write(dir.join(name), text(&page, command)?)?;
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
fn pages() -> Vec<(Page, Command)> {
    let mut whole = Cli::command().disable_help_subcommand(true);
    whole.build();
    let of = |page: Page| {
        let command = match page.verb {
            "" => Some(whole.clone()),
            verb => whole.find_subcommand(verb).cloned(),
        };
        command.map(|c| (page, c))
    };
    PAGES.into_iter().filter_map(of).collect()
}

/// A page as text for `man`.
fn text(page: &Page, command: Command) -> io::Result<String> {
    let mut out = Vec::new();
    let verbs = command.has_subcommands();
    let usage = usage(&command);
    let command = command.override_usage(usage);
    let man = Man::new(command)
        .title(name(page.verb))
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
    section(&mut roff, "EXAMPLES", page.examples);
    section(&mut roff, "FILES", page.files);
    section(&mut roff, "EXIT STATUS", &EXITS);
    roff.control("SH", ["SEE ALSO"]);
    let others: Vec<String> = PAGES
        .iter()
        .filter(|p| p.verb != page.verb)
        .map(|p| format!("{}(1)", name(p.verb)))
        .collect();
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
fn section(roff: &mut Roff, heading: &str, terms: &[(&str, &str)]) {
    if terms.is_empty() {
        return;
    }
    roff.control("SH", [heading]);
    for (term, sentence) in terms {
        roff.control("TP", []);
        roff.text([bold(*term)]);
        roff.text([roman(*sentence)]);
    }
}

fn unknown(verb: &str) -> Fault {
    let verbs = PAGES.iter().map(|p| p.verb).filter(|v| !v.is_empty());
    Fault::new(
        Kind::Unknown,
        Place::file("manual"),
        format!("there is no verb `{verb}`"),
        format!("the verbs are {}", verbs.collect::<Vec<_>>().join(", ")),
    )
}

fn fault(e: &io::Error) -> Fault {
    Fault::new(
        Kind::File,
        Place::file("manual"),
        format!("the page cannot be made: {e}"),
        "run the command again",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_verb_has_its_page() {
        let command = Cli::command();
        let verbs: Vec<&str> = command.get_subcommands().map(Command::get_name).collect();
        let pages: Vec<&str> = PAGES.iter().map(|p| p.verb).skip(1).collect();
        assert_eq!(pages, verbs);
    }
}
