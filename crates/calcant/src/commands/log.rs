//! `calcant log`: what can be done with logs beside studying them.
//!
//! Must not know: how a log is read.

use anyhow::Result;

use crate::args::LogCommand;
use crate::edge::Outcome;

mod convert;
mod days;
mod map;
pub(super) mod progress;
pub(super) mod sources;
pub(super) mod words;

pub(super) fn run(command: &LogCommand) -> Result<Outcome> {
    match command {
        LogCommand::Convert(args) => convert::run(args),
    }
}
