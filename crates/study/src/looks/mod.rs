//! Looks: rounds taken off a log, as a keeper would have read them, for the judging of rounds.
//!
//! Of each local day one look is taken at the moment that says most of the machines' health: each
//! warm, on load, its load steady; every reading is the median of ten minutes at the same states, so
//! that all belong together. A machine that was never on load then gets a second look of its own.
//! With the plant at rest, the cycles of the machine that runs alone are timed: one look a rest.
//!
//! One look a day is enough: what changes a cooler, a filter or a leak takes weeks, the weather is
//! the same all day, and more looks would repeat one error of the model as if they were independent
//! of each other.
//!
//! Must not know: findings, files, what a person read.

mod beside;
mod cycles;
mod day;
mod machines;
mod motion;
mod take;
mod window;

use station::file::problem::Problem;
use station::model::Station;
use station::round::Round;

pub use beside::Beside;

use crate::channel::Channel;
use crate::options::{LogOptions, LogSource};
use crate::pass::{Passed, pass_log};

/// Rounds taken off a log.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Looks {
    /// The looks, in the order of time; each has [`Round::logged`] set.
    pub rounds: Vec<Round>,
    /// What became of the log's rows.
    pub passed: Passed,
}

/// Reads logs, one after another in the order of time, and takes looks off them. Memory does not grow
/// with the rows, only with the days.
///
/// # Errors
/// What makes a log unusable, as for [`crate::read_log`]; a log without any row that can be used is
/// unusable too.
pub fn read_looks(
    sources: impl IntoIterator<Item = LogSource>,
    station: &Station,
    options: &LogOptions<'_>,
) -> Result<Looks, Vec<Problem>> {
    let channels = take::channels(station);
    let mut taker = take::Taker::new(station, &channels);
    let passed = pass_log(sources, station, options, &channels, &mut taker)?;
    if !taker.any() {
        return Err(vec![nothing(&passed)]);
    }
    Ok(Looks {
        rounds: taker.end(),
        passed,
    })
}

/// Why no row can be used.
fn nothing(passed: &Passed) -> Problem {
    let fault = passed.sources.iter().find_map(|s| s.fault.as_deref());
    let (line, what, hint) = match (passed.rejected.first(), fault) {
        (Some(first), _) => (
            Some(first.line),
            format!("no row can be used; the first: {}", first.problem),
            first.hint.clone(),
        ),
        (None, Some(fault)) => (
            None,
            format!("the file could not be read on after its header: {fault}"),
            "check that it was copied whole".to_owned(),
        ),
        (None, None) => (
            None,
            "no row can be used".to_owned(),
            "check that the logger recorded, and that the file was copied whole".to_owned(),
        ),
    };
    Problem {
        line,
        at: String::new(),
        what,
        hint: Some(hint),
    }
}

/// A channel's place among those that are asked for.
fn place(channels: &[Channel], channel: Channel) -> Option<usize> {
    channels.iter().position(|c| *c == channel)
}
