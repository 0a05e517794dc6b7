//! The command: arguments, files in and out, progress, exit codes. One file
//! a verb.

mod args;
mod build;
mod check;
mod estimate;
mod fair;
pub mod folder;
mod input;
mod manual;
mod pattern;
mod progress;
mod shell;
mod start;

use std::io::{self, Write};
use std::process::ExitCode;

use clap::Parser;

use self::args::{Cli, Verb};
use crate::fault::Faults;

/// Exit status of `check` where the line is not fair.
const UNFAIR: u8 = 3;

/// Runs the command on the process's arguments.
#[must_use]
pub fn run() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(e) => return usage(&e),
    };
    let mut status = ExitCode::SUCCESS;
    let writes = cli.verb.writes();
    let result = match cli.verb {
        Verb::Build(args) => build::run(&args),
        Verb::Estimate(args) => estimate::run(&args),
        Verb::Fair(args) => fair::run(&args),
        Verb::Check(args) => check::run(&args).map(|fair| {
            if !fair {
                status = ExitCode::from(UNFAIR);
            }
        }),
        Verb::Pattern(args) => pattern::run(&args),
        Verb::Start(args) => start::run(&args.dir),
        Verb::Completions(args) => shell::completions(args.shell),
        Verb::Manual(args) => manual::run(&args),
    };
    match result {
        Ok(()) => status,
        Err(faults) => {
            report(&faults, writes);
            ExitCode::from(1)
        }
    }
}

/// Prints help, the version, or how the arguments are wrong.
fn usage(e: &clap::Error) -> ExitCode {
    let printed = e.print().and_then(|()| io::stdout().flush());
    if e.use_stderr() {
        return ExitCode::from(2);
    }
    match shell::heard(printed) {
        Ok(()) => ExitCode::SUCCESS,
        Err(faults) => {
            report(&faults, false);
            ExitCode::from(1)
        }
    }
}

fn report(faults: &Faults, writes: bool) {
    shell::tell(&faults.to_string());
    if faults.count() > 1 {
        let rest = if writes { "; nothing was written" } else { "" };
        shell::tell(&format!("{} problems{rest}", faults.count()));
    }
}
