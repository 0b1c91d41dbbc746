//! The command line of Wattwright: reads files, prints, sets the exit status. Everything else is in the libraries.

mod cli;
mod commands;
mod files;
#[cfg_attr(not(feature = "pdf"), allow(dead_code, reason = "only packages are folders"))]
mod folder;
mod output;
mod series;
mod stop;
mod terminal;

use std::process::ExitCode;

use clap::Parser;

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Status {
    /// Nothing fails.
    Fine,
    /// Findings of severity error or not covered.
    Findings,
    /// The input could not be read or used.
    BadInput,
    /// Stopped by Ctrl-C.
    Stopped,
}

fn main() -> ExitCode {
    let cli = match cli::Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) => {
            let wrong = error.use_stderr();
            // a closed pipe is no reason to fail
            let _ = error.print();
            return ExitCode::from(if wrong { 2 } else { 0 });
        }
    };
    match commands::run(&cli) {
        Status::Fine => ExitCode::SUCCESS,
        Status::Findings => ExitCode::from(1),
        Status::BadInput => ExitCode::from(2),
        Status::Stopped => ExitCode::from(130),
    }
}
