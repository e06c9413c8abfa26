//! One file per command.
//!
//! Must not know: formulas.

mod causes;
mod demo;
mod expect;
mod explain;
pub(crate) mod judge;
#[cfg(feature = "study")]
mod log;
mod station;
#[cfg(feature = "study")]
mod study;

use std::path::Path;

use ::station::file::problem::Problem;
use ::station::model::Station;
use anyhow::Result;

pub(crate) use judge::Judged;

use crate::args::Command;
use crate::edge::{Outcome, read};

pub(crate) fn run(command: Command) -> Result<Outcome> {
    match command {
        Command::Station(command) => station::run(&command),
        Command::Expect(args) => expect::run(&args),
        Command::Judge(args) => judge::run(&args),
        #[cfg(feature = "study")]
        Command::Study(args) => study::run(&args),
        #[cfg(feature = "study")]
        Command::Log(command) => log::run(&command),
        Command::Explain { kind } => explain::run(kind.as_deref()),
        Command::Causes { folder } => causes::run(&folder),
        Command::Demo(args) => demo::run(&args),
    }
}

/// Reads a station file, or tells every problem with it.
fn station_from(path: &Path) -> Result<Station, Vec<Problem>> {
    let bytes = read(path).map_err(|problem| vec![problem])?;
    ::station::file::station::parse_bytes(&bytes)
}
