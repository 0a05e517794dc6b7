//! The `planksheer` command.

use std::process::ExitCode;

fn main() -> ExitCode {
    planksheer::cli::run()
}
