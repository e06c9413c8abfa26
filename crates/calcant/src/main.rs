//! The program: parses the command line, runs one command, and turns the outcome into an exit
//! status. Data goes to stdout, words to stderr.
//!
//! Must not know: formulas, findings' decisions.

mod args;
mod commands;
mod edge;
mod layout;
mod wire;

use std::process::ExitCode;

use clap::Parser;

use crate::edge::Outcome;

fn main() -> ExitCode {
    let args = match args::Calcant::try_parse() {
        Ok(args) => args,
        Err(error) => return edge::usage(&error),
    };
    match commands::run(args.command) {
        Ok(Outcome::Done) => ExitCode::SUCCESS,
        Ok(Outcome::Unusable) => ExitCode::from(2),
        Ok(Outcome::SomeRejected) => ExitCode::from(3),
        Err(error) => edge::fault(&error),
    }
}
