//! The command: arguments, files in and out, progress, exit codes. One file
//! a verb.

mod build;
mod check;
mod estimate;
mod fair;
pub mod folder;
mod input;
mod progress;
mod shell;
mod start;

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, Parser, Subcommand, ValueEnum};

use crate::fault::{Fault, Faults, Kind, Place};
use crate::job::Effort;

/// From the surveyed deck edge of a wooden workboat to cut sheets for a
/// welded aluminium bulwark: fair lines, flat plates, nests, patterns.
///
/// Exit status: 0 done, 1 the job cannot be made (the reason is on standard
/// error), 2 wrong usage, 3 the line that `check` was asked about is not fair.
#[derive(Debug, Parser)]
#[command(name = "planksheer", version, max_term_width = 100)]
struct Cli {
    #[command(subcommand)]
    verb: Verb,
}

#[derive(Debug, Subcommand)]
enum Verb {
    /// Do the whole job: fair the edge, lay out, flatten, detail, nest, write
    Build(BuildArgs),
    /// Set choices of stock against each other: sheets, yield, mass, welds,
    /// cutting and cost, best first, and how the best answers to gap, height and width
    Estimate(EstimateArgs),
    /// Fair the surveyed edge and say what moves, what is not fair, what of
    /// the survey is doubtful, and how port and starboard differ
    Fair(FairArgs),
    /// Check the line as tacked up, or as welded: is it fair, and the fewest moves
    Check(CheckArgs),
    /// Write a commented starter job that builds as it is
    Start(StartArgs),
    /// Print a completion script for a shell
    Completions(CompletionArgs),
    /// Print the manual page (roff)
    Manual,
}

#[derive(Debug, Args)]
struct BuildArgs {
    /// The job file (TOML; see docs/job-file.md)
    job: PathBuf,
    /// Folder for everything written; an earlier output there is replaced
    /// in whole, and only when the new one is complete
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// Search effort of the nest, over the job's own; an interrupt (Ctrl-C)
    /// ends the search and keeps the best found
    #[arg(long, value_enum, conflicts_with = "quick")]
    effort: Option<EffortArg>,
    /// The same as --effort quick
    #[arg(long)]
    quick: bool,
    /// Refuse a survey with a doubtful figure that no verdict of the job
    /// accepts or replaces
    #[arg(long)]
    strict: bool,
    /// Threads to use; the result is the same on any number
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    threads: Option<u16>,
    /// Print summary.json on standard output instead of a short account
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Args)]
struct EstimateArgs {
    /// The job file (TOML; see docs/job-file.md)
    job: PathBuf,
    /// Folder for the tables, the JSON and the page with pictures (see
    /// docs/estimate.md); an earlier output there is replaced in whole
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Search effort of every nest; quick if not given
    #[arg(long, value_enum, conflicts_with = "quick")]
    effort: Option<EffortArg>,
    /// The same as --effort quick
    #[arg(long)]
    quick: bool,
    /// Leave out how the best choice answers to gap, height and width
    #[arg(long)]
    no_variations: bool,
    /// Threads to use; the result is the same on any number
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    threads: Option<u16>,
    /// Print JSON (see docs/estimate.md) instead of the tables for people
    #[arg(long)]
    json: bool,
}

/// Exit status of `check` where the line is not fair.
const UNFAIR: u8 = 3;

#[derive(Debug, Args)]
struct CheckArgs {
    /// The job file (TOML; see docs/job-file.md)
    job: PathBuf,
    /// Survey of the tacked line, a row a stanchion (see docs/tacked-check.md)
    #[arg(long, value_name = "FILE")]
    tacked: PathBuf,
    /// Survey of the welded line: the pull against the tacked one, and whether it is
    /// still fair, which is then what the exit status tells
    #[arg(long, value_name = "FILE")]
    welded: Option<PathBuf>,
    /// Print JSON on standard output
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Args)]
struct FairArgs {
    /// The job file (TOML; see docs/job-file.md)
    job: PathBuf,
    /// Folder for the pictures (plan and profile with curvature combs, the
    /// line sighted along before and after) and tables; an earlier output
    /// there is replaced in whole
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Print JSON (see docs/fairness.md) instead of the tables for people
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Args)]
struct StartArgs {
    /// Folder to write the starter job into; made if it is not there
    dir: PathBuf,
}

#[derive(Debug, Args)]
struct CompletionArgs {
    /// The shell
    shell: clap_complete::Shell,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum EffortArg {
    /// Under a second for a usual job
    Quick,
    /// Some seconds
    Normal,
    /// Some minutes
    Long,
}

impl From<EffortArg> for Effort {
    fn from(e: EffortArg) -> Self {
        match e {
            EffortArg::Quick => Self::Quick,
            EffortArg::Normal => Self::Normal,
            EffortArg::Long => Self::Long,
        }
    }
}

/// Runs the command on the process's arguments.
#[must_use]
pub fn run() -> ExitCode {
    let mut status = ExitCode::SUCCESS;
    let result = match Cli::parse().verb {
        Verb::Build(args) => build::run(&args),
        Verb::Estimate(args) => estimate::run(&args),
        Verb::Fair(args) => fair::run(&args),
        Verb::Check(args) => check::run(&args).map(|fair| {
            if !fair {
                status = ExitCode::from(UNFAIR);
            }
        }),
        Verb::Start(args) => start::run(&args.dir),
        Verb::Completions(args) => shell::completions(args.shell),
        Verb::Manual => shell::manual(),
    };
    match result {
        Ok(()) => status,
        Err(faults) => {
            report(&faults);
            ExitCode::from(1)
        }
    }
}

/// Threads for the work; all that the machine has where none are asked for.
fn pool(threads: Option<u16>) -> Result<rayon::ThreadPool, Fault> {
    let mut builder = rayon::ThreadPoolBuilder::new();
    if let Some(n) = threads {
        builder = builder.num_threads(usize::from(n));
    }
    builder.build().map_err(|e| {
        Fault::new(
            Kind::Range,
            Place::file("--threads"),
            format!("the threads cannot be started: {e}"),
            "ask for fewer with --threads",
        )
    })
}

#[expect(clippy::print_stderr, reason = "the command's own errors")]
fn report(faults: &Faults) {
    eprintln!("{faults}");
    if faults.0.len() > 1 {
        eprintln!("{} problems; nothing was written", faults.0.len());
    }
}
